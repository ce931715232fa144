package sim_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"gainwright/sim"
	"gainwright/tests/trust"
)

// sibilant is noise in bursts of 120 ms every 250 ms, as flat as the rate allows:
// what s and sh are above a few kilohertz (Jongman, Wayland, Wong, JASA 108, 2000;
// from memory), with nothing spared near half the rate.
func sibilant(rms, seconds float64, rate int) []float64 {
	rnd := rand.New(rand.NewPCG(11, 5))
	x := make([]float64, int(seconds*float64(rate)))
	for i := range x {
		if t := math.Mod(float64(i)/float64(rate), 0.25); t < 0.12 {
			x[i] = rms * math.Pow(math.Sin(math.Pi*t/0.12), 2) * rnd.NormFloat64()
		}
	}
	return x
}

// handbookNoise is the rms noise that a file has over the whole band of its rate,
// full scale = 1, by the formulae that data sheets are read with and nothing of the
// program's: thermal noise √(4kTRB) at 290 K of the microphone, and what an EIN over
// 20 kHz leaves for the amplifier when the 150 Ω it was measured with are taken out;
// a converter's A-weighted range from a full-scale sine, white noise reading 2.05 dB
// less A-weighted; TPDF dither and rounding, q²/4 (Lipshitz, Wannamaker,
// Vanderkooy, JAES 40, 1992; from memory).
func handbookNoise(c sim.Chain, rate int) float64 {
	const k, kelvin = 1.380649e-23, 290.0
	half := float64(rate) / 2
	thermal := func(ohm float64) float64 { return 4 * k * kelvin * ohm }       // V²/Hz
	ein := 0.6 * math.Pow(10, c.Preamp.EINDBu/10) / 20000                      // V²/Hz
	gain := math.Pow(10, c.Preamp.GainDB/10)                                   // of power
	full := 2 * 0.6 * math.Pow(10, c.Converter.FullScaleDBu/10)                // V², of the peak
	out := 0.6 * math.Pow(10, c.Preamp.OutputNoiseDBu/10) / 20000              // V²/Hz
	conv := 0.5 * math.Pow(10, -(c.Converter.DynamicRangeDBA-2.05)/10) / 20000 // full scale²/Hz
	q := math.Pow(2, float64(1-c.Converter.Bits))
	// Before the converter the oversampled part halves the last twentieth's power
	// or so: 0.1 dB, within the tolerance.
	return math.Sqrt(((thermal(c.Microphone.SourceOhm)+ein-thermal(150))*gain/full+out/full+conv)*half + q*q/4)
}

// deadRoom is a handheld recorder in a room without noise, so that the electrical
// formulae are all there is.
func deadRoom() sim.Chain {
	c := sim.Default()
	c.Room.NoiseDBA = -100
	return c
}

// TestTrebleIsNotNoise: what the strip's filters take from a hissing talker is
// neither noise nor distortion. The floor of a take with sibilants is the handbook's,
// the same as of one without.
func TestTrebleIsNotNoise(t *testing.T) {
	for _, rate := range []int{8000, 16000, 22050, 44100, 48000, 96000, 192000} {
		c := deadRoom()
		x := sibilant(0.1, 4, rate)
		taps, r := collect(t, rate, c, 3, x)
		if r.Overs > 0 {
			t.Fatalf("%d Hz: %d overs", rate, r.Overs)
		}
		floor := 20*math.Log10(handbookNoise(c, rate)) + 3.0103 // AES17
		check := func(what string, expected, got, tol float64, unit string) {
			t.Helper()
			trust.Record(t, trust.Check{Area: "chain: levels and noise", What: fmt.Sprintf("hissing talker at %d Hz: %s", rate, what),
				Source:   "4kTRB, EIN, converter range and TPDF dither, summed over half the rate",
				Expected: expected, Got: got, Tolerance: tol, Unit: unit})
		}
		check("noise floor", floor, float64(r.NoiseFloorDBFS), 0.4, "dBFS")
		// What was asked of the chain, by level arithmetic on the input itself, its
		// top cut off where the file's band ends.
		p := 0.0
		co := fourier.NewFFT(len(x)).Coefficients(nil, x)
		for k := 1; k < len(co); k++ {
			if f := float64(k) / float64(len(x)); f < 0.48 || rate > 100000 {
				p += 2 * (real(co[k])*real(co[k]) + imag(co[k])*imag(co[k]))
			}
		}
		level := math.Sqrt(p) / float64(len(x)) / c.DistanceM * c.Microphone.SensitivityMVPerPa / 1000 *
			math.Pow(10, c.Preamp.GainDB/20) / math.Sqrt(2*0.6*math.Pow(10, c.Converter.FullScaleDBu/10))
		check("distance from the true wave (SDR)", 20*math.Log10(level/handbookNoise(c, rate)), float64(r.SDRDB), 0.5, "dB")
		// The same by another way: file less truth, its spectrum as flat above 0.44 of
		// the rate as below.
		e := make([]float64, len(x))
		for i := range e {
			e[i] = taps.Wave[sim.AtFile][i] - taps.True[i]
		}
		below := bandRMS(e, rate, 0.3*float64(rate), 0.4*float64(rate)) / math.Sqrt(0.1)
		above := bandRMS(e, rate, 0.44*float64(rate), 0.5*float64(rate)) / math.Sqrt(0.06)
		if d := 20 * math.Log10(above/below); d > 0.5 {
			t.Errorf("%d Hz: what file and truth differ by is %.1f dB denser near half the rate", rate, d)
		}
	}
}

// TestRidingIsNotNoise: a gain that is turned all the time moves the truth exactly as
// it moves the signal.
func TestRidingIsNotNoise(t *testing.T) {
	for _, rate := range []int{16000, 48000, 96000} {
		c := deadRoom()
		s, err := sim.NewStrip(rate, c, 3)
		if err != nil {
			t.Fatal(err)
		}
		r, _ := sim.NewReadout(rate)
		taps := sim.NewTaps(rate / 50)
		x := sibilant(0.1, 4, rate)
		worst := 0.0
		for i := 0; i+rate/50 <= len(x); i += rate / 50 {
			g := c
			g.Preamp.GainDB += 3 * math.Sin(float64(i)/float64(rate)*4)
			if err := s.Apply(g); err != nil {
				t.Fatal(err)
			}
			worst = max(worst, handbookNoise(g, rate))
			s.Process(x[i:i+rate/50], taps)
			r.Write(taps)
		}
		got := float64(r.Readings().NoiseFloorDBFS)
		low, high := 20*math.Log10(handbookNoise(c, rate))+3.01-3, 20*math.Log10(worst)+3.01
		if got < low || got > high+0.3 {
			t.Errorf("%d Hz: noise floor %.1f dBFS while the gain rides, %.1f to %.1f is right", rate, got, low, high)
		}
	}
}

// TestRailIsNotNoise: what the converter's filters make of a flattened top reaches the
// samples around it, and is no noise there.
func TestRailIsNotNoise(t *testing.T) {
	for _, rate := range []int{16000, 48000, 96000, 192000} {
		c := deadRoom()
		c.Preamp.RailDBu = -6
		_, r := collect(t, rate, c, 3, sibilant(0.1, 4, rate))
		if r.RailOvers < 50 || r.Overs > 0 {
			t.Fatalf("%d Hz: %d times at the rail, %d overs", rate, r.RailOvers, r.Overs)
		}
		trust.Record(t, trust.Check{Area: "chain: levels and noise", What: fmt.Sprintf("noise floor of a take that met the rail, at %d Hz", rate),
			Source:   "4kTRB, EIN, converter range and TPDF dither, summed over half the rate",
			Expected: 20*math.Log10(handbookNoise(c, rate)) + 3.0103, Got: float64(r.NoiseFloorDBFS), Tolerance: 0.4, Unit: "dBFS"})
	}
}
