//go:build !js

package handout_test

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/handout"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/names"
	"gainwright/sounds/voice"
)

var outside = regexp.MustCompile(`(?i)(src|href)\s*=\s*"(https?:)?//|url\(|@import|<script|<link|<img`)

// A handout needs nothing else, shows every step, and keeps the answers to the
// trainer's copy.
func TestHandout(t *testing.T) {
	for _, l := range builtin.All() {
		student, err := handout.Render(l, handout.Options{})
		if err != nil {
			t.Fatal(err)
		}
		trainer, err := handout.Render(l, handout.Options{Answers: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, page := range [][]byte{student, trainer} {
			if m := outside.Find(page); m != nil {
				t.Errorf("%s: the page needs %q", l.ID, m)
			}
			if n := bytes.Count(page, []byte("<section")); n < len(l.Steps) {
				t.Errorf("%s: %d sections, %d steps", l.ID, n, len(l.Steps))
			}
			if bytes.Contains(page, []byte("{{")) || bytes.Contains(page, []byte("ZgotmplZ")) {
				t.Errorf("%s: something was not filled in", l.ID)
			}
		}
		for _, s := range l.Steps {
			// Who has paper only must know what the scene would allow.
			if s.Attempts > 1 && !bytes.Contains(student, fmt.Appendf(nil, "At most %d takes", s.Attempts)) || s.Attempts == 1 && !bytes.Contains(student, []byte("One take counts")) {
				t.Errorf("%s: %d takes for %s are not told", l.ID, s.Attempts, s.ID)
			}
			if s.Riding && !bytes.Contains(student, []byte("ettings may be changed while a take runs")) {
				t.Errorf("%s: it is not told that %s allows changes", l.ID, s.ID)
			}
			if s.Rule == nil {
				continue
			}
			if bytes.Contains(student, []byte("Met when")) || !bytes.Contains(trainer, []byte("Met when")) {
				t.Errorf("%s: rules are in the wrong copy", l.ID)
			}
		}
		if bytes.Contains(student, []byte("Right: ")) {
			t.Errorf("%s: the student's copy tells what is right", l.ID)
		}
	}
}

// gap is a blank as a page has it.
const gap = `<span class="gap here" role="img" aria-label="a blank to fill in">&nbsp;</span>`

// With a seed a handout has what its student meets, and gaps for what is measured.
func TestHandoutForASeed(t *testing.T) {
	l := trial.Lesson(t, "Read this, {{drawn.talker_name}}.", "Read this, {{drawn.talker_name}}, from {{drawn.distance_m}}.")
	for seed := range uint64(6) {
		page := string(trial.Must(handout.Render(l, handout.Options{Seed: &seed})))
		d := l.Drawn(seed)
		talker := trial.Must(voice.Find(d["talker"].(string)))
		want := fmt.Sprintf("Read this, %s, from %s.", talker.Title, names.Format(d["distance_m"].(float64), "m"))
		if !strings.Contains(page, want) || !strings.Contains(page, fmt.Sprintf("Seed: %d<", seed)) || !strings.Contains(page, "It left "+gap) {
			t.Errorf("seed %d: want %q in\n%s", seed, want, page)
		}
		trainer := string(trial.Must(handout.Render(l, handout.Options{Seed: &seed, Answers: true})))
		if !strings.Contains(trainer, fmt.Sprintf("Drawn for seed %d", seed)) || !strings.Contains(trainer, "talker: "+d["talker"].(string)) {
			t.Errorf("seed %d: the trainer's copy does not tell what is drawn", seed)
		}
	}
	if page := string(trial.Must(handout.Render(l, handout.Options{}))); !strings.Contains(page, "Read this, "+gap+", from "+gap+".") || strings.Contains(page, "___") {
		t.Error("without a seed there are no gaps")
	}
	if _, err := handout.Render(l, handout.Options{Seed: new(uint64(1 << 60))}); err == nil {
		t.Error("a seed out of range was accepted")
	}
}

// The words that a text links to are explained at the end of the page, where the link
// goes, each once.
func TestHandoutExplainsWords(t *testing.T) {
	l := trial.Lesson(t, "Read this, {{drawn.talker_name}}.", "Read this. Leave [headroom](explain:headroom), as [dBFS](explain:dbfs) and [headroom](explain:headroom) say.")
	page, err := handout.Render(l, handout.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for what, n := range map[string]int{`href="#term-headroom"`: 2, `id="term-headroom"`: 1, `id="term-dbfs"`: 1, "id=\"term-": 2, "before anything went over": 1, "explain:": 0} {
		if got := strings.Count(string(page), what); got != n {
			t.Errorf("%q stands there %d times, want %d", what, got, n)
		}
	}
	if m := outside.Find(page); m != nil {
		t.Errorf("the page needs %q", m)
	}
}
