package metercmd

import (
	"context"
	"fmt"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/identify"
	"gainwright/sounds"
)

// A Channel is one channel of a file, read in a stream: an identify.Recording.
type Channel struct {
	ctx    context.Context
	r      *sounds.Reader
	which  int
	w      *cli.Watch
	buf    [][]float64
	Path   string
	Format identify.Format
}

// OpenChannel opens a file for one of its channels, from 0.
func OpenChannel(ctx context.Context, path string, which int, w *cli.Watch) (*Channel, error) {
	r, err := sounds.OpenContext(ctx, path)
	if err != nil {
		return nil, err
	}
	info := r.Info()
	c := &Channel{ctx: ctx, r: r, which: which, w: w, Path: path}
	c.Format.Rate = info.Rate
	c.Format.Full, c.Format.Step = info.FullScale()
	return c, nil
}

// Channels is how many the file has.
func (c *Channel) Channels() int { return c.r.Info().Channels }

// Which is the channel that is read, from 0.
func (c *Channel) Which() int { return c.which }

// Take chooses another channel.
func (c *Channel) Take(which int) { c.which = which }

// Close closes the file.
func (c *Channel) Close() error { return c.r.Close() }

// Rewind goes back to the start.
func (c *Channel) Rewind() error { return c.r.Rewind() }

// Read reads on.
func (c *Channel) Read(dst []float64) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	if len(c.buf) == 0 || len(c.buf[0]) < len(dst) {
		c.buf = sounds.NewBlock(c.Channels(), len(dst))
	}
	part := make([][]float64, len(c.buf))
	for i := range part {
		part[i] = c.buf[i][:len(dst)]
	}
	part[c.which] = dst
	n, err := c.r.Read(part)
	if f := c.r.Info().Frames; f > 0 {
		c.w.At(float64(c.r.Position()) / float64(f))
	}
	return n, err
}

// Survey looks at the channel alone; what is wrong with it names the file.
func (c *Channel) Survey() (*identify.Survey, error) {
	c.w.Begin("looking at " + c.Path)
	s, err := identify.Look(c, c.Format)
	if identify.AsFault(err) {
		name := ""
		if c.Channels() > 1 {
			name = fmt.Sprintf("channel %d ", c.which+1)
		}
		return nil, &sounds.InputError{Path: c.Path, Msg: name + err.Error(), Err: err}
	}
	return s, err
}

// Louder surveys every channel of a file and takes the one with the higher peak.
func (c *Channel) Louder() (*identify.Survey, error) {
	var best *identify.Survey
	var fault error
	at := 0
	for i := range c.Channels() {
		c.Take(i)
		s, err := c.Survey()
		if err != nil {
			if !identify.AsFault(err) {
				return nil, err
			}
			fault = err
			continue
		}
		if best == nil || s.Peak() > best.Peak() {
			best, at = s, i
		}
	}
	c.Take(at)
	if best == nil {
		return nil, fault
	}
	return best, nil
}
