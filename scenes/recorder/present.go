package recorder

import (
	"gainwright/scenes/curves"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds/series"
)

// What a presentation shows.
const (
	ideaGain = iota
	ideaNoise
	ideaLimiter
	ideaListen
	numIdeas
)

var ideaWords = [numIdeas]string{
	ideaGain:    "A knob has marks. How many dB lie between them is heard in its recordings.",
	ideaNoise:   "One noise comes before the gain and rises with it, one after it and stays.",
	ideaLimiter: "Where a limiter sits shows in a pair: what the converter cut off, it cannot bring back.",
	ideaListen:  "Listen: limiter off and on, before and after treatment.",
}

// Ideas is how many the scene can be split into.
func (s *Scene) Ideas() int { return numIdeas }

// ShowIdea shows one of them.
func (s *Scene) ShowIdea(i int) {
	s.show.How = kit.Shown{Layout: s.layoutIdea, Draw: s.drawIdea, Sync: s.syncIdea, Ideas: s.Ideas, Say: s.ideaSays, Scroll: s.Scroll}
	s.show.Show(i)
	kit.Hide(false, s.Controls()...)
	s.pane.page.Scroll = 0
	s.sync()
	s.shell.Relayout()
}

// IdeaKeys names the keys.
func (s *Scene) IdeaKeys() []string { return []string{"P play"} }

func (s *Scene) syncIdea(cs []ui.Control) {
	keep := s.hear.deck.Controls()
	if s.show.At() == ideaListen {
		for _, c := range s.hear.side {
			keep = append(keep, c)
		}
		for _, c := range s.hear.after {
			keep = append(keep, c)
		}
		keep = append(keep, s.hear.matched)
	}
	s.show.Only(cs, keep...)
}

// layoutIdea gives an idea the room above the deck.
func (s *Scene) layoutIdea(th *ui.Theme, area ink.Rect) {
	g := &s.pane
	r := s.show.Lay(th, area, ideaWords[s.show.At()])
	s.hear.deck.Layout(th, ui.Bottom(&r, s.hear.deck.Height(th, r.W, longest)), longest)
	ui.Bottom(&r, kit.GapDP)
	g.plots, g.marks = [3]plot{}, [len(partWords)]mark{}
	g.wide = false
	g.lf.Begin(th, r, r)
	g.page.Lay(ui.Pad(r, 6, 0), func(c ink.Rect) float32 {
		f := &g.rf
		f.Begin(th, c, g.page.View)
		if at := s.show.At(); at < len(curves.All) {
			g.plots[at].box = f.Row(max(min(r.H*0.7, f.Width*0.55), 160*th.Text))
			f.Gap(8)
			f.Say(s.ideaSays(), ui.Body, ink.Regular, th.Say)
			return f.Y
		}
		f.Chips(s.hear.side[:])
		f.Gap(6)
		f.Chips(s.hear.after[:])
		f.Gap(6)
		f.Put(s.hear.matched, th.Tall(max(26, th.Row(ui.Small)+6)))
		return f.Y
	})
}

// ideaSays is what the idea shown says beside its sentence.
func (s *Scene) ideaSays() string {
	at := s.show.At()
	switch {
	case at >= len(curves.All):
		return ""
	case !s.known() || at != ideaLimiter && !curves.All[at].Known(s.found):
		return kit.Capital(curveMissing(curves.All[at])) + "."
	case at == ideaLimiter && s.found.Limiter != nil:
		t := series.TellLimiter(s.found.Limiter)
		return t.Title + " " + t.Why
	case at == ideaLimiter:
		return kit.Capital(curveMissing(curves.All[at])) + "."
	}
	return curves.All[at].Words(s.found)
}

func (s *Scene) drawIdea(l *ink.List, th *ui.Theme) {
	g := &s.pane
	s.show.Draw(l, th)
	l.Clip(g.page.View)
	g.rf.Draw(l)
	for i := range g.plots {
		s.drawCurve(l, th, i)
	}
	l.Unclip()
	g.page.Bar(l, th)
	s.hear.deck.Draw(l, th, s.strong)
}
