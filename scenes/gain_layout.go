package scenes

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Layout puts everything into area: side by side where there is room, else in
// one column that scrolls above the take.
func (g *gainScene) Layout(th *ui.Theme, area ink.Rect) {
	g.area = area
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	g.wide = r.W/th.Text >= 960 && area.H/th.Text >= 560
	if g.wide {
		g.layoutWide(th, r)
	} else {
		g.layoutTall(th, r)
	}
}

const gapDP = 8

func (g *gainScene) layoutWide(th *ui.Theme, r ink.Rect) {
	g.scroll, g.content = 0, 0
	g.view = ink.Rect{}
	extra := max(0, r.H-582*th.Text)
	g.layoutTransport(th, ui.Bottom(&r, g.transportHeight(th, true)+min(extra*0.08, 30)), true)
	ui.Bottom(&r, gapDP)
	right := ui.Right(&r, min(max(r.W*0.29, 338*th.Text), 470*th.Text))
	ui.Right(&r, gapDP)
	g.waves = ui.Bottom(&r, r.H*0.39)
	ui.Bottom(&r, gapDP)
	g.diagram = r
	listen, talker := g.listenHeight(th), g.talkerHeight(th)
	spare := max(0, right.H-2*g.stripHeight(th)-listen-talker-3*gapDP)
	g.talkerBox = ui.Bottom(&right, talker+min(spare*0.12, 24))
	ui.Bottom(&right, gapDP)
	g.listenBox = ui.Bottom(&right, listen+min(spare*0.1, 20))
	ui.Bottom(&right, gapDP)
	a := ui.Top(&right, (right.H-gapDP)/2)
	ui.Top(&right, gapDP)
	g.layoutStrip(th, 0, a)
	g.layoutStrip(th, 1, right)
	g.layoutListen(th, g.listenBox)
	g.layoutTalker(th, g.talkerBox)
	g.layoutDiagram(th)
	g.layoutWaves(th)
	g.clip(ink.Rect{})
}

func (g *gainScene) layoutTall(th *ui.Theme, r ink.Rect) {
	wideBar := r.W/th.Text >= 960
	g.layoutTransport(th, ui.Bottom(&r, min(g.transportHeight(th, wideBar), r.H*0.6)), wideBar)
	ui.Bottom(&r, gapDP)
	g.view = r
	pairs := r.W/th.Text >= 690
	dh, wh := 330*th.Text, 200*th.Text
	sh, lh, kh := g.stripHeight(th)+20*th.Text, g.listenHeight(th), g.talkerHeight(th)
	need := dh + wh + 4*gapDP
	if pairs {
		need += sh + max(lh, kh)
	} else {
		need += 2*sh + lh + kh + 2*gapDP
	}
	if spare := r.H - need; spare > 0 {
		dh += spare * 0.55
		wh += spare * 0.3
		sh += spare * 0.15
		need = r.H
	}
	g.content = need
	g.scroll = min(max(g.scroll, 0), max(0, need-r.H))
	c := ink.Rect{X: r.X, Y: r.Y - g.scroll, W: r.W, H: need}
	take := func(h float32) ink.Rect {
		b := ui.Top(&c, h)
		ui.Top(&c, gapDP)
		return b
	}
	g.diagram = take(dh)
	if pairs {
		b := take(sh)
		g.layoutStrip(th, 0, ui.Column(b, 0, 2, gapDP))
		g.layoutStrip(th, 1, ui.Column(b, 1, 2, gapDP))
		g.waves = take(wh)
		b = take(max(lh, kh))
		g.listenBox, g.talkerBox = ui.Column(b, 0, 2, gapDP), ui.Column(b, 1, 2, gapDP)
	} else {
		g.layoutStrip(th, 0, take(sh))
		g.layoutStrip(th, 1, take(sh))
		g.waves = take(wh)
		g.listenBox = take(lh)
		g.talkerBox = take(kh)
	}
	g.layoutListen(th, g.listenBox)
	g.layoutTalker(th, g.talkerBox)
	g.layoutDiagram(th)
	g.layoutWaves(th)
	g.clip(g.view)
}

// clip limits what scrolls to its window; the take's controls stay.
func (g *gainScene) clip(r ink.Rect) {
	for _, c := range g.Controls() {
		b := c.Common()
		switch b.ID {
		case "record", "play", "loop", "check", "again", "take.at_s", "caution.play", "caution.cancel":
		default:
			b.Clip = r
		}
	}
}

// Scroll moves the column.
func (g *gainScene) Scroll(dy float32) {
	if g.wide {
		return
	}
	old := g.scroll
	g.scroll = min(max(g.scroll+dy, 0), max(0, g.content-g.view.H))
	if g.scroll != old {
		g.Layout(&g.p.th, g.area)
	}
}

// Reveal scrolls until r can be seen.
func (g *gainScene) Reveal(r ink.Rect) {
	switch {
	case g.wide || r.Y >= g.area.Bottom()-1 || r.Y >= g.transport.Y:
	case r.Y < g.view.Y:
		g.Scroll(r.Y - g.view.Y - 12)
	case r.Bottom() > g.view.Bottom():
		g.Scroll(min(r.Bottom()-g.view.Bottom()+12, r.Y-g.view.Y))
	}
}

func (g *gainScene) stripHeight(th *ui.Theme) float32 {
	// Title, overs, noise; the knob's dial, number and label.
	return 16 + th.Row(ui.Strong) + th.Row(ui.Small) + max(ui.KnobHeight(th, 62), 3*chipHeight(th)+8)
}

func chipHeight(th *ui.Theme) float32 { return max(26, th.Row(ui.Small)+7) }

func (g *gainScene) layoutStrip(th *ui.Theme, i int, box ink.Rect) {
	sp := &g.strip[i]
	sp.box = box
	in := ui.Pad(box, 12, 8)
	head := ui.Top(&in, th.Row(ui.Strong))
	name := ink.Measure("Strip A", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)) + 12
	sp.title = ui.Left(&head, name)
	sp.line = head
	sp.noise = ui.Top(&in, th.Row(ui.Small))
	ui.Left(&sp.noise, name)
	ui.Top(&in, 2)
	meterW := 16 + 10 + ink.Measure("−60", th.Style(ui.Tiny, ink.Bold, ink.Left, th.Say)) + 4
	sp.meter.Bounds = ui.Right(&in, meterW)
	ui.Right(&in, 14)
	k := ui.Left(&in, min(in.W*0.44, 130*th.Text))
	sp.gain.Bounds = k
	ui.Left(&in, 14)
	// The three places of the limiter under their label, if there is room.
	ch := min(chipHeight(th)+max(0, (in.H-3*chipHeight(th)-th.Row(ui.Tiny)-10)/3), 44)
	rows := 3*ch + 10
	sp.label = ink.Rect{}
	if in.H >= rows+th.Row(ui.Tiny) {
		sp.label = ink.Rect{X: in.X, Y: in.Y + (in.H-rows-th.Row(ui.Tiny))/2, W: in.W, H: th.Row(ui.Tiny)}
		in.Y = sp.label.Bottom()
	} else {
		in.Y += max(0, (in.H-rows)/2)
	}
	for k := range sp.lim {
		sp.lim[k].Bounds = ink.Rect{X: in.X, Y: in.Y + float32(k)*(ch+5), W: in.W, H: ch}
		sp.lim[k].Label = limiterWord(th, k, in.W)
	}
}

// limiterWord is the longest word for a limiter's place that fits.
func limiterWord(th *ui.Theme, k int, width float32) string {
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	room := width - th.Px(12) - 21
	switch k {
	case 0:
		return ui.Fit(st, room, "limiter off", "off")
	case 1:
		return ui.Fit(st, room, "limiter before converter", "before converter", "before conv.", "before")
	}
	return ui.Fit(st, room, "limiter after converter", "after converter", "after conv.", "after")
}

func (g *gainScene) listenHeight(th *ui.Theme) float32 {
	return 16 + max(32, th.Row(ui.Small)+10) + 4 + max(24, th.Row(ui.Small))
}

func (g *gainScene) layoutListen(th *ui.Theme, box ink.Rect) {
	in := ui.Pad(box, 12, 8)
	low := ui.Bottom(&in, max(24, th.Row(ui.Small)))
	ui.Bottom(&in, 4)
	g.matched.Bounds = low
	g.matched.Label = ui.Fit(th.Style(ui.Small, ink.Regular, ink.Left, th.Say), low.W-th.Px(16)-9,
		"matched in loudness, −23 LUFS", "matched, −23 LUFS", "matched")
	ui.Left(&in, ink.Measure("Listen", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+14)
	w := g.listen[2].Width(th)
	rest := max(0, in.W-w-12)
	for i := range 2 {
		g.listen[i].Bounds = ui.Left(&in, min(rest/2, th.Px(120)))
		ui.Left(&in, 6)
	}
	g.listen[2].Bounds = ui.Left(&in, max(w, min(in.W, th.Px(150))))
}

func (g *gainScene) talkerHeight(th *ui.Theme) float32 {
	return 16 + th.Row(ui.Strong) + 4 + max(28, th.Row(ui.Small)+8) + 4 + max(30, th.Row(ui.Small)+10)
}

func (g *gainScene) layoutTalker(th *ui.Theme, box ink.Rect) {
	in := ui.Pad(box, 12, 8)
	head := ui.Top(&in, th.Row(ui.Strong))
	g.open.Bounds = ui.Right(&head, min(g.open.Width(th)-8, head.W))
	ui.Top(&in, 4)
	row := ui.Top(&in, (in.H-4)*0.48)
	ui.Top(&in, 4)
	share(row, len(g.talkers), 3, func(i int) float32 { return g.talkers[i].Width(th) }, func(i int, r ink.Rect) { g.talkers[i].Bounds = r })
	share(in, len(g.events), 4, func(i int) float32 { return g.events[i].Width(th) }, func(i int, r ink.Rect) { g.events[i].Bounds = r })
}

// share cuts a row into n pieces whose widths go with what they need.
func share(r ink.Rect, n int, gap float32, need func(int) float32, place func(int, ink.Rect)) {
	sum := float32(0)
	for i := range n {
		sum += need(i)
	}
	room := r.W - gap*float32(n-1)
	for i := range n {
		place(i, ui.Left(&r, need(i)/sum*room))
		ui.Left(&r, gap)
	}
}

func (g *gainScene) transportHeight(th *ui.Theme, wide bool) float32 {
	if wide {
		return 16 + max(44+6+max(28, th.Row(ui.Small)+6), 52+4+th.Row(ui.Small)+th.Row(ui.Tiny))
	}
	return 16 + 44 + 6 + max(28, th.Row(ui.Small)+6) + 6 + 54 + 2*th.Row(ui.Small) + 2*th.Row(ui.Tiny)
}

func (g *gainScene) layoutTransport(th *ui.Theme, box ink.Rect, wide bool) {
	g.transport = box
	in := ui.Pad(box, 12, 8)
	var left ink.Rect
	rowB := max(28, th.Row(ui.Small)+6)
	loopW := g.loop.Width(th) + 6
	recW := max(g.record.Width(th), th.Px(108))
	playW := max(g.play.Width(th), th.Px(98))
	lw := max(recW+playW+loopW+16, g.check.Width(th)+g.again.Width(th)+14)
	if wide {
		left = ui.Left(&in, lw)
		ui.Left(&in, 16)
		spare := max(0, left.H-44-6-rowB)
		left.Y += spare / 2
	} else {
		left = ui.Top(&in, 44+6+rowB)
		ui.Top(&in, 6)
	}
	one := ui.Top(&left, 44)
	ui.Top(&left, 6)
	two := ui.Top(&left, rowB)
	g.record.Bounds = ui.Left(&one, recW)
	ui.Left(&one, 8)
	g.play.Bounds = ui.Left(&one, playW)
	ui.Left(&one, 10)
	g.loop.Bounds = ui.Left(&one, loopW)
	g.check.Bounds = ui.Left(&two, g.check.Width(th))
	ui.Left(&two, 12)
	g.again.Bounds = ui.Left(&two, min(g.again.Width(th)+2, two.W))
	notes := th.Row(ui.Tiny)
	results := th.Row(ui.Small)
	if !wide {
		notes, results = 2*notes, 2*results
	}
	g.noteBox = ui.Bottom(&in, notes)
	g.resultBox = ui.Bottom(&in, results)
	ui.Bottom(&in, 4)
	clockW := ink.Measure("180.0 / 180.0 s", th.Style(ui.Small, ink.Mono, ink.Left, th.Say)) + 4
	g.clockBox = ui.Right(&in, min(clockW, in.W*0.3))
	ui.Right(&in, 10)
	g.line.Bounds = in
	// The caution lies over the timeline.
	c := ink.Rect{X: in.X, Y: in.Y, W: g.clockBox.Right() - in.X, H: in.H}
	c = ui.Pad(c, 10, 0)
	bh := min(40, c.H-6)
	cw, pw := g.cautCancel.Width(th), g.cautPlay.Width(th)
	b := ui.Right(&c, cw)
	g.cautCancel.Bounds = ink.Rect{X: b.X, Y: c.Y + (c.H-bh)/2, W: cw, H: bh}
	ui.Right(&c, 8)
	b = ui.Right(&c, pw)
	g.cautPlay.Bounds = ink.Rect{X: b.X, Y: c.Y + (c.H-bh)/2, W: pw, H: bh}
}

func (g *gainScene) layoutDiagram(th *ui.Theme) {
	in := ui.Pad(g.diagram, 12, 8)
	head := ui.Top(&in, max(th.Row(ui.Strong), 26))
	fw := g.forget.Width(th) - 8
	g.forget.Bounds = ui.Right(&head, fw)
	ui.Right(&head, 8)
	for i := 1; i >= 0; i-- {
		g.show[i].Bounds = ui.Right(&head, max(40, g.show[i].Width(th)))
		ui.Right(&head, 4)
	}
	g.d.head = head
	g.d.legend = ui.Top(&in, th.Row(ui.Tiny))
	ui.Top(&in, 4)
	g.d.native = ui.Bottom(&in, th.Row(ui.Small))
	g.d.names = ui.Bottom(&in, th.Row(ui.Small))
	ui.Bottom(&in, 4)
	gutter := ink.Measure("−100", th.Style(ui.Tiny, ink.Regular, ink.Left, th.Say)) + 8
	g.d.gutter = ui.Left(&in, gutter)
	ui.Left(&g.d.names, gutter)
	ui.Left(&g.d.native, gutter)
	g.d.plot = in
}

func (g *gainScene) layoutWaves(th *ui.Theme) {
	in := ui.Pad(g.waves, 12, 8)
	head := ui.Top(&in, max(th.Row(ui.Strong), 26))
	g.loudest.Bounds = ui.Right(&head, g.loudest.Width(th)-8)
	ui.Right(&head, 8)
	g.wave.head = head
	ui.Top(&in, 4)
	g.wave.layout(th, in)
}
