package meter

import (
	"fmt"
	"math"
	"testing"
)

const srcP56 = "ITU-T P.56 method B (transcription); activity of the gating and decay of the envelope in closed form"

// gatedNoise switches white noise of a given rms on and off.
func gatedNoise(rms, on, off float64, periods, rate int) []float64 {
	x := noise(42, rms, int((on+off)*float64(rate))*periods)
	n := int((on + off) * float64(rate))
	for i := range x {
		if i%n >= int(on*float64(rate)) {
			x[i] = 0
		}
	}
	return x
}

func TestActiveLevel(t *testing.T) {
	// Steady: active all the time, level = rms. The onset takes 25 ms.
	for _, rms := range []float64{1e-5, 0.01, 0.3} {
		a := NewActiveLevel(rate48)
		x := noise(7, rms, 20*rate48)
		a.Write(x)
		check(t, "speech level", fmt.Sprintf("steady noise of %.1f dB, active level", DB(rms)), srcP56, DB(rms), a.Level(), 0.05, "dB")
		check(t, "speech level", fmt.Sprintf("steady noise of %.1f dB, activity", DB(rms)), srcP56, 1, a.Activity(), 0.005, "")
	}
	// Gated: the threshold lies 15.9 dB under the level, that is at 0.201 of the
	// steady envelope √(2/π)·σ. Two 30 ms stages take 25 ms to rise to it and
	// 90 ms to fall to it, and the hangover adds 200 ms.
	const extra = 0.200 + 0.0898 - 0.0247
	for _, c := range []struct{ on, off float64 }{{20, 20}, {10, 30}, {2, 2}, {1, 3}, {5, 1}} {
		a := NewActiveLevel(rate48)
		a.Write(gatedNoise(0.05, c.on, c.off, int(max(3, 80/(c.on+c.off))), rate48))
		active := (c.on + extra) / (c.on + c.off)
		check(t, "speech level", fmt.Sprintf("noise %g s on, %g s off, activity", c.on, c.off), srcP56, active, a.Activity(), 0.01, "")
		check(t, "speech level", fmt.Sprintf("noise %g s on, %g s off, active level", c.on, c.off), srcP56, DB(0.05)+PowerDB(c.on/(c.on+extra)), a.Level(), 0.1, "dB")
	}
	// Short gaps are bridged by the hangover.
	a := NewActiveLevel(rate48)
	a.Write(gatedNoise(0.05, 0.3, 0.15, 60, rate48))
	check(t, "speech level", "gaps of 150 ms are bridged, activity", srcP56, 1, a.Activity(), 0.01, "")
	// Other rates read the same.
	for _, rate := range []int{8000, 11025, 44100, 96000} {
		a := NewActiveLevel(rate)
		a.Write(gatedNoise(0.05, 2, 2, 20, rate))
		near(t, fmt.Sprintf("activity at %d Hz", rate), a.Activity(), (2+extra)/4, 0.01)
	}
	a = NewActiveLevel(rate48)
	a.Write(make([]float64, rate48))
	if !math.IsInf(a.Level(), -1) || a.Activity() != 0 {
		t.Errorf("silence: level %v, activity %v", a.Level(), a.Activity())
	}
}

// Long-term level under active level against activity, from the definition.
func TestPauseTable(t *testing.T) {
	for activity, db := range map[float64]float64{0.4: -3.98, 0.5: -3.01, 0.6: -2.22, 0.7: -1.55, 0.8: -0.97} {
		on := 40*activity - 0.265 // the meter adds its hangover
		s := NewStats(rate48)
		x := gatedNoise(0.05, on, 40-on, 2, rate48)
		s.Write(x)
		check(t, "speech level", fmt.Sprintf("long-term under active level at %g %% activity", 100*activity), "computed, 10·log10 of the activity", db, DB(s.RMS())-s.ActiveDB(), 0.05, "dB")
	}
}

func TestStats(t *testing.T) {
	s := NewStats(rate48)
	x := sine(rate48, 1000, 0.5, 0, 10*rate48)
	for i := range x {
		x[i] += 0.01
	}
	s.Write(x)
	check(t, "statistics", "DC under a sine", "construction", 0.01, s.DC(), 1e-6, "FS")
	check(t, "statistics", "rms of a half-scale sine with DC", "construction", math.Sqrt(0.125+1e-4), s.RMS(), 1e-6, "FS")
	near(t, "peak", s.Peak(), 0.51, 1e-9)
	s.Reset()
	s.Write(sine(rate48, 1000, 0.25, 0, rate48))
	check(t, "statistics", "crest factor of a sine", "closed form, √2", 3.0103, s.CrestDB(), 0.001, "dB")

	// Speech with pauses over a known noise floor.
	for _, floor := range []float64{-90, -70, -50} {
		s := NewStats(rate48)
		x := gatedNoise(0.1, 3, 1.5, 12, rate48)
		for i, v := range noise(5, FromDB(floor), len(x)) {
			x[i] += v
		}
		s.Write(x)
		check(t, "noise floor", fmt.Sprintf("white noise of %g dB in the pauses of louder noise", floor), "construction", floor, DB(s.NoiseRMS()), 0.3, "dB")
		// 3 s of 4.5, and the hangover's 0.25 s.
		level := DB(0.1) + PowerDB(3/(3+0.27))
		check(t, "noise floor", fmt.Sprintf("signal to noise over a floor of %g dB", floor), "construction", level-floor, s.SNRDB(), 0.5, "dB")
	}
	// What the doc comment says of steady noise.
	s = NewStats(rate48)
	s.Write(noise(6, 0.01, 60*rate48))
	near(t, "decile of white noise", DB(s.NoiseRMS()), -40.1, 0.1)
	s = NewStats(rate48)
	low := noise(6, 1, 120*rate48)
	a := math.Exp(-2 * math.Pi * 64 / rate48) // equivalent bandwidth of 100 Hz
	y := 0.0
	for i, v := range low {
		y = a*y + (1-a)*v
		low[i] = y
	}
	s.Write(low)
	near(t, "decile of a rumble 100 Hz wide", DB(s.NoiseRMS())-DB(s.RMS()), -2, 0.7)
	// Digital silence is no noise floor.
	s = NewStats(rate48)
	s.Write(noise(6, 0.01, 10*rate48))
	s.Write(make([]float64, 30*rate48))
	near(t, "noise floor beside digital silence", DB(s.NoiseRMS()), -40.1, 0.15)
	near(t, "share of digital silence", s.Silent(), 0.75, 0.01)
	s = NewStats(rate48)
	if s.NoiseRMS() != 0 || s.CrestDB() != 0 || !math.IsInf(s.SNRDB(), -1) || s.RMS() != 0 || s.DC() != 0 || s.Silent() != 0 {
		t.Error("an empty meter reads something")
	}
}

func TestBinomial(t *testing.T) {
	const src = "binomial distribution, table computed independently"
	for _, c := range []struct {
		k, n int
		p    float64
	}{
		{7, 8, .0352}, {9, 10, .0107}, {10, 12, .0193}, {11, 14, .0287}, {12, 16, .0384}, {15, 20, .0207}, {17, 24, .0320}, {18, 25, .0216}, {20, 30, .0494}, {26, 40, .0403}, {32, 50, .0325}, {59, 100, .0443},
	} {
		check(t, "blind listening", fmt.Sprintf("p for %d or more right of %d", c.k, c.n), src, c.p, BinomialP(c.k, c.n), 0.00006, "")
		if c.n != 24 && BinomialP(c.k-1, c.n) <= 0.05 {
			t.Errorf("%d of %d already had p %v", c.k-1, c.n, BinomialP(c.k-1, c.n))
		}
	}
	for i, p := range []float64{.59819, .40181, .22725, .10506, .03841, .01064, .00209, .00026, .00002} {
		check(t, "blind listening", fmt.Sprintf("p for %d or more right of 16", 8+i), src, p, BinomialP(8+i, 16), 0.000006, "")
	}
	for i, p := range []float64{.05469, .01074, .00098} {
		check(t, "blind listening", fmt.Sprintf("p for %d or more right of 10", 8+i), src, p, BinomialP(8+i, 10), 0.000006, "")
	}
	for i, k := range []int{8, 10, 11, 12, 14, 16, 19, 19, 22, 28, 34, 63} {
		n := []int{8, 10, 12, 14, 16, 20, 24, 25, 30, 40, 50, 100}[i]
		if BinomialP(k, n) > 0.01 || BinomialP(k-1, n) <= 0.01 {
			t.Errorf("1 %% for %d trials: %d right has p %v, one fewer %v", n, k, BinomialP(k, n), BinomialP(k-1, n))
		}
	}
	for n := range 200 {
		for k := -1; k <= n+2; k++ {
			p := BinomialP(k, n)
			near(t, "the two tails", p+BinomialP(n-k+1, n), 1, 1e-12)
			if p < 0 || p > 1 || p > BinomialP(k-1, n) {
				t.Fatalf("p(%d of %d) = %v", k, n, p)
			}
		}
	}
	near(t, "all of 1000", BinomialP(1000, 1000), math.Ldexp(1, -1000), math.Ldexp(1, -1030))
}
