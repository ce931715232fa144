package recordercmd

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/sim/identify"
	"gainwright/sim/meter"
	"gainwright/sounds"
)

// learnt is all that the files told.
type learnt struct {
	heard    []identify.Heard
	clips    []identify.Clip
	clipFrom []string
	off, on  []part
	limiters []*identify.Limiter
	pairFrom []string
	talk     identify.Estimate // dBFS of talk that is the anchor
	sources  []source
	notes    []string
	bits     int
	stated   int // bits that the files' headers state
	dcMost   float64
	anchorBy anchorFlag

	gains   *identify.GainLaw
	noises  identify.Noises
	clip    *identify.Clip
	clipBy  string
	limiter *identify.Limiter
	pairBy  string
	anchor  identify.Estimate // dB SPL of a full-scale sine at the lowest mark
	anchorM float64           // the mark at which it was found
}

// source is a file from which something was measured.
type source struct {
	what, path, sum string
	seconds         float64
}

// part is a stretch of a channel of a file.
type part struct {
	path     string
	channel  int
	from, to int64 // frames; to negative for the end
	mark     float64
}

// Of a stretch, what is not listened to: the sound's gap after the slate, a hand on the
// recorder at the end.
const (
	afterSlateS = 0.6
	beforeEndS  = 0.3
)

func hash(ctx context.Context, path string) (string, error) {
	f, err := openFile(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	buf := make([]byte, 1<<20)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := f.Read(buf)
		h.Write(buf[:n])
		if errors.Is(err, io.EOF) {
			return hex.EncodeToString(h.Sum(nil)), nil
		}
		if err != nil {
			return "", &sounds.InputError{Path: path, Msg: "cannot be read: " + err.Error(), Err: err}
		}
	}
}

// file reads one file.
func (l *learnt) file(ctx context.Context, path, sum string, is map[string]told, w *cli.Watch) error {
	c, err := metercmd.OpenChannel(ctx, path, 0, w)
	if err != nil {
		return err
	}
	defer c.Close()
	t, named := is[path]
	if named && t.pair {
		return l.pairFile(c, sum, t)
	}
	s, err := c.Louder()
	if err != nil {
		return err
	}
	l.words(s)
	src := source{path: path, sum: sum, seconds: s.Seconds()}
	if named {
		return l.stretch(c, src, t.step, part{path, c.Which(), 0, -1, t.mark}, s.Frames)
	}
	w.Begin("listening for slates in " + path)
	slates, err := identify.Slates(c, s.Rate)
	if err != nil {
		return err
	}
	if len(slates) == 0 {
		return &sounds.InputError{Path: path, Msg: "no slate is heard in it: say what it is by --is FILE=STEP,MARK"}
	}
	rate := float64(s.Rate)
	for i, sl := range slates {
		p := part{path, c.Which(), sl.At + int64((identify.SlateSeconds+afterSlateS)*rate), s.Frames, sl.Mark}
		if i+1 < len(slates) {
			p.to = slates[i+1].At
		}
		p.to -= int64(beforeEndS * rate)
		if p.to-p.from < int64(rate) {
			l.notes = append(l.notes, fmt.Sprintf("%s, %s at mark %s: the recording ends with the slate", sounds.Shown(path), sl.Step, mark(sl.Mark)))
			continue
		}
		if err := l.stretch(c, src, sl.Step, p, p.to); err != nil {
			return err
		}
	}
	return nil
}

// words takes word length and offset from a survey.
func (l *learnt) words(s *identify.Survey) {
	l.bits = max(l.bits, s.Bits)
	if s.Step > 0 {
		l.stated = max(l.stated, int(math.Round(1-math.Log2(s.Step))))
	}
	if math.Abs(s.DC) > math.Abs(l.dcMost) {
		l.dcMost = s.DC
	}
}

// stretch measures what belongs to one slate, or to a file that was named.
func (l *learnt) stretch(c *metercmd.Channel, src source, step identify.Step, p part, end int64) error {
	src.what = fmt.Sprintf("%s, mark %s", step, mark(p.mark))
	l.sources = append(l.sources, src)
	sec := &identify.Section{Of: c, From: p.from, To: p.to}
	switch step {
	case identify.Off:
		l.off = append(l.off, p)
	case identify.On:
		l.on = append(l.on, p)
		return nil
	}
	s, err := identify.Look(sec, c.Format)
	if identify.AsFault(err) {
		l.notes = append(l.notes, fmt.Sprintf("%s, %s: %v", sounds.Shown(p.path), src.what, err))
		return nil
	}
	if err != nil {
		return err
	}
	if step == identify.Off || step == identify.Loud {
		l.clips = append(l.clips, identify.ClipOf(s))
		l.clipFrom = append(l.clipFrom, p.path)
		return nil
	}
	h := identify.Heard{From: sounds.Shown(p.path), Step: step, Mark: p.mark, Ceiling: s.Ceiling, Peak: s.Peak(), Full: c.Format.Full}
	if h.Levels, err = identify.Listen(sec, s.Rate, 0, -1); err != nil {
		return err
	}
	l.heard = append(l.heard, h)
	if step == identify.Anchor && l.anchorBy.kind == "talk" {
		l.talk, err = talkLevel(sec, s.Rate)
	}
	return err
}

// talkLevel is the level of talk while somebody speaks, against a full-scale sine.
func talkLevel(r identify.Recording, rate int) (identify.Estimate, error) {
	st := meter.NewStats(rate)
	if err := r.Rewind(); err != nil {
		return identify.Unknown(), err
	}
	buf := make([]float64, 1<<13)
	for {
		n, err := r.Read(buf)
		st.Write(buf[:n])
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return identify.Unknown(), err
		}
	}
	v := st.ActiveDB() + meter.SineDB(1)
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return identify.Unknown(), nil
	}
	return identify.Estimate{Value: v, Low: v - 0.5, High: v + 0.5}, nil
}

// pairFile is a file with the limiter off on its first channel and on on its second.
func (l *learnt) pairFile(c *metercmd.Channel, sum string, t told) error {
	if c.Channels() != 2 {
		return &sounds.InputError{Path: c.Path, Msg: "has one channel: a pair in one file has two, the limiter off on the first"}
	}
	l.off = append(l.off, part{c.Path, 0, 0, -1, t.mark})
	l.on = append(l.on, part{c.Path, 1, 0, -1, t.mark})
	s, err := c.Survey()
	if err != nil {
		return err
	}
	l.words(s)
	l.clips = append(l.clips, identify.ClipOf(s))
	l.clipFrom = append(l.clipFrom, c.Path)
	l.sources = append(l.sources, source{"pair, mark " + mark(t.mark), c.Path, sum, s.Seconds()})
	return nil
}

// sumUp makes a recorder of what was heard.
func (l *learnt) sumUp(ctx context.Context, w *cli.Watch) error {
	var notes []string
	l.gains, notes = identify.Gains(l.heard)
	l.notes = append(l.notes, notes...)
	l.noises = identify.NoisesOf(l.heard, l.gains)
	l.notes = append(l.notes, l.noises.Notes...)
	for i := range l.clips {
		if c := &l.clips[i]; c.Level.Known() && (l.clip == nil || c.Tops > l.clip.Tops) {
			l.clip, l.clipBy = c, l.clipFrom[i]
		}
	}
	if l.clip == nil && len(l.clips) > 0 {
		l.notes = append(l.notes, sounds.Shown(l.clipFrom[0])+": "+l.clips[0].Why)
	}
	if err := l.pairs(ctx, w); err != nil {
		return err
	}
	l.findAnchor()
	return nil
}

// pairs compares what was recorded with the limiter off and on. Where there are several,
// what tells the place counts.
func (l *learnt) pairs(ctx context.Context, w *cli.Watch) error {
	if len(l.off) != len(l.on) {
		l.notes = append(l.notes, fmt.Sprintf("%s with the limiter off and %d with it on: a pair is one of each", cli.Counted(len(l.off), "recording", "recordings"), len(l.on)))
	}
	for i := range min(len(l.off), len(l.on)) {
		got, err := compare(ctx, l.off[i], l.on[i], w)
		if identify.AsFault(err) {
			l.notes = append(l.notes, err.Error())
			continue
		}
		if err != nil {
			return err
		}
		l.limiters = append(l.limiters, got)
		if l.limiter == nil || l.limiter.Place == identify.Undecided && got.Place != identify.Undecided {
			l.limiter, l.pairBy = got, fmt.Sprintf("%s and %s", sounds.Shown(l.off[i].path), sounds.Shown(l.on[i].path))
		} else if got.Place != identify.Undecided && got.Place != l.limiter.Place {
			l.notes = append(l.notes, fmt.Sprintf("%s and %s tell another place of the limiter than %s: was the menu the same?", sounds.Shown(l.off[i].path), sounds.Shown(l.on[i].path), l.pairBy))
		}
	}
	return nil
}

func compare(ctx context.Context, off, on part, w *cli.Watch) (*identify.Limiter, error) {
	var sec [2]*identify.Section
	var s [2]*identify.Survey
	for i, p := range []part{off, on} {
		c, err := metercmd.OpenChannel(ctx, p.path, p.channel, w)
		if err != nil {
			return nil, err
		}
		defer c.Close()
		w.Begin("comparing " + p.path)
		sec[i] = &identify.Section{Of: c, From: p.from, To: p.to}
		if s[i], err = identify.Look(sec[i], c.Format); err != nil {
			if identify.AsFault(err) {
				err = &sounds.InputError{Path: p.path, Msg: err.Error(), Err: err}
			}
			return nil, err
		}
	}
	return metercmd.PairOf([2]string{off.path, on.path}, sec[0], sec[1], s[0], s[1])
}

// findAnchor works out the acoustic full scale at the lowest mark.
func (l *learnt) findAnchor() {
	l.anchor = identify.Unknown()
	a := l.anchorBy
	if a.kind == "" {
		return
	}
	level, gain := identify.Unknown(), 0.0
	for _, h := range l.heard {
		if h.Step != identify.Anchor {
			continue
		}
		level, gain, l.anchorM = h.Levels.Tone, l.gains.At(h.Mark), h.Mark
		if a.kind == "talk" {
			level = l.talk
		}
		break
	}
	if !level.Known() && a.kind == "meter" && len(l.gains.Marks) > 0 {
		r := l.gains.Reaches
		level, gain, l.anchorM = identify.Estimate{Value: r, Low: r - 0.2, High: r + 0.2}, 0, l.gains.Marks[0].Mark
	}
	switch {
	case !level.Known():
		l.notes = append(l.notes, "the anchor was not heard: record it, and name it by --is FILE=anchor,MARK")
	case math.IsNaN(gain):
		l.notes = append(l.notes, fmt.Sprintf("the gain at mark %s, at which the anchor was recorded, is not known: record the tone there", mark(l.anchorM)))
	default:
		v := a.level - level.Value + gain
		half := math.Hypot(a.within, level.High-level.Value)
		l.anchor = identify.Estimate{Value: v, Low: v - half, High: v + half}
	}
}

// fullScale is the acoustic full scale at a mark.
func (l *learnt) fullScale(m identify.MarkGain) identify.Estimate {
	if !l.anchor.Known() {
		return identify.Unknown()
	}
	v := l.anchor.Value - m.Gain.Value
	half := math.Hypot(l.anchor.High-l.anchor.Value, m.Gain.High-m.Gain.Value)
	return identify.Estimate{Value: v, Low: v - half, High: v + half}
}
