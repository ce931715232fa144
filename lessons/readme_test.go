//go:build !js

package lessons

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
)

// The README's chapter is all that a trainer needs: its lesson is good, its answers
// pass for every student there can be, and it names every key.
func TestReadme(t *testing.T) {
	readme := string(must(os.ReadFile("../README.md")))
	_, chapter, ok := strings.Cut(readme, "\n## Writing a lesson\n")
	chapter, _, _ = strings.Cut(chapter, "\n## ")
	blocks := strings.Split(chapter, "```yaml\n")
	if !ok || len(blocks) != 3 {
		t.Fatalf("%d blocks of YAML", len(blocks)-1)
	}
	text, _, _ := strings.Cut(blocks[1], "```")
	answers, _, _ := strings.Cut(blocks[2], "```")
	l, err := Parse("mine.yaml", []byte(text))
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
	guess := map[Verdict]int{}
	for _, p := range r.Played {
		if p.Points != p.Of {
			t.Errorf("%s: %v of %v points, %v", p.Describe(), p.Points, p.Of, p.Missed)
		}
		res, _ := playThrough(t, l, []byte(answers), p.Seed)
		guess[res.Steps[0].Verdict]++
	}
	if guess[Right] != len(r.Played) {
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
	keys := []string{"title", "for", "minutes", "scenario", "steps", "about", "takes", "vary", "pass", "locked", "sources", "id", "set", "points", "must", "say"}
	for _, k := range kinds {
		keys = append(append(keys, k), stepKeys[Kind(k)]...)
	}
	words := strings.FieldsFunc(chapter, func(r rune) bool { return r != '_' && (r < 'a' || r > 'z') })
	for _, k := range keys {
		if !slices.Contains(words, k) {
			t.Errorf("the key %s is not told", k)
		}
	}
}
