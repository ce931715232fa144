package sim

import (
	"math"

	"gainwright/sim/meter"
)

// StaticGain is the gain computer of Giannoulis, Massberg and Reiss (JAES 60(6),
// 399–408, 2012): the level in dB that comes out for a level in, with threshold
// and knee width in dB and a ratio up to infinity.
func StaticGain(inDB, thresholdDB, kneeDB float64, r Ratio) float64 {
	over := inDB - thresholdDB
	slope := 1/float64(r) - 1
	switch {
	case 2*over < -kneeDB:
		return inDB
	case 2*math.Abs(over) <= kneeDB && kneeDB > 0:
		return inDB + slope*(over+kneeDB/2)*(over+kneeDB/2)/(2*kneeDB)
	}
	return inDB + slope*max(over, 0)
}

// onePole is the smoothing factor exp(−1/(τ·rate)); 0 for no smoothing.
func onePole(tauMS float64, rate float64) float64 {
	if tauMS <= 0 {
		return 0
	}
	return math.Exp(-1000 / (tauMS * rate))
}

// smoothDecoupled is the paper's smooth, decoupled peak detector: a release
// stage, then an attack stage.
type smoothDecoupled struct{ y1, y float64 }

func (d *smoothDecoupled) next(x, attack, release float64) float64 {
	d.y1 = max(x, release*d.y1+(1-release)*x)
	d.y = attack*d.y + (1-attack)*d.y1
	return d.y
}

// smoothBranching is the paper's smooth, branching peak detector.
type smoothBranching struct{ y float64 }

func (d *smoothBranching) next(x, attack, release float64) float64 {
	a := release
	if x > d.y {
		a = attack
	}
	d.y = a*d.y + (1-a)*x
	return d.y
}

// lookAhead turns wanted gains into gains that already are low enough when the
// sample arrives: the minimum over the window ahead, then the mean over the same
// window. Every minimum in the mean covers the sample, so the result never
// exceeds the wanted gain; any release that only follows downwards at once keeps
// that true. The signal must be delayed by length−1 samples.
type lookAhead struct {
	length  int
	ring    []float64 // the last length minima
	sum     float64
	pos     int
	minVal  []float64 // a queue of candidates for the minimum, rising
	minAt   []int64
	head, n int
	t       int64
	held    float64
}

func newLookAhead(maxLen int) *lookAhead {
	l := &lookAhead{
		ring:   make([]float64, maxLen),
		minVal: make([]float64, maxLen+1),
		minAt:  make([]int64, maxLen+1),
	}
	l.setLength(maxLen)
	return l
}

// setLength starts afresh with a window of n samples, 1 to the maximum.
func (l *lookAhead) setLength(n int) {
	l.length = min(max(n, 1), len(l.ring))
	for i := range l.ring {
		l.ring[i] = 1
	}
	l.sum, l.pos, l.head, l.n, l.held = float64(l.length), 0, 0, 0, 1
}

// next takes the wanted gain of the newest sample and returns the gain for the
// sample length−1 earlier.
func (l *lookAhead) next(g, release float64) float64 {
	size := len(l.minVal)
	for l.n > 0 {
		last := l.head + l.n - 1
		if last >= size {
			last -= size
		}
		if l.minVal[last] < g {
			break
		}
		l.n--
	}
	at := l.head + l.n
	if at >= size {
		at -= size
	}
	l.minVal[at], l.minAt[at] = g, l.t
	l.n++
	if l.minAt[l.head] <= l.t-int64(l.length) {
		l.head++
		if l.head == size {
			l.head = 0
		}
		l.n--
	}
	l.t++
	m := l.minVal[l.head]
	if m > l.held {
		m = release*l.held + (1-release)*m
	}
	l.held = m
	l.sum += m - l.ring[l.pos]
	l.ring[l.pos] = m
	l.pos++
	if l.pos == l.length {
		l.pos = 0
		// Summed afresh once a window, so that rounding cannot pile up.
		l.sum = 0
		for _, v := range l.ring[:l.length] {
			l.sum += v
		}
	}
	return l.sum / float64(l.length)
}

// betweenHalf is how many samples on either side the interpolator of the
// true-peak limiter reads.
const betweenHalf = 12

// betweenBeta is the shape of its window: enough that what it passes is level to
// 0.4 of the sample rate, see TruePeak of Limiter.
const betweenBeta = 5

// betweenTaps interpolates at the seven eighths between two samples: a sinc
// under a Kaiser window.
var betweenTaps = betweenFilter()

// betweenFilter is no part of the initialisation's one large function, which a browser
// would compile again for the sake of its loops.
func betweenFilter() (c [7][2 * betweenHalf]float64) {
	window := meter.Kaiser(betweenBeta)
	for p := range c {
		f := float64(p+1) / 8
		sum := 0.0
		for k := range c[p] {
			x := float64(k-betweenHalf+1) - f
			w := x / betweenHalf
			c[p][k] = math.Sin(math.Pi*x) / (math.Pi * x) * window(w)
			sum += c[p][k]
		}
		for k := range c[p] {
			c[p][k] /= sum
		}
	}
	return c
}

// betweenBound is the largest sum of magnitudes of betweenTaps: no interpolated
// value is more than that times the largest sample.
var betweenBound = func() (b float64) {
	for _, c := range betweenTaps {
		s := 0.0
		for _, v := range c {
			s += math.Abs(v)
		}
		b = max(b, s)
	}
	return b
}()

// between returns the highest magnitude at seven places between the two middle
// samples of w, or 0 if it certainly is below least.
func between(w *[2 * betweenHalf]float64, least float64) float64 {
	m := 0.0
	for _, v := range w {
		m = max(m, math.Abs(v))
	}
	if m*betweenBound < least {
		return 0
	}
	m = 0
	for p := range betweenTaps {
		c, s := &betweenTaps[p], 0.0
		for k, v := range w {
			s += c[k] * v
		}
		m = max(m, math.Abs(s))
	}
	return m
}
