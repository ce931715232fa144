package meter

import (
	"fmt"
	"math"
)

// Times of ITU-R BS.1770-4 and EBU Tech 3341, counted in slots of 10 ms. The
// signals 11 to 14 of Tech 3341 move a 400 ms tone by 20 ms: windows that only
// advance by 100 ms would read some of them 0.5 LU low.
const (
	slotsPerSecond = 100
	momentarySlots = 40
	shortSlots     = 300
	hopSlots       = 10 // gating blocks overlap by 75 %, short-term windows by 97 %
)

const (
	absoluteGate  = -70.0 // LUFS
	relativeGate  = -10.0 // LU, integrated loudness
	rangeGate     = -20.0 // LU, loudness range
	loudnessConst = -0.691
)

// loudnessOf turns a weighted mean square into LUFS.
func loudnessOf(z float64) float64 { return loudnessConst + 10*math.Log10(z) }

// Loudness measures programme loudness after ITU-R BS.1770-4/-5, the momentary
// and short-term loudness of EBU Tech 3341 and the loudness range of EBU Tech
// 3342. Its memory does not grow with the length of the programme: gated
// blocks are kept as a histogram in steps of 0.01 LU with the exact energy of
// each step, so that integrated loudness is exact except for blocks within one
// step of the relative gate. Blocks over +30 LUFS share one step.
//
// Before the stream there is silence: in the first 400 ms (3 s) the momentary
// (short-term) window reaches back into it. Gated measures use complete blocks
// only.
type Loudness struct {
	rate    int
	k       kCoef
	state   []kState
	sums    []float64 // energy of each channel in the current slot
	weights []float64

	slots   int64 // complete slots so far
	inSlot  int   // frames in the current slot
	slotLen int
	ring    [shortSlots]float64 // weighted energy of the last 3 s
	bad     int

	m, s       float64 // mean squares of the sliding windows
	maxM, maxS float64
	blocks     gated // momentary blocks above the absolute gate
	shorts     gated // short-term windows above the absolute gate

	one [1][]float64 // WriteMono's channel list
}

// NewLoudness returns a meter for a sample rate in hertz, 8 to 192 kHz, and a
// number of channels.
//
// Channel weights follow BS.1770-4 Table 3: 1 for every channel, except that
// five channels are taken as L R C Ls Rs and six as L R C LFE Ls Rs, with 1.41
// for the surrounds and 0 for the LFE. Other layouts: [Loudness.SetWeights].
func NewLoudness(rate, channels int) (*Loudness, error) {
	if err := CheckRate(rate); err != nil {
		return nil, err
	}
	if channels < 1 || channels > 4096 {
		return nil, fmt.Errorf("meter: loudness of %d channels", channels)
	}
	l := &Loudness{
		rate:    rate,
		k:       kCoefficients(rate),
		state:   make([]kState, channels),
		sums:    make([]float64, channels),
		weights: make([]float64, channels),
		blocks:  newGated(),
		shorts:  newGated(),
	}
	for i := range l.weights {
		l.weights[i] = 1
	}
	switch channels {
	case 5:
		copy(l.weights[3:], []float64{1.41, 1.41})
	case 6:
		copy(l.weights[3:], []float64{0, 1.41, 1.41})
	}
	l.slotLen = l.boundary(1)
	return l, nil
}

// SetWeights sets the power weight of each channel: 1 for a front channel, 1.41
// for a surround, 0 to leave a channel out, 2 for a mono file that will be
// played on two loudspeakers. It takes effect from the current 10 ms on.
func (l *Loudness) SetWeights(w []float64) error {
	if len(w) != len(l.weights) {
		return fmt.Errorf("meter: %d weights for %d channels", len(w), len(l.weights))
	}
	for i, v := range w {
		if !(v >= 0 && v <= 1e6) {
			return fmt.Errorf("meter: weight %v of channel %d is not between 0 and 1e6", v, i+1)
		}
	}
	copy(l.weights, w)
	return nil
}

// boundary returns the frame at which the n-th slot ends. Rates that are no
// multiple of 100 get slots that differ by one frame and do not drift.
func (l *Loudness) boundary(n int64) int { return int(n * int64(l.rate) / slotsPerSecond) }

// WriteMono feeds a single-channel meter.
func (l *Loudness) WriteMono(x []float64) {
	l.one[0] = x
	l.Write(l.one[:])
	l.one[0] = nil
}

// Write feeds one slice per channel, all of the same length, which may be zero.
func (l *Loudness) Write(planar [][]float64) {
	if len(planar) != len(l.state) {
		panic(fmt.Sprintf("meter: %d channels written to a loudness meter of %d", len(planar), len(l.state)))
	}
	n := len(planar[0])
	for _, c := range planar[1:] {
		if len(c) != n {
			panic("meter: channels of unequal length")
		}
	}
	for done := 0; done < n; {
		m := min(n-done, l.slotLen-l.inSlot)
		for c := 0; c < len(planar); c++ {
			x := planar[c][done : done+m]
			if c+1 < len(planar) && powers(&l.k, x, planar[c+1][done:done+m], &l.state[c], &l.state[c+1], (*[2]float64)(l.sums[c:])) {
				c++ // of two
				continue
			}
			var bad int
			l.sums[c], bad = l.state[c].power(&l.k, x, l.sums[c])
			l.bad += bad
		}
		done += m
		if l.inSlot += m; l.inSlot == l.slotLen {
			l.endSlot()
		}
	}
}

func (l *Loudness) endSlot() {
	e := 0.0
	for c := range l.sums {
		e += l.weights[c] * l.sums[c]
		l.sums[c] = 0
		l.state[c].settle()
	}
	l.ring[l.slots%shortSlots] = e
	l.slots++
	l.inSlot = 0
	end := l.boundary(l.slots)
	l.slotLen = l.boundary(l.slots+1) - end

	// The windows are summed afresh each time: a running sum would keep the
	// rounding errors of loud passages in the silence that follows them.
	l.m = l.window(momentarySlots)
	l.s = l.window(shortSlots)
	l.maxM, l.maxS = max(l.maxM, l.m), max(l.maxS, l.s)
	if l.slots%hopSlots == 0 {
		if l.slots >= momentarySlots {
			l.blocks.add(l.m)
		}
		if l.slots >= shortSlots {
			l.shorts.add(l.s)
		}
	}
}

// window returns the mean square over the last n slots.
func (l *Loudness) window(n int) float64 {
	last := int(l.slots % shortSlots) // one past the newest
	var e float64
	if last >= n {
		e = sum(l.ring[last-n : last])
	} else {
		e = sum(l.ring[:last]) + sum(l.ring[shortSlots-n+last:])
	}
	frames := l.boundary(l.slots) - l.boundary(l.slots-int64(n))
	return e / float64(frames)
}

func sum(x []float64) float64 {
	var a, b, c, d float64
	for len(x) >= 4 {
		a += x[0]
		b += x[1]
		c += x[2]
		d += x[3]
		x = x[4:]
	}
	for _, v := range x {
		a += v
	}
	return (a + b) + (c + d)
}

// Momentary returns the loudness of the last 400 ms in LUFS, ungated, −Inf for
// silence. It advances every 10 ms.
func (l *Loudness) Momentary() float64 { return loudnessOf(l.m) }

// ShortTerm returns the loudness of the last 3 s in LUFS, ungated, −Inf for
// silence. It advances every 10 ms.
func (l *Loudness) ShortTerm() float64 { return loudnessOf(l.s) }

// MaxMomentary returns the largest momentary loudness so far in LUFS.
func (l *Loudness) MaxMomentary() float64 { return loudnessOf(l.maxM) }

// MaxShortTerm returns the largest short-term loudness so far in LUFS.
func (l *Loudness) MaxShortTerm() float64 { return loudnessOf(l.maxS) }

// Integrated returns the programme loudness in LUFS over complete 400 ms blocks
// every 100 ms, gated at −70 LUFS and then 10 LU below the loudness of what is
// left. It is −Inf when no block lies above the gates.
func (l *Loudness) Integrated() float64 {
	all, _ := l.blocks.above(math.Inf(-1))
	z, _ := l.blocks.above(loudnessOf(all) + relativeGate)
	return loudnessOf(z)
}

// Range returns the loudness range (LRA) in LU after EBU Tech 3342: the distance
// between the 10th and the 95th percentile of the short-term loudness, taken
// every 100 ms and gated at −70 LUFS and 20 LU below the mean. It is 0 when
// nothing was measured, and means little for programmes under a minute.
func (l *Loudness) Range() float64 {
	all, _ := l.shorts.above(math.Inf(-1))
	gate := loudnessOf(all) + rangeGate
	_, n := l.shorts.above(gate)
	if n == 0 {
		return 0
	}
	rank := func(p float64) int64 { return int64(p*float64(n-1) + 0.5) }
	return l.shorts.ranked(gate, rank(0.95)) - l.shorts.ranked(gate, rank(0.10))
}

// Frames returns how many frames were measured into complete 10 ms slots.
func (l *Loudness) Frames() int { return l.boundary(l.slots) }

// Invalid returns how many samples were not usable and counted as zero.
func (l *Loudness) Invalid() int { return l.bad }

// Reset makes the meter as new, except for the weights.
func (l *Loudness) Reset() {
	clear(l.state)
	clear(l.sums)
	l.ring = [shortSlots]float64{}
	l.slots, l.inSlot, l.bad = 0, 0, 0
	l.slotLen = l.boundary(1)
	l.m, l.s, l.maxM, l.maxS = 0, 0, 0, 0
	l.blocks.reset()
	l.shorts.reset()
}

// gated is a histogram of loudness values above the absolute gate.
type gated struct {
	bins   []gateBin
	lo, hi int // occupied bins are bins[lo:hi]
}

type gateBin struct {
	sum float64 // of mean squares
	n   int64
}

const (
	binsPerLU = 100
	topLUFS   = 30.0 // louder blocks share the last bin, with exact energy
)

func newGated() gated {
	g := gated{bins: make([]gateBin, (topLUFS-absoluteGate)*binsPerLU)}
	g.reset()
	return g
}

func (g *gated) reset() {
	if g.hi > g.lo {
		clear(g.bins[g.lo:g.hi])
	}
	g.lo, g.hi = len(g.bins), 0
}

func (g *gated) add(z float64) {
	l := loudnessOf(z)
	if !(l > absoluteGate) {
		return
	}
	i := int(min((l-absoluteGate)*binsPerLU, float64(len(g.bins)-1)))
	g.bins[i].sum += z
	g.bins[i].n++
	g.lo, g.hi = min(g.lo, i), max(g.hi, i+1)
}

// first returns the lowest bin whose blocks lie above the gate. The bin that
// holds the gate itself is judged by its mean; so is the last one, which holds
// everything louder.
func (g *gated) first(gate float64) int {
	f := (gate - absoluteGate) * binsPerLU
	if !(f > float64(g.lo)) {
		return g.lo
	}
	i := int(min(f, float64(len(g.bins)-1)))
	if i >= g.hi {
		return g.hi
	}
	if b := g.bins[i]; b.n == 0 || loudnessOf(b.sum/float64(b.n)) <= gate {
		i++
	}
	return i
}

// above returns the mean of the mean squares above the gate, and their number.
func (g *gated) above(gate float64) (mean float64, n int64) {
	e := 0.0
	for i := g.first(gate); i < g.hi; i++ {
		e += g.bins[i].sum
		n += g.bins[i].n
	}
	if n == 0 {
		return 0, 0
	}
	return e / float64(n), n
}

// ranked returns the loudness of the k-th quietest block above the gate,
// counted from 0: the mean of its bin.
func (g *gated) ranked(gate float64, k int64) float64 {
	for i := g.first(gate); i < g.hi; i++ {
		if b := g.bins[i]; k < b.n {
			return loudnessOf(b.sum / float64(b.n))
		} else {
			k -= b.n
		}
	}
	return math.Inf(-1)
}
