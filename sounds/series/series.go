// Package series is a test series for one's own recorder: its steps and their sounds, the
// page that leads through it, and what the recordings of it tell. Each recording is read by
// itself, in any order (Read); Sum makes one recorder of what they told.
package series

import (
	"fmt"
	"strconv"
	"strings"

	"gainwright/sim/identify"
)

// Caution stands before everything that is played.
const Caution = "Turn the loudspeaker down before you play a test sound, and up slowly, until it is as loud as talk and no louder. Wear no headphones on the recorder meanwhile: what clips sounds harsh, and a knob that is turned up can be suddenly loud. Local rules and qualified people come before anything said here."

// MostMarks is how many marks a series can have.
const MostMarks = 24

// Marks are those of a series unless others are told.
var Marks = []float64{0, 2, 4, 6, 8, 10}

// A Played is a test sound of the series.
type Played struct {
	Step  identify.Step
	Mark  float64
	File  string // its name
	Label string // where the knob stands, and what else there is to do
}

// List lists the sounds for a knob with these marks, ascending.
func List(marks []float64) (out []Played) {
	add := func(step identify.Step, m float64, label string) {
		out = append(out, Played{step, m, fmt.Sprintf("%s-%s.wav", step, strings.ReplaceAll(Mark(m), ".", "_")), fmt.Sprintf(label, Mark(m))})
	}
	for i, m := range marks {
		if i == 0 || i == len(marks)/2 || i == len(marks)-1 {
			add(identify.Quiet, m, "mark %s: it plays the slate, then nothing; keep quiet for twelve seconds")
		}
	}
	for _, m := range marks {
		add(identify.Steps, m, "mark %s")
	}
	top := marks[len(marks)-1]
	add(identify.Loud, top, "mark %s, or the lowest at which it clips")
	add(identify.Off, top, "mark %s, or the one at which the step before clipped well: limiter off")
	add(identify.On, top, "the same mark as before (the sound says %s; that does not matter): limiter on")
	return out
}

// ParseMarks reads a list of marks, ascending.
func ParseMarks(text string) ([]float64, error) {
	var out []float64
	for _, f := range strings.Split(text, ",") {
		v, err := ParseMark(strings.TrimSpace(f))
		if err != nil {
			return nil, err
		}
		if len(out) > 0 && v <= out[len(out)-1] {
			return nil, fmt.Errorf("%s does not come after %s: marks ascend", Mark(v), Mark(out[len(out)-1]))
		}
		out = append(out, v)
	}
	if len(out) > MostMarks {
		return nil, fmt.Errorf("%d marks are too many: at most %d", len(out), MostMarks)
	}
	return out, nil
}

// ParseMark reads one mark of a knob.
func ParseMark(text string) (float64, error) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= 0 && v <= identify.MostMark) {
		return 0, fmt.Errorf("%q is no mark: number your knob's marks from 0 to %.1f, with at most one decimal", text, identify.MostMark)
	}
	if _, err := identify.WriteSlate(identify.Steps, v, 8000, 0.1); err != nil {
		return 0, fmt.Errorf("%q is no mark: at most one decimal", text)
	}
	return v, nil
}

// Mark writes a mark.
func Mark(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// A Told is what a user says of a file.
type Told struct {
	Step identify.Step
	Pair bool // two channels, limiter off on the first; Step does not count then
	Mark float64
}

// Steps are the words of ParseTold.
const Steps = "quiet, plugged, steps, loud, off, on, pair and anchor"

// ParseTold reads "STEP,MARK".
func ParseTold(text string) (t Told, err error) {
	word, m, has := strings.Cut(text, ",")
	if !has {
		return t, fmt.Errorf("%q is not STEP,MARK", text)
	}
	word = strings.ToLower(strings.TrimSpace(word))
	t.Pair = word == "pair"
	ok := false
	if t.Step, ok = identify.ParseStep(word); !ok && !t.Pair {
		return t, fmt.Errorf("there is no step %q: there are %s", word, Steps)
	}
	t.Mark, err = ParseMark(strings.TrimSpace(m))
	return t, err
}
