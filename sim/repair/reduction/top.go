package reduction

import "math"

const (
	// topBend is how far a gain may be from a parabola over four samples, as a
	// share of the level: an attack of half a millisecond at 48 kHz.
	topBend = 1e-4
	// topStep is the most a gain moves in a sample, as a share of the level.
	topStep = 0.03
	// topSlope is how many times steeper a wave enters its ceiling than a gain moves.
	topSlope = 3
)

// A Top is a run of samples at a ceiling that a gain moved since.
type Top struct {
	Start, End int     // samples [Start, End)
	Level      float64 // mean magnitude
	Chance     float64 // of an uncut top to look so by accident
}

// TopAt grows a run from x[i] while third differences stay within what rounding and
// a gain make, and says whether it is a cut top on the side g (1 or −1). The file's values
// go in steps of q; i is at least 1 and four samples follow it.
func TopAt(x []float64, i int, g, q float64) (Top, bool) {
	v := g * x[i]
	tol, most := 4*q+topBend*v, topStep*v+q
	if math.Abs(x[i+1]-x[i]) > most || math.Abs(x[i+2]-x[i+1]) > most {
		return Top{}, false
	}
	j := i + 3
	for j < len(x) && math.Abs(x[j]-x[j-1]) <= most && math.Abs(x[j]-3*x[j-1]+3*x[j-2]-x[j-3]) <= tol {
		j++
	}
	n := j - i
	if n < 4 {
		return Top{}, false
	}
	dev, first, last, mean := parabola(x[i:j], g)
	dev = max(dev, q/2)
	rise, fall := Edges(x, i, j, g)
	kink := min(rise-first, fall+last)
	if kink <= 0 || mean <= 0 || kink*float64(n) < 24*dev || kink < topSlope*max(math.Abs(first), math.Abs(last)) {
		return Top{}, false
	}
	// As for flat plateaus; a parabola takes one more sample.
	return Top{i, j, mean, math.Pow(min(1, 2*dev/kink), float64(n-3))}, true
}

// Edges are how fast the wave rises into x[i:j] on the side g and falls out of it, per
// sample; the ceiling may cut the step itself short, so the one beyond counts too.
func Edges(x []float64, i, j int, g float64) (rise, fall float64) {
	rise = g * (x[i] - x[i-1])
	if i >= 2 {
		rise = max(rise, g*(x[i-1]-x[i-2]))
	}
	if j >= len(x) {
		return rise, rise
	}
	fall = g * (x[j-1] - x[j])
	if j+1 < len(x) {
		fall = max(fall, g*(x[j]-x[j+1]))
	}
	return rise, fall
}

// parabola fits one to g·x by least squares and returns the largest residual, the
// slopes at its ends (per sample) and the mean.
func parabola(x []float64, g float64) (dev, first, last, mean float64) {
	n := float64(len(x))
	c := (n - 1) / 2
	var s2, s4, t0, t1, t2 float64
	for k, v := range x {
		t := float64(k) - c
		s2 += t * t
		s4 += t * t * t * t
		t0 += g * v
		t1 += g * v * t
		t2 += g * v * t * t
	}
	b := t1 / s2
	a := (t2 - t0*s2/n) / (s4 - s2*s2/n)
	mean = t0 / n
	for k, v := range x {
		t := float64(k) - c
		dev = max(dev, math.Abs(g*v-mean-b*t-a*(t*t-s2/n)))
	}
	return dev, b - 2*a*c, b + 2*a*c, mean
}
