package lessons

import (
	"context"
	"os"
	"slices"
	"strings"
	"testing"
)

// sharedBench keeps takes over all tests, so that none is simulated twice.
var sharedBench = NewBench()

// playThrough plays a built-in lesson and gives its result and its runner.
func playThrough(t testing.TB, l *Lesson, answers []byte, seed uint64) (*Result, *Runner) {
	t.Helper()
	a, err := ParseAnswers("answers.yaml", answers, l)
	if err != nil {
		t.Fatal(err)
	}
	r, err := NewRunner(l, Options{Seed: seed, Bench: sharedBench, Student: "Tester"})
	if err != nil {
		t.Fatal(err)
	}
	if err := Play(context.Background(), r, a, nil); err != nil {
		t.Fatal(err)
	}
	res, err := r.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	return res, r
}

// Every built-in lesson checks clean, its model answers pass, its wrong answers
// fail at the step they name, its sources hold of what was measured, and every
// result reproduces.
func TestBuiltinLessons(t *testing.T) {
	seeds := []uint64{1, 2}
	if testing.Short() {
		seeds = seeds[:1]
	}
	if len(BuiltinNames()) < 10 {
		t.Fatalf("only %d lessons", len(BuiltinNames()))
	}
	for _, name := range BuiltinNames() {
		t.Run(name, func(t *testing.T) {
			l, err := LoadBuiltin(name)
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
				predicted = predicted || s.Kind == Predict
				if s.Kind == Listen && !predicted {
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
			g := NewGrader(l)
			g.Bench = sharedBench
			for _, seed := range seeds {
				res, r := playThrough(t, l, model, seed)
				if !res.Passed || res.Points != res.Of {
					t.Errorf("seed %d: the model answers get %v of %v, failed at %q", seed, res.Points, res.Of, res.FailedAt)
				}
				v := r.values(len(l.Steps))
				for _, s := range l.Sources {
					if s.Holds == nil {
						continue
					}
					if ok, checks := s.Holds.holds(v); !ok {
						t.Errorf("seed %d: %q does not hold: %v", seed, s.Says, checks)
					}
				}
				bad, _ := playThrough(t, l, wrong, seed)
				if bad.Passed || bad.FailedAt != step {
					t.Errorf("seed %d: the wrong answers failed at %q, want %q", seed, bad.FailedAt, step)
				}
				for _, x := range []*Result{res, bad} {
					grade, err := g.Grade(context.Background(), "r.json", reread(t, x))
					if err != nil {
						t.Fatal(err)
					}
					if !grade.OK() || grade.Passed != x.Passed || grade.Points != x.Points {
						t.Errorf("seed %d: graded %+v", seed, grade)
					}
				}
			}
		})
	}
}

// reread takes a result through its file.
func reread(t testing.TB, r *Result) *Result {
	t.Helper()
	b, err := r.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	back, err := ParseResult(b)
	if err != nil {
		t.Fatal(err)
	}
	return back
}

// Students draw different values, and the same seed the same ones.
func TestDraws(t *testing.T) {
	for _, l := range Builtin() {
		seen := map[string]int{}
		for seed := range uint64(200) {
			d := l.Drawn(seed)
			again := l.Drawn(seed)
			k := ""
			for _, v := range l.Vary {
				if !slices.Contains(v.Values, d[v.Key]) || d[v.Key] != again[v.Key] {
					t.Fatalf("%s: %s is %v, then %v", l.ID, v.Key, d[v.Key], again[v.Key])
				}
				k += valueText(d[v.Key]) + " "
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
	text := string(must(BuiltinText("gain-and-headroom")))
	with, err := Parse("x.yaml", []byte(strings.Replace(text, "vary:\n", "vary:\n  room.noise_dba: [20, 30, 40]\n", 1)))
	if err != nil {
		t.Fatal(err)
	}
	without, err := Parse("x.yaml", []byte(text))
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

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func TestBuiltinNamesFiles(t *testing.T) {
	files, err := os.ReadDir("builtin")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range files {
		if !f.IsDir() {
			n++
			if !slices.Contains(BuiltinNames(), strings.TrimSuffix(f.Name(), ".yaml")) {
				t.Errorf("%s is not in the list of built-in lessons", f.Name())
			}
		}
	}
	if n != len(BuiltinNames()) {
		t.Errorf("%d files, %d names", n, len(BuiltinNames()))
	}
	if _, err := LoadBuiltin("gain-and-headrom"); err == nil || !strings.Contains(err.Error(), "did you mean gain-and-headroom?") {
		t.Error(err)
	}
}
