package bench

import "fmt"

// Play plays the take from the place one is at, or from the start if that is
// its end.
func (s *Session) Play() error {
	if s.mode == ModeRecord || s.take == nil || !s.take.Done {
		return fmt.Errorf("there is nothing to play yet: record something first")
	}
	s.SetMode(ModeReview)
	s.HearTake()
	s.player.Play()
	return nil
}

// Playing reports whether the take is being played.
func (s *Session) Playing() bool { return s.mode == ModeReview && s.player.Playing() }

// Place is where in the take one is, in seconds.
func (s *Session) Place() float64 {
	if s.mode == ModeRecord {
		return s.take.Seconds()
	}
	if s.take == nil || !s.take.Done {
		return 0
	}
	return float64(s.player.Position()) / Rate
}

// Seek goes to a place in the take, in seconds.
func (s *Session) Seek(sec float64) {
	if s.take != nil && s.take.Done {
		s.player.SeekTo(int64(sec * Rate))
	}
}

// SetLoop lets playing begin again at the end.
func (s *Session) SetLoop(on bool) {
	s.loop = on
	s.loopTake()
}

// Loop reports whether playing begins again at the end.
func (s *Session) Loop() bool { return s.loop }

// SetMatched chooses whether sources are matched in loudness.
func (s *Session) SetMatched(on bool) {
	s.matched = on
	s.push()
}

// Matched reports whether sources are matched in loudness.
func (s *Session) Matched() bool { return s.matched }

// Shot is the loudest moment held, as of the last Tick.
func (s *Session) Shot() *Window { return s.lastShot }

// Run advances the session by frames, the screen's side and the clock's side
// in turn, as fast as it can: the clock of tests and of offline use.
func (s *Session) Run(frames int) {
	var buf [800][2]float64 // a frame of the screen at 60 Hz
	for frames > 0 {
		n := min(frames, len(buf))
		s.Tick()
		s.Stream(buf[:n])
		frames -= n
	}
	s.Tick()
}
