package bench

import "gainwright/sim/plan"

// Heard is what was heard of the guest who sits there: in the sound check, where laughs
// come on request, and in takes since.
func (s *Session) Heard() (check, takes plan.Heard) {
	if s.file.Own() {
		return s.file.seen, plan.Heard{} // what is only repeated tells nothing more
	}
	return s.heard.check.Heard(true), s.heard.takes.Heard(false)
}

// HeardRev changes with Heard.
func (s *Session) HeardRev() int { return s.heard.rev }
