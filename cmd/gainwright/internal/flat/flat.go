// Package flat finds the marks of clipping in a recording of unknown past: tops
// that are flat and end in corners, at full scale or below it.
package flat

import "math"

// A clipped wave climbs steeply, stands still, and falls steeply. A wave that no
// ceiling touched is smooth: its steps from sample to sample change little by
// little, so that no run of small steps has large ones right before and after it.
// What decides is therefore the ratio of the steps at the corners to those inside,
// whatever the level. A limiter behind the converter tilts the top a little, which
// the ratio allows for.
const (
	minInner   = 3    // small steps in a row: four samples
	cornerFold = 14.0 // corner steps over the largest inner one
	cornerPart = 0.02 // corner steps, of the level they lie at
	quietest   = 0.01 // −40 dBFS: below it nobody clips
	// A top is one among its neighbours: of the envelope of the last 10 ms, and of
	// that of the last seconds.
	nearPart, farPart = 0.9, 0.4
	nearS, farS       = 0.010, 3.0
)

// levelBins are a quarter of a dB wide and reach down from +12 dBFS.
const (
	levelBins = 240
	levelTop  = 12.0
)

// A Counter counts flat tops below full scale in one channel, fed in blocks. Runs
// at full scale are another meter's.
type Counter struct {
	full       float64
	near, far  float64 // envelopes, linear
	decN, decF float64
	last       float64 // sample before
	step       float64 // the step to it, or the one before if that was larger: the ceiling cuts a step short
	lastStep   float64
	entry      float64 // the step before the run
	inner      float64 // largest step in it
	n          int     // steps in it
	top        float64 // its largest value
	ok         bool    // its beginning was that of a top
	started    bool
	leaving    float64 // first step after a run that is still to be judged, or 0
	ran        int     // its length in steps

	count, samples, longest int
	bins                    [levelBins]int
}

// NewCounter returns a counter for a sample rate in Hz; full is the magnitude of
// full scale.
func NewCounter(rate int, full float64) *Counter {
	return &Counter{full: full, decN: math.Exp(-1 / (nearS * float64(rate))), decF: math.Exp(-1 / (farS * float64(rate)))}
}

// Write feeds samples. One that is not finite counts as 0.
func (c *Counter) Write(x []float64) {
	for _, v := range x {
		if !(v < math.MaxFloat32 && v > -math.MaxFloat32) {
			v = 0
		}
		if !c.started {
			c.started, c.last = true, v
			continue
		}
		c.next(v)
	}
}

func (c *Counter) next(v float64) {
	d := v - c.last
	a := math.Abs(v)
	ad := math.Abs(d)
	if c.leaving != 0 {
		// The ceiling cuts the first step away from it short too.
		if d*c.leaving > 0 && ad > math.Abs(c.leaving) {
			c.leaving = d
		}
		c.finish(c.leaving)
		c.leaving = 0
	}
	if c.n > 0 {
		// In a run: it goes on while the steps stay small against the entry.
		if ad*cornerFold <= math.Abs(c.entry) {
			c.inner = max(c.inner, ad)
			c.n++
			if a > math.Abs(c.top) {
				c.top = v
			}
		} else {
			c.leaving, c.ran = d, c.n
			c.n = 0
		}
	}
	if c.n == 0 && ad*cornerFold <= math.Abs(c.step) {
		// A corner: the wave rose away from zero, and stands.
		up := c.last > 0 && c.step > 0 || c.last < 0 && c.step < 0
		l := math.Abs(c.last)
		if up && l >= quietest && math.Abs(c.step) >= cornerPart*l && l >= nearPart*c.near && l >= farPart*c.far {
			c.entry, c.inner, c.n, c.top = c.step, ad, 1, c.last
			if a > l {
				c.top = v
			}
		}
	}
	c.near = max(a, c.near*c.decN)
	c.far = max(a, c.far*c.decF)
	c.step = d
	if d*c.lastStep > 0 && math.Abs(c.lastStep) > ad {
		c.step = c.lastStep
	}
	c.last, c.lastStep = v, d
}

// finish judges the run that a step d ended.
func (c *Counter) finish(d float64) {
	l := math.Abs(c.top)
	down := c.top > 0 && d < 0 || c.top < 0 && d > 0
	if c.ran < minInner || !down || math.Abs(d) < cornerPart*l || math.Abs(d) < cornerFold*c.inner || l >= c.full {
		return
	}
	c.count++
	c.samples += c.ran + 1
	c.longest = max(c.longest, c.ran+1)
	k := int((levelTop - 20*math.Log10(l)) * 4)
	c.bins[min(max(k, 0), levelBins-1)]++
}

// Count is the number of flat tops.
func (c *Counter) Count() int { return c.count }

// Samples is the number of samples in them.
func (c *Counter) Samples() int { return c.samples }

// Longest is the length of the longest, in samples.
func (c *Counter) Longest() int { return c.longest }

// Level is the magnitude at which most of them lie, to an eighth of a dB; 0 if
// there are none.
func (c *Counter) Level() float64 {
	if c.count == 0 {
		return 0
	}
	best := 0
	for k, n := range c.bins {
		if n > c.bins[best] {
			best = k
		}
	}
	return math.Pow(10, (levelTop-(float64(best)+0.5)/4)/20)
}
