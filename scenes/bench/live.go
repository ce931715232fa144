package bench

import (
	"errors"
	"fmt"
	"math"
)

// GoLive has a microphone drive the strips in place of the talker: scale is the pressure
// at 1 m, Pa, of a sample of 1. Nothing of it is heard until Monitor says that there are
// headphones. Choosing a talker, a recording or a voice ends it, as EndLive does.
func (s *Session) GoLive(in Puller, scale float64) error {
	switch {
	case s.mode == ModeRecord:
		return errors.New("a take is being recorded")
	case !(scale > 0 && scale < 1e6):
		return fmt.Errorf("a full scale of %g Pa", scale)
	}
	s.StartCheck()
	s.file, s.phones = nil, false
	s.live = &live{in, scale}
	s.d.skipTo = s.wrote.Load() // what was made ready is somebody else's
	s.heard.anew(s.aheadFrame())
	s.heard.until = s.heard.from // which of it is talk and which a laugh nobody says
	s.lean = leaning{}
	s.applyDistance()
	s.ClearHold()
	return nil
}

// Live reports whether a microphone drives the strips.
func (s *Session) Live() bool { return s.live != nil }

// PlaceLive changes what a sample of 1 is at 1 m, Pa.
func (s *Session) PlaceLive(scale float64) {
	if s.live != nil && scale > 0 && !math.IsInf(scale, 1) {
		s.live = &live{s.live.in, scale}
		s.ClearHold()
	}
}

// Monitor lets what is live be heard, for who wears headphones, or not.
func (s *Session) Monitor(phones bool) {
	s.phones = phones
	s.push()
}
