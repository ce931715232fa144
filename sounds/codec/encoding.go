package codec

import (
	"fmt"
)

// Encoding is how a file stores one sample.
type Encoding int

const (
	EncodingUnknown Encoding = iota
	PCM8                     // 8-bit integer (unsigned in WAV, signed in FLAC)
	PCM12                    // 12-bit integer, FLAC only
	PCM16                    // 16-bit integer
	PCM20                    // 20-bit integer, FLAC only
	PCM24                    // 24-bit integer
	PCM32                    // 32-bit integer
	Float32                  // IEEE 754 single precision, full scale at 1
	Float64                  // IEEE 754 double precision, full scale at 1
	Vorbis                   // lossy, decodes to floating point
	MP3                      // lossy, decoded to 16 bits
)

var encodingNames = [...]string{"unknown", "pcm8", "pcm12", "pcm16", "pcm20", "pcm24", "pcm32", "float32", "float64", "vorbis", "mp3"}

// String gives the name used in scenarios and reports, such as "pcm24".
func (e Encoding) String() string {
	if e < 0 || int(e) >= len(encodingNames) {
		return fmt.Sprintf("encoding %d", int(e))
	}
	return encodingNames[e]
}

// ParseEncoding is the inverse of String for the encodings that WAVWriter
// writes: pcm16, pcm24, pcm32, float32.
func ParseEncoding(s string) (Encoding, error) {
	for _, e := range []Encoding{PCM16, PCM24, PCM32, Float32} {
		if s == e.String() {
			return e, nil
		}
	}
	return EncodingUnknown, fmt.Errorf("unknown encoding %q: pcm16, pcm24, pcm32 or float32", s)
}

// Bits is the word length of an integer or floating-point encoding, and 0 for
// a lossy one.
func (e Encoding) Bits() int {
	switch e {
	case PCM8:
		return 8
	case PCM12:
		return 12
	case PCM16:
		return 16
	case PCM20:
		return 20
	case PCM24:
		return 24
	case PCM32, Float32:
		return 32
	case Float64:
		return 64
	}
	return 0
}

// Float reports whether samples may lie beyond full scale.
func (e Encoding) Float() bool { return e == Float32 || e == Float64 || e == Vorbis }
