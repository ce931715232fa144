package sounds

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

func TestShown(t *testing.T) {
	for in, want := range map[string]string{
		"ferry.wav": "ferry.wav", "Fähre 2 – früh.wav": "Fähre 2 – früh.wav", "": "",
		"a\nb": `a\nb`, "\x1b[31mred": `\x1b[31mred`, "\a\t\r": `\x07\t\r`, "\x7f": `\x7f`, "\u009b2J": `\u009b2J`,
		"gpj.\u202evaw": `gpj.\u202evaw`, "\xff\xfe": `\xff\xfe`, "\u2028": `\u2028`,
	} {
		if got := Shown(in); got != want {
			t.Errorf("%q is shown as %s, want %s", in, got, want)
		}
	}
	for _, err := range []error{&InputError{Path: "a\x1bb", Msg: "m"}, &OutputError{Path: "a\x1bb", Msg: "m"}, &ExistsError{Path: "a\x1bb"}} {
		if s := err.Error(); !strings.HasPrefix(s, `a\x1bb: `) {
			t.Errorf("%q", s)
		}
	}
}

func FuzzShown(f *testing.F) {
	f.Add("ferry\x1b.wav")
	f.Fuzz(func(t *testing.T, name string) {
		s := Shown(name)
		if !utf8.ValidString(s) || strings.IndexFunc(s, unicode.IsControl) >= 0 {
			t.Errorf("%q is shown as %q", name, s)
		}
	})
}
