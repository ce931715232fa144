package gain

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/talker"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// Draw draws panels, pictures and words; the controls come after.
func (g *Scene) Draw(l *ink.List, th *ui.Theme) {
	if g.idea != ideaAll {
		g.drawIdea(l, th)
		return
	}
	if g.lent {
		g.drawRoom(l, th)
		return
	}
	g.win.Draw(l, th)
	if g.cards.On {
		g.drawNarrow(l, th)
		return
	}
	if !g.wide {
		l.Clip(g.view)
	}
	kit.Panel(l, th, g.d.Box)
	g.d.Draw(l, th)
	g.drawWaves(l, th)
	for i := range g.Bench.N() {
		g.drawStrip(l, th, i)
	}
	g.drawListen(l, th)
	g.drawTalker(l, th)
	if !g.wide {
		l.Unclip()
		if g.content > g.view.H+1 {
			bar := ink.Rect{X: g.area.Right() - 8, Y: g.view.Y, W: 5, H: g.view.H}
			l.Fill(bar, 2.5, th.Panel)
			l.Fill(ink.Rect{X: bar.X, Y: bar.Y + g.scroll/g.content*bar.H, W: bar.W, H: g.view.H / g.content * bar.H}, 2.5, th.SayDim)
		}
	}
	g.drawTransport(l, th)
}

func (g *Scene) drawStrip(l *ink.List, th *ui.Theme, i int) {
	sp := &g.strip[i]
	kit.Panel(l, th, sp.box)
	if g.Shown == i {
		// The strip that the pictures show.
		l.Fill(ink.Rect{X: sp.box.X, Y: sp.box.Y + 10, W: 3, H: sp.box.H - 20}, 1.5, th.Signal)
	}
	name := g.title(i)
	l.TextIn(sp.title, name, th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))
	overs, longest, head, ok := g.overFigures(i)
	box := sp.line
	if ok {
		s := th.DP(ui.Small) * 1.1
		ui.Verdict(l, th, ink.Point{X: box.X + s/2 + 1, Y: box.Y + box.H/2}, s, overs == 0)
		ui.Left(&box, s+8)
	}
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.SayDim)
	// The take's figures stand beside the settings of now: whose they are is said
	// where these differ.
	key := [6]int64{int64(overs), ui.Q(longest, 1), ui.Q(head, 1), int64(box.W), int64(th.Text * 100), kit.Bit(ok)}
	if t := g.Bench.Shown(); t != nil && (!ok || t.End[i] != g.Bench.Chain(i)) {
		key[5] |= t.ID << 1
	}
	s := g.t.over[i].Get(key, func() string {
		of := g.ofTake(i)
		switch {
		case g.Absent(i):
			return ui.Fit(st, box.W, notInTake(g.Bench.Take().Number), "not in it")
		case !ok:
			return "nothing heard yet"
		case overs == 0:
			left := "no overs, " + ui.Decimal(head, 1) + " dB left"
			return ui.Fit(st, box.W, of+left+" at the loudest", of+left, of+"no overs", left, "no overs")
		}
		n := fmt.Sprintf("%d overs", overs)
		if overs == 1 {
			n = "1 over"
		}
		ms := ui.Decimal(longest, 1) + " ms"
		return ui.Fit(st, box.W, of+n+", longest "+ms+": lost for good", of+n+", longest "+ms, of+n, n)
	})
	if ok {
		st.Color = th.SayGood
		if overs > 0 {
			st.Color = th.SayLost
		}
	}
	l.TextIn(box, s, st)
	noise := float64(g.readings(i).DeliveredNoiseLUFS)
	st = th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	s = g.t.noise[i].Get([6]int64{ui.Q(noise, 1), int64(sp.noise.W), int64(th.Text * 100), kit.Bit(g.Absent(i))}, func() string {
		if g.Absent(i) {
			return ""
		}
		if math.IsNaN(noise) || math.IsInf(noise, 0) {
			return ui.Fit(st, sp.noise.W, "noise after delivery: not known yet", "noise: not known yet", "noise: –")
		}
		v := ui.Decimal(noise, 1) + " LUFS"
		return ui.Fit(st, sp.noise.W, "noise after delivery at −19 LUFS: "+v, "noise after delivery "+v, "noise "+v)
	})
	l.TextIn(sp.noise, s, st)
	if sp.label.H > 0 {
		l.TextIn(sp.label, "limiter", th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim))
	}
}

func (g *Scene) drawListen(l *ink.List, th *ui.Theme) {
	if g.blind.Open {
		g.blind.Draw(l, th)
		return
	}
	kit.Panel(l, th, g.listenBox)
	g.drawMending(l, th)
	if g.listenRow {
		return
	}
	b := g.listen[0].Bounds
	x := g.listenBox.X + 12
	l.TextIn(ink.Rect{X: x, Y: b.Y, W: b.X - x, H: b.H}, "Listen", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))
}

func (g *Scene) drawTalker(l *ink.List, th *ui.Theme) {
	read := talker.Reading(-1)
	if g.load != nil {
		read = talker.Reading(g.load.Progress())
	}
	g.who.Draw(l, th, read)
}

// fits is s, cut after as many words as there is room for. All of it is told to
// assistive technology.
func (t *gainText) fits(s string, st ink.Style, box ink.Rect, row float32) string {
	if k := (cutKey{s, box.W, box.H, st.Size}); k != t.cutOf {
		t.cutOf, t.cut = k, s
		for t.result.Height(t.cut, st, box.W, row) > box.H+1 {
			i := strings.LastIndexByte(strings.TrimSuffix(t.cut, " …"), ' ')
			if i < 0 {
				break
			}
			t.cut = t.cut[:i] + " …"
		}
	}
	return t.cut
}

func (g *Scene) drawTransport(l *ink.List, th *ui.Theme) {
	kit.Panel(l, th, g.transport)
	if g.cards.On && g.low.H > 0 {
		kit.Panel(l, th, g.low)
	}
	if g.caution {
		g.drawCaution(l, th)
		if g.cautBox == g.transport {
			return // it lies over the words
		}
	}
	s, failed := g.shell.Said()
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	if failed {
		st.Color = th.SayCeiling
	} else if t := g.Bench.Take(); t != nil && t.Done {
		st.Font = ink.Bold
	}
	shorten := func(ways ...func() string) {
		for _, shorter := range ways {
			if g.t.result.Height(s, st, g.resultBox.W, th.Row(ui.Small)) <= g.resultBox.H+1 {
				break
			}
			s = shorter()
		}
	}
	if t := g.Bench.Take(); t != nil && t.Done && strings.HasPrefix(s, g.fullResult(t)) {
		// Of several strips the words are long.
		shorten(func() string { return g.fullResult(t) }, func() string { return g.briefResult(t) })
	} else if g.file.Done != "" && strings.HasPrefix(s, g.file.Done) {
		// All of it stands above.
		shorten(func() string { return g.file.Done }, func() string { return g.file.Brief })
	}
	s = g.t.fits(s, st, g.resultBox, th.Row(ui.Small))
	g.t.result.Draw(l, g.resultBox, s, st, th.Row(ui.Small))
	note := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	text := ui.Fit(note, g.noteBox.W, kit.SafetyLong, kit.SafetyShort)
	g.t.note.Draw(l, g.noteBox, text, note, th.Row(ui.Tiny))
	if !g.cards.On && !g.caution {
		g.drawClock(l, th)
	}
}

// drawCaution writes the caution before clipped sound.
func (g *Scene) drawCaution(l *ink.List, th *ui.Theme) {
	b := g.cautBox
	l.Fill(b, 6, th.Lost.Mix(th.Panel, 0.82))
	l.Frame(b.Inset(1), 6, 1.5, th.Lost)
	in := ui.Pad(b, 12, 4)
	in.W = g.cautPlay.Bounds.X - 10 - in.X
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	row := th.Row(ui.Small) * 0.95
	const long = "Caution: this strip is clipped and will sound harsh. Lower the listening level first, above all with headphones."
	text := long
	if g.t.caution.Height(long, st, in.W, row) > in.H {
		text = "Clipped: harsh. Lower the listening level first."
	}
	h := g.t.caution.Height(text, st, in.W, row)
	in.Y += max(0, (in.H-h)/2)
	g.t.caution.Draw(l, in, text, st, row)
}

func (g *Scene) drawClock(l *ink.List, th *ui.Theme) {
	t := g.Bench.Take()
	if t == nil {
		return
	}
	at, end := g.Bench.Place(), t.Seconds()
	mode := g.Bench.Mode()
	s := g.t.clock.Get([6]int64{ui.Q(at, 1), ui.Q(end, 1), int64(mode)}, func() string {
		if mode == bench.ModeRecord {
			return ui.Decimal(end, 1) + " s"
		}
		return ui.Decimal(at, 1) + " / " + ui.Decimal(end, 1) + " s"
	})
	l.TextIn(g.clockBox, s, th.Style(ui.Small, ink.Mono, ink.Right, th.Say))
}

func (g *Scene) drawWaves(l *ink.List, th *ui.Theme) {
	if g.drawer.At != drawer.None {
		g.drawer.Draw(l, th)
		return
	}
	kit.Panel(l, th, g.waves)
	switch {
	case g.look == viewSpectrum && g.idea == ideaAll || g.idea == ideaSpectrum:
		g.spec.Draw(g.wave, l, th)
		return
	case g.look == viewFile && g.idea == ideaAll:
		g.file.Draw(l, th)
		return
	case g.look == viewResult && g.idea == ideaAll || g.idea == ideaResult:
		g.card.Draw(l, th, &g.Sight, g.idea == ideaResult)
		return
	}
	head := g.wave.Head
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	var title string
	if span := g.wave.Span(); span < 1000 {
		digits := 0
		if span < 10 {
			digits = 1
		}
		title = g.wave.Title.Text("The same ", span, digits, " ms at four places")
	} else {
		title = g.wave.Title.Text("The same ", span/1000, 1, " s at four places")
	}
	if ink.Measure(title, st) > head.W {
		title = "Waves"
	}
	w := ink.Measure(title, st)
	l.TextIn(ui.Left(&head, min(w+1, head.W)), title, st)
	ui.Left(&head, 12)
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	at := float64(g.wave.At) / bench.Rate
	review := g.Bench.Shown() != nil
	s := g.t.wave.Get([6]int64{ui.Q(at, 3), int64(head.W), kit.Bit(review), int64(th.Text * 100)}, func() string {
		thin := "thin line: what the talker did"
		if review {
			when := "at " + ui.Decimal(at, 3) + " s"
			return ui.Fit(sub, head.W, when+" of the take; "+thin, when+"; "+thin, thin, when, "")
		}
		return ui.Fit(sub, head.W, "around the loudest moment so far; "+thin, thin, "")
	})
	l.TextIn(head, s, sub)
}
