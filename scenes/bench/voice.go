package bench

import (
	"fmt"

	"gainwright/sounds/voice"
)

// ownPerformance is a performance by a voice from its beginning.
func (s *Session) ownPerformance(v *Voice, seed uint64) Performance {
	return Performance{Talker: s.set.Talker, Seed: seed, Effort: voice.Normal.Value(), DistanceM: s.set.Chain[0].DistanceM, Own: v.Perf.Name, OwnSum: v.Sum}
}

// Voice is the learner's own voice that is performed, or nil.
func (s *Session) Voice() *Voice {
	if s.file != nil || s.live != nil || s.perf.own == nil {
		return nil
	}
	return s.perf.own.v
}

func (s *Session) knows(p *Performance) *Voice {
	for _, v := range s.known {
		if v.Perf.Name == p.Own && v.Sum == p.OwnSum {
			return v
		}
	}
	return nil
}

// performerOf makes the performer of a performance.
func (s *Session) performerOf(p *Performance) (*performer, error) {
	if p.Own == "" {
		return newPerformer(p)
	}
	v := s.knows(p)
	if v == nil {
		return nil, fmt.Errorf("the performance is that of your voice “%s”, which is not kept here as it was: it cannot be made again", p.Own)
	}
	return &performer{perf: p, own: newLent(v), lean: -1}, nil
}
