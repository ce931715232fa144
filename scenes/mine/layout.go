package mine

import (
	"fmt"
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds/own"
)

// pane is where everything lies: two columns once there is something to tell and room for
// both, else one, above the deck.
type pane struct {
	area        ink.Rect
	left, right ink.Rect // panels; right is empty where there is one
	page, side  kit.Scroller
	lf, rf      kit.Flow
	step        ink.Rect // what is to be done now
	meter       ink.Rect
	count       ink.Rect // how long the step has lasted, or has to yet
	card, gap   ink.Rect
	scale       ink.Rect // the two levels on one axis
	pointer     ink.Point
}

const longest = "Your laugh peaks 14 dB over your talk. With the gain set by talk alone, its peaks at −12 dBFS, the laugh would want 12 dB more than there is: its tops would be gone."

// Layout puts everything into area.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	g := &s.pane
	g.area = area
	g.step, g.meter, g.count, g.card, g.gap, g.scale = ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}, ink.Rect{}
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	s.deck.Spare(th, r.W, area.H, longest)
	s.deck.Layout(th, ui.Bottom(&r, s.deck.Height(th, r.W, longest)), longest)
	ui.Bottom(&r, kit.GapDP)
	g.left, g.right = r, ink.Rect{}
	if s.stage == atCard && r.W/th.Text >= 900 {
		g.left = ui.Left(&r, (r.W-kit.GapDP)*0.55)
		ui.Left(&r, kit.GapDP)
		g.right = r
	}
	// Lines longer than this are hard to read.
	in := ui.Pad(g.left, 14, 10)
	if most := 720 * th.Text; in.W > most && g.right.W == 0 {
		in.X, in.W = in.X+(in.W-most)/2, most
	}
	g.page.Lay(in, func(c ink.Rect) float32 {
		f := &g.lf
		f.Begin(th, c, g.page.View)
		switch s.stage {
		case atStart:
			s.layoutStart(th, f)
		case atAsk, atSteps:
			s.layoutStep(th, f)
		case atCard:
			s.layoutCard(th, f)
			if g.right.W == 0 {
				f.Gap(14)
				s.layoutUse(th, f)
			}
		}
		return f.Y
	})
	if g.right.W == 0 {
		g.side = kit.Scroller{}
		g.rf.Begin(th, ink.Rect{}, ink.Rect{})
		return
	}
	g.side.Lay(ui.Pad(g.right, 14, 10), func(c ink.Rect) float32 {
		g.rf.Begin(th, c, g.side.View)
		s.layoutUse(th, &g.rf)
		return g.rf.Y
	})
}

// tall is the height of a row of buttons.
func tall(th *ui.Theme) float32 { return max(34, th.Row(ui.Small)+12) }

func (s *Scene) layoutStart(th *ui.Theme, f *kit.Flow) {
	f.Head("Be your own guest")
	f.Gap(4)
	f.Body(wordsWhat)
	f.Gap(8)
	if s.listener() == nil {
		f.Body(wordsNoMic)
		f.Gap(10)
		f.Buttons(tall(th), s.file)
	} else {
		f.Body(wordsPrivate)
		f.Gap(8)
		f.Say(wordsCare, ui.Body, ink.Regular, th.SayCeiling)
		f.Gap(12)
		f.Buttons(max(44, tall(th)), s.ask)
		f.Gap(14)
		f.Note(wordsFile)
		f.Gap(6)
		f.Buttons(tall(th), s.file)
	}
	if len(s.kept) > 0 {
		f.Gap(16)
		f.Head("Voices kept in this browser")
		f.Gap(6)
		f.Buttons(tall(th), s.kept...)
	}
	if err := s.shell.Voices().Fault(); err != nil {
		f.Gap(12)
		f.Note(kit.Capital(err.Error()) + ".")
	}
}

func (s *Scene) layoutStep(th *ui.Theme, f *kit.Flow) {
	g, r := &s.pane, &s.rec
	st := &steps[r.step]
	if s.stage == atSteps && r.mic != nil && g.page.View.H < 200*th.Text && f.Width > 400*th.Text {
		s.layoutLow(th, f)
		return
	}
	top := f.Y
	f.Head(fmt.Sprintf("Step %d of %d: %s", r.step+1, own.NumParts, st.title))
	f.Gap(6)
	if s.stage == atAsk {
		f.Body("Your browser asks you now whether this page may hear the microphone. What it hears stays on this computer.")
		f.Gap(10)
		f.Buttons(tall(th), s.stop)
		g.step = ink.Rect{X: f.X, Y: top, W: f.Width, H: f.Y - top}
		return
	}
	f.Body(st.ask)
	if st.say != "" {
		f.Gap(8)
		f.Say(st.say, ui.Strong, ink.Bold, th.SaySignal)
	}
	f.Gap(12)
	g.step = ink.Rect{X: f.X, Y: top, W: f.Width, H: f.Y - top}
	if r.mic == nil {
		f.Body("The microphone is off. What you have recorded so far is still here.")
		f.Gap(10)
		f.Buttons(max(44, tall(th)), s.ask)
		f.Gap(10)
		f.Buttons(tall(th), s.back)
		return
	}
	g.meter = f.Row(max(26, th.Row(ui.Small)+8))
	g.count = f.Row(th.Row(ui.Small))
	f.Gap(12)
	f.Buttons(max(44, tall(th)), s.begin)
	f.Gap(12)
	f.Buttons(tall(th), s.back, s.skip, s.stop)
	f.Gap(14)
	f.Note("A step ends by itself when you have been silent for a moment, or when you press “Done”.")
}

// layoutLow is the step on a phone on its side: what is to be said stands beside nothing that
// has to be scrolled to.
func (s *Scene) layoutLow(th *ui.Theme, f *kit.Flow) {
	g, st := &s.pane, &steps[s.rec.step]
	f.Buttons(44, s.begin)
	b := s.begin.Bounds
	m := ink.Rect{X: b.Right() + 12, Y: b.Y, W: f.X + f.Width - b.Right() - 12, H: b.H}
	g.count = ui.Bottom(&m, th.Row(ui.Small))
	g.meter = m
	f.Gap(6)
	top := f.Y
	f.Body(st.ask)
	if st.say != "" {
		f.Gap(2)
		f.Say(st.say, ui.Strong, ink.Bold, th.SaySignal)
	}
	g.step = ink.Rect{X: f.X, Y: top, W: f.Width, H: f.Y - top}
	f.Gap(10)
	f.Buttons(tall(th), s.back, s.skip, s.stop)
}

// layoutCard places what came of it.
func (s *Scene) layoutCard(th *ui.Theme, f *kit.Flow) {
	g := &s.pane
	top := f.Y
	f.Head("From your talk to your laugh")
	f.Gap(4)
	f.Body(s.read.Distance() + s.wayOn())
	f.Gap(8)
	g.scale = f.Row(max(96, 5.2*th.Row(ui.Small)))
	if !s.again.Hidden {
		f.Gap(8)
		f.Buttons(tall(th), s.again)
	}
	f.Gap(6)
	g.gap = ink.Rect{X: f.X, Y: top, W: f.Width, H: f.Y - top}
	top = f.Y
	f.Gap(8)
	f.Head(s.card.Title)
	f.Gap(2)
	for _, l := range s.card.Lines {
		f.Say(l, ui.Small, ink.Regular, th.Say)
		f.Gap(3)
	}
	g.card = ink.Rect{X: f.X, Y: top, W: f.Width, H: f.Y - top}
	f.Gap(8)
	f.Rows(s.rows())
}

// wayOn is what helps where something is wrong with it: only of what was recorded just now can
// a step be done again.
func (s *Scene) wayOn() string {
	low := s.read.LaughOverTalkDB < 3
	switch {
	case s.card.Grade == own.Good && !low:
	case !s.again.Hidden && low:
		return " Think of something really funny, and press “" + s.again.Label + "”."
	case s.again.Hidden:
		return " What is wrong with a voice that was brought along or kept stays in it: begin anew to have another."
	}
	return ""
}

// rows are the figures.
func (s *Scene) rows() [][2]string {
	r := s.read
	out := [][2]string{
		{"Talk, active level", fmt.Sprintf("%s dBFS, placed at %s dB SPL at 1 m", ui.Decimal(r.TalkDBFS, 1), ui.Decimal(r.TalkDBSPL, 1))},
		{"Talk's held peak", ui.Decimal(r.TalkPeakDBFS, 1) + " dBFS, crest " + ui.Decimal(r.TalkCrestDB, 1) + " dB"},
	}
	if !math.IsNaN(r.LaughPeakDBFS) {
		out = append(out, [2]string{"Laugh's peak", ui.Decimal(r.LaughPeakDBFS, 1) + " dBFS, crest " + ui.Decimal(r.LaughCrestDB, 1) + " dB"})
	}
	if !math.IsNaN(r.HeyPeakDBFS) {
		out = append(out, [2]string{"The call's peak", ui.Decimal(r.HeyPeakDBFS, 1) + " dBFS"})
	}
	if !math.IsNaN(r.NoiseDBFS) {
		out = append(out, [2]string{"Your room and microphone", ui.Decimal(r.NoiseDBFS, 1) + " dBFS: it goes along wherever this voice is performed, and comes on top of the model's room"})
	}
	return out
}

// layoutUse places what can be done with it.
func (s *Scene) layoutUse(th *ui.Theme, f *kit.Flow) {
	f.Head("What to do with it")
	f.Gap(6)
	f.Buttons(max(44, tall(th)), s.perform, s.plan)
	f.Gap(4)
	f.Note("You are then the guest in “Set the gain”: its ruler goes by your talk and your laugh as by a sound check, and a press on “laugh” has you laugh.")
	f.Gap(14)
	f.Say("Name", ui.Small, ink.Bold, th.Say)
	f.Gap(3)
	f.Put(s.name, s.name.Height(th))
	f.Gap(8)
	f.Buttons(tall(th), s.keep, s.wav, s.delete)
	f.Gap(4)
	f.Note("Nothing is kept unless you keep it, and nothing is sent.")
	f.Gap(14)
	f.Say("How loud do you talk?", ui.Small, ink.Bold, th.Say)
	f.Gap(4)
	f.Chips(s.placed[:])
	f.Gap(4)
	if !s.louder.Hidden {
		s.louder.Place(f)
		f.Note(wordsIf)
	} else {
		s.level.Place(f)
		f.Note(wordsRead)
	}
	f.Gap(14)
	f.Buttons(tall(th), s.anew)
}

// Draw draws panels, words and the picture; the controls come after.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	g := &s.pane
	kit.Panel(l, th, g.left)
	if g.right.W > 0 {
		kit.Panel(l, th, g.right)
	}
	l.Clip(g.page.View)
	g.lf.Draw(l)
	s.drawMeter(l, th)
	s.drawScale(l, th)
	l.Unclip()
	g.page.Bar(l, th)
	if g.right.W > 0 {
		l.Clip(g.side.View)
		g.rf.Draw(l)
		l.Unclip()
		g.side.Bar(l, th)
	}
	s.deck.Draw(l, th, s.strong)
}

// lowDBFS is where the level begins to show.
const lowDBFS = -72.0

// drawMeter draws how loud it is now, and how much of the step is recorded.
func (s *Scene) drawMeter(l *ink.List, th *ui.Theme) {
	r := s.pane.meter
	if r.W <= 0 {
		return
	}
	st := th.Style(ui.Small, ink.Mono, ink.Right, th.Say)
	words := s.hears()
	w := ink.Measure("−00 dBFS", st) + 8
	l.TextIn(ui.Right(&r, w), words, st)
	ui.Right(&r, 8)
	bar := ink.Rect{X: r.X, Y: r.Y + r.H/2 - 6, W: r.W, H: 12}
	l.Fill(bar, 4, th.Well)
	tone := th.SayDim
	if r := &s.rec; r.hot > 0 {
		tone = th.SayLost
	}
	l.TextIn(s.pane.count, s.counts(), th.Style(ui.Small, ink.Regular, ink.Left, tone))
	share := float32(min(max((s.rec.hears-lowDBFS)/-lowDBFS, 0), 1))
	hue := th.Signal
	if s.rec.hears > -0.1 {
		hue = th.Lost
	}
	l.Fill(ink.Rect{X: bar.X, Y: bar.Y, W: bar.W * share, H: bar.H}, 4, hue)
	if s.rec.rolls {
		done := float32(min(1, float64(len(s.rec.now))/own.Rate/s.most()))
		l.Fill(ink.Rect{X: bar.X, Y: bar.Bottom() + 3, W: bar.W * done, H: 4}, 2, th.SayDim)
	}
}

// most is how long the step may last, seconds.
func (s *Scene) most() float64 {
	if f := steps[s.rec.step].fixed; f > 0 {
		return f
	}
	return s.rec.step.MostS()
}

// counts tells how long the step has lasted or has to yet, and before it that it is too loud.
func (s *Scene) counts() string {
	r := &s.rec
	at := float64(len(r.now)) / own.Rate
	switch {
	case r.hot > 0:
		return "too loud: go further away"
	case !r.rolls:
		return "not recording"
	case steps[r.step].fixed > 0:
		return fmt.Sprintf("%.0f s to go", math.Ceil(max(0, steps[r.step].fixed-at)))
	}
	return fmt.Sprintf("%.0f s recorded, %.0f s at most", math.Floor(at), r.step.MostS())
}

func (s *Scene) hears() string {
	if !(s.rec.hears > -99) {
		return "silence"
	}
	return ui.Decimal(s.rec.hears, 0) + " dBFS"
}

// drawScale draws talk and laugh on one axis, twice: with the gain set by talk alone, and
// with the laugh below full scale.
func (s *Scene) drawScale(l *ink.List, th *ui.Theme) {
	box := s.pane.scale
	if box.W <= 0 || s.read == nil {
		return
	}
	l.Fill(box, 6, th.Well)
	in := ui.Pad(box, 10, 6)
	d := s.read.LaughOverTalkDB
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	if math.IsNaN(d) {
		l.TextIn(in, "no laugh was recorded", tiny)
		return
	}
	low, high := -42.0, max(6, own.UsualHeldDBFS+d+3)
	name := ink.Measure("room for it", tiny) + 12
	row := (in.H - th.Row(ui.Tiny)) / 2
	axis := ink.Rect{X: in.X + name, Y: in.Y, W: in.W - name - 8, H: in.H}
	x := func(db float64) float32 {
		return axis.X + axis.W*float32((min(max(db, low), high)-low)/(high-low))
	}
	full := x(0)
	l.Fill(ink.Rect{X: full, Y: in.Y, W: axis.Right() - full, H: 2 * row}, 0, th.Lost.Mix(th.Well, 0.8))
	for i, held := range []float64{own.UsualHeldDBFS, min(own.UsualHeldDBFS, -3-d)} {
		y := in.Y + float32(i)*row
		l.TextIn(ink.Rect{X: in.X, Y: y, W: name, H: row}, []string{"by talk", "room for it"}[i], tiny)
		mid := y + row/2
		l.Fill(ink.Rect{X: axis.X, Y: mid - 1, W: axis.W, H: 2}, 1, th.Grid)
		l.Fill(ink.Rect{X: min(x(held), x(held+d)), Y: mid - 2.5, W: float32(math.Abs(float64(x(held+d) - x(held)))), H: 5}, 2, th.Signal.Mix(th.Well, .35))
		l.Disc(ink.Point{X: x(held), Y: mid}, 6, th.Signal)
		c := ink.Point{X: x(held + d), Y: mid}
		hue := th.Signal
		if held+d > 0 {
			hue = th.Lost
		}
		l.Disc(c, 8, hue)
		l.Disc(c, 4.5, th.Well)
	}
	l.Line(2, th.Ceiling, ink.Point{X: full, Y: in.Y}, ink.Point{X: full, Y: in.Y + 2*row})
	foot := ink.Rect{X: in.X, Y: in.Y + 2*row, W: in.W, H: th.Row(ui.Tiny)}
	l.TextIn(foot, ui.Fit(tiny, foot.W, "disc: talk's peak; ring: the laugh's; line: full scale, beyond it nothing is recorded", "disc: talk, ring: laugh, line: full scale", "disc talk, ring laugh"), tiny)
}

// Nodes tells what the words and the picture show.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	g := &s.pane
	dst = append(dst, ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: s.deck.Result})
	switch s.stage {
	case atStart:
		words := wordsWhat + " " + wordsPrivate + " " + wordsCare
		if s.listener() == nil {
			words = wordsWhat + " " + wordsNoMic
		}
		if err := s.shell.Voices().Fault(); err != nil {
			words += " " + kit.Capital(err.Error()) + "."
		}
		dst = append(dst, ui.Node{ID: idStep, Role: ui.RoleText, Name: "Be your own guest", Value: words, Bounds: g.left})
	case atAsk, atSteps:
		st := &steps[s.rec.step]
		words := st.ask
		if st.say != "" {
			words += " " + st.say
		}
		dst = append(dst, ui.Node{ID: idStep, Role: ui.RoleText, Name: fmt.Sprintf("Step %d of %d: %s", s.rec.step+1, own.NumParts, st.title), Value: words, Bounds: g.step})
		if g.meter.W > 0 {
			dst = append(dst, ui.Node{ID: idHears, Role: ui.RoleText, Name: "The microphone hears", Value: s.hears() + "; " + s.counts(), Bounds: g.meter})
		}
	case atCard:
		words := ""
		for _, l := range s.card.Lines {
			words += l + " "
		}
		figures := ""
		for _, r := range s.rows() {
			figures += r[0] + ": " + r[1] + ". "
		}
		dst = append(dst,
			ui.Node{ID: idGap, Role: ui.RoleImage, Name: "From your talk to your laugh", Value: s.read.Distance() + s.wayOn() + " " + figures, Bounds: g.gap},
			ui.Node{ID: idCard, Role: ui.RoleText, Name: s.card.Title, Value: words, Bounds: g.card})
	}
	return dst
}

// Scroll moves the column under the pointer.
func (s *Scene) Scroll(dy float32) {
	p := &s.pane.page
	if s.pane.right.W > 0 && s.pane.pointer.X > s.pane.right.X {
		p = &s.pane.side
	}
	if p.By(dy) {
		s.Layout(s.shell.Theme(), s.pane.area)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	p := &s.pane.page
	if s.pane.right.W > 0 && s.pane.side.Holds(r) {
		p = &s.pane.side
	}
	if r.Y < s.deck.Top() && p.Reveal(r) {
		s.Layout(s.shell.Theme(), s.pane.area)
	}
}
