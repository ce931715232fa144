package kit

import (
	"strings"
	"testing"

	"gainwright/scenes/ui"
)

// What a text links to in the glossary is explained below it, seen and told alike.
func TestTextExplainsWords(t *testing.T) {
	const md = "Leave [headroom](explain:headroom)\n\n- above [the talk](https://example.org/x)"
	th := ui.NewTheme(true, 1)
	f := Flow{th: &th, Width: 600}
	f.Markdown(md)
	var b strings.Builder
	for _, p := range f.Pieces {
		b.WriteString(p.S)
	}
	shown := strings.ReplaceAll(b.String(), " ", "")
	told := PlainWords(md)
	for _, want := range []string{"headroom: How much louder", "the talk (https://example.org/x)"} {
		if !strings.Contains(told, want) {
			t.Errorf("told is %q, without %q", told, want)
		}
		if !strings.Contains(shown, strings.ReplaceAll(want, " ", "")) {
			t.Errorf("shown is %q, without %q", shown, want)
		}
	}
	if strings.Contains(told+shown, "explain:") {
		t.Errorf("an address is shown: %q %q", told, shown)
	}
}
