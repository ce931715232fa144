package lesson

import (
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
)

// presenting is what a presentation shows of lessons: of the list, lesson after lesson;
// of a step, its paragraphs one by one and then all that there is to do in it, as it is.
type presenting struct {
	s    *Scene
	page kit.Scroller
	f    kit.Flow
}

// parts are the texts that are shown alone.
func (s *Scene) parts() []string {
	if s.item == nil {
		var out []string
		for _, it := range s.items {
			out = append(out, "# "+it.l.Title+"\n\n"+it.card.State+"\n\n"+it.l.About)
		}
		return out
	}
	if s.v.State == run.Finished {
		return nil
	}
	var out []string
	head := ""
	for _, p := range strings.Split(s.v.Text, "\n\n") {
		if p = strings.TrimSpace(p); p == "" {
			continue
		}
		if strings.HasPrefix(p, "#") { // a heading goes with what follows
			head += p + "\n\n"
			continue
		}
		out, head = append(out, head+p), ""
	}
	return out
}

// Ideas is how many there are now.
func (s *Scene) Ideas() int {
	n := len(s.parts())
	if s.item != nil {
		n++ // what there is to do
	}
	return max(n, 1)
}

// ShowIdea shows one of them.
func (s *Scene) ShowIdea(i int) {
	p := &presenting{s: s}
	s.show.How = kit.Shown{Layout: p.layout, Draw: p.draw, Sync: func(cs []ui.Control) { s.show.Only(cs) }, Ideas: s.Ideas, Say: p.say,
		Whole:  func() bool { return s.item != nil && s.show.At() >= len(s.parts()) },
		Scroll: func(dy float32) { p.page.By(dy); s.Layout(s.shell.Theme(), s.area) }}
	s.show.Show(min(i, s.Ideas()-1))
	s.step.Scroll = 0
	kit.Hide(false, s.cs...)
	for _, it := range s.items {
		it.card.Hidden = false
	}
	kit.Hide(false, s.open, s.name)
	s.sync()
	s.shell.Relayout()
}

// Idea is which one is shown: a lesson that goes on to another step begins anew there.
func (s *Scene) Idea() int { return s.show.At() }

// IdeaKeys names the keys.
func (s *Scene) IdeaKeys() []string {
	if s.item == nil {
		return nil
	}
	return []string{"N next step", "R record", "P play"}
}

// Key gives the intent that a key stands for while an idea is shown.
func (s *Scene) Key(k ui.KeyPress) (ui.Intent, bool) {
	if s.show.On() && s.item != nil && (k.Key == "n" || k.Key == "N") {
		return ui.Intent{ID: s.next.ID, Do: ui.DoPress}, true
	}
	return ui.Intent{}, false
}

// words are those of the text shown.
func (p *presenting) words() string {
	if parts := p.s.parts(); len(parts) > 0 {
		return parts[min(p.s.show.At(), len(parts)-1)]
	}
	return ""
}

func (p *presenting) say() string {
	if !p.s.show.Alone() {
		return ""
	}
	return kit.PlainWords(p.words())
}

// layout gives one text all the room.
func (p *presenting) layout(th *ui.Theme, area ink.Rect) {
	s := p.s
	s.g.HideRuler()
	s.rooms = stage.Rooms{}
	s.sync()
	r := s.show.Lay(th, area, p.head())
	// As large as the words bear.
	for _, size := range []ui.Size{ui.Big, ui.Title, ui.Strong, ui.Body} {
		// Lines of some sixty characters at most read best.
		in := r
		in.W = min(r.W, 30*th.DP(size))
		high := float32(0)
		p.page.Lay(in, func(c ink.Rect) float32 {
			p.f.Begin(th, c, in)
			p.set(th, p.words(), size)
			high = p.f.Y - c.Y
			return p.f.Y
		})
		if high <= r.H {
			break
		}
	}
}

// set writes blocks: headings and paragraphs in that size, what has marks of its own as
// everywhere.
func (p *presenting) set(th *ui.Theme, words string, size ui.Size) {
	for _, b := range strings.Split(words, "\n\n") {
		head, isHead := strings.CutPrefix(b, "# ")
		switch {
		case isHead:
			p.f.Say(head, ui.Big, ink.Bold, th.Say)
		case b == "" || strings.ContainsAny(b[:1], "#|->0123456789") || strings.HasPrefix(b, "* ") || strings.Contains(b, "](explain:"):
			p.f.Markdown(b)
		default:
			p.f.Rich(strings.Join(strings.Fields(b), " "), size, th.Say)
		}
		p.f.Gap(th.Row(size) * 0.4)
	}
}

// head says where one is.
func (p *presenting) head() string {
	if p.s.item == nil {
		return "Lessons"
	}
	return model.KindTitle(p.s.v.Step.Kind)
}

func (p *presenting) draw(l *ink.List, th *ui.Theme) {
	p.s.show.Draw(l, th)
	l.Clip(p.page.View)
	p.f.Draw(l)
	l.Unclip()
	p.page.Bar(l, th)
}
