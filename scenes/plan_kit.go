package scenes

import (
	"math"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// scroller is a column that scrolls where what is in it is higher than its window.
type scroller struct {
	view            ink.Rect
	content, scroll float32
}

// lay puts what put places into view; put returns where its column ends.
func (p *scroller) lay(view ink.Rect, put func(column ink.Rect) (bottom float32)) {
	p.view = view
	for range 2 {
		top := view.Y - p.scroll
		p.content = put(ink.Rect{X: view.X, Y: top, W: view.W, H: 1e5}) - top
		most := max(0, p.content-view.H)
		if p.scroll <= most {
			return
		}
		p.scroll = most
	}
}

// by scrolls and reports whether anything moved.
func (p *scroller) by(dy float32) bool {
	old := p.scroll
	p.scroll = min(max(p.scroll+dy, 0), max(0, p.content-p.view.H))
	return p.scroll != old
}

// reveal scrolls until r can be seen.
func (p *scroller) reveal(r ink.Rect) bool {
	switch {
	case r.Y < p.view.Y:
		return p.by(r.Y - p.view.Y - 12)
	case r.Bottom() > p.view.Bottom():
		return p.by(min(r.Bottom()-p.view.Bottom()+12, r.Y-p.view.Y))
	}
	return false
}

func (p *scroller) holds(r ink.Rect) bool {
	c := r.Center()
	return c.X >= p.view.X && c.X <= p.view.Right()
}

// bar draws where in the column one is, beside its right edge.
func (p *scroller) bar(l *ink.List, th *ui.Theme) {
	if p.content <= p.view.H+1 {
		return
	}
	b := ink.Rect{X: p.view.Right() + 3, Y: p.view.Y, W: 4, H: p.view.H}
	l.Fill(b, 2, th.Grid)
	l.Fill(ink.Rect{X: b.X, Y: b.Y + p.scroll/p.content*b.H, W: b.W, H: max(12, p.view.H/p.content*b.H)}, 2, th.SayDim)
}

// piece is a text at its place.
type piece struct {
	box   ink.Rect
	s     string
	st    ink.Style
	plate bool // on a plate of its own
	// While a paragraph is being set: more may be added, and where it ends.
	merge bool
	need  float32
}

// flow places words and controls one below the other and remembers the words.
type flow struct {
	th      *ui.Theme
	x, y, w float32
	clip    ink.Rect // of controls; empty for none
	pieces  []piece
	para    ui.Para
}

func (f *flow) begin(th *ui.Theme, column, clip ink.Rect) {
	f.th, f.x, f.y, f.w, f.clip = th, column.X, column.Y, column.W, clip
	f.pieces = f.pieces[:0]
}

func (f *flow) gap(h float32) { f.y += h }

// write sets a text in lines.
func (f *flow) write(s string, st ink.Style, row float32) {
	for _, line := range f.para.Lines(s, st, f.w) {
		f.pieces = append(f.pieces, piece{box: ink.Rect{X: f.x, Y: f.y, W: f.w, H: row}, s: line, st: st})
		f.y += row
	}
}

func (f *flow) say(s string, size ui.Size, font ink.Font, c ink.Color) {
	f.write(s, f.th.Style(size, font, ink.Left, c), f.th.Row(size))
}

func (f *flow) body(s string) { f.say(s, ui.Body, ink.Regular, f.th.Say) }
func (f *flow) note(s string) { f.say(s, ui.Small, ink.Regular, f.th.SayDim) }
func (f *flow) tiny(s string) { f.say(s, ui.Tiny, ink.Regular, f.th.SayDim) }
func (f *flow) head(s string) { f.say(s, ui.Strong, ink.Bold, f.th.Say) }

// row takes h dp off the column.
func (f *flow) row(h float32) ink.Rect {
	r := ink.Rect{X: f.x, Y: f.y, W: f.w, H: h}
	f.y += h
	return r
}

// put places a control.
func (f *flow) put(c ui.Control, h float32) {
	b := c.Common()
	b.Bounds, b.Clip = f.row(h), f.clip
}

// chips places choices side by side, in as many rows as they need.
func (f *flow) chips(cs []*ui.Choice) {
	const gap = 4
	h := max(30, f.th.Row(ui.Small)+10)
	for len(cs) > 0 {
		n, need := 0, float32(0)
		for n < len(cs) {
			w := cs[n].Width(f.th)
			if n > 0 && need+gap+w > f.w {
				break
			}
			need += w + gap
			n++
		}
		r := f.row(h)
		share(r, n, gap, func(i int) float32 { return cs[i].Width(f.th) }, func(i int, b ink.Rect) {
			cs[i].Bounds, cs[i].Clip = b, f.clip
		})
		f.y += gap
		cs = cs[n:]
	}
}

// buttons places buttons side by side, in as many rows as they need, each as
// wide as its word.
func (f *flow) buttons(h float32, bs ...*ui.Button) {
	const gap = 8
	x := f.x
	first := true
	for _, b := range bs {
		if b.Hidden {
			continue
		}
		w := min(b.Width(f.th), f.w)
		if !first && x+w > f.x+f.w+0.5 {
			x = f.x
			f.y += h + gap
		}
		b.Bounds, b.Clip = ink.Rect{X: x, Y: f.y, W: w, H: h}, f.clip
		x += w + gap
		first = false
	}
	if !first {
		f.y += h
	}
}

func (f *flow) draw(l *ink.List) {
	for i := range f.pieces {
		p := &f.pieces[i]
		if p.plate {
			l.Fill(ink.Rect{X: p.box.X - 2.5, Y: p.box.Y + 1, W: p.box.W + 4.5, H: p.box.H - 2}, 4, f.th.Raised)
		}
		l.TextIn(p.box, p.s, p.st)
	}
}

// field is a number with its name above and a track below: as a ui.Slider, but
// with room for long names and a note. The track may show only the likely part of
// what is accepted.
type field struct {
	*ui.Slider
	from, to  float64 // of the track
	low, high float64 // what is plausible, drawn thicker; equal for none
	Note      string
	note      ui.Para
	name      ui.Para
	num       ui.Num
	noteH     float32 // of the note, as laid out
}

func newField(id, name, hint, label, unit string, lo, hi, def, step float64, digits int) *field {
	return &field{Slider: ui.NewSlider(id, name, hint, label, unit, lo, hi, def, step, 5*step, digits), from: lo, to: hi}
}

// numberWidth is the room for the longest number.
func (f *field) numberWidth(th *ui.Theme) float32 {
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	w := float32(0)
	for _, v := range [...]float64{f.Min, f.Max, f.from, f.to, f.Value} {
		w = max(w, ink.Measure(ui.Decimal(v, f.Digits)+f.Unit, st))
	}
	return w + 2
}

func (f *field) nameWidth(th *ui.Theme, w float32) float32 { return w - f.numberWidth(th) - 10 }

// height is what the field needs at a width.
func (f *field) height(th *ui.Theme, w float32) float32 {
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	h := f.name.Height(f.Label, st, f.nameWidth(th, w), th.Row(ui.Small)) + 20
	f.noteH = 0
	if f.Note != "" {
		f.noteH = f.note.Height(f.Note, th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim), w, th.Row(ui.Tiny))
	}
	return h + f.noteH
}

func (f *field) place(fl *flow) { fl.put(f, f.height(fl.th, fl.w)) }

func (f *field) line() ink.Rect {
	b := f.Bounds
	return ink.Rect{X: b.X + 8, Y: b.Bottom() - f.noteH - 13, W: b.W - 16, H: 6}
}

func (f *field) at(x float32) float64 {
	t := f.line()
	return f.from + float64((x-t.X)/max(t.W, 1))*(f.to-f.from)
}

// Point goes to where a press is, and follows a drag.
func (f *field) Point(p ui.Pointer, g *ui.Grip, out *ui.Out) bool {
	t := f.line()
	switch p.Kind {
	case ui.Down:
		g.Acc, g.Sent = f.Value, f.Value
		if p.Clicks == 2 {
			g.Dead = true
			out.Emit(Intent{ID: f.ID, Do: ui.DoDefault})
			return true
		}
		if p.At.Y >= t.Y-12 && p.At.X >= t.X-6 && p.At.X <= t.Right()+6 {
			g.Acc = f.at(p.At.X)
			f.send(g, out)
		}
	case ui.Move:
		d := float64((p.At.X-g.Last.X)/max(t.W, 1)) * (f.to - f.from)
		if p.Fine {
			d /= 10
		}
		g.Acc += d
		f.send(g, out)
	case ui.Wheel:
		return false // the wheel scrolls the column
	}
	return true
}

func (f *field) send(g *ui.Grip, out *ui.Out) {
	g.Acc = min(max(g.Acc, f.from), f.to)
	if v := ui.Nudge(g.Acc, 0, f.Step, f.Min, f.Max); v != g.Sent {
		g.Sent = v
		out.Emit(Intent{ID: f.ID, Do: ui.DoSet, Value: v})
	}
}

// Node tells the semantics.
func (f *field) Node() Node {
	n := f.Slider.Node()
	if f.Note != "" {
		n.Hint = strings.TrimSpace(n.Hint + " " + f.Note)
	}
	return n
}

// Draw draws name, number, track and note.
func (f *field) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	b := f.Bounds
	say, hue := th.Say, th.Signal
	if f.Disabled {
		say, hue = th.SayDim, th.Noise
	}
	name := th.Style(ui.Small, ink.Regular, ink.Left, say)
	row := th.Row(ui.Small)
	nw := f.nameWidth(th, b.W)
	f.name.Draw(l, ink.Rect{X: b.X, Y: b.Y, W: nw, H: 4 * row}, f.Label, name, row)
	box := ink.Rect{X: b.X + nw + 10, Y: b.Y, W: b.W - nw - 10, H: row}
	num := th.Style(ui.Small, ink.Bold, ink.Right, say)
	if st.Editing {
		drawTyped(l, th, box, st.Edit, num)
	} else {
		l.TextIn(box, f.num.Text("", f.Value, f.Digits, f.Unit), num)
	}
	t := f.line()
	x := func(v float64) float32 {
		if f.to <= f.from {
			return t.X
		}
		return t.X + float32(min(max((v-f.from)/(f.to-f.from), 0), 1))*t.W
	}
	mid := t.Y + 3
	l.Fill(ink.Rect{X: t.X, Y: mid - 1.5, W: t.W, H: 3}, 1.5, th.Grid)
	if f.low < f.high {
		l.Fill(ink.Rect{X: x(f.low), Y: mid - 3, W: x(f.high) - x(f.low), H: 6}, 3, th.Line)
	} else if at := x(f.Value); at > t.X+1 {
		l.Fill(ink.Rect{X: t.X, Y: mid - 1.5, W: at - t.X, H: 3}, 1.5, hue)
	}
	face := th.Say
	switch {
	case f.Disabled:
		face = th.Noise
	case st.Pressed || st.Hover:
		face = th.Signal
	}
	c := ink.Point{X: x(f.Value), Y: mid}
	l.Disc(c, 7.5, th.Panel)
	l.Disc(c, 6, face)
	if f.Note != "" {
		stl := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
		f.note.Draw(l, ink.Rect{X: b.X, Y: b.Bottom() - f.noteH, W: b.W, H: f.noteH}, f.Note, stl, th.Row(ui.Tiny))
	}
}

// drawTyped shows what is being typed, with a caret.
func drawTyped(l *ink.List, th *ui.Theme, box ink.Rect, edit string, st ink.Style) {
	l.Fill(box, 4, th.Well)
	l.Frame(box, 4, 1.5, th.Focus)
	st.Align = ink.Left
	w := ink.Measure(edit, st)
	x := max(box.X+4, box.Right()-6-w)
	l.TextIn(ink.Rect{X: x, Y: box.Y, W: box.Right() - x, H: box.H}, edit, st)
	cx := min(x+w+1.5, box.Right()-1)
	l.Line(1.5, th.Say, ink.Point{X: cx, Y: box.Y + box.H*0.2}, ink.Point{X: cx, Y: box.Y + box.H*0.8})
}

// niceStep is a step of 1, 2 or 5 times a power of ten, about a fortieth of span.
func niceStep(span float64) float64 {
	if !(span > 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(span/40)))
	switch m := span / 40 / p; {
	case m < 1.5:
		return p
	case m < 3.5:
		return 2 * p
	case m < 7.5:
		return 5 * p
	}
	return 10 * p
}

// digitsOf is how many decimals a step needs.
func digitsOf(step float64) int {
	return int(min(max(0, math.Ceil(-math.Log10(step)-1e-9)), 4))
}
