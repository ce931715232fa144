//go:build !js

package markup_test

import (
	"html"
	"regexp"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/markup"
)

var tag = regexp.MustCompile("<[^>]*>")

// What is left of a text without its marks is what a Markdown library's page says
// without its tags.
func TestWordsAreThePagesWords(t *testing.T) {
	texts := []string{
		"**Headroom** is the *distance* to 0 dBFS, read off **talk_peak_dbfs**.",
		"A _soft_ word, and snake_case_names; 3 * 4 is 12.",
		"See [dBFS](explain:dbfs), `A.overs == 0` and \\*this\\*.",
		"- one\n- two **and** three\n\n> quoted",
		"| a | b |\n|---|---|\n| 1 | **2** |",
	}
	for _, l := range builtin.All() {
		texts = append(texts, l.About)
		for _, s := range l.Steps {
			texts = append(texts, s.Text.Blank(nil))
		}
	}
	one := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	for _, text := range texts {
		want := one(html.UnescapeString(tag.ReplaceAllString(markup.HTML(text), " ")))
		got := one(strings.ReplaceAll(markup.Words(text), "…", "______"))
		// Tags part words from the points behind them.
		tight := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if tight(got) != tight(strings.ReplaceAll(want, "…", "______")) {
			t.Errorf("%q\n  words %q\n  page  %q", text, got, want)
		}
	}
	if got := markup.Words(`It left \_\_\_\_\_\_ and ___.`); got != "It left … and …." {
		t.Errorf("gaps: %q", got)
	}
}
