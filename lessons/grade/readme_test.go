//go:build !js

package grade_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/run"
)

// The README's chapter is all that a trainer needs: its lesson is good, and its answers
// pass for every student there can be.
func TestReadme(t *testing.T) {
	chapter := readmeChapter(t)
	blocks := strings.Split(chapter, "```yaml\n")
	if len(blocks) != 3 {
		t.Fatalf("%d blocks of YAML", len(blocks)-1)
	}
	text, _, _ := strings.Cut(blocks[1], "```")
	answers, _, _ := strings.Cut(blocks[2], "```")
	l, err := format.Parse("mine.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Notes) > 0 {
		t.Error(l.Notes)
	}
	r := rehearse(t, l, answers, 100)
	if !r.OK() || len(r.Played) != 6 {
		t.Errorf("%d of %d pass", r.Passed, r.Combinations)
	}
	guess := map[run.Verdict]int{}
	for _, p := range r.Played {
		if p.Points != p.Of {
			t.Errorf("%s: %v of %v points, %v", p.Describe(), p.Points, p.Of, p.Missed)
		}
		res, _ := play.Through(t, l, []byte(answers), p.Seed)
		guess[res.Steps[0].Verdict]++
	}
	if guess[run.Right] != len(r.Played) {
		t.Errorf("the model prediction is right for %v", guess)
	}
	// The values that its comments tell.
	for _, v := range l.Vary {
		if v.Key == "distance_m" && fmt.Sprint(v.Values) != "[0.1 0.118 0.14]" {
			t.Errorf("distances %v", v.Values)
		}
	}
	computed := strings.Replace(answers, "24          # or computed: ", `"`, 1)
	computed = strings.TrimSuffix(strings.TrimRight(computed, "\n"), "\"") + "\"\n"
	if r := rehearse(t, l, computed, 1); !r.OK() {
		t.Errorf("computed answers: %v", r.Played[0])
	}
}

// readmeChapter is what the README says of writing a lesson.
func readmeChapter(t *testing.T) string {
	t.Helper()
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, chapter, ok := strings.Cut(string(readme), "\n## Writing a lesson\n")
	if !ok {
		t.Fatal("the chapter is gone")
	}
	chapter, _, _ = strings.Cut(chapter, "\n## ")
	return chapter
}
