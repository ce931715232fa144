package scenario

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
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
	// Recorder is the equipment that the scenario runs on, nil for a typical one, and Fit
	// the chain that stands for it: see Use.
	Recorder *equipment.Recorder
	Fit      *equipment.Fit
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
	// Conversation, where it has minutes, made the Script, from the seed.
	Conversation Conversation
	File         string
	// LevelDBSPL is the level that the loudest second of the file is given, at
	// 1 m from the talker.
	LevelDBSPL float64
}

// A Conversation is a script made from the scenario's seed: the source's talker and
// others talk for so long, laugh, cough and speak up as they warm. The others speak
// into the same microphone from the same place.
type Conversation struct {
	Minutes float64
	With    []string // the other talkers; nobody: the talker tells it alone
}

// Leaning in a conversation: times the distance of the scenario at most and at
// least, about the distance that the generator takes for an ordinary one.
const (
	leanAbout                 = 0.15 // m
	leanLeast, leanMost       = 0.5, 2.0
	nearestLean, farthestLean = 0.02, 2.0 // m
)

// write makes the script of a conversation, if there is one. Who leans in or back
// returns the next time to the distance from which the scenario is recorded.
func (src *Source) write(seed uint64, distanceM float64) {
	c := src.Conversation
	if c.Minutes == 0 || src.File != "" {
		return
	}
	src.Script = voice.GenerateConversation(seed, c.Minutes, append([]string{src.Talker}, c.With...)...)
	away := false
	for i := range src.Script {
		e := &src.Script[i]
		if e.Do != "lean" || !strings.EqualFold(e.Talker, src.Talker) {
			continue
		}
		if away = !away; away {
			e.DistanceM = min(farthestLean, max(nearestLean, distanceM*min(leanMost, max(leanLeast, e.DistanceM/leanAbout))))
		} else {
			e.DistanceM = min(farthestLean, max(nearestLean, distanceM))
		}
	}
}

// Limits of a scenario.
const (
	// Range of a conversation's length, minutes.
	MinConversation, MaxConversation = 0.5, 180
	MaxBytes                         = 256 << 10 // of the text
	MaxStrips                        = 16
	// MaxSeed is the largest seed: the largest whole number that every reader of
	// JSON keeps exact.
	MaxSeed = 1<<53 - 1
	// Range of level_db_spl, dB SPL at 1 m: from a whisper far below speech to
	// what a trumpet reaches.
	MinLevelDBSPL, MaxLevelDBSPL = 20, 130
)

// New returns a scenario with one strip, all defaults, and the script that any
// talker has.
func New() *Scenario { return fresh(sim.Default()) }

func fresh(c sim.Chain) *Scenario {
	return &Scenario{
		Title: "A first take", Seed: 1, Base: c,
		Source: Source{Talker: DefaultTalker, Script: DefaultScript(), LevelDBSPL: sounds.LoudSpeechDBSPL},
		Strips: []Strip{{"A", c}},
		Plan:   Plan{plan.Default(), plan.DefaultLimits()},
	}
}

// Load reads the scenario file at path. What cannot be read is a
// *sounds.InputError, what is wrong in it an *Error.
func Load(path string) (*Scenario, error) { return LoadOn(nil, path) }

// LoadOn is Load on a user's recorder: see ParseOn.
func LoadOn(r *equipment.Recorder, path string) (*Scenario, error) {
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
	s, err := parse(r, path, data, func(name string) ([]byte, string, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(path), name)
		}
		text, err := equipment.Bytes(name)
		return text, name, err
	})
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
