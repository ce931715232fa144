package rfft

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// The reference is gonum's transform.
func TestFFTAgainstGonum(t *testing.T) {
	for n := 4; n <= 8192; n *= 2 {
		r := rand.New(rand.NewPCG(1, uint64(n)))
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
		}
		f := New(n)
		got := make([]complex128, n/2+1)
		f.Forward(got, x[:n-n/3-1])
		f.wide = nil // not on every processor
		plain := make([]complex128, n/2+1)
		f.Forward(plain, x[:n-n/3-1])
		short := make([]float64, n-n/4-1)
		f.Inverse(short, plain)
		for k := range got {
			if cmplx.Abs(got[k]-plain[k]) > 1e-13*float64(n) {
				t.Fatalf("n %d bin %d of a short frame: %v, and without vector code %v", n, k, got[k], plain[k])
			}
		}
		for i, v := range short {
			want := x[i]
			if i >= n-n/3-1 {
				want = 0
			}
			if math.Abs(v/float64(n)-want) > 1e-12 {
				t.Fatalf("n %d sample %d without vector code: %v, want %v", n, i, v/float64(n), want)
			}
		}
		f = New(n)
		f.Forward(got, x)
		want := fourier.NewFFT(n).Coefficients(nil, x)
		for k := range got {
			if cmplx.Abs(got[k]-want[k]) > 1e-11*float64(n) {
				t.Fatalf("n %d bin %d: %v, want %v", n, k, got[k], want[k])
			}
		}
		back := make([]float64, n)
		f.Inverse(back, got)
		for i := range back {
			if math.Abs(back[i]/float64(n)-x[i]) > 1e-12 {
				t.Fatalf("n %d sample %d: %v, want %v", n, i, back[i]/float64(n), x[i])
			}
		}
	}
}

func BenchmarkFFT(b *testing.B) {
	for _, n := range []int{1024, 4096} {
		x := make([]float64, n)
		for i := range x {
			x[i] = math.Sin(float64(i * i))
		}
		bins := make([]complex128, n/2+1)
		b.Run(fmt.Sprintf("ours/%d", n), func(b *testing.B) {
			f := New(n)
			for b.Loop() {
				f.Forward(bins, x)
				f.Inverse(x, bins)
				for i := range x {
					x[i] /= float64(n)
				}
			}
		})
		b.Run(fmt.Sprintf("gonum/%d", n), func(b *testing.B) {
			f := fourier.NewFFT(n)
			for b.Loop() {
				f.Coefficients(bins, x)
				f.Sequence(x, bins)
				for i := range x {
					x[i] /= float64(n)
				}
			}
		})
	}
}
