package restore

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Whatever an estimate says, known samples stay as recorded and clipped ones lie at or
// beyond their clip level, on their side.
func TestHold(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		n := 1 + rng.IntN(40)
		q := &Stretch{Y: make([]float64, n), Sign: make([]int8, n), Bound: make([]float64, n)}
		x := make([]float64, n)
		for i := range n {
			q.Y[i], x[i] = rng.NormFloat64(), 2*rng.NormFloat64()
			if rng.IntN(3) == 0 {
				q.Sign[i], q.Bound[i] = int8(1-2*rng.IntN(2)), rng.Float64()
				q.At = append(q.At, i)
			}
			if rng.IntN(10) == 0 {
				x[i] = math.NaN()
			}
		}
		q.hold(x)
		for i, v := range x {
			switch s := float64(q.Sign[i]); {
			case s == 0 && v != q.Y[i]:
				t.Fatalf("a known sample %v became %v", q.Y[i], v)
			case s != 0 && !(s*v >= q.Bound[i]):
				t.Fatalf("a sample clipped at %v became %v", s*q.Bound[i], v)
			}
		}
		a, b := rng.IntN(n), rng.IntN(n+1)
		a, b = min(a, b), max(a, b)
		p := q.cut(a, b)
		for _, i := range p.At {
			if p.Sign[i] == 0 {
				t.Fatal("a cut marks what is known")
			}
		}
		k := 0
		for _, s := range p.Sign {
			if s != 0 {
				k++
			}
		}
		if len(p.Y) != b-a || k != len(p.At) {
			t.Fatalf("a cut of %d samples has %d, %d clipped of %d", b-a, len(p.Y), len(p.At), k)
		}
	}
}
