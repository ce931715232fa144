package recorder

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// fileRow is a recording in the list: its name, and below what it is.
type fileRow struct {
	*ui.Button
	under string
	bad   bool
	now   bool
	share float64
	para  ui.Para
}

func newFileRow(id, name string) *fileRow {
	return &fileRow{Button: ui.NewButton(id, name, "Opens what can be said of it by hand.", name, ui.Bare, ui.NoIcon)}
}

// Node tells the semantics.
func (r *fileRow) Node() ui.Node {
	n := r.Button.Node()
	n.Value = r.under
	return n
}

// height is what the row needs at a width.
func (r *fileRow) height(th *ui.Theme, w float32) float32 {
	return th.Tall(14 + th.Row(ui.Small) + r.para.Height(r.under, th.Style(ui.Small, ink.Regular, ink.Left, th.Say), w-20-th.Px(22), th.Row(ui.Small)))
}

// shorten leaves the middle of a long name out.
func shorten(name string, st ink.Style, width float32) string {
	r := []rune(name)
	for n := len(r); ink.Measure(name, st) > width && n > 6; {
		n -= max(1, n/12)
		name = string(r[:n/2]) + "…" + string(r[len(r)-(n-n/2):])
	}
	return name
}

// Draw draws the frame, a mark, the name and what it is.
func (r *fileRow) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	r.Button.Draw(l, th, st)
	in := ui.Pad(r.Bounds, 10, 7)
	size := th.Px(13)
	c := ink.Point{X: in.X + size/2, Y: in.Y + th.Row(ui.Small)/2}
	switch {
	case r.bad:
		ui.Verdict(l, th, c, size, false)
	case r.now || r.under == "waits to be read":
		l.Disc(c, size/2, th.SayDim)
		l.Disc(c, size/2-1.4, th.Panel)
	default:
		ui.Verdict(l, th, c, size, true)
	}
	ui.Left(&in, th.Px(22))
	name := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	l.TextIn(ui.Top(&in, th.Row(ui.Small)), shorten(r.Label, name, in.W), name)
	r.para.Draw(l, in, r.under, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Small))
	if r.now {
		l.Fill(ink.Rect{X: r.Bounds.X + 4, Y: r.Bounds.Bottom() - 4, W: (r.Bounds.W - 8) * float32(r.share), H: 2.5}, 1, th.Signal)
	}
}
