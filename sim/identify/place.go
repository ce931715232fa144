package identify

import (
	"math"
	"slices"
)

// A Place is where in the chain a limiter acts.
type Place string

const (
	None      Place = "none" // it did nothing
	Before    Place = "before_converter"
	After     Place = "after_converter"
	Both      Place = "both"
	Automatic Place = "automatic_level" // a gain that drifts and has no threshold
	Undecided Place = "unknown"
)

const (
	leastStretches = 10
	leastOdds      = 20.0
	mostOdds       = 1e6
	// Stretches of one recording are no independent draws: their likelihoods count half.
	temper = 0.5
	// The share of stretches that tell anything, such as those in which the attack bends
	// the wave.
	astray = 0.1
	// On its way from the converter's ceiling a wave is as round as its flanks foretell,
	// within a factor that talk and noise spread by about 1.8; flattened, it is straight
	// but for a gain that moves. Both are choices, tried on emulated devices.
	roundMedian = 0.85
	roundSpread = 0.6
	flatSpread  = 0.12
	bothPrior   = 0.03
	// Where the second recording is quieter before it reaches the converter, so much of each
	// top is left to it as it was: of stretches that stay round in half and more by that alone
	// nothing is told.
	mostOwnTop = 0.5
	ownSpread  = 0.25 // of that roundness
	leastSteps = 5
	// A stage that stops closer to full scale, dB, leaves a limiter nothing to save. Between
	// samples a flank is found a little too low.
	leastStep      = 0.12
	leastStepTwice = 0.3
	mostTops       = 1 << 14 // stretches that are kept of a recording; of a longer one evenly fewer
)

var shares = [...]float64{0.3, 0.4, 0.5, 0.6, 0.7}

// A top is what a stretch tells in which the first recording is clipped: how round the second
// is, as a part of what the flanks foretell, with the standard error of that, and by how many
// dB the wave would have passed the ceiling.
// step is by how many dB the second is higher within the stretch, against the first, than on
// its flanks; NaN where that is not known.
type top struct{ roundness, se, over, step float32 }

// evidence gathers the tops.
type evidence struct {
	tops   []top
	stride int // of so many one is kept
	seen   int
	own    int // stretches in which the second recording stands at the ceiling, too
}

func (e *evidence) add(roundness, se, over, step float64) {
	e.seen++
	if e.stride = max(e.stride, 1); e.seen%e.stride != 0 {
		return
	}
	if len(e.tops) == mostTops {
		for i := range mostTops / 2 {
			e.tops[i] = e.tops[2*i+1]
		}
		e.tops = e.tops[:mostTops/2]
		e.stride *= 2
		if e.seen%e.stride != 0 {
			return
		}
	}
	e.tops = append(e.tops, top{float32(roundness), float32(se), float32(over), float32(step)})
}

// A weighing is what the tops say of the limiter's place.
type weighing struct {
	n           int // stretches that tell anything
	flat, round int // that are clearly one or the other
	after       float64
	before      float64
	mixed       [len(shares)]float64 // log likelihoods
	steps       []float64            // of those that are clearly flat, dB
}

// weigh weighs all tops. The gain, in dB, is that of the second recording over the first where
// the limiter rests: where it lies below 0 it may lie before the converter, and then the
// second reaches the ceiling later.
func (e *evidence) weigh(gain float64) *weighing {
	w := &weighing{}
	for _, t := range e.tops {
		own := ownTop(-gain, float64(t.over))
		if own > mostOwnTop {
			continue
		}
		flat := w.flat
		w.add(float64(t.roundness), float64(t.se), own)
		if w.flat > flat && t.step == t.step {
			w.steps = append(w.steps, float64(t.step))
		}
	}
	w.n, w.flat, w.round = w.n*max(e.stride, 1), w.flat*max(e.stride, 1), w.round*max(e.stride, 1)
	return w
}

// ownTop is how round a top is that would have passed the ceiling by over dB, and does so
// later by less dB: of a parabola, cut off at a part of its height. It is measured as
// roundness does.
func ownTop(less, over float64) float64 {
	if less <= 0 {
		return 0
	}
	q := (fromDB(less) - 1) / max(fromDB(over)-1, 1e-6)
	if q >= 1 {
		return 1
	}
	c := math.Sqrt(1 - q) // where it is cut off, of half its width
	sum := func(t float64) float64 { return t - t*t*t/3 }
	squares := func(t float64) float64 { return t - 2*t*t*t/3 + t*t*t*t*t/5 }
	mean := q*c + sum(1) - sum(c)
	return math.Sqrt((2*(q*q*c+squares(1)-squares(c)) - 2*mean*mean) / (8.0 / 45))
}

// add weighs a stretch; own is how round it is without any limiter.
func (w *weighing) add(roundness, se, own float64) {
	wide := astray / 6
	spread := math.Hypot(flatSpread+ownSpread*own, se)
	f := (1-astray)*normal(roundness-own, spread)/(0.5*math.Erfc(-own/spread/math.Sqrt2)) + wide // no less than 0
	r := (1-astray)*rounded(roundness, se) + wide
	w.n++
	switch l := math.Log(r / f); {
	case l > 1:
		w.round++
	case l < -1:
		w.flat++
	}
	w.after += math.Log(f)
	w.before += math.Log(r)
	for i, s := range shares {
		w.mixed[i] += math.Log(s*f + (1-s)*r)
	}
}

func normal(x, s float64) float64 { return math.Exp(-x*x/2/s/s) / s / math.Sqrt(2*math.Pi) }

// rounded is the density of a roundness that is log-normal, with an error of measurement.
func rounded(x, se float64) float64 {
	if se < 0.05 {
		if x <= 0 {
			return 0
		}
		return normal(math.Log(x/roundMedian), roundSpread) / x
	}
	p := 0.0
	const step = 0.2
	for z := -2.6; z <= 2.6; z += step {
		p += step * normal(z, 1) * normal(x-roundMedian*math.Exp(roundSpread*z), se)
	}
	return p
}

// stopped is by how many dB over the ceiling of the first recording an earlier stage stops the
// second: what is flat in it then stands higher than its flanks foretell, and all by as much,
// which neither one limiter behind the converter brings about nor two on either side. A gain,
// dB, that lies below 0 before the converter does, by itself. 0 where nothing shows that.
func (w *weighing) stopped(sameTime bool, gain float64) float64 {
	n := len(w.steps)
	if n < leastSteps {
		return 0
	}
	slices.Sort(w.steps)
	m, wide := w.steps[n/2], w.steps[3*n/4]-w.steps[n/4]
	least := leastStep
	if !sameTime {
		least = leastStepTwice
	}
	if math.Abs(m+gain) < leastStepTwice || m < max(least, 2*wide/math.Sqrt(float64(n))) || wide > max(least, m/4) {
		return 0
	}
	return m
}

// judge is the likeliest place, and the odds against the next.
func (w *weighing) judge() (Place, float64) {
	mixed := math.Inf(-1)
	for _, m := range w.mixed {
		mixed = max(mixed, m)
	}
	mixed += math.Log(bothPrior) / temper
	best, place := w.after, After
	next := max(w.before, mixed)
	if w.before > best {
		best, place, next = w.before, Before, max(w.after, mixed)
	}
	if mixed > best {
		best, place, next = mixed, Both, max(w.before, w.after)
	}
	return place, min(math.Exp(min(temper*(best-next), 20)), mostOdds)
}

// A stretch is one in which the first recording stands at its ceiling.
type stretch struct {
	from, n int     // samples
	sign    float64 // of the half-wave
	in, out float64 // slopes to it and from it, a sample, positive
}

// stretchAt finds the stretch that begins at sample i of x, if there is one: at least
// three samples within slack of the ceiling, with flanks that climb. next is where to
// look on.
func stretchAt(x []float64, i int, ceiling, slack float64) (s stretch, next int, ok bool) {
	s = stretch{from: i, sign: math.Copysign(1, x[i])}
	if math.Abs(x[i]) < ceiling-slack {
		return s, i + 1, false
	}
	j := i + 1
	for j < len(x) && s.sign*x[j] >= ceiling-slack {
		j++
	}
	s.n = j - i
	if s.n < leastFlat || i < 2 || j+1 >= len(x) {
		return s, j, false
	}
	s.in, s.out = s.sign*(x[i-1]-x[i-2]), s.sign*(x[j]-x[j+1])
	return s, j, min(s.in, s.out) > 4*slack
}

// over is by how many dB the wave would have passed the ceiling, by the parabola that goes with
// its flanks.
func (s *stretch) over(ceiling float64) float64 {
	return dB(1 + (s.in+s.out)/2*float64(s.n+1)/4/ceiling)
}

// roundness is how far y, the second recording within a stretch, is from a straight line,
// against the arch that the stretch's flanks foretell: 0 is straight, 1 as foretold; with
// its standard error, sigma being the second's noise. What sags towards zero, as when a
// limiter attacks, is no arch. Before it stands the gain at the stretch's ends.
func (s *stretch) roundness(y []float64, ceiling, sigma float64) (gain, rho, se float64) {
	m := len(y)
	gain = s.sign * (y[0] + y[m-1]) / 2 / ceiling
	mid := float64(m-1) / 2
	mean, slope, tt := 0.0, 0.0, 0.0
	for k, v := range y {
		t := float64(k) - mid
		mean += v / float64(m)
		slope += t * v
		tt += t * t
	}
	slope /= tt
	num, den := 0.0, 0.0
	for k, v := range y {
		t := float64(k) - mid
		w := t*t - tt/float64(m)
		num += w * s.sign * v
		den += w * w
	}
	arch := num / den
	rest := 0.0
	for k, v := range y {
		t := float64(k) - mid
		d := v - mean - slope*t - s.sign*arch*(t*t-tt/float64(m))
		rest += d * d
	}
	rest = max(rest-sigma*sigma*float64(max(m-3, 0)), 0)
	foretold := gain * (s.in + s.out) / float64(s.n+2) / 2
	arch = max(-arch, 0) / foretold
	return gain, math.Sqrt(arch*arch + rest/den/foretold/foretold), sigma / math.Sqrt(den) / math.Abs(foretold)
}

// stepOf is by how many dB the second recording is higher within a stretch, against the first,
// than on the flanks on either side. What was flattened behind a gain goes on by that gain:
// nothing. Where the second is flat because an earlier stage stopped it, above the ceiling
// that the first met, it has gone on rising up to there. x is the first recording, of which
// the stretch begins at frame start+s.from; y gives the second at frames of the first.
func (s *stretch) stepOf(x []float64, start int64, y func(frame int64) (float64, bool)) float64 {
	side := func(from int) (float64, bool) {
		a, b := 0.0, 0.0
		for k := from; k < from+2; k++ {
			if k < 0 || k >= len(x) || s.sign*x[k] < 0.3*s.sign*x[s.from] {
				return 0, false
			}
			v, ok := y(start + int64(k))
			if !ok {
				return 0, false
			}
			a, b = a+x[k], b+v
		}
		if b/a <= 0 {
			return 0, false
		}
		return dB(b / a), true
	}
	a, b := 0.0, 0.0
	for k := s.from; k < s.from+s.n; k++ {
		v, ok := y(start + int64(k))
		if !ok {
			return math.NaN()
		}
		a, b = a+x[k], b+v
	}
	before, ok1 := side(s.from - 3)
	after, ok2 := side(s.from + s.n + 1)
	if !ok1 || !ok2 || b/a <= 0 {
		return math.NaN()
	}
	return dB(b/a) - (before+after)/2
}
