package gain

import (
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// LayoutRoom puts a lent bench where its holder has room for it.
func (g *Scene) LayoutRoom(th *ui.Theme, room room.Room) {
	g.room, g.cards.On, g.wide, g.tight, g.listenRow = room, false, false, false, false
	g.Sync()
	kit.Clip(ink.Rect{}, g.Controls()...)
	if room.Strip.W > 0 {
		g.narrowStrip(th, room.Strip)
		sp := &g.strip[g.Shown]
		for _, c := range []ui.Control{sp.gain, sp.meter, sp.lim[0], sp.lim[1], sp.lim[2]} {
			c.Common().Clip = room.Clip
		}
		for _, c := range g.show {
			c.Clip = room.Clip
		}
	}
	if room.Column.W == 0 {
		return
	}
	lay := func() { g.column.Lay(room.Column, func(c ink.Rect) float32 { return g.roomColumn(th, c) }) }
	if lay(); room.Under.W == 0 && g.opens() {
		lay()
	}
	for _, c := range g.Controls() {
		b := c.Common()
		if x := b.Bounds.Center().X; x > room.Column.X && x < room.Column.Right() && !strings.HasPrefix(b.ID, kit.Rulers) {
			b.Clip = room.Column
		}
	}
	if room.Under.W > 0 {
		g.roomLower(th, room.Under)
		for _, c := range g.Controls() {
			if b := c.Common(); room.Under.Contains(b.Bounds.Center()) {
				b.Clip = ink.Rect{}
			}
		}
	}
}

// opens brings into view what a press has opened, and reports whether the column moved.
func (g *Scene) opens() (moved bool) {
	if at := g.drawer.At; at != g.wasOpen {
		g.wasOpen = at
		moved = at != drawer.None && g.column.Reveal(g.waves)
	}
	if g.caution != g.asked {
		g.asked = g.caution
		moved = g.caution && g.column.Reveal(g.transport) || moved
	}
	return moved
}

// roomColumn lays the column out from the top of c down and returns where it ends.
func (g *Scene) roomColumn(th *ui.Theme, c ink.Rect) float32 {
	p := g.room.Place(th, c, g.room.Column.H, room.Needs{
		Strips: g.Bench.N(), Strip: g.stripHeight(th) + th.Px(16), Compact: g.compactHeight(th) + 12, Diagram: 230 * th.Text,
		Lower: g.roomLowerHeight(th, c.W), Take: g.TakeHeight(th, c.W), Open: g.drawer.At != drawer.None,
	})
	for i := range g.Bench.N() {
		if g.room.Strips {
			g.strip[i].compact = p.Compact
			g.layoutStrip(th, i, p.Strips[i])
		}
	}
	g.d.Box = p.Diagram
	g.layoutDiagram(th)
	if p.Lower.W > 0 {
		g.waves = p.Lower
		g.layoutWaves(th)
	}
	if p.Take.W > 0 {
		g.layoutRoomTake(th, p.Take)
	}
	return p.Bottom
}

func (g *Scene) roomLowerHeight(th *ui.Theme, width float32) float32 {
	h := max(g.lowerHeight(th, width), 136*th.Text)
	if g.viewsApart(th, width) {
		h += th.Tall(th.Row(ui.Small)+12) + 26
	}
	return h
}

// UnderHeight is what lower picture and take need, dp.
func (g *Scene) UnderHeight(th *ui.Theme, width float32) float32 {
	return g.roomLowerHeight(th, width) + kit.GapDP + g.TakeHeight(th, width)
}

func (g *Scene) roomLower(th *ui.Theme, box ink.Rect) {
	take := box
	if !g.room.Take {
		take = ui.Bottom(&box, g.TakeHeight(th, box.W))
		ui.Bottom(&box, kit.GapDP)
		g.waves = box
		g.layoutWaves(th)
	}
	g.layoutRoomTake(th, take)
}

// roomItems are what the take is played with, and what is heard of it.
func (g *Scene) roomItems(th *ui.Theme) []cards.Item {
	g.listenWords(true)
	items := []cards.Item{cards.Of(th, g.play), cards.Of(th, g.check)}
	for i, c := range g.listen {
		if g.heard(bench.Listen(i)) {
			items = append(items, cards.Of(th, c))
		}
	}
	items[0].Width = max(items[0].Width, th.Px(98)) // both its words
	return append(items, cards.Item{C: g.matched, Width: g.matched.Width(th) + 8}, cards.Item{C: g.loop, Width: g.loop.Width(th) + 8})
}

// TakeHeight is what the take needs, dp.
func (g *Scene) TakeHeight(th *ui.Theme, width float32) float32 {
	in := ink.Rect{W: width - 24, H: 1e4}
	h := cards.Flow(th, &in, g.roomItems(th))
	return 16 + h + g.roomLine(th) + 4 + float32(room.ResultLines(th, width-24))*th.Row(ui.Small) + float32(room.NoteLines(th, width-24))*th.Row(ui.Tiny)
}

// roomLine is the height of the take's line, which a caution needs more of.
func (g *Scene) roomLine(th *ui.Theme) float32 {
	h := max(52, th.Row(ui.Tiny)+34, th.Least+th.Row(ui.Small)+4)
	if g.caution {
		h = max(h, 4*th.Row(ui.Small)+16)
	}
	return h
}

func (g *Scene) layoutRoomTake(th *ui.Theme, box ink.Rect) {
	g.transport = box
	in := ui.Pad(box, 12, 8)
	cards.Flow(th, &in, g.roomItems(th))
	g.noteBox = ui.Bottom(&in, float32(room.NoteLines(th, in.W))*th.Row(ui.Tiny))
	g.resultBox = ui.Bottom(&in, float32(room.ResultLines(th, in.W))*th.Row(ui.Small))
	ui.Bottom(&in, 4)
	g.layoutLine(th, in)
}

// drawRoom draws a lent bench.
func (g *Scene) drawRoom(l *ink.List, th *ui.Theme) {
	room := &g.room
	if room.Strip.W > 0 {
		if room.Clip.W > 0 {
			l.Clip(room.Clip)
		}
		g.drawStrip(l, th, g.Shown)
		if room.Clip.W > 0 {
			l.Unclip()
		}
	}
	if room.Under.W > 0 {
		if !room.Take {
			g.drawWaves(l, th)
		}
		g.drawTransport(l, th)
	}
	if room.Column.W == 0 {
		return
	}
	l.Clip(room.Column)
	for i := 0; room.Strips && i < g.Bench.N(); i++ {
		g.drawStrip(l, th, i)
	}
	kit.Panel(l, th, g.d.Box)
	g.d.Draw(l, th)
	if room.Under.W == 0 || room.Take {
		g.drawWaves(l, th)
	}
	if room.Under.W == 0 {
		g.drawTransport(l, th)
	}
	l.Unclip()
	g.column.Bar(l, th)
}
