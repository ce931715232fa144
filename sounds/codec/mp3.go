package codec

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"io"

	"github.com/hajimehoshi/go-mp3"
)

// MP3 is decoded by the library under beep's own decoder, used directly: the
// wrapper shows two channels whatever the file has, and the library makes room
// for as large a tag as the file claims and does not know the encoder's delay.
// Both are seen to here. The library gives 16-bit codes (of 32767 a full scale)
// and holds them at full scale.
//
// Compared with ffmpeg, it decodes MPEG-1 (32, 44.1 and 48 kHz) to 16-bit
// accuracy, except the highest band of short blocks in mid/side stereo, which it
// leaves undone (a few blocks in a thousand, at −40 dB or less). Files of low sampling
// frequencies it does not decode as they stand: lsfFeed writes those anew.
//
// Frame headers are those of ISO/IEC 11172-3, section 2.4.2.3, and ISO/IEC
// 13818-3. The layout of the Xing and Info frames and of the delay field after
// them is de facto; no standard has it.
type mp3Decoder struct {
	r     *input
	d     *mp3.Decoder
	feed  *lsfFeed // or nil
	skip  int64    // frames still to drop
	left  int64    // frames still to give
	done  int64
	total int64
	cut   int64 // frames promised if the file ends early, else 0
	buf   []byte
}

type mp3Header struct {
	rate     int
	channels int
	samples  int // a frame
	bytes    int
	mpeg1    bool
	layer3   bool
	mpeg25   bool
	key      uint32 // what all frames of a file share
}

var mp3Rates = [3]int{44100, 48000, 32000}

var mp3Bitrates = [2][15]int{
	{0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160}, // MPEG-2, kbit/s
	{0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
}

// parseMP3Header reads four bytes; ok is false if they are not the header of a
// layer III frame with a stated bit rate.
func parseMP3Header(b []byte) (h mp3Header, ok bool) {
	v := binary.BigEndian.Uint32(b)
	version, layer := v>>19&3, v>>17&3
	rateIndex, bitrate := v>>10&3, v>>12&15
	if v>>21 != 0x7ff || version == 1 || layer != 1 || rateIndex == 3 || bitrate == 0 || bitrate == 15 || v&3 == 2 {
		return h, false
	}
	h.mpeg1, h.mpeg25 = version == 3, version == 0
	h.rate = mp3Rates[rateIndex]
	kind := 1
	h.samples = 1152
	if !h.mpeg1 {
		h.rate /= 2
		if h.mpeg25 {
			h.rate /= 2
		}
		kind, h.samples = 0, 576
	}
	h.bytes = h.samples/8*mp3Bitrates[kind][bitrate]*1000/h.rate + int(v>>9&1)
	h.channels = 2
	if v>>6&3 == 3 {
		h.channels = 1
	}
	// Version, layer and rate never change within a file.
	h.key = v & 0xfffe0c00
	return h, true
}

// findMP3 is where in win, which begins at from, the first header stands that another
// of its kind follows, or the end of the file; −1 if none does.
func (r *input) findMP3(win []byte, from int64) (int, mp3Header) {
	for i := 0; i+4 <= len(win); i++ {
		if win[i] != 0xff {
			continue
		}
		h, ok := parseMP3Header(win[i:])
		if !ok {
			continue
		}
		if k := i + h.bytes; k+4 <= len(win) {
			next, ok := parseMP3Header(win[k:])
			if !ok || next.key != h.key {
				continue
			}
		} else if int64(k)+from != r.size {
			continue
		}
		return i, h
	}
	return -1, mp3Header{}
}

func (r *input) openMP3(id3 int64) (decoder, error) {
	notMP3 := func() error {
		if id3 > 0 {
			if id3 >= r.size {
				return faultf("ends inside its ID3 tag")
			}
			return faultf("has an ID3 tag but no MP3 sound after it")
		}
		return faultf("is not audio in a format that is read here (WAV, FLAC, Ogg Vorbis, MP3)")
	}
	const search = 128 << 10
	if _, err := r.src.Seek(id3, io.SeekStart); err != nil {
		return nil, err
	}
	win := make([]byte, min(search, max(0, r.size-id3)))
	n, err := io.ReadFull(r.src, win)
	if err != nil && err != io.ErrUnexpectedEOF && err != io.EOF {
		return nil, err
	}
	win = win[:n]
	start, h := r.findMP3(win, id3)
	if start < 0 {
		return nil, notMP3()
	}
	if h.rate == 8000 {
		// Its scale factor bands are like no other's.
		return nil, faultf("is MP3 at 8000 Hz, which is not read here: convert it to WAV or FLAC first (MP3 from 11.025 kHz on is read)")
	}
	if err := r.checkShape(h.channels, h.rate); err != nil {
		return nil, err
	}
	first := id3 + int64(start)

	// A frame of description may come before the sound.
	var promised, delay, padding int64 = -1, 0, 0
	body := win[start:min(len(win), start+h.bytes)]
	if tag := xingTag(body, h); tag != nil {
		promised, delay, padding = parseXing(tag)
		first += int64(h.bytes)
	}
	count, cut, err := r.countMP3(first, h)
	if err != nil {
		return nil, err
	}
	if count == 0 {
		return nil, faultf("holds no samples")
	}
	d := &mp3Decoder{r: r, skip: delay}
	d.total = max(0, count*int64(h.samples)-delay-padding)
	if promised > count {
		// A cut file has lost its padding too.
		d.total = max(0, count*int64(h.samples)-delay)
		d.cut = promised*int64(h.samples) - delay - padding
	} else if cut && promised < 0 {
		r.warn("the last MP3 frame is not whole and was left out")
	}
	if d.total == 0 {
		return nil, faultf("holds no samples")
	}
	d.left = d.total
	r.info = Info{Format: "mp3", Encoding: MP3, Rate: h.rate, Channels: h.channels, Frames: d.total, HeldAtFullScale: true}
	if d.cut > 0 {
		r.info.Frames = d.cut
		if r.opt.Lenient {
			r.info.Frames = d.total
		}
	}
	if _, err := r.src.Seek(first, io.SeekStart); err != nil {
		return nil, err
	}
	// Hiding Seek keeps the library from reading the whole file to count.
	feed := io.Reader(bufio.NewReaderSize(struct{ io.Reader }{r.src}, 1<<16))
	if h.mpeg25 || h.rate == 22050 {
		d.feed = &lsfFeed{src: feed, key: h.key}
		feed = d.feed
	}
	d.d, err = mp3.NewDecoder(struct{ io.Reader }{feed})
	if err != nil {
		if d.feed != nil && d.feed.err != nil {
			return nil, d.feed.err
		}
		return nil, faultf("is damaged at 0.000 s: an MP3 frame cannot be decoded")
	}
	d.buf = make([]byte, 4*4096)
	return d, nil
}

// xingTag returns the description in the first frame from its four letters on,
// or nil.
func xingTag(frame []byte, h mp3Header) []byte {
	at := 4 + 32
	switch {
	case h.mpeg1 && h.channels == 1, !h.mpeg1 && h.channels == 2:
		at = 4 + 17
	case !h.mpeg1:
		at = 4 + 9
	}
	if len(frame) < at+8 {
		return nil
	}
	if t := frame[at:]; bytes.HasPrefix(t, []byte("Xing")) || bytes.HasPrefix(t, []byte("Info")) {
		return t
	}
	// VBRI stands at a fixed place and holds a count too, but no delay.
	return nil
}

// parseXing returns the number of MP3 frames promised (−1 if not), and how many
// samples to drop at the start and at the end.
func parseXing(t []byte) (promised, delay, padding int64) {
	promised = -1
	flags := binary.BigEndian.Uint32(t[4:])
	p := 8
	if flags&1 != 0 && len(t) >= p+4 {
		promised = int64(binary.BigEndian.Uint32(t[p:]))
		p += 4
	}
	if flags&2 != 0 {
		p += 4
	}
	if flags&4 != 0 {
		p += 100
	}
	if flags&8 != 0 {
		p += 4
	}
	if len(t) < p+24 || t[p] == 0 {
		return promised, 0, 0
	}
	v := int64(t[p+21])<<16 | int64(t[p+22])<<8 | int64(t[p+23])
	// A decoder adds 528 samples and the synthesis filter one more.
	const decoderDelay = 528 + 1
	delay = v>>12 + decoderDelay
	padding = max(0, v&0xfff-decoderDelay)
	return promised, delay, padding
}

// countMP3 counts the frames from first on by their headers alone. cut is true
// if the last one is not whole.
func (r *input) countMP3(first int64, h mp3Header) (count int64, cut bool, err error) {
	if _, err := r.src.Seek(first, io.SeekStart); err != nil {
		return 0, false, err
	}
	br := bufio.NewReaderSize(r.src, 1<<16)
	pos := first
	for pos+4 <= r.size {
		b, err := br.Peek(4)
		if err != nil {
			return count, false, nil
		}
		c, ok := parseMP3Header(b)
		if !ok || c.key != h.key {
			// Tags at the end, or rubbish between frames.
			if string(b[:3]) == "TAG" || string(b) == "APET" || string(b) == "LYRI" {
				return count, false, nil
			}
			br.Discard(1)
			pos++
			continue
		}
		if pos+int64(c.bytes) > r.size {
			return count, true, nil
		}
		if _, err := br.Discard(c.bytes); err != nil {
			return count, true, nil
		}
		pos += int64(c.bytes)
		count++
	}
	return count, false, nil
}

// end is io.EOF, and a fault where the file was cut.
func (d *mp3Decoder) end() error {
	if d.cut <= 0 {
		return io.EOF
	}
	done, cut := at(d.done, d.r.info.Rate), at(d.cut, d.r.info.Rate)
	if !d.r.opt.Lenient {
		return faultf("the data ends at %s of the %s that the header promises", done, cut)
	}
	d.r.warn("the data ends at %s of the %s that the header promises", done, cut)
	return io.EOF
}

func (d *mp3Decoder) read(dst [][]float64) (int, error) {
	rate := d.r.info.Rate
	for {
		if d.left == 0 {
			return 0, d.end()
		}
		want := int(min(int64(len(dst[0])), int64(len(d.buf)/4), d.left))
		if d.skip > 0 {
			want = int(min(d.skip, int64(len(d.buf)/4)))
		}
		m, err := io.ReadFull(d.d, d.buf[:4*want])
		n := m / 4
		if d.feed != nil && d.feed.err != nil {
			return 0, d.feed.err
		}
		if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
			return 0, faultf("is damaged at %s: an MP3 frame cannot be decoded", at(d.done, rate))
		}
		if n == 0 {
			if d.r.opt.Lenient {
				d.r.warn("the data ends at %s", at(d.done, rate))
				return 0, io.EOF
			}
			return 0, faultf("the data ends at %s of the %s expected", at(d.done, rate), at(d.total, rate))
		}
		if d.skip > 0 {
			d.skip -= int64(n)
			continue
		}
		for ch, out := range dst {
			for i := range out[:n] {
				q := d.buf[4*i+2*ch:]
				out[i] = float64(int16(uint16(q[0])|uint16(q[1])<<8)) * (1.0 / 32767)
			}
		}
		d.left -= int64(n)
		d.done += int64(n)
		return n, nil
	}
}
