package kit

import (
	"unicode/utf8"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// TextField takes text from the keyboard, or whole from the accessible mirror.
type TextField struct {
	ui.Base
	Label string // above
	Unit  string // behind
	Empty string // what stands there while nothing is written
	Lines int    // of writing space
	Most  int    // characters
	text  []rune
	caret int
	// What the last key made of it, and where the caret then is.
	typed   string
	typedAt int
	lines   []lineOf
}

// lineOf is a line of the text as set: runes from to to.
type lineOf struct{ from, to int }

// NewTextField makes a field of so many lines and at most so many letters.
func NewTextField(id, name, hint string, lines, most int) *TextField {
	return &TextField{Base: ui.Base{ID: id, Name: name, Hint: hint}, Lines: lines, Most: most}
}

// Text is what has been written.
func (t *TextField) Text() string { return string(t.text) }

// SetText replaces it; what is too long is cut.
func (t *TextField) SetText(s string) {
	if !utf8.ValidString(s) {
		return
	}
	r := []rune(s)
	if len(r) > t.Most {
		r = r[:t.Most]
	}
	if string(r) != string(t.text) {
		t.text, t.caret = r, len(r)
		if s == t.typed {
			t.caret = min(t.typedAt, len(r))
		}
	}
}

// Node tells the semantics.
func (t *TextField) Node() ui.Node {
	b := t.Bounds
	if t.Clip.W > 0 {
		b = b.Intersect(t.Clip)
	}
	name := t.Name
	if t.Unit != "" {
		name += ", in " + t.Unit
	}
	return ui.Node{ID: t.ID, Role: ui.RoleTextbox, Name: name, Value: t.Text(), Hint: t.Hint, Disabled: t.Disabled, Why: t.Why, Bounds: b, Focus: !t.Disabled}
}

// Point puts the caret where the press is.
func (t *TextField) Point(p ui.Pointer, _ *ui.Grip, _ *ui.Out) bool {
	return p.Kind != ui.Wheel
}

// Key edits the text.
func (t *TextField) Key(k ui.KeyPress, out *ui.Out) bool {
	text := append([]rune(nil), t.text...)
	at := min(t.caret, len(text))
	switch k.Key {
	case "Backspace":
		if at == 0 {
			return true
		}
		text = append(text[:at-1], text[at:]...)
		at--
	case "Delete":
		if at == len(text) {
			return true
		}
		text = append(text[:at], text[at+1:]...)
	case "ArrowLeft":
		t.caret = max(0, at-1)
		return true
	case "ArrowRight":
		t.caret = min(len(text), at+1)
		return true
	case "Home":
		t.caret = 0
		return true
	case "End":
		t.caret = len(text)
		return true
	case "Enter":
		if t.Lines <= 1 {
			return false
		}
		k.Key = "\n"
		fallthrough
	default:
		r, n := utf8.DecodeRuneInString(string(k.Key))
		if n != len(k.Key) || r == utf8.RuneError || r < ' ' && r != '\n' {
			return false
		}
		if len(text) >= t.Most {
			return true
		}
		text = append(text[:at], append([]rune{r}, text[at:]...)...)
		at++
	}
	t.typed, t.typedAt = string(text), at
	out.Emit(ui.Intent{ID: t.ID, Do: ui.DoSet, Text: string(text)})
	return true
}

func (t *TextField) style(th *ui.Theme) ink.Style {
	return th.Style(ui.Body, ink.Regular, ink.Left, th.Say)
}

// Height is what the field needs.
func (t *TextField) Height(th *ui.Theme) float32 {
	return th.Tall(float32(max(t.Lines, 1))*th.Row(ui.Body) + 14)
}

// wrap breaks the text at blanks into lines of at most width dp.
func (t *TextField) wrap(st ink.Style, width float32) {
	t.lines = t.lines[:0]
	for from := 0; ; {
		end, blank := from, -1
		for end < len(t.text) && t.text[end] != '\n' && ink.Measure(string(t.text[from:end+1]), st) <= width {
			if t.text[end] == ' ' {
				blank = end
			}
			end++
		}
		switch {
		case end == len(t.text):
			t.lines = append(t.lines, lineOf{from, end})
			return
		case t.text[end] == '\n' || t.text[end] == ' ':
			t.lines = append(t.lines, lineOf{from, end})
			from = end + 1
		case blank > from:
			t.lines = append(t.lines, lineOf{from, blank})
			from = blank + 1
		default: // a word longer than a line
			end = max(end, from+1)
			t.lines = append(t.lines, lineOf{from, end})
			from = end
		}
	}
}

// Draw draws the field, its text and the caret.
func (t *TextField) Draw(l *ink.List, th *ui.Theme, s ui.State) {
	b := t.Bounds
	st := t.style(th)
	unit := float32(0)
	if t.Unit != "" {
		unit = ink.Measure(t.Unit, st) + 10
		l.TextIn(ink.Rect{X: b.Right() - unit + 6, Y: b.Y, W: unit, H: b.H}, t.Unit, st)
	}
	b.W -= unit
	edge := th.Line
	if s.Focused {
		edge = th.Focus
	}
	l.Fill(b, 6, th.Well)
	l.Frame(b.Inset(0.75), 5.5, 1.5, edge)
	in := ui.Pad(b, 9, 7)
	if t.Lines <= 1 { // in the middle, however high the box
		in.Y, in.H = b.Y+(b.H-th.Row(ui.Body))/2, th.Row(ui.Body)
	}
	if len(t.text) == 0 && t.Empty != "" && !s.Focused {
		dim := st
		dim.Color = th.SayDim
		l.TextIn(ink.Rect{X: in.X, Y: in.Y, W: in.W, H: th.Row(ui.Body)}, ui.Fit(dim, in.W, t.Empty, ""), dim)
		return
	}
	t.wrap(st, in.W-4)
	row := th.Row(ui.Body)
	at := 0
	for i, ln := range t.lines {
		if t.caret >= ln.from && t.caret <= ln.to {
			at = i
		}
	}
	// The lines around the caret, if not all have room.
	shown := max(t.Lines, 1)
	first := min(max(0, at-shown+1), max(0, len(t.lines)-shown))
	l.Clip(b)
	for i := first; i < min(first+shown, len(t.lines)); i++ {
		ln := t.lines[i]
		y := in.Y + float32(i-first)*row
		words := string(t.text[ln.from:ln.to])
		l.TextIn(ink.Rect{X: in.X, Y: y, W: in.W + 4, H: row}, words, st)
		if s.Focused && i == at {
			x := in.X + ink.Measure(string(t.text[ln.from:min(t.caret, ln.to)]), st) + 1
			l.Line(1.5, th.Say, ink.Point{X: x, Y: y + 3}, ink.Point{X: x, Y: y + row - 3})
		}
	}
	l.Unclip()
}

// AnswerRow is one of the answers to choose from: a mark and its text in lines.
// The arrow keys go to its neighbours.
type AnswerRow struct {
	ui.Base
	Text    string
	Letter  string
	Checked bool
	Next    func(dir int) string // the neighbour's ID
	para    ui.Para
}

// Node tells the semantics.
func (a *AnswerRow) Node() ui.Node {
	b := a.Bounds
	if a.Clip.W > 0 {
		b = b.Intersect(a.Clip)
	}
	return ui.Node{ID: a.ID, Role: ui.RoleRadio, Name: a.Name, Hint: a.Hint, Checked: a.Checked, Disabled: a.Disabled, Why: a.Why, Bounds: b, Focus: !a.Disabled}
}

// Point chooses on release.
func (a *AnswerRow) Point(p ui.Pointer, _ *ui.Grip, out *ui.Out) bool {
	if p.Kind == ui.Wheel {
		return false
	}
	if p.Kind == ui.Up && ui.Reach(a.Bounds).Contains(p.At) {
		out.Emit(ui.Intent{ID: a.ID, Do: ui.DoPress})
	}
	return true
}

// Key chooses, or goes to a neighbour.
func (a *AnswerRow) Key(k ui.KeyPress, out *ui.Out) bool {
	dir := 0
	switch k.Key {
	case "Enter", " ":
		out.Emit(ui.Intent{ID: a.ID, Do: ui.DoPress})
		return true
	case "ArrowDown", "ArrowRight":
		dir = 1
	case "ArrowUp", "ArrowLeft":
		dir = -1
	default:
		return false
	}
	if id := a.Next(dir); id != "" {
		out.Emit(ui.Intent{ID: id, Do: ui.DoPress})
		out.Emit(ui.Intent{ID: id, Do: ui.DoFocus})
	}
	return true
}

func (a *AnswerRow) textWidth(th *ui.Theme, w float32) float32 { return w - 24 - th.Px(15) - 10 }

// Height is what the row needs at a width.
func (a *AnswerRow) Height(th *ui.Theme, w float32) float32 {
	return max(a.para.Height(a.Text, th.Style(ui.Body, ink.Regular, ink.Left, th.Say), a.textWidth(th, w), th.Row(ui.Body))+14, th.Tall(36))
}

// Draw draws mark and text.
func (a *AnswerRow) Draw(l *ink.List, th *ui.Theme, s ui.State) {
	r := a.Bounds
	fill, edge, say := th.Panel, th.Line, th.Say
	switch {
	case a.Checked:
		fill, edge = th.Signal.Mix(th.Panel, 0.8), th.Signal
	case a.Disabled:
		edge, say = th.Grid, th.SayDim
	case s.Pressed:
		fill = th.Raised.Mix(th.Signal, 0.2)
	case s.Hover:
		fill = th.Raised
	}
	l.Fill(r, 7, fill)
	l.Frame(r.Inset(0.5), 6.5, 1, edge)
	d := th.Px(15)
	m := ink.Point{X: r.X + 12 + d/2, Y: r.Y + r.H/2}
	if a.Checked {
		l.Disc(m, d/2, th.Signal)
		l.Disc(m, d/2-2, fill)
		l.Disc(m, d/2-4, th.Signal)
	} else {
		l.Disc(m, d/2, th.SayDim)
		l.Disc(m, d/2-1.5, fill)
	}
	w := a.textWidth(th, r.W)
	st := th.Style(ui.Body, ink.Regular, ink.Left, say)
	row := th.Row(ui.Body)
	h := a.para.Height(a.Text, st, w, row)
	a.para.Draw(l, ink.Rect{X: r.X + 12 + d + 10, Y: r.Y + (r.H-h)/2, W: w, H: h}, a.Text, st, row)
}

// CardButton is a button with a title, a line below and how things stand.
type CardButton struct {
	ui.Base
	Title, Under, State string
	Mark                cardMark
	title, under, state ui.Para
}

// cardMark tells how a lesson stands, by shape as well as by hue.
type cardMark uint8

const (
	CardNone cardMark = iota
	CardBegun
	CardRight
	CardWrong
)

// Node tells the semantics.
func (c *CardButton) Node() ui.Node {
	b := c.Bounds
	if c.Clip.W > 0 {
		b = b.Intersect(c.Clip)
	}
	return ui.Node{ID: c.ID, Role: ui.RoleButton, Name: c.Title, Value: c.State, Hint: c.Under, Disabled: c.Disabled, Why: c.Why, Bounds: b, Focus: !c.Disabled}
}

// Point presses on release.
func (c *CardButton) Point(p ui.Pointer, _ *ui.Grip, out *ui.Out) bool {
	if p.Kind == ui.Wheel {
		return false
	}
	if p.Kind == ui.Up && c.Bounds.Contains(p.At) {
		out.Emit(ui.Intent{ID: c.ID, Do: ui.DoPress})
	}
	return true
}

// Key presses on Enter and the space bar.
func (c *CardButton) Key(k ui.KeyPress, out *ui.Out) bool {
	if k.Key != "Enter" && k.Key != " " {
		return false
	}
	out.Emit(ui.Intent{ID: c.ID, Do: ui.DoPress})
	return true
}

func (c *CardButton) styles(th *ui.Theme) (title, under, state ink.Style) {
	return th.Style(ui.Strong, ink.Bold, ink.Left, th.Say), th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
}

// Height is what the card needs at a width.
func (c *CardButton) Height(th *ui.Theme, w float32) float32 {
	a, b, s := c.styles(th)
	in := w - 28
	return 22 + c.title.Height(c.Title, a, in, th.Row(ui.Strong)) + 2 + c.under.Height(c.Under, b, in, th.Row(ui.Small)) + 6 +
		c.state.Height(c.State, s, in-th.Px(20), th.Row(ui.Small))
}

func (c *CardButton) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	r := c.Bounds
	fill, edge := th.Panel, th.Grid
	switch {
	case st.Pressed:
		fill = th.Panel.Mix(th.Signal, 0.15)
	case st.Hover:
		fill, edge = th.Raised, th.Line
	}
	l.Fill(r, 9, fill)
	l.Frame(r.Inset(0.5), 8.5, 1, edge)
	a, b, s := c.styles(th)
	in := ui.Pad(r, 14, 11)
	ui.Top(&in, c.title.Draw(l, in, c.Title, a, th.Row(ui.Strong))+2)
	ui.Top(&in, c.under.Draw(l, in, c.Under, b, th.Row(ui.Small)))
	h := c.state.Height(c.State, s, in.W-th.Px(20), th.Row(ui.Small))
	low := ink.Rect{X: in.X, Y: in.Bottom() - h, W: in.W, H: h}
	size := th.Px(14)
	m := ink.Point{X: low.X + size/2, Y: low.Y + th.Row(ui.Small)/2}
	switch c.Mark {
	case CardRight, CardWrong:
		ui.Verdict(l, th, m, size, c.Mark == CardRight)
	case CardBegun:
		l.Disc(m, size/2, th.Signal)
		l.Disc(m, size/2-1.8, fill)
		l.Polygon(th.Signal, ink.Point{X: m.X, Y: m.Y - size/2 + 2}, ink.Point{X: m.X + size/2 - 2, Y: m.Y}, ink.Point{X: m.X, Y: m.Y + size/2 - 2})
	default:
		l.Disc(m, size/2, th.SayDim)
		l.Disc(m, size/2-1.4, fill)
	}
	low.X += th.Px(20)
	low.W -= th.Px(20)
	c.state.Draw(l, low, c.State, s, th.Row(ui.Small))
}
