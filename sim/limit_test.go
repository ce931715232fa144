package sim

import (
	"fmt"
	"math"
	"testing"

	"gainwright/tests/trust"
)

const gmr = "Giannoulis, Massberg, Reiss, JAES 60(6), 2012: static curve and detectors"

func TestStaticCurve(t *testing.T) {
	inf := Ratio(math.Inf(1))
	in := []float64{-30, -25, -24, -20, -18, -15, -12, -10, -6, 0, 6}
	for _, g := range []struct {
		t, w float64
		r    Ratio
		out  []float64
	}{
		{-20, 0, 4, []float64{-30, -25, -24, -20, -19.5, -18.75, -18, -17.5, -16.5, -15, -13.5}},
		{-20, 10, 4, []float64{-30, -25, -24.0375, -20.9375, -19.8375, -18.75, -18, -17.5, -16.5, -15, -13.5}},
		{-18, 6, 2, []float64{-30, -25, -24, -20.0417, -18.375, -16.5, -15, -14, -12, -9, -6}},
		{-24, 12, 3, []float64{-30, -25.6944, -25, -22.7778, -22, -21, -20, -19.3333, -18, -16, -14}},
		{-6, 0, inf, []float64{-30, -25, -24, -20, -18, -15, -12, -10, -6, -6, -6}},
		{-6, 6, inf, []float64{-30, -25, -24, -20, -18, -15, -12, -10, -6.75, -6, -6}},
	} {
		for i, x := range in {
			trust.Record(t, trust.Check{Area: "limiter after the converter", What: fmt.Sprintf("static curve T %g, R %g, W %g at %g dB", g.t, float64(g.r), g.w, x),
				Source: gmr, Expected: g.out[i], Got: StaticGain(x, g.t, g.w, g.r), Tolerance: 5e-5, Unit: "dB"})
		}
	}
}

func TestDetectors(t *testing.T) {
	x := []float64{6, 6, 6, 0, 0, 0}
	br := []float64{3, 4.5, 5.25, 4.725, 4.2525, 3.82725}
	de := []float64{3, 4.5, 5.25, 5.325, 5.0925, 4.73325}
	var b smoothBranching
	var d smoothDecoupled
	for i, v := range x {
		trust.Record(t, trust.Check{Area: "limiter after the converter", What: fmt.Sprintf("smooth branching detector, sample %d", i+1),
			Source: gmr, Expected: br[i], Got: b.next(v, 0.5, 0.9), Tolerance: 1e-9, Unit: "dB"})
		trust.Record(t, trust.Check{Area: "limiter after the converter", What: fmt.Sprintf("smooth decoupled detector, sample %d", i+1),
			Source: gmr, Expected: de[i], Got: d.next(v, 0.5, 0.9), Tolerance: 1e-9, Unit: "dB"})
	}
	// 10 ms and 100 ms at 48 kHz, 12 dB wanted for half a second, then none.
	a, r := onePole(10, 48000), onePole(100, 48000)
	b, d = smoothBranching{}, smoothDecoupled{}
	want := map[int][2]float64{
		480: {7.58545, 7.58545}, 960: {10.37598, 10.37598}, 2400: {11.91914, 11.91914},
		24480: {10.85805, 11.57325}, 26400: {7.27837, 8.07726}, 28800: {4.41455, 4.90449}, 33600: {1.62402, 1.80428},
	}
	for n := 1; n <= 33600; n++ {
		v := 0.0
		if n <= 24000 {
			v = 12
		}
		gb, gd := b.next(v, a, r), d.next(v, a, r)
		if w, ok := want[n]; ok {
			for i, got := range []float64{gb, gd} {
				trust.Record(t, trust.Check{Area: "limiter after the converter",
					What:   fmt.Sprintf("%s detector, 10 ms / 100 ms, sample %d", []string{"branching", "decoupled"}[i], n),
					Source: gmr, Expected: w[i], Got: got, Tolerance: 5e-6, Unit: "dB"})
			}
		}
	}
}

// TestLookAhead: the worked example: ceiling 0.8, window of four samples.
func TestLookAhead(t *testing.T) {
	x := []float64{.5, .5, .5, .5, 1, -2, .5, .5, .5, .5, .5, .5}
	want := []float64{.5, .475, .4, .325, .5, -.8, .275, .35, .425, .5, .5, .5}
	l := newLookAhead(240)
	l.setLength(4)
	for n := 0; n < len(x)+3; n++ {
		g := 1.0
		if n < len(x) {
			g = min(1, 0.8/math.Abs(x[n]))
		}
		s := l.next(g, 0)
		if i := n - 3; i >= 0 {
			trust.Record(t, trust.Check{Area: "limiter after the converter", What: fmt.Sprintf("look-ahead of 4 samples, ceiling 0.8, sample %d", i),
				Source: "worked by hand: minimum ahead, then mean, over the same window", Expected: want[i], Got: x[i] * s, Tolerance: 1e-12, Unit: "FS"})
		}
	}
	// A loud first sample is held down too.
	l.setLength(4)
	first := 0.0
	for n := range 4 {
		g := 1.0
		if n == 0 {
			g = 0.1
		}
		first = l.next(g, 0)
	}
	if first > 0.1+1e-15 {
		t.Errorf("the first sample gets %g, wanted 0.1", first)
	}
}

func TestTimeConstants(t *testing.T) {
	for tau, want := range map[float64]float64{1: .9793821813, 5: .9958420018, 10: .9979188353, 50: .9995834201, 100: .9997916884, 250: .9999166701} {
		trust.Record(t, trust.Check{Area: "limiter after the converter", What: fmt.Sprintf("smoothing factor of τ = %g ms at 48 kHz", tau),
			Source: "exp(−1/(τ·fs))", Expected: want, Got: onePole(tau, 48000), Tolerance: 5e-11, Unit: "1"})
	}
}

func TestHalfBand(t *testing.T) {
	for _, f := range []struct {
		name string
		c    []float64
		pass float64 // as a fraction of the higher rate
	}{{"steep", steepTaps, 0.22}, {"gentle", gentleTaps, 0.11}} {
		resp := func(x float64) float64 {
			a := 0.5
			for k, c := range f.c {
				a += 2 * c * math.Cos(2*math.Pi*x*float64(2*k+1))
			}
			return a
		}
		ripple, stop := 0.0, 0.0
		for i := 0; i <= 2000; i++ {
			x := f.pass * float64(i) / 2000
			ripple = max(ripple, math.Abs(resp(x)-1))
			stop = max(stop, math.Abs(resp(0.5-x)))
		}
		trust.Record(t, trust.Check{Area: "oversampling", What: f.name + " half-band filter, largest ripple", Source: "own bound", Op: "<=", Expected: -90, Got: 20 * math.Log10(ripple), Unit: "dB"})
		trust.Record(t, trust.Check{Area: "oversampling", What: f.name + " half-band filter, stop band", Source: "own bound", Op: "<=", Expected: -90, Got: 20 * math.Log10(stop), Unit: "dB"})
	}
}

// TestRoomSpectrum compares the room's noise with Hoth's, in densities re 1 kHz.
func TestRoomSpectrum(t *testing.T) {
	n := newRoomNoise(48000, 1)
	at := func(f float64) float64 { return 10 * math.Log10(n.power(2*math.Pi*f/48000)) }
	for f, want := range map[float64]float64{
		100: 16.2, 200: 11.4, 400: 6.5, 800: 1.6, 1600: -3.3, 3150: -8.4, 5000: -13.6, 8000: -22.8,
	} {
		trust.Record(t, trust.Check{Area: "noise", What: fmt.Sprintf("room noise at %g Hz re 1 kHz", f),
			Source: "from memory: Hoth, JASA 12, 1941", Expected: want, Got: at(f) - at(1000), Tolerance: 3, Unit: "dB/Hz"})
	}
}

// TestBetween: the true-peak limiter reads sines of up to 0.4 of the rate between
// the samples to within what J. F. Kaiser's formula ("Nonrecursive digital filter
// design using the I0-sinh window function", 1974) gives for a window of β = 5 over
// 24 samples: β = 0.1102·(A − 8.7) makes A = 54 dB, an error of 0.2 %, and at
// the ends of the band as much again.
func TestBetween(t *testing.T) {
	const tol = 0.004
	worst := 0.0
	for f := 0.005; f <= 0.4; f += 0.005 {
		for phase := 0.0; phase < 2*math.Pi; phase += 0.1 {
			wave := func(at float64) float64 { return math.Sin(2*math.Pi*f*at + phase) }
			var w [2 * betweenHalf]float64
			for k := range w {
				w[k] = wave(float64(k - betweenHalf + 1))
			}
			want := 0.0
			for p := 1; p < 8; p++ {
				at := float64(p) / 8
				got := 0.0
				for k, v := range w {
					got += betweenTaps[p-1][k] * v
				}
				worst = max(worst, math.Abs(got-wave(at)))
				want = max(want, math.Abs(wave(at)))
			}
			if got := between(&w, 0); math.Abs(got-want) > tol {
				t.Fatalf("%.3f of the rate, phase %.1f: %v, not %v", f, phase, got, want)
			}
			if between(&w, want*0.99) == 0 {
				t.Fatalf("%.3f of the rate, phase %.1f: skipped what reaches %v", f, phase, want)
			}
		}
	}
	if worst > tol {
		t.Errorf("%.4f off between the samples", worst)
	}
	t.Logf("at most %.5f off", worst)
}
