package grade_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/run"
)

// The most common setting, prediction and choice are those that playing the whole lesson
// with each setting finds; what does on every bench is noted, and nothing else.
func TestShared(t *testing.T) {
	narrow := []string{
		"talker: [joss, ilse]", "talker: [joss]",
		"distance_m: {from: 0.05, to: 0.2, steps: 3}", "microphone.sensitivity_mv_per_pa: [0.5, 1, 4, 16]",
		"A.headroom_db >= 6 && A.overs == 0", "between(A.headroom_db, 18, 28)",
		"number: {answer: A.headroom_db, tolerance: 1}", "choices: [{say: little, when: A.headroom_db < 4}, {say: much, when: A.headroom_db >= 4}]",
	}
	answers := "answers: {guess: a, set: {A.preamp.gain_db: = first.A.gain_db + first.A.headroom_db - 10}, much: b, why: x}"
	l := trial.Lesson(t, narrow...)
	a, err := format.ParseAnswers("a.yaml", []byte(answers), l)
	if err != nil {
		t.Fatal(err)
	}
	r, err := grade.Rehearse(context.Background(), l, a, 100, nil)
	if err != nil || !r.OK() {
		t.Fatal(err, r.Played[0])
	}
	if err := r.Share(context.Background(), l, a, true, nil); err != nil {
		t.Fatal(err)
	}
	// By brute force, over every gain and every bench.
	best, guesses := 0, map[string]int{}
	for gain := 20; gain <= 60; gain++ {
		met := 0
		for _, p := range r.Played {
			res, _ := play.Through(t, l, fmt.Appendf(nil, "answers: {guess: b, set: {A.preamp.gain_db: %d}, much: b, why: x}", gain), p.Seed)
			for _, s := range res.Steps {
				if s.ID == "set" && s.Verdict == run.Right {
					met++
				}
				if s.ID == "guess" && gain == 20 {
					guesses[s.Truth]++
				}
			}
		}
		best = max(best, met)
	}
	want := map[string]int{"guess": max(guesses["nothing"], guesses["something"]), "set": best, "much": 4}
	if best == len(r.Played) || best == 0 || want["guess"] == len(r.Played) {
		t.Fatalf("a weak test: %v", want)
	}
	for _, s := range r.Shared {
		if s.Fits != want[s.Step] || s.Of != len(r.Played) {
			t.Errorf("%+v, by brute force %d", s, want[s.Step])
		}
		delete(want, s.Step)
	}
	if len(want) > 0 {
		t.Errorf("nothing is told of %v", want)
	}
	if notes := grade.Notes(r.Shared); len(notes) != 1 || !strings.Contains(notes[0], "step much: one choice fits every bench, b (much), on all 4 tried") {
		t.Error(notes)
	}
}

// Without answers settings are tried from all over what a step unlocks, and those that do
// everywhere are found, as on the lesson of the README.
func TestSharedWithoutAnswers(t *testing.T) {
	text, _, _ := strings.Cut(strings.Split(readmeChapter(t), "```yaml\n")[1], "```")
	l, err := format.Parse("mine.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	shared, err := grade.Share(context.Background(), l, nil, 12, false, nil)
	if err != nil {
		t.Fatal(err)
	}
	notes := strings.Join(grade.Notes(shared), "\n")
	if !strings.Contains(notes, "step guess: one prediction fits every bench, a (yes), on all 6 tried") || !strings.Contains(notes, "step set: one setting fits every bench, A.preamp.gain_db 2") {
		t.Errorf("%+v", shared)
	}
	// Every built-in kind of step is got past.
	every := trial.Lesson(t, "strips: [A, spoken]", "strips: [A, B]\n    blind: 2", "distance_m: {from: 0.05, to: 0.2, steps: 3}", "A.converter.full_scale_dbu: [-20, 20]",
		"A.headroom_db >= 6 && A.overs == 0", "between(A.headroom_db, 6, 8)")
	shared, err = grade.Share(context.Background(), every, nil, 12, false, nil)
	if err != nil || len(shared) != 2 || len(grade.Notes(shared)) != 0 {
		t.Errorf("%+v, %v", shared, err)
	}
}
