package mend

import (
	"fmt"
	"math"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

type mendLayout struct {
	kit.Pane
	tight                          int
	picture, table, src, stack, ls ink.Rect
	head, sub                      ink.Rect
	wells, names, notes            [3]ink.Rect
	cells, words, progress         ink.Rect
	rows                           [7]ink.Rect
}

type mendTexts struct {
	title         ui.Num
	sub, progress ui.Strs
	note          [3]ui.Strs
	cell          [4][3]ui.Num
	words         [2]ui.Para
	source        ui.Strs
}

const mendLongest = "Treated: 18.8 dB further from what was spoken."

// The longest verdict there is to say, to measure the room it needs.
const mendLongVerdict = "Nothing came back: the distance from the truth changed by 0.1 dB. The rest, only 10 dB below the voice, did not come back and will be heard."

const mendLongLower = "With 12 dB less gain the same take, brought up and cleaned, has its error 18.8 dB below the voice: 18.8 dB better than the mended one."

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
	foot := s.d.Height(th, r.W, mendLongest)
	s.d.Layout(th, ui.Bottom(&r, foot), mendLongest)
	ui.Bottom(&r, kit.GapDP)
	side := min(max(r.W*0.29, 338*th.Text), 470*th.Text)
	g.Wide = false
	var sh, kh, lh, th2 float32
	for g.tight = 0; g.tight < 3 && r.W >= 900*th.Text; g.tight++ {
		sh, kh, lh = s.sourceHeight(th), s.stackHeight(th), s.listenHeight(th)
		th2 = s.tableHeight(th, r.W-side-kit.GapDP)
		if g.Wide = r.H >= sh+kh+lh+2*kit.GapDP && r.H >= th2+kit.GapDP+170*th.Text; g.Wide {
			break
		}
	}
	if g.Wide {
		g.Scroll = 0
		right := ui.Right(&r, side)
		ui.Right(&r, kit.GapDP)
		g.table = ui.Bottom(&r, th2+min(max(0, r.H-th2-400)*0.2, 60))
		ui.Bottom(&r, kit.GapDP)
		g.picture = r
		spare := right.H - sh - kh - lh - 2*kit.GapDP
		g.src = ui.Top(&right, sh+min(spare*0.2, 24))
		ui.Top(&right, kit.GapDP)
		g.ls = ui.Bottom(&right, lh+min(spare*0.2, 24))
		ui.Bottom(&right, kit.GapDP)
		g.stack = right
	} else {
		g.tight = 0
		sh, kh, lh = s.sourceHeight(th), s.stackHeight(th), s.listenHeight(th)
		th2 = s.tableHeight(th, r.W)
		pairs := r.W >= 690*th.Text
		ph := 260 * th.Text
		need := ph + th2 + 2*kit.GapDP
		if pairs {
			need += max(kh, sh+lh+kit.GapDP)
		} else {
			need += sh + kh + lh + 2*kit.GapDP
		}
		if spare := r.H - need; spare > 0 {
			ph += spare
			need = r.H
		}
		c := g.Pane.Stack(r, need)
		g.picture = ui.Top(&c, ph)
		ui.Top(&c, kit.GapDP)
		if pairs {
			b := ui.Top(&c, max(kh, sh+lh+kit.GapDP))
			ui.Top(&c, kit.GapDP)
			g.stack = ui.Column(b, 0, 2, kit.GapDP)
			b = ui.Column(b, 1, 2, kit.GapDP)
			g.src = ui.Top(&b, sh)
			ui.Top(&b, kit.GapDP)
			g.ls = b
		} else {
			g.stack = ui.Top(&c, kh)
			ui.Top(&c, kit.GapDP)
			g.src = ui.Top(&c, sh)
			ui.Top(&c, kit.GapDP)
			g.ls = ui.Top(&c, lh)
			ui.Top(&c, kit.GapDP)
		}
		g.table = c
	}
	s.layoutPicture(th)
	s.layoutTable(th)
	s.layoutSource(th)
	s.layoutStack(th)
	s.layoutListen(th)
	g.Clip(s.Controls(), s.d.Controls())
}

func (s *Scene) sourceHeight(th *ui.Theme) float32 {
	return 14 + th.Row(ui.Strong) + 2*kit.TileHeight(th) + 6
}

func (s *Scene) stackRow(th *ui.Theme) float32 {
	h := max([3]float32{30, 26, 24}[min(s.l.tight, 2)], th.Row(ui.Small)+[3]float32{8, 6, 4}[min(s.l.tight, 2)])
	if th.Least > 0 {
		return max(h, th.Least+3)
	}
	return h
}

func (s *Scene) stackHeight(th *ui.Theme) float32 {
	return 14 + max(th.Row(ui.Strong), th.Tall(26)) + 2 + float32(s.stackRows())*s.stackRow(th)
}

// stackRows is a row for each treatment, and one for the limiter where one is told.
func (s *Scene) stackRows() int {
	if s.ridden() {
		return len(mendKinds) + 1
	}
	return len(mendKinds)
}

func (s *Scene) listenHeight(th *ui.Theme) float32 {
	h := 14 + 2*kit.TileHeight(th) + min(th.Least, 4) + 4 + th.Tall(max(24, th.Row(ui.Small)+4))
	if s.l.tight < 2 {
		h += th.Row(ui.Strong) + 2
	}
	return h
}

// split tells how the table's panel is cut: figures, and words beside or below.
func (s *Scene) split(th *ui.Theme, width float32) (cells, words float32, beside bool) {
	in := width - 24
	if in >= 600*th.Text {
		return in * 0.52, in*0.48 - 18, true
	}
	return in, in, false
}

func (s *Scene) wordsHeight(th *ui.Theme, width float32) float32 {
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	var p, q ui.Para
	long := mendLongVerdict
	if s.ridden() {
		long += limitedWords
	}
	return p.Height(long, st, width, th.Row(ui.Small)) + 4 + q.Height(mendLongLower, st, width, th.Row(ui.Small))
}

func (s *Scene) cellsHeight(th *ui.Theme) float32 { return 5*(th.Row(ui.Small)+3) + 2 }

func (s *Scene) tableHeight(th *ui.Theme, width float32) float32 {
	_, w, beside := s.split(th, width)
	a, b := s.cellsHeight(th), s.wordsHeight(th, w)
	if beside {
		return 16 + max(a, b)
	}
	return 16 + a + 8 + b
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
	s.w.Bounds = in
	for i := range 3 {
		c := ui.Column(in, i, 3, th.Px(12))
		g.names[i] = ui.Top(&c, th.Row(ui.Small))
		g.notes[i] = ui.Bottom(&c, th.Row(ui.Tiny))
		ui.Bottom(&c, 3)
		g.wells[i] = c
	}
}

func (s *Scene) layoutTable(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.table, 12, 8)
	cw, ww, beside := s.split(th, g.table.W)
	if beside {
		g.cells = ui.Left(&in, cw)
		g.words = ui.Right(&in, ww)
	} else {
		g.cells = ui.Top(&in, s.cellsHeight(th))
		ui.Top(&in, 8)
		g.words = in
	}
}

func (s *Scene) layoutSource(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.src, 12, 7)
	ui.Top(&in, th.Row(ui.Strong)+2)
	h := min((in.H-4)/2, 44)
	one := ui.Top(&in, h)
	ui.Top(&in, 4)
	two := ui.Top(&in, h)
	strips := s.source[:len(s.source)-1]
	n := 2
	if t := s.lastTake(); t != nil {
		n = max(2, takeStrips(t))
	}
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	for i, c := range strips {
		c.Bounds = ui.Column(one, min(i, n-1), n, 4)
		c.Label = ui.Fit(st, c.Bounds.W-6, "take, strip "+bench.StripNames[i], "strip "+bench.StripNames[i], bench.StripNames[i])
	}
	b := s.source[len(strips)]
	w := min(s.open.Width(th)+6, two.W/2)
	s.open.Bounds = ui.Right(&two, w)
	ui.Right(&two, 4)
	b.Bounds = two
	b.Label = ui.Fit(st, two.W-6, "the captain laughs", "a built-in take", "built-in")
}

func (s *Scene) layoutStack(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.stack, 12, 7)
	head := ui.Top(&in, max(th.Row(ui.Strong), th.Tall(26)))
	s.cancel.Bounds = ui.Right(&head, max(s.cancel.Width(th)-4, th.Px(70)))
	ui.Right(&head, 10)
	ui.Left(&head, ink.Measure("Treat it, in this order", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+12)
	g.progress = head
	ui.Top(&in, 2)
	h := in.H / float32(s.stackRows())
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	for i := range s.order.kinds {
		k := s.order.kinds[i]
		row := ui.Top(&in, h)
		g.rows[i] = row
		row = ui.Pad(row, 0, 1.5)
		bw := th.Tall(max(28, th.Px(24)))
		s.down[k].Bounds = ui.Right(&row, bw)
		ui.Right(&row, 4)
		s.up[k].Bounds = ui.Right(&row, bw)
		ui.Right(&row, 8)
		if k == kindDeclip {
			w := float32(0)
			for _, e := range s.effort {
				w += th.Tall(e.Width(th) - 4)
			}
			tiles := ui.Right(&row, min(w+8+min(th.Least, 4), max(row.W*0.66, th.Least*3.75)))
			ui.Right(&row, 6)
			kit.Share(tiles, len(s.effort), 4, func(i int) float32 { return th.Tall(s.effort[i].Width(th) - 4) }, func(i int, r ink.Rect) { s.effort[i].Bounds = r })
		}
		s.on[k].Bounds = row
		s.on[k].Label = ui.Fit(st, row.W-th.Px(16)-10, mendKinds[k].words...)
		s.up[k].Label, s.down[k].Label = "↑", "↓"
		s.up[k].Size, s.down[k].Size = ui.Small, ui.Small
		if k == kindDeclip && s.ridden() {
			row := ui.Pad(ui.Top(&in, h), 0, 1.5)
			ui.Left(&row, th.Px(22))
			s.unlimit.Bounds = row
			db := ui.Decimal(s.take.clips.ReductionDB(), 1)
			s.unlimit.Label = ui.Fit(st, row.W-th.Px(16)-10, "undo the limiter behind it: up to "+db+" dB", "undo the limiter, up to "+db+" dB", "undo the limiter")
		}
	}
}

func (s *Scene) layoutListen(th *ui.Theme) {
	g := &s.l
	in := ui.Pad(g.ls, 12, 7)
	low := ui.Bottom(&in, th.Tall(max(24, th.Row(ui.Small)+4)))
	ui.Bottom(&in, 4)
	s.keep.Bounds = ui.Right(&low, s.keep.Width(th))
	ui.Right(&low, 8)
	s.matched.Label = ui.Fit(th.Style(ui.Small, ink.Regular, ink.Left, th.Say), low.W-th.Px(16)-9,
		"matched in loudness, −23 LUFS", "matched, −23 LUFS", "matched")
	s.matched.Bounds = low
	if g.tight < 2 {
		ui.Top(&in, th.Row(ui.Strong)+2)
	} else {
		ui.Left(&in, ink.Measure("Listen", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+12)
	}
	h := min((in.H-4)/2, 44)
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	labels := [4][]string{{"as spoken"}, {"as recorded"}, {"mended"}, {"12 dB less gain", "12 dB less", "less gain"}}
	for k := range 2 {
		row := ui.Top(&in, h)
		ui.Top(&in, 4)
		for i := range 2 {
			c := s.listen[2*k+i]
			c.Bounds = ui.Column(row, i, 2, 4)
			c.Label = ui.Fit(st, c.Bounds.W-6, labels[2*k+i]...)
		}
	}
}

// Draw draws panels, pictures, figures and words.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	g := &s.l
	if s.show.On() {
		s.show.Draw(l, th)
	}
	g.Begin(l)
	if g.picture.W > 0 {
		s.drawPicture(l, th)
	}
	if g.table.W > 0 {
		s.drawTable(l, th)
	}
	s.drawSide(l, th)
	g.End(l, th)
	s.d.Draw(l, th, s.strong)
}

func (s *Scene) drawPicture(l *ink.List, th *ui.Theme) {
	g, m := &s.l, s.take
	kit.Panel(l, th, g.picture)
	kit.Heading(l, th, g.head, ui.Fit(th.Style(ui.Strong, ink.Bold, ink.Left, th.Say), g.head.W, s.t.title.Text("The same ", s.w.SpanMS, 0, " ms"), "One moment"))
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	if m == nil {
		for _, r := range g.wells {
			l.Fill(r, 5, th.Well)
		}
		return
	}
	l.TextIn(g.sub, s.t.sub.Get([6]int64{int64(g.sub.W), int64(th.Text * 100), ui.Q(s.w.MS(), 0), kit.Bit(m.truth != nil), kit.Hash(m.title)}, func() string {
		at := m.title + " at " + ui.Decimal(s.w.MS(), 0) + " ms"
		if m.truth == nil {
			return ui.Fit(sub, g.sub.W, at+"; thin: as recorded", "at "+ui.Decimal(s.w.MS(), 0)+" ms")
		}
		return ui.Fit(sub, g.sub.W, at+"; thin line: what was spoken; hatched: what is missing", "thin line: what was spoken; hatched: what is missing", "thin: as spoken; hatched: missing", "hatched: missing")
	}), sub)
	tr := [3]*kit.Trace{{Kept: m.x, Thin: m.truth, Ceiling: m.clipLevel()}, nil, nil}
	if m.ceiling > 0 {
		tr[0].Lost = m.truth
		if f := s.figs[mendRecorded]; m.limited() {
			tr[0].Scale = f.fit
		}
	}
	if s.res != nil {
		tr[1] = &kit.Trace{Kept: s.res.y, Thin: m.truth, Ceiling: m.clipLevel(), Mended: true, Scale: s.figs[mendMended].fit}
		if m.truth == nil {
			tr[1].Thin = m.x
		} else if m.ceiling > 0 {
			tr[1].Lost = m.truth
		}
	}
	if s.clean != nil {
		tr[2] = &kit.Trace{Kept: s.clean, Thin: m.truth, Ceiling: m.clipLevel()}
	}
	var shown []*kit.Trace
	for _, t := range tr {
		if t != nil {
			shown = append(shown, t)
		}
	}
	top := s.w.Top(shown...)
	name := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	names := [3][]string{{"as recorded"}, {"mended"}, {"12 dB less gain, brought up", "12 dB less gain", "less gain"}}
	for i, r := range g.wells {
		s.w.Plot(l, th, r, tr[i], top)
		l.TextIn(g.names[i], ui.Fit(name, g.names[i].W, names[i]...), name)
		f := s.figs[i+1]
		if !f.ok {
			continue
		}
		note := sub
		l.TextIn(g.notes[i], s.t.note[i].Get([6]int64{ui.Q(f.sdr, 1), int64(g.notes[i].W), int64(th.Text * 100), int64(len(m.clips.Runs))}, func() string {
			if math.IsNaN(f.sdr) {
				if i == 0 {
					return ui.Fit(note, g.notes[i].W, fmt.Sprintf("%d flat tops found", len(m.clips.Runs)))
				}
				return ""
			}
			v := ui.Decimal(f.sdr, 1) + " dB"
			return ui.Fit(note, g.notes[i].W, "error "+v+" below the voice", "error "+v+" below", v)
		}), note)
	}
}

// limited reports whether a limiter turned the file down after the converter, so
// that its flat tops lie below the ceiling.
func (m *mendTake) limited() bool {
	return m.ceiling > 0 && m.clips.Top > 0 && m.clips.Top < 0.95*m.ceiling
}

var mendRows = [4][]string{
	{"error, dB below the voice", "error, dB below voice", "error below, dB"},
	{"true peak, dBTP", "peak, dBTP"},
	{"loudness, LUFS", "LUFS"},
	{"noise in pauses, LUFS at −19", "noise in pauses, LUFS", "noise, LUFS"},
}

func (s *Scene) drawTable(l *ink.List, th *ui.Theme) {
	g := &s.l
	kit.Panel(l, th, g.table)
	in := g.cells
	row := in.H / 5
	row = min(row, th.Row(ui.Small)+10)
	head := ui.Top(&in, row)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	lab := min(ink.Measure(mendRows[0][0], st)+14, g.cells.W*0.4)
	ui.Left(&head, lab)
	cols := [3][]string{{"as recorded", "recorded"}, {"mended"}, {"12 dB less gain", "12 dB less", "less gain"}}
	hues := [3]ink.Color{th.SaySignal, th.SayMended, th.SaySignal}
	for i, c := range cols {
		r := ui.Column(head, i, 3, 6)
		h := th.Style(ui.Small, ink.Bold, ink.Right, hues[i])
		l.TextIn(r, ui.Fit(h, r.W, c...), h)
	}
	for k, names := range mendRows {
		r := ui.Top(&in, row)
		l.Line(1, th.Grid, ink.Point{X: r.X, Y: r.Y}, ink.Point{X: r.Right(), Y: r.Y})
		a := ui.Left(&r, lab)
		l.TextIn(a, ui.Fit(st, a.W-4, names...), st)
		for i := range 3 {
			f := s.figs[i+1]
			c := ui.Column(r, i, 3, 6)
			v := math.NaN()
			if f.ok {
				v = [4]float64{f.sdr, f.peak, f.lufs, f.noise}[k]
			}
			l.TextIn(c, s.t.cell[k][i].Text("", v, 1, ""), th.Style(ui.Small, ink.Mono, ink.Right, th.Say))
		}
	}
	w := g.words
	say := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	for i, text := range s.verdict {
		if text == "" {
			continue
		}
		used := s.t.words[i].Draw(l, w, text, say, th.Row(ui.Small))
		w.Y += used + 4
		w.H -= used + 4
		say.Color = th.SayDim
	}
}

func (s *Scene) drawSide(l *ink.List, th *ui.Theme) {
	g := &s.l
	if g.src.W > 0 {
		s.drawSource(l, th)
	}
	if g.stack.W > 0 {
		s.drawStack(l, th)
	}
	if g.ls.W <= 0 {
		return
	}
	kit.Panel(l, th, g.ls)
	if g.tight < 2 {
		in := ui.Pad(g.ls, 12, 7)
		kit.Heading(l, th, ui.Top(&in, th.Row(ui.Strong)), "Listen")
	} else {
		r := s.listen[0].Bounds
		kit.Heading(l, th, ink.Rect{X: g.ls.X + 12, Y: r.Y, W: r.X - g.ls.X - 16, H: r.H}, "Listen")
	}
}

func (s *Scene) drawSource(l *ink.List, th *ui.Theme) {
	g := &s.l
	kit.Panel(l, th, g.src)
	in := ui.Pad(g.src, 12, 7)
	head := ui.Top(&in, th.Row(ui.Strong))
	w := kit.Heading(l, th, head, "What to mend")
	ui.Left(&head, w+12)
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	if s.load != nil {
		l.TextIn(head, "reading "+ui.Decimal(s.load.Progress()*100, 0)+" %", tiny)
	} else if m := s.take; m != nil {
		l.TextIn(head, s.t.source.Get([6]int64{int64(len(m.x)), int64(head.W), int64(th.Text * 100), kit.Hash(m.title)}, func() string {
			sec := ui.Decimal(float64(len(m.x))/bench.Rate, 1) + " s"
			return ui.Fit(tiny, head.W, m.title+", "+sec+" around its loudest moment", sec+" around the loudest moment", sec+" of it", sec)
		}), tiny)
	}
}

func (s *Scene) drawStack(l *ink.List, th *ui.Theme) {
	g := &s.l
	kit.Panel(l, th, g.stack)
	in := ui.Pad(g.stack, 12, 7)
	kit.Heading(l, th, ui.Top(&in, max(th.Row(ui.Strong), 26)), "Treat it, in this order")
	if s.job == nil || g.progress.W <= 30 {
		return
	}
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	stage, share := s.job.Progress()
	words := s.t.progress.Get([6]int64{kit.Hash(stage), ui.Q(share*100, 0), int64(g.progress.W)}, func() string {
		pc := ui.Decimal(share*100, 0) + " %"
		return ui.Fit(tiny, g.progress.W-30, stage+" "+pc, pc)
	})
	kit.ProgressBar(l, th, g.progress, share, words)
}
