package voice

import (
	"cmp"
	"fmt"
	"gainwright/sounds/voice/english"
	"slices"
	"strings"
)

// Event is one thing that happens in a performance. Do names it:
//
//	say      Text is spoken at Effort (moving to EffortTo, sentence by sentence)
//	laugh    a bout of laughter; Effort from a chuckle (quiet) to a roar (shout)
//	cough    a cough
//	breath   a breath drawn in
//	pop      a plosive blown straight at the microphone; heard when it is close
//	clap     one hand clap
//	chair    a creak and a thump
//	lean     the talker moves to DistanceM from the microphone within OverS
//	pause    nothing, for OverS seconds
//
// Do may be left out where Text is given.
type Event struct {
	// AtS is when it starts, in seconds. Left out, the event follows the one
	// before it. One talker does one thing at a time: what would start while
	// the same mouth is busy starts when it is free.
	AtS      *float64 `yaml:"at_s,omitempty" json:"at_s,omitempty"`
	Do       string   `yaml:"do,omitempty" json:"do,omitempty"`
	Text     string   `yaml:"text,omitempty" json:"text,omitempty"`
	Effort   Effort   `yaml:"effort,omitempty" json:"effort,omitzero"`
	EffortTo Effort   `yaml:"effort_to,omitempty" json:"effort_to,omitzero"`
	Talker   string   `yaml:"talker,omitempty" json:"talker,omitempty"`
	// LevelDB is added to the level that the effort gives, -40..+40 dB.
	LevelDB float64 `yaml:"level_db,omitempty" json:"level_db,omitempty"`
	// DistanceM is where a lean ends, or how far the mouth is at a pop: 0.02..2 m.
	DistanceM float64 `yaml:"distance_m,omitempty" json:"distance_m,omitempty"`
	// OverS is how long a lean or a pause takes, in seconds.
	OverS float64 `yaml:"over_s,omitempty" json:"over_s,omitempty"`
}

// Script is what happens, in order.
type Script []Event

// Seconds makes a value for AtS.
func Seconds(s float64) *float64 { return &s }

// Limits of a script.
const (
	maxEvents  = 20000
	maxSeconds = 4 * 3600
)

var deeds = []string{"say", "laugh", "cough", "breath", "pop", "clap", "chair", "lean", "pause"}

// deed is Do with its default.
func (e *Event) deed() string {
	if e.Do == "" && e.Text != "" {
		return "say"
	}
	return e.Do
}

// Validate reports the first entry that cannot be performed, counted from 1,
// and what is wrong with it.
func (s Script) Validate() error {
	if len(s) > maxEvents {
		return fmt.Errorf("script: %d entries; the most is %d", len(s), maxEvents)
	}
	for i := range s {
		if err := s[i].check(); err != nil {
			return fmt.Errorf("script entry %d: %w", i+1, err)
		}
	}
	return nil
}

// in refuses what is outside lo to hi, and what is not a number.
func in(name string, v, lo, hi float64) error {
	if !(v >= lo && v <= hi) {
		return fmt.Errorf("%s: %v is outside %v to %v", name, v, lo, hi)
	}
	return nil
}

func (e *Event) check() error {
	do := e.deed()
	if !slices.Contains(deeds, do) {
		return fmt.Errorf("do: %q is not one of %s", e.Do, strings.Join(deeds, ", "))
	}
	if e.AtS != nil {
		if err := in("at_s", *e.AtS, 0, maxSeconds); err != nil {
			return err
		}
	}
	if e.Talker != "" {
		if _, err := Find(e.Talker); err != nil {
			return err
		}
	}
	if err := cmp.Or(in("effort", e.Effort.value, 0, 1), in("effort_to", e.EffortTo.value, 0, 1), in("level_db", e.LevelDB, -40, 40)); err != nil {
		return err
	}
	if e.DistanceM != 0 || do == "lean" {
		if err := in("distance_m", e.DistanceM, 0.02, 2); err != nil {
			return err
		}
	}
	if err := in("over_s", e.OverS, 0, 600); err != nil {
		return err
	}
	if do == "say" {
		return e.checkSaid()
	}
	return e.checkDone(do)
}

// checkSaid is for what is spoken.
func (e *Event) checkSaid() error {
	if e.Text == "" {
		return fmt.Errorf("text: say needs something to say")
	}
	if _, err := english.Parse(e.Text); err != nil {
		return fmt.Errorf("text: %w", err)
	}
	return nil
}

// checkDone is for all else.
func (e *Event) checkDone(do string) error {
	switch {
	case e.Text != "":
		return fmt.Errorf("text: only say has a text, this is %s", do)
	case !e.EffortTo.IsZero():
		return fmt.Errorf("effort_to: only say moves its effort, this is %s", do)
	case do == "pause" && e.OverS == 0:
		return fmt.Errorf("over_s: a pause needs its length in seconds")
	}
	return nil
}
