package codec

import (
	"encoding/binary"
	"io"
	"strings"
)

// NeedsBrowser tells by the first 64 bytes of a file whether it is in a format that is
// not read here but that browsers decode: AAC in MP4 or by itself, Opus, WebM, and MP3
// of 8 kHz.
func NeedsBrowser(head []byte) bool {
	switch sniff(head) {
	case "an MP4 or M4A file", "an AAC file", "an Ogg Opus file", "a Matroska or WebM file":
		return true
	case "mp3":
		h, ok := parseMP3Header(head)
		return ok && h.rate == 8000
	}
	return false
}

// StatedSeconds is how long such a file says it is: the movie header of MP4 (ISO/IEC
// 14496-12, 8.2.2) or the position on the last page of Ogg Opus (RFC 7845, section 4,
// in samples of 48 kHz). ok is false where neither is found.
func StatedSeconds(src io.ReaderAt, size int64) (seconds float64, ok bool) {
	head := make([]byte, 64)
	n, _ := src.ReadAt(head, 0)
	switch sniff(head[:n]) {
	case "an MP4 or M4A file":
		return mp4Seconds(src, size)
	case "an Ogg Opus file":
		return opusSeconds(src, size)
	}
	return 0, false
}

// mp4Seconds looks for moov/mvhd.
func mp4Seconds(src io.ReaderAt, size int64) (float64, bool) {
	pos, end := int64(0), size
	var b [32]byte
	for range 1000 { // boxes; a sound file has a dozen
		if pos+8 > end {
			return 0, false
		}
		if _, err := src.ReadAt(b[:16], pos); err != nil && err != io.EOF {
			return 0, false
		}
		length, head := int64(binary.BigEndian.Uint32(b[:])), int64(8)
		if length == 1 {
			length, head = int64(binary.BigEndian.Uint64(b[8:])), 16
		} else if length == 0 {
			length = end - pos
		}
		if length < head || length > end-pos {
			return 0, false
		}
		switch string(b[4:8]) {
		case "moov":
			pos, end = pos+head, pos+length
			continue
		case "mvhd":
			if _, err := src.ReadAt(b[:], pos+head); err != nil {
				return 0, false
			}
			scale, long := binary.BigEndian.Uint32(b[12:]), float64(binary.BigEndian.Uint32(b[16:]))
			if b[0] == 1 {
				scale, long = binary.BigEndian.Uint32(b[20:]), float64(binary.BigEndian.Uint64(b[24:]))
			}
			if scale == 0 {
				return 0, false
			}
			return long / float64(scale), true
		}
		pos += length
	}
	return 0, false
}

// opusSeconds looks for the last page.
func opusSeconds(src io.ReaderAt, size int64) (float64, bool) {
	const page = 1 << 16 // a page is shorter
	tail := make([]byte, min(size, page+27))
	if _, err := src.ReadAt(tail, size-int64(len(tail))); err != nil && err != io.EOF {
		return 0, false
	}
	i := strings.LastIndex(string(tail), "OggS")
	if i < 0 || i+14 > len(tail) {
		return 0, false
	}
	at := int64(binary.LittleEndian.Uint64(tail[i+6:]))
	return float64(at) / 48000, at >= 0
}
