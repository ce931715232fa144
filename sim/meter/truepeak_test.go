package meter

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"gainwright/tests/trust"
)

// faded applies linear fades of 10 ms to both ends.
func faded(x []float64, rate int) []float64 {
	n := rate / 100
	for i := range n {
		x[i] *= float64(i) / float64(n)
		x[len(x)-1-i] *= float64(i) / float64(n)
	}
	return x
}

func truePeakDB(x []float64, rate int) float64 {
	p := NewTruePeak(rate)
	p.Write(x)
	p.Flush()
	return p.DB()
}

// spliced builds Tech 3341 signals 20 to 23: at four times the rate, a sine of
// fs/6 at half scale in which one period is replaced by one of fs/4 at full
// scale, then band-limited and decimated from the given offset. How to splice
// and to filter is our reading of the text.
func spliced(offset int) []float64 {
	const half = 24 * 500 // whole periods of fs/6 at 4 fs
	var x []float64
	wave := func(n int, period, a float64) {
		for i := range n {
			x = append(x, a*math.Sin(2*math.Pi*float64(i)/period))
		}
	}
	wave(half, 24, 0.5)
	wave(16, 16, 1)
	wave(half, 24, 0.5)
	x = faded(x, 4*rate48)
	// Kaiser window, β = 8, cutting at 0.5 fs.
	const taps = 1023
	h := make([]float64, 2*taps+1)
	for i := range h {
		t := float64(i-taps) / 4
		s := 1.0
		if t != 0 {
			s = math.Sin(math.Pi*t) / (math.Pi * t)
		}
		u := float64(i-taps) / (taps + 1)
		h[i] = s / 4 * besselI0(8*math.Sqrt(1-u*u)) / besselI0(8)
	}
	var y []float64
	for at := offset; at < len(x); at += 4 {
		v := 0.0
		for i, c := range h {
			if j := at + i - taps; j >= 0 && j < len(x) {
				v += c * x[j]
			}
		}
		y = append(y, v)
	}
	return y
}

func TestTech3341TruePeak(t *testing.T) {
	fs := float64(rate48)
	for _, c := range []struct {
		n               int
		hz, a, deg, exp float64
	}{
		{15, fs / 4, 0.5, 0, -6}, {16, fs / 4, 0.5, 45, -6}, {17, fs / 6, 0.5, 60, -6}, {18, fs / 8, 0.5, 67.5, -6}, {19, fs / 4, 1.41, 45, 3},
	} {
		got := truePeakDB(faded(sine(rate48, c.hz, c.a, c.deg*math.Pi/180, rate48/2), rate48), rate48)
		trust.Record(t, trust.Check{Area: "true peak", What: fmt.Sprintf("Tech 3341 signal %d", c.n), Source: src3341,
			Expected: c.exp, Got: got, Tolerance: 0.2, Below: 0.4, Unit: "dBTP"})
		// Our own aim is tighter.
		trust.Record(t, trust.Check{Area: "true peak", What: fmt.Sprintf("Tech 3341 signal %d, against its exact peak", c.n), Source: "amplitude of the sine",
			Expected: DB(c.a), Got: got, Tolerance: 0.1, Below: 0.2, Unit: "dBTP"})
	}
	for i := range 4 {
		trust.Record(t, trust.Check{Area: "true peak", What: fmt.Sprintf("Tech 3341 signal %d", 20+i), Source: src3341 + ", splice and filter are our reading",
			Expected: 0, Got: truePeakDB(spliced(i), rate48), Tolerance: 0.2, Below: 0.4, Unit: "dBTP"})
	}
}

func TestTruePeakOfSines(t *testing.T) {
	lo, hi := 0.0, 0.0
	for _, f := range []float64{0.0007, 0.02, 0.0833, 0.1, 0.125, 1. / 6, 0.2, 0.25, 0.3, 1. / 3, 0.375, 0.4, 0.43, 0.45} {
		for deg := 0.0; deg < 180; deg += 7.5 {
			x := faded(sine(rate48, f*rate48, 1, deg*math.Pi/180, 12000), rate48)
			got := truePeakDB(x, rate48)
			lo, hi = min(lo, got), max(hi, got)
		}
	}
	trust.Record(t, trust.Check{Area: "true peak", What: "sines up to 0.45 of the rate, all phases: lowest reading", Source: "amplitude of the sine", Expected: 0, Got: lo, Tolerance: 0.1, Below: 0.2, Unit: "dBTP"})
	trust.Record(t, trust.Check{Area: "true peak", What: "sines up to 0.45 of the rate, all phases: highest reading", Source: "amplitude of the sine", Expected: 0, Got: hi, Tolerance: 0.1, Below: 0.2, Unit: "dBTP"})
}

// Random periodic signals whose waveform between the samples is known exactly:
// their spectrum, evaluated on a grid 32 times finer.
func TestTruePeakOfNoise(t *testing.T) {
	const n, up = 1024, 32
	r := rand.New(rand.NewPCG(20, 26))
	lo, hi := math.Inf(1), math.Inf(-1)
	fft := fourier.NewFFT(n * up)
	for trial := range 60 {
		top := []float64{0.1, 0.25, 0.4, 0.45}[trial%4]
		c := make([]complex128, n*up/2+1)
		for k := 1; k < int(top*n); k++ {
			c[k] = complex(r.NormFloat64(), r.NormFloat64())
		}
		fine := fft.Sequence(nil, c)
		truth := 0.0
		for _, v := range fine {
			truth = max(truth, math.Abs(v))
		}
		p := NewTruePeak(rate48)
		var period []float64
		for i := range n {
			period = append(period, fine[i*up]/truth)
		}
		// Fade in over a period, so that the start is no step.
		x := append([]float64(nil), period...)
		for i := range x {
			x[i] *= float64(i) / n
		}
		for range 3 {
			x = append(x, period...)
		}
		p.Write(x)
		lo, hi = min(lo, p.DB()), max(hi, p.DB())
	}
	trust.Record(t, trust.Check{Area: "true peak", What: "60 random signals up to 0.45 of the rate: lowest reading", Source: "the same signals sampled 32 times as finely", Expected: 0, Got: lo, Tolerance: 0.1, Below: 0.2, Unit: "dB"})
	trust.Record(t, trust.Check{Area: "true peak", What: "60 random signals up to 0.45 of the rate: highest reading", Source: "the same signals sampled 32 times as finely", Expected: 0, Got: hi, Tolerance: 0.1, Below: 0.2, Unit: "dB"})
}

// plainTruePeak does without any skipping.
func plainTruePeak(x []float64) float64 {
	padded := append(make([]float64, 2*tpHalf), x...)
	padded = append(padded, make([]float64, 4*tpHalf)...)
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	for i := tpHalf; i+tpHalf < len(padded); i++ {
		w := (*tpWindow)(padded[i-tpHalf:])
		mid, even, odd := w.nearest()
		e, o := w.quarters()
		even, odd = even+e, odd+o
		peak = max(peak, w.peak(even+odd, mid+w.middle(), even-odd))
	}
	return peak
}

func TestSkippingIsExact(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for trial := range 40 {
		n := 200 + r.IntN(6000)
		var x []float64
		switch trial % 5 {
		case 0:
			x = noise(uint64(trial), 0.2, n)
		case 1:
			x = babble(uint64(trial), rate48, n)
		case 2:
			x = sine(rate48, 20000*r.Float64(), 0.7, r.Float64(), n)
		case 3:
			x = sine(rate48, 100+3000*r.Float64(), 3, r.Float64(), n)
			for i := range x {
				x[i] = max(-1, min(1, x[i]))
			}
		case 4: // growing, so that the maximum changes all the time
			x = noise(uint64(trial), 0.2, n)
			for i := range x {
				x[i] *= float64(i) / float64(n)
			}
		}
		p := NewTruePeak(rate48)
		p.Write(x)
		p.Flush()
		if got, want := p.Peak(), plainTruePeak(x); got != want {
			t.Errorf("trial %d: %v, without skipping %v", trial, got, want)
		}
	}
}

// 2M samples at full scale whose signs suit the interpolation at their middle:
// the sinc series has a closed form for them.
func TestTruePeakWorstCase(t *testing.T) {
	for _, c := range []struct {
		m  int
		db float64
	}{{1, 2.098}, {2, 4.597}, {4, 6.585}} {
		x := make([]float64, 400)
		for j := range c.m {
			s := float64(1 - 2*(j&1))
			x[199-j], x[200+j] = s, s
		}
		// The windowed sinc gives the far samples less than the ideal one, and
		// the pulse has energy up to half the rate.
		trust.Record(t, trust.Check{Area: "true peak", What: fmt.Sprintf("%d adverse full-scale samples", 2*c.m), Source: "closed form of the sinc series, (4/π)·Σ 1/(2j+1)",
			Expected: c.db, Got: truePeakDB(x, rate48), Tolerance: 0.1, Below: 0.5, Unit: "dBTP"})
	}
}

func TestTruePeakBounds(t *testing.T) {
	// Never under the samples, at once.
	p := NewTruePeak(rate48)
	p.Write([]float64{0.1, -0.7, 0.2})
	if p.Peak() < 0.7 {
		t.Errorf("true peak %v under the largest sample 0.7", p.Peak())
	}
	if p.Reset(); p.Peak() != 0 || !math.IsInf(p.DB(), -1) {
		t.Errorf("silence reads %v", p.DB())
	}
	// The interpolator keeps constants and ramps.
	for _, d := range []float64{0.25, 0.5} {
		var s, m float64
		for i, v := range tpPhase(d) {
			s += v
			m += v * float64(i-tpHalf+1)
		}
		near(t, "sum of taps", s, 1, 1e-14)
		near(t, "first moment of taps", m, d, 1e-13)
	}
	// fs/4 at 45°, the textbook case of a peak between samples.
	x := sine(rate48, rate48/4, 1, math.Pi/4, 48000)
	got := truePeakDB(faded(x, rate48), rate48)
	check(t, "true peak", "fs/4 sine sampled at 45°, over its sample peak", "20·log10 √2", 3.0103, got-DB(math.Sqrt2/2), 0.1, "dB")
}

// The example filter of BS.1770 Annex 2, as an independent reader of the same
// signals: integers over 8192, phases 2 and 3 mirrored.
var annex2 = [2][12]float64{
	{14, 90, -161, 272, -487, 1125, 7964, -838, 390, -218, 122, -68},
	{-239, 240, -424, 730, -1364, 3810, 6388, -1641, 832, -477, 271, -155},
}

func TestAgainstAnnex2Filter(t *testing.T) {
	const src = "readings of the example filter of ITU-R BS.1770-4 Annex 2 (transcribed taps), computed independently"
	fs := float64(rate48)
	for _, c := range []struct {
		what    string
		hz, deg float64
		db      float64
	}{
		{"fs/4, 0°", fs / 4, 0, -6.218}, {"fs/4, 45°", fs / 4, 45, -5.976}, {"fs/6, 60°", fs / 6, 60, -6.316},
		{"fs/8, 67.5°", fs / 8, 67.5, -6.028}, {"997 Hz", 997, 0, -6.012}, {"0.1 fs", fs / 10, 0, -5.854},
	} {
		x := sine(rate48, c.hz, 0.5, c.deg*math.Pi/180, rate48/2)
		// Skip the onset, which rings.
		at := x[100:]
		want := 0.0
		for i := 100; i < len(x)-12; i++ {
			want = max(want, annex2Peak12(at[i-100:i-100+12]))
		}
		check(t, "true peak", "example filter itself, half-scale sine, "+c.what, src, c.db, DB(want), 0.002, "dBTP")
		// Ours is nearer to the truth.
		ours := truePeakDB(faded(x, rate48), rate48)
		if math.Abs(ours-DB(0.5)) > math.Abs(c.db-DB(0.5))+0.02 {
			t.Errorf("%s: %v is further from %v than the example filter's %v", c.what, ours, DB(0.5), c.db)
		}
	}
}

func annex2Peak12(w []float64) float64 {
	var y [4]float64
	for k := range 12 {
		v := w[11-k] / 8192
		y[0] += annex2[0][k] * v
		y[1] += annex2[1][k] * v
		y[2] += annex2[1][11-k] * v
		y[3] += annex2[0][11-k] * v
	}
	return max(math.Abs(y[0]), math.Abs(y[1]), math.Abs(y[2]), math.Abs(y[3]))
}
