package run

import (
	"context"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/rules"
)

// predicted asks three things beforehand: about the first take, which tells why, about
// blind trials, and what always holds.
const predicted = `title: Beforehand
for: testers
minutes: 3
scenario:
  seed: 1
  source:
    talker: joss
    script:
      - {text: "Well!", effort: loud}
  strips:
    A: {preamp: {gain_db: 70}}
    B: {preamp: {gain_db: 20}}
steps:
  - predict: Will A go over?
    id: over
    choices:
      - {say: "yes", when: A.overs > 0}
      - {say: "no", when: A.overs == 0, because: You trusted it.}
    because: It had {{first.A.overs}} overs.
  - predict: How many will you hear?
    id: many
    choices:
      - {say: few, when: ears.hits < 3}
      - {say: all, when: ears.hits == 3}
  - record: Record.
    id: first
  - say: Now listen.
  - listen: Which is it?
    id: ears
    strips: [A, B]
    blind: 3
  - say: It was {{ears.hits}} of three.
`

// Every prediction is resolved in the step after the one that decides it, with what came
// and why, which is not told before, and again at the end; blind hits are told again after
// a pause.
func TestPredictionsAreResolved(t *testing.T) {
	l := trial.Must(format.Parse("before.yaml", []byte(predicted)))
	if len(l.Notes) > 0 {
		t.Errorf("%v", l.Notes)
	}
	r := newRunner(t, l, nil)
	for range 2 {
		if reply, err := r.Answer("b"); err != nil || reply != "" {
			t.Fatalf("told beforehand: %q, %v", reply, err)
		}
		next(t, r)
	}
	if err := r.Record(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	next(t, r)
	again := func() {
		r = trial.Must(Resume(l, trial.Must(r.Save()), Options{Bench: trial.Bench}))
	}
	for range 2 {
		p := r.View().Predictions
		if len(p) != 1 || p[0].ID != "over" || p[0].Verdict != Wrong || p[0].Truth != "yes" || !strings.HasPrefix(p[0].Because, "You trusted it.\n\nIt had ") || strings.Contains(p[0].Because, " 0 overs") {
			t.Errorf("%+v", p)
		}
		again()
	}
	next(t, r)
	if p := r.View().Predictions; len(p) != 0 {
		t.Errorf("told once more: %+v", p)
	}
	for range 3 {
		n, _ := r.Trial()
		if _, err := r.Answer(n); err != nil {
			t.Fatal(err)
		}
	}
	again()
	if f := r.View().Feedback; len(f) != 1 || !strings.HasPrefix(f[0], "3 of 3 right.") {
		t.Errorf("after a pause the hits are told as %q", f)
	}
	next(t, r)
	v := r.View()
	if p := v.Predictions; len(p) != 1 || p[0].ID != "many" || p[0].Verdict != Right || v.Text != "It was 3 of three." {
		t.Errorf("%+v, %q", p, v.Text)
	}
	next(t, r)
	if o := r.Outcomes(); len(o) != 2 || o[0].Verdict != Wrong || o[0].Because == "" || o[1].Verdict != Right {
		t.Errorf("%+v", o)
	}
	if w := r.Blind(4); !strings.HasPrefix(w, "3 of 3") || r.Progress().Steps[4].Hits != 3 {
		t.Errorf("%q", w)
	}
	if k := r.DecidedBy("many")["ears."+rules.Hits]; k != 3.0 {
		t.Errorf("decided by %v", k)
	}
}
