package codec

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// maxWAVBytes is what the 32-bit sizes of a WAV file can name.
const maxWAVBytes = math.MaxUint32

// A WAVWriter writes planar blocks as one WAV file. Close completes the header;
// without it the file reads as a stream of unknown length.
//
// Integer encodings round to the nearest code and hold values at full scale,
// counting them. Dither is not added here: it belongs to the converter.
type WAVWriter struct {
	w       io.WriteSeeker
	rate    int
	ch      int
	enc     Encoding
	sample  int
	frames  int64
	clamped int64
	max     int64 // bytes of data at most
	head    []byte
	sizeAt  int64 // offset of the data chunk's size
	factAt  int64 // offset of the fact chunk's count, or 0
	buf     []byte
	err     error
	closed  bool
}

// NewWAVWriter begins a WAV file on w: PCM16, PCM24, PCM32 or Float32, rate in
// Hz. The extensible form of the header is used where the format calls for it:
// more than 16 bits of integer, or more than two channels.
func NewWAVWriter(w io.WriteSeeker, rate, channels int, enc Encoding) (*WAVWriter, error) {
	if channels < 1 || channels > MostChannels {
		return nil, fmt.Errorf("a WAV file of %d channels is not written: 1 to %d are", channels, MostChannels)
	}
	if rate < 1 || rate > 4_000_000 {
		return nil, fmt.Errorf("a sample rate of %d Hz is not written", rate)
	}
	z := &WAVWriter{w: w, rate: rate, ch: channels, enc: enc}
	tag := uint16(tagPCM)
	switch enc {
	case PCM16:
		z.sample = 2
	case PCM24:
		z.sample = 3
	case PCM32:
		z.sample = 4
	case Float32:
		z.sample, tag = 4, tagFloat
	default:
		return nil, fmt.Errorf("%v is not written to WAV: pcm16, pcm24, pcm32 and float32 are", enc)
	}
	align := z.sample * channels
	extensible := channels > 2 || tag == tagPCM && z.sample > 2
	le := binary.LittleEndian
	b := append([]byte(nil), "RIFF\xff\xff\xff\xffWAVEfmt "...)
	fmtTag, fmtLen := tag, uint32(16)
	switch {
	case extensible:
		fmtTag, fmtLen = tagExtensible, 40
	case tag != tagPCM:
		fmtLen = 18
	}
	b = le.AppendUint32(b, fmtLen)
	b = le.AppendUint16(b, fmtTag)
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*align))
	b = le.AppendUint16(b, uint16(align))
	b = le.AppendUint16(b, uint16(z.sample*8))
	switch {
	case extensible:
		b = le.AppendUint16(b, 22)
		b = le.AppendUint16(b, uint16(z.sample*8))
		b = le.AppendUint32(b, channelMask(channels))
		b = le.AppendUint16(b, tag)
		b = append(b, guidTail[:]...)
	case tag != tagPCM:
		b = le.AppendUint16(b, 0)
	}
	if tag != tagPCM {
		b = append(b, "fact\x04\x00\x00\x00"...)
		z.factAt = int64(len(b))
		b = append(b, 0, 0, 0, 0)
	}
	b = append(b, "data"...)
	z.sizeAt = int64(len(b))
	b = append(b, 0xff, 0xff, 0xff, 0xff)
	z.head = b
	z.max = maxWAVBytes - int64(len(b)) - 1
	z.buf = make([]byte, max(1, 32768/align)*align)
	if _, err := w.Write(b); err != nil {
		return nil, err
	}
	return z, nil
}

// channelMask names the loudspeakers: the front centre for one channel, the
// first n of the list in WAVEFORMATEXTENSIBLE otherwise.
func channelMask(n int) uint32 {
	if n == 1 {
		return 0x4
	}
	return 1<<n - 1
}

// Write appends one block, planar, all channels of equal length.
func (z *WAVWriter) Write(planar [][]float64) error {
	if len(planar) != z.ch {
		panic(fmt.Sprintf("codec: WAVWriter.Write: %d slices for %d channels", len(planar), z.ch))
	}
	n := len(planar[0])
	for _, p := range planar[1:] {
		if len(p) != n {
			panic("codec: WAVWriter.Write: channels of unequal length")
		}
	}
	if z.closed {
		return fmt.Errorf("the WAV file is already closed")
	}
	if z.err != nil {
		return z.err
	}
	align := z.sample * z.ch
	if (z.frames+int64(n))*int64(align) > z.max {
		z.err = fmt.Errorf("a WAV file holds at most 4 GiB: %s at %d Hz, %d channels, %v is too long, write it in parts",
			at(z.frames+int64(n), z.rate), z.rate, z.ch, z.enc)
		return z.err
	}
	for i := 0; i < n; {
		m := min(n-i, len(z.buf)/align)
		for ch, p := range planar {
			z.encode(z.buf[ch*z.sample:], align, p[i:i+m])
		}
		if _, err := z.w.Write(z.buf[:m*align]); err != nil {
			z.err = err
			return err
		}
		i += m
		z.frames += int64(m)
	}
	return nil
}

// code rounds v to an integer code of the given full scale.
func (z *WAVWriter) code(v, full float64) int64 {
	c := math.RoundToEven(v * full)
	if c > full-1 {
		z.clamped++
		return int64(full - 1)
	}
	if c < -full {
		z.clamped++
		return int64(-full)
	}
	if c != c {
		z.clamped++
		return 0
	}
	return int64(c)
}

func (z *WAVWriter) encode(b []byte, step int, x []float64) {
	switch z.enc {
	case PCM16:
		for i, v := range x {
			c := z.code(v, 1<<15)
			q := b[i*step : i*step+2]
			q[0], q[1] = byte(c), byte(c>>8)
		}
	case PCM24:
		for i, v := range x {
			c := z.code(v, 1<<23)
			q := b[i*step : i*step+3]
			q[0], q[1], q[2] = byte(c), byte(c>>8), byte(c>>16)
		}
	case PCM32:
		for i, v := range x {
			binary.LittleEndian.PutUint32(b[i*step:], uint32(z.code(v, 1<<31)))
		}
	case Float32:
		for i, v := range x {
			binary.LittleEndian.PutUint32(b[i*step:], math.Float32bits(float32(v)))
		}
	}
}

// Frames is the number of frames written so far.
func (z *WAVWriter) Frames() int64 { return z.frames }

// Clamped is the number of samples that lay beyond the integer codes and were
// held at full scale (a value that is not a number is written as 0 and counts
// too).
func (z *WAVWriter) Clamped() int64 { return z.clamped }

// Close pads the data and completes the sizes in the header. It does not close
// the underlying writer. It returns the first error of any Write.
func (z *WAVWriter) Close() error {
	if z.closed {
		return z.err
	}
	z.closed = true
	if z.err != nil {
		return z.err
	}
	data := z.frames * int64(z.sample*z.ch)
	total := int64(len(z.head)) - 8 + data
	if data%2 == 1 {
		total++
		if _, z.err = z.w.Write([]byte{0}); z.err != nil {
			return z.err
		}
	}
	le := binary.LittleEndian
	le.PutUint32(z.head[4:], uint32(total))
	le.PutUint32(z.head[z.sizeAt:], uint32(data))
	if z.factAt > 0 {
		le.PutUint32(z.head[z.factAt:], uint32(z.frames))
	}
	if _, z.err = z.w.Seek(0, io.SeekStart); z.err != nil {
		return z.err
	}
	if _, z.err = z.w.Write(z.head); z.err != nil {
		return z.err
	}
	_, z.err = z.w.Seek(0, io.SeekEnd)
	return z.err
}

// WriteWAV writes whole channels as one WAV file on w and returns the number of
// samples that were held at full scale.
func WriteWAV(w io.WriteSeeker, rate int, planar [][]float64, enc Encoding) (clamped int64, err error) {
	z, err := NewWAVWriter(w, rate, len(planar), enc)
	if err != nil {
		return 0, err
	}
	if err := z.Write(planar); err != nil {
		return z.clamped, err
	}
	return z.clamped, z.Close()
}

// WAVBytes is WriteWAV into memory, for a download or a player in the page.
func WAVBytes(rate int, planar [][]float64, enc Encoding) ([]byte, error) {
	var m memFile
	if _, err := WriteWAV(&m, rate, planar, enc); err != nil {
		return nil, err
	}
	return m.b, nil
}

// memFile is an io.WriteSeeker in memory.
type memFile struct {
	b   []byte
	pos int
}

func (m *memFile) Write(p []byte) (int, error) {
	if m.pos == len(m.b) {
		m.b = append(m.b, p...)
	} else {
		n := copy(m.b[m.pos:], p)
		m.b = append(m.b, p[n:]...)
	}
	m.pos += len(p)
	return len(p), nil
}

func (m *memFile) Seek(off int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		off += int64(m.pos)
	case io.SeekEnd:
		off += int64(len(m.b))
	}
	if off < 0 || off > int64(len(m.b)) {
		return 0, fmt.Errorf("seek to %d of %d bytes", off, len(m.b))
	}
	m.pos = int(off)
	return off, nil
}
