package review

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
)

// Tasks lists the steps of a lesson, by their place, that can be asked alone: a task that
// its own take decides and that may be tried again, or a question that needs no take, and
// whose words speak of none.
func Tasks(l *model.Lesson) (out []int) {
	drawn := model.DrawnValues(l.Drawn(0))
	for i, s := range l.Steps {
		if alone(l, s, drawn) {
			out = append(out, i)
		}
	}
	return out
}

func alone(l *model.Lesson, s *model.Step, drawn rules.Values) bool {
	if !whole(s.Text, drawn) || s.Show.What != "" && !s.IsTake() {
		return false
	}
	switch s.Kind {
	case model.Do:
		ofIts := func(e *rules.Expr) bool {
			return e == nil || !slices.ContainsFunc(e.Names, func(n string) bool { return !own(l, n) })
		}
		return s.Attempts == 0 && ofIts(s.Rule) && !slices.ContainsFunc(s.Hints, func(h model.Hint) bool { return !ofIts(h.When) })
	case model.Ask:
		q := s.Question
		return q != nil && q.Gradable() && len(q.Names()) == 0 && q.Number == nil && whole(q.Because, drawn) && !slices.ContainsFunc(q.Choices, func(c model.Choice) bool { return !whole(c.Because, drawn) }) && !ofTake(s.Text)
	}
	return false
}

// own tells whether a name is of a strip of the last take, or drawn.
func own(l *model.Lesson, name string) bool {
	first, _, _ := strings.Cut(name, ".")
	return first == "drawn" || l.Base.Strip(first) != nil
}

// whole tells whether a text has no place that a take would fill.
func whole(t *rules.Text, drawn rules.Values) bool {
	return t == nil || !strings.Contains(t.Blank(drawn), `\_\_\_`)
}

// ofTake tells whether a text speaks of a reading, which somebody has to look up.
func ofTake(t *rules.Text) bool {
	return slices.ContainsFunc(names.Readings(), func(n names.Name) bool { return strings.Contains(n.Key, "_") && strings.Contains(t.Raw(), n.Key) })
}

// Task is a lesson of that one step, on the bench as the steps before have set it.
func Task(l *model.Lesson, i int) *model.Lesson {
	t, s := *l, *l.Steps[i]
	s.Set = nil
	for _, x := range l.Steps[:i+1] {
		s.Set = append(s.Set, x.Set...)
	}
	sum := sha256.Sum256([]byte(l.Hash + "\x00review\x00" + s.ID))
	t.ID, t.Hash = "review-"+l.ID, hex.EncodeToString(sum[:])
	t.Steps, t.Sources, t.About, t.Notes = []*model.Step{&s}, nil, "", nil
	return &t
}
