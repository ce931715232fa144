package stage

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// Side is how step and bench share the picture.
type Side uint8

const (
	besideBench Side = iota
	AboveBench
	InsteadOfBench
)

// Verdict is a tick or a cross at its place.
type Verdict struct {
	At   ink.Point
	Good bool
}

// Points writes a number of points.
func Points(v float64) string {
	if v == float64(int(v)) {
		return ui.Decimal(v, 0)
	}
	return ui.Decimal(v, 1)
}

// ShareBench divides area between a panel and the bench: beside or above it, or in
// its place where there is room for one only; then halves chooses which, and the box
// is empty while the bench is shown.
func ShareBench(th *ui.Theme, area ink.Rect, halves [2]*ui.Choice, half int) (side Side, box, bench ink.Rect) {
	r := ui.Pad(area, 12, 0)
	switch {
	case area.W/th.Text >= 1000 && area.H/th.Text >= 480:
		ui.Bottom(&r, 10)
		w := min(max(r.W*0.29, 318*th.Text), 460*th.Text)
		if room := area.W - 933*th.Text; room >= 318*th.Text && w > room {
			w = room // the bench side by side, as in its own scene
		}
		box = ui.Left(&r, w)
		return besideBench, box, ink.Rect{X: box.Right() + kit.GapDP - 12, Y: area.Y, W: area.Right() - box.Right() - kit.GapDP + 12, H: area.H}
	case area.H/th.Text >= 980:
		box = ui.Top(&r, r.H*0.43)
		return AboveBench, box, ink.Rect{X: area.X, Y: box.Bottom() + kit.GapDP, W: area.W, H: area.Bottom() - box.Bottom() - kit.GapDP}
	}
	top := ui.Top(&r, th.Tall(max(38, th.Row(ui.Small)+12))+6)
	top.H -= 6
	kit.Share(ui.Left(&top, min(top.W, 2*th.Px(120))), 2, 4, func(int) float32 { return 1 }, func(i int, b ink.Rect) { halves[i].Bounds = b })
	ui.Bottom(&r, 10)
	bench = ink.Rect{X: area.X, Y: r.Y, W: area.W, H: area.Bottom() - r.Y}
	if half == 1 {
		return InsteadOfBench, ink.Rect{}, bench
	}
	return InsteadOfBench, r, bench
}
