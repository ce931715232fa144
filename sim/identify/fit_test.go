package identify

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestCholesky: random positive definite systems are solved as a general-purpose library
// solves them, and others are refused.
func TestCholesky(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		m := mat.NewDense(unknowns, unknowns, nil)
		for i := range unknowns {
			for j := range unknowns {
				m.Set(i, j, r.NormFloat64())
			}
		}
		var s mat.SymDense
		s.SymOuterK(1, m)
		var a [unknowns][unknowns]float64
		var b [unknowns]float64
		for i := range unknowns {
			b[i] = r.NormFloat64()
			for j := range unknowns {
				a[i][j] = s.At(i, j)
			}
		}
		var c mat.Cholesky
		var x mat.VecDense
		if !c.Factorize(&s) || c.SolveVecTo(&x, mat.NewVecDense(unknowns, append([]float64(nil), b[:]...))) != nil {
			continue // near singular
		}
		if !cholesky(&a, &b) {
			t.Fatal("refused")
		}
		for i := range unknowns {
			if math.Abs(b[i]-x.AtVec(i)) > 1e-6*(1+math.Abs(x.AtVec(i))) {
				t.Fatalf("%v, not %v", b, x.RawVector().Data)
			}
		}
	}
	a := [unknowns][unknowns]float64{}
	a[0][0] = -1
	if cholesky(&a, new([unknowns]float64)) {
		t.Error("solves what is not positive definite")
	}
}
