package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/room"
)

// Lend leaves the scene to a lesson or to practice, which puts its own take and
// settings on the bench; restore takes it back.
func (g *Scene) Lend() {
	g.lent, g.room, g.cards.On = true, room.Room{}, false
	g.blind.Close()
	g.who.EndLive()
	g.DropCaution()
	g.said = g.status
}

// Restore takes the scene back.
func (g *Scene) Restore() {
	g.lent = false
	g.names = [bench.MaxStrips]string{}
	g.status = g.said
	g.FixWindow(nil, nil)
	g.KeepWindow("")
}

// Cautions reports whether a caution waits for an answer; DropCaution takes it away.
func (g *Scene) Cautions() bool { return g.caution }

// MarkAnnounced keeps the result of the take on the bench from being announced again.
func (g *Scene) MarkAnnounced() { g.wave.Known = g.Bench.Take() }

// Say puts words where the results stand.
func (g *Scene) Say(words string) { g.status = words }

// ShowStrip shows strip i in the diagram and the waves.
func (g *Scene) ShowStrip(i int) { g.Shown = i }

// NameStrips gives strips names of their own; "" is the usual one.
func (g *Scene) NameStrips(names [bench.MaxStrips]string) { g.names = names }
