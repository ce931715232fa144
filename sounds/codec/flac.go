package codec

import (
	"bufio"
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"errors"
	"hash"
	"io"
	"log"
	"sync"

	"github.com/mewkiz/flac"
)

// FLAC is decoded by the library that beep's own FLAC decoder wraps, used
// directly: the wrapper panics on 12 and 20 bits, drops channels past the
// second, reads a seekable file byte by byte, and does not tell a file that
// ends early from one that ends. The stream is described in RFC 9639.
type flacDecoder struct {
	r     *input
	s     *flac.Stream
	bits  int
	total int64 // 0 if the stream does not say
	done  int64
	cur   [MostChannels][]int32
	lo    int
	n     int
	scale float64
	want  [md5.Size]byte
	sum   hash.Hash
	bytes []byte
}

func (r *input) openFLAC(at int64) (decoder, error) {
	quietFLAC()
	// The library makes room for whatever the first metadata block claims, so
	// the STREAMINFO block (RFC 9639, section 8.2) is read here first.
	if _, err := r.src.Seek(at, io.SeekStart); err != nil {
		return nil, err
	}
	var h [42]byte
	if _, err := io.ReadFull(r.src, h[:]); err != nil {
		return nil, faultf("ends inside its FLAC header")
	}
	if h[4]&0x7f != 0 || h[5] != 0 || h[6] != 0 || h[7] != 34 {
		return nil, faultf("is damaged: the FLAC header does not begin with the stream's description")
	}
	v := binary.BigEndian.Uint64(h[18:])
	rate := int(v >> 44)
	channels := int(v>>41&7) + 1
	bits := int(v>>36&31) + 1
	total := int64(v & (1<<36 - 1))
	if err := r.checkShape(channels, rate); err != nil {
		return nil, err
	}
	enc := map[int]Encoding{8: PCM8, 12: PCM12, 16: PCM16, 20: PCM20, 24: PCM24}[bits]
	if enc == EncodingUnknown {
		return nil, faultf("has %d-bit FLAC samples: 8, 12, 16, 20 and 24 bits are read", bits)
	}
	if _, err := r.src.Seek(at, io.SeekStart); err != nil {
		return nil, err
	}
	// Hiding Seek keeps the library from looking for a seek table.
	s, err := flac.New(bufio.NewReaderSize(struct{ io.Reader }{r.src}, 1<<16))
	if err != nil {
		return nil, faultf("is damaged: the FLAC header cannot be read")
	}
	d := &flacDecoder{r: r, s: s, bits: bits, total: total, scale: 1 / float64(int64(1)<<(bits-1))}
	copy(d.want[:], h[26:42])
	if d.want != [md5.Size]byte{} {
		d.sum = md5.New()
	}
	r.info = Info{Format: "flac", Encoding: enc, Rate: rate, Channels: channels, Frames: total}
	if total == 0 {
		r.info.Frames = -1
	}
	return d, nil
}

func (d *flacDecoder) read(dst [][]float64) (int, error) {
	for d.lo == d.n {
		if err := d.next(); err != nil {
			return 0, err
		}
	}
	n := min(len(dst[0]), d.n-d.lo)
	for ch, out := range dst {
		in := d.cur[ch][d.lo : d.lo+n]
		for i, c := range in {
			out[i] = float64(c) * d.scale
		}
	}
	d.lo += n
	return n, nil
}

// next decodes one FLAC frame.
func (d *flacDecoder) next() error {
	rate := d.r.info.Rate
	if d.total > 0 && d.done == d.total {
		return d.finish()
	}
	f, err := d.s.ParseNext()
	if err != nil {
		return d.ended(err)
	}
	if len(f.Subframes) != d.r.info.Channels {
		return d.fault("is damaged at %s: the number of channels changes", at(d.done, rate))
	}
	if f.BitsPerSample != 0 && int(f.BitsPerSample) != d.bits || f.SampleRate != 0 && int(f.SampleRate) != rate {
		return d.fault("is damaged at %s: the sample format changes", at(d.done, rate))
	}
	n := len(f.Subframes[0].Samples)
	for ch, s := range f.Subframes {
		if len(s.Samples) != n {
			return d.fault("is damaged at %s: a FLAC block cannot be decoded", at(d.done, rate))
		}
		d.cur[ch] = s.Samples
	}
	if d.total > 0 && int64(n) > d.total-d.done {
		n = int(d.total - d.done)
	}
	d.hash(n)
	d.lo, d.n = 0, n
	d.done += int64(n)
	return nil
}

// ended is what it means that there is no further block.
func (d *flacDecoder) ended(err error) error {
	rate := d.r.info.Rate
	switch {
	case err != io.EOF && !errors.Is(err, io.ErrUnexpectedEOF):
		return d.fault("is damaged at %s: a FLAC block cannot be decoded", at(d.done, rate))
	case d.total > 0:
		return d.fault("the data ends at %s of the %s that the header promises", at(d.done, rate), at(d.total, rate))
	case err != io.EOF:
		return d.fault("the data ends inside a block, at %s", at(d.done, rate))
	case d.done == 0:
		return faultf("holds no samples")
	}
	return d.finish()
}

// fault is an error, or in lenient mode the end.
func (d *flacDecoder) fault(format string, args ...any) error {
	if d.r.opt.Lenient {
		d.r.warn(format, args...)
		return io.EOF
	}
	return faultf(format, args...)
}

// hash adds frames to the checksum of RFC 9639, section 8.2: samples
// interleaved, little-endian, in whole bytes.
func (d *flacDecoder) hash(n int) {
	if d.sum == nil {
		return
	}
	size := (d.bits + 7) / 8
	ch := d.r.info.Channels
	if need := n * ch * size; cap(d.bytes) < need {
		d.bytes = make([]byte, need)
	}
	b := d.bytes[:n*ch*size]
	for c := range ch {
		in := d.cur[c][:n]
		k := c * size
		step := ch * size
		switch size {
		case 1:
			for _, v := range in {
				b[k] = byte(v)
				k += step
			}
		case 2:
			for _, v := range in {
				b[k], b[k+1] = byte(v), byte(v>>8)
				k += step
			}
		default:
			for _, v := range in {
				b[k], b[k+1], b[k+2] = byte(v), byte(v>>8), byte(v>>16)
				k += step
			}
		}
	}
	d.sum.Write(b)
}

// finish compares the checksum. It catches what the blocks' own checksums
// cannot: a decoder that went wrong.
func (d *flacDecoder) finish() error {
	if d.sum != nil {
		var got [md5.Size]byte
		d.sum.Sum(got[:0])
		d.sum = nil
		if got != d.want {
			if !d.r.opt.Lenient {
				return faultf("the decoded sound does not match the file's own checksum")
			}
			d.r.warn("the decoded sound does not match the file's own checksum")
		}
	}
	return io.EOF
}

// quietFLAC keeps a remark out of the log that the library writes for every
// block at sample rates and sizes it has no test files of. Everything else that
// is logged passes.
var quietFLAC = sync.OnceFunc(func() { log.SetOutput(flacChatter{log.Writer()}) })

type flacChatter struct{ w io.Writer }

func (f flacChatter) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte("The flac library test cases do not yet include")) {
		return len(p), nil
	}
	return f.w.Write(p)
}
