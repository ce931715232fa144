package model

import (
	"strings"

	"gainwright/lessons/rules"
)

// Answers are a student's answers written down beforehand, to play a lesson
// unattended: to try a lesson out, or to see that its model answers pass.
//
//	lesson: gain-and-headroom
//	answers:
//	  guess: b                          # a choice: letter, number or text
//	  level: -3.5                       # a number
//	  meter: = laugh.A.headroom_db      # read off the take
//	  set: {A.preamp.gain_db: 34}       # a task: settings
//	  low: {A.preamp.gain_db: = check.A.gain_db + check.A.headroom_db - 9}
//	  ride: {A.preamp.gain_db: 40, changes: [{at_s: 3, A.preamp.gain_db: 34}]}
//	  why: The laugh is louder.         # in words
//	  ears: [A, B, A, A]                # blind trials
//
// What begins with "=" is worked out from what was drawn and the takes before that
// step, and a setting is brought to its control's steps. Tasks may be left out: then
// the take is recorded as the bench stands.
type Answers struct {
	Lesson string
	Steps  map[string]Answer
}

// Answer is what is done in one step: answers, or settings and changes of a take.
type Answer struct {
	Texts    []string
	Settings []Setting
	Changes  []Change
}

// Formula is what stands behind the "=" of a computed answer or setting.
func Formula(v any) (code string, ok bool) {
	w, _ := v.(string)
	code, ok = strings.CutPrefix(strings.TrimSpace(w), "=")
	return strings.TrimSpace(code), ok
}

// FormulaScope is what a computed answer to a step may name: what is drawn, the takes
// and blind comparisons before it.
func (l *Lesson) FormulaScope(step string) *rules.Scope {
	sc := &rules.Scope{Strips: l.Strips(), Drawn: l.DrawnNames()}
	for _, s := range l.Steps {
		if s.ID == step {
			break
		}
		if s.IsTake() {
			sc.Takes, sc.Latest = append(sc.Takes, s.ID), true
		}
		if s.Works() {
			sc.AddWorked(s.ID, s.Worked())
		}
		if s.Trials > 0 {
			sc.Blind = append(sc.Blind, s.ID)
		}
	}
	return sc
}
