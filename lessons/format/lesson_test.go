//go:build !js

package format_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/handout"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
)

// The example in the package's documentation is a good lesson.
func TestDocExample(t *testing.T) {
	doc := string(trial.Must(os.ReadFile("../doc.go")))
	_, rest, ok := strings.Cut(doc, "//\ttitle: The ferry bell")
	example, _, ok2 := strings.Cut(rest, "\n//\n")
	if !ok || !ok2 {
		t.Fatal("there is no example")
	}
	l, err := format.Parse("ferry.yaml", []byte(strings.ReplaceAll("title: The ferry bell"+example, "\n//\t", "\n")))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Notes) > 0 || len(l.Steps) != 9 {
		t.Errorf("%v, %d steps", l.Notes, len(l.Steps))
	}
}

func FuzzParse(f *testing.F) {
	f.Add(trial.Good)
	f.Add("title: x\nscenario: captain-laughs\nsteps:\n  - say: |\n      {{\n")
	for _, c := range broken[:20] {
		f.Add(strings.Replace(trial.Good, c.from, c.to, 1))
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := format.Parse("f.yaml", []byte(text))
		var e *model.Error
		if err != nil {
			if !errors.As(err, &e) || len(e.Faults) == 0 {
				t.Fatalf("%v", err)
			}
			for _, x := range e.Faults {
				if x.Msg == "" {
					t.Fatalf("an empty fault: %v", x)
				}
			}
			return
		}
		// Whatever is accepted can be begun and shown.
		for seed := range uint64(3) {
			r, err := run.NewRunner(l, run.Options{Seed: seed, Bench: trial.Bench})
			if err != nil {
				t.Fatalf("accepted, but: %v", err)
			}
			r.View()
			if _, err := r.Save(); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := handout.Render(l, handout.Options{Answers: true}); err != nil {
			t.Fatal(err)
		}
	})
}
