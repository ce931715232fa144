package codec

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"io"

	"github.com/jfreymuth/vorbis"
)

// Ogg Vorbis is unpacked here and decoded by the library under beep's own
// decoder, used directly: the wrappers above it hold values at ±1, which would
// draw flat tops that are not in the recording, and give one-channel files two
// samples at a time. The container is RFC 3533, the stream the Vorbis I
// specification (xiph.org).

// maxPacket bounds one Vorbis packet; real ones stay far below.
const maxPacket = 1 << 20

var errOggDamage = errors.New("damaged page")

// oggPages hands out the packets of the first logical stream.
type oggPages struct {
	br     *bufio.Reader
	serial uint32
	known  bool

	body    []byte // of the current page
	lace    []byte
	seg     int
	off     int
	granule int64 // of the current page, −1 if no packet ends on it
	last    bool
	skip    bool // the first packet of the page continues one that is not wanted
	partial []byte
}

// page reads the next page of the stream.
func (o *oggPages) page() error {
	for {
		var h [27]byte
		if _, err := io.ReadFull(o.br, h[:]); err != nil {
			return err // io.EOF between pages
		}
		if string(h[:4]) != "OggS" || h[4] != 0 {
			return errOggDamage
		}
		lace := make([]byte, h[26])
		if _, err := io.ReadFull(o.br, lace); err != nil {
			return noEOF(err)
		}
		size := 0
		for _, l := range lace {
			size += int(l)
		}
		body := make([]byte, size)
		if _, err := io.ReadFull(o.br, body); err != nil {
			return noEOF(err)
		}
		want := binary.LittleEndian.Uint32(h[22:])
		clear(h[22:26])
		if crc := oggCRC(oggCRC(oggCRC(0, h[:]), lace), body); crc != want {
			return errOggDamage
		}
		serial := binary.LittleEndian.Uint32(h[14:])
		if !o.known {
			o.serial, o.known = serial, true
		}
		if serial != o.serial {
			continue // another stream in the same file, such as a picture
		}
		o.body, o.lace, o.seg, o.off = body, lace, 0, 0
		o.granule = int64(binary.LittleEndian.Uint64(h[6:]))
		o.last = h[5]&4 != 0
		if h[5]&1 == 0 {
			o.partial = nil
		} else {
			o.skip = o.partial == nil
		}
		return nil
	}
}

// packet returns the next packet and whether it is the last to end on its page.
func (o *oggPages) packet() (p []byte, ends bool, err error) {
	for {
		for o.seg == len(o.lace) {
			if o.last {
				return nil, false, io.EOF
			}
			if err := o.page(); err != nil {
				if err == io.EOF && o.partial != nil {
					err = io.ErrUnexpectedEOF
				}
				return nil, false, err
			}
		}
		start := o.off
		whole := false
		for o.seg < len(o.lace) && !whole {
			l := o.lace[o.seg]
			o.seg++
			o.off += int(l)
			whole = l < 255
		}
		if !whole {
			if !o.skip {
				o.partial = append(o.partial, o.body[start:o.off]...)
				if len(o.partial) > maxPacket {
					return nil, false, errOggDamage
				}
			}
			if o.last {
				return nil, false, io.ErrUnexpectedEOF
			}
			continue
		}
		if o.skip {
			o.skip = false
			continue
		}
		p = o.body[start:o.off]
		if o.partial != nil {
			p = append(o.partial, p...)
			o.partial = nil
		}
		ends = true
		for _, l := range o.lace[o.seg:] {
			if l < 255 {
				ends = false
				break
			}
		}
		return p, ends, nil
	}
}

func noEOF(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// oggCRCTable is for the polynomial 0x04c11db7, most significant bit first,
// RFC 3533 section 6.
var oggCRCTable = func() (t [256]uint32) {
	for i := range t {
		r := uint32(i) << 24
		for range 8 {
			if r&(1<<31) != 0 {
				r = r<<1 ^ 0x04c11db7
			} else {
				r <<= 1
			}
		}
		t[i] = r
	}
	return
}()

func oggCRC(crc uint32, b []byte) uint32 {
	for _, c := range b {
		crc = crc<<8 ^ oggCRCTable[byte(crc>>24)^c]
	}
	return crc
}

type vorbisDecoder struct {
	r       *input
	o       oggPages
	dec     vorbis.Decoder
	ch      int
	room    []float32
	cur     []float32
	decoded int64 // frames the packets gave, in stream time
	given   int64 // frames handed out
	total   int64 // by the last page; −1 if unknown
	end     bool
	err     error
}

func (r *input) openVorbis() (decoder, error) {
	total := r.lastGranule()
	if _, err := r.src.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	d := &vorbisDecoder{r: r, total: total}
	d.o.br = bufio.NewReaderSize(r.src, 1<<16)
	for i := range 3 {
		if err := d.header(i); err != nil {
			return nil, err
		}
	}
	d.ch = d.dec.Channels()
	d.room = make([]float32, d.dec.BufferSize())
	r.info = Info{Format: "ogg", Encoding: Vorbis, Rate: d.dec.SampleRate(), Channels: d.ch, Frames: total}
	if total == 0 {
		return nil, faultf("holds no samples")
	}
	if err := d.start(); err != nil {
		return nil, err
	}
	return d, nil
}

var errVorbisHeader = Fault("is damaged: the Ogg Vorbis header cannot be read")

// header reads packet i of the three that come before the sound.
func (d *vorbisDecoder) header(i int) error {
	p, _, err := d.o.packet()
	if err != nil {
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return faultf("ends inside its Ogg Vorbis header")
		}
		return errVorbisHeader
	}
	if len(p) < 7 || p[0] != byte(2*i+1) || string(p[1:7]) != "vorbis" {
		if i == 0 {
			return faultf("is an Ogg file without Vorbis sound")
		}
		return errVorbisHeader
	}
	switch i {
	case 0:
		if err := d.r.checkVorbis(p); err != nil {
			return err
		}
	case 1:
		// Names and pictures; the library would make room for whatever
		// number of them the packet claims.
		return nil
	case 2:
		if !codebooksFit(p[7:]) {
			return errVorbisHeader
		}
	}
	if err := d.dec.ReadHeader(p); err != nil {
		return errVorbisHeader
	}
	return nil
}

// checkVorbis looks at the identification header, Vorbis I, section 4.2.2.
func (r *input) checkVorbis(p []byte) error {
	if len(p) < 30 {
		return faultf("ends inside its Ogg Vorbis header")
	}
	if err := r.checkShape(int(p[11]), int(int32(binary.LittleEndian.Uint32(p[12:])))); err != nil {
		return err
	}
	if p[11] > 2 {
		// The library refuses the setup headers that encoders write then.
		return faultf("has %d channels: at most 2 are read from Ogg Vorbis", p[11])
	}
	if b0, b1 := p[28]&15, p[28]>>4; b0 < 6 || b1 > 13 || b0 > b1 {
		return errVorbisHeader
	}
	return nil
}

// lastGranule is the length in frames by the last page of the file, −1 if
// there is none to be found. The Ogg granule position of a Vorbis page counts
// the frames up to the end of the last packet that ends on it.
func (r *input) lastGranule() int64 {
	const most = 27 + 255 + 255*255
	var first [18]byte
	if _, err := io.ReadFull(r.src, first[:]); err != nil {
		return -1
	}
	n := min(r.size, 2*most)
	b := make([]byte, n)
	if _, err := r.src.Seek(r.size-n, io.SeekStart); err != nil {
		return -1
	}
	if _, err := io.ReadFull(r.src, b); err != nil {
		return -1
	}
	for i := bytes.LastIndex(b, []byte("OggS")); i >= 0; i = bytes.LastIndex(b[:i], []byte("OggS")) {
		if len(b)-i < 27 || b[i+4] != 0 || !bytes.Equal(b[i+14:i+18], first[14:]) {
			continue
		}
		if b[i+5]&4 == 0 {
			// Not the end of the stream: the file was cut, the length unknown.
			return -1
		}
		if g := int64(binary.LittleEndian.Uint64(b[i+6:])); g >= 0 {
			return g
		}
	}
	return -1
}

// start decodes the first page of sound, which tells where the stream begins:
// Vorbis I, section A.2. Frames before time 0 are dropped.
func (d *vorbisDecoder) start() error {
	var first []float32
	for {
		p, ends, err := d.o.packet()
		if err != nil {
			if len(first) == 0 {
				if err == io.EOF {
					return faultf("holds no samples")
				}
				return faultf("ends before its first sample")
			}
			d.err = err
			break
		}
		out, err := d.dec.DecodeInto(p, d.room)
		if err != nil {
			return faultf("is damaged at 0.000 s: a Vorbis packet cannot be decoded")
		}
		first = append(first, out...)
		if ends {
			break
		}
		if len(first) > 1<<24 {
			return faultf("is damaged: the first page of sound does not end")
		}
	}
	n := int64(len(first) / d.ch)
	if d.o.granule >= 0 {
		switch over := n - d.o.granule; {
		case d.o.last && over > 0:
			// One page is the whole stream: its length cuts the end.
			first = first[:d.o.granule*int64(d.ch)]
		case over > 0 && over <= n:
			first = first[over*int64(d.ch):]
		}
	}
	d.cur = first
	d.decoded = int64(len(first) / d.ch)
	if d.o.last && d.o.seg == len(d.o.lace) {
		d.end = true
	}
	return nil
}

func (d *vorbisDecoder) read(dst [][]float64) (int, error) {
	for len(d.cur) == 0 {
		if err := d.next(); err != nil {
			return 0, err
		}
	}
	n := min(len(dst[0]), len(d.cur)/d.ch)
	for ch, out := range dst {
		for i := range out[:n] {
			out[i] = float64(d.cur[i*d.ch+ch])
		}
	}
	d.cur = d.cur[n*d.ch:]
	d.given += int64(n)
	return n, nil
}

// fault is an error about the place reached, or in lenient mode the end.
func (d *vorbisDecoder) fault(format string) error {
	if d.r.opt.Lenient {
		d.r.warn(format, at(d.given, d.r.info.Rate))
		d.end = true
		return io.EOF
	}
	return faultf(format, at(d.given, d.r.info.Rate))
}

func (d *vorbisDecoder) next() error {
	if d.end {
		return io.EOF
	}
	p, ends, err := []byte(nil), false, d.err
	if err == nil {
		p, ends, err = d.o.packet()
	}
	if err != nil {
		d.err = err
		if err == io.EOF && d.o.last {
			d.end = true
			return io.EOF
		}
		msg := "is damaged at %s: a page cannot be read"
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			msg = "the data ends at %s, before the end of the stream"
		}
		return d.fault(msg)
	}
	out, err := d.dec.DecodeInto(p, d.room)
	if err != nil {
		return d.fault("is damaged at %s: a Vorbis packet cannot be decoded")
	}
	n := int64(len(out) / d.ch)
	d.decoded += n
	if ends && d.o.last && d.o.granule >= 0 {
		// The last packet gives a whole block; the page says where sound ends.
		if over := d.decoded - d.o.granule; over > 0 {
			n = max(0, n-over)
			out = out[:n*int64(d.ch)]
		}
		d.end = true
	}
	d.cur = out
	if d.end && len(out) == 0 {
		return io.EOF
	}
	return nil
}

// lsbBits reads bits least significant first, Vorbis I section 2.
type lsbBits struct {
	b   []byte
	pos int
}

func (r *lsbBits) read(n int) (v uint64) {
	for i := range n {
		k := r.pos >> 3
		if k < len(r.b) && r.b[k]>>(r.pos&7)&1 != 0 {
			v |= 1 << i
		}
		r.pos++
	}
	return v
}

func (r *lsbBits) over() bool { return r.pos > 8*len(r.b) }

// codebooksFit walks the codebooks at the head of a setup header (Vorbis I,
// section 3.2.1) and reports whether their tables are of a size that a real
// encoder makes, and their codes complete. The decoding library allocates by
// what they claim, and would look for ever for a code that is not there.
func codebooksFit(b []byte) bool {
	const mostValues = 1 << 22
	r := &lsbBits{b: b}
	total := uint64(0)
	books := int(r.read(8)) + 1
	for range books {
		if r.read(24) != 0x564342 {
			return false
		}
		dim, entries := r.read(16), r.read(24)
		if dim == 0 || entries == 0 || entries > 1<<16 {
			return false
		}
		if !r.codeComplete(entries) {
			return false
		}
		total += entries
		switch r.read(4) {
		case 0:
		case 1:
			if total += entries * dim; total > mostValues {
				return false
			}
			r.read(64)
			bits := int(r.read(4)) + 1
			r.read(1)
			r.pos += bits * lookup1(entries, dim)
		case 2:
			if total += 2 * entries * dim; total > mostValues {
				return false
			}
			r.read(64)
			bits := int(r.read(4)) + 1
			r.read(1)
			r.pos += bits * int(entries*dim)
		default:
			return false
		}
		if total > mostValues || r.over() {
			return false
		}
	}
	return true
}

// codeComplete reads the lengths of a codebook's words and tells whether each string
// of bits is the beginning of one, or one begins with it.
func (r *lsbBits) codeComplete(entries uint64) bool {
	used, kraft := 0, uint64(0) // kraft in units of 2^-32
	if r.read(1) == 1 {         // ordered
		length := r.read(5) + 1
		for cur := uint64(0); cur < entries; length++ {
			num := r.read(bitLen(entries - cur))
			if num > entries-cur || length > 32 || r.over() {
				return false
			}
			cur += num
			used += int(num)
			kraft += num << (32 - length)
		}
		return kraft == 1<<32 || used == 1
	}
	sparse := r.read(1) == 1
	for range entries {
		if !sparse || r.read(1) == 1 {
			kraft += 1 << (31 - r.read(5))
			used++
		}
		if r.over() {
			return false
		}
	}
	return kraft == 1<<32 || used == 1
}

func bitLen(x uint64) (n int) {
	for ; x > 0; x >>= 1 {
		n++
	}
	return n
}

// lookup1 is the greatest integer whose dim-th power is at most entries:
// Vorbis I, section 9.2.3.
func lookup1(entries, dim uint64) int {
	for v := uint64(1); ; v++ {
		p := uint64(1)
		for range dim {
			if p *= v + 1; p > entries {
				return int(v)
			}
		}
	}
}
