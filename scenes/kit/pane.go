package kit

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Pane is where a scene lies: side by side where there is room, else one column
// that scrolls above the foot.
type Pane struct {
	Area, View      ink.Rect
	Wide            bool
	Content, Scroll float32
}

// Scrolled moves the column by dy and reports whether it moved.
func (p *Pane) Scrolled(dy float32) bool {
	if p.Wide {
		return false
	}
	old := p.Scroll
	p.Scroll = min(max(p.Scroll+dy, 0), max(0, p.Content-p.View.H))
	return p.Scroll != old
}

// Reveal is how far to scroll so that r can be seen.
func (p *Pane) Reveal(r ink.Rect) float32 {
	switch {
	case p.Wide || r.Y >= p.View.Bottom()-1 && r.Y >= p.Area.Bottom()-1:
		return 0
	case r.Y < p.View.Y:
		return r.Y - p.View.Y - 12
	case r.Bottom() > p.View.Bottom():
		return min(r.Bottom()-p.View.Bottom()+12, r.Y-p.View.Y)
	}
	return 0
}

// Stack begins a column of height need in view and returns it.
func (p *Pane) Stack(view ink.Rect, need float32) ink.Rect {
	p.View, p.Content = view, need
	p.Scroll = min(max(p.Scroll, 0), max(0, need-view.H))
	return ink.Rect{X: view.X, Y: view.Y - p.Scroll, W: view.W, H: need}
}

// Clip limits what scrolls to the view; the foot's controls stay.
func (p *Pane) Clip(cs []ui.Control, foot []ui.Control) {
	for _, c := range cs {
		c.Common().Clip = ink.Rect{}
		if !p.Wide {
			c.Common().Clip = p.View
		}
	}
	for _, c := range foot {
		c.Common().Clip = ink.Rect{}
	}
}

// Begin and end enclose the drawing of what scrolls.
func (p *Pane) Begin(l *ink.List) {
	if !p.Wide {
		l.Clip(p.View)
	}
}

// End ends what Begin began, and draws how far the column is scrolled.
func (p *Pane) End(l *ink.List, th *ui.Theme) {
	if p.Wide {
		return
	}
	l.Unclip()
	if p.Content > p.View.H+1 {
		bar := ink.Rect{X: p.Area.Right() - 8, Y: p.View.Y, W: 5, H: p.View.H}
		l.Fill(bar, 2.5, th.Panel)
		l.Fill(ink.Rect{X: bar.X, Y: bar.Y + p.Scroll/p.Content*bar.H, W: bar.W, H: p.View.H / p.Content * bar.H}, 2.5, th.SayDim)
	}
}

// Heading writes a panel's title into row.
func Heading(l *ink.List, th *ui.Theme, row ink.Rect, s string) float32 {
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	l.TextIn(row, s, st)
	return ink.Measure(s, st)
}

// ProgressBar draws how much of some work is done, with words beside it.
func ProgressBar(l *ink.List, th *ui.Theme, r ink.Rect, share float64, words string) {
	st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	w := ink.Measure(words, st) + 10
	l.TextIn(ui.Left(&r, min(w, r.W)), words, st)
	if r.W < 20 {
		return
	}
	bar := ink.Rect{X: r.X, Y: r.Y + r.H/2 - 3, W: r.W, H: 6}
	l.Fill(bar, 3, th.Well)
	l.Frame(bar, 3, 1, th.Line)
	l.Fill(ink.Rect{X: bar.X, Y: bar.Y, W: bar.W * float32(share), H: bar.H}, 3, th.Signal)
}

// TileHeight is the height of a row of tiles, dp.
func TileHeight(th *ui.Theme) float32 { return max(28, th.Row(ui.Small)+8, th.Least) }
