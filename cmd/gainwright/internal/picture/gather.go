// Package picture draws what a strip recorded: the whole take with its overs, the
// loudest moment at the converter, and the levels along the chain. It gathers
// while the take runs, in memory that does not grow with its length.
package picture

import (
	"math"

	"gainwright/sim"
)

// buckets is how many columns of the take are kept; their length doubles when
// they are full.
const buckets = 4096

// MomentMS is how much of the loudest moment is kept and drawn.
const MomentMS = 12

// Bucket is one column of the overview.
type Bucket struct {
	Lo, Hi         float64 // extremes of the file, full scale = 1
	WantLo, WantHi float64 // extremes of what the converter was asked for
	Over           bool    // beyond the converter's ceiling
	Hot            uint8   // as sim.Taps.Hot
}

// Moment is the stretch around the largest true value of a take.
type Moment struct {
	Start   int64 // sample of the take at which it begins
	Rate    int
	True    []float64 // what the talker did, full scale = 1
	Want    []float64 // the same, turned down as the input limiter did: without ceilings the converter would give this
	Demand  []float64 // what the converter was asked for
	Conv    []float64 // what it gave
	Hot     []uint8
	Ceiling float64
}

// A Gather watches a take's taps.
type Gather struct {
	rate    int
	frames  int64
	ceiling float64

	per  int // samples a bucket
	all  []Bucket
	open Bucket
	fill int

	ring struct {
		truth, want, demand, conv []float64
		hot                       []uint8
		at                        int // where the next sample goes: the oldest lies there
	}
	n      int // length of the ring: the moment
	best   float64
	wait   int // samples until the ring is copied out, 0 if it need not be
	moment Moment
}

// NewGather watches a take at rate.
func NewGather(rate int) *Gather {
	n := rate * MomentMS / 1000
	g := &Gather{rate: rate, ceiling: 1, per: 16, all: make([]Bucket, 0, buckets), n: n}
	g.ring.truth, g.ring.want, g.ring.demand, g.ring.conv, g.ring.hot = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]uint8, n)
	g.moment = Moment{Rate: rate, True: make([]float64, n), Want: make([]float64, n), Demand: make([]float64, n), Conv: make([]float64, n), Hot: make([]uint8, n), Ceiling: 1}
	return g
}

// Write adds one block.
func (g *Gather) Write(t *sim.Taps) {
	g.overview(t)
	g.loudest(t)
	g.frames += int64(t.Len())
	g.ceiling = t.Ceiling
}

func (g *Gather) overview(t *sim.Taps) {
	file, want := t.Wave[sim.AtFile], t.Demand
	for i := 0; i < len(file); {
		j := min(len(file), i+g.per-g.fill)
		b := g.open
		if g.fill == 0 {
			b = Bucket{Lo: math.Inf(1), Hi: math.Inf(-1), WantLo: math.Inf(1), WantHi: math.Inf(-1)}
		}
		for k := i; k < j; k++ {
			if v := file[k]; v < b.Lo {
				b.Lo = v
			}
			if v := file[k]; v > b.Hi {
				b.Hi = v
			}
			if v := want[k]; v < b.WantLo {
				b.WantLo = v
			}
			if v := want[k]; v > b.WantHi {
				b.WantHi = v
			}
			b.Hot |= t.Hot[k]
		}
		b.Over = b.WantHi > t.Ceiling || b.WantLo < -t.Ceiling
		g.fill += j - i
		g.open = b
		i = j
		if g.fill < g.per {
			return
		}
		g.all = append(g.all, b)
		g.fill = 0
		if len(g.all) == buckets {
			g.halve()
		}
	}
}

// halve joins neighbours, so that the overview holds twice the time.
func (g *Gather) halve() {
	for i := range buckets / 2 {
		g.all[i] = join(g.all[2*i], g.all[2*i+1])
	}
	g.all = g.all[:buckets/2]
	g.per *= 2
}

func join(a, b Bucket) Bucket {
	return Bucket{
		Lo: min(a.Lo, b.Lo), Hi: max(a.Hi, b.Hi), WantLo: min(a.WantLo, b.WantLo), WantHi: max(a.WantHi, b.WantHi),
		Over: a.Over || b.Over, Hot: a.Hot | b.Hot,
	}
}

// loudest keeps the last samples in a ring, and copies it out once half a moment
// has passed since the largest value so far; a larger one puts that off.
func (g *Gather) loudest(t *sim.Taps) {
	r := &g.ring
	conv := t.Wave[sim.AtConverter]
	for i, v := range t.True {
		r.truth[r.at], r.want[r.at], r.demand[r.at], r.conv[r.at], r.hot[r.at] = v, v*t.InGain[i], t.Demand[i], conv[i], t.Hot[i]
		if r.at++; r.at == g.n {
			r.at = 0
		}
		if v < 0 {
			v = -v
		}
		if v > g.best {
			g.best, g.wait = v, g.n/2
		} else if g.wait > 0 {
			if g.wait--; g.wait == 0 {
				g.copyOut(g.frames+int64(i)+1, t.Ceiling)
			}
		}
	}
}

// copyOut takes the ring, which ends before sample end, as the moment.
func (g *Gather) copyOut(end int64, ceiling float64) {
	g.wait = 0
	m, r := &g.moment, &g.ring
	m.Start, m.Ceiling = end-int64(g.n), ceiling
	unroll := func(dst, src []float64) { copy(dst[copy(dst, src[r.at:]):], src[:r.at]) }
	unroll(m.True, r.truth)
	unroll(m.Want, r.want)
	unroll(m.Demand, r.demand)
	unroll(m.Conv, r.conv)
	copy(m.Hot[copy(m.Hot, r.hot[r.at:]):], r.hot[:r.at])
}

// Frames is how many samples were written.
func (g *Gather) Frames() int64 { return g.frames }

// Overview returns the columns and how many samples each stands for; the last one
// may stand for fewer.
func (g *Gather) Overview() ([]Bucket, int) {
	if g.fill == 0 {
		return g.all, g.per
	}
	return append(g.all[:len(g.all):len(g.all)], g.open), g.per
}

// Moment returns the loudest moment. Where it lies before the take's beginning,
// its samples are 0.
func (g *Gather) Moment() Moment {
	if g.wait > 0 {
		g.copyOut(g.frames, g.ceiling)
	}
	return g.moment
}
