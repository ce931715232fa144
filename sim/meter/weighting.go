package meter

import (
	"math"
	"math/cmplx"
)

// Corner frequencies of A-weighting, Hz (IEC 61672-1).
var aCorners = [4]float64{20.598997, 107.65265, 737.86223, 12194.217}

// AWeightDB returns the A-weighting at f Hz in dB, 0 at 1 kHz. Source: IEC
// 61672-1, formula as commonly reproduced.
func AWeightDB(f float64) float64 { return DB(AWeight(f)) }

// AWeight returns the same as a ratio of amplitudes.
func AWeight(f float64) float64 { return aShape(f) / aShape(1000) }

func aShape(f float64) float64 {
	q := f * f
	c := func(i int) float64 { return aCorners[i] * aCorners[i] }
	return c(3) * q * q / ((q + c(0)) * math.Sqrt((q+c(1))*(q+c(2))) * (q + c(3)))
}

// noisePoly is the denominator in s = jf of the network of ITU-R BS.468-4 as
// commonly reproduced, lowest power first; the numerator is s.
var noisePoly = [7]float64{
	1, 5.559488023498642e-4, 1.363894795463638e-7, 2.118150887518656e-11,
	2.043828333606125e-15, 1.306612257412824e-19, 4.737338981378384e-24,
}

func noiseShape(f float64) float64 {
	s, d := complex(0, f), complex(0, 0)
	for i := len(noisePoly) - 1; i >= 0; i-- {
		d = d*s + complex(noisePoly[i], 0)
	}
	return f / cmplx.Abs(d)
}

// NoiseWeightDB returns the noise weighting of ITU-R BS.468-4 at f Hz in dB, 0
// at 1 kHz.
func NoiseWeightDB(f float64) float64 { return DB(noiseShape(f) / noiseShape(1000)) }

// CCIRRMSWeightDB returns the CCIR-RMS weighting at f Hz in dB: the shape of
// BS.468 with 0 dB at 2 kHz, as AES17 uses it with an rms detector.
func CCIRRMSWeightDB(f float64) float64 { return DB(noiseShape(f) / noiseShape(2000)) }

// weightFIR is the length of the linear-phase correction in a [Weighting].
const weightFIR = 65

// Weighting is a weighting filter for one channel. The poles and zeros of the
// analogue network become those of a recursive filter by z = exp(sT), which
// keeps low frequencies exact; a short linear-phase filter then takes out the
// error that leaves near half the rate. The whole follows the published curve
// within 0.1 dB up to 0.4 of the rate, and delays by [Weighting.Delay].
type Weighting struct {
	sections []section
	memory   [][4]float64 // of each section: two inputs, two outputs
	fir      [weightFIR]float64
	line     [2 * weightFIR]float64 // the last samples, twice, so that any stretch is contiguous
	at       int
	n        int
	bad      int
}

// section is a recursive filter of second order, y = Σb·x − Σa·y.
type section struct{ b, a [3]float64 }

// NewAWeighting returns an A-weighting filter. It panics on a rate [CheckRate]
// refuses.
func NewAWeighting(rate int) *Weighting {
	c := func(i int) complex128 { return complex(-2*math.Pi*aCorners[i], 0) }
	return newWeighting(rate, 4, []complex128{c(0), c(0), c(1), c(2), c(3), c(3)}, AWeightDB)
}

// NewCCIRRMSWeighting returns a filter with the CCIR-RMS weighting of AES17. It
// panics on a rate [CheckRate] refuses.
func NewCCIRRMSWeighting(rate int) *Weighting {
	poles := roots(noisePoly[:])
	for i := range poles {
		poles[i] *= 2 * math.Pi
	}
	return newWeighting(rate, 1, poles, CCIRRMSWeightDB)
}

// newWeighting builds the filter with the given number of zeros at 0 Hz and an
// even number of poles in rad/s, conjugate pairs next to each other.
func newWeighting(rate, zeros int, poles []complex128, want func(float64) float64) *Weighting {
	mustRate(rate)
	w := &Weighting{}
	for i := 0; i < len(poles); i += 2 {
		p, q := cmplx.Exp(poles[i]/complex(float64(rate), 0)), cmplx.Exp(poles[i+1]/complex(float64(rate), 0))
		s := section{b: [3]float64{1}, a: [3]float64{1, -real(p + q), real(p * q)}}
		switch n := min(zeros, 2); n {
		case 1:
			s.b = [3]float64{1, -1}
		case 2:
			s.b = [3]float64{1, -2, 1}
		}
		zeros = max(0, zeros-2)
		w.sections = append(w.sections, s)
	}
	w.memory = make([][4]float64, len(w.sections))

	// Sample what is left to correct, and transform it into taps.
	const grid = 512
	var ratio [grid + 1]float64
	for k := range ratio {
		f := max(float64(k)/grid, 1e-4) * float64(rate) / 2
		ratio[k] = FromDB(want(f)) / w.recursive(f/float64(rate))
	}
	const mid = weightFIR / 2
	for n := range weightFIR {
		h := ratio[0]
		for k := 1; k <= grid; k++ {
			c := math.Cos(math.Pi * float64(k*(n-mid)) / grid)
			if k < grid {
				c *= 2
			}
			h += c * ratio[k]
		}
		taper := 0.5 + 0.5*math.Cos(math.Pi*float64(n-mid)/(mid+1))
		w.fir[n] = h / (2 * grid) * taper
	}
	return w
}

// recursive returns the gain of the recursive part at a fraction of the rate.
func (w *Weighting) recursive(f float64) float64 {
	z := cmplx.Exp(complex(0, -2*math.Pi*f))
	h := complex(1, 0)
	for _, s := range w.sections {
		c := func(x [3]float64) complex128 {
			return complex(x[0], 0) + z*(complex(x[1], 0)+z*complex(x[2], 0))
		}
		h *= c(s.b) / c(s.a)
	}
	return cmplx.Abs(h)
}

// GainDB returns the filter's own gain at f Hz in dB.
func (w *Weighting) GainDB(f float64, rate int) float64 {
	h := 0.0
	for n, c := range w.fir {
		h += c * math.Cos(2*math.Pi*f/float64(rate)*float64(n-weightFIR/2))
	}
	return DB(h * w.recursive(f/float64(rate)))
}

// Delay returns the delay of the correction in samples; the weighting network
// itself adds its own, which depends on frequency.
func (w *Weighting) Delay() int { return weightFIR / 2 }

// Process filters src into dst, which has the same length and may be src.
func (w *Weighting) Process(dst, src []float64) {
	if len(dst) != len(src) {
		panic("meter: dst and src differ in length")
	}
	for i, x := range src {
		if !usable(x) {
			x = 0
			w.bad++
		}
		for j := range w.sections {
			s, m := &w.sections[j], &w.memory[j]
			y := s.b[0]*x + s.b[1]*m[0] + s.b[2]*m[1] - s.a[1]*m[2] - s.a[2]*m[3]
			m[1], m[0] = m[0], x
			m[3], m[2] = m[2], y
			x = y
		}
		w.line[w.at], w.line[w.at+weightFIR] = x, x
		if w.at++; w.at == weightFIR {
			w.at = 0
		}
		past := w.line[w.at : w.at+weightFIR]
		var a, b float64
		for k := 0; k+1 < weightFIR/2; k += 2 {
			a += w.fir[k] * (past[k] + past[weightFIR-1-k])
			b += w.fir[k+1] * (past[k+1] + past[weightFIR-2-k])
		}
		dst[i] = a + b + w.fir[weightFIR/2]*past[weightFIR/2]
		if w.n++; w.n == settleEvery {
			w.settle()
		}
	}
}

// settle forgets what is below −600 dB, before it becomes denormal and slow.
func (w *Weighting) settle() {
	w.n = 0
	for _, m := range w.memory {
		for _, v := range m {
			if math.Abs(v) > 1e-30 {
				return
			}
		}
	}
	clear(w.memory)
}

// Invalid returns how many input samples were not usable and counted as zero.
func (w *Weighting) Invalid() int { return w.bad }

// Reset makes the filter as new.
func (w *Weighting) Reset() {
	clear(w.memory)
	w.line = [2 * weightFIR]float64{}
	w.at, w.n, w.bad = 0, 0, 0
}

// roots returns the roots of a real polynomial, lowest power first, conjugates
// next to each other, by the iteration of Durand and Kerner.
func roots(poly []float64) []complex128 {
	n := len(poly) - 1
	// Work on a variable scaled so that all coefficients are near one.
	scale := math.Pow(poly[0]/poly[n], 1/float64(n))
	c := make([]complex128, n+1)
	for i, p := range poly {
		c[i] = complex(p*math.Pow(scale, float64(i))/(poly[n]*math.Pow(scale, float64(n))), 0)
	}
	z := make([]complex128, n)
	for i := range z {
		z[i] = cmplx.Pow(complex(0.4, 0.9), complex(float64(i), 0))
	}
	for range 500 {
		for i := range z {
			num, den := complex(0, 0), complex(1, 0)
			for k := n; k >= 0; k-- {
				num = num*z[i] + c[k]
			}
			for j := range z {
				if j != i {
					den *= z[i] - z[j]
				}
			}
			z[i] -= num / den
		}
	}
	// Pair each root with its conjugate; two real ones pair with each other.
	for i := 0; i < n; i += 2 {
		best := i + 1
		for j := i + 1; j < n; j++ {
			if cmplx.Abs(z[j]-cmplx.Conj(z[i])) < cmplx.Abs(z[best]-cmplx.Conj(z[i])) {
				best = j
			}
		}
		z[i+1], z[best] = z[best], z[i+1]
	}
	for i := range z {
		z[i] *= complex(scale, 0)
	}
	return z
}
