package diagnose

import (
	"math"
	"slices"
)

// Thresholds of the walls. Each is a count that chance does not reach in an hour
// of speech that no ceiling touched.
const (
	leastKinks = 3     // runs at the highest value that end in corners
	leastAt    = 6     // samples there
	kinksFlats = 0.15  // of the straight tops must lie at it
	coarse     = 0.004 // of the level: codes farther apart tell no straight top
)

// wall tells whether the histogram of the side ends in one.
func (c *Channel) wall(s *side) bool {
	// A limiter that looks ahead touches its ceiling too, but rarely for two samples
	// in a row.
	long := s.flats.n > 0 || s.peakLongest >= leastFlat || s.wallKinks > leastKinks && s.peakRuns*5 >= s.atPeak
	return s.wallKinks >= leastKinks && s.atPeak >= leastAt && long &&
		float64(s.wallKinks) >= kinksFlats*float64(s.flats.n) && c.codes() < coarse*s.peak
}

// atFull tells whether a level is full scale: the file's own, or that of the
// integer file that a file of floating point was made from.
func (c *Channel) atFull(level float64) bool {
	if math.IsInf(c.o.FullScale, 1) {
		return math.Abs(level-1) <= 1.0/(1<<14)
	}
	return level >= c.o.FullScale-c.o.Step/2
}

func sure(n, one float64) float64 { return 1 - math.Pow(one, n) }

// walls finds the ceilings that still show sample by sample.
func (c *Channel) walls() verdict {
	var v verdict
	for k := range c.sides {
		if s := &c.sides[k]; c.wall(s) {
			v.history[k] = Lower
			if c.atFull(s.peak) {
				v.history[k] = Full
			}
			v.confidence = max(v.confidence, min(0.99, sure(float64(s.wallKinks), 0.5)))
		}
	}
	if slices.Contains(v.history[:], Full) {
		v.main = Full
	} else if slices.Contains(v.history[:], Lower) {
		v.main = Lower
	}
	return v
}
