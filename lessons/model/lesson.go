// Package model is what a lesson is: its steps, questions, controls and answers, what
// its seed draws, and how an answer is read and graded. Package format makes one of a
// file, package run takes a student through it.
package model

import (
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"
)

// A Change is a setting turned while a take rolls.
type Change struct {
	AtS   float64 `json:"at_s"`
	Key   string  `json:"key"`
	Value any     `json:"value"`
}

// A Fault is one thing that is wrong in a lesson, with its place.
type Fault = plain.Fault

// An Error holds every fault of a lesson, in the order of the file; its text has
// one line for each.
type Error = plain.Error

// Kind is what a step asks of the student.
type Kind string

// The kinds of steps. The file writes the kind as the key of the step's text.
const (
	Say     Kind = "say"     // something to read
	Predict Kind = "predict" // a question answered before hearing; the answer stands
	Do      Kind = "do"      // settings to find and a take whose readings must obey a rule
	Record  Kind = "record"  // a take, whatever it gives
	Listen  Kind = "listen"  // strips to compare by ear
	Mend    Kind = "mend"    // what treatments make of a strip, to hear and to read
	Plan    Kind = "plan"    // what an hour with this guest asks of the gain, worked out of a take
	Twin    Kind = "twin"    // another performance that leaves a strip's file, to hear and to read
	Ask     Kind = "ask"     // a question with a right answer
	Explain Kind = "explain" // words of one's own, kept for the trainer
	Reveal  Kind = "reveal"  // what came of the predictions
)

// Kinds are the kinds of steps as a file writes them.
var Kinds = []string{"say", "predict", "do", "record", "listen", "mend", "plan", "twin", "ask", "explain", "reveal"}

// Limits of a lesson.
const (
	MaxBytes       = 256 << 10
	MaxSteps       = 100
	MaxTakeSeconds = 90 // of one take
)

// A Lesson is a lesson file, read and checked. Start from Load, Parse or
// LoadBuiltin.
type Lesson struct {
	ID      string // for results: lower case words joined by "-"
	Title   string
	For     string // for whom it is
	About   string // Markdown
	Minutes float64
	Needs   []string // the ids of the lessons that this one builds on
	Pass    float64  // share of the points that passes, 0 to 1
	Steps   []*Step
	Sources []Source
	Vary    []Draw
	// Hash is the SHA-256 of everything that the lesson says, in hex.
	Hash string
	// Notes are places worth a second look that are no faults.
	Notes []Fault

	Base   *scenario.Scenario
	Takes  map[string]voice.Script
	Locked string
	File   []byte

	OwnVoice bool // a student may take it with a voice of their own
}

// A Step is one thing to do. Fields that its kind does not use are zero.
type Step struct {
	ID     string
	Kind   Kind
	Text   *rules.Text // what is asked or told
	Points float64
	Must   bool // the lesson cannot be passed without it
	Line   int  // in the file

	Set []Setting // made when the step begins

	Question *Question // predict and ask, and listen if something is asked of what is heard
	Least    int       // explain: characters that an answer has at least

	Take     string      // do and record: the name of the script; "" for the scenario's own
	Rule     *rules.Expr // do
	Hints    []Hint      // do
	Controls []Control
	Locked   string // why the rest is locked
	Attempts int    // do and record: how many takes, 0 for any number
	Riding   bool   // do and record: settings may change while the take rolls

	Strips  []string // listen: what is compared; Spoken is the talker's own wave
	Matched bool     // listen: at one loudness
	Trials  int      // listen: how many blind trials, 0 for none

	From string // mend, plan and twin: the strip that they are about
	Ways []Way  // mend: the treatments by name; they are among Strips

	Of []string // reveal: the predictions

	Show Shown // a picture of the bench beside the words
}

// Shown is a picture of one strip: of the step's own take or, where none is recorded, of
// the last one; before any, of the bench as it stands. The zero value is none.
type Shown struct {
	What  string // Waves or Diagram
	Strip string
}

// What pictures show.
const (
	Waves   = "waves"   // the loudest moment at four places
	Diagram = "diagram" // the levels along the chain
)

// Pictures are the words for them.
var Pictures = []string{Waves, Diagram}

// A Way is what is done to a strip's file, one treatment after the other.
type Way struct {
	Name       string
	Treatments []string // "declip", "limiter", …: take.Treatments
}

// Hears tells whether sounds are compared in a step: then its Strips and Trials count.
func (s *Step) Hears() bool { return s.Kind == Listen || s.Kind == Mend || s.Kind == Twin }

// Works tells whether a step works something out of the last take, and readings of it.
func (s *Step) Works() bool { return FiguresOf(s.Kind) != nil }

// FiguresOf are the readings that steps of a kind work out; nil where they do not.
func FiguresOf(k Kind) []string {
	switch k {
	case Mend:
		return rules.MendedReadings
	case Plan:
		return rules.PlannedReadings
	case Twin:
		return rules.TwinReadings
	}
	return nil
}

// Worked is what rules can name of it.
func (s *Step) Worked() rules.Worked {
	if s.Kind == Mend {
		return rules.Worked{Of: s.WayNames(), Readings: FiguresOf(s.Kind)}
	}
	return rules.Worked{Of: []string{s.From}, Readings: FiguresOf(s.Kind)}
}

// WayNames lists what the ways are called.
func (s *Step) WayNames() []string {
	var out []string
	for _, w := range s.Ways {
		out = append(out, w.Name)
	}
	return out
}

// Way finds a way by its name, or returns nil.
func (s *Step) Way(name string) *Way {
	for i := range s.Ways {
		if s.Ways[i].Name == name {
			return &s.Ways[i]
		}
	}
	return nil
}

// Spoken is what listen steps call the talker's own wave.
const Spoken = "spoken"

// Other is what twin steps call the wave of the second performance.
const Other = "twin"

// A Hint is told after a take that missed the rule.
type Hint struct {
	When  *rules.Expr // nil: always
	After int         // takes that have to be missed first
	Text  *rules.Text
}

// A Source says where a value that the lesson teaches can be checked.
type Source struct {
	Says   string
	Holds  *rules.Expr // of the takes of a finished lesson; nil: nothing to compute
	Source string
}

// Step finds a step by its id, or returns nil.
func (l *Lesson) Step(id string) *Step {
	for _, s := range l.Steps {
		if s.ID == id {
			return s
		}
	}
	return nil
}

// Strips lists the names of the strips.
func (l *Lesson) Strips() []string { return l.Base.StripNames() }

// Of is the sum of all points.
func (l *Lesson) Of() float64 {
	sum := 0.0
	for _, s := range l.Steps {
		sum += s.Points
	}
	return sum
}

// Text gives the file that the lesson was read from.
func (l *Lesson) Text() []byte { return append([]byte(nil), l.File...) }

// IsTake tells whether the step records.
func (s *Step) IsTake() bool { return s.Kind == Do || s.Kind == Record }
