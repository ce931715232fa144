package gain

import (
	"fmt"
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// noStripWords say that a take has no strip i; made once.
func noStripWords(number, i int) string {
	return "take " + ui.Decimal(float64(number), 0) + " has no strip " + bench.StripNames[i]
}

func remakingWords(n int) string { return fmt.Sprintf("Take %d is being made again.", n) }

// takeNames are what the choice of a take is called; each is made once.
func takeNames(n int) (id, label, name string) {
	n = min(n, len(takeWords)-1)
	w := &takeWords[n]
	if w[0] == "" {
		d := ui.Decimal(float64(n), 0)
		*w = [3]string{idTake + d, d, "Take " + d}
	}
	return w[0], w[1], w[2]
}

var takeWords [1000][3]string

// title is what strip i is called on its panel.
func (g *Scene) title(i int) string {
	if n := g.names[i]; n != "" {
		return bench.StripNames[i] + ": " + n
	}
	return bench.StripTitles[i]
}

// remakeWords tell how far take n is with being made again.
func (g *Scene) remakeWords(n int, part float64) []string {
	s := g.t.remade.Get([6]int64{int64(n), ui.Q(part*100, 0)}, func() string {
		return fmt.Sprintf("%s %s %%", remakingWords(n), ui.Decimal(part*100, 0))
	})
	if len(g.t.remadeLine) == 0 {
		g.t.remadeLine = []string{""}
	}
	g.t.remadeLine[0] = s
	return g.t.remadeLine
}

func (g *Scene) fullResult(t *bench.Take) string {
	return g.t.full.Get([6]int64{t.ID}, func() string { return result.OfTake(t) })
}

// briefResult is the same in few words.
func (g *Scene) briefResult(t *bench.Take) string {
	return g.t.brief.Get([6]int64{t.ID}, func() string { return result.Brief(t) })
}

// readings are those to show of strip i.
func (g *Scene) readings(i int) *sim.Readings { return &g.Bench.View().Strip[i].Readings }

// ofTake names the take, and its setting, where strip i stands otherwise by now than
// in the take whose figures its panel shows; else it is empty.
func (g *Scene) ofTake(i int) string {
	t := g.Bench.Shown()
	if t == nil || i >= t.N || i >= g.Bench.N() || t.End[i] == g.Bench.Chain(i) {
		return ""
	}
	s := fmt.Sprintf("take %d at %s dB", t.Number, ui.Decimal(t.End[i].Preamp.GainDB, 1))
	if p := t.End[i].Place(); p != g.Bench.Chain(i).Place() {
		s += map[sim.LimiterPlace]string{sim.LimiterOff: ", no limiter", sim.LimiterBefore: ", limiter before", sim.LimiterAfter: ", limiter after"}[p]
	}
	return s + ": "
}

// overFigures are the overs since the hold was cleared; ok is false while
// nothing has been heard.
func (g *Scene) overFigures(i int) (overs int, longestMS, headroom float64, ok bool) {
	r := g.readings(i)
	if t := g.Bench.Shown(); t != nil {
		return r.Overs, float64(r.LongestOverMS), float64(r.HeadroomDB), i < t.N
	}
	v := &g.Bench.View().Strip[i]
	c := kit.Decibel(sim.Ceilings(g.Chain(i))[sim.AtConverter])
	head := c - kit.Decibel(v.Demand)
	return v.Overs, float64(r.LongestOverMS), head, v.Truth > 1e-5
}

// stripWords says what became of strip i.
func (g *Scene) stripWords(i int) string {
	overs, longest, head, ok := g.overFigures(i)
	switch {
	case g.Absent(i):
		return notInTake(g.Bench.Take().Number)
	case !ok:
		return "nothing heard yet"
	case overs == 0:
		return g.ofTake(i) + "no overs, " + ui.Decimal(head, 1) + " dB left"
	}
	return fmt.Sprintf("%s%d overs, longest %s ms, lost for good", g.ofTake(i), overs, ui.Decimal(longest, 1))
}

func notInTake(n int) string { return "not in take " + ui.Decimal(float64(n), 0) }

// resultWords say what became of a take, and whether it can be heard mended.
func (g *Scene) resultWords(t *bench.Take) string {
	m := &g.mend
	s := g.fullResult(t)
	switch {
	case m.take != t || m.strip < 0 || m.job != nil:
	case g.Bench.HasMended():
		s += " Strip " + bench.StripNames[m.strip] + " can be heard mended."
	case m.none != "":
		s += " Strip " + bench.StripNames[m.strip] + " cannot be mended: " + m.none
	}
	return s
}
