// Package play plays lessons in tests.
package play

import (
	"context"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
)

// Through plays a built-in lesson and gives its result and its runner.
func Through(t testing.TB, l *model.Lesson, answers []byte, seed uint64) (*run.Result, *run.Runner) {
	t.Helper()
	a, err := format.ParseAnswers("answers.yaml", answers, l)
	if err != nil {
		t.Fatal(err)
	}
	r, err := run.NewRunner(l, run.Options{Seed: seed, Bench: trial.Bench, Student: "Tester"})
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Play(context.Background(), r, a, nil); err != nil {
		t.Fatal(err)
	}
	res, err := r.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	return res, r
}

// Reread takes a result through its file.
func Reread(t testing.TB, r *run.Result) *run.Result {
	t.Helper()
	b, err := r.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	back, err := run.ParseResult(b)
	if err != nil {
		t.Fatal(err)
	}
	return back
}
