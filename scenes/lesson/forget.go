package lesson

import (
	"encoding/json"
	"errors"
	"slices"

	"gainwright/lessons/builtin"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/ui"
)

// forgetMe leaves the finished lesson, and nothing of it or of any other is kept, nor the
// name.
func (s *Scene) forgetMe(it ui.Intent) error {
	if s.v.State != run.Finished || s.given.by != nil {
		return errors.New("the lesson is not finished")
	}
	if !s.shell.Sure(it.ID, "Choose it once more: the name and the progress of all lessons here are forgotten, and a result that was not saved is gone.") {
		return nil
	}
	for _, name := range s.unread {
		if l, err := builtin.Load(name); err == nil {
			s.forgetLesson(l)
		}
	}
	for _, x := range s.items {
		s.forgetLesson(x.l)
	}
	s.dirty = false
	s.closeLesson()
	for _, x := range s.items {
		x.stand("")
	}
	h := s.shell.Host()
	h.Store("student", "")
	h.Store(keyKept, "")
	h.Store(reviewKept, "")
	h.Store(pairKept, "")
	s.items = slices.DeleteFunc(s.items, func(x *lessonItem) bool { return x.on != nil })
	s.name.SetText("")
	s.status = "Forgotten: the name, and how far the lessons had got."
	return nil
}

// forgetLesson forgets how far a lesson has got, and what was put aside of it with that seed.
func (s *Scene) forgetLesson(l *model.Lesson) {
	h := s.shell.Host()
	key := storeKey(l)
	var p run.Progress
	if json.Unmarshal([]byte(h.Load(key)), &p) == nil {
		h.Store(asideKey(key, p.Seed), "")
	}
	h.Store(key, "")
}
