package bench

import (
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario"
)

// Scenario writes a set-up as a scenario file. It has no word for locks; a safety
// track is a strip like the others there.
func (p Setup) Scenario() ([]byte, error) { return p.scenario(nil) }

func (p Setup) scenario(r *equipment.Recorder) ([]byte, error) {
	s := scenario.New()
	s.Recorder = r
	s.Title = "Set-up from the bench"
	s.Seed = max(p.Seed, 1) & scenario.MaxSeed
	s.Source.Talker = p.Talker
	s.Base = p.Chain[0]
	s.Strips = nil
	for i := range p.N {
		s.Strips = append(s.Strips, scenario.Strip{Name: StripNames[i], Chain: p.Chain[i]})
	}
	return s.Marshal()
}

// FromScenario takes a set-up out of a scenario file: its first four strips, and
// its talker if it has one.
func FromScenario(name string, data []byte, now Setup) (Setup, error) {
	s, err := scenario.Parse(name, data)
	if err != nil {
		return now, err
	}
	return fromScenario(s, now)
}

func fromScenario(s *scenario.Scenario, now Setup) (Setup, error) {
	p := Setup{N: min(max(len(s.Strips), MinStrips), MaxStrips), Talker: now.Talker, Surprise: now.Surprise}
	for i := range p.Chain {
		p.Chain[i] = s.Strips[min(i, len(s.Strips)-1)].Chain
	}
	if s.Source.File == "" && s.Source.Talker != "" {
		p.Talker = s.Source.Talker
	}
	return p, p.Validate()
}
