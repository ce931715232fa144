package gain

import "gainwright/scenes/bench"

const (
	maxUndo = 100
	// mergeSeconds is within what time turns of the same control are one step.
	mergeSeconds = 1.2
)

// undoLog remembers set-ups, to go back to them and forth again.
type undoLog struct {
	past, future []bench.Setup
	id           string
	at           float64
}

// note remembers the set-up that was before a change by the intent id.
func (u *undoLog) note(was bench.Setup, id string, now float64) {
	u.future = u.future[:0]
	if id == u.id && now-u.at < mergeSeconds && len(u.past) > 0 {
		u.at = now
		return
	}
	u.id, u.at = id, now
	if len(u.past) == maxUndo {
		copy(u.past, u.past[1:])
		u.past = u.past[:maxUndo-1]
	}
	u.past = append(u.past, was)
}

// step takes the newest of from and puts now on the other pile.
func (u *undoLog) step(from, to *[]bench.Setup, now bench.Setup) (bench.Setup, bool) {
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
