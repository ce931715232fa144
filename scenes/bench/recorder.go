package bench

import (
	"math"

	"gainwright/sim"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario"
)

// Recorder is the user's own recorder, or nil.
func (s *Session) Recorder() *equipment.Recorder { return s.own.recorder }

// KnowRecorder shows the marks of a user's recorder from now on; nil forgets it. The strips
// stay as they are.
func (s *Session) KnowRecorder(r *equipment.Recorder) error {
	own := owned{recorder: r, marked: make([]marked, MaxStrips)}
	if r != nil {
		f, err := r.On(sim.Default())
		if err != nil {
			return err
		}
		if f.Knob != nil && f.Knob.Anchored {
			own.knob = f.Knob
		}
	}
	s.own = own
	return nil
}

// UseRecorder puts all strips on a user's recorder, each at its gain as far as the knob can
// give it, and shows its marks. What the file does not tell is in Fit.Assumed.
func (s *Session) UseRecorder(r *equipment.Recorder) (*equipment.Fit, error) {
	var fit *equipment.Fit
	set := s.Setup()
	for i := range set.Chain {
		f, err := r.On(set.Chain[i])
		if err != nil {
			return nil, err
		}
		set.Chain[i] = f.Chain
		if fit == nil {
			fit = f
		}
	}
	if err := s.SetSetup(set); err != nil {
		return nil, err
	}
	return fit, s.KnowRecorder(r)
}

// OpenScenario takes over the set-up of a scenario file, and the recorder that it runs on.
// An equipment file is one, too.
func (s *Session) OpenScenario(name string, data []byte) error {
	sc, err := scenario.Parse(name, data)
	if err != nil {
		return err
	}
	p, err := fromScenario(sc, s.Setup())
	if err != nil {
		return err
	}
	if err := s.SetSetup(p); err != nil || sc.Recorder == nil {
		return err
	}
	return s.KnowRecorder(sc.Recorder)
}

// Scenario writes the set-up as a scenario file, with the user's recorder.
func (s *Session) Scenario() ([]byte, error) { return s.set.scenario(s.own.recorder) }

// MarkAt says where a gain lies on the user's knob: "mark 4½"; nothing if that is not known
// or the knob has no such gain.
func (s *Session) MarkAt(c sim.Chain) string {
	k := s.own.knob
	if k == nil {
		return ""
	}
	at := k.Find(c)
	if math.Abs(at.Beyond) > 0.5 {
		return ""
	}
	return "mark " + equipment.MarkText(k.Near(at.Mark))
}

// Mark is MarkAt of a strip as it is set.
func (s *Session) Mark(i int) string {
	if s.own.knob == nil {
		return ""
	}
	m := &s.own.marked[i]
	if c := s.set.Chain[i]; m.of != c {
		m.of, m.say = c, s.MarkAt(c)
	}
	return m.say
}
