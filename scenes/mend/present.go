package mend

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// What a presentation shows.
const (
	ideaWaves = iota
	ideaFigures
	ideaOrder
	ideaListen
	numIdeas
)

var ideaWords = [numIdeas]string{
	ideaWaves:   "What was cut off is guessed from what is left. It is not what was there.",
	ideaFigures: "How near the guess comes, and how near less gain would have come.",
	ideaOrder:   "Treatments work on what is in the file, one after the other.",
	ideaListen:  "Listen: as spoken, as recorded, mended, and with less gain.",
}

// Ideas is how many the scene can be split into.
func (s *Scene) Ideas() int { return numIdeas }

// ShowIdea shows one of them.
func (s *Scene) ShowIdea(i int) {
	s.show.How = kit.Shown{Layout: s.layoutIdea, Draw: s.show.Draw, Sync: s.syncIdea, Ideas: s.Ideas}
	s.show.Show(i)
	kit.Hide(false, s.Controls()...)
	s.l.Scroll = 0
	s.sync()
	s.shell.Relayout()
}

// IdeaKeys names the keys.
func (s *Scene) IdeaKeys() []string { return []string{"1–4 listen", "P play"} }

// Key gives the intent that a key stands for while an idea is shown.
func (s *Scene) Key(k ui.KeyPress) (ui.Intent, bool) {
	if s.show.On() && len(k.Key) == 1 && k.Key[0] >= '1' && int(k.Key[0]-'1') < len(s.listen) {
		return ui.Intent{ID: s.listen[k.Key[0]-'1'].ID, Do: ui.DoPress}, true
	}
	return ui.Intent{}, false
}

// syncIdea hides what the idea shown does not speak of.
func (s *Scene) syncIdea(cs []ui.Control) {
	keep := s.d.Controls()
	switch s.show.At() {
	case ideaWaves, ideaFigures:
		keep = append(keep, s.w, s.moment)
	case ideaOrder:
		for i := range mendKinds {
			keep = append(keep, s.on[i], s.up[i], s.down[i])
		}
		for _, c := range s.effort {
			keep = append(keep, c)
		}
		keep = append(keep, s.unlimit, s.cancel)
	case ideaListen:
		for _, c := range s.source {
			keep = append(keep, c)
		}
		for _, c := range s.listen {
			keep = append(keep, c)
		}
		keep = append(keep, s.open, s.matched, s.keep)
	}
	s.show.Only(cs, keep...)
}

// layoutIdea gives an idea's panels all the room above the deck.
func (s *Scene) layoutIdea(th *ui.Theme, area ink.Rect) {
	g := &s.l
	r := s.show.Lay(th, area, ideaWords[s.show.At()])
	foot := s.d.Height(th, r.W, mendLongest)
	s.d.Layout(th, ui.Bottom(&r, foot), mendLongest)
	ui.Bottom(&r, kit.GapDP)
	g.tight = 0
	g.picture, g.table, g.src, g.stack, g.ls = ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}
	of := func(h func(*ui.Theme) float32) func(float32) float32 { return func(float32) float32 { return h(th) } }
	least := 170 * th.Text
	switch s.show.At() {
	case ideaWaves:
		s.show.Panels(th, &g.Pane, r, &g.picture, least)
	case ideaFigures:
		s.show.Panels(th, &g.Pane, r, &g.picture, least, kit.Slot{To: &g.table, Least: 460 * th.Text, Height: func(w float32) float32 { return s.tableHeight(th, w) }})
	case ideaOrder:
		s.show.Panels(th, &g.Pane, r, nil, 0, kit.Slot{To: &g.stack, Height: of(s.stackHeight)})
	case ideaListen:
		s.show.Panels(th, &g.Pane, r, nil, 0, kit.Slot{To: &g.ls, Height: of(s.listenHeight)}, kit.Slot{To: &g.src, Height: of(s.sourceHeight)})
	}
	if g.picture.W > 0 {
		s.layoutPicture(th)
	}
	if g.table.W > 0 {
		s.layoutTable(th)
	}
	if g.stack.W > 0 {
		s.layoutStack(th)
	}
	if g.ls.W > 0 {
		s.layoutSource(th)
		s.layoutListen(th)
	}
	g.Clip(s.Controls(), s.d.Controls())
}
