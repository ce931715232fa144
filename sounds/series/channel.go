package series

import (
	"context"
	"fmt"
	"io"
	"os"

	"gainwright/sim/identify"
	"gainwright/sounds"
)

// A File is a recording that can be opened several times.
type File struct {
	Name string // as messages call it
	// Open opens it to be read as sound, Raw as the bytes that it has.
	Open func(ctx context.Context) (*sounds.Reader, error)
	Raw  func() (io.ReadCloser, error)
}

// Path is the file at a path.
func Path(path string) File {
	return File{path, func(ctx context.Context) (*sounds.Reader, error) { return sounds.OpenContext(ctx, path) },
		func() (io.ReadCloser, error) { return os.Open(path) }}
}

// A Progress hears what is being done, and the share of it that is done, 0 to 1.
type Progress interface {
	Begin(step string)
	At(share float64)
}

// A Channel is one channel of a file, read in a stream: an identify.Recording.
type Channel struct {
	ctx    context.Context
	r      *sounds.Reader
	which  int
	p      Progress
	buf    [][]float64
	Name   string
	Format identify.Format
}

// OpenChannel opens a file for one of its channels, from 0. Reading ends with ctx's error
// when that ends.
func OpenChannel(ctx context.Context, f File, which int, p Progress) (*Channel, error) {
	r, err := f.Open(ctx)
	if err != nil {
		return nil, err
	}
	info := r.Info()
	c := &Channel{ctx: ctx, r: r, which: which, p: p, Name: f.Name}
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

// Pace is where long work on what was read may wait, or ends: an identify.Pacer.
func (c *Channel) Pace() error { return c.ctx.Err() }

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
		c.p.At(float64(c.r.Position()) / float64(f))
	}
	return n, err
}

// Survey looks at the channel alone; what is wrong with it names the file.
func (c *Channel) Survey() (*identify.Survey, error) {
	c.p.Begin("looking at " + c.Name)
	s, err := identify.Look(c, c.Format)
	if identify.AsFault(err) {
		name := ""
		if c.Channels() > 1 {
			name = fmt.Sprintf("channel %d ", c.which+1)
		}
		return nil, &sounds.InputError{Path: c.Name, Msg: name + err.Error(), Err: err}
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
