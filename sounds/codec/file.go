package codec

import (
	"errors"
	"io"
	"math"
	"path/filepath"
	"strings"
)

// A File is an audio file of any of the formats, opened. Its errors are [Fault] where
// the file is to blame, else those of what it is read from.
type File struct {
	input
	name    string
	dec     decoder
	pos     int64
	lastBad int64
	views   [MostChannels][]float64
}

// Open opens a file of size bytes at src, whatever its name. The name tells only
// what was meant to be in it.
func Open(name string, src io.ReadSeeker, size int64, opt Options) (*File, error) {
	f := &File{input: input{src: src, size: size, opt: opt}, name: name}
	if err := f.Rewind(); err != nil {
		return nil, err
	}
	return f, nil
}

// Info describes the file.
func (f *File) Info() Info { return f.info }

// Position is the number of frames read so far.
func (f *File) Position() int64 { return f.pos }

// Warnings are the faults that Lenient let pass, and harmless oddities, one
// lower-case line each. They may grow while reading.
func (f *File) Warnings() []string { return f.warnings }

// Rewind goes back to the first frame. After an error there is nothing to read.
func (f *File) Rewind() (err error) {
	f.pos, f.warnings, f.lastBad = 0, nil, -1
	defer f.guard(&err)
	if f.size == 0 {
		return faultf("is empty (0 bytes)")
	}
	kind, head, id3, err := f.kind()
	if err != nil {
		return err
	}
	switch kind {
	case "wav":
		f.dec, err = f.openWAV()
	case "flac":
		f.dec, err = f.openFLAC(id3)
	case "ogg":
		f.dec, err = f.openVorbis()
	case "mp3":
		f.dec, err = f.openMP3(id3)
	case "":
		if strings.EqualFold(filepath.Ext(f.name), ".mp3") {
			// Some players' files begin with rubbish; look for a frame.
			f.dec, err = f.openMP3(0)
			break
		}
		return unknownFormat(f.name, head)
	default:
		return faultf("is %s, which is not read here: convert it to WAV or FLAC first (WAV, FLAC, Ogg Vorbis and MP3 are read)", kind)
	}
	if err != nil {
		return err
	}
	f.info.Seconds = -1
	if f.info.Frames >= 0 {
		f.info.Seconds = float64(f.info.Frames) / float64(f.info.Rate)
	}
	return nil
}

// kind is what the file begins with, and the length of an ID3 tag before that.
func (f *File) kind() (kind string, head []byte, id3 int64, err error) {
	if _, err := f.src.Seek(0, io.SeekStart); err != nil {
		return "", nil, 0, err
	}
	head = make([]byte, 64)
	n, err := io.ReadFull(f.src, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", nil, 0, err
	}
	head = head[:n]
	if _, err := f.src.Seek(0, io.SeekStart); err != nil {
		return "", nil, 0, err
	}
	if kind = sniff(head); kind != "id3" {
		return kind, head, 0, nil
	}
	// An ID3 tag may stand before MP3 and, against the rules, before FLAC.
	id3 = id3Length(head)
	if _, err := f.src.Seek(id3, io.SeekStart); err != nil {
		return "", nil, 0, err
	}
	after := make([]byte, 4)
	n, _ = io.ReadFull(f.src, after)
	if string(after[:n]) == "fLaC" {
		return "flac", head, id3, nil
	}
	return "mp3", head, id3, nil
}

// Read fills dst, one slice a channel, with up to the length of the shortest of them,
// and returns the number of frames. An error, io.EOF at the end, may come with good
// frames before it.
func (f *File) Read(dst [][]float64) (int, error) {
	want := len(dst[0])
	for _, d := range dst[1:] {
		want = min(want, len(d))
	}
	if want == 0 {
		return 0, nil
	}
	n, err := f.fill(dst, want)
	if f.info.Encoding.Float() {
		m, bad := f.checkFinite(dst, n)
		if bad != nil {
			n, err = m, bad
		}
	}
	f.pos += int64(n)
	return n, err
}

// SkipTo goes to a frame without decoding those before it; ok is false where the
// format knows no other way.
func (f *File) SkipTo(frame int64) (ok bool, err error) {
	s, ok := f.dec.(seeker)
	if !ok {
		return false, nil
	}
	if err := s.seek(frame); err != nil {
		return true, err
	}
	f.pos = frame
	return true, nil
}

func (f *File) fill(dst [][]float64, want int) (n int, err error) {
	defer f.guard(&err)
	v := f.views[:len(dst)]
	for n < want {
		for ch := range v {
			v[ch] = dst[ch][n:want]
		}
		m, err := f.dec.read(v)
		n += m
		if err != nil {
			return n, err
		}
		if m == 0 {
			return n, faultf("decoding stopped at %s", at(f.pos+int64(n), f.info.Rate))
		}
	}
	return n, nil
}

// guard turns a decoder library's panic on malformed data into an error.
func (f *File) guard(err *error) {
	if p := recover(); p != nil {
		*err = faultf("is damaged at %s (%v)", at(f.pos, max(f.info.Rate, 1)), p)
	}
}

// checkFinite returns how many frames are good and an error for the first that
// is not; in lenient mode it silences them instead.
func (f *File) checkFinite(dst [][]float64, n int) (int, error) {
	for ch, d := range dst {
		for i, v := range d[:n] {
			if v-v == 0 { // false for NaN and both infinities
				continue
			}
			if !f.opt.Lenient {
				return f.notFinite(dst, ch, i)
			}
			if f.lastBad < 0 {
				f.warn("values that are not finite were read as 0, the first at %s, channel %d", at(f.pos+int64(i), f.info.Rate), ch+1)
			}
			f.lastBad = f.pos + int64(i)
			d[i] = 0
		}
	}
	return n, nil
}

// notFinite is the error for the first value that is not finite by time, over all
// channels; channel ch has its first at i, and those before it have none.
func (f *File) notFinite(dst [][]float64, ch, i int) (int, error) {
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
	return first, faultf("the sample at %s, channel %d, is %s", at(f.pos+int64(first), f.info.Rate), firstCh+1, what)
}
