package clitest

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// VoiceLike is a harmonic sound that comes and goes, over a little noise.
func VoiceLike(seconds float64, rate int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(seconds*float64(rate)))
	phase := 0.0
	for i := range x {
		t := float64(i) / float64(rate)
		env := math.Pow(max(0, math.Sin(2*math.Pi*0.7*t)), 2)
		phase += 2 * math.Pi * (120 + 15*math.Sin(2*math.Pi*1.3*t)) / float64(rate)
		for k := 1; k <= 12 && float64(k)*150 < 0.45*float64(rate); k++ {
			x[i] += env * math.Cos(float64(k)*phase+float64(k*k)) / float64(k)
		}
		x[i] += 0.002 * rng.NormFloat64()
	}
	p := 0.0
	for _, v := range x {
		p = max(p, math.Abs(v))
	}
	for i := range x {
		x[i] *= 1.6 / p
	}
	return x
}

// ClipAt cuts at ± a level.
func ClipAt(x []float64, level float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = min(max(v, -level), level)
	}
	return y
}

// Times is x with a gain.
func Times(x []float64, g float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = v * g
	}
	return y
}

// PutWAV writes a WAV file, a slice a channel.
func PutWAV(t *testing.T, path string, rate int, enc codec.Encoding, x ...[]float64) {
	t.Helper()
	b, err := codec.WAVBytes(rate, x, enc)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b, 0o666); err != nil {
		t.Fatal(err)
	}
}

// GetWAV reads a WAV file.
func GetWAV(t *testing.T, path string) ([][]float64, codec.Info) {
	t.Helper()
	r, err := sounds.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	x, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return x, r.Info()
}
