package diagnose

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// tones looks for hum. The signal is brought down to about 1 kHz; spectra of two
// seconds overlap by three quarters; of each bin the levels are kept as a
// histogram. A tone that never stops stands out of the quiet tenth of them, which
// a voice does not.
type tones struct {
	factor  int
	acc     float64
	n       int
	rate    float64 // after decimation, Hz
	low     [2]float64
	buf     []float64
	fill    int
	hop     int
	fft     *fourier.FFT
	win     []float64
	work    []float64
	coef    []complex128
	bins    int
	hist    [][toneLevels]uint32
	spectra int
	lp      [4]float64 // state of a two-stage smoother before decimation
	alpha   float64
}

const (
	toneLevels  = 100
	toneLowDB   = -150.0
	toneStepDB  = 1.5
	toneWindowS = 2.0
	toneTopHz   = 330.0
	mostSway    = 4.5 // dB
	leastSway   = 1.5
)

func newTones(rate int) *tones {
	t := &tones{factor: max(1, rate/1000)}
	t.rate = float64(rate) / float64(t.factor)
	n := int(toneWindowS * t.rate)
	t.buf, t.work, t.win = make([]float64, n), make([]float64, n), make([]float64, n)
	t.hop = n / 4
	t.fft = fourier.NewFFT(n)
	norm := 0.0
	for i := range t.win {
		t.win[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
		norm += t.win[i]
	}
	for i := range t.win {
		t.win[i] *= 2 / norm // a sine of amplitude a reads a
	}
	t.coef = make([]complex128, n/2+1)
	t.bins = min(int(toneTopHz*toneWindowS)+2, n/2+1)
	t.hist = make([][toneLevels]uint32, t.bins)
	return t
}

// end ends a block of factor samples, the last of which sum up to s, and averages it:
// its response has zeros at multiples of the low rate, where hum would fold from.
func (t *tones) end(s float64) {
	t.push((t.acc + s) / float64(t.factor))
	t.acc, t.n = 0, 0
}

func (t *tones) push(v float64) {
	t.buf[t.fill] = v
	if t.fill++; t.fill < len(t.buf) {
		return
	}
	for i, v := range t.buf {
		t.work[i] = v * t.win[i]
	}
	c := t.fft.Coefficients(t.coef, t.work)
	for k := range t.bins {
		re, im := real(c[k]), imag(c[k])
		db := 10 * math.Log10(re*re+im*im+1e-30)
		t.hist[k][min(max(int((db-toneLowDB)/toneStepDB), 0), toneLevels-1)]++
	}
	t.spectra++
	t.fill = copy(t.buf, t.buf[t.hop:])
}

// quiet returns the level in dB below which a share of bin k's spectra lie.
func (t *tones) quiet(k int, share float64) float64 {
	want := share * float64(t.spectra)
	for i, n := range t.hist[k] {
		if float64(n) >= want && n > 0 {
			return toneLowDB + toneStepDB*(float64(i)+want/float64(n))
		}
		want -= float64(n)
	}
	return toneLowDB
}

// hum is what was found at a mains frequency and its multiples.
type hum struct {
	hz        float64
	levelDB   float64 // of the tones together, dBFS: a full-scale sine is 0
	prominent float64 // dB, the clearest over its surroundings
	harmonics int     // that stand out
}

// find returns the clearer of 50 and 60 Hz; ok tells whether it is hum.
func (t *tones) find() (best hum, ok bool) {
	if t.spectra < 3 {
		return hum{}, false
	}
	level := make([]float64, t.bins)
	for k := range level {
		level[k] = t.quiet(k, 0.2)
	}
	// A tone that goes on and on has hardly a louder half.
	sway := func(k int) float64 { return t.quiet(k, 0.6) - level[k] }
	score := 0.0
	for _, f0 := range []float64{50, 60} {
		h := hum{hz: f0, levelDB: math.Inf(-1)}
		power, total := 0.0, 0.0
		for m := 1; m <= 5; m++ {
			k := int(math.Round(float64(m) * f0 * toneWindowS))
			if k+16 >= t.bins {
				break
			}
			at, peak, p := prominence(level, k)
			// A voice has its pitch at the multiples now and then, but not at the
			// mains' own frequency, and it does not stay.
			if s := sway(at); p >= 9 && (s <= mostSway && (m == 1 || h.harmonics > 0) || s <= leastSway) {
				h.harmonics++
				h.prominent = max(h.prominent, p)
				power += math.Pow(10, peak/10)
				total += p
			}
		}
		if power > 0 {
			h.levelDB = 10 * math.Log10(power)
		}
		if total > score {
			score, best = total, h
		}
	}
	return best, best.sure()
}

// sure tells whether a hum stands out enough to be spoken of.
func (h hum) sure() bool {
	return h.harmonics >= 2 && h.prominent >= 15 || h.harmonics >= 1 && h.prominent >= 18
}

// prominence is how far the highest of bin k and its neighbours, at, stands above the
// median of what lies 3 to 8 Hz beside it, in dB.
func prominence(level []float64, k int) (at int, peak, db float64) {
	var around []float64
	for d := 6; d <= 16; d++ {
		around = append(around, level[k-d], level[k+d])
	}
	at = k
	for d := -1; d <= 1; d++ {
		if level[k+d] > level[at] {
			at = k + d
		}
	}
	return at, level[at], level[at] - median(around)
}
