package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"
)

// speechLike is noise through two resonances, in bursts, clipped now and then.
func speechLike(n int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	var a1, a2, b1, b2 float64
	for i := range x {
		t := float64(i) / 48000
		e := r.NormFloat64() * 0.02
		if i%400 == 0 {
			e += 1
		}
		a := e + 1.95*a1 - 0.955*a2
		a2, a1 = a1, a
		b := a + 1.7*b1 - 0.9*b2
		b2, b1 = b1, b
		x[i] = max(-0.8, min(0.8, 0.004*b*(0.05+math.Pow(max(0, math.Sin(2*math.Pi*3*t)), 2))))
	}
	return x
}

// A second of one channel at 48 kHz: an hour of stereo is 7200 of these.
func BenchmarkChannel(b *testing.B) {
	x := speechLike(48000*8, 3)
	c := New(48000, Options{FullScale: 1 - 1.0/32768, Step: 1.0 / 32768})
	b.ReportAllocs()
	b.SetBytes(48000 * 8)
	for i := 0; b.Loop(); i++ {
		k := i % 8 * 48000
		c.Write(x[k : k+48000])
	}
}
