package program

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// enlarge is how much larger everything is on a picture that is large in dp, as
// on a projector: in steps of a quarter, since painters keep glyphs by size.
func enlarge(size ink.Point) float32 {
	k := min(size.X/1700, size.Y/950)
	return min(max(float32(int(k*4))/4, 1), 4)
}

func zoomRect(r ink.Rect, k float32) ink.Rect {
	return ink.Rect{X: r.X * k, Y: r.Y * k, W: r.W * k, H: r.H * k}
}

// zoomList enlarges a picture.
func zoomList(l *ink.List, k float32) {
	for i := range l.Ops {
		op := &l.Ops[i]
		op.Rect, op.Box = zoomRect(op.Rect, k), zoomRect(op.Box, k)
		op.Width *= k
		op.Radius *= k
		op.Gap *= k
		op.Style.Size *= k
	}
	for i := range l.Pts {
		l.Pts[i].X *= k
		l.Pts[i].Y *= k
	}
}

// shift moves a picture.
func shift(l *ink.List, dx, dy float32) {
	move := func(r *ink.Rect) { r.X += dx; r.Y += dy }
	for i := range l.Ops {
		move(&l.Ops[i].Rect)
		move(&l.Ops[i].Box)
	}
	for i := range l.Pts {
		l.Pts[i].X += dx
		l.Pts[i].Y += dy
	}
}

// shrink gives an input as it is to a picture that is enlarged k times; the pointers go into
// to, which it returns.
func shrink(in *ui.Input, k float32, to []ui.Pointer) []ui.Pointer {
	in.Size.X /= k
	in.Size.Y /= k
	if k == 1 || len(in.Pointers) == 0 {
		return to
	}
	to = append(to[:0], in.Pointers...)
	for i := range to {
		to[i].At.X /= k
		to[i].At.Y /= k
	}
	in.Pointers = to
	return to
}
