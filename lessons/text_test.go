//go:build !js

package lessons

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"gainwright/sounds/voice"
)

func TestPlain(t *testing.T) {
	got := Plain("# Head\n\nSome **bold** and *soft* text with `code`, that is longer than one line of forty.\n\n- one\n- two,\n  wrapped\n\n1. first\n2. second\n\n> said\n\n| a | b |\n|---|---|\n| 1 | 22 |\n\n    code  here\n", 40)
	want := `HEAD

Some *bold* and _soft_ text with code,
that is longer than one line of forty.

- one
- two, wrapped

1. first
2. second

| said

a  b
1  22

    code  here`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	for _, l := range Builtin() {
		for _, s := range l.Steps {
			for _, line := range strings.Split(Plain(s.Text.Raw(), 72), "\n") {
				if utf8.RuneCountInString(line) > 72 && !strings.Contains(line, "{{") {
					t.Errorf("%s, %s: %q", l.ID, s.ID, line)
				}
			}
		}
	}
}

// Markdown never gives raw HTML, and what students wrote is never Markdown.
func TestNoMarkup(t *testing.T) {
	for _, s := range []string{"<script>alert(1)</script>", "a <img src=x onerror=y> b", "[x](javascript:alert(1))"} {
		if h := HTML(s); strings.Contains(h, "<script") || strings.Contains(h, "<img") || strings.Contains(h, "javascript:") {
			t.Errorf("%q gives %q", s, h)
		}
	}
	for _, s := range []string{"**x**", "<b>x</b>", "[a](b)", "a_b_c", "# x", "1. x", "`x`", "x | y", "&lt;"} {
		plain := Plain(escape(s), 100)
		if plain != s {
			t.Errorf("%q came back as %q", s, plain)
		}
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		want string
	}{
		{-3.04, "dBFS", "−3.0 dBFS"}, {-0.04, "dB", "−0.04 dB"}, {0.0174, "dB", "0.017 dB"}, {-0.0004, "dB", "0.0 dB"}, {-0.04, "dBFS", "0.0 dBFS"}, {12, "", "12"}, {0.084, "m", "0.084 m"}, {0.1, "m", "0.1 m"},
		{0.0042, "%", "0.004 %"}, {0.35, "ms", "0.35 ms"}, {24, "bit", "24 bit"}, {4, ":1", "4.0:1"},
	} {
		if got := format(c.v, c.unit); got != c.want {
			t.Errorf("%v %s is %q, want %q", c.v, c.unit, got, c.want)
		}
	}
}

var outside = regexp.MustCompile(`(?i)(src|href)\s*=\s*"(https?:)?//|url\(|@import|<script|<link|<img`)

// A handout needs nothing else, shows every step, and keeps the answers to the
// trainer's copy.
func TestHandout(t *testing.T) {
	for _, l := range Builtin() {
		student, err := Handout(l, HandoutOptions{})
		if err != nil {
			t.Fatal(err)
		}
		trainer, err := Handout(l, HandoutOptions{Answers: true})
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

// With a seed a handout has what its student meets, and gaps for what is measured.
func TestHandoutForASeed(t *testing.T) {
	l := goodLesson(t, "Read this, {{drawn.talker_name}}.", "Read this, {{drawn.talker_name}}, from {{drawn.distance_m}}.")
	for seed := range uint64(6) {
		page := string(must(Handout(l, HandoutOptions{Seed: &seed})))
		d := l.Drawn(seed)
		talker := must(voice.Find(d["talker"].(string)))
		want := fmt.Sprintf("Read this, %s, from %s.", talker.Title, format(d["distance_m"].(float64), "m"))
		if !strings.Contains(page, want) || !strings.Contains(page, fmt.Sprintf("Seed: %d<", seed)) || !strings.Contains(page, "It left ______") {
			t.Errorf("seed %d: want %q in\n%s", seed, want, page)
		}
		trainer := string(must(Handout(l, HandoutOptions{Seed: &seed, Answers: true})))
		if !strings.Contains(trainer, fmt.Sprintf("Drawn for seed %d", seed)) || !strings.Contains(trainer, "talker: "+d["talker"].(string)) {
			t.Errorf("seed %d: the trainer's copy does not tell what is drawn", seed)
		}
	}
	if page := string(must(Handout(l, HandoutOptions{}))); !strings.Contains(page, "Read this, ______, from ______.") {
		t.Error("without a seed there are no gaps")
	}
	if _, err := Handout(l, HandoutOptions{Seed: new(uint64(1 << 60))}); err == nil {
		t.Error("a seed out of range was accepted")
	}
}

func TestAnswersFaults(t *testing.T) {
	l := goodLesson(t)
	for _, c := range []struct{ text, at, want string }{
		{"answers: {gues: a, much: 1, why: x}\n", "gues", "answers.gues: the lesson has no such question or task: did you mean guess?"},
		{"answers: {guess: a, why: x}\n", "answers", "answers.much: is missing: step much asks for an answer"},
		{"lesson: other\nanswers: {guess: a, much: 1, why: x}\n", "other", `lesson: these are answers for "other"; the lesson is "good"`},
		{"answers: {guess: a, much: 1, why: x, set: 34}\n", "34", "answers.set: want settings"},
		{"answers: {guess: a, much: 1, why: x, set: {changes: [{A.preamp.gain_db: 3}]}}\n", "A.preamp", "answers.set.changes.at_s: is missing"},
		{"guess: a\n", "guess", "guess: unknown key"},
		{"answers: {guess: z, much: 1, why: x}\n", "z,", `answers.guess: "z" is none of the choices: answer with a letter from a to b`},
		{"answers: {guess: a, much: some, why: x}\n", "some", `answers.much: "some" is not a number`},
		{"answers: {guess: a, much: 1, why: ''}\n", "''", "answers.why: 0 characters: want 1 or more"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: 99 dB}}\n", "99 dB", "answers.set.A.preamp.gain_db: 99 dB is out of range: 20 to 60 dB"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: forty}}\n", "forty", `answers.set.A.preamp.gain_db: "forty" is not a number: write it as in 12 dB`},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gain_db: 30 dBu}}\n", "30 dBu", "answers.set.A.preamp.gain_db: counts in dB, not in dBu"},
		{"answers: {guess: a, much: 1, why: x, set: {preamp.gain_db: 40}}\n", "preamp", "answers.set.preamp.gain_db: there is no such setting: it belongs to a strip: did you mean A.preamp.gain_db?"},
		{"answers: {guess: a, much: 1, why: x, set: {A.preamp.gian_db: 40}}\n", "A.preamp", "answers.set.A.preamp.gian_db: there is no such setting: did you mean A.preamp.gain_db?"},
		{"answers: {guess: a, much: 1, why: x, set: {B.preamp.gain_db: 40}}\n", "B.preamp", "answers.set.B.preamp.gain_db: step set does not unlock it, only A.preamp.gain_db"},
		{"answers: {guess: a, much: 1, why: x, first: {A.preamp.gain_db: 40}}\n", "A.preamp", "answers.first.A.preamp.gain_db: step first unlocks nothing"},
	} {
		_, err := ParseAnswers("b.yaml", []byte(c.text), l)
		if err == nil || !strings.Contains(err.Error(), place(c.text, c.at)+c.want) {
			t.Errorf("%q gives\n%v\nwant %s%s", c.text, err, place(c.text, c.at), c.want)
		}
	}
}

func FuzzAnswers(f *testing.F) {
	l := goodLesson(f)
	f.Add("lesson: good\nanswers: {guess: a, much: '= A.headroom_db', why: x, set: {A.preamp.gain_db: 34}}\n")
	f.Add("answers: {guess: [a, b], much: -1e400, why: x, set: {changes: [{at_s: 1, A.preamp.gain_db: .nan}]}}\n")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ParseAnswers("f", []byte(text), l)
		if (a == nil) == (err == nil) {
			t.Fatalf("%v and %v", a, err)
		}
	})
}

// The example in the package's documentation is a good lesson.
func TestDocExample(t *testing.T) {
	doc := string(must(os.ReadFile("doc.go")))
	_, rest, ok := strings.Cut(doc, "//\ttitle: The ferry bell")
	example, _, ok2 := strings.Cut(rest, "\n//\n")
	if !ok || !ok2 {
		t.Fatal("there is no example")
	}
	l, err := Parse("ferry.yaml", []byte(strings.ReplaceAll("title: The ferry bell"+example, "\n//\t", "\n")))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Notes) > 0 || len(l.Steps) != 9 {
		t.Errorf("%v, %d steps", l.Notes, len(l.Steps))
	}
}

func FuzzParse(f *testing.F) {
	f.Add(good)
	f.Add("title: x\nscenario: captain-laughs\nsteps:\n  - say: |\n      {{\n")
	for _, c := range broken[:20] {
		f.Add(strings.Replace(good, c.from, c.to, 1))
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := Parse("f.yaml", []byte(text))
		var e *Error
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
			r, err := NewRunner(l, Options{Seed: seed, Bench: sharedBench})
			if err != nil {
				t.Fatalf("accepted, but: %v", err)
			}
			r.View()
			if _, err := r.Save(); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := Handout(l, HandoutOptions{Answers: true}); err != nil {
			t.Fatal(err)
		}
	})
}
