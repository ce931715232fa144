package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim/plan"
)

// The ruler of gain stands above everything. Whoever has borrowed the bench lays it out and
// draws it: these are for that.

// LayoutRuler puts the ruler at the top of area and returns the rest.
func (g *Scene) LayoutRuler(th *ui.Theme, area ink.Rect) ink.Rect { return g.win.Layout(th, area) }

// HideRuler takes it off the picture.
func (g *Scene) HideRuler() { g.win.Hide() }

// DrawRuler draws it.
func (g *Scene) DrawRuler(l *ink.List, th *ui.Theme) { g.win.Draw(l, th) }

// RulerNodes tells it.
func (g *Scene) RulerNodes(dst []ui.Node) []ui.Node { return g.win.Nodes(dst) }

// RulerControls are what its switch is made of.
func (g *Scene) RulerControls() []ui.Control { return g.win.Ruler.Controls() }

// KeepWindow keeps the window to itself for a reason, on ruler and meters, and what is said
// of a take to what was read, without advice; "" shows both.
func (g *Scene) KeepWindow(why string) {
	if g.win.Secret() == why {
		return
	}
	g.win.Keep(why)
	if g.card.Of != nil {
		g.makeCard(g.card.Of)
		g.shell.Relayout()
	}
}

// FixWindow shows a window that somebody else has worked out, of all strips; nil the bench's
// own again.
func (g *Scene) FixWindow(s *plan.Setup, r *plan.Ruler) { g.win.Fix(s, r) }

// makeCard says what became of a take.
func (g *Scene) makeCard(t *bench.Take) {
	g.card.Make(t, g.win.Secret() != "", g.win.Score(t, g.of(t)))
}
