package lesson

import "gainwright/lessons/run"

// view takes the runner's view.
func (s *Scene) view() {
	s.v, s.readings = s.r.View(), s.lastReadings()
	if s.v.State == run.Finished {
		s.outcomes = s.r.Outcomes()
	}
	s.shell.Relayout()
}

// store keeps the progress.
func (s *Scene) store() {
	if !s.dirty || s.r == nil || s.job != nil || s.foreign {
		return
	}
	s.dirty = false
	if s.item != nil && s.item.asked != nil {
		return // a task of the review is short, and stays due until it is answered
	}
	if b, err := s.r.Save(); err == nil {
		s.given.keep(s.shell.Host(), s.r, b)
	}
}
