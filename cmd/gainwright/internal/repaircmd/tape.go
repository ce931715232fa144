package repaircmd

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"gainwright/sounds"
)

// tapeInMemory is how many samples a tape holds in memory before it goes to a
// temporary file: 16 MB.
var tapeInMemory = int64(1 << 21)

const tapeBlock = 1 << 14 // frames

// A tape holds a take between two treatments, so that memory does not grow with
// its length.
type tape struct {
	channels int
	frames   int64
	mem      [][]float64
	file     *sounds.Temp
	raw      []byte
}

func newTape(channels int) *tape {
	return &tape{channels: channels, mem: make([][]float64, channels)}
}

// close forgets it and its temporary file.
func (t *tape) close() {
	if t.file != nil {
		t.file.Close()
		t.file = nil
	}
	t.mem = nil
}

// write appends n frames.
func (t *tape) write(x [][]float64, n int) error {
	if t.file == nil && (t.frames+int64(n))*int64(t.channels) > tapeInMemory {
		f, err := sounds.TempFile("tape")
		if err != nil {
			return &sounds.OutputError{Msg: "a temporary file cannot be made: " + err.Error(), Err: err}
		}
		held := t.mem
		t.mem, t.file = nil, f
		if err := t.put(held, int(t.frames), 0); err != nil {
			return err
		}
	}
	if t.file == nil {
		for c := range t.mem {
			t.mem[c] = append(t.mem[c], x[c][:n]...)
		}
	} else if err := t.put(x, n, t.frames); err != nil {
		return err
	}
	t.frames += int64(n)
	return nil
}

func (t *tape) put(x [][]float64, n int, at int64) error {
	for from := 0; from < n; from += tapeBlock {
		k := min(tapeBlock, n-from)
		raw := t.buffer(k)
		p := 0
		for i := from; i < from+k; i++ {
			for c := range x {
				binary.LittleEndian.PutUint64(raw[p:], math.Float64bits(x[c][i]))
				p += 8
			}
		}
		if _, err := t.file.WriteAt(raw, (at+int64(from))*int64(8*t.channels)); err != nil {
			return &sounds.OutputError{Path: t.file.Name(), Msg: "a temporary file cannot be written: " + err.Error(), Err: err}
		}
	}
	return nil
}

func (t *tape) buffer(frames int) []byte {
	n := 8 * t.channels * frames
	if cap(t.raw) < n {
		t.raw = make([]byte, n)
	}
	return t.raw[:n]
}

// read returns the frames [from, to), as far as there are any, in dst if they fit.
func (t *tape) read(dst [][]float64, from, to int64) ([][]float64, error) {
	from = max(from, 0)
	n := int(max(0, min(to, t.frames)-from))
	if len(dst) != t.channels || cap(dst[0]) < n {
		dst = sounds.NewBlock(t.channels, n)
	}
	for c := range dst {
		dst[c] = dst[c][:n]
	}
	if t.file == nil {
		for c := range dst {
			if n > 0 {
				copy(dst[c], t.mem[c][from:])
			}
		}
		return dst, nil
	}
	for at := 0; at < n; at += tapeBlock {
		k := min(tapeBlock, n-at)
		raw := t.buffer(k)
		if _, err := t.file.ReadAt(raw, (from+int64(at))*int64(8*t.channels)); err != nil && !errors.Is(err, io.EOF) {
			return nil, err
		}
		p := 0
		for i := at; i < at+k; i++ {
			for c := range dst {
				dst[c][i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[p:]))
				p += 8
			}
		}
	}
	return dst, nil
}

// each gives it block by block; what is done to the block stays there.
func (t *tape) each(ctx context.Context, tell func(float64), do func(x [][]float64, at int64) error) error {
	var x [][]float64
	for at := int64(0); at < t.frames; at += tapeBlock {
		if err := ctx.Err(); err != nil {
			return err
		}
		var err error
		if x, err = t.read(x, at, at+tapeBlock); err != nil {
			return err
		}
		if err := do(x, at); err != nil {
			return err
		}
		if tell != nil {
			tell(min(1, float64(at+tapeBlock)/float64(t.frames)))
		}
	}
	return nil
}

// load puts a whole file on a tape.
func load(ctx context.Context, r *sounds.Reader, tell func(float64)) (_ *tape, err error) {
	info := r.Info()
	t := newTape(info.Channels)
	defer func() {
		if err != nil {
			t.close()
		}
	}()
	buf := sounds.NewBlock(info.Channels, tapeBlock)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := r.Read(buf)
		for c := range buf {
			for i, v := range buf[c][:n] {
				if !(math.Abs(v) < math.MaxFloat32) {
					buf[c][i] = 0
				}
			}
		}
		if e := t.write(buf, n); e != nil {
			return nil, e
		}
		if info.Frames > 0 {
			tell(float64(t.frames) / float64(info.Frames))
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	if t.frames == 0 {
		return nil, &sounds.InputError{Path: r.Name(), Msg: "holds no samples"}
	}
	return t, nil
}
