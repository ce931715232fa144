package identify

import "math"

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
)

var shares = [...]float64{0.3, 0.4, 0.5, 0.6, 0.7}

// evidence gathers what the stretches tell in which the first recording is clipped.
type evidence struct {
	n           int
	flat, round int // stretches that are clearly one or the other
	own         int // stretches in which the second recording stands at the ceiling, too
	after       float64
	before      float64
	mixed       [len(shares)]float64 // log likelihoods
}

// add weighs a stretch whose roundness, as a part of what the flanks foretell, is
// measured with a standard error.
func (e *evidence) add(roundness, se float64) {
	wide := astray / 6
	f := (1-astray)*2*normal(roundness, math.Hypot(flatSpread, se)) + wide
	r := (1-astray)*rounded(roundness, se) + wide
	e.n++
	switch l := math.Log(r / f); {
	case l > 1:
		e.round++
	case l < -1:
		e.flat++
	}
	e.after += math.Log(f)
	e.before += math.Log(r)
	for i, w := range shares {
		e.mixed[i] += math.Log(w*f + (1-w)*r)
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

// judge is the likeliest place, and the odds against the next.
func (e *evidence) judge() (Place, float64) {
	mixed := math.Inf(-1)
	for _, m := range e.mixed {
		mixed = max(mixed, m)
	}
	mixed += math.Log(bothPrior) / temper
	best, place := e.after, After
	next := max(e.before, mixed)
	if e.before > best {
		best, place, next = e.before, Before, max(e.after, mixed)
	}
	if mixed > best {
		best, place, next = mixed, Both, max(e.before, e.after)
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
