package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gainwright/sim"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario"
)

// KnobAt is where a gain lies on the user's knob, as JSON.
type KnobAt struct {
	Mark   float64   `json:"mark"`
	Low    float64   `json:"mark_low"`
	High   float64   `json:"mark_high"`
	Beyond sim.Level `json:"beyond_knob_db,omitempty"` // above 0: more gain than it has
}

// NewKnobAt finds the gain of c.
func NewKnobAt(k *equipment.Knob, c sim.Chain) *KnobAt {
	s := k.Find(c)
	one := func(v float64) float64 { return math.Round(v*100) / 100 }
	return &KnobAt{one(s.Mark), one(s.Low), one(s.High), sim.Level(s.Beyond)}
}

// Recorder is what a command tells, as JSON, of the recorder that a scenario runs on.
type Recorder struct {
	Learnt   string             `json:"learnt,omitempty"`
	Anchor   string             `json:"anchor,omitempty"` // "": no level in dB SPL is known
	Knob     map[string]*KnobAt `json:"knob,omitempty"`   // by strip
	Assumed  []string           `json:"assumed"`
	Departs  []string           `json:"set_by_the_scenario,omitempty"` // not as the equipment file has it
	Unplaced bool               `json:"marks_placed_by_guess,omitempty"`
}

// NewRecorder tells of the recorder of sc, nil if there is none.
func NewRecorder(sc *scenario.Scenario) *Recorder {
	if sc.Fit == nil {
		return nil
	}
	r := &Recorder{Learnt: sc.Recorder.Learnt, Assumed: sc.Fit.Assumed, Departs: sc.Departs()}
	if sc.Recorder.Anchor != nil {
		r.Anchor = sc.Recorder.Anchor.Kind
	}
	if k := sc.Knob(); k != nil {
		r.Knob, r.Unplaced = map[string]*KnobAt{}, !k.Anchored
		for _, st := range sc.Strips {
			r.Knob[st.Name] = NewKnobAt(k, st.Chain)
		}
	}
	return r
}

// KnobText says where a gain lies on a knob: "4½ (4 to 5)", "the highest mark, 10, and 3 dB
// more than it gives".
func KnobText(k *equipment.Knob, c sim.Chain) string {
	s := k.Find(c)
	near := equipment.MarkText(k.Near(s.Mark))
	switch {
	case s.Beyond > 0:
		return fmt.Sprintf("the highest, %s, and still %.0f dB short", near, math.Ceil(s.Beyond))
	case s.Beyond < 0:
		return fmt.Sprintf("the lowest, %s, and still %.0f dB too much", near, math.Ceil(-s.Beyond))
	}
	if s.Low == s.High {
		return near
	}
	return fmt.Sprintf("%s (%s)", near, MarksText(s))
}

// MarksText is between which marks a gain lies: "4.1 to 4.9".
func MarksText(s equipment.Set) string { return fmt.Sprintf("%.1f to %.1f", s.Low, s.High) }

// WriteRecorder says what recorder a scenario runs on, where its knob stands if that is
// wanted, and what was assumed of it.
func WriteRecorder(w io.Writer, sc *scenario.Scenario, width int, knob bool) {
	r := NewRecorder(sc)
	if r == nil {
		return
	}
	line := func(format string, a ...any) { fmt.Fprintln(w, Wrap(fmt.Sprintf(format, a...), width)) }
	about := "Your recorder"
	if r.Learnt != "" {
		about += ", as measured on " + r.Learnt
	}
	if k := sc.Knob(); k != nil && knob {
		var at []string
		for _, st := range sc.Strips {
			t := "at mark " + KnobText(k, st.Chain)
			if len(sc.Strips) > 1 {
				t = st.Name + " " + t
			}
			at = append(at, t)
		}
		about += ": " + strings.Join(at, ", ")
	}
	line("%s.", about)
	if r.Unplaced {
		line("- Which mark stands for which loudness is a guess: the equipment file knows no level in dB SPL (recorder learn --anchor).")
	}
	for _, a := range r.Assumed {
		line("- Assumed: %s.", a)
	}
	if len(r.Departs) > 0 {
		line("- Set by the scenario or a flag, not as the equipment file has it: %s.", strings.Join(r.Departs, ", "))
	}
}
