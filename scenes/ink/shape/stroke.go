package shape

import (
	"math"

	"gainwright/scenes/ink"
)

// Section is a cut across a stroke: its edges are At + h·Left and At + h·Right
// where h is half the width.
type Section struct {
	At, Left, Right ink.Point
}

// Stroke appends the sections of a polyline of the given half width, joins
// round on their outer side. Points that repeat are left out.
func Stroke(dst []Section, pts []ink.Point, half float32, roundEnds bool) []Section {
	n := 0
	var prev ink.Point // last distinct point
	var d0 ink.Point   // unit direction into it
	var len0 float32
	first := len(dst)
	for _, p := range pts {
		if n == 0 {
			prev, n = p, 1
			continue
		}
		d, length := unit(prev, p)
		if length < 1e-3 {
			continue
		}
		if n == 1 {
			if roundEnds {
				dst = endCap(dst, prev, d, half, true)
			}
			dst = append(dst, square(prev, d))
		} else {
			dst = join(dst, prev, d0, d, half, min(len0, length))
		}
		prev, d0, len0 = p, d, length
		n++
	}
	switch {
	case n >= 2:
		dst = append(dst, square(prev, d0))
		if roundEnds {
			dst = endCap(dst, prev, d0, half, false)
		}
	case n == 1 && roundEnds:
		d := ink.Point{X: 1}
		dst = endCap(dst, prev, d, half, true)
		dst = endCap(dst, prev, d, half, false)
	default:
		dst = dst[:first]
	}
	return dst
}

func unit(a, b ink.Point) (ink.Point, float32) {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := float32(math.Sqrt(float64(dx*dx + dy*dy)))
	if l == 0 {
		return ink.Point{}, 0
	}
	return ink.Point{X: dx / l, Y: dy / l}, l
}

// left is the unit normal to the left of direction d, on a screen with y down.
func left(d ink.Point) ink.Point { return ink.Point{X: d.Y, Y: -d.X} }

func neg(p ink.Point) ink.Point { return ink.Point{X: -p.X, Y: -p.Y} }

func square(p, d ink.Point) Section {
	n := left(d)
	return Section{At: p, Left: n, Right: neg(n)}
}

// join turns from direction d0 to d1 at p. room is how far the inner edge may
// reach back along the shorter neighbour.
func join(dst []Section, p, d0, d1 ink.Point, half, room float32) []Section {
	cos := d0.X*d1.X + d0.Y*d1.Y
	sin := d0.X*d1.Y - d0.Y*d1.X // > 0: turns right on screen
	n0, n1 := left(d0), left(d1)
	// The mitre: the normals' bisector, 1/cos(turn/2) long.
	m := ink.Point{X: n0.X + n1.X, Y: n0.Y + n1.Y}
	q := 1 + cos // |m|²/2
	if q < 1e-3 {
		// Straight back: a round end on the spot.
		turn := float32(math.Pi)
		return fan(dst, p, n0, turn, ink.Point{}, half, true)
	}
	m = ink.Point{X: m.X / q, Y: m.Y / q}
	inner := m
	length := float32(math.Sqrt(float64(m.X*m.X + m.Y*m.Y)))
	if (length-1)*half < 0.15 {
		// The mitre's tip is not told from the round join.
		return append(dst, Section{At: p, Left: m, Right: neg(m)})
	}
	if most := max(1, float32(math.Sqrt(float64(1+room*room/(half*half))))); length > most {
		inner = ink.Point{X: m.X * most / length, Y: m.Y * most / length}
	}
	turn := float32(math.Atan2(float64(sin), float64(cos)))
	if sin > 0 {
		return fan(dst, p, n0, turn, neg(inner), half, true)
	}
	return fan(dst, p, neg(n0), turn, inner, half, false)
}

// fan appends sections whose outer edge turns from the normal n by turn while
// the inner edge stays.
func fan(dst []Section, p, n ink.Point, turn float32, inner ink.Point, half float32, outerLeft bool) []Section {
	k := steps(half+0.5, turn)
	for i := range k + 1 {
		s, c := math.Sincos(float64(turn) * float64(i) / float64(k))
		o := ink.Point{X: n.X*float32(c) - n.Y*float32(s), Y: n.X*float32(s) + n.Y*float32(c)}
		if outerLeft {
			dst = append(dst, Section{At: p, Left: o, Right: inner})
		} else {
			dst = append(dst, Section{At: p, Left: inner, Right: o})
		}
	}
	return dst
}

// endCap appends a half disc before (start) or after the end of a stroke.
func endCap(dst []Section, p, d ink.Point, half float32, start bool) []Section {
	n := left(d)
	k := steps(half+0.5, math.Pi/2)
	for i := range k {
		t := float64(i) / float64(k) // from the tip to the side
		if !start {
			t = float64(i+1) / float64(k) // from the side to the tip
		}
		s, c := math.Sincos(t * math.Pi / 2)
		along, side := float32(-c), float32(s)
		if !start {
			along, side = float32(s), float32(c)
		}
		dst = append(dst, Section{At: p,
			Left:  ink.Point{X: d.X*along + n.X*side, Y: d.Y*along + n.Y*side},
			Right: ink.Point{X: d.X*along - n.X*side, Y: d.Y*along - n.Y*side}})
	}
	return dst
}

// Outline appends the closed outline of a stroke.
func Outline(dst []ink.Point, s []Section, half float32) []ink.Point {
	for i := range s {
		dst = append(dst, ink.Point{X: s[i].At.X + half*s[i].Left.X, Y: s[i].At.Y + half*s[i].Left.Y})
	}
	for i := len(s) - 1; i >= 0; i-- {
		dst = append(dst, ink.Point{X: s[i].At.X + half*s[i].Right.X, Y: s[i].At.Y + half*s[i].Right.Y})
	}
	return dst
}
