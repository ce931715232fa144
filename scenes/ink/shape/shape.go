// Package shape is the geometry that the painters of package ink share: where
// edges fall on the pixel grid, and the outlines of round and hatched things.
// All lengths are in device pixels unless a parameter says dp.
package shape

import (
	"image"
	"math"
	"sort"

	"gainwright/scenes/ink"
)

func round(x float32) float32 { return float32(math.Floor(float64(x) + 0.5)) }

// Box returns the rectangle r (dp) in pixels with its edges on whole pixels and
// at least one pixel wide and high, so that bars are sharp at any scale and
// neighbours touch. Round things (radius, in dp, at least half of a side) keep
// their place, because a disc that jumps by pixels is seen.
func Box(r ink.Rect, radius, scale float32) ink.Rect {
	x0, y0 := r.X*scale, r.Y*scale
	x1, y1 := r.Right()*scale, r.Bottom()*scale
	if r.W <= 0 || r.H <= 0 {
		return ink.Rect{X: x0, Y: y0}
	}
	if 2*radius >= r.W && 2*radius >= r.H {
		return ink.Rect{X: x0, Y: y0, W: x1 - x0, H: y1 - y0}
	}
	x0, y0 = round(x0), round(y0)
	x1, y1 = max(round(x1), x0+1), max(round(y1), y0+1)
	return ink.Rect{X: x0, Y: y0, W: x1 - x0, H: y1 - y0}
}

// Frame returns the centre line and the width, in pixels, of the frame along
// the edge of r (dp). Lines of an odd number of pixels lie just inside.
func Frame(r ink.Rect, radius, width, scale float32) (ink.Rect, float32) {
	b := Box(r, radius, scale)
	if 2*radius >= r.W && 2*radius >= r.H {
		return b, width * scale
	}
	w := max(1, round(width*scale))
	if int(w)%2 == 1 {
		b = b.Inset(0.5)
	}
	return b, w
}

// Segment returns a straight line (dp) in pixels. Upright and level lines get
// whole pixels.
func Segment(a, b ink.Point, width, scale float32) (ink.Point, ink.Point, float32) {
	a, b = ink.Point{X: a.X * scale, Y: a.Y * scale}, ink.Point{X: b.X * scale, Y: b.Y * scale}
	w := width * scale
	switch {
	case a.X == b.X:
		w = max(1, round(w))
		a.X = round(a.X-w/2) + w/2
		b.X = a.X
	case a.Y == b.Y:
		w = max(1, round(w))
		a.Y = round(a.Y-w/2) + w/2
		b.Y = a.Y
	}
	return a, b, w
}

// Clip returns the pixels of r (dp).
func Clip(r ink.Rect, scale float32) image.Rectangle {
	return image.Rect(int(round(r.X*scale)), int(round(r.Y*scale)),
		int(round(r.Right()*scale)), int(round(r.Bottom()*scale)))
}

// steps returns into how many chords an arc of the given angle is cut so that
// none is further than a twentieth of a pixel from it.
func steps(radius, angle float32) int {
	if radius <= 0.25 {
		return 1
	}
	const off = 1.0 / 20
	step := 2 * math.Acos(max(0, 1-off/float64(radius)))
	return max(1, min(256, int(math.Ceil(math.Abs(float64(angle))/step))))
}

// Arc appends the points of an arc, both ends included, from angle a0 to a1 in
// radians, clockwise on screen, 0 pointing right.
func Arc(dst []ink.Point, c ink.Point, radius, a0, a1 float32) []ink.Point {
	n := steps(radius, a1-a0)
	for i := range n + 1 {
		s, co := math.Sincos(float64(a0) + float64(a1-a0)*float64(i)/float64(n))
		dst = append(dst, ink.Point{X: c.X + radius*float32(co), Y: c.Y + radius*float32(s)})
	}
	return dst
}

// RoundRect appends the outline of a rectangle with round corners, clockwise on
// screen.
func RoundRect(dst []ink.Point, r ink.Rect, radius float32) []ink.Point {
	radius = min(radius, r.W/2, r.H/2)
	if radius <= 0 {
		return append(dst, ink.Point{X: r.X, Y: r.Y}, ink.Point{X: r.Right(), Y: r.Y},
			ink.Point{X: r.Right(), Y: r.Bottom()}, ink.Point{X: r.X, Y: r.Bottom()})
	}
	const q = math.Pi / 2
	dst = Arc(dst, ink.Point{X: r.X + radius, Y: r.Y + radius}, radius, 2*q, 3*q)
	dst = Arc(dst, ink.Point{X: r.Right() - radius, Y: r.Y + radius}, radius, 3*q, 4*q)
	dst = Arc(dst, ink.Point{X: r.Right() - radius, Y: r.Bottom() - radius}, radius, 0, q)
	return Arc(dst, ink.Point{X: r.X + radius, Y: r.Bottom() - radius}, radius, q, 2*q)
}

// halfDiagonal is one component of the unit vector across the hatching, which
// rises from left to right at 45°.
const halfDiagonal = math.Sqrt2 / 2

// Across is how far p lies across the hatching: lines are where it is a multiple
// of the gap. It is counted from the picture's corner, so that the hatching of
// neighbours joins and does not swim when an edge moves.
func Across(p ink.Point) float32 { return (p.X + p.Y) * halfDiagonal }

// HatchLines returns the first and last line (multiples of gap) that may touch
// a convex polygon within the given bounds, for lines that reach half their
// width to either side. first > last where there is none.
func HatchLines(poly []ink.Point, bounds image.Rectangle, half, gap float32) (first, last int) {
	lo, hi := Across(poly[0]), Across(poly[0])
	for _, p := range poly[1:] {
		d := Across(p)
		lo, hi = min(lo, d), max(hi, d)
	}
	lo = max(lo, Across(ink.Point{X: float32(bounds.Min.X), Y: float32(bounds.Min.Y)}))
	hi = min(hi, Across(ink.Point{X: float32(bounds.Max.X), Y: float32(bounds.Max.Y)}))
	if lo > hi {
		return 0, -1
	}
	first = int(math.Ceil(float64((lo - half) / gap)))
	last = int(math.Floor(float64((hi + half) / gap)))
	return first, last
}

// Slice appends the part of a convex polygon between two distances across the
// hatching. buf is scratch memory; both are returned for reuse.
func Slice(dst, buf, poly []ink.Point, lo, hi float32) ([]ink.Point, []ink.Point) {
	buf = half(buf[:0], poly, lo, +1)
	return half(dst, buf, hi, -1), buf
}

// half appends the part of poly where sign·(Across−at) ≥ 0 (Sutherland and
// Hodgman, Reentrant Polygon Clipping, CACM 17(1), 1974, for one edge).
func half(dst, poly []ink.Point, at, sign float32) []ink.Point {
	if len(poly) == 0 {
		return dst
	}
	a := poly[len(poly)-1]
	da := sign * (Across(a) - at)
	for _, b := range poly {
		db := sign * (Across(b) - at)
		if (da < 0) != (db < 0) {
			t := da / (da - db)
			dst = append(dst, ink.Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y)})
		}
		if db >= 0 {
			dst = append(dst, b)
		}
		a, da = b, db
	}
	return dst
}

// Quad appends the outline of one cell of a strip, clockwise on screen, from
// two pairs (upper, lower). A pair whose lower point lies above its upper one
// has no height.
func Quad(dst []ink.Point, u0, l0, u1, l1 ink.Point) []ink.Point {
	u0, l0 = Uncross(u0, l0)
	u1, l1 = Uncross(u1, l1)
	return append(dst, u0, u1, l1, l0)
}

// Uncross brings a pair with its lower point above its upper one together.
func Uncross(u, l ink.Point) (ink.Point, ink.Point) {
	if l.Y < u.Y {
		m := (u.Y + l.Y) / 2
		u.Y, l.Y = m, m
	}
	return u, l
}

// Area returns the signed area of a polygon, positive if it is clockwise on
// screen.
func Area(p []ink.Point) (a float32) {
	for i, q := range p {
		r := p[(i+1)%len(p)]
		a += q.X*r.Y - r.X*q.Y
	}
	return a / 2
}

// Distinct removes, in place, points that repeat their forerunner.
func Distinct(p []ink.Point) []ink.Point {
	near := func(a, b ink.Point) bool {
		dx, dy := a.X-b.X, a.Y-b.Y
		return dx*dx+dy*dy < 1e-6
	}
	n := 0
	for _, q := range p {
		if n == 0 || !near(q, p[n-1]) {
			p[n] = q
			n++
		}
	}
	for n > 1 && near(p[0], p[n-1]) {
		n--
	}
	return p[:n]
}

// Mitre returns the vector that moves corner i of a closed clockwise polygon
// outwards so that both of its edges move by one pixel; at sharp corners it is
// cut to four.
func Mitre(p []ink.Point, i int) ink.Point {
	a, b, c := p[(i+len(p)-1)%len(p)], p[i], p[(i+1)%len(p)]
	d0, _ := unit(a, b)
	d1, _ := unit(b, c)
	n0, n1 := left(d0), left(d1)
	m := ink.Point{X: n0.X + n1.X, Y: n0.Y + n1.Y}
	q := max(1+d0.X*d1.X+d0.Y*d1.Y, 0.125)
	return ink.Point{X: m.X / q, Y: m.Y / q}
}

// Upward returns the unit normal that points up from the direction a to b of a
// curve that runs to the right.
func Upward(a, b ink.Point) ink.Point {
	d, l := unit(a, b)
	if l == 0 {
		return ink.Point{Y: -1}
	}
	return left(d)
}

// Simplify appends pts without those that lie within tol of the line that
// remains: a wave drawn with several samples to a pixel keeps its shape with a
// fraction of the points. It looks at each point once (the cone of directions
// that pass all points since the last one kept; Williams, Computer Graphics and
// Image Processing 8, 1978).
func Simplify(dst, pts []ink.Point, tol float32) []ink.Point {
	if len(pts) < 3 {
		return append(dst, pts...)
	}
	dst = append(dst, pts[0])
	at := pts[0]
	// The cone, as directions from at; open while there is none.
	var lo, hi ink.Point
	var reach float32 // the furthest point since at
	open := true
	for i := 1; i < len(pts); i++ {
		p := pts[i]
		d, length := unit(at, p)
		if open {
			if length <= tol {
				continue
			}
			lo, hi = spread(d, length, tol)
			reach, open = length, false
			continue
		}
		// Outside of the cone, or turned back: the one before is kept.
		if length < reach || cross(lo, d) < 0 || cross(d, hi) < 0 {
			at = pts[i-1]
			dst = append(dst, at)
			d, length = unit(at, p)
			open = length <= tol
			if !open {
				lo, hi = spread(d, length, tol)
				reach = length
			}
			continue
		}
		reach = max(reach, length)
		if length > tol {
			a, b := spread(d, length, tol)
			if cross(lo, a) > 0 {
				lo = a
			}
			if cross(b, hi) > 0 {
				hi = b
			}
		}
	}
	return append(dst, pts[len(pts)-1])
}

// spread returns the directions from a point to either edge of a disc of radius
// tol around another, which lies length away in direction d.
func spread(d ink.Point, length, tol float32) (lo, hi ink.Point) {
	s := tol / length
	c := float32(math.Sqrt(float64(max(0, 1-s*s))))
	return ink.Point{X: d.X*c + d.Y*s, Y: d.Y*c - d.X*s}, ink.Point{X: d.X*c - d.Y*s, Y: d.Y*c + d.X*s}
}

func cross(a, b ink.Point) float32 { return a.X*b.Y - a.Y*b.X }

// Interval is a stretch of a hatching line, by x.
type Interval struct{ From, To float32 }

// Upright reports whether every pair (upper, lower) of a strip stands upright
// and none lies left of the one before.
func Upright(pairs []ink.Point) bool {
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i].X != pairs[i+1].X || i > 0 && pairs[i].X < pairs[i-2].X {
			return false
		}
	}
	return true
}

// Inside appends the stretches of the hatching line that is d across which lie
// within an upright strip. top and bottom bound the strip's curves.
func Inside(dst []Interval, pairs []ink.Point, d, top, bottom float32) []Interval {
	c := d / halfDiagonal // x + y along the line
	n := len(pairs) / 2
	// The first cell that ends right of where the line comes in at the bottom.
	first := sort.Search(n, func(i int) bool { return pairs[2*i].X > c-bottom })
	for i := max(first, 1); i < n; i++ {
		u0, l0, u1, l1 := pairs[2*i-2], pairs[2*i-1], pairs[2*i], pairs[2*i+1]
		if u0.X >= c-top {
			break
		}
		w := u1.X - u0.X
		if w <= 0 || l0.Y <= u0.Y && l1.Y <= u1.Y {
			continue
		}
		// How far the line is below the upper and above the lower curve, at the
		// cell's ends.
		from, to := float32(0), float32(1)
		from, to = positive(from, to, c-u0.X-u0.Y, c-u1.X-u1.Y)
		from, to = positive(from, to, l0.Y-c+u0.X, l1.Y-c+u1.X)
		if from >= to {
			continue
		}
		a, b := u0.X+from*w, u0.X+to*w
		if k := len(dst); k > 0 && a-dst[k-1].To < 1e-3 {
			dst[k-1].To = b
		} else {
			dst = append(dst, Interval{a, b})
		}
	}
	return dst
}

// positive narrows an interval within 0..1 to where a linear function with the
// values a at 0 and b at 1 is positive.
func positive(from, to, a, b float32) (float32, float32) {
	switch {
	case a >= 0 && b >= 0:
	case a < 0 && b < 0:
		return 1, 0
	case a < 0:
		from = max(from, a/(a-b))
	default:
		to = min(to, a/(a-b))
	}
	return from, to
}
