package model

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
)

// A Setting is a value for a setting, by its key.
type Setting struct {
	Key   string
	Value any // float64, bool or string
}

// A Control is a setting that a step unlocks.
type Control struct {
	Key     string // "A.preamp.gain_db", "A.limiter_place", "distance_m"
	Label   string // "preamp gain of A"
	Unit    string
	Min     float64 // of a number
	Max     float64
	Step    float64
	Choices []string // of a word
	Switch  bool     // true or false
}

// ControlFor describes a setting as a control.
func ControlFor(s *scenario.Scenario, key string) Control {
	c := Control{Key: key}
	strip, rest, ok := strings.Cut(key, ".")
	if !ok || s.Strip(strip) == nil {
		strip, rest = "", key
	}
	n, _ := names.Setting(rest)
	c.Label, c.Unit, c.Choices, c.Switch = n.Label, n.Unit, slices.Clone(n.Words), n.Type == names.Boolean
	if strip != "" {
		c.Label += " of " + strip
	}
	if f, ok := sim.SettingByKey(rest); ok && f.Kind == sim.Number {
		c.Min, c.Max, c.Step = f.Min, f.Max, f.Step
	}
	return c
}

// A LockedError refuses a setting that the step does not unlock, and says why.
type LockedError struct{ Key, Why string }

func (e *LockedError) Error() string { return e.Key + " is locked: " + e.Why }

// Read checks a value for a control and brings it into its kept form; why says
// what is wrong. A number may come as a text, with or without its unit.
func (c *Control) Read(v any) (kept any, why string) {
	switch {
	case c.Choices != nil:
		w, ok := v.(string)
		if b, isBool := v.(bool); isBool && !b { // "off" of a careless YAML
			w, ok = "off", true
		}
		if !ok || !slices.Contains(c.Choices, w) {
			return nil, fmt.Sprintf("there is no %v: there are %s", v, plain.Listed(c.Choices, "and"))
		}
		return w, ""
	case c.Switch:
		if b, ok := v.(bool); ok {
			return b, ""
		}
		return nil, fmt.Sprintf("want true or false, not %v", v)
	}
	return c.readNumber(v)
}

// readNumber reads a number, or text of one with the control's unit or none.
func (c *Control) readNumber(v any) (kept any, why string) {
	x, ok := names.Float(v)
	if w, text := v.(string); text {
		var u string
		if x, u, ok = names.ReadNumber(w); ok && u != "" && !strings.EqualFold(u, c.Unit) {
			return nil, fmt.Sprintf("counts in %s, not in %s", names.UnitOf(c.Unit).Say(), plain.Shorten(u))
		}
		if strings.EqualFold(strings.TrimSpace(w), "inf") {
			x, ok = math.Inf(1), true
		}
		if !ok {
			return nil, fmt.Sprintf("%s is not a number: write it as in 12%s", plain.Quote(w), names.Gap(c.Unit))
		}
	}
	switch {
	case !ok:
		return nil, fmt.Sprintf("want a number, not %v", v)
	case !(x >= c.Min && x <= c.Max):
		return nil, fmt.Sprintf("%v%s is out of range: %v to %v%s", x, names.Gap(c.Unit), c.Min, c.Max, names.Gap(c.Unit))
	case math.IsInf(x, 1):
		return "inf", "" // JSON has no number for it
	}
	return x, ""
}
