package vec

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// The reference is arithmetic of 200 bits.
func TestDot(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for n := range 70 {
		for shift := range 3 { // of memory: nothing is aligned
			a, b := make([]float64, n+shift)[shift:], make([]float64, n+shift+2)[shift:]
			for i := range b {
				b[i] = r.NormFloat64()
			}
			sum, size := new(big.Float).SetPrec(200), 0.0
			for i := range a {
				a[i] = r.NormFloat64()
				x, y := new(big.Float).SetPrec(200).SetFloat64(a[i]), new(big.Float).SetPrec(200).SetFloat64(b[i])
				sum.Add(sum, x.Mul(x, y))
				size += math.Abs(a[i] * b[i])
			}
			want, _ := sum.Float64()
			for name, got := range map[string]float64{"Dot": Dot(a, b), "dot": dot(a, b)} {
				if math.Abs(got-want) > 1e-15*size*float64(n) {
					t.Errorf("%s of %d: %v, want %v", name, n, got, want)
				}
			}
		}
	}
}

func BenchmarkDot(b *testing.B) {
	for _, n := range []int{16, 64, 256} {
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], y[i] = float64(i), 1/float64(i+1)
		}
		sum := 0.0
		for name, f := range map[string]func(x, y []float64) float64{"Dot": Dot, "any": dot} {
			b.Run(fmt.Sprintf("%s/%d", name, n), func(b *testing.B) {
				for b.Loop() {
					sum += f(x, y)
				}
			})
		}
		_ = sum
	}
}

// The reference is Dot's own, tested above, on each of the four systems.
func TestSolve4(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for n := range 40 {
		l, x := make([]float64, n), make([]float64, 4*n)
		for i := range x {
			x[i] = r.NormFloat64()
		}
		var was [4]float64
		for i := range l {
			l[i] = r.NormFloat64()
		}
		for c := range was {
			was[c] = r.NormFloat64()
		}
		d := r.NormFloat64()
		a, b := was, was
		Solve4(&a, l, x, d)
		solve4(&b, l, x, d)
		for c := range was {
			col := make([]float64, n)
			for k := range col {
				col[k] = x[4*k+c]
			}
			want := (was[c] - dot(l, col)) * d
			if tol := 1e-13 * float64(n+1); math.Abs(a[c]-want) > tol || math.Abs(b[c]-want) > tol {
				t.Errorf("%d terms, system %d: %v and %v, want %v", n, c, a[c], b[c], want)
			}
		}
	}
}
