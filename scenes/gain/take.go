package gain

import (
	"fmt"
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

func (g *Scene) set(i int, c sim.Chain) error {
	if c == g.Bench.Chain(i) {
		return nil
	}
	g.Shown = i
	playing := g.Bench.Playing()
	if playing {
		// What is played stays; the new settings count for the next take.
		g.Bench.Stop()
	}
	return g.Bench.SetChain(i, c)
}

// hear changes what is heard; going over to clipped sound while the take
// plays asks first.
func (g *Scene) hear(l bench.Listen) {
	g.Bench.SetListen(l)
	if g.Bench.Playing() && g.clippedUnwarned(l) {
		g.Bench.Stop()
		g.caution = true
	}
}

// listenTo is a press that changes what is heard.
func (g *Scene) listenTo(l bench.Listen) error {
	g.hear(l)
	if g.Bench.Mode() != bench.ModeCheck || g.lent {
		return nil // it will be heard once it is played
	}
	return g.shell.Audibly("", func() error { return nil })
}

// clippedUnwarned reports whether a sound of the take is clipped, and nobody has
// been warned of this take yet.
func (g *Scene) clippedUnwarned(l bench.Listen) bool {
	t := g.Bench.Take()
	return t != nil && t.Done && l <= bench.ListenD && int(l) < t.N && t.Readings[l].Overs > 0 && g.warned != t
}

func (g *Scene) toggleRecord() error {
	g.caution, g.afterCaution = false, nil
	g.blind.Close()
	if g.Bench.Mode() == bench.ModeRecord {
		g.Bench.Stop()
		return nil
	}
	again := g.sameOn && g.Bench.Take() != nil && g.Bench.Take().Done
	if err := g.Bench.Record(again); err != nil {
		return err
	}
	g.status = fmt.Sprintf("Recording take %d.", g.Bench.Take().Number)
	g.awaitVerdict()
	return nil
}

// awaitVerdict goes back, while the next take rolls, to what was shown before the last
// one's result had opened by itself.
func (g *Scene) awaitVerdict() {
	v := &g.verdict
	v.of = g.Bench.Take()
	if v.opened && g.look == viewResult {
		g.look = v.before
		g.shell.Relayout()
	}
	v.opened = false
}

// showVerdict opens the result of a take that was recorded here and has just ended. A
// presentation shows what it was told to, a recording of one's own what it tells.
func (g *Scene) showVerdict(t *bench.Take) {
	v := &g.verdict
	if t != v.of || g.lent {
		return
	}
	v.of = nil
	if g.idea != ideaAll || g.look == viewFile {
		return
	}
	if g.look != viewResult {
		v.before, v.opened = g.look, true
	}
	g.look, v.tocome, g.cards.At = viewResult, true, cards.Lower
	g.drawer.At = drawer.None
}

func (g *Scene) togglePlay() error {
	if g.Bench.Playing() {
		g.Bench.Stop()
		return nil
	}
	t := g.Bench.Take()
	if t == nil || !t.Done {
		return g.Bench.Play()
	}
	if g.clippedUnwarned(g.Bench.Listening()) {
		g.caution = true
		return nil
	}
	return g.startPlay()
}

func (g *Scene) startPlay() error {
	return g.shell.Audibly("", func() error {
		g.review()
		return g.Bench.Play()
	})
}

// review goes from the sound check to the take, if there is one, and says what became
// of it.
func (g *Scene) review() {
	if t := g.Bench.Take(); t != nil && t.Done && g.Bench.Mode() == bench.ModeCheck {
		g.Bench.SetMode(bench.ModeReview)
		g.Bench.HearTake()
		g.status = g.resultWords(t)
	}
}

// overSpans keeps the list of overs of the strip shown up to date.
func (g *Scene) overSpans(t *bench.Take) []ui.Span {
	k := g.of(t)
	if g.overTake != t || g.overShown != k {
		g.overTake, g.overShown, g.overBins, g.overs = t, k, 0, g.overs[:0]
	}
	g.overs, g.overBins = t.OverSpans(g.overs, k, g.overBins)
	return g.overs
}

// of is the strip of a take to show: it may have fewer than the bench.
func (g *Scene) of(t *bench.Take) int { return min(g.Shown, t.N-1) }

func (g *Scene) outline(from, to float64) (lo, hi float32) {
	if t := g.Bench.Take(); t != nil {
		lo, hi, _ = t.Outline(g.of(t), from, to)
	}
	return lo, hi
}

// DropCaution takes the caution away that waits for an answer.
func (g *Scene) DropCaution() { g.caution, g.afterCaution = false, nil }
