package kit

import (
	"math"
	"strings"

	"gainwright/scenes/ui"
	"gainwright/sim"
)

// RatioTop is the end of a ratio's slider, which stands for infinity.
const RatioTop = 21

// SettingOf finds the setting that a control belongs to, by its ID without the
// strip. word is what a choice becomes by pressing it; a switch between two words
// is told by none, since that depends on how it stands.
func SettingOf(id string) (s *sim.Setting, word string, ok bool) {
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

// IsOn tells how the switch of a setting stands.
func IsOn(s *sim.Setting, c *sim.Chain) bool {
	if s.Kind == sim.Choice {
		return s.Value(c) == s.Switch
	}
	return s.Get(c) != 0
}

// Turned is the value of a switch after it was pressed: 0 or 1, also of a choice
// of two words.
func Turned(s *sim.Setting, c *sim.Chain) float64 {
	if s.Kind == sim.Choice {
		on := s.WordIndex(s.Switch)
		if IsOn(s, c) {
			on = 1 - on
		}
		return float64(on)
	}
	return 1 - s.Get(c)
}

// Asked is the value that an intent asks for a setting of c.
func Asked(f *sim.Setting, word string, c *sim.Chain, it ui.Intent) (float64, error) {
	switch {
	case word != "":
		return float64(f.WordIndex(word)), nil
	case f.Kind != sim.Number:
		return Turned(f, c), nil
	}
	lo, hi := f.Min, f.Max
	now, def := f.Get(c), sim.Default()
	d := f.Get(&def)
	if f.Unit == ":1" {
		hi = RatioTop
		now, d = min(now, hi), min(d, hi)
	}
	v, err := Number(it, now, d, f.Step, lo, hi)
	if err == nil && f.Unit == ":1" && v > RatioTop-1 {
		v = math.Inf(1)
	}
	return v, err
}
