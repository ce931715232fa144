package plan

import (
	"fmt"
	"math"
	"slices"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// planPlots are the two pictures one above the other, on one axis of gain.
type planPlots struct {
	box                    ink.Rect
	riskHead, noiseHead    ink.Rect
	risk, noise            ink.Rect
	gains, talks, axisName ink.Rect
	bars                   []kit.Bar
	pts, band              []ink.Point
	num                    [32]ui.Num
}

// x is where a gain lies.
func (p *planPlots) x(gain float64) float32 {
	return p.risk.X + float32((gain-kit.GainMin)/(kit.GainMax-kit.GainMin))*p.risk.W
}

// planCursor is the gain looked at: a line over both plots, moved by hand.
type planCursor struct {
	*ui.Slider
	s   *Scene
	num ui.Num
}

func newPlanCursor(s *Scene) *planCursor {
	return &planCursor{Slider: ui.NewSlider(idGain, "Gain looked at", "Moves along both curves; Delete goes back to the gain suggested.",
		"gain", " dB", kit.GainMin, kit.GainMax, bench.GainDefault[1], 1, 6, 1), s: s}
}

// Node tells the semantics.
func (c *planCursor) Node() ui.Node {
	n := c.Slider.Node()
	if c.s.res != nil {
		n.Value += ". " + c.s.reading()
	}
	return n
}

// Point goes to where a press is.
func (c *planCursor) Point(p ui.Pointer, g *ui.Grip, out *ui.Out) bool {
	switch p.Kind {
	case ui.Down, ui.Move:
		if p.Kind == ui.Down && p.Clicks == 2 {
			g.Dead = true
			out.Emit(ui.Intent{ID: c.ID, Do: ui.DoDefault})
			return true
		}
		r := c.s.plots.risk
		v := kit.GainMin + float64((p.At.X-r.X)/max(r.W, 1))*(kit.GainMax-kit.GainMin)
		step := 0.5
		if p.Fine {
			step = 0.1
		}
		if v = ui.Nudge(v, 0, step, kit.GainMin, kit.GainMax); v != g.Sent || p.Kind == ui.Down {
			g.Sent = v
			out.Emit(ui.Intent{ID: c.ID, Do: ui.DoSet, Value: v})
		}
	case ui.Wheel:
		return false
	}
	return true
}

// Draw draws the line, its points on the curves and its number.
func (c *planCursor) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	pl := &c.s.plots
	x := pl.x(c.Value)
	hue := th.Say
	l.Line(1.6, hue, ink.Point{X: x, Y: pl.risk.Y}, ink.Point{X: x, Y: pl.risk.Bottom()})
	l.Line(1.6, hue, ink.Point{X: x, Y: pl.noise.Y}, ink.Point{X: x, Y: pl.noise.Bottom()})
	if c.s.res != nil && len(c.s.curve) > 0 {
		dot := func(p ink.Point, inner ink.Color) {
			l.Disc(p, 6, hue)
			l.Disc(p, 4.2, inner)
		}
		dot(ink.Point{X: x, Y: riskY(pl.risk, c.s.at.Risk)}, th.Lost)
		dot(ink.Point{X: x, Y: noiseAxis.Y(pl.noise, c.s.at.NoiseLUFS)}, th.Signal)
	}
	stl := th.Style(ui.Small, ink.Bold, ink.Middle, th.Ground)
	s := c.num.Text("", c.Value, 1, " dB")
	w := ink.Measure("88.8 dB", stl) + 16
	h := th.Row(ui.Small)
	b := ink.Rect{X: min(max(x-w/2, pl.risk.X-10), pl.risk.Right()+10-w), Y: pl.gains.Y + (pl.gains.H-h)/2, W: w, H: h}
	if st.Editing {
		kit.DrawTyped(l, th, b, st.Edit, th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
		return
	}
	l.Polygon(hue, ink.Point{X: x, Y: b.Y - 6}, ink.Point{X: x + 6, Y: b.Y + 1}, ink.Point{X: x - 6, Y: b.Y + 1})
	l.Fill(b, 5, hue)
	l.TextIn(b, s, stl)
}

// Layout puts the scene into area: three columns where there is room, else one
// that scrolls.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	s.area = area
	s.told.sync(&s.setup, s.res, s.win, s.shell.Bench())
	if s.show.On() {
		s.show.How.Layout(th, area)
		return
	}
	area = s.told.layout(th, area)
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	s.wide = r.W/th.Text >= 960 && r.H/th.Text >= 500
	if !s.wide {
		s.layoutTall(th, r)
		return
	}
	s.page = kit.Scroller{}
	s.leftBox = ui.Left(&r, min(max(r.W*0.235, 244*th.Text), 340*th.Text))
	ui.Left(&r, kit.GapDP)
	s.listBox = ui.Right(&r, min(max(r.W*0.27, 286*th.Text), 420*th.Text))
	ui.Right(&r, kit.GapDP)
	s.midBox = r
	s.left.Lay(ui.Pad(s.leftBox, 14, 10), func(c ink.Rect) float32 { return s.layoutLeft(th, c, s.left.View) })
	in := ui.Pad(s.listBox, 14, 10)
	s.layoutViews(th, &in)
	s.list.Lay(in, func(c ink.Rect) float32 { return s.layoutList(th, c, s.list.View) })
	m := ui.Pad(s.midBox, 14, 10)
	h := s.layoutVerdict(th, m, ink.Rect{})
	ui.Top(&m, h+8)
	s.layoutPlots(th, m, ink.Rect{})
}

func (s *Scene) layoutTall(th *ui.Theme, r ink.Rect) {
	s.left, s.list = kit.Scroller{}, kit.Scroller{}
	r.W -= 6
	s.page.Lay(r, func(c ink.Rect) float32 {
		clip := s.page.View
		in := func(b ink.Rect) ink.Rect { return ink.Rect{X: b.X + 14, Y: b.Y + 10, W: b.W - 28, H: b.H} }
		h := s.layoutVerdict(th, in(c), clip)
		plotH := max(330*th.Text, r.H*0.45)
		s.layoutPlots(th, ink.Rect{X: c.X + 14, Y: c.Y + 10 + h + 8, W: c.W - 28, H: plotH}, clip)
		s.midBox = ink.Rect{X: c.X, Y: c.Y, W: c.W, H: h + plotH + 28}
		y := s.midBox.Bottom() + kit.GapDP
		two := c.W/th.Text >= 680
		lw := c.W
		if two {
			lw = (c.W - kit.GapDP) / 2
		}
		end := s.layoutLeft(th, in(ink.Rect{X: c.X, Y: y, W: lw}), clip) + 10
		s.leftBox = ink.Rect{X: c.X, Y: y, W: lw, H: end - y}
		lx, ly := c.X, end+kit.GapDP
		if two {
			lx, ly = c.X+lw+kit.GapDP, y
		}
		li := in(ink.Rect{X: lx, Y: ly, W: lw, H: 1e5})
		s.layoutViews(th, &li)
		for _, v := range s.views {
			v.Clip = clip
		}
		bottom := s.layoutList(th, li, clip) + 10
		if two {
			bottom = max(bottom, end)
			s.leftBox.H = bottom - y
		}
		s.listBox = ink.Rect{X: lx, Y: ly, W: lw, H: bottom - ly}
		return bottom
	})
}

// layoutLeft places equipment, place, conversation and limits.
func (s *Scene) layoutLeft(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.lf
	f.Begin(th, c, clip)
	group := func(name string, cs []*ui.Choice) {
		f.Tiny(name)
		f.Chips(cs)
		f.Gap(4)
	}
	f.Head("Equipment")
	f.Gap(2)
	group("microphone", s.mics)
	recs := s.recs
	if !s.ownRec.Hidden {
		recs = append(slices.Clone(recs), s.ownRec)
	}
	group("recorder", recs)
	group("limiter", s.places[:])
	kinds := func() { f.Chips(s.guests); f.Gap(2); s.guest.flow(f, th) }
	heads := map[int]string{0: "Place", 2: "Conversation", 5: "Your limits"}
	for i, m := range s.main {
		if w, ok := heads[i]; ok {
			f.Gap(4)
			f.Head(w)
			f.Gap(2)
			if i == 2 {
				kinds()
			}
		}
		note := m.Note
		m.Note = "" // the sources stand in the list
		m.Place(f)
		m.Note = note
		m.NoteH = 0
		f.Gap(2)
	}
	f.Gap(6)
	f.Buttons(max(30, th.Row(ui.Small)+10), s.reset)
	return f.Y
}

// layoutViews places the choice of list.
func (s *Scene) layoutViews(th *ui.Theme, in *ink.Rect) {
	var f kit.Flow
	f.Begin(th, *in, ink.Rect{})
	f.Chips(s.views[:])
	ui.Top(in, f.Y-in.Y+6)
}

func (s *Scene) layoutVerdict(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.vf
	f.Begin(th, c, clip)
	y := f.Y
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	if s.res != nil && s.win.Empty() {
		st.Color = th.SayLost
	}
	f.Write(s.verdict(), st, th.Row(ui.Strong))
	bw := s.use.Width(th)
	full := f.Width
	beside := f.Width-bw-16 >= 260*th.Text
	if beside {
		f.Width -= bw + 16
	}
	top := f.Y + 2
	f.Gap(2)
	if r := s.reading(); r != "" {
		f.Say(r, ui.Small, ink.Regular, th.Say)
	} else {
		f.Note("The curves appear as soon as the first sessions are through.")
	}
	for _, w := range []string{s.told.priceWords(), s.told.sureWords()} {
		if w != "" && s.res != nil {
			f.Say(w, ui.Small, ink.Regular, th.SayDim)
		}
	}
	f.Tiny(s.work())
	f.Width = full
	if beside {
		h := th.Tall(float32(max(38, int(th.Row(ui.Body)+14))))
		s.use.Bounds = ink.Rect{X: c.X + c.W - bw, Y: top + 2, W: bw, H: h}
		f.Y = max(f.Y, top+h+4)
	} else {
		f.Gap(6)
		s.use.Bounds = ink.Rect{X: c.X, Y: f.Y, W: min(bw, c.W), H: th.Tall(max(38, th.Row(ui.Body)+14))}
		f.Y += s.use.Bounds.H
	}
	s.use.Clip = clip
	return f.Y - y
}

// work says how far the simulation is.
func (s *Scene) work() string {
	n := 0
	if s.res != nil {
		n = len(s.res.PeakDB)
	}
	done := fmt.Sprintf("%s simulated sessions, seed %d", thousands(n), planSeed)
	if s.job != nil {
		_, share := s.job.Progress()
		return fmt.Sprintf("%s; %s, %d %%", done, s.doing, int(share*100))
	}
	return done
}

func (s *Scene) layoutPlots(th *ui.Theme, r, clip ink.Rect) {
	p := &s.plots
	p.box = r
	tiny := th.Row(ui.Tiny)
	gutter := ink.Measure("100 %", th.Style(ui.Tiny, ink.Regular, ink.Left, th.Say)) + 14
	p.talks = ui.Bottom(&r, tiny)
	ui.Bottom(&r, 2)
	p.gains = ui.Bottom(&r, max(tiny, th.Row(ui.Small)+4))
	ui.Bottom(&r, 6)
	air := th.Row(ui.Tiny) / 2 // for half of the topmost number
	p.riskHead = ui.Top(&r, th.Row(ui.Small))
	ui.Top(&r, air)
	half := (r.H - th.Row(ui.Small) - 6 - air) / 2
	p.risk = ui.Top(&r, half)
	ui.Top(&r, 6)
	p.noiseHead = ui.Top(&r, th.Row(ui.Small))
	ui.Top(&r, air)
	p.noise = r
	for _, b := range []*ink.Rect{&p.risk, &p.noise, &p.gains, &p.talks} {
		b.X += gutter
		b.W -= gutter + 8
	}
	p.axisName = ink.Rect{X: p.gains.X - gutter, Y: p.gains.Y, W: gutter - 8, H: p.gains.H}
	s.gain.Bounds = ink.Rect{X: p.risk.X, Y: p.risk.Y, W: p.risk.W, H: p.gains.Bottom() - p.risk.Y}
	s.gain.Clip = clip
}

// layoutList places what the list shows.
func (s *Scene) layoutList(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.rf
	f.Begin(th, c, clip)
	s.plots.bars = s.plots.bars[:0]
	switch s.view {
	case planRemedies:
		s.listRemedies(th, f)
	case planMatters:
		s.listMatters(th, f)
	case planLaughs:
		s.told.list(th, f, &s.setup)
	case planAssumptions:
		f.Note("Everything that the simulation takes for granted. The thick part of a track is what is plausible. Whatever you change shows in the curves.")
		f.Gap(8)
		for _, a := range s.all {
			if slices.Contains(s.main, a) {
				f.Say(a.Label+": "+ui.Decimal(a.Value, a.Digits)+a.Unit, ui.Small, ink.Regular, th.Say)
				f.Tiny(a.Note + " Set on the left.")
			} else {
				a.Place(f)
			}
			f.Gap(8)
		}
		f.Tiny("Equipment: figures typical of the class, common practice, no source. Level of talk: ISO 9921, ANSI S3.5-1997. Not in the model: the bass rise of a close microphone and the breath of plosives.")
	}
	return f.Y
}

func (s *Scene) listRemedies(th *ui.Theme, f *kit.Flow) {
	if !s.known[planHelps] {
		f.Note("Trying the usual changes, one at a time.")
		return
	}
	if s.win.Empty() {
		f.Head("To open the window, one of")
		f.Gap(2)
		for _, n := range s.needs {
			k := 1.0
			unit := " " + n.Unit
			digits := 0
			switch n.Key {
			case keyDistance:
				k, unit, digits = 100, " cm", 1
			case idOf + keyRisk:
				k, unit, digits = 100, " %", 1
			case idOf + keyNoise:
				digits = 1
			}
			f.Say(fmt.Sprintf("%s: %s instead of %s%s", n.Name, ui.Decimal(n.To*k, digits), ui.Decimal(n.From*k, digits), unit), ui.Small, ink.Regular, th.Say)
			f.Gap(4)
		}
		if len(s.needs) == 0 {
			f.Say("no single change within reason", ui.Small, ink.Regular, th.Say)
		}
		f.Gap(8)
	}
	f.Head("Wider by")
	f.Tiny("Room between too noisy and too risky. One change at a time, the most helpful first.")
	f.Gap(6)
	most := 6.0
	for _, r := range s.remedies {
		if !math.IsInf(r.GainDB, 0) {
			most = max(most, math.Abs(r.GainDB))
		}
	}
	for _, r := range s.remedies {
		num := "no change"
		switch {
		case math.IsInf(r.Window.LowDB, 1):
			num = "still too noisy"
		case math.IsInf(r.Window.HighDB, -1):
			num = "still too risky"
		case math.IsInf(r.GainDB, 1):
			num = "no limit"
		case math.IsInf(r.GainDB, -1):
			num = "closed"
		case r.GainDB >= 0.05:
			num = "+" + ui.Decimal(r.GainDB, 1) + " dB"
		case r.GainDB <= -0.05:
			num = ui.Decimal(r.GainDB, 1) + " dB"
		}
		if r.GainDB > 0 && s.win.Empty() && !r.Window.Empty() {
			num += ", opens it"
		}
		s.bar(th, f, r.Name, num, min(max(r.GainDB, -most), most), most, r.GainDB >= 0)
	}
}

// bar sets one line of a list with its bar below.
func (s *Scene) bar(th *ui.Theme, f *kit.Flow, name, num string, v, most float64, good bool) {
	st := th.Style(ui.Small, ink.Bold, ink.Right, th.Say)
	w := ink.Measure(num, st) + 2
	full, y := f.Width, f.Y
	f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X + full - w, Y: y, W: w, H: th.Row(ui.Small)}, S: num, St: st})
	f.Width = full - w - 12
	f.Say(name, ui.Small, ink.Regular, th.Say)
	f.Width = full
	b := f.Row(9)
	zero := b.X + b.W*0.3
	scale := float64(b.W * 0.7)
	if v < 0 {
		scale = float64(b.W * 0.3)
	}
	s.plots.bars = append(s.plots.bars, kit.Bar{Box: b, Zero: zero, From: zero, To: zero + float32(v/most*scale), Good: good})
	f.Gap(6)
}

func (s *Scene) listMatters(th *ui.Theme, f *kit.Flow) {
	if len(s.swings) == 0 {
		f.Note("Varying one assumption after the other, each over the range that is plausible.")
		return
	}
	if math.IsInf(s.win.HighHeldDBFS, 0) {
		f.Note("There is no upper end to move: nothing can go over, or nothing is safe.")
		return
	}
	if !s.known[planSpread] {
		f.Tiny("Of the set-up before the last change; the new one is being worked out.")
	}
	f.Note(fmt.Sprintf("How far the highest peak that the meter should hold in a minute of talk (%s\u00a0dBFS) moves when one assumption goes through its plausible range. Left of the mark: lower.", ui.Decimal(s.win.HighHeldDBFS, 0)))
	f.Gap(6)
	least, most := 0.0, 0.0
	for _, w := range s.swings {
		least, most = min(least, w.LowDBFS-s.win.HighHeldDBFS, w.HighDBFS-s.win.HighHeldDBFS), max(most, w.LowDBFS-s.win.HighHeldDBFS, w.HighDBFS-s.win.HighHeldDBFS)
	}
	span := max(most-least, 1)
	for _, w := range s.swings {
		if w.SpanDB() < 0.1 {
			continue
		}
		st := th.Style(ui.Small, ink.Bold, ink.Right, th.Say)
		num := ui.Decimal(w.SpanDB(), 1) + " dB"
		nw := ink.Measure(num, st) + 2
		full := f.Width
		f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X + full - nw, Y: f.Y, W: nw, H: th.Row(ui.Small)}, S: num, St: st})
		f.Width = full - nw - 12
		f.Say(w.Param.Name, ui.Small, ink.Regular, th.Say)
		f.Width = full
		b := f.Row(9)
		x := func(db float64) float32 { return b.X + float32((db-s.win.HighHeldDBFS-least)/span)*b.W }
		s.plots.bars = append(s.plots.bars, kit.Bar{Box: b, Zero: x(s.win.HighHeldDBFS), From: x(w.LowDBFS), To: x(w.HighDBFS), TwoSided: true})
		k := planScale(w.Param.Key)
		f.Tiny(fmt.Sprintf("%s to %s%s", ui.Decimal(w.Param.Low*k, 1), ui.Decimal(w.Param.High*k, 1), s.byKey[w.Param.Key].Unit))
		f.Gap(6)
	}
}

// Draw draws panels, plots and words; the controls come after.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	if s.show.On() {
		s.show.How.Draw(l, th)
		return
	}
	s.told.ruler.Draw(l, th)
	if !s.wide {
		l.Clip(s.page.View)
	}
	kit.Panel(l, th, s.leftBox)
	kit.Panel(l, th, s.midBox)
	kit.Panel(l, th, s.listBox)
	s.vf.Draw(l)
	s.drawPlots(l, th)
	if s.wide {
		l.Clip(s.left.View)
	}
	s.lf.Draw(l)
	if s.wide {
		l.Unclip()
		l.Clip(s.list.View)
	}
	s.rf.Draw(l)
	s.drawBars(l, th)
	l.Unclip()
	if s.wide {
		s.left.Bar(l, th)
		s.list.Bar(l, th)
	} else {
		s.page.Bar(l, th)
	}
}

func (s *Scene) drawBars(l *ink.List, th *ui.Theme) {
	for _, b := range s.plots.bars {
		y := b.Box.Y + 2
		l.Fill(ink.Rect{X: b.Box.X, Y: y + 2, W: b.Box.W, H: 1}, 0, th.Grid)
		x0, x1 := min(b.From, b.To), max(b.From, b.To)
		r := ink.Rect{X: x0, Y: y, W: max(x1-x0, 1), H: 5}
		switch {
		case b.TwoSided:
			l.Fill(r, 2, th.Signal)
		case b.Good:
			l.Fill(r, 2, th.Good)
		default:
			l.Hatch(r, th.Lost, th.Panel, 1.4, 4)
			l.Frame(r, 1, 1, th.Lost)
		}
		l.Line(1.5, th.SayDim, ink.Point{X: b.Zero, Y: y - 2}, ink.Point{X: b.Zero, Y: y + 7})
	}
}

func (s *Scene) drawPlots(l *ink.List, th *ui.Theme) {
	p := &s.plots
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Right, th.SayDim)
	head := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	l.TextIn(p.riskHead, ui.Fit(head, p.riskHead.W, "Chance that anything goes over in the session", "Chance of an over in the session", "Chance of an over"), head)
	l.TextIn(p.noiseHead, ui.Fit(head, p.noiseHead.W, "Noise after delivery, speech at "+ui.Decimal(s.setup.Limits.DeliveryLUFS, 0)+" LUFS", "Noise after delivery, LUFS", "Noise, LUFS"), head)
	for _, r := range []ink.Rect{p.risk, p.noise} {
		l.Fill(r, 4, th.Well)
	}
	label := func(y float32, s string) {
		h := th.Row(ui.Tiny)
		l.TextIn(ink.Rect{X: p.axisName.X, Y: y - h/2, W: p.axisName.W, H: h}, s, tiny)
	}
	grid := func(r ink.Rect, y float32) {
		l.Line(1, th.Grid, ink.Point{X: r.X, Y: y}, ink.Point{X: r.Right(), Y: y})
	}
	last := float32(-100)
	for _, t := range riskTicks {
		y := riskY(p.risk, t.share)
		grid(p.risk, y)
		if y-last >= th.Row(ui.Tiny)*0.9 {
			label(y, t.word)
			last = y
		}
	}
	last = -100
	for i, db := 0, float64(noiseTop); db >= noiseBottom; i, db = i+1, db-10 {
		y := noiseAxis.Y(p.noise, db)
		grid(p.noise, y)
		if y-last >= th.Row(ui.Tiny)*0.9 {
			label(y, p.num[i].Text("", db, 0, ""))
			last = y
		}
	}
	// The two axes below.
	left := p.axisName
	left.H = th.Row(ui.Tiny)
	left.Y = p.gains.Y + (p.gains.H-left.H)/2
	l.TextIn(left, ui.Fit(tiny, left.W, "gain", ""), tiny)
	low := left
	low.Y = p.talks.Y
	l.TextIn(low, ui.Fit(tiny, low.W, "talk", ""), tiny)
	mid := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim)
	tick := func(row ink.Rect, x float32, s string) {
		w := ink.Measure(s, mid) + 2
		l.TextIn(ink.Rect{X: x - w/2, Y: row.Y, W: w, H: row.H}, s, mid)
	}
	at := p.x(s.gain.Value)
	free := (ink.Measure("88.8 dB", th.Style(ui.Small, ink.Bold, ink.Left, th.Say))+16)/2 + 14
	clear := func(x float32) bool { // of the number that the cursor carries
		c := min(max(at, p.risk.X-10+free-14), p.risk.Right()+10-free+14)
		return x < c-free || x > c+free
	}
	for i, g := 0, float64(kit.GainMin); g <= kit.GainMax; i, g = i+1, g+10 {
		x := p.x(g)
		for _, r := range []ink.Rect{p.risk, p.noise} {
			l.Line(1, th.Grid.Alpha(0.6), ink.Point{X: x, Y: r.Y}, ink.Point{X: x, Y: r.Bottom()})
		}
		if clear(x) {
			tick(p.gains, x, p.num[10+i].Text("", g, 0, ""))
		}
	}
	if s.res != nil && len(s.curve) > 1 {
		off := s.curve[0].HeldPeakDBFS - s.curve[0].GainDB // what the meter holds of talk at no gain
		if !math.IsInf(off, 0) && !math.IsNaN(off) {
			step := 10.0
			if p.risk.W/7 < ink.Measure("−60 dBFS", mid) {
				step = 20
			}
			first := math.Ceil((off+kit.GainMin)/step) * step
			for i, t := 0, first; t <= off+kit.GainMax && i < 10; i, t = i+1, t+step {
				if x := p.x(t - off); x > p.risk.X+ink.Measure("−60 dBFS", mid)/2 && x < p.risk.Right()-14 {
					tick(p.talks, x, p.num[20+i].Text("", t, 0, " dBFS"))
				}
			}
		}
	}
	if s.res == nil || len(s.curve) == 0 {
		l.TextIn(p.risk, "simulating", th.Style(ui.Body, ink.Regular, ink.Middle, th.SayDim))
		return
	}
	s.drawWindow(l, th)
	s.drawCurves(l, th)
}

// drawWindow hatches what lies outside of the window.
func (s *Scene) drawWindow(l *ink.List, th *ui.Theme) {
	p := &s.plots
	lo, hi := p.x(min(max(s.win.LowDB, kit.GainMin), kit.GainMax)), p.x(min(max(s.win.HighDB, kit.GainMin), kit.GainMax))
	lines, ground := th.Line.Alpha(0.85), th.Well
	for _, r := range []ink.Rect{p.risk, p.noise} {
		hatch := func(x0, x1 float32) {
			if x1 > x0+0.5 {
				l.Hatch(ink.Rect{X: x0, Y: r.Y, W: x1 - x0, H: r.H}, lines, ground.Alpha(0), 1, 7)
			}
		}
		if lo < hi {
			l.Fill(ink.Rect{X: lo, Y: r.Y, W: hi - lo, H: r.H}, 0, th.Good.Alpha(0.16))
			hatch(r.X, lo)
			hatch(hi, r.Right())
		} else {
			hatch(r.X, r.Right())
		}
		edge := func(x, db float32) {
			if db > kit.GainMin && db < kit.GainMax {
				l.Line(2, th.Good, ink.Point{X: x, Y: r.Y}, ink.Point{X: x, Y: r.Bottom()})
			}
		}
		edge(lo, float32(s.win.LowDB))
		edge(hi, float32(s.win.HighDB))
	}
	// What is outside, in words on a plate.
	st := th.Style(ui.Tiny, ink.Bold, ink.Middle, th.Say)
	word := func(r ink.Rect, x0, x1 float32, s ...string) {
		w := x1 - x0 - 12
		t := ui.Fit(st, w-12, append(s, "")...)
		if t == "" {
			return
		}
		tw := ink.Measure(t, st) + 12
		b := ink.Rect{X: (x0+x1)/2 - tw/2, Y: r.Y + 6, W: tw, H: th.Row(ui.Tiny) + 2}
		l.Fill(b, 4, th.Well)
		l.TextIn(b, t, st)
	}
	if lo < hi {
		word(p.noise, p.noise.X, lo, "too noisy", "noisy")
		word(p.risk, hi, p.risk.Right(), "too risky", "risky")
		word(p.noise, lo, hi, "the window", "window")
	} else {
		word(p.noise, p.noise.X, hi, "too noisy", "noisy")
		word(p.noise, hi, lo, "both", "")
		word(p.risk, lo, p.risk.Right(), "too risky", "risky")
	}
}

func (s *Scene) drawCurves(l *ink.List, th *ui.Theme) {
	p := &s.plots
	limit := func(r ink.Rect, y float32, right bool, text string) {
		for x := r.X; x < r.Right(); x += 9 {
			l.Line(1.5, th.Ceiling, ink.Point{X: x, Y: y}, ink.Point{X: min(x+5, r.Right()), Y: y})
		}
		st := th.Style(ui.Tiny, ink.Bold, ink.Left, th.SayCeiling)
		w := ink.Measure(text, st) + 10
		b := ink.Rect{X: r.X + 4, Y: y + 3, W: w, H: th.Row(ui.Tiny)}
		if right {
			b.X = r.Right() - 4 - w
			b.Y = y - 3 - b.H
		}
		if b.Bottom() > r.Bottom()-2 {
			b.Y = y - 3 - b.H
		}
		l.Fill(b, 3, th.Well)
		l.TextIn(b, text, th.Style(ui.Tiny, ink.Bold, ink.Middle, th.SayCeiling))
	}
	l.Clip(p.risk)
	p.pts, p.band = p.pts[:0], p.band[:0]
	for i := range s.curve {
		c := &s.curve[i]
		x := p.x(c.GainDB)
		p.pts = append(p.pts, ink.Point{X: x, Y: riskY(p.risk, c.Risk)})
		p.band = append(p.band, ink.Point{X: x, Y: riskY(p.risk, c.RiskHigh)}, ink.Point{X: x, Y: riskY(p.risk, c.RiskLow)})
	}
	l.Strip(th.Lost.Alpha(0.3), th.Lost.Alpha(0.3), p.band...)
	limit(p.risk, riskY(p.risk, s.setup.Limits.Risk), false, "your limit, "+percent(s.setup.Limits.Risk)+" %")
	l.Line(2.4, th.Lost, p.pts...)
	l.Unclip()
	l.Clip(p.noise)
	p.pts = p.pts[:0]
	for i := range s.curve {
		c := &s.curve[i]
		p.pts = append(p.pts, ink.Point{X: p.x(c.GainDB), Y: noiseAxis.Y(p.noise, c.NoiseLUFS)})
	}
	limit(p.noise, noiseAxis.Y(p.noise, s.setup.Limits.NoiseLUFS), true, "your limit, "+ui.Decimal(s.setup.Limits.NoiseLUFS, 0)+" LUFS")
	l.Line(2.4, th.Signal, p.pts...)
	l.Unclip()
}

// Nodes tells what the pictures show.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = s.show.Nodes(dst)
	dst = append(dst,
		ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: s.midBox},
		ui.Node{ID: idCurves, Role: ui.RoleImage, Name: "Chance of an over and noise after delivery, against gain", Value: s.curveWords(), Bounds: s.plots.box},
		ui.Node{ID: idWork, Role: ui.RoleText, Name: "Simulation", Value: s.work(), Bounds: s.midBox})
	dst = append(dst, s.told.ruler.Node())
	switch s.view {
	case planLaughs:
		for i, l := range s.told.laughs {
			reads, set := laughWords(l)
			dst = append(dst, ui.Node{ID: fmt.Sprint(idLaugh, i+1), Role: ui.RoleText, Name: "If the " + reads, Value: set + " dBFS", Bounds: s.listBox})
		}
	case planRemedies:
		for i, r := range s.remedies {
			dst = append(dst, ui.Node{ID: fmt.Sprint(idRemedy, i+1), Role: ui.RoleText, Name: r.Name, Value: remedyWords(r), Bounds: s.listBox})
		}
		if s.win.Empty() {
			for i, n := range s.needs {
				dst = append(dst, ui.Node{ID: fmt.Sprint(idNeed, i+1), Role: ui.RoleText, Name: "To open the window: " + n.Name, Value: fmt.Sprintf("%v instead of %v %s", n.To, n.From, n.Unit), Bounds: s.listBox})
			}
		}
	case planMatters:
		for i, w := range s.swings {
			dst = append(dst, ui.Node{ID: fmt.Sprint(idSwing, i+1), Role: ui.RoleText, Name: w.Param.Name, Value: "moves the reading to aim at by " + gainWord(w.SpanDB()), Bounds: s.listBox})
		}
	}
	return dst
}

// curveWords tells the curves at a few gains.
func (s *Scene) curveWords() string {
	if s.res == nil {
		return "not known yet"
	}
	out := s.verdict()
	for _, g := range []float64{20, 30, 40, 50, 60} {
		a := s.setup.At(g, s.res)
		out += fmt.Sprintf(" At %s: %s %% risk, noise %s LUFS.", gainWord(g), percent(a.Risk), ui.Decimal(a.NoiseLUFS, 1))
	}
	return out
}
