package kit

import (
	"math"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Scroller is a column that scrolls where what is in it is higher than its window.
type Scroller struct {
	View            ink.Rect
	content, Scroll float32
}

// Lay puts what put places into view; put returns where its column ends.
func (p *Scroller) Lay(view ink.Rect, put func(column ink.Rect) (bottom float32)) {
	p.View = view
	for range 2 {
		top := view.Y - p.Scroll
		p.content = put(ink.Rect{X: view.X, Y: top, W: view.W, H: 1e5}) - top
		most := max(0, p.content-view.H)
		if p.Scroll <= most {
			return
		}
		p.Scroll = most
	}
}

// By scrolls and reports whether anything moved.
func (p *Scroller) By(dy float32) bool {
	old := p.Scroll
	p.Scroll = min(max(p.Scroll+dy, 0), max(0, p.content-p.View.H))
	return p.Scroll != old
}

// Reveal scrolls until r can be seen.
func (p *Scroller) Reveal(r ink.Rect) bool {
	switch {
	case r.Y < p.View.Y:
		return p.By(r.Y - p.View.Y - 12)
	case r.Bottom() > p.View.Bottom():
		return p.By(min(r.Bottom()-p.View.Bottom()+12, r.Y-p.View.Y))
	}
	return false
}

// Holds reports whether r lies in the column.
func (p *Scroller) Holds(r ink.Rect) bool {
	c := r.Center()
	return c.X >= p.View.X && c.X <= p.View.Right()
}

// Bar draws where in the column one is, beside its right edge.
func (p *Scroller) Bar(l *ink.List, th *ui.Theme) {
	if p.content <= p.View.H+1 {
		return
	}
	b := ink.Rect{X: p.View.Right() + 3, Y: p.View.Y, W: 4, H: p.View.H}
	l.Fill(b, 2, th.Grid)
	l.Fill(ink.Rect{X: b.X, Y: b.Y + p.Scroll/p.content*b.H, W: b.W, H: max(12, p.View.H/p.content*b.H)}, 2, th.SayDim)
}

// Piece is a text at its place.
type Piece struct {
	Box   ink.Rect
	S     string
	St    ink.Style
	plate bool // on a plate of its own
	// While a paragraph is being set: more may be added, and where it ends.
	merge bool
	need  float32
}

// Flow places words and controls one below the other and remembers the words.
type Flow struct {
	th          *ui.Theme
	X, Y, Width float32
	Clip        ink.Rect // of controls; empty for none
	Pieces      []Piece
	para        ui.Para
}

// Begin begins anew in column; what lies outside clip is not drawn.
func (f *Flow) Begin(th *ui.Theme, column, clip ink.Rect) {
	f.th, f.X, f.Y, f.Width, f.Clip = th, column.X, column.Y, column.W, clip
	f.Pieces = f.Pieces[:0]
}

// In sets what comes in another theme, with larger words.
func (f *Flow) In(th *ui.Theme) { f.th = th }

// Gap leaves room of height h, dp.
func (f *Flow) Gap(h float32) { f.Y += h }

// Write sets a text in lines.
func (f *Flow) Write(s string, st ink.Style, row float32) {
	for _, line := range f.para.Lines(s, st, f.Width) {
		f.Pieces = append(f.Pieces, Piece{Box: ink.Rect{X: f.X, Y: f.Y, W: f.Width, H: row}, S: line, St: st})
		f.Y += row
	}
}

// Say writes a paragraph.
func (f *Flow) Say(s string, size ui.Size, font ink.Font, c ink.Color) {
	f.Write(s, f.th.Style(size, font, ink.Left, c), f.th.Row(size))
}

// Body writes a paragraph of running text.
func (f *Flow) Body(s string) { f.Say(s, ui.Body, ink.Regular, f.th.Say) }

// Note writes a paragraph that matters less.
func (f *Flow) Note(s string) { f.Say(s, ui.Small, ink.Regular, f.th.SayDim) }

// Tiny writes the smallest print.
func (f *Flow) Tiny(s string) { f.Say(s, ui.Tiny, ink.Regular, f.th.SayDim) }

// Head writes a heading.
func (f *Flow) Head(s string) { f.Say(s, ui.Strong, ink.Bold, f.th.Say) }

// Rows writes names with their values beside them, or below where there is no room.
func (f *Flow) Rows(rows [][2]string) {
	name := float32(0)
	st := f.th.Style(ui.Small, ink.Regular, ink.Left, f.th.SayDim)
	for _, r := range rows {
		name = max(name, ink.Measure(r[0], st)+12)
	}
	name = min(name, f.Width*0.45)
	for _, r := range rows {
		x, w, y := f.X, f.Width, f.Y
		f.Width = name - 8
		f.Note(r[0])
		end := f.Y
		f.X, f.Width, f.Y = x+name, w-name, y
		f.Say(r[1], ui.Small, ink.Regular, f.th.Say)
		f.X, f.Width, f.Y = x, w, max(end, f.Y)+2
	}
}

// Row takes h dp off the column.
func (f *Flow) Row(h float32) ink.Rect {
	r := ink.Rect{X: f.X, Y: f.Y, W: f.Width, H: h}
	f.Y += h
	return r
}

// Put places a control.
func (f *Flow) Put(c ui.Control, h float32) {
	b := c.Common()
	b.Bounds, b.Clip = f.Row(h), f.Clip
}

// Chips places choices side by side, in as many rows as they need.
func (f *Flow) Chips(cs []*ui.Choice) {
	const gap = 4
	h := f.th.Tall(max(30, f.th.Row(ui.Small)+10))
	for len(cs) > 0 {
		n, need := 0, float32(0)
		for n < len(cs) {
			w := f.th.Tall(cs[n].Width(f.th))
			if n > 0 && need+gap+w > f.Width {
				break
			}
			need += w + gap
			n++
		}
		r := f.Row(h)
		Share(r, n, gap, func(i int) float32 { return f.th.Tall(cs[i].Width(f.th)) }, func(i int, b ink.Rect) {
			cs[i].Bounds, cs[i].Clip = b, f.Clip
		})
		f.Y += gap
		cs = cs[n:]
	}
}

// Buttons places buttons side by side, in as many rows as they need, each as
// wide as its word.
func (f *Flow) Buttons(h float32, bs ...*ui.Button) {
	const gap = 8
	h = f.th.Tall(h)
	x := f.X
	first := true
	for _, b := range bs {
		if b.Hidden {
			continue
		}
		w := min(f.th.Tall(b.Width(f.th)), f.Width)
		if !first && x+w > f.X+f.Width+0.5 {
			x = f.X
			f.Y += h + gap
		}
		b.Bounds, b.Clip = ink.Rect{X: x, Y: f.Y, W: w, H: h}, f.Clip
		x += w + gap
		first = false
	}
	if !first {
		f.Y += h
	}
}

// Draw draws what was written.
func (f *Flow) Draw(l *ink.List) {
	for i := range f.Pieces {
		p := &f.Pieces[i]
		if p.plate {
			l.Fill(ink.Rect{X: p.Box.X - 2.5, Y: p.Box.Y + 1, W: p.Box.W + 4.5, H: p.Box.H - 2}, 4, f.th.Raised)
		}
		l.TextIn(p.Box, p.S, p.St)
	}
}

// Field is a number with its name above and a track below: as a ui.Slider, but
// with room for long names and a note. The track may show only the likely part of
// what is accepted.
type Field struct {
	*ui.Slider
	From, To  float64 // of the track
	Low, High float64 // what is plausible, drawn thicker; equal for none
	Note      string
	note      ui.Para
	name      ui.Para
	num       ui.Num
	NoteH     float32 // of the note, as laid out
}

// NewField makes a field for a number from lo to hi, in steps, with so many digits
// after the point.
func NewField(id, name, hint, label, unit string, lo, hi, def, step float64, digits int) *Field {
	return &Field{Slider: ui.NewSlider(id, name, hint, label, unit, lo, hi, def, step, 5*step, digits), From: lo, To: hi}
}

// numberWidth is the room for the longest number.
func (f *Field) numberWidth(th *ui.Theme) float32 {
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	w := float32(0)
	for _, v := range [...]float64{f.Min, f.Max, f.From, f.To, f.Value} {
		w = max(w, ink.Measure(ui.Decimal(v, f.Digits)+f.Unit, st))
	}
	return w + 2
}

func (f *Field) nameWidth(th *ui.Theme, w float32) float32 { return w - f.numberWidth(th) - 10 }

// height is what the field needs at a width.
func (f *Field) height(th *ui.Theme, w float32) float32 {
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	h := f.name.Height(f.Label, st, f.nameWidth(th, w), th.Row(ui.Small)) + 20
	f.NoteH = 0
	if f.Note != "" {
		f.NoteH = f.note.Height(f.Note, th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim), w, th.Row(ui.Tiny))
	}
	return th.Tall(h + f.NoteH)
}

// Place puts the field into a column.
func (f *Field) Place(fl *Flow) { fl.Put(f, f.height(fl.th, fl.Width)) }

func (f *Field) line() ink.Rect {
	b := f.Bounds
	return ink.Rect{X: b.X + 8, Y: b.Bottom() - f.NoteH - 13, W: b.W - 16, H: 6}
}

func (f *Field) at(x float32) float64 {
	t := f.line()
	return f.From + float64((x-t.X)/max(t.W, 1))*(f.To-f.From)
}

// Point goes to where a press is, and follows a drag.
func (f *Field) Point(p ui.Pointer, g *ui.Grip, out *ui.Out) bool {
	t := f.line()
	switch p.Kind {
	case ui.Down:
		g.Acc, g.Sent = f.Value, f.Value
		if p.Clicks == 2 {
			g.Dead = true
			out.Emit(ui.Intent{ID: f.ID, Do: ui.DoDefault})
			return true
		}
		if p.At.Y >= t.Y-12 && p.At.X >= t.X-6 && p.At.X <= t.Right()+6 {
			g.Acc = f.at(p.At.X)
			f.send(g, out)
		}
	case ui.Move:
		d := float64((p.At.X-g.Last.X)/max(t.W, 1)) * (f.To - f.From)
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

func (f *Field) send(g *ui.Grip, out *ui.Out) {
	g.Acc = min(max(g.Acc, f.From), f.To)
	if v := ui.Nudge(g.Acc, 0, f.Step, f.Min, f.Max); v != g.Sent {
		g.Sent = v
		out.Emit(ui.Intent{ID: f.ID, Do: ui.DoSet, Value: v})
	}
}

// Node tells the semantics.
func (f *Field) Node() ui.Node {
	n := f.Slider.Node()
	if f.Note != "" {
		n.Hint = strings.TrimSpace(n.Hint + " " + f.Note)
	}
	return n
}

// Draw draws name, number, track and note.
func (f *Field) Draw(l *ink.List, th *ui.Theme, st ui.State) {
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
		DrawTyped(l, th, box, st.Edit, num)
	} else {
		l.TextIn(box, f.num.Text("", f.Value, f.Digits, f.Unit), num)
	}
	t := f.line()
	x := func(v float64) float32 {
		if f.To <= f.From {
			return t.X
		}
		return t.X + float32(min(max((v-f.From)/(f.To-f.From), 0), 1))*t.W
	}
	mid := t.Y + 3
	l.Fill(ink.Rect{X: t.X, Y: mid - 1.5, W: t.W, H: 3}, 1.5, th.Grid)
	if f.Low < f.High {
		l.Fill(ink.Rect{X: x(f.Low), Y: mid - 3, W: x(f.High) - x(f.Low), H: 6}, 3, th.Line)
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
		f.note.Draw(l, ink.Rect{X: b.X, Y: b.Bottom() - f.NoteH, W: b.W, H: f.NoteH}, f.Note, stl, th.Row(ui.Tiny))
	}
}

// DrawTyped shows what is being typed, with a caret.
func DrawTyped(l *ink.List, th *ui.Theme, box ink.Rect, edit string, st ink.Style) {
	l.Fill(box, 4, th.Well)
	l.Frame(box, 4, 1.5, th.Focus)
	st.Align = ink.Left
	w := ink.Measure(edit, st)
	x := max(box.X+4, box.Right()-6-w)
	l.TextIn(ink.Rect{X: x, Y: box.Y, W: box.Right() - x, H: box.H}, edit, st)
	cx := min(x+w+1.5, box.Right()-1)
	l.Line(1.5, th.Say, ink.Point{X: cx, Y: box.Y + box.H*0.2}, ink.Point{X: cx, Y: box.Y + box.H*0.8})
}

// NiceStep is a step of 1, 2 or 5 times a power of ten, about a fortieth of span.
func NiceStep(span float64) float64 {
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

// DigitsOf is how many decimals a step needs.
func DigitsOf(step float64) int {
	return int(min(max(0, math.Ceil(-math.Log10(step)-1e-9)), 4))
}
