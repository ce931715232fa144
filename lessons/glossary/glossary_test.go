package glossary

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestTermsAreWhole(t *testing.T) {
	if len(terms) < 40 {
		t.Errorf("only %d terms", len(terms))
	}
	owner := map[string]string{}
	for _, x := range terms {
		if !regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`).MatchString(x.ID) {
			t.Errorf("%q is no ID", x.ID)
		}
		if x.Name == "" || x.Seen == "" || x.Source == "" {
			t.Errorf("%s: name %q, seen %q, source %q", x.ID, x.Name, x.Seen, x.Source)
		}
		if n := utf8.RuneCountInString(x.Say); n < 30 || n > 300 || !strings.HasSuffix(x.Say, ".") {
			t.Errorf("%s: %d characters: %s", x.ID, n, x.Say)
		}
		for _, s := range slices.Compact(append([]string{letters(x.ID)}, func() (p []string) {
			for _, n := range x.names()[1:] {
				p = append(p, letters(n))
			}
			return p
		}()...)) {
			if o, ok := owner[s]; ok && o != x.ID {
				t.Errorf("%q means %s and %s", s, o, x.ID)
			}
			owner[s] = x.ID
		}
		for _, s := range x.See {
			if _, ok := ByID(s); !ok || s == x.ID {
				t.Errorf("%s points to %q", x.ID, s)
			}
		}
	}
}

func TestFind(t *testing.T) {
	for word, id := range map[string]string{"dBFS": "dbfs", "DBFS": "dbfs", " db fs ": "dbfs", "dB(A)": "dba", "a-weighting": "dba", "True Peak": "dbtp", "32-bit float": "float",
		"signal-to-noise": "snr", "noise after delivery": "noise-after-delivery", "A/D": "converter", "range": "dynamic-range"} {
		if x, ok := Find(word); !ok || x.ID != id {
			t.Errorf("%q is %q, want %q", word, x.ID, id)
		}
	}
	for _, word := range []string{"", "  ", "—", "xylophone", "\xff"} {
		if x, ok := Find(word); ok {
			t.Errorf("%q is %q", word, x.ID)
		}
	}
}

func TestNear(t *testing.T) {
	for word, want := range map[string]string{"headrom": "headroom", "limtier": "limiter", "dfbs": "dBFS", "lusf": "LUFS", "clippping": "clipping", "loud": "LUFS", "decibels": "dB", "dithering": "dither"} {
		if got := Near(word); !slices.Contains(got, want) {
			t.Errorf("%q: near %q, want %q", word, got, want)
		}
	}
	for _, word := range []string{"", "xylophone", strings.Repeat("gain", 100)} {
		if got := Near(word); len(got) > 0 {
			t.Errorf("%q: near %q", word, got)
		}
	}
}

func FuzzFind(f *testing.F) {
	for _, s := range []string{"dBFS", "", "\xff", "A/D", "ſ", "gain gain"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if x, ok := Find(s); ok {
			if y, ok := ByID(x.ID); !ok || y.Name != x.Name {
				t.Errorf("%q: %q", s, x.ID)
			}
		}
		if n := Near(s); len(n) > 3 {
			t.Errorf("%q: %d near", s, len(n))
		}
	})
}
