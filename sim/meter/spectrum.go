package meter

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
)

// Scale says what the values of a spectrum mean.
type Scale int

const (
	// Amplitude scales a spectrum so that a sine of amplitude a reads a at its
	// frequency, also between two bins (to 0.01 dB, with a flat-top window).
	Amplitude Scale = iota
	// Density scales a spectrum to mean square per hertz, one-sided: white
	// noise of mean square p reads p/(rate/2) at every size.
	Density
)

// Spectrum averages the spectra of overlapping windowed stretches of one
// channel: Welch's method, on gonum's Fourier transform.
type Spectrum struct {
	rate  int
	size  int
	hop   int
	scale Scale
	win   []float64
	norm  float64
	keep  float64 // share of the old average kept at each new stretch; 0: plain mean

	fft  *fourier.FFT
	buf  []float64
	work []float64
	coef []complex128
	fill int
	acc  []float64 // mean of squared magnitudes
	n    int
	bad  int
}

// NewSpectrum returns a spectrum analyser with size/2+1 bins from 0 Hz to half
// the rate. The size must be even, 16 to 2^20; powers of two are fastest.
func NewSpectrum(rate, size int, scale Scale) (*Spectrum, error) {
	if err := CheckRate(rate); err != nil {
		return nil, err
	}
	if size < 16 || size > 1<<20 || size%2 != 0 {
		return nil, fmt.Errorf("meter: spectrum of %d samples: need an even number, 16 to %d", size, 1<<20)
	}
	s := &Spectrum{
		rate: rate, size: size, scale: scale,
		fft:  fourier.NewFFT(size),
		buf:  make([]float64, size),
		work: make([]float64, size),
		coef: make([]complex128, size/2+1),
		acc:  make([]float64, size/2+1),
		win:  make([]float64, size),
	}
	for i := range s.win {
		s.win[i] = 1
	}
	switch scale {
	case Amplitude:
		// The flat top needs 75 % overlap to see every sample equally often.
		window.FlatTop(s.win)
		s.hop = max(1, size/4)
		g := sum(s.win)
		s.norm = 4 / (g * g)
	case Density:
		window.Hann(s.win)
		s.hop = size / 2
		s.norm = 2 / (sumSquares(s.win) * float64(rate))
	default:
		return nil, fmt.Errorf("meter: unknown spectrum scale %d", scale)
	}
	return s, nil
}

// SetDecay makes the average forget: the weight of a stretch falls to 1/e after
// the given time in seconds. Zero, the default, averages everything.
func (s *Spectrum) SetDecay(seconds float64) {
	s.keep = 0
	if seconds > 0 {
		s.keep = math.Exp(-float64(s.hop) / (float64(s.rate) * seconds))
	}
}

// Write feeds samples.
func (s *Spectrum) Write(x []float64) {
	for len(x) > 0 {
		n := copy(s.buf[s.fill:], x)
		s.bad += scrub(s.buf[s.fill : s.fill+n])
		x = x[n:]
		if s.fill += n; s.fill == s.size {
			s.stretch()
			copy(s.buf, s.buf[s.hop:])
			s.fill -= s.hop
		}
	}
}

func (s *Spectrum) stretch() {
	for i, w := range s.win {
		s.work[i] = w * s.buf[i]
	}
	s.fft.Coefficients(s.coef, s.work)
	s.n++
	a := 1 / float64(s.n)
	if s.keep > 0 {
		// Exact weights from the first stretch on, instead of a start from 0.
		a = (1 - s.keep) / (1 - math.Pow(s.keep, float64(s.n)))
	}
	for i, c := range s.coef {
		p := s.norm * (real(c)*real(c) + imag(c)*imag(c))
		s.acc[i] += a * (p - s.acc[i])
	}
}

// Bins returns the number of values, size/2+1.
func (s *Spectrum) Bins() int { return len(s.acc) }

// Frequency returns the frequency of a bin in hertz.
func (s *Spectrum) Frequency(bin int) float64 {
	return float64(bin) * float64(s.rate) / float64(s.size)
}

// Stretches returns how many stretches were averaged.
func (s *Spectrum) Stretches() int { return s.n }

// Values stores the spectrum in dst, which has Bins values or is nil, and
// returns it: amplitudes, or mean squares per hertz. It is all zero before the
// first complete stretch.
func (s *Spectrum) Values(dst []float64) []float64 {
	if dst == nil {
		dst = make([]float64, len(s.acc))
	}
	if len(dst) != len(s.acc) {
		panic("meter: spectrum values of the wrong length")
	}
	for i, p := range s.acc {
		// 0 Hz and half the rate have no mirror image to share with.
		edge := i == 0 || i == len(s.acc)-1
		switch {
		case s.scale == Density && edge:
			p /= 2
		case s.scale == Amplitude && edge:
			p /= 4
		}
		if s.scale == Amplitude {
			p = math.Sqrt(p)
		}
		dst[i] = p
	}
	return dst
}

// Invalid returns how many samples were not usable and counted as zero.
func (s *Spectrum) Invalid() int { return s.bad }

// Reset makes the analyser as new, except for the decay.
func (s *Spectrum) Reset() {
	clear(s.acc)
	s.fill, s.n, s.bad = 0, 0, 0
}

func sumSquares(x []float64) float64 {
	e := 0.0
	for _, v := range x {
		e += v * v
	}
	return e
}

// MeanSquare returns the mean of the squares of x, 0 for none. Unusable samples
// count as zero.
func MeanSquare(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	e := 0.0
	for _, v := range x {
		if usable(v) {
			e += v * v
		}
	}
	return e / float64(len(x))
}

// powerBins estimates how the mean square of x spreads over frequency: bin k
// holds what lies within half a bin of k·rate/size. The stretches overlap by
// three quarters under a Blackman-Harris window, whose leakage is −92 dB.
func powerBins(x []float64, rate int) (bins []float64, size int) {
	size = min(len(x), 1<<15) &^ 1
	if size < 2 {
		return []float64{MeanSquare(x)}, 1
	}
	win := make([]float64, size)
	for i := range win {
		win[i] = 1
	}
	if size >= 16 {
		window.BlackmanHarris(win)
	}
	bins = make([]float64, size/2+1)
	fft := fourier.NewFFT(size)
	work := make([]float64, size)
	coef := make([]complex128, size/2+1)
	steps := 0
	if size >= 16 {
		steps = (len(x) - size + size/4 - 1) / (size / 4)
	}
	norm := 2 / (sumSquares(win) * float64(size) * float64(steps+1))
	for i := range steps + 1 {
		at := 0
		if steps > 0 {
			at = i * (len(x) - size) / steps
		}
		for j, w := range win {
			work[j] = w * x[at+j]
			if !usable(x[at+j]) {
				work[j] = 0
			}
		}
		fft.Coefficients(coef, work)
		for k, c := range coef {
			bins[k] += norm * (real(c)*real(c) + imag(c)*imag(c))
		}
	}
	bins[0] /= 2
	bins[size/2] /= 2
	return bins, size
}

// bandOf sums the bins between two frequencies, sharing out the bins at the
// edges.
func bandOf(bins []float64, size, rate int, lo, hi float64) float64 {
	lo = max(lo, 0) * float64(size) / float64(rate)
	hi = min(hi, float64(rate)/2) * float64(size) / float64(rate)
	p := 0.0
	for k := int(lo); k < len(bins); k++ {
		a, b := max(float64(k)-0.5, 0), min(float64(k)+0.5, float64(size)/2)
		if a >= hi {
			break
		}
		if b > a {
			p += bins[k] * max(0, min(b, hi)-max(a, lo)) / (b - a)
		}
	}
	return p
}

// BandPower returns the mean square of x inside a band, from lo to hi in hertz.
// The bands 0 to f and f to rate/2 add up to the whole. The estimate is an
// average of overlapping windowed spectra of up to 32768 samples: a tone counts
// fully when it lies four bins (6 Hz at 48 kHz) inside the band, and the first
// and last tenth of a second of x weigh less.
func BandPower(x []float64, rate int, lo, hi float64) float64 {
	mustRate(rate)
	bins, size := powerBins(x, rate)
	return bandOf(bins, size, rate, lo, hi)
}

// Band is one band of a third-octave analysis.
type Band struct {
	Nominal    float64 // name of the band, Hz
	Mid        float64 // exact middle, base ten, Hz
	MeanSquare float64 // in the band
}

// DB returns the level of the band in dB re square full scale.
func (b Band) DB() float64 { return PowerDB(b.MeanSquare) }

var nominalThirds = []float64{1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8}

// ThirdOctaves returns the levels of x in the third-octave bands from 20 Hz to
// 20 kHz that lie below half the rate. Band edges and middles are those of IEC
// 61260-1 (base ten); the bands have vertical edges, where the standard's
// filters have slopes.
func ThirdOctaves(x []float64, rate int) []Band {
	mustRate(rate)
	bins, size := powerBins(x, rate)
	var out []Band
	for k := 13; k <= 43; k++ {
		mid := math.Pow(10, float64(k)/10)
		lo, hi := mid*math.Pow(10, -0.05), mid*math.Pow(10, 0.05)
		if hi > float64(rate)/2 {
			break
		}
		out = append(out, Band{
			Nominal:    nominalThirds[k%10] * math.Pow10(k/10),
			Mid:        mid,
			MeanSquare: bandOf(bins, size, rate, lo, hi),
		})
	}
	return out
}
