package bench

import (
	"math"

	"gainwright/sounds"
)

// MendedTrack is what a strip of the take became by mending.
type MendedTrack struct {
	of    *Take
	strip int
	X     []float32 // nil: there is none
	Lufs  float64
}

// loadTake gives the player the tracks of the take: its strips, what was spoken,
// and what was mended of it.
func (s *Session) loadTake() {
	var tracks []sounds.Track
	t := s.take
	if s.mended.of != t || t == nil {
		s.mended = MendedTrack{of: t, Lufs: math.NaN()}
		if s.d.listen == ListenMended {
			s.d.listen = ListenA
		}
	}
	if t != nil {
		for i := range t.N {
			tracks = append(tracks, sounds.Track{Samples32: t.File[i]})
		}
		tracks = append(tracks, sounds.Track{Samples32: t.Spoken})
		if s.mended.X != nil {
			tracks = append(tracks, sounds.Track{Samples32: s.mended.X})
		}
	}
	if err := s.player.Load(tracks...); err != nil {
		panic("bench: " + err.Error()) // all tracks are as long as the take
	}
}

// SetMended makes x, as long as the take, what the take's strip became by mending,
// full scale 1, of that loudness. What plays goes on.
func (s *Session) SetMended(strip int, x []float32, lufs float64) {
	t := s.take
	if t == nil || !t.Done || int64(len(x)) != t.Frames() {
		return
	}
	s.mended = MendedTrack{of: t, strip: strip, X: x, Lufs: lufs}
	s.loadTake()
	s.player.Select(s.track(s.d.listen))
	s.loopTake()
	s.push()
}

// Mended is the mended version of a strip of the take and how loud it is, LUFS; nil
// where there is none.
func (s *Session) Mended() (strip int, x []float32, lufs float64) {
	if !s.HasMended() {
		return s.mended.strip, nil, 0
	}
	return s.mended.strip, s.mended.X, s.mended.Lufs
}

// HasMended tells whether something of the take was mended.
func (s *Session) HasMended() bool { return s.mended.X != nil && s.mended.of == s.take }

// DropMended forgets what was mended, of whatever strip.
func (s *Session) DropMended() {
	if s.mended.X == nil {
		return
	}
	s.mended = MendedTrack{of: s.take, Lufs: math.NaN()}
	if s.d.listen == ListenMended {
		s.d.listen = ListenA
	}
	s.loadTake()
	s.player.Select(s.track(s.d.listen))
	s.loopTake()
	s.push()
}

// CanHear tells whether the take has that sound.
func (s *Session) CanHear(l Listen) bool {
	switch t := s.take; {
	case t == nil:
		return false
	case l == ListenSpoken:
		return true
	case l == ListenMended:
		return s.HasMended()
	default:
		return int(l) < t.N
	}
}
