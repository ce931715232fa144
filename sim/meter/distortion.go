package meter

import (
	"errors"
	"fmt"
	"math"
)

// tone is a sine fitted to samples: a·cos + b·sin at freq, plus dc.
type tone struct{ freq, a, b, dc float64 }

func (t tone) amplitude() float64 { return math.Hypot(t.a, t.b) }

// errNoTone says that the samples hold no sine at the frequency named.
var errNoTone = errors.New("meter: no tone at that frequency")

// fitTone fits amplitude, phase, DC and frequency of a sine near f0 by least
// squares, as IEEE 1057 does with four parameters, and returns it with what it
// leaves of x.
func fitTone(x []float64, rate int, f0 float64) (tone, []float64, error) {
	if err := CheckRate(rate); err != nil {
		return tone{}, nil, err
	}
	if !(f0 > 0 && f0 < float64(rate)/2) {
		return tone{}, nil, fmt.Errorf("meter: a tone of %v Hz at a rate of %d Hz", f0, rate)
	}
	if float64(len(x))*f0 < 10*float64(rate) {
		return tone{}, nil, fmt.Errorf("meter: %d samples hold fewer than ten periods of %v Hz", len(x), f0)
	}
	t := tone{freq: f0}
	// The middle of the samples is the origin of time: amplitude and frequency
	// then hardly depend on each other.
	mid := float64(len(x)-1) / 2
	step := func(params int) error {
		w := 2 * math.Pi * t.freq / float64(rate)
		var aa [4][4]float64
		var ab [4]float64
		for i, v := range x {
			if !usable(v) {
				v = 0
			}
			at := float64(i) - mid
			s, c := math.Sincos(w * at)
			row := [4]float64{c, s, 1, at / mid * (t.b*c - t.a*s)}
			for j, r := range row {
				for k := j; k < 4; k++ {
					aa[j][k] += r * row[k]
				}
				ab[j] += r * v
			}
		}
		sol, ok := solve(&aa, ab, params)
		if !ok {
			return errNoTone
		}
		t.a, t.b, t.dc = sol[0], sol[1], sol[2]
		if params == 4 {
			d := sol[3] / mid * float64(rate) / (2 * math.Pi)
			// A fit that runs away has found something other than the tone.
			if math.Abs(t.freq+d-f0) > 2*float64(rate)/float64(len(x)) {
				return errNoTone
			}
			t.freq += d
		}
		return nil
	}
	if err := step(3); err != nil {
		return tone{}, nil, err
	}
	if t.amplitude() == 0 {
		return tone{}, nil, errNoTone
	}
	for range 4 {
		if err := step(4); err != nil {
			return tone{}, nil, err
		}
	}
	if err := step(3); err != nil {
		return tone{}, nil, err
	}
	rest := make([]float64, len(x))
	w := 2 * math.Pi * t.freq / float64(rate)
	for i, v := range x {
		if !usable(v) {
			v = 0
		}
		s, c := math.Sincos(w * (float64(i) - mid))
		rest[i] = v - t.a*c - t.b*s - t.dc
	}
	return t, rest, nil
}

// THD returns the total harmonic distortion of a tone near f0 Hz: the root of
// the summed squares of its harmonics from the second up to maxHarmonicHz (and
// below half the rate), over the fundamental, a ratio (THD_F). The fundamental
// is fitted and taken out before the harmonics are measured. x must hold ten
// periods or more.
func THD(x []float64, rate int, f0, maxHarmonicHz float64) (float64, error) {
	t, rest, err := fitTone(x, rate, f0)
	if err != nil {
		return 0, err
	}
	// A 4-term Blackman-Harris window keeps the harmonics apart.
	win := make([]float64, len(rest))
	gain := 0.0
	for i := range win {
		a := 2 * math.Pi * (float64(i) + 0.5) / float64(len(win))
		win[i] = 0.35875 - 0.48829*math.Cos(a) + 0.14128*math.Cos(2*a) - 0.01168*math.Cos(3*a)
		gain += win[i]
	}
	p := 0.0
	for h := 2; float64(h)*t.freq <= maxHarmonicHz && float64(h)*t.freq < float64(rate)/2; h++ {
		w := 2 * math.Pi * float64(h) * t.freq / float64(rate)
		var re, im float64
		for i, v := range rest {
			s, c := math.Sincos(w * float64(i))
			re += win[i] * v * c
			im += win[i] * v * s
		}
		p += 4 * (re*re + im*im) / (gain * gain)
	}
	return math.Sqrt(p) / t.amplitude(), nil
}

// aes17Band is the upper band limit of AES17 measurements, Hz.
const aes17Band = 20000

// THDN returns total harmonic distortion and noise of a tone near f0 Hz, as a
// ratio to the whole signal: rms of what a notch leaves, up to 20 kHz, over the
// rms of both (after AES17). The notch takes out the fitted tone and DC only,
// and so is narrower than the standard's, whose Q of about 2 also takes away
// some of the second harmonic.
func THDN(x []float64, rate int, f0 float64) (float64, error) {
	t, rest, err := fitTone(x, rate, f0)
	if err != nil {
		return 0, err
	}
	r := BandPower(rest, rate, 0, aes17Band)
	s := t.amplitude() * t.amplitude() / 2
	return math.Sqrt(r / (s + r)), nil
}

// DynamicRangeAES17 returns the dynamic range in dB that a recording of a
// 997 Hz tone at −60 dBFS shows: full scale over what a notch leaves, up to
// 20 kHz, with CCIR-RMS weighting. The tone keeps the converter at work; its
// own level does not enter. Source: AES17, from memory.
func DynamicRangeAES17(x []float64, rate int) (float64, error) {
	_, rest, err := fitTone(x, rate, 997)
	if err != nil {
		return 0, err
	}
	return -SineDB(math.Sqrt(WeightedPower(rest, rate, aes17Band, CCIRRMSWeightDB))), nil
}

// WeightedPower returns the mean square of x up to hi Hz under a weighting
// given in dB over frequency, such as [AWeightDB].
func WeightedPower(x []float64, rate int, hi float64, weightDB func(f float64) float64) float64 {
	mustRate(rate)
	bins, size := powerBins(x, rate)
	for k := range bins {
		bins[k] *= math.Pow(10, weightDB(float64(k)*float64(rate)/float64(size))/10)
	}
	return bandOf(bins, size, rate, 0, hi)
}

// solve solves the first n of four normal equations, whose upper triangle is in
// a, by Cholesky's decomposition. gonum's would do, but it brings all of BLAS and
// LAPACK into the browser's download for this one small system.
func solve(a *[4][4]float64, b [4]float64, n int) ([4]float64, bool) {
	var l [4][4]float64
	for i := range n {
		for j := range i + 1 {
			v := a[j][i]
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			switch {
			case i != j:
				l[i][j] = v / l[j][j]
			case v > 0:
				l[i][i] = math.Sqrt(v)
			default:
				return b, false
			}
		}
	}
	for i := range n {
		for k := range i {
			b[i] -= l[i][k] * b[k]
		}
		b[i] /= l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			b[i] -= l[k][i] * b[k]
		}
		b[i] /= l[i][i]
	}
	return b, true
}
