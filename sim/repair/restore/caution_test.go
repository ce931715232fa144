package restore

import (
	"math"
	"math/rand/v2"
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
		c := theCaution
		want := top.Bound + c.Share(&top.X)*top.Excess
		if got := math.Abs(out[top.At]); math.Abs(got-want) > 1e-12 {
			t.Fatalf("sample %d: %v, watched %v", top.At, got, want)
		}
	}
	if len(seen) != len(q.At) || len(w.Tops) != len(q.At) || told.Added <= 0 {
		t.Errorf("%d of %d clipped samples were seen in %d looks, doubt %+v", len(seen), len(q.At), len(w.Tops), told)
	}
}
