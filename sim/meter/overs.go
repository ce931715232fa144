package meter

import (
	"fmt"
	"math"
)

// maxRuns bounds the list of runs an [Overs] keeps.
const maxRuns = 4096

// Run is a stretch of consecutive samples beyond a ceiling.
type Run struct {
	Start  int     // frame of its first sample, counted from 0
	Frames int     // its length
	Peak   float64 // largest magnitude in it, linear
}

// Overs counts runs of consecutive samples whose magnitude lies beyond a
// ceiling. [NewOvers] makes one for the true demand, the value before the
// ceiling acts; [NewMeterOvers] one that counts what a plain meter can see.
type Overs struct {
	rate    int
	ceiling float64
	bits    uint64 // a sample belongs to a run when its bits are above
	minRun  int

	n         int // frames so far
	run       Run // the current run, when run.Frames > 0
	indexed   bool
	count     int
	samples   int
	longest   int
	peak      float64
	list      []Run
	truncated int
	bad       int
}

// NewOvers returns a counter of the runs in which the demand, fed before the
// ceiling, exceeds it: |x| > ceiling. It panics when the rate is refused by
// [CheckRate] or the ceiling is not a positive number.
func NewOvers(rate int, ceiling float64) *Overs {
	return newOvers(rate, 1, ceiling, math.Float64bits(ceiling))
}

// NewMeterOvers returns a counter of what a plain meter calls an over: at least
// minRun consecutive samples at full scale, |x| ≥ ceiling (three is common
// practice, no standard). The ceiling of an integer file of b bits is its
// largest positive code, 1−2^(1−b). It panics on a rate [CheckRate] refuses, a
// minRun below 1, or a ceiling that is not a positive number.
func NewMeterOvers(rate, minRun int, ceiling float64) *Overs {
	return newOvers(rate, minRun, ceiling, math.Float64bits(ceiling)-1)
}

func newOvers(rate, minRun int, ceiling float64, bits uint64) *Overs {
	mustRate(rate)
	if !(ceiling > 0) || !usable(ceiling) || minRun < 1 {
		panic(fmt.Sprintf("meter: overs of %d samples beyond %v", minRun, ceiling))
	}
	return &Overs{rate: rate, ceiling: ceiling, bits: bits, minRun: minRun, list: make([]Run, 0, maxRuns)}
}

// Write feeds samples.
func (o *Overs) Write(x []float64) {
	if o.run.Frames == 0 && maxBits(x) <= o.bits {
		o.n += len(x) // as nearly always
		return
	}
	for i, v := range x {
		if b := magBits(v); b <= o.bits {
			if o.run.Frames > 0 {
				o.end()
			}
		} else if b >= invalidBits {
			o.bad++
			o.end()
		} else {
			o.beyond(o.n+i, math.Abs(v))
		}
	}
	o.n += len(x)
}

func (o *Overs) end() { o.run, o.indexed = Run{}, false }

func (o *Overs) beyond(frame int, v float64) {
	if o.run.Frames == 0 {
		o.run.Start = frame
	}
	o.run.Frames++
	o.run.Peak = max(o.run.Peak, v)
	o.peak = max(o.peak, v)
	if o.run.Frames < o.minRun {
		return
	}
	if o.run.Frames == o.minRun {
		o.count++
		o.samples += o.minRun
		if len(o.list) < maxRuns {
			o.list = append(o.list, o.run)
			o.indexed = true
		} else {
			o.truncated++
		}
	} else {
		o.samples++
		if o.indexed {
			o.list[len(o.list)-1] = o.run
		}
	}
	o.longest = max(o.longest, o.run.Frames)
}

// Count returns the number of runs, one that has not ended included.
func (o *Overs) Count() int { return o.count }

// Samples returns the number of samples in all runs.
func (o *Overs) Samples() int { return o.samples }

// Longest returns the length of the longest run in frames.
func (o *Overs) Longest() int { return o.longest }

// LongestMS returns the length of the longest run in milliseconds.
func (o *Overs) LongestMS() float64 { return 1000 * float64(o.longest) / float64(o.rate) }

// Fraction returns the share of all samples that lie in runs, 0 to 1.
func (o *Overs) Fraction() float64 {
	if o.n == 0 {
		return 0
	}
	return float64(o.samples) / float64(o.n)
}

// Demand returns the largest magnitude met beyond the ceiling, or 0.
func (o *Overs) Demand() float64 { return o.peak }

// First returns the frame at which the first run starts, or −1.
func (o *Overs) First() int {
	if len(o.list) == 0 {
		return -1
	}
	return o.list[0].Start
}

// Runs returns the runs in order, at most the first 4096. The slice belongs to
// the counter and is valid until the next Write or Reset.
func (o *Overs) Runs() []Run { return o.list }

// Unlisted returns how many runs did not fit into the list.
func (o *Overs) Unlisted() int { return o.truncated }

// Frames returns the number of samples fed.
func (o *Overs) Frames() int { return o.n }

// Invalid returns how many samples were not usable and counted as zero.
func (o *Overs) Invalid() int { return o.bad }

// Reset makes the counter as new.
func (o *Overs) Reset() {
	*o = Overs{rate: o.rate, ceiling: o.ceiling, bits: o.bits, minRun: o.minRun, list: o.list[:0]}
}
