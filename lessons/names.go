package lessons

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"gainwright/sim"
	"gainwright/sounds/scenario"
)

// unit is what a number counts in. Two numbers compare only when their
// dimensions agree; a level counts from a reference, so that two of them may be
// subtracted but not added.
type unit struct {
	name  string // as written: "dBFS"; "" for plain numbers
	dim   string // dBTP and dBFS count from the same full scale, LU are dB
	level bool
}

var (
	pure  = unit{}
	unitD = unit{name: "dB", dim: "dB"}
)

func unitOf(name string) unit {
	switch name {
	case "dBFS", "dBTP":
		return unit{name, "dBFS", true}
	case "LUFS", "dBu", "dBA", "dB SPL":
		return unit{name, name, true}
	case "dB", "LU":
		return unit{name, "dB", false}
	}
	return unit{name, name, false}
}

// kind is the type of an expression.
type kind uint8

const (
	numeric kind = iota
	boolean
	word
)

// Name is one thing that a rule can speak of, below a strip or on its own.
type Name struct {
	Key   string // "headroom_db", "preamp.gain_db", "limiter_place"
	Label string // for people: "headroom"
	Unit  string // "dB"
	kind  kind
	words []string // what a word may be
}

func (n Name) unit() unit { return unitOf(n.Unit) }

var suffixes = []struct{ end, unit string }{
	{"_dbfs", "dBFS"}, {"_dbtp", "dBTP"}, {"_lufs", "LUFS"}, {"_lu", "LU"},
	{"_db", "dB"}, {"_ms", "ms"}, {"_percent", "%"},
}

// readingNames are the readings of a strip, from the fields of sim.Readings.
var readingNames, readingField = func() ([]Name, map[string]int) {
	var out []Name
	at := map[string]int{}
	t := reflect.TypeFor[sim.Readings]()
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		n := Name{Key: key, Label: key}
		for _, s := range suffixes {
			if l, ok := strings.CutSuffix(key, s.end); ok {
				n.Label, n.Unit = l, s.unit
				break
			}
		}
		n.Label = strings.NewReplacer("_", " ", "snr", "signal to noise", "sdr", "distance from the truth").Replace(n.Label)
		at[key] = i
		out = append(out, n)
	}
	return out, at
}()

// Readings lists the readings that rules and texts can name, with their units.
func Readings() []Name { return append([]Name(nil), readingNames...) }

// placeKey is the limiter's place, one control for two switches.
const placeKey = "limiter_place"

// settingNames are the settings of a strip: rules can name them, and steps can
// unlock them.
var settingNames = func() []Name {
	var out []Name
	for _, s := range sim.Settings() {
		if s.ByPlace {
			continue // two switches that are one thing to people
		}
		n := Name{Key: s.Key, Label: s.Name, Unit: s.Unit}
		switch s.Kind {
		case sim.Flag:
			n.kind = boolean
		case sim.Choice:
			n.kind, n.words = word, s.WordList()
		}
		out = append(out, n)
	}
	return append(out, Name{Key: placeKey, Label: "limiter", kind: word, words: []string{string(sim.LimiterOff), string(sim.LimiterBefore), string(sim.LimiterAfter)}})
}()

var settingByKey = func() map[string]Name {
	m := map[string]Name{}
	for _, n := range settingNames {
		m[n.Key] = n
	}
	return m
}()

// Settings lists the settings that rules can name and steps can unlock, with
// their units.
func Settings() []Name { return append([]Name(nil), settingNames...) }

// setting reads a setting of a chain: float64, bool or string.
func setting(c *sim.Chain, key string) any {
	if key == placeKey {
		return string(c.Place())
	}
	s, ok := sim.SettingByKey(key)
	if !ok {
		panic("lessons: no setting " + key)
	}
	return s.Value(c)
}

// sharedSetting tells whether a setting holds for all strips when no strip is named.
func sharedSetting(key string) bool { return scenario.Shared(key) }

// put changes a setting by its control key ("A.preamp.gain_db", "distance_m",
// "A.limiter_place"). The scenario has the last word on ranges.
func put(s *scenario.Scenario, key string, v any) error {
	strip, rest, ok := strings.Cut(key, ".")
	if !ok || s.Strip(strip) == nil {
		return s.Set(key, valueText(v))
	}
	if rest == placeKey {
		w, _ := v.(string)
		switch p := sim.LimiterPlace(w); p {
		case sim.LimiterOff, sim.LimiterBefore, sim.LimiterAfter:
			st := s.Strip(strip)
			st.Chain = st.Chain.WithPlace(p)
			return nil
		}
		return fmt.Errorf("%s: there is no %v: a limiter's place is off, before or after", key, v)
	}
	return s.Set("strips."+key, valueText(v))
}

// valueText writes a value as it would stand in a scenario.
func valueText(v any) string {
	switch v := v.(type) {
	case float64:
		if math.IsInf(v, 1) {
			return "inf"
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	case string:
		return v
	}
	return fmt.Sprint(v)
}

// Number is a reading as it is kept: JSON has no number for infinity, which is
// written as text, nor for "could not be measured", which is null.
type Number float64

// MarshalJSON writes a number, "inf", "-inf" or null.
func (n Number) MarshalJSON() ([]byte, error) {
	switch v := float64(n); {
	case math.IsNaN(v):
		return []byte("null"), nil
	case math.IsInf(v, 1):
		return []byte(`"inf"`), nil
	case math.IsInf(v, -1):
		return []byte(`"-inf"`), nil
	default:
		return json.Marshal(v)
	}
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Number) UnmarshalJSON(b []byte) error {
	switch string(b) {
	case "null":
		*n = Number(math.NaN())
	case `"inf"`:
		*n = Number(math.Inf(1))
	case `"-inf"`:
		*n = Number(math.Inf(-1))
	default:
		return json.Unmarshal(b, (*float64)(n))
	}
	return nil
}

// Measured is the readings of one strip by their names.
type Measured map[string]Number

func measured(r sim.Readings) Measured {
	m := Measured{}
	v := reflect.ValueOf(r)
	for key, i := range readingField {
		switch f := v.Field(i); f.Kind() {
		case reflect.Float64:
			m[key] = Number(f.Float())
		default:
			m[key] = Number(f.Int())
		}
	}
	return m
}

// format writes a number with its unit for people: enough digits to act on.
func format(v float64, u string) string {
	switch {
	case math.IsNaN(v):
		return "not measurable"
	case math.IsInf(v, 0):
		s := "∞"
		if v < 0 {
			s = "−∞"
		}
		return strings.TrimSpace(s + " " + u)
	}
	s := ""
	switch {
	case u == "" || u == "bit":
		s = strconv.FormatFloat(v, 'f', -1, 64)
		if v != math.Trunc(v) {
			s = strconv.FormatFloat(v, 'f', 2, 64)
		}
	case u == "m":
		s = strconv.FormatFloat(round(v, 3), 'f', -1, 64)
	case u == "%" && v != 0 && math.Abs(v) < 0.1:
		s = strconv.FormatFloat(v, 'f', 3, 64)
	case u == "dB" && math.Abs(v) < 0.05 && math.Abs(v) >= 0.0005: // not nothing
		s = strconv.FormatFloat(round(v, 3), 'f', -1, 64)
	case u == "ms" && math.Abs(v) < 10:
		s = strconv.FormatFloat(v, 'f', 2, 64)
	default:
		s = strconv.FormatFloat(v, 'f', 1, 64)
	}
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	s = strings.Replace(s, "-", "−", 1)
	if u == "" {
		return s
	}
	if u == ":1" {
		return s + u
	}
	return s + " " + u
}

// Format writes a reading with its unit for people, with as many digits as one can
// act on.
func Format(v float64, unit string) string { return format(v, unit) }
