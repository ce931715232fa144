package bench

import (
	"sync/atomic"

	"gainwright/sim"
)

// given is a take whose performance is known from its first sample to its last. The
// clock gives it, and what is turned while it is given, in the steps of sim.Run: so
// the take is the one that the engine makes of it anywhere else, whatever blocks the
// clock asks for and whether or not the screen's side stands still (longer than
// stallFrames, and the take ends too early: it is not whole).
type given struct {
	x     []float64 // Pa at 1 m
	moves []sim.Move
	step  int64
	// The clock's side; the screen's, once the take is finished.
	fed   int64                // samples of x, and of the silence behind it, given so far
	rev   uint64               // of the settings that hold
	set   [MaxStrips]sim.Chain // which they are
	on    [MaxStrips]sim.Chain // the same with the mouth where it is
	still [MaxStrips]bool      // the distance was set: the mouth moves no more
	to    [MaxStrips][sim.NumStations]float64
	// What took hold when; the screen reads what is counted.
	turns []turned
	count atomic.Int64
}

// turned tells from which frame of the performance on settings held.
type turned struct {
	rev   uint64
	frame int64
}

func newGiven(x []float64, moves []sim.Move, rev uint64, set *[MaxStrips]sim.Chain) *given {
	g := &given{x: x, moves: moves, step: int64(sim.StepFrames(Rate, moves)), rev: rev, set: *set, on: *set}
	for i := range g.to {
		g.to[i] = sim.ToFullScale(g.on[i])
	}
	g.turns = make([]turned, int64(len(x))/g.step+1)
	return g
}

// room is how many frames are left of a step.
func (g *given) room() int { return int(g.step - g.fed%g.step) }

// feed fills in, which lies within a step, after what the step begins with was set.
// rev counts the settings turned; settings are those of the strips.
func (g *given) feed(in []float64, rev uint64, settings *[MaxStrips]sim.Chain, strips []*sim.Strip) {
	if g.fed%g.step == 0 && g.fed < int64(len(g.x)) {
		g.turn(rev, settings, strips)
	}
	n := copy(in, g.x[min(g.fed, int64(len(g.x))):])
	clear(in[n:])
	g.fed += int64(len(in))
}

func (g *given) turn(rev uint64, settings *[MaxStrips]sim.Chain, strips []*sim.Strip) {
	anew := rev != g.rev
	if anew {
		g.rev = rev
		n := g.count.Load()
		g.turns[n] = turned{g.rev, g.fed}
		g.count.Store(n + 1)
	}
	for i := range strips {
		if anew {
			g.still[i] = g.still[i] || settings[i].DistanceM != g.set[i].DistanceM
			g.set[i] = settings[i]
		}
		next := g.set[i]
		if !g.still[i] {
			next.DistanceM = sim.DistanceAt(g.moves, next.DistanceM, float64(g.fed)/Rate)
		}
		if next != g.on[i] {
			g.on[i] = next
			strips[i].Turn(&g.on[i])
			g.to[i] = sim.ToFullScale(next)
		}
	}
}

// TurnedAt tells from which frame on the settings held with which Turns was rev; ok
// is false while they do not.
func (t *Take) TurnedAt(rev uint64) (frame int64, ok bool) {
	if t.given == nil {
		return 0, false
	}
	for _, x := range t.given.turns[:t.given.count.Load()] {
		if x.rev >= rev {
			return x.frame, true
		}
	}
	return 0, false
}
