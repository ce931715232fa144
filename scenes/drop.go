package scenes

import (
	"context"
	"errors"
	"fmt"
	"io"

	"gainwright/scenes/ui"
	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

const (
	// maxRecordingSeconds is the longest stretch of a recording that is performed. Of
	// longer ones a stretch of this length is taken; how long they are does not matter.
	maxRecordingSeconds = 600
	// nothing of a loudest second under this rms is brought up to the level of speech.
	leastLoudest = 1e-4
)

// acceptSound is what a file dialogue offers: what is read here, and what a browser may
// read.
const acceptSound = ".wav,.flac,.ogg,.mp3,.m4a,.mp4,.aac,.opus,.webm"

// openDrop opens a recording that was dropped in or chosen.
func openDrop(d Drop) (*sounds.Reader, error) {
	switch {
	case d.Err != nil:
		return nil, d.Err
	case d.Long != nil:
		return sounds.OpenAt(d.Name, d.Long, d.Size)
	}
	return sounds.OpenBytes(d.Name, d.Data)
}

// pick is what sounds.Mono makes one channel of.
func pick(d Drop) int {
	if d.Channel > 0 {
		return d.Channel - 1
	}
	return -1
}

// channelWords says which channel of a drop is meant, with a comma before it.
func channelWords(d Drop, channels int) string {
	switch {
	case channels < 2:
		return ""
	case d.Channel > 0:
		return ", " + diagnose.ChannelName(d.Channel, channels)
	}
	return ", all channels mixed"
}

// loading is a stretch of a recording being read, one channel at Rate.
type loading struct {
	name string
	job  *errand
	pace pace
	// Of the job, once it is finished.
	mono []float32
	from float64 // s, where in the recording it begins
	loud *sounds.LoudestSecond
}

// startLoading begins to read at most seconds of a recording: around the moment
// d.AtS, or from its beginning where whole is set.
func startLoading(d Drop, seconds float64) *loading {
	l := &loading{name: d.Name}
	l.job = startErrand(func(h *hand) error { return l.read(h, d, seconds) })
	return l
}

func (l *loading) read(h *hand, d Drop, seconds float64) error {
	r, err := openDrop(d)
	if err != nil {
		return err
	}
	defer r.Close()
	in := r.Info()
	if d.AtS > 0 {
		l.from = max(0, d.AtS-seconds/2)
		if in.Seconds >= 0 {
			l.from = max(0, min(l.from, in.Seconds-seconds))
		}
	}
	skip := int64(l.from * float64(in.Rate))
	if err := r.Skip(skip, func() error {
		h.at("reading", 0.5*float64(r.Position())/float64(max(skip, 1)))
		return h.Err()
	}); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	most := int(seconds * Rate)
	if in.Frames >= 0 {
		most = min(most, int((in.Frames-skip)*Rate/int64(in.Rate))+Rate)
	}
	l.mono = make([]float32, 0, most)
	l.loud = sounds.NewLoudestSecond(Rate)
	src := sounds.AtRate(sounds.Mono(r, in.Channels, pick(d)), in.Rate, Rate, 1, sounds.Standard)
	block := sounds.NewBlock(1, 4096)
	for len(l.mono) < most {
		n, err := src.Read(block)
		x := block[0][:min(n, most-len(l.mono))]
		for _, v := range x {
			l.mono = append(l.mono, float32(v))
		}
		l.loud.Add(x)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		h.at("reading", 0.5+0.5*float64(len(l.mono))/float64(most))
		if err := h.Err(); err != nil {
			return err
		}
	}
	return nil
}

// progress is how much has been read, 0 to 1.
func (l *loading) progress() float64 {
	_, share := l.job.progress()
	return share
}

// drop begins to look at a recording that was dropped in or chosen; it is performed
// once it is known what it is.
func (g *gainScene) drop(d Drop) error {
	if g.s.Mode() == ModeRecord {
		return fmt.Errorf("%s: a take is being recorded; drop it again afterwards", d.Name)
	}
	r, err := openDrop(d)
	if err != nil {
		return err
	}
	in := r.Info()
	r.Close()
	g.stopFile()
	g.file.look(d, in)
	g.look, g.drawer.at = viewFile, noDrawer
	g.p.Relayout()
	g.status = "Reading " + d.Name + "."
	return nil
}

// stopFile gives up what is being read.
func (g *gainScene) stopFile() {
	if g.file.job != nil {
		g.file.job.cancel()
		g.file.job = nil
	}
	if g.load != nil {
		g.load.job.cancel()
		g.load = nil
	}
}

// perform begins to read what is to be performed of the recording that was looked at.
func (g *gainScene) perform() {
	if g.load != nil {
		g.load.job.cancel()
	}
	g.load = startLoading(g.file.excerpt(), maxRecordingSeconds)
}

// loadOn takes a recording being read a step further and reports whether the picture
// changes.
func (g *gainScene) loadOn(now float64) bool {
	l := g.load
	if l == nil || g.s.Mode() == ModeRecord {
		return l != nil
	}
	paint := l.pace.grant(l.job, now, g.p.SoundOn())
	if !l.job.finished() {
		return paint
	}
	g.load = nil
	if err := l.job.err; err != nil {
		if !errors.Is(err, context.Canceled) {
			g.p.Fail(err)
		}
		return true
	}
	result := g.file.result()
	if l.loud.RMS() < leastLoudest {
		g.status = result + " It is too quiet to be performed" + channelWords(g.file.drop, g.file.in.Channels) + "."
		return true
	}
	rec := &Recording{Name: l.name, Samples: l.mono, LevelDB: sounds.LoudSpeechDBSPL}
	g.s.StartCheck()
	if err := g.s.setFile(rec, l.loud); err != nil {
		g.p.Fail(err)
		return true
	}
	what := "It"
	if g.file.long() {
		what = fmt.Sprintf("%s to %s of it", diagnose.Clock(l.from), diagnose.Clock(l.from+float64(len(l.mono))/Rate))
		if l.from == 0 {
			what = "Its beginning"
		}
	}
	verb := " is"
	where := channelWords(g.file.drop, g.file.in.Channels)
	if where != "" {
		verb = ", is"
	}
	g.status = result + " " + what + where + verb + " performed now as loud speech: " + ui.Decimal(sounds.LoudSpeechDBSPL, 1) + " dB SPL at 1 m."
	return true
}
