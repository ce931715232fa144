package twin

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// What a presentation shows.
const (
	ideaPair = iota
	ideaGain
	ideaTreat
	ideaAsk
	numIdeas
)

var ideaWords = [numIdeas]string{
	ideaPair:  "Two performances differ. What was cut off from both is in neither file.",
	ideaGain:  "With less gain the peaks are in the files, and tell the two apart.",
	ideaTreat: "Equal in, equal out: nothing that is done to the files can know which talker it had.",
	ideaAsk:   "Listen: which of the two was recorded?",
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
func (s *Scene) IdeaKeys() []string { return []string{"↑ ↓ gain", "1–4 listen", "P play"} }

// Key gives the intent that a key stands for while an idea is shown.
func (s *Scene) Key(k ui.KeyPress) (ui.Intent, bool) {
	if !s.show.On() {
		return ui.Intent{}, false
	}
	switch k.Key {
	case "ArrowUp", "ArrowDown":
		d := 1.0
		if k.Key == "ArrowDown" {
			d = -1
		}
		return ui.Intent{ID: s.gain.ID, Do: ui.DoNudge, Value: d}, true
	case "1", "2", "3", "4":
		return ui.Intent{ID: s.listen[k.Key[0]-'1'].ID, Do: ui.DoPress}, true
	}
	return ui.Intent{}, false
}

// syncIdea hides what the idea shown does not speak of.
func (s *Scene) syncIdea(cs []ui.Control) {
	keep := s.d.Controls()
	switch s.show.At() {
	case ideaPair:
		keep = append(keep, s.w, s.moment)
	case ideaGain:
		keep = append(keep, s.w, s.moment, s.gain)
	case ideaTreat:
		keep = append(keep, s.w, s.moment)
		for _, c := range s.treat {
			keep = append(keep, c)
		}
	case ideaAsk:
		for _, c := range s.listen {
			keep = append(keep, c)
		}
		keep = append(keep, s.answer[0], s.answer[1], s.reset)
	}
	s.show.Only(cs, keep...)
}

// layoutIdea gives an idea's panels all the room above the deck.
func (s *Scene) layoutIdea(th *ui.Theme, area ink.Rect) {
	g := &s.l
	r := s.show.Lay(th, area, ideaWords[s.show.At()])
	foot := s.d.Height(th, r.W, twinLongest)
	s.d.Layout(th, ui.Bottom(&r, foot), twinLongest)
	ui.Bottom(&r, kit.GapDP)
	g.tight = 0
	g.picture, g.gain, g.treat, g.listen, g.ask = ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}
	least := 260 * th.Text
	of := func(h func(*ui.Theme) float32) func(float32) float32 { return func(float32) float32 { return h(th) } }
	switch s.show.At() {
	case ideaPair:
		s.show.Panels(th, &g.Pane, r, &g.picture, least)
	case ideaGain:
		s.show.Panels(th, &g.Pane, r, &g.picture, least, kit.Slot{To: &g.gain, Height: of(s.gainHeight)})
	case ideaTreat:
		s.show.Panels(th, &g.Pane, r, &g.picture, least, kit.Slot{To: &g.treat, Height: of(s.treatHeight)})
	case ideaAsk:
		s.show.Panels(th, &g.Pane, r, nil, 0, kit.Slot{To: &g.listen, Height: of(s.listenHeight)},
			kit.Slot{To: &g.ask, Height: func(w float32) float32 { return s.askHeight(th, w) }})
	}
	if g.picture.W > 0 {
		s.layoutPicture(th)
	}
	if g.gain.W > 0 {
		s.layoutGain(th)
	}
	if g.treat.W > 0 {
		s.layoutTreat(th)
	}
	if g.ask.W > 0 {
		s.layoutListen(th)
		s.layoutAsk(th)
	}
	g.Clip(s.Controls(), s.d.Controls())
}
