package scenes

import (
	"math"
	"strings"

	"gainwright/sim"
)

// ratioTop is the end of a ratio's slider, which stands for infinity.
const ratioTop = 21

// settingOf finds the setting that a control belongs to, by its ID without the
// strip. word is what a choice becomes by pressing it; a switch between two words
// is told by none, since that depends on how it stands.
func settingOf(id string) (s *sim.Setting, word string, ok bool) {
	for _, s := range sim.Settings() {
		switch {
		case s.ByPlace:
		case s.Kind == sim.Choice && s.Switch == "":
			if w, of := strings.CutPrefix(id, s.ID+"."); of && s.WordIndex(w) >= 0 {
				return s, w, true
			}
		case s.ID == id:
			return s, "", true
		}
	}
	return nil, "", false
}

// isOn tells how the switch of a setting stands.
func isOn(s *sim.Setting, c *sim.Chain) bool {
	if s.Kind == sim.Choice {
		return s.Value(c) == s.Switch
	}
	return s.Get(c) != 0
}

// turned is the value of a switch after it was pressed: 0 or 1, also of a choice
// of two words.
func turned(s *sim.Setting, c *sim.Chain) float64 {
	if s.Kind == sim.Choice {
		on := s.WordIndex(s.Switch)
		if isOn(s, c) {
			on = 1 - on
		}
		return float64(on)
	}
	return 1 - s.Get(c)
}

// asked is the value that an intent asks for a setting of c.
func asked(f *sim.Setting, word string, c *sim.Chain, it Intent) (float64, error) {
	switch {
	case word != "":
		return float64(f.WordIndex(word)), nil
	case f.Kind != sim.Number:
		return turned(f, c), nil
	}
	lo, hi := f.Min, f.Max
	now, def := f.Get(c), sim.Default()
	d := f.Get(&def)
	if f.Unit == ":1" {
		hi = ratioTop
		now, d = min(now, hi), min(d, hi)
	}
	v, err := numeric(it, now, d, f.Step, lo, hi)
	if err == nil && f.Unit == ":1" && v > ratioTop-1 {
		v = math.Inf(1)
	}
	return v, err
}
