package series

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"gainwright/sim/identify"
	"gainwright/sim/meter"
	"gainwright/sounds"
)

// A Reading is what one recording told.
type Reading struct {
	File File
	// SHA256 of its bytes, in hex.
	SHA256  string
	Seconds float64
	Sources []Source // what was measured in it
	Notes   []string
	heard   []heard
	clips   []clip
	off, on []Stretch
	bits    int
	stated  int // bits that the header states
	dc      float64
}

// A Source is what a figure was measured from.
type Source struct {
	Step    identify.Step // 0 for a pair on two channels
	Mark    float64
	File    string
	SHA256  string
	Seconds float64 // of the file
}

// What says it in words.
func (s Source) What() string {
	if s.Step == 0 {
		return "pair, mark " + Mark(s.Mark)
	}
	return fmt.Sprintf("%s, mark %s", s.Step, Mark(s.Mark))
}

type heard struct {
	identify.Heard
	talk identify.Estimate // dBFS of talk, if it is an anchor
}

type clip struct {
	identify.Clip
	from string
}

// A Stretch is a part of a channel of a file.
type Stretch struct {
	File     File
	Channel  int
	From, To int64 // frames; To negative for the end
	Mark     float64
}

// Of a stretch, what is not listened to: the sound's gap after the slate, a hand on the
// recorder at the end.
const (
	afterSlateS = 0.6
	beforeEndS  = 0.3
)

// ErrNoSlate is in the error of a file that does not say what it is.
var ErrNoSlate = errors.New("no slate is heard in it")

// Hash is a file's SHA-256, in hex.
func Hash(ctx context.Context, f File) (string, error) {
	wrap := func(err error, what string) error {
		var p *os.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return &sounds.InputError{Path: f.Name, Msg: what + err.Error(), Err: err}
	}
	r, err := f.Raw()
	if err != nil {
		return "", wrap(err, "")
	}
	defer r.Close()
	h := sha256.New()
	buf := make([]byte, 1<<18)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := r.Read(buf)
		h.Write(buf[:n])
		if errors.Is(err, io.EOF) {
			return hex.EncodeToString(h.Sum(nil)), nil
		}
		if err != nil {
			return "", wrap(err, "cannot be read: ")
		}
	}
}

// Read reads a file whose SHA-256 is sum. It is known by its slates, or by what is told of
// it.
func Read(ctx context.Context, f File, sum string, t *Told, p Progress) (*Reading, error) {
	c, err := OpenChannel(ctx, f, 0, p)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	r := &Reading{File: f, SHA256: sum}
	if t != nil && t.Pair {
		return r, r.pair(c, *t)
	}
	s, err := c.Louder()
	if err != nil {
		return nil, err
	}
	r.words(s)
	if t != nil {
		return r, r.stretch(c, t.Step, Stretch{f, c.Which(), 0, -1, t.Mark})
	}
	p.Begin("listening for slates in " + f.Name)
	slates, err := identify.Slates(c, s.Rate)
	if err != nil {
		return nil, err
	}
	if len(slates) == 0 {
		return nil, &sounds.InputError{Path: f.Name, Msg: ErrNoSlate.Error() + ": say what it is by hand", Err: ErrNoSlate}
	}
	rate := float64(s.Rate)
	for i, sl := range slates {
		q := Stretch{f, c.Which(), sl.At + int64((identify.SlateSeconds+afterSlateS)*rate), s.Frames, sl.Mark}
		if i+1 < len(slates) {
			q.To = slates[i+1].At
		}
		q.To -= int64(beforeEndS * rate)
		if q.To-q.From < int64(rate) {
			r.Notes = append(r.Notes, fmt.Sprintf("%s, %s at mark %s: the recording ends with the slate", sounds.Shown(f.Name), sl.Step, Mark(sl.Mark)))
			continue
		}
		if err := r.stretch(c, sl.Step, q); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// words takes length, word length and offset from a survey.
func (r *Reading) words(s *identify.Survey) {
	r.Seconds = s.Seconds()
	r.bits = s.Bits
	if s.Step > 0 {
		r.stated = int(math.Round(1 - math.Log2(s.Step)))
	}
	r.dc = s.DC
}

// source notes what is measured.
func (r *Reading) source(step identify.Step, mark float64) Source {
	s := Source{step, mark, r.File.Name, r.SHA256, r.Seconds}
	r.Sources = append(r.Sources, s)
	return s
}

// stretch measures what belongs to one slate, or to a file that was named.
func (r *Reading) stretch(c *Channel, step identify.Step, q Stretch) error {
	src := r.source(step, q.Mark)
	sec := &identify.Section{Of: c, From: q.From, To: q.To}
	switch step {
	case identify.Off:
		r.off = append(r.off, q)
	case identify.On:
		r.on = append(r.on, q)
		return nil
	}
	c.p.Begin("measuring " + c.Name)
	s, err := identify.Look(sec, c.Format)
	if identify.AsFault(err) {
		r.Notes = append(r.Notes, fmt.Sprintf("%s, %s: %v", sounds.Shown(c.Name), src.What(), err))
		return nil
	}
	if err != nil {
		return err
	}
	if step == identify.Off || step == identify.Loud {
		r.clips = append(r.clips, clip{identify.ClipOf(s), c.Name})
		return nil
	}
	h := heard{identify.Heard{From: sounds.Shown(c.Name), Step: step, Mark: q.Mark, Ceiling: s.Ceiling, Peak: s.Peak(), Full: c.Format.Full}, identify.Unknown()}
	if h.Levels, err = identify.Listen(sec, s.Rate, 0, -1); err != nil {
		return err
	}
	if step == identify.Quiet || step == identify.Plugged {
		if h.HighPass, err = identify.HighPass(sec, s.Rate); err != nil {
			return err
		}
	}
	if step == identify.Anchor {
		h.talk, err = talkLevel(sec, s.Rate)
	}
	r.heard = append(r.heard, h)
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

// pair is a file with the limiter off on its first channel and on on its second.
func (r *Reading) pair(c *Channel, t Told) error {
	if c.Channels() != 2 {
		return &sounds.InputError{Path: c.Name, Msg: "has one channel: a pair in one file has two, the limiter off on the first"}
	}
	r.off = append(r.off, Stretch{r.File, 0, 0, -1, t.Mark})
	r.on = append(r.on, Stretch{r.File, 1, 0, -1, t.Mark})
	s, err := c.Survey()
	if err != nil {
		return err
	}
	r.words(s)
	r.clips = append(r.clips, clip{identify.ClipOf(s), c.Name})
	r.source(0, t.Mark)
	return nil
}
