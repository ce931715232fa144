//go:build full

package audio

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"gainwright/sim/meter"
)

// spoken is like speech: voiced syllables and, between them, hisses, which coders find
// the hardest.
func spoken(rate, n int) []float64 {
	x := programme(1, rate, n)[0]
	rng := rand.New(rand.NewPCG(8, 8))
	was := 0.0
	for i := range x {
		v := rng.NormFloat64()
		s := math.Mod(float64(i)/float64(rate), 0.25)
		if s < 0.06 { // where the voice is low
			x[i] += 0.04 * (v - was)
		}
		was = v
	}
	return x
}

// TestPairCoded: what a lossy coder makes of two equal channels is one sound still,
// and what it makes of two that differ is two.
func TestPairCoded(t *testing.T) {
	const rate = 48000
	x := spoken(rate, 5*rate)
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	made := func(f func(i int) float64) []float64 {
		y := make([]float64, len(x))
		for i := range y {
			y[i] = f(i)
		}
		return y
	}
	cut := func(db float64) []float64 {
		c := top * math.Pow(10, -db/20)
		return made(func(i int) float64 { return max(-c, min(c, x[i])) })
	}
	rng := rand.New(rand.NewPCG(6, 6))
	hiss := func(i int) float64 { return x[i] + 2e-4*rng.NormFloat64() }
	// A microphone hears the voice and, one after another, twelve walls.
	mic := func(seed uint64, direct int) []float64 {
		r := rand.New(rand.NewPCG(seed, 1))
		var at [12]int
		var g [12]float64
		for k := range at {
			at[k] = 100 + r.IntN(4000)
			g[k] = 0.2 * (2*r.Float64() - 1)
		}
		return made(func(i int) float64 {
			v := 0.0
			if i >= direct {
				v = 0.7 * x[i-direct]
			}
			for k, d := range at {
				if i >= d {
					v += g[k] * x[i-d]
				}
			}
			return v
		})
	}
	for _, c := range []struct {
		what string
		l, r []float64
		want bool
	}{
		{"equal", x, x, true},
		{"both clipped", cut(3), cut(3), true},
		{"through two inputs", made(hiss), made(hiss), true},
		{"0.5 dB apart", x, made(func(i int) float64 { return 0.944 * x[i] }), false},
		{"one clipped by 3 dB", cut(3), x, false},
		{"three samples apart", x, made(func(i int) float64 { return x[max(0, i-3)] }), false},
		{"two microphones 0.3 m apart", mic(1, 40), mic(2, 82), false},
		{"two microphones side by side", mic(1, 40), mic(2, 41), false},
	} {
		for _, f := range [][]string{
			{"x.wav", "-c:a", "pcm_s16le"},
			{"x.mp3", "-c:a", "libmp3lame", "-b:a", "64k"}, {"x.mp3", "-c:a", "libmp3lame", "-b:a", "128k"}, {"x.mp3", "-c:a", "libmp3lame", "-b:a", "192k"},
			{"x.ogg", "-c:a", "libvorbis", "-q:a", "0"}, {"x.ogg", "-c:a", "libvorbis", "-q:a", "5"},
			{"x.m4a", "-c:a", "aac", "-b:a", "64k"}, {"x.m4a", "-c:a", "aac", "-b:a", "128k"},
			{"x.opus", "-c:a", "libopus", "-b:a", "64k"}, {"x.opus", "-c:a", "libopus", "-b:a", "128k"},
		} {
			path := filepath.Join(t.TempDir(), f[0])
			encode(t, path, [][]float64{c.l, c.r}, rate, f[1:]...)
			var y [][]float64
			if ext := filepath.Ext(path); ext == ".m4a" || ext == ".opus" {
				y = decode(t, path, 2) // as a browser does
			} else {
				_, y = read(t, path)
			}
			p := meter.NewPair(rate)
			p.Write(y[0], y[1])
			if got := p.Same(); got != c.want {
				t.Errorf("%s, %v: same %v", c.what, f[1:], got)
			}
		}
	}
}
