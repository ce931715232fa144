package sounds

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"sync/atomic"

	"gainwright/sounds/codec"
)

// A Source gives planar blocks: it fills dst[ch][:n] and returns n. At the end
// it returns 0, io.EOF. An error may come with n > 0 good frames before it.
type Source interface {
	Read(dst [][]float64) (n int, err error)
}

// An Option changes how a file is opened.
type Option func(*codec.Options)

// Lenient reads what is there: data that ends early just ends, values that are
// not finite read as 0, a wrong checksum is let pass. Warnings tells what was
// let pass.
func Lenient() Option { return func(o *codec.Options) { o.Lenient = true } }

// MaxChannels sets how many channels a file may have, up to MostChannels.
// Without it a file of more than two is refused: the chain carries one voice.
func MaxChannels(n int) Option {
	return func(o *codec.Options) { o.MaxChannels = min(max(n, 1), codec.MostChannels) }
}

// A Reader reads one audio file in blocks. It is not safe for use by several
// goroutines at once.
type Reader struct {
	in   *codec.File
	name string
	file io.Closer // or nil
	once bool
	err  error
}

// Open opens the audio file at path. The format is decided by what the file
// begins with, not by its name. "-" is the standard input. All errors are
// *InputError, but for *OutputError where a pipe cannot be kept.
func Open(path string, opt ...Option) (*Reader, error) {
	return OpenContext(context.Background(), path, opt...)
}

// OpenContext is Open, and stops waiting for a pipe, a terminal or the standard input
// when ctx ends: then the error is its own. What cannot be read twice is first read
// to its end into a temporary file, since formats keep their length at either end.
func OpenContext(ctx context.Context, path string, opt ...Option) (*Reader, error) {
	if path == "-" {
		if stdinTaken.Swap(true) {
			return nil, &InputError{Path: StdinName, Msg: "was read already: one recording can come from it"}
		}
		return keep(ctx, StdinName, func() (*os.File, error) { return os.Stdin, nil }, opt)
	}
	bad := func(err error) error {
		return &InputError{Path: path, Msg: "cannot be opened: " + plain(err), Err: err}
	}
	st, err := os.Stat(path) // opening a pipe would wait for who writes
	if err != nil {
		return nil, bad(err)
	}
	if st.IsDir() {
		return nil, &InputError{Path: path, Msg: "is a directory, not an audio file"}
	}
	if !st.Mode().IsRegular() {
		return keep(ctx, path, func() (*os.File, error) { return os.Open(path) }, opt)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, bad(err)
	}
	r, err := open(path, f, st.Size(), opt)
	if err != nil {
		f.Close()
		return nil, err
	}
	r.file = f
	return r, nil
}

// StdinName is how messages call the standard input.
const StdinName = "standard input"

var stdinTaken atomic.Bool

// keep opens what can be read only once.
func keep(ctx context.Context, name string, from func() (*os.File, error), opt []Option) (*Reader, error) {
	type kept struct {
		f    *Temp
		size int64
		err  error
	}
	done := make(chan kept, 1)
	go func() {
		in, err := from()
		if err != nil {
			done <- kept{err: &InputError{Path: name, Msg: "cannot be opened: " + plain(err), Err: err}}
			return
		}
		if in != os.Stdin {
			defer in.Close()
		}
		tmp, err := TempFile("pipe")
		if err != nil {
			done <- kept{err: &OutputError{Path: name, Msg: "a temporary file for it cannot be written: " + plain(err), Err: err}}
			return
		}
		k := kept{f: tmp}
		w := &noted{w: tmp}
		if k.size, err = io.Copy(w, &heeding{ctx, in}); err != nil {
			if k.err = ctx.Err(); k.err == nil && w.err != nil {
				k.err = &OutputError{Path: name, Msg: "a temporary file for it cannot be written: " + plain(err), Err: err}
			} else if k.err == nil {
				k.err = &InputError{Path: name, Msg: "cannot be read: " + plain(err), Err: err}
			}
			tmp.Close()
		}
		done <- k
	}()
	select {
	case k := <-done:
		if k.err != nil {
			return nil, k.err
		}
		r, err := open(name, k.f, k.size, opt)
		if err != nil {
			k.f.Close()
			return nil, err
		}
		r.file, r.once = k.f, true
		return r, nil
	case <-ctx.Done():
		go func() { // when, and if, the pipe gives something
			if k := <-done; k.err == nil {
				k.f.Close()
			}
		}()
		return nil, ctx.Err()
	}
}

// heeding stops between two reads.
type heeding struct {
	ctx context.Context
	r   io.Reader
}

func (h *heeding) Read(b []byte) (int, error) {
	if err := h.ctx.Err(); err != nil {
		return 0, err
	}
	return h.r.Read(b)
}

// noted remembers whose fault it was.
type noted struct {
	w   io.Writer
	err error
}

func (n *noted) Write(b []byte) (int, error) {
	k, err := n.w.Write(b)
	n.err = err
	return k, err
}

// OpenBytes opens an audio file that is already in memory, such as one dropped
// on the page. name is used in messages only. data must not change while the
// Reader is in use.
func OpenBytes(name string, data []byte, opt ...Option) (*Reader, error) {
	return open(name, bytes.NewReader(data), int64(len(data)), opt)
}

// OpenAt opens an audio file of size bytes that is read piece by piece where it lies,
// such as one that a page was given: a few kilobytes of it are held at a time. name is
// used in messages only. src must not change while the Reader is in use.
func OpenAt(name string, src io.ReaderAt, size int64, opt ...Option) (*Reader, error) {
	return open(name, io.NewSectionReader(src, 0, size), size, opt)
}

func open(name string, src io.ReadSeeker, size int64, opt []Option) (*Reader, error) {
	o := codec.Options{MaxChannels: 2}
	for _, set := range opt {
		set(&o)
	}
	in, err := codec.Open(name, src, size, o)
	if err != nil {
		return nil, named(name, err)
	}
	return &Reader{in: in, name: name}, nil
}

// Info describes the file.
func (r *Reader) Info() codec.Info { return r.in.Info() }

// Name is the path or name the file was opened under.
func (r *Reader) Name() string { return r.name }

// Once tells whether what was opened cannot be opened again by its name: then Rewind
// is the only way back.
func (r *Reader) Once() bool { return r.once }

// Position is the number of frames read so far.
func (r *Reader) Position() int64 { return r.in.Position() }

// Warnings are the faults that Lenient let pass, and harmless oddities, one
// lower-case line each. They may grow while reading.
func (r *Reader) Warnings() []string { return r.in.Warnings() }

// Read fills dst, one slice a channel, with up to the length of the shortest
// of them, and returns the number of frames. It returns 0, io.EOF at the end.
// If the file is damaged, the frames before the damage come first, then an
// *InputError that says where it is. Read panics if len(dst) is not the number
// of channels.
func (r *Reader) Read(dst [][]float64) (int, error) {
	if len(dst) != r.in.Info().Channels {
		panic(fmt.Sprintf("sounds: Read: %d slices for %d channels", len(dst), r.in.Info().Channels))
	}
	if r.err != nil {
		return 0, r.err
	}
	n, err := r.in.Read(dst)
	if err != nil {
		r.err = err
		if err != io.EOF {
			r.err = r.named(err)
		}
		if n > 0 {
			return n, nil
		}
		return 0, r.err
	}
	return n, nil
}

// Skip passes over frames: at once where the format allows it, else by decoding
// them. goOn is asked now and then, and its error ends the skipping; it may be nil.
// At the end of the file it returns io.EOF.
func (r *Reader) Skip(frames int64, goOn func() error) error {
	if r.err != nil || frames <= 0 {
		return r.err
	}
	pos, end := r.in.Position(), r.in.Info().Frames
	to := pos + frames
	if end >= 0 {
		to = min(to, end)
	}
	if ok, err := r.in.SkipTo(to); err != nil {
		r.err = r.named(err)
		return r.err
	} else if ok {
		if to < pos+frames {
			r.err = io.EOF
		}
		return r.err
	}
	block := NewBlock(r.in.Info().Channels, 4096)
	for frames > 0 {
		for ch := range block {
			block[ch] = block[ch][:min(4096, frames)]
		}
		n, err := r.Read(block)
		frames -= int64(n)
		if err != nil {
			return err
		}
		if goOn != nil {
			if err := goOn(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r *Reader) named(err error) error { return named(r.name, err) }

// named puts the name of the file before what is wrong with it.
func named(name string, err error) error {
	var fault codec.Fault
	if errors.As(err, &fault) {
		return &InputError{Path: name, Msg: string(fault)}
	}
	var in *InputError
	if errors.As(err, &in) {
		c := *in
		if c.Path == "" {
			c.Path = name
		}
		return &c
	}
	return &InputError{Path: name, Msg: "cannot be read: " + plain(err), Err: err}
}

// Rewind goes back to the first frame, for a second pass.
func (r *Reader) Rewind() error {
	r.err = nil
	if err := r.in.Rewind(); err != nil {
		r.err = r.named(err)
		return r.err
	}
	return nil
}

// Close releases the file. Reading after it fails.
func (r *Reader) Close() error {
	r.err = &InputError{Path: r.name, Msg: "is closed"}
	if r.file == nil {
		return nil
	}
	f := r.file
	r.file = nil
	return f.Close()
}

// ReadAll reads the rest of the file: one slice a channel. Memory grows with
// what is read, never with what a header promises.
func (r *Reader) ReadAll() ([][]float64, error) { return ReadAll(r, r.in.Info().Channels) }

// ReadAll reads src, which has the given number of channels, to its end.
func ReadAll(src Source, channels int) ([][]float64, error) {
	out := make([][]float64, channels)
	buf := NewBlock(channels, 8192)
	for {
		n, err := src.Read(buf)
		for ch := range out {
			out[ch] = append(out[ch], buf[ch][:n]...)
		}
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// NewBlock makes a planar block of the given number of channels and frames.
func NewBlock(channels, frames int) [][]float64 {
	all := make([]float64, channels*frames)
	b := make([][]float64, channels)
	for ch := range b {
		b[ch] = all[ch*frames : (ch+1)*frames : (ch+1)*frames]
	}
	return b
}

// Mono turns a source of the given number of channels into one channel:
// channel number pick (from 0), or the mean of all if pick is negative. The
// result reads into dst[0].
func Mono(src Source, channels, pick int) Source {
	if channels == 1 {
		return src
	}
	if pick >= channels {
		panic(fmt.Sprintf("sounds: Mono: channel %d of %d", pick, channels))
	}
	return &monoSource{src: src, pick: pick, buf: NewBlock(channels, 4096), view: make([][]float64, channels)}
}

type monoSource struct {
	src  Source
	pick int
	buf  [][]float64
	view [][]float64
}

func (m *monoSource) Read(dst [][]float64) (int, error) {
	want := min(len(dst[0]), len(m.buf[0]))
	for ch := range m.view {
		m.view[ch] = m.buf[ch][:want]
	}
	n, err := m.src.Read(m.view)
	if m.pick >= 0 {
		copy(dst[0], m.buf[m.pick][:n])
		return n, err
	}
	k := 1 / float64(len(m.buf))
	for i := range dst[0][:n] {
		s := 0.0
		for _, b := range m.buf {
			s += b[i]
		}
		dst[0][i] = s * k
	}
	return n, err
}
