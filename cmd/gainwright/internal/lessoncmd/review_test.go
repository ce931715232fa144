package lessoncmd

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/lessons/builtin"
)

// A student's results tell where they stand and which lesson comes next; a day after a lesson
// a task of it is due, and comes again after two days when it was right, after one when not.
func TestReview(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []string{"one", "two"} {
		needs := ""
		if n == "two" {
			needs = "needs: [one]\n"
		}
		os.WriteFile(filepath.Join(dir, n+".yaml"), []byte("title: Lesson "+n+"\nfor: us\nminutes: 1\n"+needs+"scenario: captain-laughs\nsteps:\n  - ask: Which?\n    id: which\n    choices:\n      - {say: this, right: true}\n      - that\n"), 0o600)
	}
	os.WriteFile(filepath.Join(dir, "a.yaml"), []byte("answers: {which: a}\n"), 0o600)
	os.Mkdir(filepath.Join(dir, "results"), 0o755)
	with := []string{"--lesson", "one.yaml", "--lesson", "two.yaml"}
	do := func(typed string, a ...string) string {
		t.Helper()
		status, out, errs := lesson(t, dir, typed, a...)
		if status != cli.ExitOK {
			t.Fatalf("%v: %d %q %q", a, status, out, errs)
		}
		return out
	}
	do("", "run", "one.yaml", "--answers", "a.yaml", "--out", "results/one.json")
	out := do("", append([]string{"list", "--results", "results"}, with...)...)
	for _, want := range []string{"passed     one ", "leads to two", "builds on one", "next       what-the-numbers-mean", fmt.Sprintf("1 of %d passed.", len(builtin.Names())+2)} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	all := clitest.ReadJSON(t, do("", append([]string{"list", "--json"}, with...)...))["lessons"].([]any)
	if last := all[len(all)-1].(map[string]any); last["needs"].([]any)[0] != "one" || last["standing"] != nil {
		t.Errorf("%v", last)
	}
	run := func(typed string, a ...string) string {
		t.Helper()
		return do(typed, append(append([]string{"review", "--keep", "review.json"}, a...), with...)...)
	}
	run("", "--results", "results", "--list")
	day := func(n string) string {
		t.Helper()
		x := clitest.ReadJSON(t, run("", "--list", "--json", "--day", n))["lessons"].([]any)
		if len(x) != 1 {
			t.Fatal(x)
		}
		return x[0].(map[string]any)["due"].(string)
	}
	first := day("2026-01-01")
	if out := run("", "--day", "2001-01-01"); !strings.Contains(out, "Nothing is due before "+first) {
		t.Errorf("%s", out)
	}
	// The lesson was taken on the day of the test: later days are far ahead.
	if out := run("a\n\n", "--day", "2199-03-01"); !strings.Contains(out, "Right.") || !strings.Contains(out, "comes again on 2199-03-03") || !strings.Contains(out, "1 of 1 right.") {
		t.Errorf("%s", out)
	}
	if out := run("b\n\n", "--day", "2199-03-04"); !strings.Contains(out, "comes again on 2199-03-05") || !strings.Contains(out, "0 of 1 right.") {
		t.Errorf("%s", out)
	}
	if day("2199-03-04") != "2199-03-05" {
		t.Error("it is not kept")
	}
	// Stopped, nothing is lost and nothing counts.
	if status, _, errs := lesson(t, dir, "quit\n", append([]string{"review", "--keep", "review.json", "--day", "2199-04-01"}, with...)...); status != cli.ExitFailure || !strings.Contains(errs, "the rest stays due") || day("2199-04-01") != "2199-03-05" {
		t.Errorf("%d %q", status, errs)
	}
	os.WriteFile("bad.json", []byte("[]"), 0o600)
	for _, a := range [][]string{{"review"}, {"review", "--keep", "none.json"}, {"review", "--keep", "bad.json"}, {"review", "--keep", "r.json", "--day", "soon"}, {"review", "--keep", "r.json", "--json"}, {"review", "--keep", "r.json", "--results", "nowhere"}, {"list", "--results", "nowhere"}} {
		if status, out, errs := lesson(t, dir, "", a...); status != cli.ExitUsage || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: %d %q %q", a, status, out, errs)
		}
	}
}
