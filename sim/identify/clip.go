package identify

import (
	"io"
	"math"
	"math/bits"
)

// A Shape is how a stage stops.
type Shape string

const (
	Hard  Shape = "hard"
	Round Shape = "round"
)

// A Clip is where a chain stops, as a loud recording shows it.
type Clip struct {
	Level    Estimate // dBFS of a peak; unknown if nothing was clipped
	Shape    Shape
	OneSided bool
	Tops     int
	Why      string
}

// ClipOf tells where a recording that was surveyed is clipped.
func ClipOf(s *Survey) Clip {
	c := Clip{Level: Unknown()}
	q := s.Ceiling
	switch {
	case q.Found() && q.Beside <= (q.Up+q.Down)/2:
		v := dB(q.Level)
		c.Level, c.Shape, c.Tops = Estimate{v, v - 0.02, v + 0.02}, Hard, q.Up+q.Down
		c.OneSided = q.Down == 0 && -s.Low > 1.02*q.Level || q.Up == 0 && s.High > 1.02*q.Level
	case q.Found() || s.Bent:
		v, half := dB(s.Peak())+s.BentBy, 0.07+0.5*s.BentBy
		c.Level, c.Shape, c.Tops = Estimate{v, v - half, v + half}, Round, q.Up+q.Down+q.Beside
		c.Why = "a round stage bends long before it stops: where it would stop is reckoned from how its highest waves crowd"
	default:
		c.Why = "nothing is clipped: record it louder, or at a higher mark"
	}
	return c
}

// wordLength gathers which bits of a recording's codes are used.
type wordLength struct {
	step float64
	used uint64
}

func (w *wordLength) add(v float64) {
	if w.step > 0 {
		k := int64(math.Round(v / w.step))
		if k < 0 {
			k = -k
		}
		w.used |= uint64(k)
	}
}

// bits is the length of the words that are really used, 0 if that cannot be said.
func (w *wordLength) bits() int {
	if w.step <= 0 || w.used == 0 {
		return 0
	}
	return int(math.Round(1-math.Log2(w.step))) - bits.TrailingZeros64(w.used)
}

// A Section is a part of a recording, from a frame to another or, if To is negative, to
// the end.
type Section struct {
	Of       Recording
	From, To int64
	at       int64
}

// Rewind goes to the section's start.
func (s *Section) Rewind() error {
	if err := s.Of.Rewind(); err != nil {
		return err
	}
	s.at = 0
	buf := make([]float64, 1<<13)
	for s.at < s.From {
		n, err := s.Of.Read(buf[:min(int64(len(buf)), s.From-s.at)])
		s.at += int64(n)
		if err != nil {
			return nil // Read meets it again
		}
	}
	return nil
}

// Read reads on.
func (s *Section) Read(dst []float64) (int, error) {
	if s.To >= 0 {
		left := s.To - s.at
		if left <= 0 {
			return 0, io.EOF
		}
		dst = dst[:min(int64(len(dst)), left)]
	}
	n, err := s.Of.Read(dst)
	s.at += int64(n)
	return n, err
}

// Pace asks the recording.
func (s *Section) Pace() error { return paceOf(s.Of)() }
