package identify

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	lookLength = 1 << 14 // frames compared at one place
	lookMargin = 1 << 13 // how far around the coarse delay
	mostLooks  = 16
	mostDrift  = 300e-6
	leastAlike = 0.25 // correlation of envelopes
	// Of a correlation's peak over its rms: two talkers stay under 10, one talker recorded
	// twice reached 13 to 27 in trials, a steady buzz 9. With less, three places that do not
	// overlap have to agree to a frame.
	leastPeak = 5
	surePeak  = 11
	nearLine  = 1.0 // frames off the line that count as on it
)

// An Alignment says where frame i of the first recording lies in the second:
// at i·(1+Drift) + Delay.
type Alignment struct {
	Delay    float64 // frames
	Drift    float64 // of the clocks, a ratio: 1e-6 is 1 ppm
	Inverted bool
	SameTime bool // whole frames apart and no drift: two channels of one converter
	Looks    int  // places that agree
	Seconds  float64
	// Error is the rms distance of these places from the line, frames; DriftError the
	// standard error of Drift.
	Error, DriftError float64
}

// At is the place of frame i in the second recording.
func (a *Alignment) At(i int64) float64 { return float64(i)*(1+a.Drift) + a.Delay }

// Align finds the time between two recordings of one sound.
func Align(first, second Recording, a, b *Survey) (*Alignment, error) {
	if a.Rate != b.Rate {
		return nil, faultf("the recordings run at %d and %d Hz: a pair needs one rate", a.Rate, b.Rate)
	}
	coarse, alike := coarseDelay(a.Envelope, b.Envelope)
	if alike < leastAlike {
		return nil, faultf("the recordings do not hold the same sound (likeness %.2f of 1): record one sound twice, well above the noise", max(alike, 0))
	}
	hop := float64(max(1, a.Rate/envelopeRate))
	places := lookPlaces(a, int64(float64(coarse)*hop), b.Frames)
	if len(places) == 0 {
		return nil, Fault("the recordings overlap too little to be compared: record more of one sound")
	}
	looks, err := compareAt(first, second, places, int64(float64(coarse)*hop))
	if err != nil {
		return nil, err
	}
	al := lineThrough(looks)
	if al == nil {
		return nil, Fault("the recordings cannot be laid over one another: their sounds differ, are drowned in noise, or one was edited: record one sound twice, whole and well above the noise")
	}
	al.Seconds = float64(places[len(places)-1]-places[0]) / float64(a.Rate)
	return al, nil
}

// longEnvelope is how many values are compared at once at most: of more, the means of fives
// are, and then their neighbourhood, since the transforms of an hour would fill memory.
const (
	longEnvelope = 600 * envelopeRate
	thinning     = 5
)

// coarseDelay is by how many values the envelope b is late, and how alike they are then.
func coarseDelay(a, b []float32) (int, float64) {
	x, y := shape(a), shape(b)
	if max(len(x), len(y)) <= longEnvelope {
		return correlate(x, y)
	}
	about, _ := correlate(thinned(x), thinned(y))
	best, like := 0, math.Inf(-1)
	for d := thinning * (about - 2); d <= thinning*(about+2); d++ {
		sum := 0.0
		for i := max(0, -d); i < min(len(x), len(y)-d); i++ {
			sum += x[i] * y[i+d]
		}
		if sum > like {
			best, like = d, sum
		}
	}
	return best, like / math.Sqrt(max(energy(x)*energy(y), 1e-30))
}

// thinned are the means of so many neighbours each.
func thinned(x []float64) []float64 {
	y := make([]float64, len(x)/thinning)
	for i := range y {
		for _, v := range x[i*thinning : (i+1)*thinning] {
			y[i] += v / thinning
		}
	}
	return y
}

// correlate is by how many values y is late, and how alike they are then.
func correlate(x, y []float64) (int, float64) {
	n := 1
	for n < len(x)+len(y) {
		n *= 2
	}
	f := fourier.NewFFT(n)
	pad := func(v []float64) []float64 { return append(v, make([]float64, n-len(v))...) }
	ex, ey := energy(x), energy(y)
	cx, cy := f.Coefficients(nil, pad(x)), f.Coefficients(nil, pad(y))
	for i := range cx {
		cx[i] = cmplx.Conj(cx[i]) * cy[i]
	}
	r := f.Sequence(nil, cx)
	best := 0
	for i, v := range r {
		if v > r[best] {
			best = i
		}
	}
	like := r[best] / float64(n) / math.Sqrt(max(ex*ey, 1e-30))
	if best > n/2 {
		best -= n
	}
	return best, like
}

func energy(x []float64) (e float64) {
	for _, v := range x {
		e += v * v
	}
	return e
}

// shape is an envelope in dB without its slow part, so that a gain does not matter, and
// with a floor, so that silence does not outweigh sound.
func shape(e []float32) []float64 {
	top := float32(-200)
	for _, v := range e {
		top = max(top, v)
	}
	x := make([]float64, len(e))
	const half = envelopeRate
	sum := 0.0
	level := func(i int) float64 { return float64(max(e[i], top-50)) }
	n := 0
	for i := 0; i < min(half, len(e)); i++ {
		sum += level(i)
		n++
	}
	for i := range e {
		if j := i + half; j < len(e) {
			sum += level(j)
			n++
		}
		if j := i - half - 1; j >= 0 {
			sum -= level(j)
			n--
		}
		x[i] = level(i) - sum/float64(n)
	}
	return x
}

// lookPlaces chooses stretches of the first recording, spread over it, that are loud and
// not clipped where that can be had, and that change, since a steady tone fits anywhere.
func lookPlaces(a *Survey, delay, framesB int64) (places []int64) {
	hop := int64(max(1, a.Rate/envelopeRate))
	from, to := max(0, -delay+lookMargin), min(a.Frames, framesB-delay-lookMargin)-lookLength
	if to <= from {
		from, to = max(0, -delay), min(a.Frames, framesB-delay)-lookLength
	}
	if to < from {
		return nil
	}
	span := max(lookLength, (to-from)/mostLooks)
	ceiling := dB(a.Peak()) - 4
	for k := int64(0); k < mostLooks; k++ {
		best, at := math.Inf(-1), int64(-1)
		first := from + k*span
		if n := len(places); n > 0 {
			first = max(first, places[n-1]+lookLength)
		}
		for p := first; p < min(to+1, from+(k+1)*span); p += max(hop, span/64) {
			i, j := int(p/hop), int((p+lookLength)/hop)
			if j >= len(a.Envelope) {
				break
			}
			lo, hi, sum := math.Inf(1), math.Inf(-1), 0.0
			for _, e := range a.Envelope[i:j] {
				v := float64(e)
				lo, hi = min(lo, v), max(hi, v)
				sum += v
			}
			score := sum/float64(j-i) + min(hi-lo, 20)
			if hi > ceiling { // loud enough to be near the ceiling
				score -= 30
			}
			if score > best {
				best, at = score, p
			}
		}
		if at >= 0 && best > dB(a.Noise)-40 {
			places = append(places, at)
		}
	}
	return places
}

// A look is the delay that one place tells.
type look struct {
	at    float64 // frame of the first recording
	delay float64 // frames
	sign  float64
	alike float64
}

func compareAt(first, second Recording, places []int64, delay int64) ([]look, error) {
	ta, err := newTape(first)
	if err != nil {
		return nil, err
	}
	tb, err := newTape(second)
	if err != nil {
		return nil, err
	}
	n := 2 * (lookLength + 2*lookMargin)
	f := fourier.NewFFT(n)
	x, y := make([]float64, n), make([]float64, n)
	var cx, cy []complex128
	var out []look
	for _, p := range places {
		a, err := ta.window(p, p+lookLength)
		if err != nil {
			return nil, err
		}
		from := p + delay - lookMargin
		b, err := tb.window(from, from+lookLength+2*lookMargin)
		if err != nil {
			return nil, err
		}
		clear(x)
		clear(y)
		copy(x, a)
		if from < 0 && tb.start > from {
			copy(y[tb.start-from:], b)
		} else {
			copy(y, b)
		}
		cx, cy = f.Coefficients(cx, x), f.Coefficients(cy, y)
		// Half whitened: sharper than the plain correlation, less noisy than the phase's.
		for i := range cx {
			c := cmplx.Conj(cx[i]) * cy[i]
			cx[i] = c / complex(math.Sqrt(cmplx.Abs(c))+1e-12, 0)
		}
		r := f.Sequence(nil, cx)
		if l, ok := peakOf(r[:2*lookMargin+1]); ok && l.alike > leastPeak {
			l.at = float64(p) + lookLength/2
			l.delay += float64(delay - lookMargin)
			out = append(out, l)
		}
	}
	return out, nil
}

// peakOf finds the largest magnitude of a correlation, to a fraction of a frame.
func peakOf(r []float64) (l look, ok bool) {
	best := 0
	e := 0.0
	for i, v := range r {
		if math.Abs(v) > math.Abs(r[best]) {
			best = i
		}
		e += v * v
	}
	if best == 0 || best == len(r)-1 || e == 0 {
		return l, false
	}
	l.sign = math.Copysign(1, r[best])
	y0, y1, y2 := l.sign*r[best-1], l.sign*r[best], l.sign*r[best+1]
	d := 0.0
	if c := y0 - 2*y1 + y2; c < 0 {
		d = min(max(0.5*(y0-y2)/c, -0.5), 0.5)
	}
	l.delay = float64(best) + d
	l.alike = y1 / math.Sqrt(e/float64(len(r)))
	return l, true
}

// lineThrough is the line on which most of the looks lie; nil if too few agree.
func lineThrough(looks []look) *Alignment {
	var on []look
	try := func(d0, drift, sign float64) {
		var list []look
		for _, l := range looks {
			if l.sign == sign && math.Abs(l.delay-d0-drift*l.at) <= nearLine {
				list = append(list, l)
			}
		}
		if len(list) > len(on) {
			on = list
		}
	}
	for i, p := range looks {
		try(p.delay, 0, p.sign)
		for _, q := range looks[i+1:] {
			if drift := (q.delay - p.delay) / (q.at - p.at); q.sign == p.sign && math.Abs(drift) <= mostDrift {
				try(p.delay-drift*p.at, drift, p.sign)
			}
		}
	}
	like := 0.0
	for _, l := range on {
		like += l.alike / float64(len(on))
	}
	if len(on) == 0 || 3*len(on) < len(looks) || len(on) < 3 && (len(looks) > 2 || like < surePeak) {
		return nil
	}
	al := &Alignment{Looks: len(on), Inverted: on[0].sign < 0}
	slices.SortFunc(on, func(a, b look) int { return int(math.Copysign(1, a.delay-b.delay)) })
	whole := math.Round(on[len(on)/2].delay)
	off := 0.0
	for _, l := range on {
		off = max(off, math.Abs(l.delay-whole))
	}
	if off < 0.08 {
		al.Delay, al.SameTime, al.Error = whole, true, off
		return al
	}
	al.fit(on)
	return al
}

// fit lays the line through the looks by least squares.
func (a *Alignment) fit(on []look) {
	n := float64(len(on))
	mx, my := 0.0, 0.0
	for _, l := range on {
		mx += l.at / n
		my += l.delay / n
	}
	xx, xy := 0.0, 0.0
	for _, l := range on {
		xx += (l.at - mx) * (l.at - mx)
		xy += (l.at - mx) * (l.delay - my)
	}
	if len(on) > 2 && xx > 0 {
		a.Drift = xy / xx
	}
	a.Delay = my - a.Drift*mx
	for _, l := range on {
		d := l.delay - a.Delay - a.Drift*l.at
		a.Error += d * d / n
	}
	a.Error = math.Sqrt(a.Error)
	if xx > 0 && len(on) > 2 {
		a.DriftError = max(a.Error, 0.03) * math.Sqrt(n/(n-2)) / math.Sqrt(xx)
	}
}
