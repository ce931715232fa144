package monotone

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/interp"
)

// TestAgainstGonum: over random points the curve is that of a general-purpose library; it
// rises with its points and goes through them.
func TestAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		n := 2 + r.IntN(9)
		x, y := make([]float64, n), make([]float64, n)
		for i := 1; i < n; i++ {
			x[i] = x[i-1] + 0.1 + r.ExpFloat64()
			y[i] = y[i-1] + r.ExpFloat64()
			if r.IntN(6) == 0 {
				y[i] = y[i-1] - r.Float64()*float64(r.IntN(2))
			}
		}
		var want interp.FritschButland
		if err := want.Fit(x, y); err != nil {
			t.Fatal(err)
		}
		c := Through(x, y)
		last := math.Inf(-1)
		rises := true
		for i := range y[1:] {
			rises = rises && y[i+1] >= y[i]
		}
		for i := range 101 {
			at := x[0] + (x[n-1]-x[0])*float64(i)/100
			got := c.At(at)
			if math.Abs(got-want.Predict(at)) > 1e-9 {
				t.Fatalf("%v through %v, %v: %v, not %v", at, x, y, got, want.Predict(at))
			}
			if rises && got < last-1e-9 {
				t.Fatalf("falls at %v through %v, %v", at, x, y)
			}
			last = got
		}
		for i := range x {
			if math.Abs(c.At(x[i])-y[i]) > 1e-12 {
				t.Fatalf("misses point %d", i)
			}
		}
	}
	if Through([]float64{1}, []float64{1}) != nil {
		t.Error("a curve through one point")
	}
	if c := Through([]float64{0, 1}, []float64{0, 2}); c.At(-1) != 0 || c.At(5) != 2 {
		t.Error("goes on outside the points")
	}
}
