package sounds

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
)

// A Source gives planar blocks: it fills dst[ch][:n] and returns n. At the end
// it returns 0, io.EOF. An error may come with n > 0 good frames before it.
type Source interface {
	Read(dst [][]float64) (n int, err error)
}

// An Option changes how a file is opened.
type Option func(*options)

// Lenient reads what is there: data that ends early just ends, values that are
// not finite read as 0, a wrong checksum is let pass. Warnings tells what was
// let pass.
func Lenient() Option { return func(o *options) { o.lenient = true } }

// MaxChannels sets how many channels a file may have, up to MostChannels.
// Without it a file of more than two is refused: the chain carries one voice.
func MaxChannels(n int) Option {
	return func(o *options) { o.maxChannels = min(max(n, 1), MostChannels) }
}

// A Reader reads one audio file in blocks. It is not safe for use by several
// goroutines at once.
type Reader struct {
	input
	name string
	file io.Closer
	once bool

	dec     decoder
	pos     int64
	err     error
	lastBad int64
	views   [MostChannels][]float64
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
	r := &Reader{input: input{src: src, size: size, opt: options{maxChannels: 2}}, name: name, lastBad: -1}
	for _, o := range opt {
		o(&r.opt)
	}
	if err := r.start(); err != nil {
		return nil, r.named(err)
	}
	return r, nil
}

// start reads the headers and leaves the decoder at the first frame.
func (r *Reader) start() (err error) {
	defer r.guard(&err)
	if r.size == 0 {
		return badInput("is empty (0 bytes)")
	}
	if _, err := r.src.Seek(0, io.SeekStart); err != nil {
		return err
	}
	head := make([]byte, 64)
	n, err := io.ReadFull(r.src, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	head = head[:n]
	if _, err := r.src.Seek(0, io.SeekStart); err != nil {
		return err
	}
	begin := sniff(head)
	id3 := int64(0)
	if begin == "id3" {
		// An ID3 tag may stand before MP3 and, against the rules, before FLAC.
		id3 = id3Length(head)
		if _, err := r.src.Seek(id3, io.SeekStart); err != nil {
			return err
		}
		after := make([]byte, 4)
		n, _ := io.ReadFull(r.src, after)
		begin = "mp3"
		if string(after[:n]) == "fLaC" {
			begin = "flac"
		}
	}
	switch begin {
	case "wav":
		r.dec, err = r.openWAV()
	case "flac":
		r.dec, err = r.openFLAC(id3)
	case "ogg":
		r.dec, err = r.openVorbis()
	case "mp3":
		r.dec, err = r.openMP3(id3)
	case "":
		if strings.EqualFold(filepath.Ext(r.name), ".mp3") {
			// Some players' files begin with rubbish; look for a frame.
			r.dec, err = r.openMP3(0)
			break
		}
		return unknownFormat(r.name, head)
	default:
		return badInput("is %s, which is not read here: convert it to WAV or FLAC first (WAV, FLAC, Ogg Vorbis and MP3 are read)", begin)
	}
	if err != nil {
		return err
	}
	r.info.Seconds = -1
	if r.info.Frames >= 0 {
		r.info.Seconds = float64(r.info.Frames) / float64(r.info.Rate)
	}
	return nil
}

// sniff names the format by the first bytes: "wav", "flac", "ogg", "mp3",
// "id3", the name of something else, or "".
func sniff(h []byte) string {
	at := func(i int, s string) bool { return len(h) >= i+len(s) && string(h[i:i+len(s)]) == s }
	switch {
	case (at(0, "RIFF") || at(0, "RF64") || at(0, "BW64")) && at(8, "WAVE"):
		return "wav"
	case at(0, "RIFX"):
		return "a big-endian WAV file (RIFX)"
	case at(0, "RIFF") && at(8, "AVI "):
		return "an AVI file"
	case at(0, "fLaC"):
		return "flac"
	case at(0, "OggS"):
		switch {
		case at(28, "OpusHead"):
			return "an Ogg Opus file"
		case at(28, "\x7fFLAC"):
			return "FLAC inside Ogg"
		case at(28, "Speex"):
			return "an Ogg Speex file"
		}
		return "ogg"
	case at(0, "ID3"):
		return "id3"
	case at(0, "FORM") && (at(8, "AIFF") || at(8, "AIFC")):
		return "an AIFF file"
	case at(0, "caff"):
		return "a CAF file"
	case at(4, "ftyp"):
		return "an MP4 or M4A file"
	case at(0, "\x1aE\xdf\xa3"):
		return "a Matroska or WebM file"
	case at(0, ".snd"):
		return "an AU file"
	case at(0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11"):
		return "an ASF or WMA file"
	case at(0, "riff\x2e\x91\xcf\x11"):
		return "a Wave64 file"
	}
	if len(h) >= 2 && h[0] == 0xff && h[1]&0xf6 == 0xf0 {
		return "an AAC file" // ADTS: ISO/IEC 14496-3, 1.A.2.2
	}
	if len(h) >= 4 {
		if _, ok := parseMP3Header(h); ok {
			return "mp3"
		}
	}
	return ""
}

func unknownFormat(name string, head []byte) error {
	kind := "is not audio in a format that is read here (WAV, FLAC, Ogg Vorbis, MP3)"
	if isText(head) {
		kind = "is text, not audio (WAV, FLAC, Ogg Vorbis and MP3 are read)"
	}
	ext := strings.ToLower(filepath.Ext(name))
	switch ext {
	case ".wav", ".flac", ".ogg":
		return badInput("%s, whatever its name says", kind)
	}
	return &InputError{Msg: kind}
}

func isText(b []byte) bool {
	for _, c := range b {
		if c < 0x20 && c != '\n' && c != '\r' && c != '\t' || c == 0x7f {
			return false
		}
	}
	return len(b) > 0
}

// id3Length is the length in bytes of an ID3v2 tag with its header and footer
// (id3.org, ID3v2.4.0 main structure, section 3.1).
func id3Length(h []byte) int64 {
	if len(h) < 10 || string(h[:3]) != "ID3" {
		return 0
	}
	n := int64(h[6]&0x7f)<<21 | int64(h[7]&0x7f)<<14 | int64(h[8]&0x7f)<<7 | int64(h[9]&0x7f)
	n += 10
	if h[5]&0x10 != 0 {
		n += 10
	}
	return n
}

// Info describes the file.
func (r *Reader) Info() Info { return r.info }

// Name is the path or name the file was opened under.
func (r *Reader) Name() string { return r.name }

// Once tells whether what was opened cannot be opened again by its name: then Rewind
// is the only way back.
func (r *Reader) Once() bool { return r.once }

// Position is the number of frames read so far.
func (r *Reader) Position() int64 { return r.pos }

// Warnings are the faults that Lenient let pass, and harmless oddities, one
// lower-case line each. They may grow while reading.
func (r *Reader) Warnings() []string { return r.warnings }

// Read fills dst, one slice a channel, with up to the length of the shortest
// of them, and returns the number of frames. It returns 0, io.EOF at the end.
// If the file is damaged, the frames before the damage come first, then an
// *InputError that says where it is. Read panics if len(dst) is not the number
// of channels.
func (r *Reader) Read(dst [][]float64) (int, error) {
	if len(dst) != r.info.Channels {
		panic(fmt.Sprintf("sounds: Read: %d slices for %d channels", len(dst), r.info.Channels))
	}
	if r.err != nil {
		return 0, r.err
	}
	want := len(dst[0])
	for _, d := range dst[1:] {
		want = min(want, len(d))
	}
	if want == 0 {
		return 0, nil
	}
	n, err := r.readGuarded(dst, want)
	if r.info.Encoding.Float() {
		m, bad := r.checkFinite(dst, n)
		if bad != nil {
			n, err = m, bad
		}
	}
	r.pos += int64(n)
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

func (r *Reader) readGuarded(dst [][]float64, want int) (n int, err error) {
	defer r.guard(&err)
	v := r.views[:len(dst)]
	for n < want {
		for ch := range v {
			v[ch] = dst[ch][n:want]
		}
		m, err := r.dec.read(v)
		n += m
		if err != nil {
			return n, err
		}
		if m == 0 {
			return n, badInput("decoding stopped at %s", at(r.pos+int64(n), r.info.Rate))
		}
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
	if s, ok := r.dec.(seeker); ok {
		to := r.pos + frames
		if r.info.Frames >= 0 {
			to = min(to, r.info.Frames)
		}
		if err := s.seek(to); err != nil {
			r.err = r.named(err)
			return r.err
		}
		if to < r.pos+frames {
			r.err = io.EOF
		}
		r.pos = to
		return r.err
	}
	block := NewBlock(r.info.Channels, 4096)
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

// guard turns a decoder library's panic on malformed data into an error.
func (r *Reader) guard(err *error) {
	if p := recover(); p != nil {
		*err = badInput("is damaged at %s (%v)", at(r.pos, max(r.info.Rate, 1)), p)
	}
}

// checkFinite returns how many frames are good and an error for the first that
// is not; in lenient mode it silences them instead.
func (r *Reader) checkFinite(dst [][]float64, n int) (int, error) {
	for ch, d := range dst {
		for i, v := range d[:n] {
			if v-v == 0 { // false for NaN and both infinities
				continue
			}
			if !r.opt.lenient {
				// The first by time, over all channels.
				first, firstCh := i, ch
				for c := ch + 1; c < len(dst); c++ {
					for j, w := range dst[c][:first] {
						if w-w != 0 {
							first, firstCh = j, c
							break
						}
					}
				}
				what := "infinite"
				if math.IsNaN(dst[firstCh][first]) {
					what = "not a number"
				}
				return first, badInput("the sample at %s, channel %d, is %s", at(r.pos+int64(first), r.info.Rate), firstCh+1, what)
			}
			if r.lastBad < 0 {
				r.warn("values that are not finite were read as 0, the first at %s, channel %d", at(r.pos+int64(i), r.info.Rate), ch+1)
			}
			r.lastBad = r.pos + int64(i)
			d[i] = 0
		}
	}
	return n, nil
}

func (r *Reader) named(err error) error {
	var in *InputError
	if errors.As(err, &in) {
		c := *in
		if c.Path == "" {
			c.Path = r.name
		}
		return &c
	}
	return &InputError{Path: r.name, Msg: "cannot be read: " + plain(err), Err: err}
}

// Rewind goes back to the first frame, for a second pass.
func (r *Reader) Rewind() error {
	r.pos, r.err, r.warnings, r.lastBad = 0, nil, nil, -1
	if err := r.start(); err != nil {
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
func (r *Reader) ReadAll() ([][]float64, error) { return ReadAll(r, r.info.Channels) }

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
