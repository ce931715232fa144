package ui

import "gainwright/scenes/ink"

// Touch is the least width and height, in dp, of the area that takes a press
// (WCAG 2.2, 2.5.5).
const Touch = 44

// Top cuts h dp off the top of r and returns them.
func Top(r *ink.Rect, h float32) ink.Rect {
	h = min(max(h, 0), r.H)
	c := ink.Rect{X: r.X, Y: r.Y, W: r.W, H: h}
	r.Y += h
	r.H -= h
	return c
}

// Bottom cuts h dp off the bottom of r and returns them.
func Bottom(r *ink.Rect, h float32) ink.Rect {
	h = min(max(h, 0), r.H)
	r.H -= h
	return ink.Rect{X: r.X, Y: r.Y + r.H, W: r.W, H: h}
}

// Left cuts w dp off the left of r and returns them.
func Left(r *ink.Rect, w float32) ink.Rect {
	w = min(max(w, 0), r.W)
	c := ink.Rect{X: r.X, Y: r.Y, W: w, H: r.H}
	r.X += w
	r.W -= w
	return c
}

// Right cuts w dp off the right of r and returns them.
func Right(r *ink.Rect, w float32) ink.Rect {
	w = min(max(w, 0), r.W)
	r.W -= w
	return ink.Rect{X: r.X + r.W, Y: r.Y, W: w, H: r.H}
}

// Column returns column i of n equal ones with gap dp between them.
func Column(r ink.Rect, i, n int, gap float32) ink.Rect {
	w := (r.W - gap*float32(n-1)) / float32(n)
	return ink.Rect{X: r.X + float32(i)*(w+gap), Y: r.Y, W: w, H: r.H}
}

// Pad shrinks r by x dp left and right and y dp above and below, never below
// nothing.
func Pad(r ink.Rect, x, y float32) ink.Rect {
	return ink.Rect{X: r.X + x, Y: r.Y + y, W: max(0, r.W-2*x), H: max(0, r.H-2*y)}
}

// Reach grows r around its centre to at least Touch both ways.
func Reach(r ink.Rect) ink.Rect {
	if d := Touch - r.W; d > 0 {
		r.X, r.W = r.X-d/2, Touch
	}
	if d := Touch - r.H; d > 0 {
		r.Y, r.H = r.Y-d/2, Touch
	}
	return r
}

// Axis maps levels to 0 (lowest) … 1 (highest), straight between its knots, so
// that a part can be drawn finer than another.
type Axis []Knot

// Knot is one bend of an Axis; both fields rise along it.
type Knot struct {
	DB float64
	At float32
}

// At maps db; what lies outside is moved to the nearer end, as is −Inf; NaN
// counts as lowest.
func (a Axis) At(db float64) float32 {
	if !(db > a[0].DB) {
		return a[0].At
	}
	for i := 1; i < len(a); i++ {
		if db <= a[i].DB {
			p, q := a[i-1], a[i]
			return p.At + (q.At-p.At)*float32((db-p.DB)/(q.DB-p.DB))
		}
	}
	return a[len(a)-1].At
}

// Y maps db into r, highest at the top.
func (a Axis) Y(r ink.Rect, db float64) float32 { return r.Bottom() - a.At(db)*r.H }
