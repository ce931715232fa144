package grade_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/model"
)

const rehearsedAnswers = "answers: {guess: b, set: {A.preamp.gain_db: 40 dB}, much: '= A.headroom_db', why: x}\n"

func rehearse(t *testing.T, l *model.Lesson, answers string, most int) *grade.Rehearsal {
	t.Helper()
	a, err := format.ParseAnswers("a.yaml", []byte(answers), l)
	if err != nil {
		t.Fatal(err)
	}
	last := 0
	r, err := grade.Rehearse(context.Background(), l, a, most, func(done, of int) {
		if done != last+1 || of != min(most, l.Combinations()) {
			t.Errorf("progress %d of %d after %d", done, of, last)
		}
		last = done
	})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Every combination is played once, and comes out as a student with its seed has it.
func TestRehearse(t *testing.T) {
	// 12 dB lie between the nearest and the farthest place, and 9 are allowed.
	l := trial.Lesson(t, "rule: A.headroom_db >= 6 && A.overs == 0", "rule: between(A.headroom_db, 18, 27) && A.overs == 0")
	r := rehearse(t, l, rehearsedAnswers, 100)
	if r.Combinations != 6 || len(r.Played) != 6 || r.OK() || r.Passed == 0 || r.Passed == 6 {
		t.Fatalf("%d of %d, %d passed", len(r.Played), r.Combinations, r.Passed)
	}
	seen := map[string]bool{}
	for _, p := range r.Played {
		if seen[p.Describe()] || len(p.Unclear) > 0 {
			t.Errorf("%s twice, or %v", p.Describe(), p.Unclear)
		}
		seen[p.Describe()] = true
		res, _ := play.Through(t, l, []byte(rehearsedAnswers), p.Seed)
		if res.Points != p.Points || res.Passed != p.Passed || model.DrawnText(res.Drawn) != p.Describe() {
			t.Errorf("seed %d: %v points, rehearsed %v", p.Seed, res.Points, p.Points)
		}
		if !p.Passed && (len(p.Missed) != 1 || p.Missed[0].Step != "set" || !strings.Contains(p.Missed[0].What, "A.headroom_db is ") || !strings.Contains(p.Why, "step set is not met")) {
			t.Errorf("seed %d: %v, %q", p.Seed, p.Missed, p.Why)
		}
	}
	if f := strings.Join(r.Failing(), " "); !strings.Contains(f, "distance_m 0.") {
		t.Errorf("failing: %q", f)
	}
	if r := rehearse(t, l, rehearsedAnswers, 2); len(r.Played) != 2 || r.Combinations != 6 {
		t.Errorf("%d played", len(r.Played))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	a, _ := format.ParseAnswers("a.yaml", []byte(rehearsedAnswers), l)
	if _, err := grade.Rehearse(ctx, l, a, 9, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A prediction that cannot be right is told, and so is one that cannot be wrong.
func TestRehearseUnclear(t *testing.T) {
	for change, want := range map[string]string{
		"{say: nothing, when: A.overs > 5000}\n      - {say: something, when: A.overs > 6000}":    "guess: no choice is right",
		"{say: nothing, when: A.overs >= 0}\n      - {say: something, when: A.headroom_db > -99}": "guess: a and b are right at once",
	} {
		l := trial.Lesson(t, "{say: nothing, when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", change)
		r := rehearse(t, l, strings.Replace(rehearsedAnswers, "40 dB", "20", 1), 3)
		for _, p := range r.Played {
			if len(p.Unclear) != 1 || p.Unclear[0].String() != want {
				t.Errorf("%v, want %s", p.Unclear, want)
			}
		}
		if r.Passed != 3 || r.OK() {
			t.Errorf("%d passed, OK %v", r.Passed, r.OK())
		}
	}
}

// Seeds reach every combination of every built-in lesson, the lowest first.
func TestSeeds(t *testing.T) {
	for _, l := range builtin.All() {
		seeds, seen := l.Seeds(1000), map[string]bool{}
		if len(seeds) != l.Combinations() {
			t.Errorf("%s: %d seeds for %d combinations", l.ID, len(seeds), l.Combinations())
		}
		for i, s := range seeds {
			seen[model.DrawnText(l.Drawn(s))] = true
			if i > 0 && s <= seeds[i-1] || len(seen) != i+1 {
				t.Errorf("%s: seeds %v", l.ID, seeds)
				break
			}
		}
	}
}

// Where not every bench is tried, no value of what is drawn has more than its share of them.
func TestSeedsAreFair(t *testing.T) {
	for _, l := range builtin.All() {
		most := 16
		seeds := l.Seeds(most)
		if len(seeds) != min(most, l.Combinations()) || !slices.IsSorted(seeds) {
			t.Errorf("%s: seeds %v", l.ID, seeds)
		}
		for _, v := range l.Vary {
			drawn := map[any]int{}
			for _, s := range seeds {
				drawn[l.Drawn(s)[v.Key]]++
			}
			n := len(v.Values)
			for x, k := range drawn {
				if k > (len(seeds)+n-1)/n {
					t.Errorf("%s: %s is %v on %d of %d benches, of %d values", l.ID, v.Key, x, k, len(seeds), n)
				}
			}
		}
	}
}

// What kept a lesson from being passed is told in full.
func TestWhy(t *testing.T) {
	l := trial.Lesson(t, "{from: 20, to: 60}", "{from: 20, to: 80}")
	play := func(answers string) string {
		res, _ := play.Through(t, l, []byte(answers), 1)
		return res.Why(l)
	}
	for answers, want := range map[string]string{
		rehearsedAnswers: "",
		"answers: {guess: b, set: {A.preamp.gain_db: 80}, much: 90, why: x}\n":                "step set is not met; 0 of 2 points are 0 %, and 70 % pass (step much is not right)",
		"answers: {guess: b, set: {A.preamp.gain_db: 20}, much: 90, why: x}\n":                "1 of 2 points are 50 %, and 70 % pass (step much is not right)",
		"answers: {guess: b, set: {A.preamp.gain_db: 80}, much: '= A.headroom_db', why: x}\n": "step set is not met; 1 of 2 points are 50 %, and 70 % pass",
	} {
		if got := play(answers); got != want {
			t.Errorf("%q\ngives %q\nwant  %q", answers, got, want)
		}
	}
}
