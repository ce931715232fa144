package lesson

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/lesson/still"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
)

// lookAt brings the picture up to the bench, and reports whether it makes a new one.
func (s *Scene) lookAt() bool {
	if s.v.Step == nil || s.v.Step.Show.What == "" || s.job != nil || s.stage.Rolling() {
		return false
	}
	is := shownOf{step: s.v.Number, takes: s.here().Takes}
	if st := s.scn.Strip(s.v.Step.Show.Strip); st != nil && is.takes == 0 && s.v.Step.IsTake() {
		is.chain = st.Chain
	}
	if is == s.shown.key {
		return false
	}
	s.shown.key = is
	made, id := s.r.Standing()
	if id == "" {
		s.shown.Picture = still.Picture{What: s.v.Step.Show.What, Of: made}
		s.shell.Relayout()
		return true
	}
	s.work("The picture is drawn", func(h *work.Context) (err error) {
		made, err = s.r.Still(h)
		return err
	}, func(err error) {
		if err != nil {
			s.shell.Fail(err)
		}
		if s.v.Step != nil {
			s.shown.Picture = still.Picture{What: s.v.Step.Show.What, Of: made}
		}
	})
	return true
}

// layoutShown places the picture under the step's words.
func (s *Scene) layoutShown(th *ui.Theme, f *kit.Flow) {
	p := &s.shown
	if p.box = (ink.Rect{}); p.Of == nil || p.key.step != s.v.Number {
		return
	}
	f.Gap(4)
	f.Say(p.Title(), ui.Small, ink.Bold, th.Say)
	f.Gap(4)
	p.box = f.Row(p.Height(th, f.Width))
	p.Layout(th, p.box)
	f.Gap(8)
}

// drawShown draws it.
func (s *Scene) drawShown(l *ink.List, th *ui.Theme) {
	if s.shown.box.W > 0 {
		s.shown.Draw(l, th)
	}
}

// shownNode tells it.
func (s *Scene) shownNode(dst []ui.Node) []ui.Node {
	if s.shown.box.W == 0 {
		return dst
	}
	box := s.shown.box.Intersect(s.step.View)
	if box.H <= 0 {
		box = s.step.View
	}
	return append(dst, ui.Node{ID: idShown, Role: ui.RoleText, Name: s.shown.Title(), Value: s.shown.Words(), Bounds: box})
}
