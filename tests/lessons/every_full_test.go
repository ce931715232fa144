//go:build full

package lessons

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
)

// Every built-in lesson with its model answers passes with all points for every
// student there can be, and no question is without its one right answer; with the
// wrong answers nobody passes, and the step that they name is missed.
func TestEveryCombination(t *testing.T) {
	for _, name := range builtin.Names() {
		t.Run(name, func(t *testing.T) { everyCombination(within(t), t, name) })
	}
}

func everyCombination(ctx context.Context, t *testing.T, name string) {
	l, a := withAnswers(t, name)
	r := rehearse(ctx, t, l, a)
	for _, p := range r.Played {
		if !p.Passed || len(p.Missed) > 0 || len(p.Unclear) > 0 {
			t.Errorf("seed %d (%s): %v of %v points: %v %v", p.Seed, p.Describe(), p.Points, p.Of, p.Missed, p.Unclear)
		}
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "lessons", "builtin", "answers", name+".wrong.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	step := strings.TrimSpace(strings.TrimPrefix(first, "# fails at"))
	wrong, err := format.ParseAnswers("answers.yaml", text, l)
	if err != nil {
		t.Fatal(err)
	}
	again, err := r.Again(ctx, l, wrong, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range again.Played {
		missed := false
		for _, m := range p.Missed {
			missed = missed || m.Step == step
		}
		if p.Passed || !missed {
			t.Errorf("seed %d (%s), wrong answers: passed %v, missed %v, want %s", p.Seed, p.Describe(), p.Passed, p.Missed, step)
		}
	}
	t.Logf("%d of %d", r.Passed, r.Combinations)
}

// within bounds what one lesson may take: several times what the slowest takes on one busy core.
func within(t *testing.T) context.Context {
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Minute)
	t.Cleanup(stop)
	return ctx
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
	a, err := format.ParseAnswers("answers.yaml", answers, l)
	if err != nil {
		t.Fatal(err)
	}
	if r := rehearse(within(t), t, l, a); !r.OK() || r.Passed != 4 {
		t.Errorf("%d of %d pass", r.Passed, r.Combinations)
	}
}

// No task of a built-in lesson is met by one setting on more than half of the benches; how
// many share one is told as a table, beside predictions and choices.
func TestNoSettingForEverybody(t *testing.T) {
	for _, name := range builtin.Names() {
		t.Run(name, func(t *testing.T) {
			l, a := withAnswers(t, name)
			shared, err := grade.Share(within(t), l, a, 24, true, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range shared {
				t.Logf("%-10s %-8s %2d of %2d  %s", s.Step, s.Kind, s.Fits, s.Of, s.What)
				if s.Kind == model.Do && 2*s.Fits > s.Of {
					t.Error(s.Note())
				}
			}
		})
	}
}

func rehearse(ctx context.Context, t *testing.T, l *model.Lesson, a *model.Answers) *grade.Rehearsal {
	t.Helper()
	r, err := grade.Rehearse(ctx, l, a, 1000, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Played) != r.Combinations {
		t.Errorf("%s: %d of %d combinations played", l.ID, len(r.Played), r.Combinations)
	}
	return r
}
