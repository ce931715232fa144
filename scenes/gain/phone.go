package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// layoutNarrow lays out what a narrow window shows: the strip, one card, and the take
// below; it reports whether there is room for that.
func (g *Scene) layoutNarrow(th *ui.Theme, r ink.Rect) bool {
	if r.W > 1.5*r.H {
		return g.layoutLow(th, r)
	}
	said := 6 + th.Tall(48) + 4 + 2*th.Row(ui.Small) + float32(room.NoteLines(th, r.W-24))*th.Row(ui.Tiny) + 6
	caution := float32(0)
	if g.caution {
		caution = 4*th.Row(ui.Small) + 16
	}
	low, top := ui.Bottom(&r, said+caution), ui.Top(&r, room.StripHeight(th))
	ui.Bottom(&r, kit.GapDP)
	ui.Top(&r, kit.GapDP)
	if g.blind.Open {
		g.listenBox = ui.Bottom(&r, g.blind.Height(th))
		ui.Bottom(&r, kit.GapDP)
	}
	if g.cards.On = r.H > 120; !g.cards.On {
		return false
	}
	g.Sync()
	g.narrowStrip(th, top)
	g.narrowTake(th, low, caution)
	g.narrowRest(th, r)
	return true
}

// layoutLow is layoutNarrow for a phone on its side: the strip and what starts a take
// beside the card.
func (g *Scene) layoutLow(th *ui.Theme, r ink.Rect) bool {
	side := min(r.W*0.46, 400*th.Text)
	right := r
	left := ui.Left(&right, side)
	ui.Left(&right, kit.GapDP)
	take, strip := ui.Bottom(&left, 12+th.Tall(44)), left
	ui.Bottom(&strip, kit.GapDP)
	said := 6 + 2*th.Row(ui.Small) + float32(room.NoteLines(th, right.W-24))*th.Row(ui.Tiny) + 6
	if g.caution {
		said = 3*th.Row(ui.Small) + 20
	}
	words := ui.Bottom(&right, said)
	ui.Bottom(&right, kit.GapDP)
	if g.blind.Open {
		g.listenBox = ui.Bottom(&right, g.blind.Height(th))
		ui.Bottom(&right, kit.GapDP)
	}
	if g.cards.On = strip.H >= room.StripHeight(th)-4 && right.H > 90; !g.cards.On {
		return false
	}
	g.Sync()
	g.narrowStrip(th, strip)
	g.transport = words
	g.buttons(ui.Pad(take, 12, 6))
	g.low = take
	in := ui.Pad(words, 12, 6)
	if g.cautBox = words; g.caution {
		g.layoutCaution(th)
	}
	g.noteBox = ui.Bottom(&in, float32(room.NoteLines(th, in.W))*th.Row(ui.Tiny))
	g.resultBox = in
	g.narrowRest(th, right)
	return true
}

// narrowRest lays out what is the same for a phone upright and on its side: the card, with
// its choices above.
func (g *Scene) narrowRest(th *ui.Theme, r ink.Rect) {
	if g.blind.Open {
		g.blind.Layout(th, g.listenBox)
	}
	g.wide = false
	if g.drawer.At == drawer.None {
		g.cards.Choices(th, &r, g.views[:])
	}
	g.layoutCard(th, r)
	g.view, g.scroll, g.content = g.cards.View, 0, 0
	g.clip(ink.Rect{})
	for _, cs := range g.cardControls() {
		for _, c := range cs {
			c.Common().Clip = g.view
		}
	}
	for _, c := range g.drawer.All {
		c.Common().Clip = g.view
	}
}

// Swipe shows the card beside.
func (g *Scene) Swipe(dir int) {
	if id := g.cards.Beside(g.views[:], dir); id != "" {
		_, _ = g.acts.Apply(ui.Intent{ID: id, Do: ui.DoPress}) // a choice that is shown refuses nothing
		g.shell.Relayout()
	}
}

// layoutCard lays out the card chosen, or the sheet of a station over it.
func (g *Scene) layoutCard(th *ui.Theme, r ink.Rect) {
	key := [3]int{int(g.cards.At), int(g.look), int(g.drawer.At)}
	if g.drawer.At != drawer.None {
		g.waves = g.cards.Show(r, g.drawer.Height(th, r.W), key)
		g.drawer.Layout(th, g.waves)
		return
	}
	switch g.cards.At {
	case cards.Levels:
		g.d.Box = g.cards.Show(r, 250*th.Text, key)
		in := ui.Pad(g.d.Box, 4, 6)
		head := ui.Top(&in, ui.Touch)
		ui.Top(&in, 4)
		ui.Left(&head, 8)
		for _, b := range []*ui.Button{g.forget, g.drawer.Openers[drawer.Strips]} {
			b.Bounds = ui.Right(&head, max(b.Width(th)-8, ui.Touch))
			ui.Right(&head, 6)
		}
		g.d.Layout(th, head, in)
		g.layoutOpeners()
	case cards.Talker:
		g.who.Box = g.cards.Show(r, g.narrowTalker(th, r), key)
		g.narrowTalker(th, g.who.Box)
	case cards.Listen:
		g.waves = g.cards.Show(r, g.narrowListen(th, r), key)
		g.narrowListen(th, g.waves)
	default:
		g.waves = g.cards.Show(r, max(g.lowerHeight(th, r.W), 200*th.Text), key)
		g.layoutWaves(th)
	}
}

// narrowListen lays the card of what is heard out and returns its height.
func (g *Scene) narrowListen(th *ui.Theme, box ink.Rect) float32 {
	in := ui.Pad(box, 12, 8)
	in.H = 1e4
	g.listenWords(true)
	items := []cards.Item{}
	for i, c := range g.listen {
		if g.heard(bench.Listen(i)) && !c.Hidden {
			items = append(items, cards.Of(th, c))
		}
	}
	cards.Flow(th, &in, items)
	if !g.blind.Open {
		cards.Flow(th, &in, []cards.Item{cards.Of(th, g.matched), cards.Of(th, g.blind.Start)})
	}
	g.line.Bounds = ui.Top(&in, 64*th.Text)
	ui.Top(&in, 6)
	row := ui.Top(&in, th.Tall(th.Row(ui.Small)+12))
	g.keep.Bounds = ui.Right(&row, max(g.keep.Width(th), ui.Touch))
	g.loop.Bounds = ui.Left(&row, max(g.loop.Width(th)+6, ui.Touch))
	ui.Right(&row, 8)
	g.clockBox = row
	return in.Y + 8 - box.Y
}

// drawNarrow draws strip, card and take.
func (g *Scene) drawNarrow(l *ink.List, th *ui.Theme) {
	g.drawStrip(l, th, g.Shown)
	g.drawTransport(l, th)
	if g.blind.Open {
		g.blind.Draw(l, th)
	}
	l.Clip(g.view)
	switch {
	case g.drawer.At != drawer.None || g.cards.At == cards.Lower:
		g.drawWaves(l, th)
	case g.cards.At == cards.Levels:
		kit.Panel(l, th, g.d.Box)
		g.d.Draw(l, th)
	case g.cards.At == cards.Talker:
		g.drawTalker(l, th)
	default:
		kit.Panel(l, th, g.waves)
		g.drawMending(l, th)
		g.drawClock(l, th)
	}
	l.Unclip()
	g.cards.Bar(l, th)
}
