package codec

import (
	"fmt"
	"io"
	"math"
)

// Limits of what is read.
const (
	MinRate = 8000   // Hz
	MaxRate = 192000 // Hz
	// MostChannels is the most that MaxChannels can allow.
	MostChannels = 8
)

// Info describes an opened file.
type Info struct {
	Format   string // "wav", "flac", "ogg" or "mp3"
	Encoding Encoding
	Rate     int     // Hz
	Channels int     // 1 or more
	Frames   int64   // samples a channel; −1 if the file does not say
	Seconds  float64 // Frames/Rate; −1 if unknown
	// HeldAtFullScale is true where the decoder itself holds values at full
	// scale (MP3): flat tops there may be the decoder's, not the recording's.
	HeldAtFullScale bool
}

// FullScale is the magnitude from which a sample of the file stands at full scale,
// and the distance between neighbouring codes: 1−2^−15 and 2^−15 of 16 bits. What
// holds floating point has neither: +Inf and 0.
func (i Info) FullScale() (full, step float64) {
	bits := min(i.Encoding.Bits(), 24)
	switch {
	case i.Encoding.Float():
		return math.Inf(1), 0
	case i.Encoding == MP3:
		bits = 16 // as its decoder gives
	}
	step = math.Ldexp(1, 1-bits)
	return 1 - step, step
}

// Options are what of a file is let pass.
type Options struct {
	// Lenient reads what is there: data that ends early just ends, values that are not
	// finite read as 0, a wrong checksum is a warning.
	Lenient     bool
	MaxChannels int // 1 to MostChannels
}

// A Fault is what is wrong with a file, in one lower-case line that goes on from the
// file's name: "is empty (0 bytes)".
type Fault string

func (f Fault) Error() string { return string(f) }

func faultf(format string, args ...any) error { return Fault(fmt.Sprintf(format, args...)) }

// input is a file as formats see it: they read its bytes, and say what it is and what
// was let pass.
type input struct {
	src  io.ReadSeeker
	size int64 // bytes
	opt  Options

	info     Info
	warnings []string
}

// decoder is what each format is to a File. read fills planar blocks and returns
// io.EOF at the end.
type decoder interface {
	read(dst [][]float64) (int, error)
}

// checkShape refuses what no part of the program could use. Formats call it
// before they allocate anything by channel.
func (r *input) checkShape(channels, rate int) error {
	if channels < 1 {
		return faultf("has no channels")
	}
	if channels > r.opt.MaxChannels {
		if r.opt.MaxChannels <= 2 {
			return faultf("has %d channels: mono or stereo is needed", channels)
		}
		return faultf("has %d channels: at most %d are read", channels, r.opt.MaxChannels)
	}
	if rate < MinRate || rate > MaxRate {
		return faultf("has a sample rate of %d Hz: %d to %d Hz are read", rate, MinRate, MaxRate)
	}
	return nil
}

func (r *input) warn(format string, args ...any) {
	if len(r.warnings) < 20 {
		r.warnings = append(r.warnings, fmt.Sprintf(format, args...))
	}
}

// seeker is a decoder that can go to a frame without decoding what comes before.
type seeker interface {
	seek(frame int64) error
}

// at writes a position in frames as seconds.
func at(frame int64, rate int) string {
	return fmt.Sprintf("%.3f s", float64(frame)/float64(rate))
}
