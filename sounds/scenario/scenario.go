package scenario

import (
	"fmt"
	"os"
	"path/filepath"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

// A Scenario says what is recorded and how. Start from New, Parse, Load or
// LoadBuiltin; the zero value is not valid.
type Scenario struct {
	Title string
	About string // what to notice, a sentence or two; may be empty
	Seed  uint64 // of the talker's small accidents and of all noise
	// Base carries what stands above the strips: room, distance, microphone. The
	// rest of it is what a strip starts from.
	Base   sim.Chain
	Source Source
	Strips []Strip // in the order of the file, at least one
	Plan   Plan    // for the planner
	// Dir is where the paths of a source count from; "" is the working directory.
	Dir string
}

// A Strip is a named chain; its name becomes the name of its files.
type Strip struct {
	Name  string
	Chain sim.Chain
}

// Source is a performance, by a talker or from a file. File wins if both stand.
type Source struct {
	Talker string
	Script voice.Script
	File   string
	// LevelDBSPL is the level that the loudest second of the file is given, at
	// 1 m from the talker.
	LevelDBSPL float64
}

// Limits of a scenario.
const (
	MaxBytes  = 256 << 10 // of the text
	MaxStrips = 16
	// MaxSeed is the largest seed: the largest whole number that every reader of
	// JSON keeps exact.
	MaxSeed = 1<<53 - 1
	// Range of level_db_spl, dB SPL at 1 m: from a whisper far below speech to
	// what a trumpet reaches.
	MinLevelDBSPL, MaxLevelDBSPL = 20, 130
)

// New returns a scenario with one strip, all defaults, and the script that any
// talker has.
func New() *Scenario {
	c := sim.Default()
	return &Scenario{
		Title: "A first take", Seed: 1, Base: c,
		Source: Source{Talker: DefaultTalker, Script: DefaultScript(), LevelDBSPL: sounds.LoudSpeechDBSPL},
		Strips: []Strip{{"A", c}},
		Plan:   Plan{plan.Default(), plan.DefaultLimits()},
	}
}

// Load reads the scenario file at path. What cannot be read is a
// *sounds.InputError, what is wrong in it an *Error.
func Load(path string) (*Scenario, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	if st.IsDir() {
		return nil, &sounds.InputError{Path: path, Msg: "is a directory; a scenario is a YAML file"}
	}
	if st.Size() > MaxBytes {
		return nil, &sounds.InputError{Path: path, Msg: fmt.Sprintf("is too long for a scenario: %d bytes, the most is %d", st.Size(), MaxBytes)}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, unreadable(path, err)
	}
	s, err := Parse(path, data)
	if err != nil {
		return nil, err
	}
	s.Dir = filepath.Dir(path)
	return s, nil
}

func unreadable(path string, err error) error {
	msg := err.Error()
	switch {
	case os.IsNotExist(err):
		msg = "no such file"
	case os.IsPermission(err):
		msg = "permission denied"
	}
	return &sounds.InputError{Path: path, Msg: msg, Err: err}
}

// Strip finds a strip by name, or returns nil.
func (s *Scenario) Strip(name string) *Strip {
	for i := range s.Strips {
		if s.Strips[i].Name == name {
			return &s.Strips[i]
		}
	}
	return nil
}

// StripNames lists the strips in order.
func (s *Scenario) StripNames() []string {
	names := make([]string, len(s.Strips))
	for i := range s.Strips {
		names[i] = s.Strips[i].Name
	}
	return names
}

// Each changes the chain of every strip and the base they start from.
func (s *Scenario) Each(change func(*sim.Chain)) {
	change(&s.Base)
	for i := range s.Strips {
		change(&s.Strips[i].Chain)
	}
}
