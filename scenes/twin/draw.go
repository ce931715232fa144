package twin

import (
	"fmt"
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

type twinLayout struct {
	kit.Pane
	tight                             int // 0 roomy, 1 and 2 ever tighter
	picture, gain, treat, listen, ask ink.Rect
	head, sub                         ink.Rect
	names, notes                      [4]ink.Rect
	wells                             [4]ink.Rect
	signs                             [2]ink.Rect // between first and second
	flow                              ink.Rect    // between performances and files
	verdict, figures                  ink.Rect
	gainWords, treatWords             ink.Rect
	question, score                   ink.Rect
	progress                          ink.Rect
}

type twinTexts struct {
	title                        ui.Num
	sub, flow, verdict, figures  ui.Strs
	note                         [4]ui.Strs
	gainP, questionP, scoreP     ui.Para
	treat, score, progress, free ui.Strs
}

const twinLongest = "At 50.0 dB 110\u00a0400 samples differ: the files tell the two apart."

// Layout puts everything into area.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	g := &s.l
	g.Area = area
	if s.show.On() {
		s.show.How.Layout(th, area)
		return
	}
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	foot := s.d.Height(th, r.W, twinLongest)
	s.d.Layout(th, ui.Bottom(&r, foot), twinLongest)
	ui.Bottom(&r, kit.GapDP)
	side := min(max(r.W*0.29, 338*th.Text), 470*th.Text)
	var gh, kh, lh, ah float32
	g.Wide = false
	for g.tight = 0; g.tight < 3 && r.W >= 900*th.Text; g.tight++ {
		gh, kh, lh, ah = s.gainHeight(th), s.treatHeight(th), s.listenHeight(th), s.askHeight(th, side)
		if g.Wide = r.H >= gh+kh+lh+ah+3*kit.GapDP; g.Wide {
			break
		}
	}
	if g.Wide {
		g.Scroll = 0
		right := ui.Right(&r, side)
		ui.Right(&r, kit.GapDP)
		g.picture = r
		spare := right.H - gh - kh - lh - ah - 3*kit.GapDP
		g.ask = ui.Bottom(&right, ah+min(spare*0.2, 40))
		ui.Bottom(&right, kit.GapDP)
		g.listen = ui.Bottom(&right, lh+min(spare*0.15, 30))
		ui.Bottom(&right, kit.GapDP)
		g.treat = ui.Bottom(&right, kh+min(spare*0.15, 30))
		ui.Bottom(&right, kit.GapDP)
		g.gain = right
	} else {
		g.tight = 0
		gh, kh, lh = s.gainHeight(th), s.treatHeight(th), s.listenHeight(th)
		pairs := r.W >= 690*th.Text
		w := r.W
		if pairs {
			w = (r.W - kit.GapDP) / 2
		}
		ah = s.askHeight(th, w)
		ph := 430 * th.Text
		need := ph + kit.GapDP
		if pairs {
			need += max(gh, kh) + max(lh, ah) + kit.GapDP
		} else {
			need += gh + kh + lh + ah + 3*kit.GapDP
		}
		if spare := r.H - need; spare > 0 {
			ph += spare
			need = r.H
		}
		c := g.Stack(r, need)
		g.picture = ui.Top(&c, ph)
		ui.Top(&c, kit.GapDP)
		if pairs {
			a := ui.Top(&c, max(gh, kh))
			ui.Top(&c, kit.GapDP)
			g.gain, g.treat = ui.Column(a, 0, 2, kit.GapDP), ui.Column(a, 1, 2, kit.GapDP)
			g.listen, g.ask = ui.Column(c, 0, 2, kit.GapDP), ui.Column(c, 1, 2, kit.GapDP)
		} else {
			for _, b := range []struct {
				to *ink.Rect
				h  float32
			}{{&g.gain, gh}, {&g.treat, kh}, {&g.listen, lh}, {&g.ask, ah}} {
				*b.to = ui.Top(&c, b.h)
				ui.Top(&c, kit.GapDP)
			}
		}
	}
	s.layoutPicture(th)
	s.layoutGain(th)
	s.layoutTreat(th)
	s.layoutListen(th)
	s.layoutAsk(th)
	g.Clip(s.Controls(), s.d.Controls())
}

func (s *Scene) gainHeight(th *ui.Theme) float32 {
	if s.l.tight > 1 {
		return 8 + ui.KnobHeight(th, 44)
	}
	return 12 + max(ui.KnobHeight(th, 62), 4*th.Row(ui.Small))
}

func (s *Scene) treatHeight(th *ui.Theme) float32 {
	h := 16 + th.Row(ui.Strong) + 2*kit.TileHeight(th) + 6
	if s.l.tight == 0 {
		h += th.Row(ui.Tiny) + 4
	}
	return h
}

func (s *Scene) listenHeight(th *ui.Theme) float32 {
	h := 16 + 2*kit.TileHeight(th) + 4
	if s.l.tight < 2 {
		h += th.Row(ui.Strong) + 4
	}
	return h
}

func (s *Scene) ask() string {
	if s.l.tight > 0 {
		return "One of the two is drawn in secret. Listen and say."
	}
	return "A recording of one of the two is drawn in secret. Listen, then say which one it came from."
}

func (s *Scene) askHeight(th *ui.Theme, width float32) float32 {
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	var p ui.Para
	h := 16 + th.Row(ui.Strong) + p.Height(s.ask(), st, width-24, th.Row(ui.Small)) + 4 + th.Tall(max(30, th.Row(ui.Small)+8)) + 4 + th.Tall(2*th.Row(ui.Tiny))
	if s.l.tight == 0 {
		h += kit.TileHeight(th) + 6
	}
	return h
}

func (s *Scene) layoutPicture(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.picture, 12, 8)
	head := ui.Top(&in, max(th.Row(ui.Strong), th.Tall(26)))
	s.moment.Bounds = ui.Right(&head, s.moment.Width(th)-8)
	ui.Right(&head, 8)
	g.head = head
	g.sub = ui.Top(&in, th.Row(ui.Tiny))
	ui.Top(&in, 4)
	g.figures = ui.Bottom(&in, th.Row(ui.Small))
	g.verdict = ui.Bottom(&in, th.Row(ui.Strong)+2)
	ui.Bottom(&in, 4)
	s.w.Bounds = in
	row, small, flow := th.Row(ui.Small), th.Row(ui.Tiny), th.Row(ui.Tiny)+6
	h := (in.H - 2*row - 2*small - flow - 6) / 2
	mid := th.Px(44)
	w := (in.W - mid) / 2
	for k := range 2 {
		var names, wells, notes ink.Rect
		names = ui.Top(&in, row)
		wells = ui.Top(&in, h)
		ui.Top(&in, 3)
		notes = ui.Top(&in, small)
		for i := range 2 {
			x := in.X + float32(i)*(w+mid)
			at := func(r ink.Rect) ink.Rect { return ink.Rect{X: x, Y: r.Y, W: w, H: r.H} }
			g.names[2*k+i], g.wells[2*k+i], g.notes[2*k+i] = at(names), at(wells), at(notes)
		}
		g.signs[k] = ink.Rect{X: in.X + w, Y: wells.Y, W: mid, H: wells.H}
		if k == 0 {
			g.flow = ui.Top(&in, flow)
		}
	}
}

func (s *Scene) layoutGain(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.gain, 12, 6)
	s.gain.Bounds = ui.Left(&in, min(in.W*0.4, 130*th.Text))
	ui.Left(&in, 14)
	g.gainWords = in
}

func (s *Scene) layoutTreat(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.treat, 12, 8)
	ui.Top(&in, th.Row(ui.Strong))
	g.treatWords = ink.Rect{}
	if g.tight == 0 {
		g.treatWords = ui.Bottom(&in, th.Row(ui.Tiny))
		ui.Bottom(&in, 2)
	}
	h := min((in.H-4)/2, 44)
	for k := range 2 {
		row := ui.Top(&in, h)
		ui.Top(&in, 4)
		kit.Share(row, 3, 4, func(i int) float32 { return s.treat[3*k+i].Width(th) }, func(i int, r ink.Rect) {
			c := s.treat[3*k+i]
			c.Bounds = r
			c.Label = ui.Fit(th.Style(ui.Small, ink.Bold, ink.Left, th.Say), r.W-6, s.treats[3*k+i].labels...)
		})
	}
}

func (s *Scene) layoutListen(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.listen, 12, 8)
	if g.tight < 2 {
		ui.Top(&in, th.Row(ui.Strong)+4)
	} else {
		ui.Left(&in, ink.Measure("Listen", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+12)
	}
	h := min((in.H-4)/2, 44)
	for k := range 2 {
		row := ui.Top(&in, h)
		ui.Top(&in, 4)
		for i := range 2 {
			c := s.listen[2*k+i]
			c.Bounds = ui.Column(row, i, 2, 4)
			c.Label = ui.Fit(th.Style(ui.Small, ink.Bold, ink.Left, th.Say), c.Bounds.W-6, twinLabels[2*k+i]...)
		}
	}
}

var twinLabels = [4][]string{
	{"first performance", "first"}, {"second performance", "second"},
	{"file of the first", "its file"}, {"file of the second", "its file"},
}

func (s *Scene) layoutAsk(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.ask, 12, 8)
	head := ui.Top(&in, th.Row(ui.Strong))
	_ = head
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	g.question = ui.Top(&in, s.t.questionP.Height(s.ask(), st, in.W, th.Row(ui.Small)))
	ui.Top(&in, 4)
	if g.tight == 0 {
		s.listen[twinUnknown].Bounds = ui.Top(&in, kit.TileHeight(th))
		ui.Top(&in, 6)
	}
	row := ui.Top(&in, th.Tall(max(30, th.Row(ui.Small)+8)))
	labels := [2]string{"from the first", "from the second"}
	if g.tight > 0 {
		s.listen[twinUnknown].Bounds = ui.Left(&row, s.listen[twinUnknown].Width(th)+4)
		ui.Left(&row, 12)
		labels = [2]string{"the first", "the second"}
	}
	for i, b := range s.answer {
		b.Label = labels[i]
		b.Bounds = ui.Column(row, i, 2, 6)
	}
	ui.Top(&in, 4)
	g.score = in
	g.score.H = min(in.H, th.Tall(2*th.Row(ui.Tiny)+8))
	b := ui.Right(&g.score, s.reset.Width(th)-8)
	s.reset.Bounds = ink.Rect{X: b.X, Y: b.Y + max(0, (b.H-th.Tall(26))/2), W: b.W, H: min(b.H, th.Tall(max(26, th.Row(ui.Tiny)+8)))}
	ui.Right(&g.score, 8)
}

// Draw draws panels, pictures and words.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	g := &s.l
	if s.show.On() {
		s.show.Draw(l, th)
	}
	g.Begin(l)
	if g.picture.W > 0 {
		s.drawPicture(l, th)
	}
	s.drawSide(l, th)
	g.End(l, th)
	s.d.Draw(l, th, s.strong)
}

func (s *Scene) drawPicture(l *ink.List, th *ui.Theme) {
	g, t := &s.l, s.st
	kit.Panel(l, th, g.picture)
	kit.Heading(l, th, g.head, ui.Fit(th.Style(ui.Strong, ink.Bold, ink.Left, th.Say), g.head.W, s.t.title.Text("The same ", s.w.SpanMS, 0, " ms of both"), "The same moment", "Both"))
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	l.TextIn(g.sub, s.t.sub.Get([6]int64{int64(g.sub.W), int64(th.Text * 100), ui.Q(s.w.MS(), 0)}, func() string {
		at := "at " + ui.Decimal(s.w.MS(), 0) + " ms"
		return ui.Fit(sub, g.sub.W, at+"; dashed: where the converter ends; hatched: what it cut off", at+"; dashed: the ceiling; hatched: cut off", "hatched: cut off")
	}), sub)
	name := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	words := [4][]string{{"first performance", "first"}, {"second performance", "second"}, {"the file it leaves", "its file"}, {"the file it leaves", "its file"}}
	if t != nil && t.treat != twinNone {
		after := s.treats[t.treat].labels[0]
		words[2] = []string{"the file it leaves, after " + after, "its file, after " + after, "its file, treated"}
		words[3] = words[2]
	}
	for i := range g.names {
		l.TextIn(g.names[i], ui.Fit(name, g.names[i].W, words[i]...), name)
	}
	if t == nil {
		for _, r := range g.wells {
			l.Fill(r, 5, th.Well)
		}
		s.drawProgress(l, th)
		return
	}
	var tr [4]kit.Trace
	for i, r := range t.rec {
		tr[i] = kit.Trace{Kept: r.Demand, Lost: r.Demand, Ceiling: r.Ceiling}
		tr[2+i] = kit.Trace{Kept: t.out[i], Thin: r.Demand, Ceiling: r.Ceiling}
		if t.treat == twinNone {
			tr[2+i].Lost = r.Demand
		}
	}
	top := s.w.Top(&tr[0], &tr[1], &tr[2], &tr[3])
	for i := range tr {
		if i < 2 {
			// What will be cut off: from the ceiling to the wave.
			s.w.PlotDemand(l, th, g.wells[i], &tr[i], top)
		} else {
			tr[i].Mended = t.treat != twinNone
			s.w.Plot(l, th, g.wells[i], &tr[i], top)
		}
		pk := kit.Decibel(s.w.Peak(tr[i].Kept))
		l.TextIn(g.notes[i], s.t.note[i].Get([6]int64{ui.Q(pk, 1), int64(g.notes[i].W), int64(th.Text * 100), int64(t.treat), kit.Hash(t.sum[i%2])}, func() string {
			v := ui.Decimal(pk, 1)
			if i < 2 {
				return ui.Fit(sub, g.notes[i].W, "asks the converter for "+v+" dBFS here", "asks for "+v+" dBFS here", "asks for "+v+" dBFS", v+" dBFS")
			}
			return ui.Fit(sub, g.notes[i].W, "SHA-256 "+t.sum[i-2][:12]+"…, peak "+v+" dBFS here", "SHA-256 "+t.sum[i-2][:12], t.sum[i-2][:12])
		}), sub)
	}
	differ := th.Style(ui.Big, ink.Bold, ink.Middle, th.Say)
	l.TextIn(g.signs[0], "≠", differ)
	sign := "="
	st := th.Style(ui.Big, ink.Bold, ink.Middle, th.SayLost)
	if !t.same() {
		sign, st.Color = "≠", th.SayGood
	}
	l.TextIn(g.signs[1], sign, st)
	s.drawFlow(l, th)
	s.drawVerdict(l, th)
}

// drawFlow draws the arrows from the performances to their files.
func (s *Scene) drawFlow(l *ink.List, th *ui.Theme) {
	g := &s.l
	st := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim)
	for i := range 2 {
		w := g.wells[i]
		box := ink.Rect{X: w.X, Y: g.flow.Y, W: w.W, H: g.flow.H}
		text := s.t.flow.Get([6]int64{ui.Q(s.st.gain, 1), int64(box.W), int64(th.Text * 100)}, func() string {
			v := ui.Decimal(s.st.gain, 1) + " dB"
			return ui.Fit(st, box.W-60, "recorded at "+v+" of gain", "recorded at "+v, v)
		})
		l.TextIn(box, text, st)
		tw := ink.Measure(text, st)
		for _, x := range [2]float32{box.X + (box.W-tw)/2 - 16, box.X + (box.W+tw)/2 + 16} {
			y := box.Y + 3
			l.Line(1.5, th.SayDim, ink.Point{X: x, Y: y}, ink.Point{X: x, Y: box.Bottom() - 6})
			l.Polygon(th.SayDim, ink.Point{X: x - 4, Y: box.Bottom() - 8}, ink.Point{X: x + 4, Y: box.Bottom() - 8}, ink.Point{X: x, Y: box.Bottom() - 2})
		}
	}
}

func (s *Scene) drawVerdict(l *ink.List, th *ui.Theme) {
	g, t := &s.l, s.st
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.SayLost)
	same := t.same()
	if !same {
		st.Color = th.SayGood
	}
	d := th.DP(ui.Strong) * 1.1
	box := g.verdict
	ui.Verdict(l, th, ink.Point{X: box.X + d/2 + 1, Y: box.Y + box.H/2}, d, !same)
	ui.Left(&box, d+10)
	n := len(t.out[0])
	l.TextIn(box, s.t.verdict.Get([6]int64{int64(t.differing), int64(n), int64(box.W), int64(th.Text * 100), int64(t.treat)}, func() string {
		what := "The files"
		if t.treat != twinNone {
			what = "The treated files"
		}
		if same {
			return ui.Fit(st, box.W, what+" are equal to the last bit: "+kit.Grouped(n)+" of "+kit.Grouped(n)+" samples, and the SHA-256.",
				what+" are equal to the last bit: "+kit.Grouped(n)+" of "+kit.Grouped(n)+" samples.", what+" are equal to the last bit.", "Equal to the last bit.")
		}
		return ui.Fit(st, box.W, what+" differ in "+kit.Grouped(t.differing)+" of "+kit.Grouped(n)+" samples, "+ui.Decimal(-t.apartDB, 1)+" dB below their level.",
			what+" differ in "+kit.Grouped(t.differing)+" of "+kit.Grouped(n)+" samples.", what+" differ: "+kit.Grouped(t.differing)+" samples.", "The files differ.")
	}), st)
	if s.job != nil {
		s.drawProgress(l, th)
		return
	}
	sub := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	l.TextIn(g.figures, s.t.figures.Get([6]int64{int64(t.pair.Free), int64(g.figures.W), int64(th.Text * 100)}, func() string {
		free := kit.Grouped(t.pair.Free) + " of " + kit.Grouped(t.pair.Total) + " samples were clipped at " + ui.Decimal(twinGain, 0) + " dB"
		apart := ui.Decimal(math.Abs(t.pair.LevelDB), 1) + " dB apart"
		return ui.Fit(sub, g.figures.W, free+"; there the file says nothing but “at least full scale”, and the two are "+apart+" in level.",
			free+"; there the two are "+apart+" in level.", kit.Grouped(t.pair.Free)+" samples were clipped; there the two are "+apart+".", "Where it clipped, the two are "+apart+".")
	}), sub)
}

func (s *Scene) drawProgress(l *ink.List, th *ui.Theme) {
	g := &s.l
	if s.job == nil {
		if s.failed != "" {
			l.TextIn(g.figures, s.status, th.Style(ui.Small, ink.Regular, ink.Left, th.SayCeiling))
		}
		return
	}
	stage, share := s.job.Progress()
	kit.ProgressBar(l, th, g.figures, share, s.t.progress.Get([6]int64{ui.Q(share*100, 0), kit.Hash(stage)}, func() string {
		if stage == "" {
			stage = "beginning"
		}
		return fmt.Sprintf("%s, %s %%", stage, ui.Decimal(share*100, 0))
	}))
}

func (s *Scene) drawSide(l *ink.List, th *ui.Theme) {
	g := &s.l
	if g.gain.W > 0 {
		s.drawGain(l, th)
	}
	if g.treat.W > 0 {
		s.drawTreat(l, th)
	}
	if g.listen.W > 0 {
		kit.Panel(l, th, g.listen)
		if g.tight < 2 {
			title(l, th, g.listen, "Listen")
		} else {
			row := s.listen[0].Bounds
			kit.Heading(l, th, ink.Rect{X: g.listen.X + 12, Y: row.Y, W: row.X - g.listen.X - 16, H: row.H}, "Listen")
		}
	}
	if g.ask.W > 0 {
		s.drawAsk(l, th)
	}
}

// title writes the first of text that fits at the top of a panel.
func title(l *ink.List, th *ui.Theme, r ink.Rect, text ...string) {
	in := ui.Pad(r, 12, 8)
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	kit.Heading(l, th, ui.Top(&in, th.Row(ui.Strong)), ui.Fit(st, in.W, text...))
}

func (s *Scene) drawGain(l *ink.List, th *ui.Theme) {
	g, t := &s.l, s.st
	kit.Panel(l, th, g.gain)
	small := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	row := th.Row(ui.Small)
	w := g.gainWords
	words := "Both performances are recorded again at the gain you choose."
	if t != nil {
		words = "At this gain both leave the same file. Turn it down: both are recorded again."
		if !t.same() {
			words = "With less gain the peaks are in the files, and the files differ."
		}
	}
	h := s.t.gainP.Height(words, small, w.W, row)
	w.Y += max(0, (w.H-h)/2)
	s.t.gainP.Draw(l, w, words, small, row)
}

func (s *Scene) drawTreat(l *ink.List, th *ui.Theme) {
	g, t := &s.l, s.st
	kit.Panel(l, th, g.treat)
	title(l, th, g.treat, "Do something to both files", "Treat both files")
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	if t == nil || g.treatWords.H <= 0 {
		return
	}
	l.TextIn(g.treatWords, s.t.treat.Get([6]int64{int64(t.treat), int64(t.differing), int64(g.treatWords.W), int64(th.Text * 100)}, func() string {
		switch {
		case t.treat == twinNone && !t.same():
			return ui.Fit(tiny, g.treatWords.W, "Different files: treated, they differ too.", "Different files.")
		case t.treat == twinNone:
			return ui.Fit(tiny, g.treatWords.W, "Equal in, equal out: no treatment can know.", "Equal in, equal out.")
		case t.same():
			return ui.Fit(tiny, g.treatWords.W, "Both results equal: it cannot know which it had.", "Both results are equal.")
		}
		return ui.Fit(tiny, g.treatWords.W, "The results differ, as the files did.", "The results differ.")
	}), tiny)
}

func (s *Scene) drawAsk(l *ink.List, th *ui.Theme) {
	g, t := &s.l, s.st
	kit.Panel(l, th, g.ask)
	title(l, th, g.ask, "Which one was recorded?")
	small := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	s.t.questionP.Draw(l, g.question, s.ask(), small, th.Row(ui.Small))
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	k := 0
	if t != nil {
		k = s.kind()
	}
	y := s.tally[k]
	score := s.t.score.Get([6]int64{int64(k), int64(y.n), int64(y.right), int64(g.score.W), int64(th.Text * 100)}, func() string {
		what := [2]string{"equal files", "different files"}[k]
		if y.n == 0 {
			return what + ": nothing answered yet"
		}
		s := fmt.Sprintf("%s: %d of %d right, %s by guessing", what, y.right, y.n, pValue(y.p()))
		if k == 0 {
			s += "; there is nothing to know"
		}
		return s
	})
	s.t.scoreP.Draw(l, g.score, score, tiny, th.Row(ui.Tiny))
}
