//go:build !js

package format

import (
	"os"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/model"
)

// Every key is told there.
func TestReadmeKeys(t *testing.T) {
	chapter := readmeChapter(t)
	keys := []string{"title", "for", "minutes", "scenario", "steps", "about", "takes", "vary", "pass", "needs", keyOwnVoice, "locked", "sources", "id", "set", "show", "points", "must", "say"}
	for _, k := range model.Kinds {
		keys = append(append(keys, k), stepKeys[model.Kind(k)]...)
	}
	words := strings.FieldsFunc(chapter, func(r rune) bool { return r != '_' && (r < 'a' || r > 'z') })
	for _, k := range keys {
		if !slices.Contains(words, k) {
			t.Errorf("the key %s is not told", k)
		}
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
