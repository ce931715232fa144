package codec

import (
	"bytes"
	"path/filepath"
	"strings"
)

// beginnings are what files of a kind begin with. Of several that fit the first counts.
var beginnings = []struct {
	magic string
	at    int
	also  string // at another place
	there int
	name  string
}{
	{"RIFF", 0, "WAVE", 8, "wav"},
	{"RF64", 0, "WAVE", 8, "wav"},
	{"BW64", 0, "WAVE", 8, "wav"},
	{"RIFX", 0, "", 0, "a big-endian WAV file (RIFX)"},
	{"RIFF", 0, "AVI ", 8, "an AVI file"},
	{"fLaC", 0, "", 0, "flac"},
	{"OggS", 0, "OpusHead", 28, "an Ogg Opus file"},
	{"OggS", 0, "\x7fFLAC", 28, "FLAC inside Ogg"},
	{"OggS", 0, "Speex", 28, "an Ogg Speex file"},
	{"OggS", 0, "", 0, "ogg"},
	{"ID3", 0, "", 0, "id3"},
	{"FORM", 0, "AIFF", 8, "an AIFF file"},
	{"FORM", 0, "AIFC", 8, "an AIFF file"},
	{"caff", 0, "", 0, "a CAF file"},
	{"ftyp", 4, "", 0, "an MP4 or M4A file"},
	{"\x1aE\xdf\xa3", 0, "", 0, "a Matroska or WebM file"},
	{".snd", 0, "", 0, "an AU file"},
	{"\x30\x26\xb2\x75\x8e\x66\xcf\x11", 0, "", 0, "an ASF or WMA file"},
	{"riff\x2e\x91\xcf\x11", 0, "", 0, "a Wave64 file"},
}

// sniff names the format by the first bytes: "wav", "flac", "ogg", "mp3",
// "id3", the name of something else, or "".
func sniff(h []byte) string {
	has := func(s string, at int) bool { return len(h) >= at && bytes.HasPrefix(h[at:], []byte(s)) }
	for _, b := range beginnings {
		if has(b.magic, b.at) && has(b.also, b.there) {
			return b.name
		}
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
		return faultf("%s, whatever its name says", kind)
	}
	return Fault(kind)
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
