// Package reduction tells a gain that moved, as a limiter's does, from the samples at
// which it is known, and finds the tops that show it. Gains are in dB against a ceiling
// that the wave had before them, and a reduction is positive.
//
// Package identify fits such a law to two recordings of one sound, where the gain is seen
// in every block and what the detector saw is not to be told from one file: it searches
// for all five figures, in blocks of a quarter of a millisecond, and gives intervals.
// Here the gain is known exactly at a few samples and nowhere else, and must come out
// sample by sample; the wave is turned back by the gain that is sought while it is
// followed. The two share the form of the law and no step of the work.
package reduction

import (
	"context"
	"math"
	"sort"
)

// A Law is a feed-forward gain with the smooth decoupled or the smooth branching detector
// of Giannoulis, Massberg and Reiss (JAES 60(6), 2012) as it is seen from behind: what
// went in is what came out, turned up by the gain that is sought. At a clipped sample the
// detector stands at its highest, whatever it did before, since nothing is louder than
// the ceiling. Make one with Fit.
type Law struct {
	most            float64 // the reduction in dB that a wave at the ceiling asks for
	slope           float64 // 1 − 1/ratio
	attack, release float64 // poles
	// branching: one smoother, fast down and slow back, instead of a detector that
	// holds peaks and lets go, and an attack behind it.
	branching bool
	holds     bool
	miss      float64 // mean square, dB²
}

// Holds tells whether the law explains the samples that it was fitted to. Where it does
// not, its release is the best guess.
func (g Law) Holds() bool { return g.holds }

// Miss is by how much the law misses the samples that it was fitted to, rms in dB, over
// the gaps between them; +Inf where these tell nothing.
func (g Law) Miss() float64 { return math.Sqrt(g.miss) }

// A Knot is a sample at which the gain is known.
type Knot struct {
	At   int
	Down float64 // reduction, dB
}

// A Curve is a gain, sample by sample.
type Curve struct {
	Level []float64 // of the file against the ceiling, dB
	Down  []float64 // reduction, dB
	Exact bool      // by a law
}

// Levels is the level of y against a ceiling, a magnitude, in dB, not below −120.
func Levels(y []float64, ceiling float64) []float64 {
	level := make([]float64, len(y))
	for i, v := range y {
		level[i] = 20 * math.Log10(max(math.Abs(v)/ceiling, 1e-6))
	}
	return level
}

// Curve lays the gain through knots, which are in order: by the law if it holds, else
// coming back exponentially from each, and falling shortly before the next.
func (g Law) Curve(level []float64, knots []Knot) *Curve {
	c := &Curve{Level: level, Down: make([]float64, len(level)), Exact: g.holds}
	if g.holds {
		g.run(level, knots, c.Down)
		for i, v := range level { // nothing came from beyond the ceiling
			c.Down[i] = min(c.Down[i], max(0, -v))
		}
		return c
	}
	c.lay(knots, g.release)
	for range 3 {
		more := c.passed(knots)
		if len(more) == 0 {
			break
		}
		knots = append(knots[:len(knots):len(knots)], more...)
		sort.Slice(knots, func(i, j int) bool { return knots[i].At < knots[j].At })
		c.lay(knots, g.release)
	}
	return c
}

// run follows the law from the first sample to the last, put right at the knots, into
// down, and returns the mean square of what was to be put right, dB², and how often.
func (g *Law) run(level []float64, knots []Knot, down []float64) (miss, n float64) {
	var det, d float64
	k, from := 0, 0
	threshold := -g.most / g.slope
	for i, v := range level {
		over := 0.0
		if v+d > threshold {
			over = g.slope * (min(0, v+d) - threshold)
		}
		switch {
		case !g.branching:
			det = max(over, g.release*det+(1-g.release)*over)
			d = g.attack*d + (1-g.attack)*det
		case over > d:
			d = g.attack*d + (1-g.attack)*over
		default:
			d = g.release*d + (1-g.release)*over
		}
		if k < len(knots) && knots[k].At == i {
			if e := knots[k].Down - d; i > from {
				if i-from >= 32 {
					miss += e * e
					n++
				}
				// What was missed grew on the way.
				for j := from; j < i; j++ {
					down[j] = max(0, down[j]+e*float64(j-from+1)/float64(i-from+1))
				}
			}
			d = knots[k].Down
			det = max(det, g.most)
			from = i + 1
			k++
		}
		down[i] = d
	}
	return miss, n
}

const (
	lawMissDB   = 0.3 // rms up to which a law explains the tops
	leastMisses = 5   // gaps from which that can be told
	surelyLess  = 0.9 // mean square by which another ratio must explain the tops better
	// usualRelease is the time constant that is supposed where none can be told, samples.
	usualRelease = 7200.0
	attackRamp   = 144 // samples in which a gain without a law falls before a run
)

// fitMost is how much of a recording the law is fitted to, samples.
const fitMost = 1 << 20

// Fit looks for the law that explains knots best, which are in order and at least one:
// the deepest reduction and the attack are read off them, release and slope are tried.
// It asks ctx between tries, and gives up with its error.
func Fit(ctx context.Context, level []float64, knots []Knot) (Law, error) {
	downs := make([]float64, len(knots))
	for i, k := range knots {
		downs[i] = k.Down
	}
	sort.Float64s(downs)
	g := Law{most: max(downs[len(downs)*19/20], 0.1), slope: 1, miss: math.Inf(1)}
	attacks := attacksOf(knots, g.most)
	g.attack = attacks[0]
	end := min(len(level), fitMost)
	if first := knots[0].At; first > end/2 {
		end = min(len(level), first+end/2)
	}
	few := knots[:sort.Search(len(knots), func(i int) bool { return knots[i].At >= end })]
	g.release = math.Exp(-1 / usualRelease)
	best := g
	least, gaps := math.Inf(1), 0.0
	down := make([]float64, end)
	try := func(h Law, slope, release float64) {
		if ctx.Err() != nil {
			return
		}
		h.slope, h.release = slope, math.Exp(-1/release)
		better := least
		if slope != best.slope {
			better *= surelyLess
		}
		if miss, n := h.run(level[:end], few, down); n > 0 && miss/n < better {
			least, gaps, best = miss/n, n, h
		}
	}
	for _, g.attack = range attacks {
		for t := 320.0; t < 60000; t *= 1.5 {
			g.branching = false
			try(g, 1, t)
			g.branching = true
			try(g, 1, t)
		}
	}
	h, t := best, -1/math.Log(best.release)
	for _, slope := range []float64{0.9, 0.75, 0.67} {
		for _, k := range []float64{0.7, 1, 1.4} {
			try(h, slope, k*t)
		}
	}
	t = -1 / math.Log(best.release)
	try(best, best.slope, 0.83*t)
	try(best, best.slope, 1.2*t)
	if gaps < leastMisses {
		return g, ctx.Err() // nothing is learnt
	}
	best.miss = least
	best.holds = least <= lawMissDB*lawMissDB
	return best, ctx.Err()
}

// attacksOf are the poles to try: the one with which the gain in runs nears the deepest
// reduction, or usual ones where no run shows it.
func attacksOf(knots []Knot, most float64) []float64 {
	var num, den float64
	for i := 1; i < len(knots); i++ {
		a, b := knots[i-1], knots[i]
		if b.At == a.At+1 && a.Down < most-0.5 && b.Down > a.Down {
			num += (b.Down - most) * (a.Down - most)
			den += (a.Down - most) * (a.Down - most)
		}
	}
	if den == 0 {
		return []float64{math.Exp(-1.0 / 48), math.Exp(-1.0 / 12), math.Exp(-1.0 / 3)}
	}
	return []float64{min(max(num/den, 0), math.Exp(-1.0/2400))}
}

// lay fills the gaps between knots where no law holds: the gain comes back
// exponentially, and falls shortly before a run that shows it lower.
func (c *Curve) lay(knots []Knot, release float64) {
	from := Knot{-1, 0}
	for _, k := range knots {
		c.gap(from, k, release)
		c.Down[k.At] = k.Down
		from = k
	}
	c.free(from, len(c.Down), release)
}

func (c *Curve) free(a Knot, end int, release float64) float64 {
	d := a.Down
	for i := a.At + 1; i < end; i++ {
		d *= release
		c.Down[i] = d
	}
	return d * release
}

func (c *Curve) gap(a, b Knot, release float64) {
	n := b.At - a.At
	if n < 2 {
		return
	}
	free := c.free(a, b.At, release)
	if free > b.Down {
		// Faster than that: as much more as it takes.
		more := math.Log(free/max(b.Down, 1e-3)) / float64(n)
		for i := 1; i < n; i++ {
			c.Down[a.At+i] *= math.Exp(-more * float64(i))
		}
		return
	}
	ramp := min(n, attackRamp)
	for k := 1; k < ramp; k++ {
		c.Down[b.At-ramp+k] += (b.Down - free) * float64(k) / float64(ramp)
	}
}

// passed returns, for each gap, the sample that lies furthest beyond what the ceiling
// under the gain allows: the gain was at least that.
func (c *Curve) passed(knots []Knot) []Knot {
	var more []Knot
	k, worst, by := 0, -1, passedDB
	flush := func() {
		if worst >= 0 {
			more = append(more, Knot{worst, max(0, -c.Level[worst])})
		}
		worst, by = -1, passedDB
	}
	for i, v := range c.Level {
		if k < len(knots) && knots[k].At == i {
			k++
			flush()
		} else if e := c.Down[i] + v; e > by {
			worst, by = i, e
		}
	}
	flush()
	return more
}

// passedDB is by how much a gain that was laid through a gap may be too low.
const passedDB = 0.05
