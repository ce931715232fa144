package codec

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// WAV as described in "Multimedia Programming Interface and Data
// Specifications 1.0" (IBM, Microsoft, 1991), the WAVEFORMATEXTENSIBLE
// structure of the Windows SDK, and, for RF64 and its ds64 chunk, EBU Tech 3306
// and ITU-R BS.2088.
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE
)

// guidTail is what follows the two bytes of the format tag in the GUID of a
// WAVEFORMATEXTENSIBLE sub-format.
var guidTail = [14]byte{0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71}

// streamedSize and above, a data size is not a promise but what writers put
// there that could not go back and patch the header.
const streamedSize = 0x7FFF0000

type wavDecoder struct {
	r          *input
	frameBytes int
	sample     int // bytes a sample
	float      bool
	left       int64 // frames still to come
	total      int64
	promised   int64 // frames the header promised; more than total if data is missing
	buf        []byte
}

func (r *input) openWAV() (decoder, error) {
	var h [12]byte
	if _, err := io.ReadFull(r.src, h[:]); err != nil {
		return nil, faultf("ends inside its WAV header")
	}
	w := wavHeader{r: r, pos: 12, data64: -1}
	for w.dataPos == 0 {
		if err := w.chunk(); err != nil {
			return nil, err
		}
	}
	if err := w.measure(); err != nil {
		return nil, err
	}
	r.info.Format = "wav"
	r.info.Frames = w.d.total
	if _, err := r.src.Seek(w.dataPos, io.SeekStart); err != nil {
		return nil, err
	}
	return w.d, nil
}

// wavHeader goes through the chunks before the sound.
type wavHeader struct {
	r       *input
	pos     int64       // in the file
	d       *wavDecoder // nil before the format
	data64  int64       // length of the sound by a ds64 chunk, or −1
	dataPos int64       // where the sound begins, 0 before that is known
	dataLen int64       // bytes, as its chunk says
}

// chunk reads one chunk, of the sound only its head.
func (w *wavHeader) chunk() error {
	var c [8]byte
	n, err := io.ReadFull(w.r.src, c[:])
	if err != nil {
		switch {
		case n == 0 && w.d == nil:
			return faultf("ends inside its WAV header, before the format")
		case n == 0 || err == io.ErrUnexpectedEOF:
			return faultf("is a WAV file without sound data")
		}
		return err
	}
	w.pos += 8
	size := int64(binary.LittleEndian.Uint32(c[4:]))
	switch string(c[:4]) {
	case "fmt ":
		err = w.format(size)
	case "ds64":
		err = w.ds64(size)
	case "data":
		if w.d == nil {
			return faultf("has sound data before any format")
		}
		w.dataPos, w.dataLen = w.pos, size
		return nil
	default:
		err = w.other(c[:4], size)
	}
	if err != nil || size%2 == 0 {
		return err
	}
	return w.pad()
}

// pad passes over the byte after a chunk of odd length.
func (w *wavHeader) pad() error {
	// A chunk is padded to an even length, but some writers forget.
	var p [5]byte
	n, _ := io.ReadFull(w.r.src, p[:])
	if !(n == 5 && p[0] != 0 && printableID(p[:4]) && !printableID(p[1:])) {
		w.pos++
	}
	_, err := w.r.src.Seek(w.pos, io.SeekStart)
	return err
}

func (w *wavHeader) format(size int64) error {
	if size < 16 || size > 4096 {
		return faultf("has a WAV format chunk of %d bytes", size)
	}
	b := make([]byte, size)
	if _, err := io.ReadFull(w.r.src, b); err != nil {
		return faultf("ends inside its WAV header")
	}
	d, err := w.r.parseWAVFormat(b)
	if err != nil {
		return err
	}
	w.d = d
	w.pos += size
	return nil
}

// ds64 reads the length of a sound beyond 4 GiB.
func (w *wavHeader) ds64(size int64) error {
	if size < 24 || size > 1<<20 {
		return faultf("has a ds64 chunk of %d bytes", size)
	}
	b := make([]byte, 24)
	if _, err := io.ReadFull(w.r.src, b); err != nil {
		return faultf("ends inside its WAV header")
	}
	if v := binary.LittleEndian.Uint64(b[8:]); v <= math.MaxInt64 {
		w.data64 = int64(v)
	}
	w.pos += size
	_, err := w.r.src.Seek(w.pos, io.SeekStart)
	return err
}

// other passes over a chunk that is not needed.
func (w *wavHeader) other(id []byte, size int64) error {
	if !printableID(id) {
		return faultf("is damaged: byte %d of the WAV header is not the start of a chunk", w.pos-8)
	}
	w.pos += size
	if w.pos > w.r.size {
		return faultf("is a WAV file without sound data")
	}
	_, err := w.r.src.Seek(w.pos, io.SeekStart)
	return err
}

// measure settles how many frames there are, between what the header says and what
// the file holds.
func (w *wavHeader) measure() error {
	r, d := w.r, w.d
	have := r.size - w.dataPos
	fb := int64(d.frameBytes)
	switch {
	case w.dataLen == 0xFFFFFFFF && w.data64 >= 0:
		w.dataLen = w.data64
	case w.dataLen == 0 && have > 0 && !r.chunkFollows(w.dataPos):
		// A recorder that lost power, or a stream: the size was never filled in.
		w.dataLen = have
	case w.dataLen >= streamedSize && w.dataLen > have:
		w.dataLen = have
	}
	d.promised = w.dataLen / fb
	if w.dataLen > have {
		d.total = have / fb
		if !r.opt.Lenient {
			return faultf("the data ends at %s of the %s that the header promises",
				at(d.total, r.info.Rate), at(d.promised, r.info.Rate))
		}
		r.warn("the data ends at %s of the %s that the header promises", at(d.total, r.info.Rate), at(d.promised, r.info.Rate))
	} else {
		d.total = w.dataLen / fb
		if w.dataLen%fb != 0 {
			r.warn("%d bytes after the last whole frame were ignored", w.dataLen%fb)
		}
	}
	if d.total == 0 {
		return faultf("holds no samples")
	}
	d.left = d.total
	return nil
}

func printableID(b []byte) bool {
	for _, c := range b {
		if c < 0x20 || c > 0x7e {
			return false
		}
	}
	return true
}

// chunkFollows reports whether what stands at pos looks like a chunk that fits
// in the file. It leaves the position undefined.
func (r *input) chunkFollows(pos int64) bool {
	var c [8]byte
	if _, err := r.src.Seek(pos, io.SeekStart); err != nil {
		return false
	}
	if _, err := io.ReadFull(r.src, c[:]); err != nil {
		return false
	}
	return printableID(c[:4]) && pos+8+int64(binary.LittleEndian.Uint32(c[4:])) <= r.size
}

func (r *input) parseWAVFormat(b []byte) (*wavDecoder, error) {
	le := binary.LittleEndian
	tag := le.Uint16(b)
	channels := int(le.Uint16(b[2:]))
	rate := int(le.Uint32(b[4:]))
	align := int(le.Uint16(b[12:]))
	bits := int(le.Uint16(b[14:]))
	if tag == tagExtensible {
		if len(b) < 40 {
			return nil, faultf("has a WAV format chunk that ends early (%d bytes)", len(b))
		}
		tag = le.Uint16(b[24:])
		if [14]byte(b[26:40]) != guidTail {
			return nil, faultf("holds samples of a kind that is not read here (sub-format %x)", b[24:40])
		}
	}
	if tag != tagPCM && tag != tagFloat {
		return nil, faultf("holds %s samples: integer PCM of 8 to 32 bits and floating point are read", wavTagName(tag))
	}
	if err := r.checkShape(channels, rate); err != nil {
		return nil, err
	}
	if align == 0 || align%channels != 0 {
		return nil, faultf("has %d bytes a frame for %d channels: the WAV header contradicts itself", align, channels)
	}
	d := &wavDecoder{r: r, frameBytes: align, sample: align / channels, float: tag == tagFloat}
	enc := wavEncoding(bits, d.sample, d.float)
	if enc == EncodingUnknown {
		kind := "integer"
		if d.float {
			kind = "floating-point"
		}
		return nil, faultf("has %d-bit %s samples in %d bytes: that is not read here", bits, kind, d.sample)
	}
	r.info.Encoding, r.info.Rate, r.info.Channels = enc, rate, channels
	d.buf = make([]byte, max(1, 16384/align)*align)
	return d, nil
}

// wavEncoding is how words of so many bits stand in so many bytes.
func wavEncoding(bits, bytes int, float bool) Encoding {
	whole := bits >= 1 && bits <= bytes*8 && bits > (bytes-1)*8
	switch {
	case float && bits == 32 && bytes == 4:
		return Float32
	case float && bits == 64 && bytes == 8:
		return Float64
	case !float && (whole || bytes == 4 && bits == 24) && bytes <= 4:
		// Word lengths between are stored at the upper end of their container.
		return [...]Encoding{EncodingUnknown, PCM8, PCM16, PCM24, PCM32}[bytes]
	}
	return EncodingUnknown
}

func wavTagName(tag uint16) string {
	switch tag {
	case 0x0002, 0x0011:
		return "ADPCM"
	case 0x0006:
		return "A-law"
	case 0x0007:
		return "mu-law"
	case 0x0031:
		return "GSM"
	case 0x0050, 0x0055:
		return "MPEG"
	}
	return fmt.Sprintf("compressed (WAV format 0x%04x)", tag)
}

// seek goes to a frame.
func (d *wavDecoder) seek(frame int64) error {
	by := frame - (d.total - d.left)
	if _, err := d.r.src.Seek(by*int64(d.frameBytes), io.SeekCurrent); err != nil {
		return err
	}
	d.left -= by
	return nil
}

func (d *wavDecoder) read(dst [][]float64) (int, error) {
	if d.left == 0 {
		return 0, io.EOF
	}
	n := int(min(int64(len(dst[0])), int64(len(d.buf)/d.frameBytes), d.left))
	b := d.buf[:n*d.frameBytes]
	got, err := io.ReadFull(d.r.src, b)
	if err != nil {
		// The file shrank, or a disk error.
		n = got / d.frameBytes
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			err = faultf("the data ends at %s of the %s that the header promises",
				at(d.total-d.left+int64(n), d.r.info.Rate), at(d.promised, d.r.info.Rate))
		}
	}
	d.left -= int64(n)
	for ch, out := range dst {
		d.samples(out[:n], b[ch*d.sample:])
	}
	return n, err
}

// samples reads one channel from p on.
func (d *wavDecoder) samples(out []float64, p []byte) {
	step := d.frameBytes
	switch d.r.info.Encoding {
	case PCM8:
		for i := range out {
			out[i] = float64(int(p[i*step])-128) * (1.0 / (1 << 7))
		}
	case PCM16:
		for i := range out {
			q := p[i*step : i*step+2]
			out[i] = float64(int16(uint16(q[0])|uint16(q[1])<<8)) * (1.0 / (1 << 15))
		}
	case PCM24:
		for i := range out {
			q := p[i*step : i*step+3]
			out[i] = float64(int32(uint32(q[0])<<8|uint32(q[1])<<16|uint32(q[2])<<24)) * (1.0 / (1 << 31))
		}
	case PCM32:
		for i := range out {
			out[i] = float64(int32(binary.LittleEndian.Uint32(p[i*step:]))) * (1.0 / (1 << 31))
		}
	case Float32:
		for i := range out {
			out[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(p[i*step:])))
		}
	case Float64:
		for i := range out {
			out[i] = math.Float64frombits(binary.LittleEndian.Uint64(p[i*step:]))
		}
	}
}
