package bench

// A Puller gives what a microphone hears as it is pulled: exactly len(dst) samples, full
// scale ±1. The clock that pulls the bench calls it; it never waits.
type Puller interface{ Pull(dst []float64) }

// live is a microphone in place of the performer.
type live struct {
	in    Puller
	scale float64 // Pa at 1 m of a sample of 1
}

// EndLive gives the strips back to the talker. A take that was recorded live ends.
func (s *Session) EndLive() {
	if s.live == nil {
		return
	}
	if s.mode == ModeRecord && s.take.perf.Live {
		s.Stop()
	}
	s.live = nil
	s.d.skipTo = s.wrote.Load()
	s.heard.anew(s.aheadFrame())
	if s.mode != ModeRecord {
		s.ClearHold()
	}
	s.push()
}
