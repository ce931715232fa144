package meter

import "math"

// Constants of ITU-T P.56, method B, as used by several open implementations;
// the Recommendation itself was not at hand.
const (
	envelopeTau  = 0.03 // s, each of two cascaded stages
	hangover     = 0.2  // s
	activeMargin = 15.9 // dB between active level and threshold
)

const (
	activeLowDB  = -160.0 // lowest threshold, dB re 1
	activeHighDB = 60.0
	activePerDB  = 4 // thresholds a dB
	activeBins   = (activeHighDB - activeLowDB) * activePerDB
	maxHang      = 256 // ticks of about a millisecond, more than the hangover
)

// ActiveLevel measures the level of speech while it is there, and how much of
// the time that is, in the spirit of ITU-T P.56 method B: the envelope is the
// magnitude after two 30 ms averages; time counts as active while the envelope
// was above a threshold within the last 200 ms; and the threshold is the one
// that lies 15.9 dB below the level of the active time.
//
// It differs from the Recommendation in that the envelope is sampled every
// millisecond and the thresholds are a quarter of a decibel apart instead of
// six, so that a change of gain changes the reading by as much. There is no
// band-pass filter before it.
type ActiveLevel struct {
	tick  int
	hang  int
	decay float64

	n        int
	abs, sq  float64 // sums in the current tick
	p, q     float64
	ticks    int64
	energy   float64 // sum of squares over all complete ticks
	counts   [activeBins]int64
	above    int64 // ticks over the highest threshold
	highest  [maxHang]activeTick
	from, to int // the queue is highest[from:to], modulo its length
	held     float64
	heldBin  int // of held, −1 below the lowest threshold
	bad      int
}

// activeTick is an envelope value that is the largest since its time.
type activeTick struct {
	at    int64
	value float64
}

// NewActiveLevel returns a meter. It panics on a rate [CheckRate] refuses.
func NewActiveLevel(rate int) *ActiveLevel {
	mustRate(rate)
	a := &ActiveLevel{tick: tickFrames(rate)}
	t := float64(a.tick) / float64(rate)
	a.hang = int(hangover/t + 0.5)
	a.decay = math.Exp(-t / envelopeTau)
	return a
}

// Write feeds samples.
func (a *ActiveLevel) Write(x []float64) {
	for len(x) > 0 {
		m := min(len(x), a.tick-a.n)
		abs, sq := a.abs, a.sq
		for _, v := range x[:m] {
			if magBits(v) >= invalidBits {
				a.bad++
				continue
			}
			abs += math.Abs(v)
			sq += v * v
		}
		a.abs, a.sq = abs, sq
		x = x[m:]
		if a.n += m; a.n == a.tick {
			a.add(a.abs, a.sq)
			a.n, a.abs, a.sq = 0, 0, 0
		}
	}
}

// add ends a tick whose magnitudes and squares sum up to abs and sq.
func (a *ActiveLevel) add(abs, sq float64) {
	u := abs / float64(a.tick)
	a.p = u + a.decay*(a.p-u)
	a.q = a.p + a.decay*(a.q-a.p)
	if a.p < 1e-30 && a.q < 1e-30 {
		a.p, a.q = 0, 0 // before the numbers become denormal
	}
	a.energy += sq

	// The largest envelope within the hangover: a queue of values, each larger
	// than all that follow it.
	for a.to > a.from && a.highest[(a.to-1)%maxHang].value <= a.q {
		a.to--
	}
	a.highest[a.to%maxHang] = activeTick{a.ticks, a.q}
	a.to++
	if a.highest[a.from%maxHang].at < a.ticks-int64(a.hang) {
		a.from++
	}
	if a.from >= maxHang {
		a.from -= maxHang
		a.to -= maxHang
	}
	a.ticks++
	if v := a.highest[a.from%maxHang].value; v > 0 {
		if v != a.held { // it mostly holds
			a.held, a.heldBin = v, -1
			if i := (DB(v) - activeLowDB) * activePerDB; i >= 0 {
				a.heldBin = int(min(i, activeBins))
			}
		}
		switch i := a.heldBin; {
		case i >= activeBins:
			a.above++
		case i >= 0:
			a.counts[i]++
		}
	}
}

// solve returns the active level in dB re square full scale and the activity.
func (a *ActiveLevel) solve() (level, activity float64) {
	if a.energy == 0 {
		return math.Inf(-1), 0
	}
	total := PowerDB(a.energy / (float64(a.ticks) * float64(a.tick)))
	var active int64 // ticks at or above the threshold
	for _, n := range a.counts {
		active += n
	}
	active += a.above
	if active == 0 {
		return total, 1 // all of it under the lowest threshold
	}
	at := func(active int64) float64 { return total - PowerDB(float64(active)/float64(a.ticks)) }
	level = at(active)
	for i, n := range a.counts {
		threshold := activeLowDB + float64(i)/activePerDB
		if margin := at(active) - threshold; margin <= activeMargin {
			if i > 0 {
				// Between this threshold and the one before it.
				before := level - (threshold - 1.0/activePerDB)
				if before > margin {
					level += (at(active) - level) * (before - activeMargin) / (before - margin)
				}
			}
			break
		}
		level = at(active)
		if active -= n; active == 0 {
			break
		}
	}
	return level, math.Pow(10, (total-level)/10)
}

// Level returns the active level in dB re square full scale (an rms of 1.0 is
// 0 dB), −Inf for silence.
func (a *ActiveLevel) Level() float64 { l, _ := a.solve(); return l }

// Activity returns the share of the time that was active, 0 to 1.
func (a *ActiveLevel) Activity() float64 { _, f := a.solve(); return min(f, 1) }

// Invalid returns how many samples were not usable and counted as zero.
func (a *ActiveLevel) Invalid() int { return a.bad }

// Reset makes the meter as new.
func (a *ActiveLevel) Reset() { *a = ActiveLevel{tick: a.tick, hang: a.hang, decay: a.decay} }
