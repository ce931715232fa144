package meter

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

const src468 = "ITU-R BS.468-4 Table 1 (transcription)"

// The response of the weighting network of BS.468, dB.
var table468 = []struct{ f, db float64 }{
	{31.5, -29.9}, {63, -23.9}, {100, -19.8}, {200, -13.8}, {400, -7.8}, {800, -1.9}, {1000, 0}, {2000, 5.6}, {3150, 9.0},
	{4000, 10.5}, {5000, 11.7}, {6300, 12.2}, {7100, 12.0}, {8000, 11.4}, {9000, 10.1}, {10000, 8.1}, {12500, 0},
	{14000, -5.3}, {16000, -11.7}, {20000, -22.2}, {31500, -42.7},
}

func TestWeightingCurves(t *testing.T) {
	for _, c := range table468 {
		check(t, "noise weighting", fmt.Sprintf("BS.468 at %g Hz", c.f), src468, c.db, NoiseWeightDB(c.f), 0.15, "dB")
	}
	check(t, "noise weighting", "CCIR-RMS at 1 kHz", "ITU-R BS.468-4 moved to 0 dB at 2 kHz", -5.6, CCIRRMSWeightDB(1000), 0.05, "dB")
	for _, c := range []struct{ f, db float64 }{
		{10, -70.4}, {20, -50.5}, {31.5, -39.4}, {63, -26.2}, {100, -19.1}, {125, -16.1}, {200, -10.9}, {250, -8.6}, {500, -3.2}, {800, -0.8},
		{1000, 0}, {2000, 1.2}, {2500, 1.3}, {4000, 1.0}, {8000, -1.1}, {10000, -2.5}, {12500, -4.3}, {16000, -6.6}, {20000, -9.3},
	} {
		// The table rounds to 0.1 dB and names nominal frequencies.
		exact := math.Pow(10, math.Round(10*math.Log10(c.f))/10)
		check(t, "A-weighting", fmt.Sprintf("at %g Hz", c.f), "from memory: IEC 61672-1 Table 3", c.db, AWeightDB(exact), 0.07, "dB")
	}
	// White noise up to 20 kHz loses 2.05 dB.
	p := 0.0
	for f := 0.5; f < 20000; f++ {
		p += math.Pow(10, AWeightDB(f)/10)
	}
	check(t, "A-weighting", "white noise, 0 to 20 kHz", "integral computed independently", -2.05, PowerDB(p/20000), 0.01, "dB")
}

func TestWeightingFilters(t *testing.T) {
	for _, rate := range []int{8000, 16000, 44100, 48000, 96000, 192000} {
		for _, c := range []struct {
			name string
			w    *Weighting
			want func(float64) float64
		}{
			{"A-weighting", NewAWeighting(rate), AWeightDB},
			{"CCIR-RMS weighting", NewCCIRRMSWeighting(rate), CCIRRMSWeightDB},
		} {
			worst := 0.0
			for f := 20.0; f < min(0.4*float64(rate), 20000); f *= 1.02 {
				if d := c.w.GainDB(f, rate) - c.want(f); math.Abs(d) > math.Abs(worst) {
					worst = d
				}
			}
			check(t, "weighting filters", fmt.Sprintf("%s at %d Hz, worst of 20 Hz to 0.4 of the rate", c.name, rate), "the magnitude formula", 0, worst, 0.1, "dB")
		}
	}
	// The running filter has the gain it says it has.
	for _, f := range []float64{50, 997, 6300, 15000} {
		w := NewAWeighting(rate48)
		x := sine(rate48, f, 0.5, 0, 3*rate48)
		w.Process(x, x)
		near(t, fmt.Sprintf("A-weighted sine of %g Hz", f), PowerDB(8*MeanSquare(x[rate48:])), AWeightDB(f), 0.03)
		w = NewCCIRRMSWeighting(rate48)
		x = sine(rate48, f, 0.5, 0, 3*rate48)
		w.Process(x, x)
		near(t, fmt.Sprintf("CCIR-RMS-weighted sine of %g Hz", f), PowerDB(8*MeanSquare(x[rate48:])), CCIRRMSWeightDB(f), 0.05)
	}
}

func TestSpectrumScales(t *testing.T) {
	worst := 0.0
	for i := range 40 {
		f := 200 + 487.3*float64(i)
		s, err := NewSpectrum(rate48, 4096, Amplitude)
		if err != nil {
			t.Fatal(err)
		}
		s.Write(sine(rate48, f, 0.25, 0.7, 3*4096))
		top := 0.0
		at := 0
		for k, v := range s.Values(nil) {
			if v > top {
				top, at = v, k
			}
		}
		if d := DB(top / 0.25); math.Abs(d) > math.Abs(worst) {
			worst = d
		}
		if math.Abs(s.Frequency(at)-f) > rate48/4096 {
			t.Errorf("a tone of %v Hz shows at %v Hz", f, s.Frequency(at))
		}
	}
	check(t, "spectrum", "sine at any frequency, amplitude scale, worst of 40", "construction", 0, worst, 0.02, "dB")
	for _, size := range []int{256, 1024, 8192} {
		s, _ := NewSpectrum(rate48, size, Density)
		s.Write(noise(3, 0.1, 20*rate48))
		v := s.Values(nil)
		mean := sum(v[4:len(v)-4]) / float64(len(v)-8)
		check(t, "spectrum", fmt.Sprintf("white noise, density, %d samples", size), "mean square over half the rate", PowerDB(0.01/24000), PowerDB(mean), 0.05, "dB re FS²/Hz")
		// The density integrates to the mean square.
		near(t, "integral of the density", PowerDB((sum(v)-(v[0]+v[len(v)-1])/2)*rate48/float64(size)), -20, 0.05)
	}
	// Bins at the edges.
	s, _ := NewSpectrum(rate48, 256, Amplitude)
	dc := make([]float64, 1024)
	for i := range dc {
		dc[i] = 0.3
	}
	s.Write(dc)
	near(t, "DC", s.Values(nil)[0], 0.3, 1e-6)
	s.Reset()
	for i := range dc {
		dc[i] = 0.3 * float64(1-2*(i&1))
	}
	s.Write(dc)
	near(t, "half the rate", s.Values(nil)[128], 0.3, 1e-6)
	// With decay the old fades.
	s.Reset()
	s.SetDecay(0.1)
	s.Write(sine(rate48, 3000, 1, 0, rate48))
	loud := s.Values(nil)[16]
	s.Write(make([]float64, rate48/10))
	near(t, "a tenth of a second later", PowerDB(math.Pow(s.Values(nil)[16]/loud, 2)), PowerDB(math.Exp(-1)), 0.3)
	for _, n := range []int{0, 15, 17, 1<<20 + 2} {
		if _, err := NewSpectrum(rate48, n, Amplitude); err == nil {
			t.Errorf("a spectrum of %d samples was accepted", n)
		}
	}
	if _, err := NewSpectrum(rate48, 256, 7); err == nil {
		t.Error("an unknown scale was accepted")
	}
}

func TestBandPower(t *testing.T) {
	x := noise(8, 0.1, 10*rate48)
	for _, c := range [][2]float64{{0, 24000}, {100, 1000}, {1000, 8000}, {20, 20000}, {12000, 99999}} {
		want := 0.01 * (min(c[1], 24000) - c[0]) / 24000
		check(t, "spectrum", fmt.Sprintf("white noise in the band %g to %g Hz", c[0], c[1]), "share of the bandwidth", PowerDB(want), PowerDB(BandPower(x, rate48, c[0], c[1])), 0.15, "dB")
	}
	// Bands that touch add up.
	whole := BandPower(x, rate48, 0, 24000)
	near(t, "whole band", whole, MeanSquare(x), 0.01*whole)
	near(t, "two halves", BandPower(x, rate48, 0, 777.7)+BandPower(x, rate48, 777.7, 24000), whole, 1e-12)
	// A tone is in its band and nowhere else.
	s := sine(rate48, 1000, 0.5, 0, 2*rate48)
	near(t, "tone in its band", PowerDB(BandPower(s, rate48, 900, 1100)), PowerDB(0.125), 0.001)
	if p := PowerDB(BandPower(s, rate48, 1200, 24000)); p > -95 {
		t.Errorf("a tone leaks %v dB into the band above", p)
	}
	// Short and odd lengths.
	for _, n := range []int{0, 1, 2, 3, 15, 16, 17, 1001} {
		y := noise(9, 1, n)
		p := BandPower(y, rate48, 0, 24000)
		if math.IsNaN(p) || p < 0 {
			t.Errorf("band power of %d samples is %v", n, p)
		}
	}
	bands := ThirdOctaves(x, rate48)
	if len(bands) != 31 || bands[0].Nominal != 20 || bands[17].Nominal != 1000 || bands[30].Nominal != 20000 {
		t.Errorf("%d bands, first %v, last %v", len(bands), bands[0].Nominal, bands[len(bands)-1].Nominal)
	}
	for _, b := range bands {
		width := b.Mid * (math.Pow(10, 0.05) - math.Pow(10, -0.05))
		near(t, fmt.Sprintf("white noise in the third octave at %g Hz", b.Nominal), b.DB(), -20+PowerDB(width/24000), 1.2)
	}
	check(t, "spectrum", "third-octave bandwidth at 160 Hz", "ANSI S3.5-1997 (transcription)", 15.63, PowerDB(bands[9].Mid*(math.Pow(10, 0.05)-math.Pow(10, -0.05))), 0.01, "dB re 1 Hz")
}

// clippedPartials adds up the odd harmonics of a clipped sine below a limit:
// the closed form of its Fourier series.
func clippedPartials(rate int, f0, overDB, limit float64, n int) []float64 {
	a := FromDB(overDB)
	al := math.Asin(1 / a)
	x := make([]float64, n)
	for h := 1; float64(h)*f0 <= limit; h += 2 {
		m := float64(h)
		b := 2 * a / math.Pi * (al + math.Sin(al)*math.Cos(al))
		if h > 1 {
			b = 4 * a / (math.Pi * m * (m*m - 1)) * (m*math.Sin(m*al)*math.Cos(al) - math.Cos(m*al)*math.Sin(al))
		}
		for i := range x {
			x[i] += b * math.Sin(2*math.Pi*m*f0*float64(i)/float64(rate))
		}
	}
	return x
}

func TestTHD(t *testing.T) {
	const src = "Fourier series of the clipped sine in closed form, checked by a 65536-point transform"
	for over, pct := range map[float64]float64{1: 4.6275, 3: 13.3749, 6: 23.2287, 12: 35.3491} {
		x := clippedPartials(rate48, 1000, over, 20000, rate48)
		got, err := THD(x, rate48, 1000, 20000)
		if err != nil {
			t.Fatal(err)
		}
		check(t, "distortion", fmt.Sprintf("1 kHz clipped %g dB over, THD up to 20 kHz", over), src, pct, 100*got, 0.0005, "%")
	}
	for over, pct := range map[float64]float64{0.1: 0.3369, 0.5: 2.1889, 1: 4.6316, 2: 9.2499, 3: 13.3795, 6: 23.2371, 10: 32.1637, 12: 35.3690, 20: 43.0397} {
		// All harmonics: everything but the fundamental of a wave clipped
		// sample by sample; the aliases are harmonics that came back.
		x := sine(rate48, 997, FromDB(over), 0.1, 4*rate48)
		for i := range x {
			x[i] = max(-1, min(1, x[i]))
		}
		tone, rest, err := fitTone(x, rate48, 997)
		if err != nil {
			t.Fatal(err)
		}
		check(t, "distortion", fmt.Sprintf("997 Hz clipped %g dB over, all that is not the fundamental", over), src, pct, 100*math.Sqrt(MeanSquare(rest)*2)/tone.amplitude(), 0.02, "%")
	}
	// A frequency known to a tenth of a hertz is enough.
	x := clippedPartials(rate48, 1000.08, 6, 20000, rate48)
	got, err := THD(x, rate48, 1000, 20000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "THD with the frequency off by 0.08 Hz", 100*got, 23.2287, 0.01)
	// A pure tone has none.
	got, err = THD(sine(rate48, 997, 0.5, 1, rate48), rate48, 997, 20000)
	if err != nil || got > 1e-9 {
		t.Errorf("THD of a sine is %v, %v", got, err)
	}
	for _, bad := range []func() error{
		func() error { _, err := THD(x[:100], rate48, 1000, 20000); return err },
		func() error { _, err := THD(x, rate48, 30000, 20000); return err },
		func() error { _, err := THD(x, 10, 1000, 20000); return err },
		func() error { _, err := THD(make([]float64, 10000), rate48, 1000, 20000); return err },
		func() error { _, err := THDN(nil, rate48, 1000); return err },
		func() error { _, err := DynamicRangeAES17(nil, rate48); return err },
	} {
		if bad() == nil {
			t.Error("distortion of nonsense was measured")
		}
	}
}

func TestTHDN(t *testing.T) {
	// A tone with white noise: the part up to 20 kHz counts.
	x := sine(rate48, 997, 0.5, 0, 5*rate48)
	for i, v := range noise(1, 1e-3, len(x)) {
		x[i] += v
	}
	got, err := THDN(x, rate48, 997)
	if err != nil {
		t.Fatal(err)
	}
	n := 1e-6 * 20 / 24
	check(t, "distortion", "tone with white noise, THD+N", "construction", PowerDB(n/(0.125+n)), DB(got), 0.1, "dB")
	x = clippedPartials(rate48, 1000, 6, 20000, rate48)
	got, _ = THDN(x, rate48, 1000)
	check(t, "distortion", "1 kHz clipped 6 dB over, THD+N re the whole, harmonics up to 20 kHz", "Fourier series in closed form", 100*0.232287/math.Sqrt(1+0.232287*0.232287), 100*got, 0.02, "%")
}

// quantise rounds to codes of the given number of bits, with triangular dither
// of two steps peak to peak when asked.
func quantise(x []float64, bits int, dither bool, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	step := math.Ldexp(1, 1-bits)
	y := make([]float64, len(x))
	for i, v := range x {
		if dither {
			v += (r.Float64() - r.Float64()) * step
		}
		y[i] = math.RoundToEven(v/step) * step
	}
	return y
}

func TestQuantisationNoise(t *testing.T) {
	const src = "6.0206·N + 1.7609 dB; triangular dither adds 4.7712 dB"
	for _, c := range []struct {
		bits        int
		sqnr, tpdf  float64
		tolerance   float64
		ditherRange float64
	}{
		{8, 49.93, -45.15, 0.15, 0.05}, {12, 74.01, -69.24, 0.05, 0.05}, {16, 98.09, -93.32, 0.05, 0.05}, {20, 122.17, -117.40, 0.05, 0.05}, {24, 146.26, -141.48, 0.05, 0.05},
	} {
		x := sine(rate48, 997.13, 1, 0.2, 8*rate48)
		_, rest, err := fitTone(quantise(x, c.bits, false, 1), rate48, 997.13)
		if err != nil {
			t.Fatal(err)
		}
		check(t, "quantisation", fmt.Sprintf("%d bit, full-scale sine, signal to noise", c.bits), src, c.sqnr, -SineDB(math.Sqrt(MeanSquare(rest))), c.tolerance, "dB")
		_, rest, err = fitTone(quantise(x, c.bits, true, 2), rate48, 997.13)
		if err != nil {
			t.Fatal(err)
		}
		check(t, "quantisation", fmt.Sprintf("%d bit, triangular dither, noise", c.bits), src, c.tpdf, SineDB(math.Sqrt(MeanSquare(rest))), c.ditherRange, "dBFS")
	}
}

func TestDynamicRangeAES17(t *testing.T) {
	// White noise of the TPDF quantiser, weighted by the table of BS.468 (not by
	// the formula the meter uses), straight lines between its points.
	weight := func(f float64) float64 {
		for i := 1; i < len(table468); i++ {
			a, b := table468[i-1], table468[i]
			if f <= b.f || i == len(table468)-1 {
				u := math.Log(f/a.f) / math.Log(b.f/a.f)
				return a.db + u*(b.db-a.db) - 5.6
			}
		}
		return 0
	}
	p := 0.0
	for f := 5.0; f < 20000; f += 10 {
		p += math.Pow(10, weight(f)/10) * 10 / 24000
	}
	for _, c := range []struct {
		bits int
		tpdf float64
	}{{16, -93.32}, {20, -117.40}, {24, -141.48}} {
		got, err := DynamicRangeAES17(quantise(sine(rate48, 997, 1e-3, 0, 10*rate48), c.bits, true, 7), rate48)
		if err != nil {
			t.Fatal(err)
		}
		check(t, "dynamic range", fmt.Sprintf("%d bit with triangular dither, 997 Hz at −60 dBFS", c.bits),
			"quantisation noise weighted by ITU-R BS.468-4 Table 1; method from memory: AES17", -c.tpdf-PowerDB(p), got, 0.15, "dB")
	}
	// The weighting filter and the weighted spectrum agree.
	x := noise(5, 0.01, 10*rate48)
	a := WeightedPower(x, rate48, 20000, CCIRRMSWeightDB)
	w := NewCCIRRMSWeighting(rate48)
	w.Process(x, x)
	near(t, "weighted in time and in frequency", PowerDB(MeanSquare(x)), PowerDB(a), 0.06)
}
