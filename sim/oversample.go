package sim

import (
	"fmt"
	"math"

	"gainwright/sim/meter"
)

// Half-band filters, two lengths: the first doubling needs a steep one, the
// second has an octave to itself. Windowed-sinc design (Kaiser), better than 95 dB over 0.44 of the lower rate.
const (
	steepPairs  = 26 // 4·26−1 = 103 taps, every second one zero
	gentlePairs = 6  // 23 taps
	steepWin    = 2 * steepPairs
	gentleWin   = 2 * gentlePairs
	maxPairs    = steepPairs
	chunk       = 256 // the longest run of samples processed at once
	maxDelay    = 57  // the longest delay of an oversampler, in whole samples
)

var (
	steepTaps  = halfBand(steepPairs, 9.8)
	gentleTaps = halfBand(gentlePairs, 10.5)
)

// halfBand returns the non-zero side taps c[k] at offsets ±(2k+1) of a half-band
// low-pass whose centre tap is ½; the side taps are scaled so that the gain at
// 0 Hz is exactly 1.
func halfBand(pairs int, beta float64) []float64 {
	c, window := make([]float64, pairs), meter.Kaiser(beta)
	sum := 0.0
	for k := range c {
		o := float64(2*k + 1)
		c[k] = math.Sin(math.Pi*o/2) / (math.Pi * o) * window(o/float64(2*pairs))
		sum += 2 * c[k]
	}
	for k := range c {
		c[k] *= 0.5 / sum
	}
	return c
}

// steepDot is the symmetric inner product of the steep filter over its window:
// written out over fixed-size arrays so that no bounds are checked, with two sums
// so that the additions overlap.
func steepDot(c *[steepPairs]float64, w *[steepWin]float64) float64 {
	var a, b float64
	for k := 0; k < steepPairs; k += 2 {
		a += c[k] * (w[steepPairs-1-k] + w[steepPairs+k])
		b += c[k+1] * (w[steepPairs-2-k] + w[steepPairs+1+k])
	}
	return a + b
}

// steepTwo is steepDot over the window and over the next, to the last bit: neighbours
// share all but the ends of what they read.
func steepTwo(c *[steepPairs]float64, w *[steepWin + 1]float64) (float64, float64) {
	var a, b, a2, b2 float64
	left, right := w[steepPairs], w[steepPairs]
	for k := 0; k < steepPairs; k += 2 {
		c0, c1 := c[k], c[k+1]
		l, r := w[steepPairs-1-k], w[steepPairs+1+k]
		a += c0 * (l + right)
		a2 += c0 * (left + r)
		left, right = w[steepPairs-2-k], w[steepPairs+2+k]
		b += c1 * (left + r)
		b2 += c1 * (l + right)
	}
	return a + b, a2 + b2
}

func gentleDot(c *[gentlePairs]float64, w *[gentleWin]float64) float64 {
	a := c[0]*(w[5]+w[6]) + c[1]*(w[4]+w[7]) + c[2]*(w[3]+w[8])
	b := c[3]*(w[2]+w[9]) + c[4]*(w[1]+w[10]) + c[5]*(w[0]+w[11])
	return a + b
}

// gentleTwo is gentleDot over the window and over the next, to the last bit.
func gentleTwo(c *[gentlePairs]float64, w *[gentleWin + 1]float64) (float64, float64) {
	a := c[0]*(w[5]+w[6]) + c[1]*(w[4]+w[7]) + c[2]*(w[3]+w[8])
	b := c[3]*(w[2]+w[9]) + c[4]*(w[1]+w[10]) + c[5]*(w[0]+w[11])
	a2 := c[0]*(w[6]+w[7]) + c[1]*(w[5]+w[8]) + c[2]*(w[4]+w[9])
	b2 := c[3]*(w[3]+w[10]) + c[4]*(w[2]+w[11]) + c[5]*(w[1]+w[12])
	return a + b, a2 + b2
}

// halver doubles or halves the rate by one half-band filter. Its delay in each
// direction is 2·pairs−1 samples of the higher rate.
type halver struct {
	steep bool
	hist  []float64 // the window's past, then the block
	back  []float64 // the same for the delayed phase of a decimator
	n     int       // length of the past
}

func newHalver(steep bool, block int) *halver {
	n := gentleWin
	if steep {
		n = steepWin
	}
	return &halver{steep: steep, hist: make([]float64, n+block), back: make([]float64, n+block), n: n}
}

func (h *halver) reset() {
	clear(h.hist)
	clear(h.back)
}

// up writes 2·len(x) samples to y: first the filtered phase, then the delayed.
func (h *halver) up(y, x []float64) {
	copy(h.hist[h.n:], x)
	buf := h.hist[:h.n+len(x)]
	// For input m the filtered phase sits on x[m−2p+1 .. m], the delayed is x[m−p+1].
	m := 0
	if h.steep {
		c := (*[steepPairs]float64)(steepTaps)
		for ; m+2 <= len(x); m += 2 {
			w, four := (*[steepWin + 1]float64)(buf[m+1:]), (*[4]float64)(y[2*m:])
			a, b := steepTwo(c, w)
			four[0], four[1], four[2], four[3] = 2*a, w[steepPairs], 2*b, w[steepPairs+1]
		}
		if m < len(x) {
			w := (*[steepWin]float64)(buf[m+1:])
			y[2*m], y[2*m+1] = 2*steepDot(c, w), w[steepPairs]
		}
	} else {
		c := (*[gentlePairs]float64)(gentleTaps)
		for ; m+2 <= len(x); m += 2 {
			w, four := (*[gentleWin + 1]float64)(buf[m+1:]), (*[4]float64)(y[2*m:])
			a, b := gentleTwo(c, w)
			four[0], four[1], four[2], four[3] = 2*a, w[gentlePairs], 2*b, w[gentlePairs+1]
		}
		if m < len(x) {
			w := (*[gentleWin]float64)(buf[m+1:])
			y[2*m], y[2*m+1] = 2*gentleDot(c, w), w[gentlePairs]
		}
	}
	copy(h.hist[:h.n], buf[len(x):])
}

// down writes len(x)/2 samples to y; len(x) is even.
func (h *halver) down(y, x []float64) {
	n := len(x) / 2
	hist, back := h.hist[h.n:h.n+n], h.back[h.n:h.n+n]
	back = back[:len(hist)]
	for m := range hist {
		two := (*[2]float64)(x[2*m:])
		hist[m], back[m] = two[0], two[1]
	}
	buf, bb := h.hist[:h.n+n], h.back[:h.n+n]
	// The output m sits on the even samples m−2p+1 .. m and the odd sample m−p.
	odd, m := bb[h.n/2:], 0
	if h.steep {
		c := (*[steepPairs]float64)(steepTaps)
		for ; m+2 <= n; m += 2 {
			a, b := steepTwo(c, (*[steepWin + 1]float64)(buf[m+1:]))
			two, o := (*[2]float64)(y[m:]), (*[2]float64)(odd[m:])
			two[0], two[1] = a+0.5*o[0], b+0.5*o[1]
		}
		if m < n {
			y[m] = steepDot(c, (*[steepWin]float64)(buf[m+1:])) + 0.5*odd[m]
		}
	} else {
		c := (*[gentlePairs]float64)(gentleTaps)
		for ; m+2 <= n; m += 2 {
			a, b := gentleTwo(c, (*[gentleWin + 1]float64)(buf[m+1:]))
			two, o := (*[2]float64)(y[m:]), (*[2]float64)(odd[m:])
			two[0], two[1] = a+0.5*o[0], b+0.5*o[1]
		}
		if m < n {
			y[m] = gentleDot(c, (*[gentleWin]float64)(buf[m+1:])) + 0.5*odd[m]
		}
	}
	copy(h.hist[:h.n], buf[n:])
	copy(h.back[:h.n], bb[n:])
}

// oversampler carries the analogue part at 4, 2 or 1 times the chain's rate.
type oversampler struct {
	factor   int
	phase    int // which of the factor samples is the sampling instant
	tapDelay int // whole samples from the input to that instant
	delay    int // whole samples from the input to the converter
	u1, u2   *halver
	d1, d2   *halver
	x2       []float64 // at twice the rate
	held     float64   // one sample at twice the rate: makes the delay whole
}

func newOversampler(rate int) (*oversampler, error) {
	switch {
	case rate < 8000 || rate > 192000:
		return nil, fmt.Errorf("a chain runs at 8000 to 192000 Hz, not %d", rate)
	case rate <= 50000:
		// Up: 2·(2·26−1) + 11 = 113 = 4·28+1 samples at four times the rate. Down
		// the same, 226 in all; one held sample at twice the rate makes that 228,
		// 57 whole samples.
		return &oversampler{
			factor: 4, phase: 1, tapDelay: 28, delay: 57,
			u1: newHalver(true, chunk), u2: newHalver(false, 2*chunk),
			d1: newHalver(true, chunk), d2: newHalver(false, 2*chunk),
			x2: make([]float64, 2*chunk),
		}, nil
	case rate <= 100000:
		// Up: 51 = 2·25+1 samples at twice the rate, down the same.
		return &oversampler{
			factor: 2, phase: 1, tapDelay: 25, delay: 51,
			u1: newHalver(true, chunk), d1: newHalver(true, chunk),
		}, nil
	}
	return &oversampler{factor: 1}, nil
}

func (o *oversampler) reset() {
	for _, h := range []*halver{o.u1, o.u2, o.d1, o.d2} {
		if h != nil {
			h.reset()
		}
	}
	o.held = 0
}

// up writes factor·len(x) samples to y.
func (o *oversampler) up(y, x []float64) {
	switch o.factor {
	case 4:
		o.u1.up(o.x2, x)
		o.u2.up(y, o.x2[:2*len(x)])
	case 2:
		o.u1.up(y, x)
	default:
		copy(y, x)
	}
}

// down writes len(y) samples from the factor·len(y) of x.
func (o *oversampler) down(y, x []float64) {
	switch o.factor {
	case 4:
		n := 2 * len(y)
		o.d2.down(o.x2, x)
		last := o.x2[n-1]
		copy(o.x2[1:n], o.x2[:n-1])
		o.x2[0] = o.held
		o.held = last
		o.d1.down(y, o.x2[:n])
	case 2:
		o.d1.down(y, x)
	default:
		copy(y, x)
	}
}
