package metercmd

import (
	"context"
	"encoding/base64"
	"errors"
	"html/template"
	"io"
	"math"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// Excerpt is a stretch of one channel.
type Excerpt struct {
	finding *diagnose.Finding // that it shows, or nil
	channel int
	start   int64
	X       []float64
	worst   int // the moment, in x
}

// excerpts reads the file once more, for the stretches that show the findings best.
func (m *Measured) excerpts(ctx context.Context, w *cli.Watch) ([]*Excerpt, error) {
	var list []*Excerpt
	want := func(f *diagnose.Finding, at float64, channel int) {
		if len(list) == mostExcerpts {
			return
		}
		start := max(0, at-ExcerptS*0.4)
		for _, e := range list {
			if math.Abs(float64(e.start)/float64(m.RateHz)-start) < ExcerptS {
				return
			}
		}
		e := &Excerpt{finding: f, channel: channel, start: int64(start * float64(m.RateHz))}
		e.worst = int(int64(at*float64(m.RateHz)) - e.start)
		list = append(list, e)
	}
	for i := range m.Findings {
		if f := &m.Findings[i]; len(f.Where) > 0 {
			want(f, f.WorstS, f.Worst-1)
		}
	}
	// The loudest moment, for what has no place of its own.
	loudest, top := 0, 0.0
	for i := range m.Overview.Lo {
		if p := max(m.Overview.Hi[i], -m.Overview.Lo[i]); p > top {
			loudest, top = i, p
		}
	}
	if len(list) == 0 && top > 0 {
		want(nil, (float64(loudest)+0.5)*float64(m.Overview.per)/float64(m.RateHz), 0)
	}
	if len(list) == 0 {
		return nil, nil
	}
	r := m.again
	if r != nil {
		if err := r.Rewind(); err != nil {
			return nil, err
		}
	} else {
		var err error
		if r, err = sounds.OpenContext(ctx, m.Path, sounds.Lenient()); err != nil {
			return nil, err
		}
		defer r.Close()
	}
	buf := sounds.NewBlock(m.Channels, 8192)
	length := int64(ExcerptS * float64(m.RateHz))
	last := int64(0)
	for _, e := range list {
		last = max(last, e.start+length)
	}
	for at := int64(0); at < last; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := r.Read(buf)
		for _, e := range list {
			a, b := max(e.start-at, 0), min(e.start+length-at, int64(n))
			if a < b {
				e.X = append(e.X, buf[e.channel][a:b]...)
			}
		}
		at += int64(n)
		w.At(float64(at) / float64(last))
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	return list, nil
}

// Sound is the excerpt as a player's source: at a moderate level, faded in.
func (e *Excerpt) Sound(rate int) (template.URL, error) {
	x := append([]float64(nil), e.X...)
	peak := 0.0
	for i, v := range x {
		if !(math.Abs(v) < math.MaxFloat32) {
			x[i] = 0
		}
		peak = max(peak, math.Abs(x[i]))
	}
	l, err := meter.NewLoudness(rate, 1)
	if err != nil {
		return "", err
	}
	l.WriteMono(x)
	g := 1.0
	if i := l.Integrated(); !math.IsInf(i, 0) {
		g = meter.FromDB(excerptLUFS - i)
	}
	if peak > 0 {
		g = min(g, meter.FromDB(excerptTop)/peak)
	}
	in, out := int(fadeInS*float64(rate)), int(fadeOutS*float64(rate))
	for i := range x {
		f := min(1, float64(i)/float64(in), float64(len(x)-1-i)/float64(out))
		x[i] *= g * f
	}
	if rate > 48000 {
		x = sounds.ResampleAll([][]float64{x}, rate, 48000, sounds.Standard)[0]
		rate = 48000
	}
	b, err := codec.WAVBytes(rate, [][]float64{x}, codec.PCM16)
	if err != nil {
		return "", err
	}
	return template.URL("data:audio/wav;base64," + base64.StdEncoding.EncodeToString(b)), nil
}

// zoom is the milliseconds around the highest sample near the excerpt's moment.
func (e *Excerpt) zoom(rate int) (picture.Zoom, bool) {
	near, half := int(0.06*float64(rate)), int(ZoomS*float64(rate)/2)
	lo, hi := max(0, e.worst-near), min(len(e.X), e.worst+near)
	if lo >= hi {
		return picture.Zoom{}, false
	}
	if e.finding != nil && e.finding.Kind.Clipping() {
		// The moment is a flat top's middle already.
		lo, hi = max(0, e.worst-half/4), min(len(e.X), e.worst+half/4)
	}
	best := lo
	for i := lo; i < hi; i++ {
		if math.Abs(e.X[i]) > math.Abs(e.X[best]) {
			best = i
		}
	}
	a := max(0, min(best-half, len(e.X)-2*half))
	z := picture.Zoom{Name: "The loudest moment", StartS: float64(e.start+int64(a)) / float64(rate), X: e.X[a:min(a+2*half, len(e.X))]}
	if f := e.finding; f != nil {
		z.Name = zoomNames[f.Kind]
		if v, ok := f.Number("level_dbfs"); ok {
			z.Level = meter.FromDB(v)
			z.Note = "dashed: " + picture.DB(v, "dBFS")
		}
	}
	return z, true
}
