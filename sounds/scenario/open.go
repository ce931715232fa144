package scenario

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

// A Performance is a scenario's source, opened: pressure at 1 m in pascal, mono,
// for sim.Run. It is for one goroutine at a time.
type Performance struct {
	Rate   int   // Hz
	Frames int64 // samples in all; −1 if a file does not say
	Moves  []sim.Move
	Marks  []voice.Mark
	// Notes tell what was done to make a recording fit, a line each.
	Notes []string
	// ScalePa is what one unit of a recording became, in Pa at 1 m; 0 for a talker.
	ScalePa float64

	src   sim.Source
	close func() error
}

// Read gives the next samples; the end is io.EOF.
func (p *Performance) Read(dst []float64) (int, error) { return p.src.Read(dst) }

// Close releases a recording's file.
func (p *Performance) Close() error {
	if p.close == nil {
		return nil
	}
	return p.close()
}

// Seconds is the length, −1 if it is not known.
func (p *Performance) Seconds() float64 {
	if p.Frames < 0 {
		return -1
	}
	return float64(p.Frames) / float64(p.Rate)
}

// Path is the source's file as it is opened, "" for a talker, "-" for the standard
// input.
func (s *Scenario) Path() string {
	f := s.Source.File
	if f == "" || f == "-" || s.Dir == "" || filepath.IsAbs(f) {
		return f
	}
	return filepath.Join(s.Dir, filepath.FromSlash(f))
}

// Open readies the source. A talker's performance has 48 kHz. A recording is read
// through once to find its loudest second, of which progress (may be nil) is told
// the share done, and then again while the performance is read: it is never held
// in memory. It keeps its own rate from 8 to 192 kHz, and is made mono by the mean
// of its channels. Errors of the file are *sounds.InputError.
func (s *Scenario) Open(ctx context.Context, progress func(share float64)) (*Performance, error) {
	if s.Source.File == "" {
		return s.talker()
	}
	return s.recording(ctx, progress)
}

func (s *Scenario) talker() (*Performance, error) {
	v, err := voice.New(s.Source.Script, s.Source.Talker, s.Seed)
	if err != nil {
		return nil, &sounds.InputError{Msg: err.Error(), Err: err}
	}
	v.StandAt(s.Strips[0].Chain.DistanceM)
	p := &Performance{Rate: voice.Rate, Frames: int64(v.Length()), Marks: v.Marks(), src: v}
	for _, m := range v.Moves() {
		if strings.EqualFold(m.Talker, s.Source.Talker) {
			p.Moves = append(p.Moves, sim.Move{AtS: m.AtS, OverS: m.OverS, DistanceM: m.DistanceM})
		}
	}
	return p, nil
}

// readFrames is the block in which recordings are read.
const readFrames = 8192

func (s *Scenario) recording(ctx context.Context, progress func(float64)) (_ *Performance, err error) {
	r, err := sounds.OpenContext(ctx, s.Path())
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			r.Close()
		}
	}()
	path := r.Name()
	info := r.Info()
	p := &Performance{Rate: info.Rate, Frames: info.Frames, close: r.Close}
	if info.Channels > 1 {
		p.Notes = append(p.Notes, fmt.Sprintf("%s has %d channels: the chain carries one voice, so their mean was taken", path, info.Channels))
	}
	rate := min(max(info.Rate, meter.MinRate), meter.MaxRate)
	if rate != info.Rate {
		p.Notes = append(p.Notes, fmt.Sprintf("%s has %d Hz: it was brought to %d Hz, the nearest that the chain runs at", path, info.Rate, rate))
		p.Rate = rate
		if p.Frames >= 0 {
			p.Frames = (p.Frames*int64(rate) + int64(info.Rate) - 1) / int64(info.Rate)
		}
	}
	stream := func() sounds.Source {
		return sounds.AtRate(sounds.Mono(r, info.Channels, -1), info.Rate, rate, 1, sounds.Standard)
	}

	loudest := sounds.NewLoudestSecond(rate)
	buf := sounds.NewBlock(1, readFrames)
	src, done := stream(), int64(0)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, e := src.Read(buf)
		loudest.Add(buf[0][:n])
		done += int64(n)
		if progress != nil && p.Frames > 0 {
			progress(min(1, float64(done)/float64(p.Frames)))
		}
		if errors.Is(e, io.EOF) {
			break
		}
		if e != nil {
			return nil, e
		}
	}
	p.Frames = done
	if p.ScalePa, err = loudest.Scale(s.Source.LevelDBSPL); err != nil {
		var ie *sounds.InputError
		if errors.As(err, &ie) {
			err = &sounds.InputError{Path: path, Msg: ie.Msg, Err: err}
		}
		return nil, err
	}
	if err := r.Rewind(); err != nil {
		return nil, err
	}
	p.src = &scaled{stream(), p.ScalePa, make([][]float64, 1)}
	return p, nil
}

// scaled is a recording in pascal.
type scaled struct {
	src   sounds.Source
	scale float64
	one   [][]float64
}

func (s *scaled) Read(dst []float64) (int, error) {
	s.one[0] = dst
	n, err := s.src.Read(s.one)
	for i := range dst[:n] {
		dst[i] *= s.scale
	}
	return n, err
}

// NewStrips makes the scenario's strips, ready to run at rate. All draw the same
// noise, so that strips of equal settings give equal files.
func (s *Scenario) NewStrips(rate int) ([]*sim.Strip, error) {
	out := make([]*sim.Strip, len(s.Strips))
	for i, st := range s.Strips {
		x, err := sim.NewStrip(rate, st.Chain, s.Seed)
		if err != nil {
			return nil, fmt.Errorf("strip %s: %w", st.Name, err)
		}
		out[i] = x
	}
	return out, nil
}
