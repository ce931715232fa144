package scenes

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// pane is where a scene lies: side by side where there is room, else one column
// that scrolls above the foot.
type pane struct {
	area, view      ink.Rect
	wide            bool
	content, scroll float32
}

// scrolled moves the column by dy and reports whether it moved.
func (p *pane) scrolled(dy float32) bool {
	if p.wide {
		return false
	}
	old := p.scroll
	p.scroll = min(max(p.scroll+dy, 0), max(0, p.content-p.view.H))
	return p.scroll != old
}

// reveal is how far to scroll so that r can be seen.
func (p *pane) reveal(r ink.Rect) float32 {
	switch {
	case p.wide || r.Y >= p.view.Bottom()-1 && r.Y >= p.area.Bottom()-1:
		return 0
	case r.Y < p.view.Y:
		return r.Y - p.view.Y - 12
	case r.Bottom() > p.view.Bottom():
		return min(r.Bottom()-p.view.Bottom()+12, r.Y-p.view.Y)
	}
	return 0
}

// stack begins a column of height need in view and returns it.
func (p *pane) stack(view ink.Rect, need float32) ink.Rect {
	p.view, p.content = view, need
	p.scroll = min(max(p.scroll, 0), max(0, need-view.H))
	return ink.Rect{X: view.X, Y: view.Y - p.scroll, W: view.W, H: need}
}

// clip limits what scrolls to the view; the foot's controls stay.
func (p *pane) clip(cs []ui.Control, foot []ui.Control) {
	for _, c := range cs {
		c.Common().Clip = ink.Rect{}
		if !p.wide {
			c.Common().Clip = p.view
		}
	}
	for _, c := range foot {
		c.Common().Clip = ink.Rect{}
	}
}

// begin and end enclose the drawing of what scrolls.
func (p *pane) begin(l *ink.List) {
	if !p.wide {
		l.Clip(p.view)
	}
}

func (p *pane) end(l *ink.List, th *ui.Theme) {
	if p.wide {
		return
	}
	l.Unclip()
	if p.content > p.view.H+1 {
		bar := ink.Rect{X: p.area.Right() - 8, Y: p.view.Y, W: 5, H: p.view.H}
		l.Fill(bar, 2.5, th.Panel)
		l.Fill(ink.Rect{X: bar.X, Y: bar.Y + p.scroll/p.content*bar.H, W: bar.W, H: p.view.H / p.content * bar.H}, 2.5, th.SayDim)
	}
}

// heading writes a panel's title into row.
func heading(l *ink.List, th *ui.Theme, row ink.Rect, s string) float32 {
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	l.TextIn(row, s, st)
	return ink.Measure(s, st)
}

// progressBar draws how much of some work is done, with words beside it.
func progressBar(l *ink.List, th *ui.Theme, r ink.Rect, share float64, words string) {
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

func tileHeight(th *ui.Theme) float32 { return max(28, th.Row(ui.Small)+8) }
