package scenario

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"

	"gainwright/sounds/scenario/plain"

	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/voice"
)

//go:embed builtin/*.yaml
var builtin embed.FS

// DefaultTalker talks where nobody is named.
const DefaultTalker = "captain"

// DefaultName is the built-in scenario that is used when none is named.
const DefaultName = "captain-laughs"

// DefaultScript is what a talker says and does where no script is given: half a
// minute of talk with the loudest moment, a laugh, late in it.
func DefaultScript() voice.Script {
	return voice.Script{
		{Do: "breath"},
		{Text: "We took the ferry over every morning, in any weather.", Effort: voice.Normal},
		{Text: "You could hear the engine before you could see the bank.", Effort: voice.Normal},
		{Do: "pause", OverS: 1},
		{Text: "And then the wind came up, and I had to call across the water!", Effort: voice.Raised, EffortTo: voice.Loud},
		{Do: "laugh", Effort: voice.At(0.9)},
		{Do: "pause", OverS: 0.8},
		{Text: "Nobody got wet that day. Nearly nobody.", Effort: voice.Normal},
	}
}

// BuiltinNames lists the built-in scenarios, the default one first.
func BuiltinNames() []string {
	var names []string
	list, err := builtin.ReadDir("builtin")
	if err != nil {
		panic("scenario: " + err.Error()) // they are embedded
	}
	for _, e := range list {
		if n := strings.TrimSuffix(e.Name(), ".yaml"); n != DefaultName {
			names = append(names, n)
		}
	}
	slices.Sort(names)
	return append([]string{DefaultName}, names...)
}

// Builtin lists the built-in scenarios, the default one first.
func Builtin() []*Scenario {
	var out []*Scenario
	for _, n := range BuiltinNames() {
		s, err := LoadBuiltin(n)
		if err != nil {
			panic("scenario: " + err.Error()) // tested
		}
		out = append(out, s)
	}
	return out
}

// BuiltinText is the file of a built-in scenario, to start one's own from.
func BuiltinText(name string) ([]byte, error) {
	data, err := builtin.ReadFile(path.Join("builtin", name+".yaml"))
	if err != nil || strings.ContainsAny(name, `/\`) {
		msg := fmt.Sprintf("there is no built-in scenario %s", plain.Quote(name))
		if near := plain.Nearest(name, BuiltinNames()); near != "" {
			msg += fmt.Sprintf(": did you mean %s?", near)
		} else {
			msg += ": there are " + plain.Listed(BuiltinNames(), "and")
		}
		return nil, &sounds.InputError{Msg: msg}
	}
	return data, nil
}

// LoadBuiltin returns the built-in scenario of that name.
func LoadBuiltin(name string) (*Scenario, error) { return LoadBuiltinOn(nil, name) }

// LoadBuiltinOn is LoadBuiltin on a user's recorder: see ParseOn.
func LoadBuiltinOn(r *equipment.Recorder, name string) (*Scenario, error) {
	data, err := BuiltinText(name)
	if err != nil {
		return nil, err
	}
	return ParseOn(r, name+".yaml", data)
}
