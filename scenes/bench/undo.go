package bench

const (
	maxUndo = 100
	// mergeSeconds is within what time turns of the same control are one step.
	mergeSeconds = 1.2
)

// UndoLog remembers what was set, as a Setup, to go back to it and forth again.
type UndoLog[T any] struct {
	Past, Future []T
	id           string
	at           float64
}

// Note remembers what was before a change by the intent id.
func (u *UndoLog[T]) Note(was T, id string, now float64) {
	u.Future = u.Future[:0]
	if id == u.id && now-u.at < mergeSeconds && len(u.Past) > 0 {
		u.at = now
		return
	}
	u.id, u.at = id, now
	if len(u.Past) == maxUndo {
		copy(u.Past, u.Past[1:])
		u.Past = u.Past[:maxUndo-1]
	}
	u.Past = append(u.Past, was)
}

// Step takes the newest of from and puts now on the other pile.
func (u *UndoLog[T]) Step(from, to *[]T, now T) (T, bool) {
	n := len(*from)
	if n == 0 {
		return now, false
	}
	s := (*from)[n-1]
	*from = (*from)[:n-1]
	*to = append(*to, now)
	u.id = ""
	return s, true
}
