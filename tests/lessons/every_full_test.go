//go:build full

package lessons

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
)

// Every built-in lesson with its model answers passes with all points for every
// student there can be, and no question is without its one right answer; with the
// wrong answers nobody passes, and the step that they name is missed.
func TestEveryCombination(t *testing.T) {
	all := 0
	for _, name := range builtin.Names() {
		l, err := builtin.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		model, err := builtin.ModelAnswers(name)
		if err != nil {
			t.Fatal(err)
		}
		r := rehearse(t, l, model)
		all += len(r.Played)
		for _, p := range r.Played {
			if !p.Passed || len(p.Missed) > 0 || len(p.Unclear) > 0 {
				t.Errorf("%s, seed %d (%s): %v of %v points: %v %v", name, p.Seed, p.Describe(), p.Points, p.Of, p.Missed, p.Unclear)
			}
		}
		wrong, err := os.ReadFile(filepath.Join("..", "..", "lessons", "builtin", "answers", name+".wrong.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		first, _, _ := strings.Cut(string(wrong), "\n")
		step := strings.TrimSpace(strings.TrimPrefix(first, "# fails at"))
		for _, p := range rehearse(t, l, wrong).Played {
			missed := false
			for _, m := range p.Missed {
				missed = missed || m.Step == step
			}
			if p.Passed || !missed {
				t.Errorf("%s, seed %d (%s), wrong answers: passed %v, missed %v, want %s", name, p.Seed, p.Describe(), p.Passed, p.Missed, step)
			}
		}
		t.Logf("%s: %d of %d", name, r.Passed, r.Combinations)
	}
	t.Logf("%d combinations in all", all)
}

// A lesson with every kind of step, written from the README alone, passes with its answers on
// every bench.
func TestEveryKindOfStep(t *testing.T) {
	dir := filepath.Join("..", "..", "lessons", "grade", "testdata")
	l, err := format.Load(filepath.Join(dir, "every-kind.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	answers, err := os.ReadFile(filepath.Join(dir, "every-kind.answers.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if r := rehearse(t, l, answers); !r.OK() || r.Passed != 4 {
		t.Errorf("%d of %d pass", r.Passed, r.Combinations)
	}
}

// No task of a built-in lesson is met by one setting on more than half of the benches; how
// many share one is told as a table, beside predictions and choices.
func TestNoSettingForEverybody(t *testing.T) {
	for _, name := range builtin.Names() {
		l, a := withAnswers(t, name)
		shared, err := grade.Share(context.Background(), l, a, 24, true, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range shared {
			t.Logf("%-22s %-10s %-8s %2d of %2d  %s", name, s.Step, s.Kind, s.Fits, s.Of, s.What)
			if s.Kind == model.Do && 2*s.Fits > s.Of {
				t.Errorf("%s: %s", name, s.Note())
			}
		}
	}
}

func rehearse(t *testing.T, l *model.Lesson, answers []byte) *grade.Rehearsal {
	t.Helper()
	a, err := format.ParseAnswers("answers.yaml", answers, l)
	if err != nil {
		t.Fatal(err)
	}
	r, err := grade.Rehearse(context.Background(), l, a, 1000, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Played) != r.Combinations {
		t.Errorf("%s: %d of %d combinations played", l.ID, len(r.Played), r.Combinations)
	}
	return r
}
