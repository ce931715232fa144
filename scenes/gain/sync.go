package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/gain/waves"
	"gainwright/scenes/gain/window"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// state is what the controls are brought up to.
type state struct {
	bench.Setup
	mode      bench.Mode
	take      *bench.Take
	done      bool // there is a finished take
	recording bool
	whole     bool // the whole bench is shown, not one idea
	lower     bool // the lower panel is on the picture, and no drawer over it
}

const (
	whyRecording = "a take is being recorded"
	whyNoTake    = "record something first"
)

func (g *Scene) syncStrip(now *state, i int) {
	sp := &g.strip[i]
	none := i >= now.N
	panels := !none && (now.whole || g.idea == ideaStrips)
	why := ""
	switch {
	case now.Locked[i]:
		why = "the strip is locked"
	case now.Safety[i] > 0:
		why = "a safety track follows another strip"
	}
	kit.Hide(!panels, sp.gain, sp.meter)
	kit.Refuse(why != "", why, sp.gain)
	for _, c := range sp.lim {
		kit.Hide(!panels, c)
		kit.Refuse(why != "", why, c)
	}
	kit.Hide(none || !now.whole && g.idea != ideaDiagram, g.show[i])
	if none {
		return
	}
	c := now.Chain[i]
	sp.gain.Value, sp.gain.Also = c.Preamp.GainDB, ""
	if !g.lent {
		sp.gain.Also = g.Bench.Mark(i)
	}
	for k, pl := range kit.Places {
		sp.lim[k].Checked = c.Place() == pl
	}
	sv := &g.Bench.View().Strip[i]
	sp.meter.Level, sp.meter.Hold, sp.meter.Wanted = kit.Decibel(sv.Meter), kit.Decibel(sv.MeterHold), kit.Decibel(sv.MeterWanted)
	sp.meter.Low, sp.meter.High = g.win.Band(i)
	sp.meter.BandName = window.BandWords
	if now.mode == bench.ModeReview {
		sp.meter.Level = sp.meter.Axis[0].DB
	}
	g.show[i].Checked = g.Shown == i
	absent := ""
	if g.Absent(i) {
		absent = noStripWords(now.take.Number, i)
	}
	kit.Refuse(absent != "", absent, g.show[i], g.listen[i])
}

func (g *Scene) syncListen(now *state) {
	for i, l := range g.listen {
		l.Checked = g.Bench.Listening() == bench.Listen(i)
		l.Hidden = g.blind.Open || !now.whole || i <= int(bench.ListenD) && i >= now.N || bench.Listen(i) == bench.ListenMended && g.lent
	}
	g.syncMended()
	g.matched.On = g.Bench.Matched()
	g.matched.Hidden = g.blind.Open || !now.whole
	g.blind.Sync()
	g.blind.Start.Hidden = g.blind.Start.Hidden || !now.whole
}

func (g *Scene) syncLower(now *state) {
	for i, c := range g.views {
		c.Checked = int(g.look) == i
		c.Hidden = !now.whole || !now.lower || lowerView(i) == viewFile && !g.file.There()
	}
	g.file.Sync(now.whole && now.lower && g.look == viewFile, g.file.Job != nil || g.load != nil, now.recording)
	onWaves := g.drawer.At == drawer.None && (now.whole && g.look == viewWaves || g.idea == ideaWaves)
	kit.Hide(!onWaves, g.wave)
	kit.Hide(!(onWaves || now.lower && g.look == viewSpectrum) || !now.whole, g.loudest)
	kit.Refuse(!now.done || now.recording, whyNoTake, g.loudest)
	kit.Hide(!onWaves || !now.whole, g.near, g.far)
	kit.Refuse(g.wave.SpanMS <= waves.SpanMin, "this is as near as it gets", g.near)
	kit.Refuse(g.wave.SpanMS >= g.wave.SpanMax(), "this is all there is", g.far)
	g.wave.Sync()
}

// syncRecipes brings up the choices of this visit's takes.
func (g *Scene) syncRecipes(now *state) {
	rs := g.Bench.Recipes()
	for i, c := range g.takes {
		// A single one is there to be had back where it is not shown.
		c.Hidden = !now.whole || !now.lower || g.look != viewResult || i >= len(rs) || len(rs) == 1 && now.done && now.take.Number == rs[0].Number
		if i >= len(rs) {
			continue
		}
		c.ID, c.Label, c.Name = takeNames(rs[i].Number)
		c.Checked = now.take != nil && now.take.Number == rs[i].Number
		kit.Refuse(now.recording, whyRecording, c)
		if !c.Checked && !now.recording {
			why := g.who.Gone(&rs[i])
			kit.Refuse(why != "", why, c)
		}
	}
}

func (g *Scene) syncTransport(now *state) {
	s := g.Bench
	g.record.On, g.record.Label, g.record.Icon, g.record.Name = now.recording, "Record", ui.IconRecord, "Record"
	if now.recording {
		g.record.Label, g.record.Icon, g.record.Name = "Stop", ui.IconStop, "Stop recording"
	}
	g.play.On, g.play.Label, g.play.Icon, g.play.Name = s.Playing(), "Play", ui.IconPlay, "Play the take"
	if s.Playing() {
		g.play.Label, g.play.Icon, g.play.Name = "Pause", ui.IconPause, "Pause the take"
	}
	g.loop.On, g.check.On, g.again.On, g.chance.On = s.Loop(), now.mode == bench.ModeCheck, g.sameOn, now.Surprise
	kit.Hide(!now.whole, g.record, g.play, g.loop, g.check, g.again, g.chance)
	kit.Hide(g.caution || !now.whole, g.keep)
	kit.Hide(!g.caution, g.cautPlay, g.cautCancel)
	kit.Refuse(now.recording, whyRecording, g.check, g.chance)
	kit.Refuse(!now.done || now.recording, whyNoTake, g.play, g.again, g.keep)
	g.line.Empty = room.NoTakeWords
	if n, part, ok := s.Remaking(); ok && !now.done {
		g.line.Empty = g.remakeWords(n, part)
		if g.play.Disabled {
			g.play.Why = g.line.Empty[0]
		}
	}
}

// syncLine brings up the line of the take.
func (g *Scene) syncLine(now *state) {
	l := g.line
	l.Min, l.Max, l.Value = 0, 0, 0
	l.Marks, l.Overs = nil, nil
	l.Growing = now.recording
	if t := now.take; t != nil && t.Frames() > 0 {
		l.Max = t.Seconds()
		if !now.done && l.Max < 10 {
			l.Max = 10
		}
		l.Label = bench.StripLabels[g.of(t)]
		l.Value = min(g.Bench.Place(), l.Max)
		l.Marks = t.Marks
		l.Overs = g.overSpans(t)
	}
	kit.Hide(g.caution || !now.whole, l)
	kit.Refuse(!now.done || now.recording, whyNoTake, l)
}

// Sync brings all controls up to the session's state.
func (g *Scene) Sync() {
	if g.Shown >= g.Bench.N() || g.Absent(g.Shown) {
		g.Shown = 0
	}
	now := state{Setup: g.Bench.Setup(), mode: g.Bench.Mode(), take: g.Bench.Take(), whole: g.idea == ideaAll}
	now.done = now.take != nil && now.take.Done
	now.recording = now.mode == bench.ModeRecord
	now.lower = g.drawer.At == drawer.None && g.lowerShown()
	g.win.Sync(g.Shown)
	for i := range g.strip {
		g.syncStrip(&now, i)
	}
	g.forget.Hidden = !now.whole
	g.forget.Disabled, g.forget.Why = now.mode != bench.ModeCheck, "it belongs to the take"
	g.syncListen(&now)
	g.syncLower(&now)
	g.syncRecipes(&now)
	g.who.Sync(now.whole)
	g.syncTransport(&now)
	g.syncLine(&now)
	g.drawer.Openers[drawer.Strips].Hidden = !now.whole
	g.drawer.Sync(g.idea == ideaAll || g.idea == ideaDiagram, g.lowerShown())
	g.syncCards()
	if g.lent {
		g.syncRoom()
	}
}

// Controls lists the controls in focus order.
func (g *Scene) Controls() []ui.Control {
	if g.cs != nil {
		return g.cs
	}
	add := func(c ui.Control) { g.cs = append(g.cs, c) }
	for _, c := range g.RulerControls() {
		add(c)
	}
	for i := range g.strip {
		sp := &g.strip[i]
		add(sp.gain)
		for _, c := range sp.lim {
			add(c)
		}
		add(sp.meter)
	}
	g.cs = append(g.cs, g.who.Controls()...)
	for _, c := range g.show {
		add(c)
	}
	add(g.drawer.Openers[drawer.Strips])
	add(g.forget)
	for _, c := range g.drawer.All {
		if c != ui.Control(g.drawer.Openers[drawer.Strips]) {
			add(c)
		}
	}
	before, after := g.cards.Controls()
	g.cs = append(g.cs, before...)
	for _, c := range g.views {
		add(c)
	}
	g.cs = append(g.cs, after...)
	add(g.far)
	add(g.near)
	add(g.wave)
	add(g.loudest)
	for _, c := range g.takes {
		add(c)
	}
	for _, c := range g.file.Controls() {
		add(c)
	}
	for _, c := range g.listen {
		add(c)
	}
	add(g.matched)
	for _, c := range g.blind.Controls() {
		add(c)
	}
	add(g.record)
	add(g.play)
	add(g.loop)
	add(g.check)
	add(g.again)
	add(g.chance)
	add(g.line)
	add(g.keep)
	add(g.cautPlay)
	add(g.cautCancel)
	return g.cs
}

// lowerShown reports whether the lower panel is on the picture.
func (g *Scene) lowerShown() bool {
	return g.idea == ideaAll || g.idea == ideaWaves || g.idea == ideaSpectrum || g.idea == ideaResult
}
