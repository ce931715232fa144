package scenes

import (
	"errors"
	"fmt"
	"io"

	"gainwright/scenes/ui"
	"gainwright/sounds"
)

const (
	// maxRecordingSeconds is the longest recording that can be brought along.
	maxRecordingSeconds = 600
	// loadFrames is how much of it is read in one frame of the screen, so that
	// the picture does not stand still.
	loadFrames = Rate
)

// loading is a recording being read.
type loading struct {
	name  string
	src   sounds.Source
	total int64 // frames at Rate, −1 if not known
	mono  []float32
	block [][]float64
}

// drop begins to read a file that was dropped in or chosen.
func (g *gainScene) drop(d Drop) error {
	if g.s.Mode() == ModeRecord {
		return fmt.Errorf("%s: a take is being recorded; drop it again afterwards", d.Name)
	}
	r, err := sounds.OpenBytes(d.Name, d.Data)
	if err != nil {
		return err
	}
	g.file.look(d)
	g.look, g.drawer.at = viewFile, noDrawer
	g.p.Relayout()
	in := r.Info()
	l := &loading{name: d.Name, total: -1, block: sounds.NewBlock(1, 4096)}
	if in.Frames > 0 {
		l.total = in.Frames * Rate / int64(in.Rate)
		if l.total > maxRecordingSeconds*Rate {
			return fmt.Errorf("%s is %s s long; at most %d s can be performed", d.Name, ui.Decimal(in.Seconds, 0), maxRecordingSeconds)
		}
	}
	l.src = sounds.AtRate(sounds.Mono(r, in.Channels, -1), in.Rate, Rate, 1, sounds.Standard)
	g.load = l
	g.status = "Reading " + d.Name + "."
	return nil
}

// goOnLoading reads on; it reports whether the recording is complete.
func (l *loading) goOn() (done bool, err error) {
	for range loadFrames / 4096 {
		n, err := l.src.Read(l.block)
		for _, v := range l.block[0][:n] {
			l.mono = append(l.mono, float32(v))
		}
		if len(l.mono) > maxRecordingSeconds*Rate {
			return false, fmt.Errorf("%s is longer than the %d s that can be performed", l.name, maxRecordingSeconds)
		}
		if errors.Is(err, io.EOF) {
			return true, nil
		}
		if err != nil {
			return false, err
		}
	}
	return false, nil
}

// progress is how much has been read, 0 to 1, or −1 if that is not known.
func (l *loading) progress() float64 {
	if l.total <= 0 {
		return -1
	}
	return min(float64(len(l.mono))/float64(l.total), 1)
}

// loadOn takes a recording being read a step further.
func (g *gainScene) loadOn() {
	l := g.load
	if l == nil || g.s.Mode() == ModeRecord {
		return
	}
	done, err := l.goOn()
	if err != nil {
		g.load = nil
		g.p.Fail(err)
		return
	}
	if !done {
		return
	}
	g.load = nil
	rec := &Recording{Name: l.name, Samples: l.mono, LevelDB: sounds.LoudSpeechDBSPL}
	g.s.StartCheck()
	if err := g.s.SetFile(rec); err != nil {
		g.p.Fail(err)
		return
	}
	g.status = l.name + " is performed now, as loud speech: " + ui.Decimal(sounds.LoudSpeechDBSPL, 1) + " dB SPL at 1 m."
}
