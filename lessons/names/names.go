// Package names is what rules, texts and controls can name: the readings and settings of
// a strip, with their units, how they are read and changed, and how their values are
// written for people.
package names

import (
	"reflect"
	"strings"

	"gainwright/sim"
)

// Name is one thing that a rule can speak of, below a strip or on its own.
type Name struct {
	Key   string // "headroom_db", "preamp.gain_db", "limiter_place"
	Label string // for people: "headroom"
	Unit  string // "dB"
	Type  Type
	Words []string // what a word may be
}

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
		n.Label = strings.ReplaceAll(n.Label, "_", " ")
		if w, ok := said[key]; ok {
			n.Label = w
		}
		at[key] = i
		out = append(out, n)
	}
	return out, at
}()

// Reading is the reading of that name.
func Reading(key string) (Name, bool) {
	i, ok := readingField[key]
	if !ok {
		return Name{}, false
	}
	return readingNames[i], true
}

// figures are what is worked out of a take and is no reading of a strip, by key: of a plan
// and of the second performance that leaves the same file.
var figures = map[string]Name{
	"low_gain_db":       {Label: "lowest gain of the window", Unit: "dB"},
	"high_gain_db":      {Label: "highest gain of the window", Unit: "dB"},
	"advised_gain_db":   {Label: "gain advised", Unit: "dB"},
	"held_peak_dbfs":    {Label: "highest peak of a minute of talk at the gain advised", Unit: "dBFS"},
	"risk_percent":      {Label: "hours that go over at the gain advised", Unit: "%"},
	"take_risk_percent": {Label: "hours that go over at the gain of the take", Unit: "%"},
	"free_percent":      {Label: "samples that the file leaves free", Unit: "%"},
	"differing_samples": {Label: "samples in which the two files differ"},
	"apart_db":          {Label: "level of the twin over the first where the converter ran out", Unit: "dB"},
	"difference_db":     {Label: "what the two differ by, over the first, there", Unit: "dB"},
	"correlation":       {Label: "correlation of the two there"},
}

// Figure is the reading of that name, or what is worked out of a take.
func Figure(key string) (Name, bool) {
	if n, ok := Reading(key); ok {
		return n, true
	}
	n, ok := figures[key]
	n.Key = key
	return n, ok
}

// Readings lists the readings that rules and texts can name, with their units.
func Readings() []Name { return append([]Name(nil), readingNames...) }

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
			n.Type = Boolean
		case sim.Choice:
			n.Type, n.Words = Word, s.WordList()
		}
		out = append(out, n)
	}
	return append(out, Name{Key: LimiterPlace, Label: "limiter", Type: Word, Words: []string{string(sim.LimiterOff), string(sim.LimiterBefore), string(sim.LimiterAfter)}})
}()

var settingByKey = func() map[string]Name {
	m := map[string]Name{}
	for _, n := range settingNames {
		m[n.Key] = n
	}
	return m
}()

// Setting is the setting of that key.
func Setting(key string) (Name, bool) {
	n, ok := settingByKey[key]
	return n, ok
}

// Settings lists the settings that rules can name and steps can unlock, with
// their units.
func Settings() []Name { return append([]Name(nil), settingNames...) }
