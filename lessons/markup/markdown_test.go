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

// A link to a word of the glossary: checked, plain on a terminal, an anchor on paper.
func TestTermLinks(t *testing.T) {
	const good = "Leave [headroom](explain:headroom) above [the talk](https://example.org/x)."
	if bad := markup.Slips(good); len(bad) > 0 {
		t.Errorf("faults %v", bad)
	}
	if got, want := markup.Plain(good, 100), "Leave headroom above the talk <https://example.org/x>."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if h := markup.HTML(good); !strings.Contains(h, `<a href="#term-headroom">headroom</a>`) {
		t.Errorf("HTML %q", h)
	}
	for s, want := range map[string]string{
		"[x](explain:headrom)":   `there is no term "headrom"`,
		"[x](explain:)":          `there is no term ""`,
		"[x](explain:true-peak)": "is linked to as explain:dbtp",
		"[x](javascript:a)":      "a link goes to https://",
	} {
		if bad := markup.Slips(s); len(bad) != 1 || !strings.Contains(bad[0].Msg, want) {
			t.Errorf("%s: %v, want %q", s, bad, want)
		}
	}
}
