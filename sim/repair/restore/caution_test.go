package restore

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// wavy is a clipped wave of 16 kHz and its marks.
func wavy(level float64) (*Stretch, []float64) {
	x := make([]float64, 8000)
	for i := range x {
		t := 2 * math.Pi * float64(i) / 16000
		x[i] = (math.Sin(180*t) + 0.6*math.Sin(370*t+1) + 0.3*math.Sin(1130*t)) * (0.6 + 0.4*math.Sin(7*t))
	}
	q := &Stretch{Y: make([]float64, len(x)), Sign: make([]int8, len(x)), Bound: make([]float64, len(x))}
	for i, v := range x {
		q.Y[i] = min(max(v, -level), level)
		if math.Abs(v) >= level {
			q.Sign[i], q.Bound[i] = int8(math.Copysign(1, v)), level
			q.At = append(q.At, i)
		}
	}
	return q, x
}

// What is set against the blend of all is one method's word alone, and the same in
// whatever order the ensemble computes: another method's estimate would make all that was
// fitted void.
func TestSecondOpinionIsOneMethod(t *testing.T) {
	q, _ := wavy(1.2)
	fast := make([]float64, len(q.Y))
	NewBench(16000, Fast).Mend(fast, q) // at 16 kHz that method alone
	for _, e := range []Effort{Best, Balanced} {
		b, out := NewBench(16000, e), make([]float64, len(q.Y))
		b.Mend(out, q)
		for i, v := range b.opinion() {
			if v != fast[i] {
				t.Fatalf("%v, sample %d: second opinion %v, fast gives %v", e, i, v, fast[i])
			}
		}
	}
}

// heeded is what caution leaves of two estimates of what q hides.
func heeded(b *Bench, q *Stretch, best, other func(i int) float64) ([]float64, Doubt) {
	b.est = make([][]float64, gateMethods)
	two := append([]float64(nil), q.Y...)
	dst := append([]float64(nil), q.Y...)
	for _, i := range q.At {
		s := float64(q.Sign[i])
		dst[i], two[i] = s*(q.Bound[i]+best(i)), s*(q.Bound[i]+other(i))
	}
	b.est[len(b.sparse)+len(b.again)] = two
	return dst, b.heed(dst, q)
}

// Whatever the two estimates say, caution adds nothing to the better one, nothing falls
// below the ceiling, and what was not clipped stays; the nearer they are, the more is kept,
// and of what both tell alike nearly all.
func TestCaution(t *testing.T) {
	b := NewBench(16000, Best)
	r := rand.New(rand.NewPCG(1, 2))
	for range 100 {
		q, x := wavy(0.3 + 1.2*r.Float64())
		truth := func(i int) float64 { return math.Abs(x[i]) - q.Bound[i] }
		k := math.Exp(4*r.Float64() - 2)
		last := math.Inf(1)
		for _, off := range []float64{0, 0.1, 0.3, 1, 3} {
			noise := rand.New(rand.NewPCG(3, 4))
			out, d := heeded(b, q, func(i int) float64 { return k * truth(i) }, func(i int) float64 { return k * truth(i) * max(0, 1+off*(2*noise.Float64()-1)) })
			for i, v := range out {
				switch {
				case q.Sign[i] == 0 && v != q.Y[i]:
					t.Fatalf("sample %d, not clipped, went from %v to %v", i, q.Y[i], v)
				case q.Sign[i] != 0:
					if e := math.Abs(v) - q.Bound[i]; !(e >= -1e-12) || e > k*truth(i)+1e-12 {
						t.Fatalf("sample %d: %v was kept of %v", i, e, k*truth(i))
					}
				}
			}
			kept := d.Kept / d.Added
			if !(kept <= last) {
				t.Errorf("estimates %g apart: %.3f is kept, %.3f where they are nearer", off, kept, last)
			}
			last = kept
			if off == 0 && k < 0.5 && kept < 0.8 {
				t.Errorf("of two estimates alike %.3f is kept", kept)
			}
		}
	}
}

// Somebody who watches sees each clipped sample once, as the estimate left it.
func TestWatch(t *testing.T) {
	q, _ := wavy(1.2)
	var w Watch
	out := make([]float64, len(q.Y))
	told, err := All(t.Context(), out, q, 16000, Balanced, 2, nil, &w)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[int]bool{}
	for _, top := range w.Tops {
		seen[top.At] = true
		c := theCautions.Low
		want := top.Bound + top.Keep(&c)*top.Excess
		if got := math.Abs(out[top.At]); math.Abs(got-want) > 1e-12 {
			t.Fatalf("sample %d: %v, watched %v", top.At, got, want)
		}
	}
	if len(seen) != len(q.At) || len(w.Tops) != len(q.At) || told.Added <= 0 {
		t.Errorf("%d of %d clipped samples were seen in %d looks, doubt %+v", len(seen), len(q.At), len(w.Tops), told)
	}
}

// A voice that was flattened before stands more crowded below the ceiling than one that was
// free, whatever the level; what is clipped does not count.
func TestCrowding(t *testing.T) {
	_, x := wavy(2)
	of := func(bend, share float64) float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = math.Tanh(bend*v) / bend
		}
		sorted := make([]float64, len(y))
		for i, v := range y {
			sorted[i] = math.Abs(v)
		}
		slices.Sort(sorted)
		bound := sorted[int(float64(len(y))*(1-share))]
		q := &Stretch{Y: y, Sign: make([]int8, len(y)), Bound: make([]float64, len(y))}
		for i, v := range y {
			if math.Abs(v) >= bound {
				y[i] = math.Copysign(bound, v)
				q.Sign[i] = int8(math.Copysign(1, v))
			}
		}
		var known, other around // of this ceiling; of one that is elsewhere by now
		known.under(q, bound)
		other.under(q, bound/3)
		whole := known.crowding(q, len(y)/2, len(y)/2, bound)
		for _, at := range []int{0, 1000, 4000, len(y) - 1} {
			if a, b := known.crowding(q, at, 800, bound), other.crowding(q, at, 800, bound); a != b {
				t.Errorf("about %d: %v by sums, %v without", at, a, b)
			}
		}
		for i, v := range y {
			y[i] = 7 * v
		}
		known.under(q, 7*bound)
		if louder := known.crowding(q, len(y)/2, len(y)/2, 7*bound); math.Abs(louder-whole) > 0.05 {
			t.Errorf("seven times as loud it tells %v, not %v", louder, whole)
		}
		return whole
	}
	for _, share := range []float64{0.005, 0.02, 0.06} {
		free, bent, flat := of(0.01, share), of(1.2, share), of(4, share)
		t.Logf("%g clipped: free %.2f, bent %.2f, flat %.2f", share, free, bent, flat)
		if !(free < bent-0.1 && bent < flat-0.1) {
			t.Errorf("%g clipped: free %.2f, bent %.2f, flat %.2f do not rise", share, free, bent, flat)
		}
	}
	var none around
	if none.under(&Stretch{}, 1); none.crowding(&Stretch{}, 0, 100, 1) != 0 {
		t.Error("nothing is crowded")
	}
}

// Where much is clipped at a low rate all is kept, unless two estimates are further apart
// than what they add: then next to nothing.
func TestCautionWhereMuchIsClipped(t *testing.T) {
	b := NewBench(16000, Best)
	q, x := wavy(0.25)
	truth := func(i int) float64 { return math.Abs(x[i]) - q.Bound[i] }
	for _, c := range []struct{ off, least, most float64 }{{1, 1, 1}, {1.5, 1, 1}, {4, 0, 0.1}, {20, 0, 0.1}} {
		_, d := heeded(b, q, truth, func(i int) float64 { return c.off * truth(i) })
		if kept := d.Kept / d.Added; kept < c.least-1e-9 || kept > c.most+1e-9 {
			t.Errorf("another estimate %g times as high: %.3f is kept, not %g to %g", c.off, kept, c.least, c.most)
		}
	}
}

// Of levels that thin out by a constant share what lies beyond a ceiling has the mean that
// those below let expect: estimates that add three times as much are brought down to it
// where another one is as far away as they are high, hardly where it is near, and what adds no more
// than that stays. A ceiling that moves, and the whole louder, change nothing.
func TestLevelsGoOn(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	x := make([]float64, 40000)
	for i := range x {
		x[i] = 0.5 * r.ExpFloat64() * math.Copysign(1, r.Float64()-0.5)
	}
	of := func(times, apart float64, gain func(i int) float64) float64 {
		q := &Stretch{Y: make([]float64, len(x)), Sign: make([]int8, len(x)), Bound: make([]float64, len(x))}
		dst := make([]float64, len(x))
		for i, v := range x {
			g := gain(i)
			q.Y[i] = g * min(max(v, -1), 1)
			dst[i] = q.Y[i]
			if math.Abs(v) >= 1 {
				q.Sign[i], q.Bound[i] = int8(math.Copysign(1, v)), g
				q.At = append(q.At, i)
				dst[i] = g * math.Copysign(1+times*(math.Abs(v)-1), v)
			}
		}
		return q.most(dst, apart)
	}
	for name, gain := range map[string]func(int) float64{
		"constant": func(int) float64 { return 1 },
		"louder":   func(int) float64 { return 7 },
		"moving":   func(i int) float64 { return 1 + 0.5*math.Sin(float64(i)/9000) },
	} {
		if m := of(0.5, 10, gain); m != 1 {
			t.Errorf("%s: of half of what is likely %.3f is kept", name, m)
		}
		if m := of(1, 10, gain); m < 0.8 || m > 0.95 { // 0.9, since more stand in the slice than at the ceiling
			t.Errorf("%s: of what is likely %.3f is kept", name, m)
		}
		if m := of(3, 1e3, gain); m < 0.27 || m > 0.32 {
			t.Errorf("%s: of three times what is likely %.3f is kept, not about a third", name, m)
		}
		if m := of(3, 1e-4, gain); m < 0.98 {
			t.Errorf("%s: of an estimate that is sure %.3f is kept", name, m)
		}
		last := 1.0
		for _, apart := range []float64{0, 0.001, 0.01, 0.1, 1, 10} {
			if m := of(3, apart, gain); m > last {
				t.Errorf("%s: %g apart, %.3f is kept, %.3f where estimates are nearer", name, apart, m, last)
			} else {
				last = m
			}
		}
	}
}
