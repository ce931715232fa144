package restore

import (
	"cmp"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"
)

// One round of the alternation, as its definition has it, beside what the loops do to
// fewer numbers, in vector code where there is some.
func TestSparseLoops(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for n := 1; n < 30; n++ {
		z, u, s := make([]complex128, n), make([]complex128, n), make([]complex128, n)
		mag, least := make([]float64, n), 2.0
		for i := range z {
			z[i], u[i] = complex(r.NormFloat64(), r.NormFloat64()), complex(r.NormFloat64(), r.NormFloat64())
			s[i] = z[i] - u[i]
		}
		powers(mag, z, s)
		rest := keep(s, z, mag, least)
		want := 0.0
		for i, v := range z {
			model := v + u[i]
			if p := real(model)*real(model) + imag(model)*imag(model); math.Abs(mag[i]-p) > 1e-12 {
				t.Fatalf("power %d of %d is %v, want %v", i, n, mag[i], p)
			}
			if mag[i] < least {
				model = 0
			}
			want += real(v-model)*real(v-model) + imag(v-model)*imag(v-model)
			if cmplx.Abs(s[i]-(model-u[i])) > 1e-12 {
				t.Fatalf("bin %d of %d is %v, want %v", i, n, s[i], model-u[i])
			}
		}
		if math.Abs(rest-want) > 1e-12*(1+want) {
			t.Fatalf("the rest of %d is %v, want %v", n, rest, want)
		}
		x, lo, hi := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], lo[i] = r.NormFloat64(), r.NormFloat64()
			hi[i] = lo[i] + []float64{0, 0.5, math.Inf(1)}[r.IntN(3)]
			if r.IntN(4) == 0 {
				lo[i] = math.Inf(-1)
			}
		}
		got := make([]float64, n)
		clamp(got, x, lo, hi, 0.75)
		for i, v := range x {
			if want := min(max(0.75*v, lo[i]), hi[i]); got[i] != want {
				t.Fatalf("sample %d of %d is %v, want %v", i, n, got[i], want)
			}
		}
	}
}

// The factor solves what it was made from: against elimination with pivots, written here.
func TestFactorSolve(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for trial := range 60 {
		m, p := 1+r.IntN(40), 3+r.IntN(30)
		s := &predictSolver{p: p, b: make([]float64, p+1)}
		a := make([]float64, p+1) // of a filter, so that the matrix is definite
		for i := range a {
			a[i] = r.NormFloat64() / float64(1+i)
		}
		a[0] += 3
		for l := range s.b {
			for k := 0; k+l <= p; k++ {
				s.b[l] += a[k] * a[k+l]
			}
		}
		s.grow(m)
		at, sign := 0, []int8{}
		for i := range m {
			at += 1 + r.IntN(1+trial%7)
			s.pos, s.list = append(s.pos, at), append(s.list, i)
			s.lin[i] = r.NormFloat64()
			for len(sign) <= at {
				sign = append(sign, int8(1-2*r.IntN(2)))
			}
		}
		s.factorSolve(sign)
		q := make([][]float64, m)
		for i := range q {
			q[i] = make([]float64, m+1)
			for j := range m {
				if d := max(s.pos[i], s.pos[j]) - min(s.pos[i], s.pos[j]); d <= p {
					q[i][j] = float64(sign[s.pos[i]]*sign[s.pos[j]]) * s.b[d]
				}
			}
			q[i][m] = -s.lin[i]
		}
		for i, want := range eliminate(q) {
			if math.Abs(s.v[i]-want) > 1e-9*(1+math.Abs(want)) {
				t.Fatalf("%d unknowns, order %d: unknown %d is %v, want %v", m, p, i, s.v[i], want)
			}
		}
	}
}

// eliminate solves rows of coefficients with the right side last.
func eliminate(q [][]float64) []float64 {
	m := len(q)
	for c := range m {
		top := slices.MaxFunc(q[c:], func(a, b []float64) int {
			return cmp.Compare(math.Abs(a[c]), math.Abs(b[c]))
		})
		i := slices.IndexFunc(q, func(r []float64) bool { return &r[0] == &top[0] })
		q[c], q[i] = q[i], q[c]
		for _, row := range q[c+1:] {
			f := row[c] / q[c][c]
			for k := c; k <= m; k++ {
				row[k] -= f * q[c][k]
			}
		}
	}
	x := make([]float64, m)
	for c := m - 1; c >= 0; c-- {
		x[c] = q[c][m]
		for k := c + 1; k < m; k++ {
			x[c] -= q[c][k] * x[k]
		}
		x[c] /= q[c][c]
	}
	return x
}
