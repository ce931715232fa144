package plain

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/goccy/go-yaml/token"
)

func parse(text string) (ok bool, faults []Fault) {
	root := Parse(Text([]byte(text)), "letter", 1000, func(t *token.Token, format string, args ...any) {
		f := Fault{Name: "a.yaml", Msg: fmt.Sprintf(format, args...)}
		if t != nil {
			f.Line, f.Column = t.Position.Line, t.Position.Column
		}
		faults = append(faults, f)
	})
	return root != nil, faults
}

func TestParse(t *testing.T) {
	for text, want := range map[string]string{
		"a: 1\n":                               "",
		"\ufeffa: 1\r\nb: 2\r\n":               "",
		"":                                     "a.yaml: is empty",
		"# nothing\n":                          "a.yaml: is empty",
		"a:\n\tb: 1\n":                         "a.yaml:2:1: a tab at the start of a line: YAML is indented with spaces",
		"a:\n  \tb: 1\n":                       "a.yaml:2:3: a tab at the start of a line: YAML is indented with spaces",
		"a: 1\nb: \xff\n":                      "a.yaml:2:1: holds bytes that are not UTF-8 text",
		"a: &x 1\n":                            "a.yaml:1:4: &: anchors, aliases, tags, directives and merged or composite keys are not used in a letter; a text that begins so is put in quotes",
		"a: 1\n---\nb: 2\n":                    "a second document: a letter is one",
		"a: " + strings.Repeat("[", 30):        "brackets go more than 24 deep",
		strings.Repeat(" ", 90) + "- a\n":      "lists go too deep",
		"a: " + strings.Repeat("x", 1000):      "too long for a letter: 1003 bytes, the most is 1000",
		"a: [1\n":                              "is put in quotes)",
		"a:\n  - |\n    tabs\twithin are fine": "",
	} {
		ok, faults := parse(text)
		switch {
		case want == "" && (!ok || len(faults) > 0):
			t.Errorf("%q: %v", text, faults)
		case want != "" && (ok || len(faults) != 1 || !strings.HasSuffix(faults[0].Error(), want)):
			t.Errorf("%q: parsed %v, faults %q, want %q", text, ok, faults, want)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"a: 1", "- [x, {y: 'z'}]", "a: |\n  b\n", "? a\n: b", "!!x y", "\t", "a: \"\\u"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if ok, faults := parse(s); ok == (len(faults) > 0) {
			t.Errorf("parsed %v, faults %v", ok, faults)
		}
	})
}

func TestGather(t *testing.T) {
	if err := Gather("x", nil, 3); err != nil {
		t.Error(err)
	}
	fs := []Fault{{Name: "x", Line: 9, Msg: "c"}, {Name: "x", Line: 2, Column: 5, Msg: "b"}, {Name: "x", Line: 2, Column: 5, Msg: "b"}, {Name: "x", Line: 2, Column: 1, Key: "k", Msg: "a"}, {Name: "x", Msg: "z"}}
	if got := Gather("x", fs, 3).Error(); got != "x: z\nx:2:1: k: a\nx:2:5: b\nx: and 1 more" {
		t.Errorf("%s", got)
	}
	if fs[0].Line != 9 {
		t.Error("the caller's faults were put in order")
	}
}

func TestNearest(t *testing.T) {
	names := []string{"distance_m", "gain_db", "seed", "strips", "A"}
	for s, want := range map[string]string{
		"distance": "distance_m", "dsitance_m": "distance_m", "gian_db": "gain_db", "Seeds": "seed", "strip": "strips", "a": "A", "b": "", "": "", "loudness": "",
	} {
		if got := Nearest(s, names); got != want {
			t.Errorf("%q: %q, want %q", s, got, want)
		}
	}
}

// The distance is a metric on what it can tell apart: symmetric, zero for equal words
// only, and never more than the number of changes made.
func TestEditDistance(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const letters = "abcde"
	for range 5000 {
		a := make([]byte, 1+r.IntN(9))
		for i := range a {
			a[i] = letters[r.IntN(len(letters))]
		}
		b := append([]byte(nil), a...)
		changes := r.IntN(4)
		for range changes {
			switch i := r.IntN(len(b)); r.IntN(3) {
			case 0:
				b[i] = letters[r.IntN(len(letters))]
			case 1:
				b = append(b[:i], append([]byte{letters[r.IntN(len(letters))]}, b[i:]...)...)
			case 2:
				if i > 0 && len(b) > 1 {
					b[i-1], b[i] = b[i], b[i-1]
				}
			}
		}
		d, back := EditDistance(string(a), string(b), 20), EditDistance(string(b), string(a), 20)
		if d != back || (d == 0) != (string(a) == string(b)) {
			t.Fatalf("%s, %s: %d and %d", a, b, d, back)
		}
		if changes == 1 && d > 1 {
			t.Fatalf("%s, %s: %d after one change", a, b, d)
		}
	}
}

// The distance of words, worked out by hand.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"gain", "gain", 0}, {"gain", "gian", 1}, {"gain", "gains", 1}, {"gain", "gin", 1}, {"kitten", "sitting", 3}, {"", "abc", 3}} {
		if got := EditDistance(c.a, c.b, 64); got != c.want || EditDistance(c.b, c.a, 64) != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
