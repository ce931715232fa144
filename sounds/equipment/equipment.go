// Package equipment reads and writes equipment files: what a user's own recorder was
// measured to be. A file is plain YAML with one section, recorder.
//
// From files alone the microphone's sensitivity, the gain and the full scale are never
// told apart. What stands here is what is known: the gain between marks, the acoustic full
// scale at each mark if a level was known, the noises against full scale, where it clips,
// the limiter. [Recorder.On] makes of it the settings of a chain, and names what the file
// left open; its [Knob] turns marks into gain and back.
package equipment

import (
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"gainwright/sounds"
	"gainwright/sounds/scenario/plain"
)

// MostBytes is how long a file may be.
const MostBytes = 1 << 18

// An Interval is a value and what it lies between in nine cases of ten. Without a value,
// High alone is a bound.
type Interval struct {
	Value *float64 `yaml:"value,omitempty"`
	Low   *float64 `yaml:"low,omitempty"`
	High  *float64 `yaml:"high,omitempty"`
}

// Of makes an Interval; what is not finite is left out.
func Of(value, low, high float64) *Interval {
	one := func(v float64) *float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil
		}
		v = math.Round(v*1000)/1000 + 0 // no −0
		return &v
	}
	i := &Interval{one(value), one(low), one(high)}
	if *i == (Interval{}) {
		return nil
	}
	return i
}

// known tells whether there is a value.
func (i *Interval) known() bool { return i != nil && i.Value != nil }

// widths are how far the ends lie from the value; 0 where there is none.
func (i *Interval) widths() (low, high float64) {
	if i.known() && i.Low != nil {
		low = *i.Value - *i.Low
	}
	if i.known() && i.High != nil {
		high = *i.High - *i.Value
	}
	return low, high
}

// times is the interval times a factor; nil stays nil.
func (i *Interval) times(k float64) *Interval {
	if i == nil {
		return nil
	}
	one := func(v *float64) *float64 {
		if v == nil {
			return nil
		}
		w := *v * k
		return &w
	}
	return &Interval{one(i.Value), one(i.Low), one(i.High)}
}

// A Mark is a setting of the knob.
type Mark struct {
	Mark      float64   `yaml:"mark"`
	Gain      *Interval `yaml:"gain_db"`                     // over the lowest mark
	FullScale *Interval `yaml:"full_scale_db_spl,omitempty"` // of a sine that just reaches full scale
}

// An Anchor is the level by which absolute ones are known.
type Anchor struct {
	Kind  string  `yaml:"kind"`         // calibrator, meter or talk
	Level float64 `yaml:"level_db_spl"` // at the microphone
	Mark  float64 `yaml:"mark"`
}

// Noise is rms against a full-scale sine.
type Noise struct {
	Input  *Interval `yaml:"input_dbfs_at_lowest_mark,omitempty"`
	Output *Interval `yaml:"output_dbfs,omitempty"`
}

// Clip is where the chain stops.
type Clip struct {
	Level    *Interval `yaml:"level_dbfs"`
	Shape    string    `yaml:"shape"`
	OneSided bool      `yaml:"one_sided"`
}

// NotSeen says of a limiter behind another that nothing tells whether there is one.
const NotSeen = "not_seen"

// Limiter is what a pair told.
type Limiter struct {
	Place     string    `yaml:"place"`
	Behind    string    `yaml:"behind,omitempty"` // NotSeen: whether another acts behind one before the converter
	Odds      float64   `yaml:"odds,omitempty"`
	Stretches int       `yaml:"stretches"`
	Threshold *Interval `yaml:"threshold_dbfs,omitempty"`
	Ratio     *Interval `yaml:"ratio,omitempty"`
	Attack    *Interval `yaml:"attack_ms,omitempty"`
	Release   *Interval `yaml:"release_ms,omitempty"`
	Smooths   string    `yaml:"smooths,omitempty"` // what these are time constants of: gain, gain_fed_back, gain_held, amplitude or power
}

// Measured is a file from which something was measured.
type Measured struct {
	What    string  `yaml:"what"`
	File    string  `yaml:"file"`
	SHA256  string  `yaml:"sha256"`
	Seconds float64 `yaml:"seconds"`
}

// A Recorder is the section.
type Recorder struct {
	Learnt     string     `yaml:"learnt"` // the day, YYYY-MM-DD
	Marks      []Mark     `yaml:"marks,omitempty"`
	Anchor     *Anchor    `yaml:"anchor,omitempty"`
	Noise      *Noise     `yaml:"noise,omitempty"`
	Clip       *Clip      `yaml:"clip,omitempty"`
	Limiter    *Limiter   `yaml:"limiter,omitempty"`
	WordLength int        `yaml:"word_length_bits,omitempty"`
	Measured   []Measured `yaml:"measured,omitempty"`
	Assumed    []string   `yaml:"assumed,omitempty"`
}

type file struct {
	Recorder *Recorder `yaml:"recorder"`
}

// PlaceKnown tells whether the limiter is known to act on one side of the converter.
func (r *Recorder) PlaceKnown() bool {
	return r.Limiter != nil && (r.Limiter.Place == "before_converter" || r.Limiter.Place == "after_converter")
}

// Holds names what the file tells of the recorder, and what it leaves open.
func (r *Recorder) Holds() (known, missing []string) {
	for _, p := range []struct {
		what string
		is   bool
	}{
		{"the gain between marks", len(r.Marks) > 1},
		{"a level in dB SPL", r.anchored()},
		{"noise", r.Noise != nil},
		{"where it clips", r.Clip != nil},
		{"the limiter", r.Limiter != nil},
		{"the word length", r.WordLength > 0},
	} {
		if p.is {
			known = append(known, p.what)
		} else {
			missing = append(missing, p.what)
		}
	}
	return known, missing
}

// Said tells in words what the file holds and what it leaves open: "tells ... .".
func (r *Recorder) Said() string {
	known, missing := r.Holds()
	s := "tells " + plain.Listed(known, "and") + "."
	if len(missing) > 0 {
		s += " Not in it, so that a scenario's own or typical values hold: " + plain.Listed(missing, "and") + "."
	}
	return s
}

// Bare tells whether nothing is known but perhaps how long words are: a chain on such a recorder
// is the chain that it was, and a file of it is of no use.
func (r *Recorder) Bare() bool {
	o := *r
	o.WordLength = 0
	known, _ := o.Holds()
	return len(known) == 0
}

// Write gives the file; Read gives the same recorder back.
func (r *Recorder) Write() ([]byte, error) { return yaml.Marshal(file{r}) }

// Bytes reads what stands in a file, to be given to Read. What cannot be read is a
// *sounds.InputError.
func Bytes(path string) ([]byte, error) {
	st, err := os.Stat(path)
	msg := ""
	switch {
	case os.IsNotExist(err):
		msg = "no such file"
	case err != nil:
		msg = err.Error()
	case st.IsDir():
		msg = "is a directory; an equipment file is a YAML file"
	case st.Size() > MostBytes:
		msg = fmt.Sprintf("is too long for an equipment file: %d bytes, the most is %d", st.Size(), MostBytes)
	default:
		data, err := os.ReadFile(path)
		if err == nil {
			return data, nil
		}
		msg = "cannot be read"
		if os.IsPermission(err) {
			msg = "permission denied"
		}
	}
	return nil, &sounds.InputError{Path: path, Msg: msg, Err: err}
}

// Load reads the equipment file at path.
func Load(path string) (*Recorder, error) {
	data, err := Bytes(path)
	if err != nil {
		return nil, err
	}
	return Read(path, data)
}

// Read reads a file of that name. What is wrong is a *plain.Error: a line each, with its
// place.
func Read(name string, data []byte) (*Recorder, error) {
	var faults []plain.Fault
	text := plain.Text(data)
	fault := func(t *token.Token, format string, args ...any) {
		f := plain.Fault{Name: name, Msg: fmt.Sprintf(format, args...)}
		if t != nil && t.Position != nil {
			f.Line, f.Column = t.Position.Line, t.Position.Column
		}
		faults = append(faults, f)
	}
	root := plain.Parse(text, "equipment file", MostBytes, fault)
	if root == nil || len(faults) > 0 {
		if len(faults) == 0 {
			faults = append(faults, plain.Fault{Name: name, Msg: "holds nothing"})
		}
		return nil, plain.Gather(name, faults, 5)
	}
	var f file
	if faults := decode(name, root, &f); faults != nil {
		return nil, plain.Gather(name, faults, 1)
	}
	if f.Recorder == nil {
		return nil, plain.Gather(name, []plain.Fault{{Name: name, Msg: "has no section recorder"}}, 1)
	}
	if faults := f.Recorder.check(name); len(faults) > 0 {
		return nil, plain.Gather(name, faults, 5)
	}
	return f.Recorder, nil
}

// Section reads the section where another file of that name contains it.
func Section(name string, n ast.Node) (*Recorder, []plain.Fault) {
	r := &Recorder{}
	faults := decode(name, n, r)
	if faults == nil {
		faults = r.check(name)
	}
	for i := range faults {
		if faults[i].Key == "" {
			faults[i].Key = "recorder"
		}
	}
	if len(faults) > 0 {
		return nil, faults
	}
	return r, nil
}

func decode(name string, n ast.Node, v any) []plain.Fault {
	err := yaml.NodeToValue(n, v, yaml.Strict())
	if err == nil {
		return nil
	}
	f := plain.Fault{Name: name, Msg: plain.OneLine(err.Error())}
	if e := yaml.Error(nil); errors.As(err, &e) {
		f.Msg = plain.OneLine(e.GetMessage())
		if t := e.GetToken(); t != nil && t.Position != nil {
			f.Line, f.Column = t.Position.Line, t.Position.Column
		}
	}
	return []plain.Fault{f}
}

// check tells what cannot be.
func (r *Recorder) check(name string) (faults []plain.Fault) {
	say := func(key, format string, args ...any) {
		faults = append(faults, plain.Fault{Name: name, Key: "recorder." + key, Msg: fmt.Sprintf(format, args...)})
	}
	interval := func(key string, i *Interval, lo, hi float64) {
		if i == nil {
			return
		}
		for _, v := range []*float64{i.Value, i.Low, i.High} {
			if v != nil && !(*v >= lo && *v <= hi) {
				say(key, "%g is not from %g to %g", *v, lo, hi)
				return
			}
		}
		low, value, high := math.Inf(-1), math.Inf(-1), math.Inf(1)
		if i.Low != nil {
			low = *i.Low
		}
		if i.High != nil {
			high = *i.High
		}
		if value = low; i.Value != nil {
			value = *i.Value
		}
		if low > value || value > high {
			say(key, "low, value and high are not in this order")
		}
	}
	word := func(key, w string, of ...string) {
		if !slices.Contains(of, w) {
			say(key, "there is no %s: there are %s", plain.Quote(w), plain.Listed(of, "and"))
		}
	}
	last := math.Inf(-1)
	for i, m := range r.Marks {
		key := fmt.Sprintf("marks.%d", i)
		if !(m.Mark > last && m.Mark < 1e6) {
			say(key, "marks ascend, and none stands twice")
		}
		last = m.Mark
		if !m.Gain.known() {
			say(key, "gain_db is missing")
		}
		if i == 0 && m.Gain.known() && *m.Gain.Value != 0 {
			say(key+".gain_db", "gains count from the lowest mark: 0 there, not %g", *m.Gain.Value)
		}
		interval(key+".gain_db", m.Gain, -200, 200)
		interval(key+".full_scale_db_spl", m.FullScale, -50, 250)
	}
	if len(faults) == 0 {
		r.contradictions(say)
	}
	if r.Learnt != "" {
		if _, err := time.Parse(time.DateOnly, r.Learnt); err != nil {
			say("learnt", "%s is no day: want 2026-11-29", plain.Quote(r.Learnt))
		}
	}
	if r.Anchor != nil {
		word("anchor.kind", r.Anchor.Kind, "calibrator", "meter", "talk")
	}
	if r.Noise != nil {
		interval("noise.input_dbfs_at_lowest_mark", r.Noise.Input, -300, 20)
		interval("noise.output_dbfs", r.Noise.Output, -300, 20)
	}
	if r.Clip != nil {
		interval("clip.level_dbfs", r.Clip.Level, -100, 100)
		word("clip.shape", r.Clip.Shape, "hard", "round")
	}
	if l := r.Limiter; l != nil {
		word("limiter.place", l.Place, "none", "before_converter", "after_converter", "both", "automatic_level", "unknown")
		if l.Behind != "" {
			word("limiter.behind", l.Behind, NotSeen)
		}
		interval("limiter.threshold_dbfs", l.Threshold, -200, 40)
		interval("limiter.ratio", l.Ratio, 1, 1e6)
		interval("limiter.attack_ms", l.Attack, 0, 1e5)
		interval("limiter.release_ms", l.Release, 0, 1e6)
		switch l.Smooths {
		case "", "gain", "gain_fed_back", "gain_held", "amplitude", "power":
		default:
			say("limiter.smooths", "%q is none of gain, gain_fed_back, gain_held, amplitude and power", l.Smooths)
		}
	}
	if r.WordLength < 0 || r.WordLength > 64 {
		say("word_length_bits", "%d is not from 0 to 64", r.WordLength)
	}
	return faults
}

// Marks that were mixed up, dB: how far a gain may fall, or full scale and gain disagree,
// beyond their intervals.
const mixedUpDB = 0.5

// contradictions tells where marks do not agree with one another.
func (r *Recorder) contradictions(say func(key, format string, args ...any)) {
	full := r.fullScale()
	for i, m := range r.Marks {
		_, hi := m.Gain.widths()
		if i > 0 {
			was := r.Marks[i-1].Gain
			lo, _ := was.widths()
			if fall := *was.Value - *m.Gain.Value; fall > mixedUpDB+lo+hi {
				say(fmt.Sprintf("marks.%d.gain_db", i), "the gain falls by %.1f dB from mark %s to mark %s: were they mixed up?", fall, MarkText(r.Marks[i-1].Mark), MarkText(m.Mark))
				return
			}
		}
		if !m.FullScale.known() {
			continue
		}
		lo, _ := m.Gain.widths()
		if off := *m.FullScale.Value + *m.Gain.Value - *full.Value; math.Abs(off) > mixedUpDB+max(lo, hi) {
			say(fmt.Sprintf("marks.%d.full_scale_db_spl", i), "contradicts the gain at mark %s by %.1f dB", MarkText(m.Mark), math.Abs(off))
			return
		}
	}
}
