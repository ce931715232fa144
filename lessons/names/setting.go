package names

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
)

// LimiterPlace is the limiter's place, one control for two switches.
const LimiterPlace = "limiter_place"

// Get reads a setting of a chain: float64, bool or string.
func Get(c *sim.Chain, key string) any {
	if key == LimiterPlace {
		return string(c.Place())
	}
	s, ok := sim.SettingByKey(key)
	if !ok {
		panic("lessons: no setting " + key)
	}
	return s.Value(c)
}

// Shared tells whether a setting holds for all strips when no strip is named.
func Shared(key string) bool { return scenario.Shared(key) }

// Put changes a setting by its control key ("A.preamp.gain_db", "distance_m",
// "A.limiter_place"). The scenario has the last word on ranges.
func Put(s *scenario.Scenario, key string, v any) error {
	strip, rest, ok := strings.Cut(key, ".")
	if !ok || s.Strip(strip) == nil {
		return s.Set(key, ValueText(v))
	}
	if rest == LimiterPlace {
		w, _ := v.(string)
		switch p := sim.LimiterPlace(w); p {
		case sim.LimiterOff, sim.LimiterBefore, sim.LimiterAfter:
			st := s.Strip(strip)
			st.Chain = st.Chain.WithPlace(p)
			return nil
		}
		return fmt.Errorf("%s: there is no %v: a limiter's place is off, before or after", key, v)
	}
	return s.Set("strips."+key, ValueText(v))
}

// FaultText is the message of an error without its place.
func FaultText(err error) string {
	var se *scenario.Error
	if errors.As(err, &se) && len(se.Faults) > 0 {
		return se.Faults[0].Msg
	}
	return plain.OneLine(err.Error())
}

// IsSetting tells whether a key names a setting of a strip or of the bench, and if
// not, which one may be meant; those that are unlocked come first.
func IsSetting(key string, s *scenario.Scenario, unlocked []string) (hint string, ok bool) {
	rest := Stripless(key, s)
	if _, known := Setting(rest); !known {
		return plain.DidYouMean(key, unlocked), false
	}
	if rest != key || Shared(key) {
		return "", true
	}
	meant := s.StripNames()[0] + "." + key
	for _, u := range unlocked {
		if strings.HasSuffix(u, "."+key) {
			meant = u
			break
		}
	}
	return fmt.Sprintf(": it belongs to a strip: did you mean %s?", meant), false
}

// Stripless is the key of a setting without the name of its strip.
func Stripless(key string, s *scenario.Scenario) string {
	if strip, rest, ok := strings.Cut(key, "."); ok && s.Strip(strip) != nil {
		return rest
	}
	return key
}
