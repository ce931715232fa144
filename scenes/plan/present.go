package plan

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// What a presentation shows.
const (
	ideaSetting = iota
	ideaCurves
	ideaHelps
	ideaMatters
	numIdeas
)

var ideaWords = [numIdeas]string{
	ideaSetting: "Where to set the gain before the guest has laughed.",
	ideaCurves:  "Between too noisy and too risky lies the window.",
	ideaHelps:   "What would widen the window.",
	ideaMatters: "Which assumption moves the setting most.",
}

// Ideas is how many the scene can be split into.
func (s *Scene) Ideas() int { return numIdeas }

// ShowIdea shows one of them.
func (s *Scene) ShowIdea(i int) {
	switch {
	case !s.show.On() && i >= 0:
		s.viewWas = s.view
	case s.show.On() && i < 0:
		s.view = s.viewWas
	}
	s.show.How = kit.Shown{Layout: s.layoutIdea, Draw: s.drawIdea, Sync: s.syncIdea, Ideas: s.Ideas}
	s.show.Show(i)
	switch i {
	case ideaHelps:
		s.view = planRemedies
	case ideaMatters:
		s.view = planMatters
	}
	s.page = kit.Scroller{}
	kit.Hide(false, s.Controls()...)
	s.sync()
	s.shell.Relayout()
}

// IdeaKeys names the keys.
func (s *Scene) IdeaKeys() []string { return []string{"↑ ↓ gain"} }

// Key gives the intent that a key stands for while an idea is shown.
func (s *Scene) Key(k ui.KeyPress) (ui.Intent, bool) {
	if !s.show.On() || k.Key != "ArrowUp" && k.Key != "ArrowDown" {
		return ui.Intent{}, false
	}
	d := 1.0
	if k.Key == "ArrowDown" {
		d = -1
	}
	return ui.Intent{ID: s.gain.ID, Do: ui.DoNudge, Value: d}, true
}

// syncIdea hides what the idea shown does not speak of.
func (s *Scene) syncIdea(cs []ui.Control) {
	var keep []ui.Control
	switch s.show.At() {
	case ideaSetting:
		keep = append(keep, s.use)
	case ideaCurves:
		keep = append(keep, s.gain)
	}
	s.show.Only(cs, keep...)
}

// layoutIdea gives one part all the room.
func (s *Scene) layoutIdea(th *ui.Theme, area ink.Rect) {
	r := s.show.Lay(th, area, ideaWords[s.show.At()])
	s.leftBox, s.midBox, s.listBox, s.wide = ink.Rect{}, r, ink.Rect{}, false
	s.plots.box = ink.Rect{}
	in := ui.Pad(r, 14, 10)
	s.page.Lay(in, func(c ink.Rect) float32 {
		switch s.show.At() {
		case ideaSetting:
			return c.Y + s.layoutVerdict(th, c, in)
		case ideaCurves:
			h := max(in.H, 260*th.Text)
			s.layoutPlots(th, ink.Rect{X: c.X, Y: c.Y, W: c.W - 8, H: h}, in)
			return c.Y + h
		}
		s.listBox = r
		return s.layoutList(th, c, in)
	})
}

func (s *Scene) drawIdea(l *ink.List, th *ui.Theme) {
	s.show.Draw(l, th)
	kit.Panel(l, th, s.midBox)
	l.Clip(s.page.View)
	switch s.show.At() {
	case ideaSetting:
		s.vf.Draw(l)
	case ideaCurves:
		s.drawPlots(l, th)
	default:
		s.rf.Draw(l)
		s.drawBars(l, th)
	}
	l.Unclip()
	s.page.Bar(l, th)
}
