//go:build !js

package markup_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"gainwright/lessons/builtin"
	"gainwright/lessons/markup"
)

func TestPlain(t *testing.T) {
	got := markup.Plain("# Head\n\nSome **bold** and *soft* text with `code`, that is longer than one line of forty.\n\n- one\n- two,\n  wrapped\n\n1. first\n2. second\n\n> said\n\n| a | b |\n|---|---|\n| 1 | 22 |\n\n    code  here\n", 40)
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
	for _, l := range builtin.All() {
		for _, s := range l.Steps {
			for _, line := range strings.Split(markup.Plain(s.Text.Raw(), 72), "\n") {
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
		if h := markup.HTML(s); strings.Contains(h, "<script") || strings.Contains(h, "<img") || strings.Contains(h, "javascript:") {
			t.Errorf("%q gives %q", s, h)
		}
	}
	for _, s := range []string{"**x**", "<b>x</b>", "[a](b)", "a_b_c", "# x", "1. x", "`x`", "x | y", "&lt;"} {
		plain := markup.Plain(markup.Escape(s), 100)
		if plain != s {
			t.Errorf("%q came back as %q", s, plain)
		}
	}
}
