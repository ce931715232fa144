package sim_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/tests/trust"
)

// TestUnits: identities that follow from the definitions of the units.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		what           string
		want, got, tol float64
		unit           string
	}{
		{"1 Pa", 93.9794, float64(sim.Pascal(1).SPL()), 5e-5, "dB SPL"},
		{"0.1 Pa", 73.9794, float64(sim.Pascal(0.1).SPL()), 5e-5, "dB SPL"},
		{"0 dBu", 0.7745967, float64(sim.DBu(0).Volt()), 5e-8, "V"},
		{"0 dBV", 2.2185, float64(sim.DBV(0).DBu()), 5e-5, "dBu"},
		{"+4 dBu", 1.22765, float64(sim.DBu(4).Volt()), 5e-6, "V"},
		{"−10 dBV", -7.7815, float64(sim.DBV(-10).DBu()), 5e-5, "dBu"},
		{"−10 dBV", 0.31623, float64(sim.DBV(-10).Volt()), 5e-6, "V"},
		{"+18 dBu", 6.1528, float64(sim.DBu(18).Volt()), 5e-5, "V"},
		{"+24 dBu", 12.2765, float64(sim.DBu(24).Volt()), 5e-5, "V"},
		{"2 mV/Pa at 1 Pa", -51.76, float64(sim.Volt(0.002).DBu()), 0.005, "dBu"},
		{"25 mV/Pa at 1 Pa", -29.82, float64(sim.Volt(0.025).DBu()), 0.005, "dBu"},
		{"0 dBu in dBV", -2.2185, float64(sim.DBu(0).DBV()), 5e-5, "dBV"},
		{"full-scale sine, rms 1/√2", 0, float64(sim.RMSToDBFS(math.Sqrt(0.5))), 1e-9, "dBFS"},
		{"full-scale square wave, rms 1", 3.0103, float64(sim.RMSToDBFS(1)), 5e-5, "dBFS"},
	} {
		trust.Record(t, trust.Check{Area: "units", What: c.what, Source: "definitions: 20 µPa, √0.6 V, AES17 full scale",
			Expected: c.want, Got: c.got, Tolerance: c.tol, Unit: c.unit})
	}
}

// TestDistance: spherical spreading, measured between two taps of the engine.
func TestDistance(t *testing.T) {
	for _, g := range []struct{ d, db float64 }{
		{0.025, 32.04}, {0.05, 26.02}, {0.10, 20.00}, {0.15, 16.48}, {0.20, 13.98}, {0.30, 10.46}, {0.60, 4.44}, {1, 0}, {1.5, -3.52}, {2, -6.02},
	} {
		c := quiet()
		c.DistanceM = g.d
		taps, _ := collect(t, rate, c, 1, sine(500, 0.01, 0.5, rate))
		got := 20 * math.Log10(rms(taps.Wave[sim.AtMicrophone])/rms(taps.Wave[sim.AtTalker]))
		trust.Record(t, trust.Check{Area: "distance and near field", What: fmt.Sprintf("level at %g m re 1 m", g.d),
			Source: "inverse distance law", Expected: g.db, Got: got, Tolerance: 0.01, Unit: "dB"})
	}
}

// TestProximity: a cardioid on axis in a spherical wave,
// 10·log10(1 + ((1−B)/(k·r))²) with B = ½ and c = 343 m/s.
func TestProximity(t *testing.T) {
	freqs := []float64{50, 100, 200, 400, 1000}
	for r, want := range map[float64][]float64{
		0.03: {25.21, 19.23, 13.36, 7.91, 2.62},
		0.05: {20.80, 14.89, 9.27, 4.57, 1.13},
		0.10: {14.89, 9.27, 4.57, 1.66, 0.31},
		0.30: {6.35, 2.62, 0.82, 0.22, 0.04},
		0.60: {2.62, 0.82, 0.22, 0.06, 0.01},
	} {
		for i, f := range freqs {
			c := quiet()
			c.DistanceM = r
			c.Microphone.Proximity = true
			taps, _ := collect(t, rate, c, 1, sine(f, 1e-4, 1.5, rate))
			a := rms(taps.Wave[sim.AtMicOut][rate/2:]) / (c.Microphone.SensitivityMVPerPa / 1000)
			got := 20 * math.Log10(a/rms(taps.Wave[sim.AtMicrophone][rate/2:]))
			tol := 0.03
			if f < 100 {
				tol = 0.1 // the microphone's own low end begins to tell
			}
			trust.Record(t, trust.Check{Area: "distance and near field", What: fmt.Sprintf("cardioid bass rise at %g m, %g Hz", r, f),
				Source: "first-order microphone in a spherical wave, closed form", Expected: want[i], Got: got, Tolerance: tol, Unit: "dB"})
		}
	}
}

// TestThermalNoise: Johnson–Nyquist noise of the source, through the engine.
func TestThermalNoise(t *testing.T) {
	for _, g := range []struct{ ohm, dbu float64 }{
		{50, -135.69}, {150, -130.92}, {200, -129.67}, {300, -127.91}, {600, -124.90}, {1000, -122.68}, {2200, -119.25},
	} {
		c := quiet()
		c.Room.NoiseDBA = -100
		c.Microphone = sim.Microphone{SensitivityMVPerPa: 0.1, SourceOhm: g.ohm, MaxSPLDB: 180}
		taps, _ := collect(t, rate, c, 5, make([]float64, 4*rate))
		got := float64(sim.Volt(bandRMS(taps.Wave[sim.AtMicOut], rate, 20, 20000)).DBu())
		trust.Record(t, trust.Check{Area: "noise", What: fmt.Sprintf("thermal noise of %g Ω, 20 °C, 20 kHz", g.ohm),
			Source: "Johnson–Nyquist, √(4kTRB), CODATA k", Expected: g.dbu, Got: got, Tolerance: 0.2, Unit: "dBu"})
	}
}

// TestEIN: the equivalent input noise holds at high gain; the output noise rules
// at low gain.
func TestEIN(t *testing.T) {
	for _, ein := range []float64{-129, -128, -127, -125, -120} {
		c := quiet()
		c.Microphone = sim.Microphone{SensitivityMVPerPa: 0.1, SourceOhm: 150, MaxSPLDB: 180}
		c.Preamp = sim.Preamp{GainDB: 60, EINDBu: ein, OutputNoiseDBu: -100, RailDBu: 60, RailKnee: sim.HardKnee}
		taps, _ := collect(t, rate, c, 6, make([]float64, 4*rate))
		got := float64(sim.Volt(bandRMS(taps.Wave[sim.AtPreamp], rate, 20, 20000)).DBu()) - 60
		trust.Record(t, trust.Check{Area: "noise", What: fmt.Sprintf("EIN stated as %g dBu, read at 60 dB of gain", ein),
			Source: "definition of EIN with 150 Ω at the input", Expected: ein, Got: got, Tolerance: 0.2, Unit: "dBu"})
		c.Preamp.GainDB = 0
		taps, _ = collect(t, rate, c, 6, make([]float64, 4*rate))
		got = float64(sim.Volt(bandRMS(taps.Wave[sim.AtPreamp], rate, 20, 20000)).DBu())
		if math.Abs(got+100) > 0.2 {
			t.Errorf("output noise at no gain: %.2f dBu", got)
		}
	}
}

// TestSelfNoise: a stated equivalent level arrives as that A-weighted level, and
// so does the room's.
func TestSelfNoise(t *testing.T) {
	aLevel := func(x []float64) float64 {
		// A-weighted rms by transform; the analytic curve of IEC 61672-1.
		c := fourier.NewFFT(len(x)).Coefficients(nil, x)
		p := 0.0
		for k := 1; k < len(c); k++ {
			f := float64(k) * rate / float64(len(x))
			if f > 20000 {
				break
			}
			q := f * f
			a := 1.2589254 * 12194.217 * 12194.217 * q * q / ((q + 20.598997*20.598997) *
				math.Sqrt((q+107.65265*107.65265)*(q+737.86223*737.86223)) * (q + 12194.217*12194.217))
			p += 2 * (real(c[k])*real(c[k]) + imag(c[k])*imag(c[k])) * a * a
		}
		return float64(sim.Pascal(math.Sqrt(p) / float64(len(x))).SPL())
	}
	for _, l := range []float64{5, 16, 30} {
		c := quiet()
		c.Microphone = sim.Microphone{SensitivityMVPerPa: 20, SourceOhm: 150, SelfNoiseDBA: l, MaxSPLDB: 150}
		taps, _ := collect(t, rate, c, 7, make([]float64, 4*rate))
		x := append([]float64{}, taps.Wave[sim.AtMicOut]...)
		for i := range x {
			x[i] /= 0.020
		}
		trust.Record(t, trust.Check{Area: "noise", What: fmt.Sprintf("microphone self noise stated as %g dBA", l),
			Source: "IEC 61672-1 A-weighting", Expected: l, Got: aLevel(x), Tolerance: 0.2, Unit: "dBA"})
		c.Room.NoiseDBA = l
		taps, _ = collect(t, rate, c, 7, make([]float64, 8*rate))
		trust.Record(t, trust.Check{Area: "noise", What: fmt.Sprintf("room noise stated as %g dBA", l),
			Source: "IEC 61672-1 A-weighting", Expected: l, Got: aLevel(taps.Wave[sim.AtMicrophone]), Tolerance: 0.2, Unit: "dBA"})
	}
}

// TestQuantisation: the noise of words of 8 to 24 bit, with and without TPDF
// dither, from the converter's tap; a full-scale reference.
func TestQuantisation(t *testing.T) {
	for _, g := range []struct {
		bits        int
		sqnr, noise float64 // noise re an AES17 full-scale sine with TPDF
	}{{8, 49.93, -45.15}, {12, 74.01, -69.24}, {16, 98.09, -93.32}, {20, 122.17, -117.40}, {24, 146.26, -141.48}} {
		c := quiet()
		c.Converter.Bits = g.bits
		c.Converter.FullScaleDBu = 40
		c.Preamp.GainDB = 40
		c.Microphone.SourceOhm = 1
		c.Microphone.SensitivityMVPerPa = 200
		for _, d := range []sim.Dither{sim.NoDither, sim.TPDF} {
			c.Converter.Dither = d
			// A tone a hair below full scale, not a divisor of the rate; the error is
			// taken against the converter's own demand, so that only the word counts.
			x := sine(997.3, fullScalePascal(c)*sim.DB(-0.2).Lin(), 2, rate)
			taps, _ := collect(t, rate, c, 8, x)
			e := make([]float64, len(x))
			for i := range e {
				e[i] = taps.Wave[sim.AtConverter][i] - taps.Demand[i]
			}
			got := float64(sim.RMSToDBFS(rms(e)))
			want, what := -g.sqnr, fmt.Sprintf("%d bit, no dither", g.bits)
			if d == sim.TPDF {
				want, what = g.noise, fmt.Sprintf("%d bit, TPDF dither", g.bits)
			}
			trust.Record(t, trust.Check{Area: "converter: word length", What: what,
				Source: "6.0206·N + 1.7609 dB; TPDF adds 4.7712 dB (Lipshitz, Wannamaker, Vanderkooy, JAES 40(5), 1992; from memory)", Expected: want, Got: got, Tolerance: 0.2, Unit: "dBFS"})
		}
	}
}

// TestMicrophoneOverload: 1 % THD at the stated maximum SPL.
func TestMicrophoneOverload(t *testing.T) {
	for _, l := range []float64{120, 135, 150} {
		c := quiet()
		c.Microphone.MaxSPLDB = l
		c.Preamp.GainDB = 0
		c.Converter.FullScaleDBu = 40
		x := sine(997, float64(sim.DBSPL(l).Pascal()), 3, rate)
		taps, r := collect(t, rate, c, 1, x)
		y := taps.Wave[sim.AtConverter][rate : 2*rate]
		f := fourier.NewFFT(rate).Coefficients(nil, y)
		h := 0.0
		for k := 2; k*997 < 20000; k++ {
			a := f[k*997]
			h += real(a)*real(a) + imag(a)*imag(a)
		}
		a := f[997]
		trust.Record(t, trust.Check{Area: "microphone", What: fmt.Sprintf("THD at a maximum SPL of %g dB, harmonics to 20 kHz", l),
			Source: "common practice, no source: maximum SPL is stated at 1 % THD", Expected: 1,
			Got: 100 * math.Sqrt(h/(real(a)*real(a)+imag(a)*imag(a))), Tolerance: 0.02, Unit: "%"})
		if r.MicOverloadSamples == 0 {
			t.Error("no sample counts as overload at the maximum")
		}
		for i := range x {
			x[i] *= sim.DB(-0.1).Lin()
		}
		// The tone starts and stops at once, which rings in the filters.
		if _, r = collect(t, rate, c, 1, x); r.MicOverloadSamples > 4 {
			t.Errorf("%d samples count as overload 0.1 dB below the maximum", r.MicOverloadSamples)
		}
	}
}

// TestRail: the rail stops the wave at its stated level, without folding its
// harmonics back into the band.
func TestRail(t *testing.T) {
	for _, knee := range []sim.Knee{sim.HardKnee, sim.RoundKnee} {
		c := quiet()
		c.Preamp.RailDBu = 10
		c.Preamp.RailKnee = knee
		c.Converter.FullScaleDBu = 20
		// 12 dB over the rail at 3001 Hz.
		x := sine(3001, fullScalePascal(c)*sim.DB(2).Lin(), 3, rate)
		taps, r := collect(t, rate, c, 1, x)
		railV := float64(sim.DBu(10).Volt()) * math.Sqrt2
		if p := peak(taps.Wave[sim.AtPreamp]); p > railV*(1+1e-6) || p < railV*0.95 {
			t.Errorf("%s knee: preamp out peaks at %.4f V, rail %.4f V", knee, p, railV)
		}
		if r.RailOvers == 0 || r.Overs != 0 {
			t.Errorf("%s knee: %d rail overs, %d overs", knee, r.RailOvers, r.Overs)
		}
		y := taps.Wave[sim.AtConverter][rate : 2*rate]
		f := fourier.NewFFT(rate).Coefficients(nil, y)
		power := func(k int) float64 { return real(f[k])*real(f[k]) + imag(f[k])*imag(f[k]) }
		worst := 0.0
		for k := 100; k < 20000; k++ {
			if k%3001 != 0 {
				worst = max(worst, power(k))
			}
		}
		// A square wave's harmonics clipped at the plain rate would fold back at −20
		// to −30 dB; oversampling must keep every alias below −50 dB.
		got := 10 * math.Log10(worst/power(3001))
		trust.Record(t, trust.Check{Area: "preamp", What: "largest alias below 20 kHz of a rail driven 12 dB over, " + string(knee) + " knee",
			Source: "own bound", Op: "<=", Expected: -50, Got: got, Unit: "dB"})
	}
}

// TestInputLimiterIsFinite: a slow attack lets a fast peak pass to the converter.
func TestInputLimiterIsFinite(t *testing.T) {
	over := func(attack float64) int {
		c := quiet().WithPlace(sim.LimiterBefore)
		c.InputLimiter.ThresholdDBFS = -6
		c.InputLimiter.AttackMS = attack
		x := sine(997, fullScalePascal(c)*sim.DB(12).Lin(), 1, rate)
		for i := range x[:rate/2] {
			x[i] *= 0.01
		}
		_, r := collect(t, rate, c, 1, x)
		return r.Overs
	}
	fast, slow := over(0.05), over(20)
	if slow <= fast || slow < 10 {
		t.Errorf("overs: %d with 0.05 ms of attack, %d with 20 ms", fast, slow)
	}
}

// TestDualRange: two converters carry what one cannot; the file stays honest.
func TestDualRange(t *testing.T) {
	c := quiet()
	c.Converter = sim.Converter{FullScaleDBu: 10, Bits: 24, DynamicRangeDBA: 112, Dither: sim.TPDF, DualRangeDB: 24}
	x := sine(997, fullScalePascal(c)*sim.DB(15).Lin(), 2, rate)
	taps, r := collect(t, rate, c, 1, x)
	if r.Overs != 0 {
		t.Errorf("%d overs 9 dB below the second range's ceiling", r.Overs)
	}
	if float64(r.SDRDB) < 75 {
		t.Errorf("SDR %.1f dB through the hand-over", r.SDRDB)
	}
	if p := 20 * math.Log10(peak(taps.Wave[sim.AtFile])); math.Abs(p-15) > 0.05 {
		t.Errorf("the float file peaks at %.2f dBFS", p)
	}
	// Whispering keeps the sensitive converter's floor.
	quietTaps, _ := collect(t, rate, c, 1, sine(997, fullScalePascal(c)*1e-5, 2, rate))
	e := make([]float64, 2*rate)
	for i := range e {
		e[i] = quietTaps.Wave[sim.AtFile][i] - quietTaps.True[i]
	}
	if n := float64(sim.RMSToDBFS(bandRMS(e, rate, 20, 20000))); math.Abs(n+109.95) > 0.2 {
		t.Errorf("floor with two ranges %.2f dBFS", n)
	}
	// Beyond the second ceiling it clips like any other.
	_, r = collect(t, rate, c, 1, sine(997, fullScalePascal(c)*sim.DB(27).Lin(), 1, rate))
	if r.Overs == 0 || math.Abs(float64(r.HeadroomDB)+3) > 0.05 {
		t.Errorf("3 dB beyond both: %d overs, headroom %.2f dB", r.Overs, r.HeadroomDB)
	}
	// A mismatch is heard as an error where the ranges change over.
	c.Converter.MismatchDB = 0.5
	_, bad := collect(t, rate, c, 1, burst(fullScalePascal(c)*2, 12, 2))
	c.Converter.MismatchDB = 0
	_, good := collect(t, rate, c, 1, burst(fullScalePascal(c)*2, 12, 2))
	if bad.SDRDB > good.SDRDB-20 {
		t.Errorf("SDR %.1f dB with a mismatch of 0.5 dB, %.1f dB without", bad.SDRDB, good.SDRDB)
	}
}

// TestIntersample: a tone whose samples miss its crests fills the converter only
// when a sample reaches full scale; the true peak tells.
func TestIntersample(t *testing.T) {
	c := quiet()
	x := make([]float64, rate)
	a := fullScalePascal(c) * math.Sqrt2 // peak pressure of full scale
	for i := range x {
		x[i] = a * 1.4 * math.Sin(math.Pi/2*float64(i)+math.Pi/4)
	}
	_, r := collect(t, rate, c, 1, x)
	// fs/4 at 45°: every sample at 0.707 of the crest.
	if r.Overs > 4 { // the onset is not a steady tone
		t.Errorf("%d overs", r.Overs)
	}
	if d := float64(r.TruePeakDBTP - r.PeakDBFS); math.Abs(d-3.01) > 0.3 {
		t.Errorf("true peak lies %.2f dB above the sample peak", d)
	}
}

// TestGuarantee: no sample of a look-ahead limiter's output lies above its
// ceiling, from the first sample on, whatever comes.
func TestGuarantee(t *testing.T) {
	n := 2_000_000
	if testing.Short() {
		n = 200_000
	}
	adverse(t, n)
}

func adverse(t *testing.T, n int) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for _, look := range []float64{0.05, 0.5, 2, 5} {
		c := quiet().WithPlace(sim.LimiterAfter)
		c.Limiter.LookAheadMS = look
		c.Limiter.ThresholdDBFS = -3
		c.Limiter.ReleaseMS = 5
		c.Converter.FullScaleDBu = 0
		s, err := sim.NewStrip(rate, c, 1)
		if err != nil {
			t.Fatal(err)
		}
		ceiling := sim.DB(-3).Lin()
		a := fullScalePascal(c) * math.Sqrt2
		x := make([]float64, 4096)
		taps := sim.NewTaps(len(x))
		worst, least := 0.0, 1.0
		for done := 0; done < n/4; done += len(x) {
			for i := range x {
				// Heavy tails, steps and single samples.
				switch rnd.IntN(50) {
				case 0:
					x[i] = a * (rnd.Float64() - 0.5) * 8
				case 1:
					x[i] = 0
				default:
					x[i] = a * math.Pow(rnd.Float64(), 4) * math.Copysign(1, rnd.Float64()-0.5)
				}
			}
			s.Process(x, taps)
			for i, v := range taps.Wave[sim.AtLimiter] {
				worst = max(worst, math.Abs(v))
				least = min(least, taps.Gain[i])
			}
		}
		if worst > ceiling || least > 0.75 {
			t.Errorf("look-ahead %g ms: highest %v, ceiling %v, least gain %v", look, worst, ceiling, least)
		}
	}
}

// TestTruePeakLimiter: with true_peak the wave between the samples stays at the
// ceiling too; without, an adverse tone passes by 3 dB. Read by a 16-times
// windowed-sinc interpolation of our own.
func TestTruePeakLimiter(t *testing.T) {
	truePeak := func(x []float64) float64 {
		p := 0.0
		for i := 64; i < len(x)-64; i++ {
			if math.Abs(x[i])+math.Abs(x[i+1]) < 0.7 {
				continue
			}
			for k := range 16 {
				f := float64(k) / 16
				s := 0.0
				for j := -63; j <= 64; j++ {
					d := float64(j) - f
					w := 0.5 + 0.5*math.Cos(math.Pi*d/65)
					if d == 0 {
						s += x[i]
						continue
					}
					s += x[i+j] * w * math.Sin(math.Pi*d) / (math.Pi * d)
				}
				p = max(p, math.Abs(s))
			}
		}
		return 20 * math.Log10(p)
	}
	c := quiet().WithPlace(sim.LimiterAfter)
	c.Limiter.ThresholdDBFS, c.Limiter.LookAheadMS, c.Limiter.ReleaseMS = -3, 2, 50
	c.Converter.FullScaleDBu = 20 // far away: only the limiter is looked at
	c.Preamp.GainDB = 40
	a := fullScalePascal(c) * math.Sqrt2
	rnd := rand.New(rand.NewPCG(5, 6))
	noise := make([]float64, rate/2)
	tone := make([]float64, rate/4)
	white := make([]float64, len(noise)+64)
	for i := range white {
		white[i] = rnd.NormFloat64()
	}
	for i := range noise {
		// A windowed sinc that passes up to about 0.4 of the rate: what lies above,
		// no interpolator of finite length can follow.
		for k := -32; k < 32; k++ {
			x := float64(k) + 0.5
			noise[i] += a * white[i+k+32] * math.Sin(0.76*math.Pi*x) / (math.Pi * x) * (0.5 + 0.5*math.Cos(math.Pi*x/32))
		}
	}
	for i := range tone {
		tone[i] = a * 0.95 * math.Sin(math.Pi/2*float64(i)+math.Pi/4)
	}
	for name, x := range map[string][]float64{"noise": noise, "fs/4 tone at 45°": tone} {
		for _, tp := range []bool{false, true} {
			c.Limiter.TruePeak = tp
			taps, _ := collect(t, rate, c, 1, x)
			got := truePeak(taps.Wave[sim.AtLimiter][1000 : len(x)-1000])
			if !tp {
				if name != "noise" && got < -0.6 {
					t.Errorf("%s: without true_peak %.2f dBTP, expected to pass the ceiling", name, got)
				}
				continue
			}
			trust.Record(t, trust.Check{Area: "limiter after the converter", What: "true-peak limiter at −3 dBTP, " + name,
				Source: "own bound, read at 16 times the rate; noise up to 0.4 of the rate", Op: "<=", Expected: -2.6, Got: got, Unit: "dBTP"})
		}
	}
}

// TestDynamicRange: AES17's dynamic range of the engine's converter. Expected:
// its white noise, weighted by CCIR-RMS over 20 kHz, below a full-scale sine; for
// short words, that of TPDF dither.
func TestDynamicRange(t *testing.T) {
	// The weighting's power gain on white noise of 0 to 20 kHz.
	const steps = 20000
	w := 0.0
	for i := range steps {
		w += math.Pow(10, meter.CCIRRMSWeightDB((float64(i)+0.5)*20000/steps)/10) / steps
	}
	weight := 10 * math.Log10(w)
	for _, g := range []struct {
		bits  int
		noise float64 // dBFS over 20 kHz
		dra   float64 // the converter's own, A-weighted
	}{
		{24, -90, 92.05}, {24, -105, 107.05}, {24, -118, 120.05},
		// Words of 16 bit: −93.32 dBFS up to half the rate, 0.79 dB less up to 20 kHz.
		{16, -93.32 + 10*math.Log10(20000.0/24000), 200},
	} {
		c := quiet()
		c.Converter = sim.Converter{FullScaleDBu: 20, Bits: g.bits, DynamicRangeDBA: g.dra, Dither: sim.TPDF}
		c.Preamp.GainDB = 40
		c.Microphone.SensitivityMVPerPa = 200
		taps, _ := collect(t, rate, c, 3, sine(997, fullScalePascal(c)*1e-3, 5, rate))
		got, err := meter.DynamicRangeAES17(taps.Wave[sim.AtConverter][rate/2:5*rate-rate/2], rate)
		if err != nil {
			t.Fatal(err)
		}
		trust.Record(t, trust.Check{Area: "converter: word length", What: fmt.Sprintf("dynamic range, %d bit, noise of %.2f dBFS", g.bits, g.noise),
			Source: "AES17 method and CCIR-RMS weighting (from memory); noise by definition", Expected: -(g.noise + weight), Got: got, Tolerance: 0.2, Unit: "dB"})
	}
}

// TestSpeechSpectra: the published long-term spectra add up to the overall levels
// published with them.
func TestSpeechSpectra(t *testing.T) {
	sum := func(levels []float64) float64 {
		p := 0.0
		for _, l := range levels {
			p += math.Pow(10, l/10)
		}
		return 10 * math.Log10(p)
	}
	for _, g := range []struct {
		name    string
		overall float64
		density []float64 // dB per hertz, thirds from 160 Hz to 8 kHz
	}{
		{"normal", 62.35, []float64{32.41, 34.48, 34.75, 33.98, 34.59, 34.27, 32.06, 28.30, 25.01, 23.00, 20.15, 17.32, 13.18, 11.55, 9.33, 5.31, 2.59, 1.13}},
		{"raised", 68.34, []float64{33.81, 33.92, 38.98, 38.57, 39.11, 40.15, 38.78, 36.37, 33.86, 31.89, 28.58, 25.32, 22.35, 20.15, 16.78, 11.47, 7.67, 5.07}},
		{"loud", 74.85, []float64{35.29, 37.76, 41.55, 43.78, 43.40, 44.85, 45.55, 44.05, 42.16, 40.53, 37.70, 34.39, 30.98, 28.21, 25.41, 18.35, 13.87, 11.39}},
		{"shout", 82.30, []float64{30.77, 36.65, 42.50, 46.51, 47.40, 49.24, 51.21, 51.44, 51.31, 49.63, 47.65, 44.32, 40.80, 38.13, 34.41, 28.24, 23.45, 20.72}},
	} {
		band := make([]float64, len(g.density))
		for i, d := range g.density {
			// A third of an octave with exact base-ten middle frequencies is
			// 10^0.05 − 10^−0.05 of its middle wide.
			f := math.Pow(10, (22+float64(i))/10)
			band[i] = d + 10*math.Log10(f*(math.Pow(10, 0.05)-math.Pow(10, -0.05)))
		}
		trust.Record(t, trust.Check{Area: "speech spectra", What: g.name + " effort, sum of the thirds",
			Source: "ANSI S3.5-1997, spectrum levels and overall levels (transcription)", Expected: g.overall, Got: sum(band), Tolerance: 0.1, Unit: "dB SPL"})
	}
	for name, g := range map[string]struct {
		overall float64
		band    []float64
	}{
		"combined": {70.03, []float64{38.6, 43.5, 54.4, 57.7, 56.8, 60.2, 60.3, 59.0, 62.1, 62.1, 60.5, 56.8, 53.7, 53.0, 52.0, 48.7, 48.1, 46.8, 45.6, 44.5, 44.3, 43.7, 43.4, 41.3, 40.7}},
		"male":     {70.00, []float64{38.6, 43.5, 54.4, 57.7, 56.8, 58.2, 59.7, 60.0, 62.4, 62.6, 60.6, 55.7, 53.1, 53.7, 52.3, 48.7, 48.9, 47.0, 46.0, 44.4, 43.3, 42.4, 41.9, 39.8, 40.4}},
		"female":   {69.74, []float64{37.0, 36.0, 37.5, 40.1, 53.4, 62.2, 60.9, 58.1, 61.7, 61.7, 60.4, 58.0, 54.3, 52.3, 51.7, 48.8, 47.3, 46.7, 45.3, 44.6, 45.2, 44.9, 45.0, 42.8, 41.1}},
	} {
		trust.Record(t, trust.Check{Area: "speech spectra", What: "long-term average, " + name + ", sum of the thirds",
			Source: "Byrne et al., JASA 96(4), 1994, Table II (transcription)", Expected: g.overall, Got: sum(g.band), Tolerance: 0.01, Unit: "dB"})
	}
}
