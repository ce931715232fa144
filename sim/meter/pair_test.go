package meter

import (
	"math"
	"slices"
	"testing"
)

// coded gives a channel a noise of its own that lies so many dB under the level around,
// as a lossy coder does.
func coded(x []float64, seed uint64, under float64) []float64 {
	y, n := slices.Clone(x), noise(seed, 1, len(x))
	env := 0.0
	for i := range y {
		env += (x[i]*x[i] - env) / 500
		y[i] += n[i] * math.Sqrt(env) * FromDB(-under)
	}
	return y
}

func TestPair(t *testing.T) {
	x := babble(3, rate48, 10*rate48)
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	times := func(g float64) []float64 { return scaled(x, func(v float64) float64 { return g * v }) }
	cut := func(db float64) []float64 {
		c := top * FromDB(-db)
		return scaled(x, func(v float64) float64 { return max(-c, min(c, v)) })
	}
	later := func(n int) []float64 { return append(make([]float64, n), x[:len(x)-n]...) }
	soft := scaled(x, func(v float64) float64 { return v })
	for i := 7 * rate48; i < 8*rate48; i++ {
		soft[i] *= 0.3
	}
	softCut := slices.Clone(soft)
	c := 0.0
	for _, v := range soft[7*rate48 : 8*rate48] {
		c = max(c, 0.7*math.Abs(v))
	}
	for i := 7 * rate48; i < 8*rate48; i++ {
		softCut[i] = max(-c, min(c, soft[i]))
	}
	hers := slices.Clone(x)
	copy(hers[6*rate48:8*rate48], make([]float64, 2*rate48))
	for _, c := range []struct {
		what string
		l, r []float64
		want bool
	}{
		{"equal", x, x, true},
		{"silent", make([]float64, rate48), make([]float64, rate48), true},
		{"coded, −40 dB", coded(x, 1, 40), coded(x, 2, 40), true},
		{"coded, −20 dB", coded(x, 1, 20), coded(x, 2, 20), true},
		{"two inputs' noise", coded(x, 1, 300), summed(x, noise(5, 1e-4, len(x))), true},
		{"0.5 dB apart", x, times(FromDB(-0.5)), false},
		{"0.5 dB apart, coded", coded(x, 1, 30), coded(times(FromDB(-0.5)), 2, 30), false},
		{"clipped by 1 dB", cut(1), x, false},
		{"clipped by 3 dB, coded", coded(x, 1, 30), coded(cut(3), 2, 30), false},
		{"both clipped, coded", coded(cut(3), 1, 30), coded(cut(3), 2, 30), true},
		{"a soft second clipped", softCut, soft, false},
		{"a soft second clipped, coded", coded(softCut, 1, 35), coded(soft, 2, 35), false},
		{"a sample apart", x, later(1), false},
		{"five samples apart, coded", coded(x, 1, 30), coded(later(5), 2, 30), false},
		{"turned over", x, times(-1), false},
		{"one silent", x, times(0), false},
		{"two seconds of ten in one only", x, hers, false},
		{"two people", x, babble(4, rate48, len(x)), false},
	} {
		for _, swap := range []bool{false, true} {
			p := NewPair(rate48)
			l, r := c.l, c.r
			if swap {
				l, r = r, l
			}
			for i, n := 0, 0; i < len(l); i += n {
				n = min(1+i%997, len(l)-i)
				p.Write(l[i:i+n], r[i:i+n])
			}
			if got := p.Same(); got != c.want {
				t.Errorf("%s (swapped %v): same %v", c.what, swap, got)
			}
		}
	}
}

func scaled(x []float64, f func(float64) float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = f(v)
	}
	return y
}

func summed(x, y []float64) []float64 {
	z := slices.Clone(x)
	for i := range z {
		z[i] += y[i]
	}
	return z
}

func BenchmarkPair(b *testing.B) {
	x := babble(3, rate48, rate48)
	y := coded(x, 1, 40)
	p := NewPair(rate48)
	b.ReportAllocs()
	for b.Loop() {
		p.Write(x, y)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "x_realtime")
}
