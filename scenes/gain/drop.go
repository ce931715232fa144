package gain

import (
	"context"
	"errors"
	"fmt"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

// drop begins to look at a recording that was dropped in or chosen; it is performed
// once it is known what it is.
func (g *Scene) drop(d ui.Drop) error {
	if g.Bench.Mode() == bench.ModeRecord {
		return fmt.Errorf("%s: a take is being recorded; drop it again afterwards", d.Name)
	}
	r, err := work.OpenDrop(d)
	if err != nil {
		return err
	}
	in := r.Info()
	r.Close()
	g.stopFile()
	g.file.Look(d, in)
	g.look, g.drawer.At, g.cards.At = viewFile, drawer.None, cards.Lower
	g.shell.Relayout()
	g.status = "Reading " + d.Name + "."
	return nil
}

// stopFile gives up what is being read.
func (g *Scene) stopFile() {
	if g.file.Job != nil {
		g.file.Job.Cancel()
		g.file.Job = nil
	}
	if g.load != nil {
		g.load.Job.Cancel()
		g.load = nil
	}
}

// perform begins to read what is to be performed of the recording that was looked at.
func (g *Scene) perform() {
	if g.load != nil {
		g.load.Job.Cancel()
	}
	g.load = work.StartLoading(g.file.Excerpt(), work.MaxRecordingSeconds)
}

// loadOn takes a recording being read a step further and reports whether the picture
// changes.
func (g *Scene) loadOn(now float64) bool {
	l := g.load
	if l == nil || g.Bench.Mode() == bench.ModeRecord {
		return l != nil
	}
	paint := l.Pace.Run(l.Job, now, g.shell.SoundOn())
	if !l.Job.Finished() {
		return paint
	}
	g.load = nil
	if err := l.Job.Err; err != nil {
		if !errors.Is(err, context.Canceled) {
			g.shell.Fail(err)
		}
		return true
	}
	result := g.file.Result()
	if l.Loud.RMS() < work.LeastLoudest {
		g.status = result + " It is too quiet to be performed" + work.ChannelWords(g.file.Drop, g.file.In.Channels) + "."
		return true
	}
	rec := &bench.Recording{Name: l.Name, Samples: l.Mono, LevelDB: sounds.LoudSpeechDBSPL}
	g.Bench.StartCheck()
	if err := g.Bench.PerformFile(rec, l.Loud); err != nil {
		g.shell.Fail(err)
		return true
	}
	what := "It"
	if g.file.Long() {
		what = fmt.Sprintf("%s to %s of it", diagnose.Clock(l.From), diagnose.Clock(l.From+float64(len(l.Mono))/bench.Rate))
		if l.From == 0 {
			what = "Its beginning"
		}
	}
	verb := " is"
	where := work.ChannelWords(g.file.Drop, g.file.In.Channels)
	if where != "" {
		verb = ", is"
	}
	g.status = result + " " + what + where + verb + " performed now as loud speech: " + ui.Decimal(sounds.LoudSpeechDBSPL, 1) + " dB SPL at 1 m."
	return true
}

// mendFile takes the recording to the scene for mending.
func (g *Scene) mendFile() error {
	d := g.file.Drop
	return g.shell.Go(kit.IDTabMend, ui.Intent{ID: kit.IDMendFile, Do: ui.DoSet, File: &d})
}

// looked goes on once it is known what a recording is.
func (g *Scene) looked() {
	r := &g.file
	g.shell.Relayout()
	if g.Bench.Mode() != bench.ModeRecord {
		g.status = r.Result()
	}
	switch {
	case r.Err != "":
	case r.Silent():
		g.status += " It is not performed."
	case r.Asks():
		g.status += " It has two channels: say which is meant."
	default:
		g.perform()
	}
}

var errRecording = errors.New("a take is being recorded")

// chooseChannel takes the answer to which channel is meant: the first, the second or both.
func (g *Scene) chooseChannel(i int) error {
	r := &g.file
	switch {
	case g.Bench.Mode() == bench.ModeRecord:
		return errRecording
	case r.Which[i].Hidden:
		return errors.New("there are no two channels to choose from")
	}
	r.Drop.Channel = [3]int{1, 2, -1}[i]
	g.performChosen()
	return nil
}

// choosePlace takes the answer to which of the places is meant.
func (g *Scene) choosePlace(i int) error {
	r := &g.file
	switch {
	case g.Bench.Mode() == bench.ModeRecord:
		return errRecording
	case r.Place[i].Hidden:
		return errors.New("there is no such place")
	}
	r.Drop.AtS = r.Places[i].AtS
	g.performChosen()
	return nil
}

// performChosen performs the recording, as soon as it is known what of it is meant.
func (g *Scene) performChosen() {
	r := &g.file
	switch {
	case r.Silent():
		g.status = r.Result() + " " + kit.Capital(diagnose.ChannelName(max(r.Drop.Channel, 1), r.In.Channels)) + " is near silence and is not performed."
	case !r.Asks():
		g.status = "Reading " + r.Drop.Name + "."
		g.perform()
	}
}
