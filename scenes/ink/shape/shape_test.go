package shape

import (
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"gainwright/scenes/ink"
)

func area(p []ink.Point) (a float64) {
	for i, q := range p {
		r := p[(i+1)%len(p)]
		a += float64(q.X)*float64(r.Y) - float64(r.X)*float64(q.Y)
	}
	return a / 2
}

func TestBoxIsOnPixels(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		r := ink.Rect{X: rng.Float32() * 100, Y: rng.Float32() * 100, W: rng.Float32()*50 + 0.01, H: rng.Float32()*50 + 0.01}
		s := 0.5 + 2*rng.Float32()
		b := Box(r, 0, s)
		for _, v := range []float32{b.X, b.Y, b.W, b.H} {
			if v != float32(int(v)) {
				t.Fatalf("Box(%v, scale %v) = %v is off the grid", r, s, b)
			}
		}
		if b.W < 1 || b.H < 1 || math.Abs(float64(b.X-r.X*s)) > 0.5001 {
			t.Fatalf("Box(%v, scale %v) = %v", r, s, b)
		}
		// Neighbours share an edge.
		n := Box(ink.Rect{X: r.Right(), Y: r.Y, W: 20, H: 20}, 0, s)
		if r.W*s > 1 && n.X != b.Right() {
			t.Fatalf("gap between %v and %v", b, n)
		}
	}
}

func TestRoundThingsHaveTheirArea(t *testing.T) {
	for _, r := range []float32{1, 3, 8, 40, 300} {
		p := RoundRect(nil, ink.Rect{W: 2 * r, H: 2 * r}, r)
		want := math.Pi * float64(r) * float64(r)
		if got := area(p); math.Abs(got-want) > 2*math.Pi*float64(r)/12 {
			t.Errorf("disc of radius %v covers %v, want %v", r, got, want)
		}
	}
	// A corner of radius r lacks (4−π)r² of the rectangle, over all four.
	got := area(RoundRect(nil, ink.Rect{W: 100, H: 50}, 10))
	if want := 5000 - (4-math.Pi)*100; math.Abs(got-want) > 8 {
		t.Errorf("rounded rectangle covers %v, want %v", got, want)
	}
}

// Bands across the hatching cut a polygon up without loss or overlap.
func TestSlicesAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var buf []ink.Point
	for range 300 {
		x, w := rng.Float32()*50, 1+rng.Float32()*40
		poly := Quad(nil,
			ink.Point{X: x, Y: rng.Float32() * 40}, ink.Point{X: x, Y: 40 + rng.Float32()*40},
			ink.Point{X: x + w, Y: rng.Float32() * 40}, ink.Point{X: x + w, Y: 40 + rng.Float32()*40})
		const gap = 7
		first, last := HatchLines(poly, image.Rect(0, 0, 200, 200), gap/2., gap)
		sum := 0.0
		for k := first; k <= last; k++ {
			var s []ink.Point
			s, buf = Slice(nil, buf, poly, (float32(k)-.5)*gap, (float32(k)+.5)*gap)
			sum += area(s)
		}
		if want := area(poly); math.Abs(sum-want) > 1e-2 {
			t.Fatalf("slices cover %v of %v", sum, want)
		}
	}
}

func TestStrokeCoversItsLength(t *testing.T) {
	// A right angle, 4 wide: two legs of 30 and 20 less the doubled corner
	// (a 2×2 square on the inside), plus a quarter disc of radius 2 outside.
	pts := []ink.Point{{X: 0, Y: 0}, {X: 30, Y: 0}, {X: 30, Y: 20}}
	o := Outline(nil, Stroke(nil, pts, 2, false), 2)
	want := 4*30 + 4*20 - 4 + math.Pi
	if got := math.Abs(area(o)); math.Abs(got-want) > 0.2 {
		t.Errorf("outline covers %v, want %v", got, want)
	}
	// The other way round covers the same.
	back := []ink.Point{pts[2], pts[1], pts[0]}
	if got := math.Abs(area(Outline(nil, Stroke(nil, back, 2, false), 2))); math.Abs(got-want) > 0.2 {
		t.Errorf("turned the other way: %v, want %v", got, want)
	}
	// Round ends add a disc.
	o = Outline(nil, Stroke(nil, pts[:2], 2, true), 2)
	if got, want := math.Abs(area(o)), 4*30+4*math.Pi; math.Abs(got-want) > 0.4 {
		t.Errorf("with round ends: %v, want %v", got, want)
	}
	if s := Stroke(nil, pts[:1], 2, false); len(s) != 0 {
		t.Errorf("one point makes a stroke of %d sections", len(s))
	}
}

func FuzzStrokeIsFinite(f *testing.F) {
	f.Add(uint64(1), float32(2))
	f.Fuzz(func(t *testing.T, seed uint64, half float32) {
		if !(half >= 0.5 && half < 100) {
			t.Skip()
		}
		rng := rand.New(rand.NewPCG(seed, 0))
		pts := make([]ink.Point, 1+rng.IntN(20))
		for i := range pts {
			pts[i] = ink.Point{X: float32(rng.IntN(7)), Y: float32(rng.IntN(7))}
		}
		for _, p := range Outline(nil, Stroke(nil, pts, half, seed%2 == 0), half) {
			reach := float64(half)*6 + 20
			if !(math.Abs(float64(p.X)) < reach && math.Abs(float64(p.Y)) < reach) {
				t.Fatalf("point %v of a stroke of half width %v", p, half)
			}
		}
	})
}

// What is left of a line lies within the tolerance of every point left out.
func TestSimplifyKeepsTheShape(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		pts := []ink.Point{{X: 5, Y: 50}}
		for range 3 + rng.IntN(200) {
			p := pts[len(pts)-1]
			pts = append(pts, ink.Point{X: p.X + rng.Float32()*0.7 - 0.1, Y: p.Y + (rng.Float32()-0.5)*rng.Float32()*4})
		}
		const tol = 0.12
		got := Simplify(nil, pts, tol)
		if got[0] != pts[0] || got[len(got)-1] != pts[len(pts)-1] {
			t.Fatal("the ends moved")
		}
		for _, p := range pts {
			best := math.Inf(1)
			for i := range len(got) - 1 {
				best = min(best, toSegment(p, got[i], got[i+1]))
			}
			if best > tol*1.05 {
				t.Fatalf("%v is %v away from what is left of %d points (%d)", p, best, len(pts), len(got))
			}
		}
	}
	// A straight line keeps its ends, a smooth wave a good deal less than all.
	var line, wave []ink.Point
	for i := range 600 {
		x := float32(i) / 3
		line = append(line, ink.Point{X: x, Y: x / 2})
		wave = append(wave, ink.Point{X: x, Y: 40 * float32(math.Sin(float64(x)/9))})
	}
	if n := len(Simplify(nil, line, 0.12)); n != 2 {
		t.Errorf("a straight line keeps %d points", n)
	}
	if n := len(Simplify(nil, wave, 0.12)); n > 150 {
		t.Errorf("a wave keeps %d of 600 points", n)
	}
}

func toSegment(p, a, b ink.Point) float64 {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(max((float64(p.X-a.X)*dx+float64(p.Y-a.Y)*dy)/l, 0), 1)
	}
	return math.Hypot(float64(p.X-a.X)-t*dx, float64(p.Y-a.Y)-t*dy)
}

// Stretches of hatching lines are where points of the line are within the strip.
func TestInsideAgreesWithPoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 200 {
		var pairs []ink.Point
		top, bottom := float32(1e9), float32(-1e9)
		for x := float32(0); x <= 60; x += 0.5 + 3*rng.Float32() {
			u, l := Uncross(ink.Point{X: x, Y: rng.Float32() * 30}, ink.Point{X: x, Y: 20 + rng.Float32()*30})
			pairs = append(pairs, u, l)
			top, bottom = min(top, u.Y), max(bottom, l.Y)
		}
		for d := float32(5); d < 90; d += 3.7 {
			in := Inside(nil, pairs, d, top, bottom)
			for x := float32(0.013); x < 60; x += 0.31 {
				y := d*math.Sqrt2 - x
				want, sure := within(pairs, x, y)
				got := false
				for _, iv := range in {
					got = got || x >= iv.From && x <= iv.To
				}
				if sure && got != want {
					t.Fatalf("at %v,%v on the line %v: inside %v, want %v (%v)", x, y, d, got, want, in)
				}
			}
		}
	}
}

// within reports whether a point is in an upright strip, and whether it is far
// enough from its edges to be sure.
func within(pairs []ink.Point, x, y float32) (in, sure bool) {
	for i := 0; i+3 < len(pairs); i += 2 {
		a, b := pairs[i].X, pairs[i+2].X
		if x < a || x > b {
			continue
		}
		t := (x - a) / (b - a)
		u := pairs[i].Y + t*(pairs[i+2].Y-pairs[i].Y)
		l := pairs[i+1].Y + t*(pairs[i+3].Y-pairs[i+1].Y)
		near := min(max(y-u, u-y), max(y-l, l-y))
		return y > u && y < l, near > 0.01
	}
	return false, false
}
