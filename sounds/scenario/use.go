package scenario

import (
	"slices"

	"gainwright/sim"
	"gainwright/sounds/equipment"
)

// NewOn is New on a user's recorder: what was measured fills in for a typical one.
func NewOn(r *equipment.Recorder) (*Scenario, error) {
	f, err := r.On(sim.Default())
	if err != nil {
		return nil, err
	}
	s := fresh(f.Chain)
	s.Recorder, s.Fit = r, f
	return s, nil
}

// Use puts a scenario that is there already on a user's recorder: all that was measured
// replaces what the strips have. A strip keeps its gain as far as the knob can give it.
// With nil the recorder is forgotten, and the strips stay as they are.
func (s *Scenario) Use(r *equipment.Recorder) error {
	if r == nil {
		s.Recorder, s.Fit = nil, nil
		return nil
	}
	next := s.Clone()
	base, err := r.On(s.Base)
	if err != nil {
		return err
	}
	for i := range next.Strips {
		f, err := r.On(s.Strips[i].Chain)
		if err != nil {
			return err
		}
		next.Strips[i].Chain = f.Chain
	}
	next.Base, next.Recorder, next.Fit = base.Chain, r, base
	*s = *next
	return nil
}

// Knob is the knob of the recorder, or nil.
func (s *Scenario) Knob() *equipment.Knob {
	if s.Fit == nil {
		return nil
	}
	return s.Fit.Knob
}

// Departs lists the settings of strips, by their paths, in which the scenario does not
// follow the recorder.
func (s *Scenario) Departs() (keys []string) {
	if s.Fit == nil {
		return nil
	}
	for _, st := range s.Strips {
		for _, k := range s.Fit.Departs(st.Chain) {
			if !Shared(k) {
				k = "strips." + st.Name + "." + k
			}
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	return keys
}

// SetMark turns the knob of every strip to a mark. What is wrong is an *Error.
func (s *Scenario) SetMark(mark float64) error {
	why := ""
	s.Each(func(c *sim.Chain) {
		if g, w := gainAt(s.Fit, *c, mark); w != "" {
			why = w
		} else {
			c.Preamp.GainDB = g
		}
	})
	if why != "" {
		return &Error{Faults: []Fault{{Name: "mark", Msg: why}}}
	}
	return nil
}
