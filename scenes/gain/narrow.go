package gain

import (
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// narrowStrip has the knob beside its meter, and the verdict above.
func (g *Scene) narrowStrip(th *ui.Theme, box ink.Rect) {
	sp := &g.strip[g.Shown]
	sp.box, sp.compact, sp.gain.Flat, sp.label, sp.title = box, false, false, ink.Rect{}, ink.Rect{}
	in := ui.Pad(box, 12, 8)
	head := ui.Top(&in, th.Tall(2*th.Row(ui.Small)))
	if g.lent && (g.Bench.N() == 1 || g.room.Column.W > 0) { // nothing to choose, or chosen beside
		sp.title = ui.Left(&head, min(ink.Measure(g.title(g.Shown), th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+8, head.W*0.5))
	}
	for i := 0; i < g.Bench.N() && sp.title.W == 0; i++ {
		g.show[i].Bounds = ui.Left(&head, max(ui.Touch, g.show[i].Width(th)))
		ui.Left(&head, 4)
	}
	ui.Left(&head, 6)
	sp.line = ui.Top(&head, head.H*0.55)
	sp.noise = head
	ui.Top(&in, 6)
	sp.gain.Bounds = ui.Left(&in, min(in.W*0.42, 150*th.Text))
	ui.Left(&in, 10)
	sp.meter.Bounds = ui.Left(&in, max(ui.Touch, 26+ink.Measure("−60", th.Style(ui.Tiny, ink.Bold, ink.Left, th.Say))+4))
	ui.Left(&in, 16)
	h := (in.H - 8) / 3
	for k, c := range sp.lim {
		c.Look, c.Label = ui.Chip, room.LimiterWord(th, k, in.W)
		c.Bounds = ui.Top(&in, h)
		ui.Top(&in, 4)
	}
}

// narrowTake has what starts and ends a take at the bottom; a caution comes above.
func (g *Scene) narrowTake(th *ui.Theme, box ink.Rect, caution float32) {
	g.transport, g.low = box, ink.Rect{}
	in := ui.Pad(box, 12, 6)
	if g.caution {
		g.cautBox = ui.Top(&in, caution-8)
		ui.Top(&in, 8)
		g.layoutCaution(th)
	}
	g.buttons(ui.Top(&in, th.Tall(48)))
	ui.Top(&in, 4)
	g.noteBox = ui.Bottom(&in, float32(room.NoteLines(th, in.W))*th.Row(ui.Tiny))
	g.resultBox = in
}

// layoutCaution puts the answers into the caution's box.
func (g *Scene) layoutCaution(th *ui.Theme) {
	c := ui.Pad(g.cautBox, 10, 0)
	for _, b := range []*ui.Button{g.cautCancel, g.cautPlay} {
		r := ui.Right(&c, b.Width(th))
		b.Bounds = ui.Pad(r, 0, (r.H-th.Tall(40))/2)
		ui.Right(&c, 8)
	}
}

// buttons are Record and Play in a row.
func (g *Scene) buttons(row ink.Rect) {
	kit.Share(row, 2, 8, func(i int) float32 { return [2]float32{3, 2}[i] }, func(i int, r ink.Rect) { [2]*ui.Button{g.record, g.play}[i].Bounds = r })
}

// narrowTalker lays the card of the talker out and returns its height.
func (g *Scene) narrowTalker(th *ui.Theme, box ink.Rect) float32 {
	in := ui.Pad(box, 12, 8)
	in.H = 1e4
	head := ui.Top(&in, ui.Touch)
	g.who.Head(th, head, 0)
	ui.Top(&in, 4)
	for _, list := range g.talkerRows() {
		items := make([]cards.Item, 0, len(list))
		for _, c := range list {
			if !c.Common().Hidden {
				items = append(items, cards.Of(th, c))
			}
		}
		cards.Flow(th, &in, items)
	}
	return in.Y + 4 - box.Y
}

// talkerRows are who talks, what they do, how loud a recording is, and how a take goes.
func (g *Scene) talkerRows() [5][]ui.Control {
	rows := [5][]ui.Control{4: {g.check, g.again, g.chance}}
	who := g.who.Rows()
	copy(rows[:], who[:])
	return rows
}

// cardControls are the controls of each card.
func (g *Scene) cardControls() (of [4][]ui.Control) {
	for _, row := range g.talkerRows() {
		of[cards.Talker] = append(of[cards.Talker], row...)
	}
	of[cards.Talker] = append(of[cards.Talker], g.who.Heads()...)
	of[cards.Levels] = append(of[cards.Levels], g.forget)
	for _, c := range g.drawer.Openers {
		of[cards.Levels] = append(of[cards.Levels], c)
	}
	of[cards.Lower] = append(of[cards.Lower], g.near, g.far, g.wave, g.loudest)
	for _, c := range g.takes {
		of[cards.Lower] = append(of[cards.Lower], c)
	}
	of[cards.Lower] = append(of[cards.Lower], g.file.Controls()...)
	for _, c := range g.listen {
		of[cards.Listen] = append(of[cards.Listen], c)
	}
	of[cards.Listen] = append(of[cards.Listen], g.matched, g.loop, g.line, g.keep)
	if !g.blind.Open {
		of[cards.Listen] = append(of[cards.Listen], g.blind.Start)
	}
	return of
}

// syncCards hides what a narrow window does not show.
func (g *Scene) syncCards() {
	g.cards.Sync(g.drawer.At != drawer.None || g.idea != ideaAll, g.views[:], g.cardControls())
	for i := range g.strip {
		if sp := &g.strip[i]; g.cards.On && i != g.Shown {
			kit.Hide(true, sp.gain, sp.meter)
			for _, c := range sp.lim {
				c.Hidden = true
			}
		}
	}
}

// viewsApart tells that the choice of the lower picture has a row of its own.
func (g *Scene) viewsApart(th *ui.Theme, width float32) bool {
	return g.lent && width < 428*th.Text
}

// syncRoom hides what of a lent bench is not on the page.
func (g *Scene) syncRoom() {
	of, room := g.cardControls(), &g.room
	kit.Hide(true, of[cards.Talker]...)
	kit.Hide(true, g.record, g.blind.Start, g.drawer.Openers[drawer.Strips])
	g.check.Hidden = room.Column.W == 0
	if room.Column.W == 0 {
		kit.Hide(true, of[cards.Levels]...)
		kit.Hide(true, g.drawer.All...)
		kit.Hide(true, g.play, g.cautPlay, g.cautCancel)
		kit.Hide(true, of[cards.Listen]...)
		kit.Hide(true, of[cards.Lower]...)
		for _, v := range g.views {
			v.Hidden = true
		}
	}
	for i := range g.strip {
		if room.Column.W == 0 && room.Strip.W == 0 || g.Bench.N() == 1 {
			g.show[i].Hidden = true
		}
		if sp := &g.strip[i]; !room.Strips && (room.Strip.W == 0 || i != g.Shown) {
			kit.Hide(true, sp.gain, sp.meter, sp.lim[0], sp.lim[1], sp.lim[2])
		}
	}
}
