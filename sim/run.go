package sim

import (
	"context"
	"errors"
	"io"
	"math"
)

// A Source is a performance: pressure at 1 m in pascal, mono, at the strips'
// rate. Read fills dst as far as it can; the end is io.EOF, with or without
// samples.
type Source interface {
	Read(dst []float64) (n int, err error)
}

// A Move takes the talker to another distance during the performance.
type Move struct {
	AtS       float64 `json:"at_s" yaml:"at_s"`
	OverS     float64 `json:"over_s" yaml:"over_s"`
	DistanceM float64 `json:"distance_m" yaml:"distance_m"`
}

// RunOptions says what goes with a run; the zero value is a plain one.
type RunOptions struct {
	Moves []Move
	// Turn is called before every block with the frame that it begins with, for
	// settings that change on the way; the moves are then its own to make. It may
	// be nil.
	Turn func(frame int64) error
	// Step is how many frames a block has; 0 is StepFrames of the moves.
	Step int
	// Sink is called for every block of every strip, taps aligned with the
	// source from its first sample on. The taps are only valid during the call.
	Sink func(strip int, t *Taps) error
	// Progress is called now and then with the frames done.
	Progress func(frames int64)
}

const runBlock = 1024

// StepFrames is after how many frames of a take its settings are looked at, counted
// from its first: a hundredth of a second where the mouth moves. Whatever performs a
// take in these steps gives the same samples as Run.
func StepFrames(rate int, moves []Move) int {
	if len(moves) > 0 {
		return max(1, rate/100)
	}
	return runBlock
}

// Run pulls src through all strips in step until it ends and returns how many
// samples it had. The strips' latency is taken out: the taps begin with the
// source's first sample and end with its last.
func Run(ctx context.Context, src Source, strips []*Strip, o RunOptions) (int64, error) {
	if len(strips) == 0 {
		return 0, errors.New("no strip to run")
	}
	block := o.Step
	if block <= 0 {
		block = StepFrames(strips[0].Rate(), o.Moves)
	}
	base := make([]Chain, len(strips))
	skip := make([]int, len(strips))
	taps := make([]*Taps, len(strips))
	for i, s := range strips {
		base[i], skip[i], taps[i] = s.Chain(), s.Latency(), NewTaps(block)
	}
	buf := make([]float64, block)
	var total int64
	feed := func(in []float64, done int64) error {
		for i, s := range strips {
			s.Process(in, taps[i])
			cut := min(skip[i], len(in))
			skip[i] -= cut
			if cut == len(in) || o.Sink == nil {
				continue
			}
			t := taps[i].Slice(cut, len(in))
			if err := o.Sink(i, &t); err != nil {
				return err
			}
		}
		if o.Progress != nil {
			o.Progress(done)
		}
		return nil
	}
	for {
		if err := ctx.Err(); err != nil {
			return total, err
		}
		n, err := fill(src, buf)
		if n > 0 {
			if e := o.turn(strips, base, total); e != nil {
				return total, e
			}
			total += int64(n)
			if e := feed(buf[:n], total); e != nil {
				return total, e
			}
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return total, err
		}
	}
	// Silence pushes the last samples out.
	clear(buf)
	for left := strips[0].Latency(); left > 0; left -= block {
		if err := feed(buf[:min(left, block)], total); err != nil {
			return total, err
		}
	}
	return total, nil
}

// turn makes the settings of the block that begins at a frame.
func (o *RunOptions) turn(strips []*Strip, base []Chain, frame int64) error {
	if o.Turn != nil {
		if err := o.Turn(frame); err != nil {
			return err
		}
	}
	return moveTo(strips, base, o.Moves, frame)
}

// moveTo sets every strip's distance to what the moves make of it at a frame; base
// holds the chains that the strips started with.
func moveTo(strips []*Strip, base []Chain, moves []Move, frame int64) error {
	if len(moves) == 0 {
		return nil
	}
	for i, s := range strips {
		c := base[i]
		c.DistanceM = DistanceAt(moves, base[i].DistanceM, float64(frame)/float64(s.Rate()))
		if c == s.Chain() {
			continue
		}
		if err := s.Apply(c); err != nil {
			return err
		}
	}
	return nil
}

// fill reads until buf is full or the source ends.
func fill(src Source, buf []float64) (n int, err error) {
	for n < len(buf) && err == nil {
		var k int
		k, err = src.Read(buf[n:])
		n += k
		if k == 0 && err == nil {
			return n, io.ErrNoProgress
		}
	}
	return n, err
}

// DistanceAt returns where the talker is at t seconds, in metres from the
// microphone, having started at start; moves go in equal ratios, as levels do.
func DistanceAt(moves []Move, start, t float64) float64 {
	d := start
	for _, m := range moves {
		if t < m.AtS {
			break
		}
		if m.OverS <= 0 || t >= m.AtS+m.OverS {
			d = m.DistanceM
			continue
		}
		d *= math.Pow(m.DistanceM/d, (t-m.AtS)/m.OverS)
	}
	return d
}

// Samples is a Source over a slice.
type Samples struct {
	X   []float64
	pos int
}

// Read copies the next samples.
func (s *Samples) Read(dst []float64) (int, error) {
	n := copy(dst, s.X[s.pos:])
	s.pos += n
	if s.pos == len(s.X) {
		return n, io.EOF
	}
	return n, nil
}
