package codec

import (
	"encoding/binary"
	"io"
)

// lsfFeed gives the library MP3 frames of low sampling frequencies (ISO/IEC 13818-3,
// 2.4) in a form that it decodes. As they stand it loses its place in them: it adds
// the padding byte before it halves a frame's length, which is wrong at 22.05 kHz (at 16
// and 24 kHz nothing is padded), and it refuses 11.025 and 12 kHz, which differ from 16 kHz in nothing but the clock (their
// scale factor bands are the same). Each frame is written anew, without padding,
// reaching back into the frame before for no more than does not fit into itself.
type lsfFeed struct {
	src io.Reader // whole frames, and what may stand between them
	key uint32

	back  []byte // main data of the frames before, what may be reached back to
	held  []byte // the frame that waits for what the next may store in it
	free  int    // bytes at its end that nothing uses
	out   []byte
	ended bool
	err   error // a frame that has no room
}

const (
	lsfReach   = 255 // bytes that a frame can reach back, 8 bits
	lsfBitrate = 14  // index of the highest bit rate, 160 kbit/s
)

// Read gives frames; it implements io.Reader.
func (f *lsfFeed) Read(p []byte) (int, error) {
	for len(f.out) == 0 {
		if f.ended {
			return 0, io.EOF
		}
		frame, err := f.frame()
		if f.err != nil {
			return 0, f.err
		}
		if err != nil {
			f.out, f.held, f.ended = f.held, nil, true
			continue
		}
		f.take(frame)
	}
	n := copy(p, f.out)
	f.out = f.out[n:]
	return n, nil
}

// frame reads the next whole frame.
func (f *lsfFeed) frame() ([]byte, error) {
	var b [4]byte
	if _, err := io.ReadFull(f.src, b[:]); err != nil {
		return nil, err
	}
	for {
		if h, ok := parseMP3Header(b[:]); ok && h.key == f.key {
			frame := make([]byte, h.bytes)
			copy(frame, b[:])
			_, err := io.ReadFull(f.src, frame[4:])
			return frame, err
		}
		copy(b[:], b[1:])
		if _, err := io.ReadFull(f.src, b[3:]); err != nil {
			return nil, err
		}
	}
}

// take writes a frame anew and holds it; what was held goes out.
func (f *lsfFeed) take(frame []byte) {
	v := binary.BigEndian.Uint32(frame)
	h, _ := parseMP3Header(frame)
	side := 17
	if h.channels == 1 {
		side = 9
	}
	at := 4
	if v>>16&1 == 0 {
		at += 2 // a checksum, which is left out
	}
	rateIndex := v >> 10 & 3
	if h.mpeg25 {
		rateIndex = 2 // as 16 kHz
	}
	rate := mp3Rates[rateIndex] / 2
	size := 144 * 160000 / rate / 2
	room := size - 4 - side
	// MPEG-2, layer III, no checksum, no padding.
	v = v&0xffe001ff | 2<<19 | 1<<17 | 1<<16 | lsfBitrate<<12 | rateIndex<<10

	next := make([]byte, size)
	binary.BigEndian.PutUint32(next, v)
	info := next[4 : 4+side]
	var data []byte
	if len(frame) >= at+side {
		copy(info, frame[at:at+side])
		reach := int(info[0])
		own := frame[at+side:]
		if reach <= len(f.back) {
			all := append(append([]byte(nil), f.back[len(f.back)-reach:]...), own...)
			if n := (lsfBits(info, h.channels) + 7) / 8; n <= len(all) {
				data = all[:n]
			}
		}
		f.back = append(f.back, own...)
		if n := len(f.back); n > lsfReach {
			f.back = append(f.back[:0], f.back[n-lsfReach:]...)
		}
	}
	over := max(0, len(data)-room)
	if data != nil && over > min(lsfReach, f.free, len(f.held)) && f.err == nil {
		f.err = faultf("is MP3 at %d Hz of 160 kbit/s, which is not read here: convert it to WAV or FLAC first", h.rate)
	}
	if data == nil || f.err != nil {
		// What it reaches back to was never there: silence.
		clear(info)
		data, over = nil, 0
	}
	info[0] = byte(over)
	copy(f.held[len(f.held)-over:], data[:over])
	copy(next[4+side:], data[over:])
	f.out, f.held, f.free = f.held, next, room-(len(data)-over)
}

// lsfBits is how many bits of main data a frame's side information tells of: the sum
// of part2_3_length, 12 bits at the beginning of each channel's 63.
func lsfBits(info []byte, channels int) (n int) {
	start := 8 + 1 // main_data_begin and private bits
	if channels == 2 {
		start = 8 + 2
	}
	for ch := range channels {
		for i := range 12 {
			k := start + 63*ch + i
			n += int(info[k/8]>>(7-k%8)&1) << (11 - i)
		}
	}
	return n
}
