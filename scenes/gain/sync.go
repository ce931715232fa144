package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/waves"
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

// hide hides controls, or shows them.
func hide(hidden bool, cs ...ui.Control) {
	for _, c := range cs {
		c.Common().Hidden = hidden
	}
}

// refuse disables controls for a reason, or enables them.
func refuse(refused bool, why string, cs ...ui.Control) {
	for _, c := range cs {
		b := c.Common()
		b.Disabled, b.Why = refused, why
	}
}

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
	hide(!panels, sp.gain, sp.meter)
	refuse(why != "", why, sp.gain)
	for _, c := range sp.lim {
		hide(!panels, c)
		refuse(why != "", why, c)
	}
	hide(none || !now.whole && g.idea != ideaDiagram, g.show[i])
	if none {
		return
	}
	c := now.Chain[i]
	sp.gain.Value = c.Preamp.GainDB
	for k, pl := range kit.Places {
		sp.lim[k].Checked = c.Place() == pl
	}
	sv := &g.Bench.View().Strip[i]
	sp.meter.Level, sp.meter.Hold, sp.meter.Wanted = kit.Decibel(sv.Meter), kit.Decibel(sv.MeterHold), kit.Decibel(sv.MeterWanted)
	if now.mode == bench.ModeReview {
		sp.meter.Level = sp.meter.Axis[0].DB
	}
	g.show[i].Checked = g.Shown == i
	absent := ""
	if g.Absent(i) {
		absent = noStripWords(now.take.Number, i)
	}
	refuse(absent != "", absent, g.show[i], g.listen[i])
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
		c.Hidden = !now.whole || !now.lower || lowerView(i) == viewFile && !g.file.there()
	}
	g.file.sync(now.whole && now.lower && g.look == viewFile, g.file.job != nil || g.load != nil, now.recording)
	onWaves := g.drawer.At == drawer.None && (now.whole && g.look == viewWaves || g.idea == ideaWaves)
	hide(!onWaves, g.wave)
	hide(!(onWaves || now.lower && g.look == viewSpectrum) || !now.whole, g.loudest)
	refuse(!now.done || now.recording, whyNoTake, g.loudest)
	hide(!onWaves || !now.whole, g.near, g.far)
	refuse(g.wave.SpanMS <= waves.SpanMin, "this is as near as it gets", g.near)
	refuse(g.wave.SpanMS >= g.wave.SpanMax(), "this is all there is", g.far)
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
		refuse(now.recording, whyRecording, c)
		if rs[i].Perf.File != "" && !c.Checked {
			refuse(true, "it was made of a recording, which is not kept", c)
		}
	}
}

func (g *Scene) syncTalker(now *state) {
	s := g.Bench
	file := s.File() != nil
	hide(!now.whole, g.open)
	refuse(now.recording, whyRecording, g.open)
	for i, t := range voiceNames {
		c := g.talkers[i]
		c.Checked = !file && s.Talker() == t
		hide(!now.whole, c)
		refuse(now.recording, whyRecording, c)
	}
	hide(!file || !now.whole, g.level)
	if file {
		g.level.Value = s.File().LevelDB
	}
	refused, why := file, "a recording is performed; choose a talker first"
	switch {
	case now.recording && s.Repeats():
		refused, why = true, "the last performance is given again as it was"
	case now.mode == bench.ModeReview:
		refused, why = true, "nobody is talking; start the sound check or record"
	}
	for i, b := range g.events {
		b.On = s.View().Frame < g.lit[i] || bench.Events[i] == "lean_in" && s.Leaning()
		hide(file || !now.whole, b)
		refuse(refused, why, b)
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
	hide(!now.whole, g.record, g.play, g.loop, g.check, g.again, g.chance)
	hide(g.caution || !now.whole, g.keep)
	hide(!g.caution, g.cautPlay, g.cautCancel)
	refuse(now.recording, whyRecording, g.check, g.chance)
	refuse(!now.done || now.recording, whyNoTake, g.play, g.again, g.keep)
	g.line.Empty = noTakeWords
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
	hide(g.caution || !now.whole, l)
	refuse(!now.done || now.recording, whyNoTake, l)
}
