package builtin

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
)

// Every built-in lesson checks clean, its model answers pass, its wrong answers
// fail at the step they name, its sources hold of what was measured, and every
// result reproduces.
func TestBuiltinLessons(t *testing.T) {
	seeds := []uint64{1, 2}
	if testing.Short() {
		seeds = seeds[:1]
	}
	if len(Names()) < 10 {
		t.Fatalf("only %d lessons", len(Names()))
	}
	for _, name := range Names() {
		t.Run(name, func(t *testing.T) {
			l, err := Load(name)
			if err != nil {
				t.Fatal(err)
			}
			if l.ID != name || len(l.Notes) > 0 || l.Title == "" || len(l.Sources) == 0 {
				t.Errorf("id %q, notes %v, %d sources", l.ID, l.Notes, len(l.Sources))
			}
			if len(l.Vary) == 0 {
				t.Error("nothing differs from student to student")
			}
			// Predict before you hear, always.
			predicted := false
			for _, s := range l.Steps {
				predicted = predicted || s.Kind == model.Predict
				if s.Kind == model.Listen && !predicted {
					t.Errorf("step %s listens before anything was predicted", s.ID)
				}
				if strings.HasPrefix(s.ID, "step_") {
					t.Errorf("line %d: a step without a name", s.Line)
				}
			}
			model, err := ModelAnswers(name)
			if err != nil {
				t.Fatal(err)
			}
			wrong, step, err := wrongAnswers(name)
			if err != nil {
				t.Fatal(err)
			}
			g := grade.NewGrader(l)
			g.Bench = trial.Bench
			for _, seed := range seeds {
				res, r := play.Through(t, l, model, seed)
				if !res.Passed || res.Points != res.Of {
					t.Errorf("seed %d: the model answers get %v of %v, failed at %q", seed, res.Points, res.Of, res.FailedAt)
				}
				v := r.Known()
				for _, s := range l.Sources {
					if s.Holds == nil {
						continue
					}
					if ok, checks := s.Holds.Holds(v); !ok {
						t.Errorf("seed %d: %q does not hold: %v", seed, s.Says, checks)
					}
				}
				bad, _ := play.Through(t, l, wrong, seed)
				if bad.Passed || bad.FailedAt != step {
					t.Errorf("seed %d: the wrong answers failed at %q, want %q", seed, bad.FailedAt, step)
				}
				for _, x := range []*run.Result{res, bad} {
					got, err := g.Grade(context.Background(), "r.json", play.Reread(t, x))
					if err != nil {
						t.Fatal(err)
					}
					if !got.OK() || got.Passed != x.Passed || got.Points != x.Points {
						t.Errorf("seed %d: graded %+v", seed, got)
					}
				}
			}
		})
	}
}

// Students draw different values, and the same seed the same ones.
func TestDraws(t *testing.T) {
	for _, l := range All() {
		seen := map[string]int{}
		for seed := range uint64(200) {
			d := l.Drawn(seed)
			again := l.Drawn(seed)
			k := ""
			for _, v := range l.Vary {
				if !slices.Contains(v.Values, d[v.Key]) || d[v.Key] != again[v.Key] {
					t.Fatalf("%s: %s is %v, then %v", l.ID, v.Key, d[v.Key], again[v.Key])
				}
				k += names.ValueText(d[v.Key]) + " "
			}
			seen[k]++
		}
		if len(seen) < 4 {
			t.Errorf("%s: 200 students get only %d different benches", l.ID, len(seen))
		}
	}
}

// What is drawn does not depend on what else is drawn.
func TestDrawsAreIndependent(t *testing.T) {
	text := string(trial.Must(Text("gain-and-headroom")))
	with, err := format.Parse("x.yaml", []byte(strings.Replace(text, "vary:\n", "vary:\n  room.noise_dba: [20, 30, 40]\n", 1)))
	if err != nil {
		t.Fatal(err)
	}
	without, err := format.Parse("x.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(50) {
		a, b := with.Drawn(seed), without.Drawn(seed)
		for k, v := range b {
			if a[k] != v {
				t.Fatalf("seed %d: %s was %v, and %v beside another quantity", seed, k, v, a[k])
			}
		}
	}
}

// The README says how many lessons there are.
func TestReadmeCounts(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	word := map[int]string{16: "sixteen", 17: "seventeen", 18: "eighteen", 19: "nineteen", 20: "twenty"}[len(Names())]
	if word == "" || !strings.Contains(string(text), word+" lessons to take") {
		t.Errorf("the README does not speak of %d (%q) lessons to take", len(Names()), word)
	}
}

func TestBuiltinNamesFiles(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".yaml") {
			n++
			if !slices.Contains(Names(), strings.TrimSuffix(f.Name(), ".yaml")) {
				t.Errorf("%s is not in the list of built-in lessons", f.Name())
			}
		}
	}
	if n != len(Names()) {
		t.Errorf("%d files, %d names", n, len(Names()))
	}
	if _, err := Load("gain-and-headrom"); err == nil || !strings.Contains(err.Error(), "did you mean gain-and-headroom?") {
		t.Error(err)
	}
}
