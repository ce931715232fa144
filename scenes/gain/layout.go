package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// Layout puts everything into area: side by side where there is room, else in
// one column that scrolls above the take.
func (g *Scene) Layout(th *ui.Theme, area ink.Rect) {
	g.area, g.cards.On = area, false
	g.win.Hide()
	if g.idea == ideaAll {
		area = g.win.Layout(th, area)
	}
	g.Sync()
	if g.idea != ideaAll {
		g.layoutIdea(th, area)
		return
	}
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	// In a picture much higher than wide one column uses the room better.
	g.wide = r.W/th.Text >= 900 && area.H/th.Text >= 520 && area.H < 1.15*r.W && r.H >= g.least(th, r.W)
	if g.wide {
		g.layoutWide(th, r)
	} else {
		if th.Narrow && g.layoutNarrow(th, r) {
			g.verdict.tocome = false
			return
		}
		g.layoutTall(th, r)
	}
	if g.verdict.tocome {
		g.verdict.tocome = false
		if r := g.waves; !g.wide {
			g.Scroll(min(r.Bottom()-g.view.Bottom()+12, r.Y-g.view.Y))
		}
	}
}

// least is the height that the wide layout needs.
func (g *Scene) least(th *ui.Theme, width float32) float32 {
	n := float32(g.Bench.N())
	listen := g.tightListen(th, sideWidth(th, width))
	return g.transportHeight(th, true, width) + kit.GapDP + n*g.compactHeight(th) + listen + g.who.Height(th) + (n+1)*kit.GapDP
}

// sideWidth is how wide the strips' column is beside a diagram.
func sideWidth(th *ui.Theme, width float32) float32 {
	return min(max(width*0.29, 338*th.Text+1.4*th.Least), 470*th.Text+th.Least)
}

func (g *Scene) layoutWide(th *ui.Theme, r ink.Rect) {
	g.scroll, g.content = 0, 0
	g.view = ink.Rect{}
	extra := max(0, r.H-582*th.Text)
	g.layoutTransport(th, ui.Bottom(&r, g.transportHeight(th, true, r.W)+min(extra*0.08, 30)), true)
	ui.Bottom(&r, kit.GapDP)
	right := ui.Right(&r, sideWidth(th, r.W))
	ui.Right(&r, kit.GapDP)
	// What is open below takes what it needs, down to a diagram that can be read.
	low := r.H * 0.39
	if need := g.lowerHeight(th, r.W); need > 0 {
		low = min(max(need, low*0.9), r.H-kit.GapDP-126*th.Text)
	}
	g.waves = ui.Bottom(&r, low)
	ui.Bottom(&r, kit.GapDP)
	g.d.Box = r
	n := g.Bench.N()
	listen, talker := g.listenHeight(th), g.who.Height(th)
	full := g.stripHeight(th)
	g.tight = right.H < float32(n)*full+listen+talker+float32(n+1)*kit.GapDP
	compact := false
	if g.tight {
		listen = g.tightListen(th, right.W)
	}
	if right.H < float32(n)*full+listen+talker+float32(n+1)*kit.GapDP {
		compact, full = true, g.compactHeight(th)
	}
	spare := max(0, right.H-float32(n)*full-listen-talker-float32(n+1)*kit.GapDP)
	g.who.Box = ui.Bottom(&right, talker+min(spare*0.12, 24))
	ui.Bottom(&right, kit.GapDP)
	g.listenBox = ui.Bottom(&right, listen+min(spare*0.1, 20))
	ui.Bottom(&right, kit.GapDP)
	h := (right.H - float32(n-1)*kit.GapDP) / float32(n)
	for i := range n {
		g.strip[i].compact = compact
		g.layoutStrip(th, i, ui.Top(&right, h))
		ui.Top(&right, kit.GapDP)
	}
	g.layoutListen(th, g.listenBox)
	g.who.Layout(th, g.who.Box)
	g.layoutDiagram(th)
	g.layoutWaves(th)
	g.clip(ink.Rect{})
}

func (g *Scene) layoutTall(th *ui.Theme, r ink.Rect) {
	wideBar := r.W/th.Text >= 900
	g.layoutTransport(th, ui.Bottom(&r, g.transportHeight(th, wideBar, r.W)), wideBar)
	ui.Bottom(&r, kit.GapDP)
	g.view = r
	pairs := r.W/th.Text >= 690
	dh, wh := 330*th.Text, 200*th.Text
	if h := g.lowerHeight(th, r.W); h > 0 {
		wh = h
	}
	n := g.Bench.N()
	for i := range n {
		g.strip[i].compact = false
	}
	rows := (n + 1) / 2
	sh, lh, kh := g.stripHeight(th)+20*th.Text, g.listenHeight(th), g.who.Height(th)
	need := dh + wh + 4*kit.GapDP
	if pairs {
		need += float32(rows)*(sh+kit.GapDP) - kit.GapDP + max(lh, kh)
	} else {
		need += float32(n)*(sh+kit.GapDP) + lh + kh
	}
	if spare := r.H - need; spare > 0 {
		dh += spare * 0.55
		wh += spare * 0.3
		sh += spare * 0.15 / float32(rows)
		need = r.H
	}
	g.content = need
	g.scroll = min(max(g.scroll, 0), max(0, need-r.H))
	c := ink.Rect{X: r.X, Y: r.Y - g.scroll, W: r.W, H: need}
	take := func(h float32) ink.Rect {
		b := ui.Top(&c, h)
		ui.Top(&c, kit.GapDP)
		return b
	}
	g.d.Box = take(dh)
	if pairs {
		for i := 0; i < n; i += 2 {
			b := take(sh)
			if n == 1 {
				g.layoutStrip(th, i, b)
				break
			}
			g.layoutStrip(th, i, ui.Column(b, 0, 2, kit.GapDP))
			if i+1 < n {
				g.layoutStrip(th, i+1, ui.Column(b, 1, 2, kit.GapDP))
			}
		}
		g.waves = take(wh)
		b := take(max(lh, kh))
		g.listenBox, g.who.Box = ui.Column(b, 0, 2, kit.GapDP), ui.Column(b, 1, 2, kit.GapDP)
	} else {
		for i := range n {
			g.layoutStrip(th, i, take(sh))
		}
		g.waves = take(wh)
		g.listenBox = take(lh)
		g.who.Box = take(kh)
	}
	g.layoutListen(th, g.listenBox)
	g.who.Layout(th, g.who.Box)
	g.layoutDiagram(th)
	g.layoutWaves(th)
	g.clip(g.view)
}

// clip limits what scrolls to its window; the take's controls stay.
func (g *Scene) clip(r ink.Rect) {
	for _, c := range g.Controls() {
		b := c.Common()
		switch b.ID {
		case kit.IDRulerTake, kit.IDRulerHour, kit.IDRecord, kit.IDPlay, kit.IDLoop, kit.IDCheck, idAgain, idSurprises, kit.IDTakeAt, kit.IDCautionPlay, kit.IDCautionCancel, kit.IDTakeSave:
			b.Clip = ink.Rect{} // which a narrow window may have left
		default:
			b.Clip = r
		}
	}
}

// Scroll moves the column; where there is none, what a recording tells.
func (g *Scene) Scroll(dy float32) {
	if g.lent {
		if g.column.By(dy) {
			g.shell.Relayout()
		}
		return
	}
	if g.wide {
		if g.look == viewFile && g.drawer.At == drawer.None && g.file.Pane.By(dy) {
			g.layoutWaves(g.shell.Theme())
		}
		return
	}
	if g.cards.On {
		if g.cards.By(dy) {
			g.shell.Relayout()
		}
		return
	}
	old := g.scroll
	g.scroll = min(max(g.scroll+dy, 0), max(0, g.content-g.view.H))
	if g.scroll != old {
		g.Layout(g.shell.Theme(), g.area)
	}
}

// Reveal scrolls until r can be seen.
func (g *Scene) Reveal(r ink.Rect) {
	switch {
	case g.lent:
		if g.room.Column.W > 0 && g.column.Holds(r) && g.column.Reveal(r) {
			g.shell.Relayout()
		}
	case g.wide || r.Y >= g.area.Bottom()-1 || r.Y >= g.transport.Y:
	case r.Y < g.view.Y:
		g.Scroll(r.Y - g.view.Y - 12)
	case r.Bottom() > g.view.Bottom():
		g.Scroll(min(r.Bottom()-g.view.Bottom()+12, r.Y-g.view.Y))
	}
}

func (g *Scene) stripHeight(th *ui.Theme) float32 {
	// Title with overs, noise; the knob's dial, number and label.
	return 12 + th.Row(ui.Strong) + th.Row(ui.Small) + max(ui.KnobHeight(th, 62), 3*kit.ChipHeight(th)+8)
}

// compactHeight is that of one of many strips: a flat knob beside the places of
// the limiter in one row.
func (g *Scene) compactHeight(th *ui.Theme) float32 {
	return 10 + th.Row(ui.Strong) + max(th.Row(ui.Title)+th.Row(ui.Tiny), kit.ChipHeight(th)+th.Row(ui.Tiny)) + 4
}

// lowerHeight is what the lower panel needs at least, or 0 if it takes what there
// is.
func (g *Scene) lowerHeight(th *ui.Theme, width float32) float32 {
	switch {
	case g.drawer.At != drawer.None:
		return g.drawer.Height(th, width)
	case g.look == viewFile:
		return g.file.Height(th, width)
	case g.look == viewResult && g.card.Of != nil && g.card.Of == g.Bench.Take():
		return g.card.Height(th, width, g.card.Of.N)
	}
	return 0
}

func (g *Scene) layoutStrip(th *ui.Theme, i int, box ink.Rect) {
	sp := &g.strip[i]
	sp.box = box
	in := ui.Pad(box, 12, 6)
	head := ui.Top(&in, th.Row(ui.Strong))
	name := min(ink.Measure(g.title(i), th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+12, head.W*0.6)
	sp.title = ui.Left(&head, name)
	sp.line = head
	if sp.compact {
		g.layoutCompact(th, i, in)
		return
	}
	sp.gain.Flat = false
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
	const apart = 4
	ch := min(kit.ChipHeight(th)+max(0, (in.H-3*kit.ChipHeight(th)-th.Row(ui.Tiny)-2*apart)/3), 44)
	rows := 3*ch + 2*apart
	sp.label = ink.Rect{}
	if in.H >= rows+th.Row(ui.Tiny) {
		sp.label = ink.Rect{X: in.X, Y: in.Y + (in.H-rows-th.Row(ui.Tiny))/2, W: in.W, H: th.Row(ui.Tiny)}
		in.Y = sp.label.Bottom()
	} else {
		in.Y += max(0, (in.H-rows)/2)
	}
	for k := range sp.lim {
		sp.lim[k].Look = ui.Chip
		sp.lim[k].Bounds = ink.Rect{X: in.X, Y: in.Y + float32(k)*(ch+apart), W: in.W, H: ch}
		sp.lim[k].Label = room.LimiterWord(th, k, in.W)
	}
}

// layoutCompact lays out what is below a strip's head in the little room there is
// beside many others.
func (g *Scene) layoutCompact(th *ui.Theme, i int, in ink.Rect) {
	sp := &g.strip[i]
	sp.gain.Flat = true
	sp.label = ink.Rect{}
	meterW := 14 + 10 + ink.Measure("−60", th.Style(ui.Tiny, ink.Bold, ink.Left, th.Say)) + 4
	sp.meter.Bounds = ui.Right(&in, meterW)
	ui.Right(&in, 10)
	num := ink.Measure("88.8 dB", th.Style(ui.Title, ink.Bold, ink.Left, th.Say))
	w := max(min(in.H/0.93, in.W*0.5-num), 0) + num + 8
	sp.gain.Bounds = ui.Left(&in, min(max(w, num*1.75), in.W*0.52))
	ui.Left(&in, 8)
	sp.noise = ui.Top(&in, th.Row(ui.Tiny))
	h := min(kit.ChipHeight(th)+4, in.H)
	row := ink.Rect{X: in.X, Y: in.Y + max(0, (in.H-h)/2), W: in.W, H: h}
	words := [3]string{"off", "before", "after"}
	for k := range sp.lim {
		sp.lim[k].Look = ui.Tile
		sp.lim[k].Label = words[k]
	}
	kit.Share(row, 3, 3, func(k int) float32 { return th.Tall(sp.lim[k].Width(th) - 9) }, func(k int, r ink.Rect) { sp.lim[k].Bounds = r })
}

func (g *Scene) listenHeight(th *ui.Theme) float32 {
	if g.blind.Open {
		return g.blind.Height(th)
	}
	return 16 + th.Tall(max(32, th.Row(ui.Small)+10)) + 4 + th.Tall(max(26, th.Row(ui.Small)+6))
}

// tightListen is the height of what one can listen to where room is short: all of
// it in one row, if that is wide enough.
func (g *Scene) tightListen(th *ui.Theme, width float32) float32 {
	if g.blind.Open || !g.oneRow(th, width-24) {
		return g.listenHeight(th)
	}
	return 12 + th.Tall(max(34, th.Row(ui.Small)+10))
}

// oneRow reports whether all that is listened to fits into one row.
func (g *Scene) oneRow(th *ui.Theme, width float32) bool {
	g.listenWords(true)
	for i, c := range g.listen {
		if g.heard(bench.Listen(i)) {
			width -= th.Tall(c.Width(th)+2) + 4
		}
	}
	return width-8-th.Tall(g.blind.Start.Width(th)-10)-8-g.matched.Width(th) >= 0
}

// heard reports whether there is a choice for l.
func (g *Scene) heard(l bench.Listen) bool {
	return int(l) < g.Bench.N() || l == bench.ListenSpoken || l == bench.ListenMended && !g.lent
}

// listenWords chooses words for little room, or the usual ones.
func (g *Scene) listenWords(short bool) {
	g.listen[bench.ListenSpoken].Label, g.matched.Label = "as spoken", "matched"
	if short {
		g.listen[bench.ListenSpoken].Label = "spoken"
	}
	for _, c := range g.listen {
		c.Look = ui.Tile
	}
}

func (g *Scene) layoutListen(th *ui.Theme, box ink.Rect) {
	if g.blind.Open {
		g.blind.Layout(th, box)
		return
	}
	var list []*ui.Choice
	for i, c := range g.listen {
		if g.heard(bench.Listen(i)) {
			list = append(list, c)
		}
	}
	blind := g.blind.Start
	g.listenRow = g.wide && g.tight && g.oneRow(th, box.W-24)
	g.listenWords(g.listenRow)
	if g.listenRow {
		in := ui.Pad(box, 12, 6)
		blind.Bounds = ui.Right(&in, th.Tall(blind.Width(th)-10))
		ui.Right(&in, 8)
		g.matched.Bounds = ui.Right(&in, g.matched.Width(th)+1)
		ui.Right(&in, 8)
		kit.Share(in, len(list), 4, func(i int) float32 { return th.Tall(list[i].Width(th) + 2) }, func(i int, r ink.Rect) { list[i].Bounds = r })
		return
	}
	in := ui.Pad(box, 12, 8)
	low := ui.Bottom(&in, th.Tall(max(26, th.Row(ui.Small)+6)))
	ui.Bottom(&in, 4)
	if over := in.H - 46; over > 0 {
		in.Y, in.H = in.Y+over/2, 46
	}
	blind.Bounds = ui.Right(&low, blind.Width(th))
	ui.Right(&low, 8)
	g.matched.Bounds = low
	g.matched.Label = ui.Fit(th.Style(ui.Small, ink.Regular, ink.Left, th.Say), low.W-th.Px(16)-9,
		"matched in loudness, −23 LUFS", "matched, −23 LUFS", "matched")
	ui.Left(&in, ink.Measure("Listen", th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))+14)
	kit.Share(in, len(list), 5, func(i int) float32 { return list[i].Width(th) + 8 }, func(i int, r ink.Rect) { list[i].Bounds = r })
}

// buttonsWidth is what the take's buttons need in one row, and in two.
func (g *Scene) buttonsWidth(th *ui.Theme) (rec, play, loop, check, again, chance, one, two float32) {
	// As wide as the longest of a button's words.
	rec = max(g.record.Width(th), th.Px(108))
	play = max(g.play.Width(th), th.Px(98))
	loop, check, again, chance = g.loop.Width(th)+6, g.check.Width(th), g.again.Width(th)+2, g.chance.Width(th)+2
	return rec, play, loop, check, again, chance, rec + play + loop + check + again + chance + 58, max(rec+play+loop+18, check+again+chance+26)
}

func (g *Scene) transportHeight(th *ui.Theme, wide bool, width float32) float32 {
	row := th.Tall(max(28, th.Row(ui.Small)+6))
	if wide {
		return 16 + max(44+6+row, max(52, th.Least+2+th.Row(ui.Small))+4+th.Row(ui.Small)+th.Row(ui.Tiny))
	}
	width -= 24
	_, _, _, _, _, _, one, _ := g.buttonsWidth(th)
	h := 16 + 44 + 8 + max(52, th.Row(ui.Tiny)+34) + 4 +
		float32(room.ResultLines(th, width))*th.Row(ui.Small) + float32(room.NoteLines(th, width))*th.Row(ui.Tiny)
	if one > width {
		h += 6 + row
	}
	if th.Least > 0 {
		h += 16 // for a thumb under the clock
	}
	return h
}

func (g *Scene) layoutTransport(th *ui.Theme, box ink.Rect, wide bool) {
	g.transport = box
	in := ui.Pad(box, 12, 8)
	rowB := th.Tall(max(28, th.Row(ui.Small)+6))
	rec, play, loop, check, again, chance, oneW, twoW := g.buttonsWidth(th)
	var one, two ink.Rect
	switch {
	case wide:
		left := ui.Left(&in, twoW)
		ui.Left(&in, 16)
		ui.Top(&left, max(0, left.H-44-6-rowB)/2)
		one = ui.Top(&left, 44)
		ui.Top(&left, 6)
		two = ui.Top(&left, rowB)
	case oneW <= in.W:
		one = ui.Top(&in, 44)
		two = one
		ui.Left(&two, rec+play+loop+34)
		two = ui.Pad(two, 0, (44-rowB)/2)
		ui.Top(&in, 8)
	default:
		one = ui.Top(&in, 44)
		ui.Top(&in, 6)
		two = ui.Top(&in, rowB)
		ui.Top(&in, 8)
	}
	g.record.Bounds = ui.Left(&one, rec)
	ui.Left(&one, 8)
	g.play.Bounds = ui.Left(&one, play)
	ui.Left(&one, 10)
	g.loop.Bounds = ui.Left(&one, loop)
	g.check.Bounds = ui.Left(&two, check)
	ui.Left(&two, 12)
	g.again.Bounds = ui.Left(&two, min(again, two.W))
	ui.Left(&two, 12)
	g.chance.Bounds = ui.Left(&two, min(chance, two.W))
	notes, results := 1, 1
	if !wide {
		notes, results = room.NoteLines(th, in.W), room.ResultLines(th, in.W)
	}
	g.noteBox = ui.Bottom(&in, float32(notes)*th.Row(ui.Tiny))
	g.resultBox = ui.Bottom(&in, float32(results)*th.Row(ui.Small))
	ui.Bottom(&in, 4)
	g.layoutLine(th, in)
}

// layoutLine lays out the take's line, beside it where in the take one is.
func (g *Scene) layoutLine(th *ui.Theme, in ink.Rect) {
	clockW := ink.Measure("180.0 / 180.0 s", th.Style(ui.Small, ink.Mono, ink.Left, th.Say)) + 4
	side := ui.Right(&in, min(max(clockW, g.keep.Width(th)), in.W*0.4))
	ui.Right(&in, 10)
	g.line.Bounds = in
	g.clockBox = ui.Top(&side, min(th.Row(ui.Small), side.H))
	g.keep.Bounds = ink.Rect{X: side.Right() - g.keep.Width(th), Y: side.Y + 2, W: g.keep.Width(th), H: min(side.H-2, max(28, th.Row(ui.Small)+4, th.Least))}
	// The caution lies over the timeline.
	g.cautBox = ink.Rect{X: in.X, Y: in.Y, W: g.clockBox.Right() - in.X, H: in.H}
	c := ui.Pad(g.cautBox, 10, 0)
	bh := min(th.Tall(40), c.H-6)
	for _, b := range []*ui.Button{g.cautCancel, g.cautPlay} {
		r := ui.Right(&c, b.Width(th))
		b.Bounds = ink.Rect{X: r.X, Y: c.Y + (c.H-bh)/2, W: r.W, H: bh}
		ui.Right(&c, 8)
	}
}

func (g *Scene) layoutDiagram(th *ui.Theme) {
	in := ui.Pad(g.d.Box, 12, 8)
	head := ui.Top(&in, max(th.Row(ui.Strong), 26, th.Least))
	fw := th.Tall(g.forget.Width(th) - 8)
	g.forget.Bounds = ui.Right(&head, fw)
	ui.Right(&head, 6)
	set := g.drawer.Openers[drawer.Strips]
	set.Label = "Strips"
	n := g.Bench.N()
	if !g.lent {
		set.Bounds = ui.Right(&head, set.Width(th)-8)
		ui.Right(&head, 8)
	} else if n == 1 {
		n = 0
	}
	for i := n - 1; i >= 0; i-- {
		w := float32(40)
		if n > 2 {
			w = 32
		}
		g.show[i].Bounds = ui.Right(&head, max(w*th.Text, g.show[i].Width(th)-6, th.Least))
		ui.Right(&head, 4)
	}
	g.d.Layout(th, head, in)
	g.layoutOpeners()
}

// layoutOpeners puts the buttons that open the stations under their columns.
func (g *Scene) layoutOpeners() {
	g.d.Stations(func(st sim.Station, box ink.Rect) { g.drawer.Openers[st].Bounds = box })
}

// layoutWaves lays out the lower panel, whatever it shows.
func (g *Scene) layoutWaves(th *ui.Theme) {
	if g.drawer.At != drawer.None {
		g.drawer.Layout(th, g.waves)
		return
	}
	in := ui.Pad(g.waves, 12, 8)
	apart := g.viewsApart(th, g.waves.W)
	if apart {
		items := []cards.Item{}
		for _, v := range g.views {
			if !v.Hidden {
				items = append(items, cards.Of(th, v))
			}
		}
		cards.Flow(th, &in, items)
	}
	head := ui.Top(&in, max(th.Row(ui.Strong), 26, th.Least))
	for i := len(g.views) - 1; i >= 0 && g.idea == ideaAll && !g.cards.On && !apart; i-- {
		if lowerView(i) == viewFile && !g.file.There() {
			continue
		}
		g.views[i].Bounds = ui.Right(&head, g.views[i].Width(th)-2)
		ui.Right(&head, 3)
	}
	ui.Right(&head, 7)
	look := g.look
	switch g.idea {
	case ideaWaves:
		look = viewWaves
	case ideaSpectrum:
		look = viewSpectrum
	case ideaResult:
		look = viewResult
	}
	if g.idea == ideaAll && look != viewResult && look != viewFile {
		g.loudest.Label = ui.Fit(th.Style(ui.Small, ink.Bold, ink.Left, th.Say), head.W*0.26-18, "loudest moment", "loudest")
		g.loudest.Bounds = ui.Right(&head, g.loudest.Width(th)-8)
		ui.Right(&head, 8)
	}
	ui.Top(&in, 4)
	switch look {
	case viewWaves:
		if g.idea == ideaAll {
			g.near.Bounds = ui.Right(&head, th.Tall(ui.Square(th)-6))
			ui.Right(&head, 3)
			g.far.Bounds = ui.Right(&head, th.Tall(ui.Square(th)-6))
			ui.Right(&head, 8)
		}
		g.wave.Head = head
		g.wave.Layout(th, in)
	case viewFile:
		g.file.Layout(th, head, in)
	case viewSpectrum:
		g.spec.Head = head
		g.spec.Layout(th, in)
	default:
		if n := len(g.Bench.Recipes()); g.idea == ideaAll && n > 1 {
			for i := min(n, bench.MaxRecipes) - 1; i >= 0; i-- {
				w := max(30*th.Text, g.takes[i].Width(th)-4, th.Least)
				if head.W < w+170*th.Text {
					g.takes[i].Bounds = ink.Rect{}
					continue
				}
				g.takes[i].Bounds = ui.Right(&head, w)
				ui.Right(&head, 3)
			}
			ui.Right(&head, 7)
		}
		g.card.Head, g.card.Box = head, in
	}
}
