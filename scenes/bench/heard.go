package bench

import "gainwright/sim/plan"

// Heard is what was heard of the guest who sits there: in the sound check, where laughs
// come on request, and in takes since.
func (s *Session) Heard() (check, takes plan.Heard) {
	if h, ok := s.asCheck(); ok {
		return h, plan.Heard{} // what is only repeated tells nothing more
	}
	return s.heard.check.Heard(true), s.heard.takes.Heard(false)
}

// HeardRev changes with Heard.
func (s *Session) HeardRev() int { return s.heard.rev }

// asCheck is what the voice that is performed tells as a sound check; ok is false where none is.
func (s *Session) asCheck() (h plan.Heard, ok bool) {
	if v := s.Voice(); v != nil {
		return v.Look.Heard(), true
	}
	return h, false
}
