package lesson

import (
	"gainwright/lessons/run"
	"gainwright/scenes/work"
)

// here is how the present step stands, or the last one.
func (s *Scene) here() run.StepProgress {
	p := s.r.Progress()
	return p.Steps[min(p.At, len(p.Steps)-1)]
}

// work does something beside the screen; nobody may touch the runner meanwhile.
func (s *Scene) work(doing string, do func(h *work.Context) error, took func(err error)) {
	s.doing, s.took = doing, took
	s.job = work.Start(do)
	s.shell.Relayout()
}
