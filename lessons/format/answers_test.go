//go:build !js

package format_test

import (
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
)

func TestAnswersFaults(t *testing.T) {
	l := trial.Lesson(t)
	for _, c := range []struct{ text, at, want string }{
		{"answers: {gues: a, much: 1, why: x}\n", "gues", "answers.gues: the lesson has no such question or task: did you mean guess?"},
		{"answers: {guess: a, why: x}\n", "answers", "answers.much: is missing: step much asks for an answer"},
		{"lesson: other\nanswers: {guess: a, much: 1, why: x}\n", "other", `lesson: these are answers for "other"; the lesson is "good"`},
		{"answers: {guess: a, much: 1, why: x, set: 34}\n", "34", "answers.set: want settings"},
		{"answers: {guess: a, much: 1, why: x, set: {changes: [{A.preamp.gain_db: 3}]}}\n", "A.preamp", "answers.set.changes.at_s: is missing"},
		{"guess: a\n", "guess", "guess: unknown key"},
		{"answers: {guess: z, much: 1, why: x}\n", "z,", `answers.guess: "z" is none of the choices: answer with a letter from a to b`},
		{"answers: {guess: a, much: some, why: x}\n", "some", `answers.much: "some" is not a number`},
		{"answers: {guess: a, much: 1, why: ''}\n", "''", "answers.why: 0 characters: want 1 or more"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: 99 dB}}\n", "99 dB", "answers.set.A.preamp.gain_db: 99 dB is out of range: 20 to 60 dB"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: forty}}\n", "forty", `answers.set.A.preamp.gain_db: "forty" is not a number: write it as in 12 dB`},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: 30 dBu}}\n", "30 dBu", "answers.set.A.preamp.gain_db: counts in dB, not in dBu"},
		{"answers: {guess: a, much: 1, why: x, set: {preamp.gain_db: 40}}\n", "preamp", "answers.set.preamp.gain_db: there is no such setting: it belongs to a strip: did you mean A.preamp.gain_db?"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gian_db: 40}}\n", "A.preamp", "answers.set.A.preamp.gian_db: there is no such setting: did you mean A.preamp.gain_db?"},
		{"answers: {guess: a, much: 1, why: x, set: {B.preamp.gain_db: 40}}\n", "B.preamp", "answers.set.B.preamp.gain_db: step set does not unlock it, only A.preamp.gain_db"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: = set.A.gain_db + 1}}\n", "set.A", "answers.set.A.preamp.gain_db: set.A.gain_db: there is no strip or earlier take of that name"},
		{"answers: {guess: a, much: = A.headrom_db, why: x}\n", "A.headrom_db", "answers.much: A.headrom_db: there is no reading or setting of that name: did you mean headroom_db?"},
		{"answers: {guess: a, much: 1, why: x, first: {A.preamp.gain_db: 40}}\n", "A.preamp", "answers.first.A.preamp.gain_db: step first unlocks nothing"},
	} {
		_, err := format.ParseAnswers("b.yaml", []byte(c.text), l)
		if err == nil || !strings.Contains(err.Error(), place(c.text, c.at)+c.want) {
			t.Errorf("%q gives\n%v\nwant %s%s", c.text, err, place(c.text, c.at), c.want)
		}
	}
}

func FuzzAnswers(f *testing.F) {
	l := trial.Lesson(f)
	f.Add("lesson: good\nanswers: {guess: a, much: '= A.headroom_db', why: x, set: {A.preamp.gain_db: 34}}\n")
	f.Add("answers: {guess: [a, b], much: -1e400, why: x, set: {changes: [{at_s: 1, A.preamp.gain_db: .nan}]}}\n")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := format.ParseAnswers("f", []byte(text), l)
		if (a == nil) == (err == nil) {
			t.Fatalf("%v and %v", a, err)
		}
	})
}
