package work

import (
	"errors"
	"io"

	"gainwright/scenes/bench"
	"gainwright/scenes/ui"
	"gainwright/sounds"
)

// Read reads at most so many seconds of d, around the place that is meant, as mono at
// bench.Rate.
func (l *Loading) Read(h *Context, d ui.Drop, seconds float64) error {
	r, err := OpenDrop(d)
	if err != nil {
		return err
	}
	defer r.Close()
	in := r.Info()
	if d.AtS > 0 {
		l.From = max(0, d.AtS-seconds/2)
		if in.Seconds >= 0 {
			l.From = max(0, min(l.From, in.Seconds-seconds))
		}
	}
	skip := int64(l.From * float64(in.Rate))
	if err := r.Skip(skip, func() error {
		h.Report("reading", 0.5*float64(r.Position())/float64(max(skip, 1)))
		return h.Err()
	}); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	most := int(seconds * bench.Rate)
	if in.Frames >= 0 {
		most = min(most, int((in.Frames-skip)*bench.Rate/int64(in.Rate))+bench.Rate)
	}
	l.Mono = make([]float32, 0, most)
	l.Loud = sounds.NewLoudestSecond(bench.Rate)
	src := sounds.AtRate(sounds.Mono(r, in.Channels, PickChannel(d)), in.Rate, bench.Rate, 1, sounds.Standard)
	block := sounds.NewBlock(1, 4096)
	for len(l.Mono) < most {
		n, err := src.Read(block)
		x := block[0][:min(n, most-len(l.Mono))]
		for _, v := range x {
			l.Mono = append(l.Mono, float32(v))
		}
		l.Loud.Add(x)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		h.Report("reading", 0.5+0.5*float64(len(l.Mono))/float64(most))
		if err := h.Err(); err != nil {
			return err
		}
	}
	return nil
}

// Progress is how much has been read, 0 to 1.
func (l *Loading) Progress() float64 {
	_, share := l.Job.Progress()
	return share
}
