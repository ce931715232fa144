package meter

import (
	"math"
	"math/cmplx"
)

// The analogue prototype behind the 48 kHz coefficients of ITU-R BS.1770-4,
// Annex 1, Tables 1 and 2: a second-order high shelf for the head and a
// second-order high-pass. Transforming it at another rate gives that rate's
// filter; at 48 kHz it gives back the tables to their last printed digit.
const (
	shelfHz    = 1681.974450955533
	shelfDB    = 3.999843853973347
	shelfQ     = 0.7071752369554196
	shelfSplit = 0.4996667741545416 // exponent of the shelf's band gain
	highHz     = 38.13547087602444
	highQ      = 0.5003270373238773
)

// kCoef holds the two sections, y = Σb·x − Σa·y. The high-pass has the
// numerator 1, −2, 1.
type kCoef struct {
	b0, b1, b2, a1, a2 float64 // shelf
	c1, c2             float64 // high-pass
}

func kCoefficients(rate int) kCoef {
	var k kCoef
	t := math.Tan(math.Pi * shelfHz / float64(rate))
	vh := math.Pow(10, shelfDB/20)
	vb := math.Pow(vh, shelfSplit)
	a0 := 1 + t/shelfQ + t*t
	k.b0 = (vh + vb*t/shelfQ + t*t) / a0
	k.b1 = 2 * (t*t - vh) / a0
	k.b2 = (vh - vb*t/shelfQ + t*t) / a0
	k.a1 = 2 * (t*t - 1) / a0
	k.a2 = (1 - t/shelfQ + t*t) / a0
	t = math.Tan(math.Pi * highHz / float64(rate))
	a0 = 1 + t/highQ + t*t
	k.c1 = 2 * (t*t - 1) / a0
	k.c2 = (1 - t/highQ + t*t) / a0
	return k
}

// KGainDB returns the gain of the K-weighting filter at f Hz and a sample rate,
// in dB. Source: ITU-R BS.1770-4 Annex 1.
func KGainDB(f float64, rate int) float64 {
	k := kCoefficients(rate)
	z := cmplx.Exp(complex(0, -2*math.Pi*f/float64(rate)))
	c := func(x float64) complex128 { return complex(x, 0) }
	h := (c(k.b0) + z*(c(k.b1)+z*c(k.b2))) / (1 + z*(c(k.a1)+z*c(k.a2)))
	h *= (1 + z*(-2+z)) / (1 + z*(c(k.c1)+z*c(k.c2)))
	return DB(cmplx.Abs(h))
}

// kState is the memory of one channel: inputs, shelf outputs and high-pass
// outputs one and two samples ago.
type kState struct{ x1, x2, v1, v2, y1, y2 float64 }

// settle forgets what is too small to matter (−600 dB), so that the silence
// after a sound does not end in denormal numbers, which are slow.
func (s *kState) settle() {
	const tiny = 1e-30
	if math.Abs(s.x1) < tiny && math.Abs(s.x2) < tiny && math.Abs(s.v1) < tiny && math.Abs(s.v2) < tiny &&
		math.Abs(s.y1) < tiny && math.Abs(s.y2) < tiny {
		*s = kState{}
	}
}

// power filters x, adds the squares of the output to sum and returns it with
// the number of unusable samples.
//
// The direct form is written so that only one product and one difference per
// section wait for the previous output.
func (s *kState) power(k *kCoef, x []float64, sum float64) (float64, int) {
	x1, x2, v1, v2, y1, y2 := s.x1, s.x2, s.v1, s.v2, s.y1, s.y2
	b0, b1, b2, a1, a2, c1, c2 := k.b0, k.b1, k.b2, k.a1, k.a2, k.c1, k.c2
	bad := 0
	for _, x0 := range x {
		if magBits(x0) >= invalidBits {
			x0 = 0
			bad++
		}
		v0 := b0*x0 + b1*x1 + b2*x2 - a2*v2 - a1*v1
		y0 := v0 - 2*v1 + v2 - c2*y2 - c1*y1
		sum += y0 * y0
		x2, x1 = x1, x0
		v2, v1 = v1, v0
		y2, y1 = y1, y0
	}
	*s = kState{x1, x2, v1, v2, y1, y2}
	return sum, bad
}

// settleEvery is how often a filter looks for denormals, in samples: counted
// from the start of the stream, so that block sizes do not matter.
const settleEvery = 512

// KWeight is the K-weighting filter of ITU-R BS.1770-4 for one channel.
type KWeight struct {
	k   kCoef
	s   kState
	n   int
	bad int
}

// NewKWeight returns a K-weighting filter. It panics on a rate that
// [CheckRate] refuses.
func NewKWeight(rate int) *KWeight {
	mustRate(rate)
	return &KWeight{k: kCoefficients(rate)}
}

// Process filters src into dst, which has the same length and may be src.
func (f *KWeight) Process(dst, src []float64) {
	if len(dst) != len(src) {
		panic("meter: dst and src differ in length")
	}
	b0, b1, b2, a1, a2, c1, c2 := f.k.b0, f.k.b1, f.k.b2, f.k.a1, f.k.a2, f.k.c1, f.k.c2
	for len(src) > 0 {
		m := min(len(src), settleEvery-f.n)
		x1, x2, v1, v2, y1, y2 := f.s.x1, f.s.x2, f.s.v1, f.s.v2, f.s.y1, f.s.y2
		out := dst[:m]
		for i, x0 := range src[:m] {
			if magBits(x0) >= invalidBits {
				x0 = 0
				f.bad++
			}
			v0 := b0*x0 + b1*x1 + b2*x2 - a2*v2 - a1*v1
			y0 := v0 - 2*v1 + v2 - c2*y2 - c1*y1
			out[i] = y0
			x2, x1 = x1, x0
			v2, v1 = v1, v0
			y2, y1 = y1, y0
		}
		f.s = kState{x1, x2, v1, v2, y1, y2}
		if f.n += m; f.n == settleEvery {
			f.s.settle()
			f.n = 0
		}
		dst, src = dst[m:], src[m:]
	}
}

// Invalid returns how many input samples were not usable and counted as zero.
func (f *KWeight) Invalid() int { return f.bad }

// Reset makes the filter as new.
func (f *KWeight) Reset() { f.s, f.n, f.bad = kState{}, 0, 0 }
