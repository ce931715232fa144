package first

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// layout is where things are.
type layout struct {
	wide   bool
	scroll kit.Scroller
	f      kit.Flow
	who    kit.Flow
	foot   kit.Flow

	talker, face   ink.Rect
	knob, band     ink.Rect
	mark           ink.Rect // of the verdict
	card           [2]ink.Rect
	picture        [2]ink.Rect
	name, caption  [2]ink.Rect
	levels, footer ink.Rect
	th             ui.Theme // of the diagram
}

const pad = 14

// Layout puts the foot with its buttons below, and the rest above it: side by side
// where there is room, else in one column that scrolls.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	s.area = area
	s.sync()
	l := &s.lay
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	if max := 1180 * th.Text; r.W > max {
		r.X, r.W = r.X+(r.W-max)/2, max
	}
	l.footer = ui.Bottom(&r, s.layoutFoot(th, r.X, r.W, 0))
	s.layoutFoot(th, r.X, r.W, l.footer.Y)
	ui.Bottom(&r, 10)
	st := s.step()
	l.wide = r.W/th.Text >= 760 && r.H/th.Text >= map[bool]float32{true: 240, false: 400}[th.Narrow]
	l.card, l.levels = [2]ink.Rect{}, ink.Rect{}
	if l.wide {
		s.layoutWide(th, r, st)
	} else {
		l.scroll.Lay(r, func(c ink.Rect) float32 { return s.layoutColumn(th, c, st) })
	}
	clip := l.scroll.View
	if l.wide {
		clip = ink.Rect{}
	}
	s.gain.Clip, s.meter.Clip = clip, clip
	for i := range l.card {
		b := s.hearing(i)
		b.Clip = ink.Rect{}
		if s.inCard(b) {
			b.Clip = clip
		}
	}
}

// hearing is the button that plays strip i.
func (s *Scene) hearing(i int) *ui.Button { return s.press[[2]string{"hear", "other"}[i]] }

// inCard reports whether a button stands with its wave: where there are two of them.
func (s *Scene) inCard(b *ui.Button) bool {
	return s.step().shows("other") && (b == s.hearing(mine) || b == s.hearing(lower))
}

// layoutFoot places the buttons from y on and returns the height: the step's own, as
// wide as there is room, and apart from them the way to everything.
func (s *Scene) layoutFoot(th *ui.Theme, x, w, y float32) float32 {
	h := max(ui.Touch+4, th.Row(ui.Strong)+18)
	const gap = 8
	all := s.press["all"]
	top := y
	var row []*ui.Button
	used := float32(0)
	width := func(b *ui.Button) float32 { return min(b.Width(th)+18, w) }
	place := func() {
		at := x
		for _, b := range row {
			b.Bounds = ink.Rect{X: at, Y: y, W: width(b), H: h}
			at += b.Bounds.W + gap
		}
		row, used = row[:0], 0
		y += h + gap
	}
	for _, b := range s.line {
		if b.Hidden || b == all || s.inCard(b) {
			continue
		}
		if used > 0 && used+width(b) > w {
			place()
		}
		row, used = append(row, b), used+width(b)+gap
	}
	// The way to everything stands at the right, in a row of its own if it must.
	aw := width(all)
	if used+aw > w {
		place()
	}
	all.Bounds = ink.Rect{X: x + w - aw, Y: y, W: aw, H: h}
	place()
	return y - gap - top
}

// knobHeight is what the knob's card needs.
func knobHeight(th *ui.Theme) float32 { return ui.KnobHeight(th, 112*th.Text) + 2*pad }

func (s *Scene) layoutWide(th *ui.Theme, r ink.Rect, st *Step) {
	l := &s.lay
	l.scroll.Scroll, l.scroll.View = 0, r
	pictures := st.shows("wave") || st.shows("levels")
	share := float32(0.44)
	if pictures {
		share = 0.3
	}
	left := ui.Left(&r, max(r.W*share, 290*th.Text))
	ui.Left(&r, 12)
	if !pictures {
		most := 470 * th.Text
		if d := (left.H - most) / 2; d > 0 {
			left, r = ui.Pad(left, 0, d), ui.Pad(r, 0, d)
		}
		s.layoutTalker(th, left, true)
		words := ink.Rect{X: r.X, Y: r.Y, W: r.W, H: 1e5}
		y := s.layoutWords(th, words)
		ui.Top(&r, y-r.Y+12)
		s.layoutKnob(th, r)
		return
	}
	s.layoutKnob(th, ui.Bottom(&left, min(knobHeight(th)+60*th.Text, left.H*0.62)))
	ui.Bottom(&left, 12)
	s.layoutTalker(th, left, true)
	y := s.layoutWords(th, ink.Rect{X: r.X, Y: r.Y, W: r.W, H: 1e5})
	ui.Top(&r, y-r.Y+12)
	s.layoutPictures(th, r, st)
}

// small is how the diagram looks in a box: its six columns bear large text only where
// they are wide enough.
func (s *Scene) small(th *ui.Theme, box ink.Rect) *ui.Theme {
	l := &s.lay
	l.th = *th
	l.th.Text = min(th.Text, max(1, box.W/400))
	return &l.th
}

// layoutPictures shares a box between the step's pictures.
func (s *Scene) layoutPictures(th *ui.Theme, r ink.Rect, st *Step) {
	l := &s.lay
	switch {
	case st.shows("levels"):
		l.levels = r
		in := ui.Pad(r, 12, 8)
		head := ui.Top(&in, max(th.Row(ui.Strong), 26))
		s.d.Layout(s.small(th, r), head, in)
	case st.shows("other"):
		for i := range l.card {
			b := ui.Column(r, i, 2, 12)
			if r.H > r.W {
				h := (r.H - 12) / 2
				b = ink.Rect{X: r.X, Y: r.Y + float32(i)*(h+12), W: r.W, H: h}
			}
			s.layoutWave(th, i, b)
		}
	case st.shows("wave"):
		s.layoutWave(th, mine, r)
	}
}

func (s *Scene) layoutWave(th *ui.Theme, i int, box ink.Rect) {
	l := &s.lay
	l.card[i] = box
	in := ui.Pad(box, 12, 10)
	l.name[i] = ui.Top(&in, th.Row(ui.Strong))
	ui.Top(&in, 4)
	l.caption[i] = ui.Bottom(&in, th.Row(ui.Small))
	if b := s.hearing(i); s.inCard(b) {
		h := max(ui.Touch, th.Row(ui.Strong)+16)
		ui.Bottom(&in, 4)
		row := ui.Bottom(&in, h)
		b.Bounds = ui.Left(&row, min(b.Width(th)+8, row.W))
	}
	ui.Bottom(&in, 4)
	l.picture[i] = in
}

func (s *Scene) layoutColumn(th *ui.Theme, c ink.Rect, st *Step) float32 {
	l := &s.lay
	cut := func(h float32) ink.Rect {
		b := ui.Top(&c, h)
		ui.Top(&c, 10)
		return b
	}
	rest := l.scroll.View.H
	s.layoutTalker(th, cut(s.talkerHeight(th, c.W)), false)
	y := s.layoutWords(th, c)
	cut(y - c.Y)
	used := c.Y - (l.scroll.View.Y - l.scroll.Scroll)
	pictures := st.shows("wave") || st.shows("levels")
	if !pictures {
		s.layoutKnob(th, cut(max(knobHeight(th), min(rest-used, 380*th.Text))))
		return c.Y
	}
	n := float32(1)
	if st.shows("other") {
		n = 2
	}
	h := max(knobHeight(th), 0)
	room := rest - used - h - 10
	least := n * 170 * th.Text
	if st.shows("levels") {
		least = 330 * th.Text
	}
	s.layoutPictures(th, cut(max(room, least)), st)
	s.layoutKnob(th, cut(h))
	return c.Y
}

// faceWidth is that of a small portrait, dp.
const faceWidth = 58

// talkerHeight is what the talker needs side by side in so much room.
func (s *Scene) talkerHeight(th *ui.Theme, w float32) float32 {
	f := &s.lay.who
	f.Begin(th, ink.Rect{W: w - 2*pad - faceWidth*th.Text - 12}, ink.Rect{})
	name, what := s.whoWords()
	f.Write(name, th.Style(ui.Title, ink.Bold, ink.Left, th.Say), th.Row(ui.Title))
	f.Write(what, th.Style(ui.Body, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Body))
	return max(f.Y, faceWidth*th.Text) + 20
}

// layoutTalker places who is there: large one below the other, else side by side.
func (s *Scene) layoutTalker(th *ui.Theme, box ink.Rect, large bool) {
	l := &s.lay
	l.talker = box
	in := ui.Pad(box, pad, 10)
	name, what := s.whoWords()
	size := ui.Title
	if large {
		size = ui.Big
	}
	put := func(b ink.Rect, a ink.Align) float32 {
		l.who.Begin(th, b, ink.Rect{})
		l.who.Write(name, th.Style(size, ink.Bold, a, th.Say), th.Row(size))
		l.who.Write(what, th.Style(ui.Body, ink.Regular, a, th.SayDim), th.Row(ui.Body))
		return l.who.Y - b.Y
	}
	if large {
		if h := put(in, ink.Middle); in.H-h-8 >= 60 {
			l.face = ui.Top(&in, in.H-h-8)
			if d := (l.face.H - 300*th.Text) / 2; d > 0 {
				l.face = ui.Pad(l.face, 0, d)
			}
			ui.Top(&in, 8)
			put(in, ink.Middle)
			return
		}
	}
	l.face = ui.Left(&in, faceWidth*th.Text)
	ui.Left(&in, 12)
	h := put(in, ink.Left)
	in.Y += max(0, (in.H-h)/2)
	put(in, ink.Left)
}

// layoutWords places the verdict and what to do; it returns where they end.
func (s *Scene) layoutWords(th *ui.Theme, c ink.Rect) float32 {
	l := &s.lay
	f := &l.f
	l.mark = ink.Rect{}
	f.Begin(th, ink.Rect{X: c.X + pad, Y: c.Y + 8, W: c.W - 2*pad}, ink.Rect{})
	if s.verdict() {
		e := &s.end[mine]
		d := th.DP(ui.Big)
		l.mark = ink.Rect{X: f.X, Y: f.Y, W: d, H: th.Row(ui.Big)}
		f.X, f.Width = f.X+d+10, f.Width-d-10
		f.Say(e.head, ui.Big, ink.Bold, th.Say)
		hue := th.SayGood
		if !e.good {
			hue = th.SayLost
		}
		f.Say(e.lost, ui.Strong, ink.Bold, hue)
		f.X, f.Width = f.X-d-10, f.Width+d+10
		f.Gap(4)
		f.Say(s.words(), ui.Strong, ink.Regular, th.Say)
	} else {
		f.Say(s.words(), ui.Title, ink.Bold, th.Say)
		if n := s.step().Note; n != "" {
			f.Gap(3)
			f.Say(n, ui.Body, ink.Regular, th.SayDim)
		}
	}
	return f.Y + 8
}

// verdict reports whether the step tells what became of the take.
func (s *Scene) verdict() bool { return s.step().shows("wave") }

// layoutKnob places knob and meter side by side, thumb-sized.
func (s *Scene) layoutKnob(th *ui.Theme, box ink.Rect) {
	l := &s.lay
	l.knob = box
	in := ui.Pad(box, pad, pad)
	scale := ui.MeterLarge + 10 + ink.Measure("−60", th.Style(ui.Tiny, ink.Bold, ink.Left, th.Say)) + 6
	label := float32(0)
	if b := s.step().Band; b != nil {
		label = ink.Measure(b.Label, th.Style(ui.Small, ink.Bold, ink.Left, th.Say)) + 8
	}
	right := ui.Right(&in, min(scale+label, in.W*0.55))
	ui.Right(&in, 12)
	s.meter.Bounds = ui.Left(&right, scale)
	l.band = right
	s.gain.Bounds = in
}

// Scroll moves the column.
func (s *Scene) Scroll(dy float32) {
	if !s.lay.wide && s.lay.scroll.By(dy) {
		s.Layout(s.shell.Theme(), s.area)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	if !s.lay.wide && s.lay.scroll.Reveal(r) {
		s.Layout(s.shell.Theme(), s.area)
	}
}
