package lessons

import (
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Kind is what a step asks of the student.
type Kind string

// The kinds of steps. The file writes the kind as the key of the step's text.
const (
	Say     Kind = "say"     // something to read
	Predict Kind = "predict" // a question answered before hearing; the answer stands
	Do      Kind = "do"      // settings to find and a take whose readings must obey a rule
	Record  Kind = "record"  // a take, whatever it gives
	Listen  Kind = "listen"  // strips to compare by ear
	Ask     Kind = "ask"     // a question with a right answer
	Explain Kind = "explain" // words of one's own, kept for the trainer
	Reveal  Kind = "reveal"  // what came of the predictions
)

var kinds = []string{"say", "predict", "do", "record", "listen", "ask", "explain", "reveal"}

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
	Pass    float64 // share of the points that passes, 0 to 1
	Steps   []*Step
	Sources []Source
	Vary    []Draw
	// Hash is the SHA-256 of everything that the lesson says, in hex.
	Hash string
	// Notes are places worth a second look that are no faults.
	Notes []Fault

	base   *scenario.Scenario
	takes  map[string]voice.Script
	locked string
	text   []byte
}

// A Step is one thing to do. Fields that its kind does not use are zero.
type Step struct {
	ID     string
	Kind   Kind
	Text   *Text // what is asked or told
	Points float64
	Must   bool // the lesson cannot be passed without it
	Line   int  // in the file

	Set []Setting // made when the step begins

	Question *Question // predict and ask
	Least    int       // explain: characters that an answer has at least

	Take     string // do and record: the name of the script; "" for the scenario's own
	Rule     *Expr  // do
	Hints    []Hint // do
	Controls []Control
	Locked   string // why the rest is locked
	Attempts int    // do and record: how many takes, 0 for any number
	Riding   bool   // do and record: settings may change while the take rolls

	Strips  []string // listen: what is compared; Spoken is the talker's own wave
	Matched bool     // listen: at one loudness
	Trials  int      // listen: how many blind trials, 0 for none

	Of []string // reveal: the predictions
}

// Spoken is what listen steps call the talker's own wave.
const Spoken = "spoken"

// A Setting is a value for a setting, by its key.
type Setting struct {
	Key   string
	Value any // float64, bool or string
}

// A Question is answered by a choice, a number or a short text; exactly one of
// Choices, Number and Accept is set.
type Question struct {
	Choices []Choice
	Number  *NumberAnswer
	Accept  []string // short texts that count as right; empty: any
	IsText  bool
	Because *Text // told after the answer
	Tries   int   // how often one may answer: 1 or more
}

// A Choice is right when Right is set, or when its rule holds of the take.
type Choice struct {
	Text    string
	Right   bool
	When    *Expr
	Because *Text
}

// Letter names a choice in answers and results: "a", "b", …
func Letter(i int) string { return string(rune('a' + i)) }

// A NumberAnswer is right within a tolerance of what Answer gives.
type NumberAnswer struct {
	Unit      string
	Answer    *Expr // nil for predictions without a right answer
	Tolerance float64
}

// A Hint is told after a take that missed the rule.
type Hint struct {
	When  *Expr // nil: always
	After int   // takes that have to be missed first
	Text  *Text
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

// A Source says where a value that the lesson teaches can be checked.
type Source struct {
	Says   string
	Holds  *Expr // of the takes of a finished lesson; nil: nothing to compute
	Source string
}

// A Draw is a quantity that differs from student to student.
type Draw struct {
	Key    string
	Unit   string
	Values []any // float64 or string; one of them is drawn
}

// The special quantities that a lesson may draw beside the settings.
const (
	drawTalker      = "talker"
	drawPerformance = "performance"
	drawEffort      = "effort_shift"
	drawLevel       = "level_db"
	// talkerName is what rules and texts call the drawn talker in full.
	talkerName = "talker_name"
)

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
func (l *Lesson) Strips() []string { return l.base.StripNames() }

// Of is the sum of all points.
func (l *Lesson) Of() float64 {
	sum := 0.0
	for _, s := range l.Steps {
		sum += s.Points
	}
	return sum
}

// Text gives the file that the lesson was read from.
func (l *Lesson) Text() []byte { return append([]byte(nil), l.text...) }

// IsTake tells whether the step records.
func (s *Step) IsTake() bool { return s.Kind == Do || s.Kind == Record }
