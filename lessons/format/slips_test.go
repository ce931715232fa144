package format_test

import (
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
)

// Slips of the hand that YAML notices far away, or not at all, are told where they are.
func TestSlipsOfTheHand(t *testing.T) {
	for _, c := range []struct{ name, from, to, at, want string }{
		{"a quote that is not closed", "title: A small lesson", "title: \"A small lesson", "\"A small", "a quote begins here and ends only in line 10: is its end missing?"},
		{"nor ever", "explain: Why?", "explain: \"Why?", "\"Why?", "ends only in line 48"},
		{"a key too far in", "    choices:\n", "     choices:\n", "choices:", "is this line indented as what it belongs with?"},
		{"a step too far in", "  - ask: How much?", "   - ask: How much?", "- ask: How", "is the line indented as what it belongs with?"},
		{"a key not far enough in", "    id: first", "   id: first", "id: first", "is the line indented as what it belongs with?"},
		{"curly quotes about a text", "predict: What will happen?", "predict: “What: happens?”", "“What", "curly quotes do not quote"},
		{"and in a rule", "when: A.overs == 0}", "when: A.limiter_place == “off”}", "“off", "curly quotes are none in rules"},
		{"a share in percent", "minutes: 3", "minutes: 3\npass: 80", "80", "did you mean 0.8?"},
		{"a text that is cut", "ask: How much?", "ask: How much of take #3?", "How much", "\"#3?\" is a comment, and no part of the text"},
		{"a choice that is cut", "explain: Why?\n    id: why", "ask: Why?\n    id: why\n    choices:\n      - one #1\n      - {say: two, right: true}", "one", "\"#1\" is a comment"},
		{"two right choices", "explain: Why?\n    id: why", "ask: Why?\n    id: why\n    choices: [{say: x, right: true}, {say: y, right: true}]", "choices: [", "a and b are right at once"},
		{"a comment that cuts nothing", "minutes: 3", "minutes: 3 # or four\n# a line of its own", "", ""},
		{"a sharp in a word", "ask: How much?", "ask: How much of C#?", "", ""},
	} {
		if !strings.Contains(trial.Good, c.from) {
			t.Fatalf("%s: %q is not in the good lesson", c.name, c.from)
		}
		text := strings.Replace(trial.Good, c.from, c.to, 1)
		l, err := format.Parse("b.yaml", []byte(text))
		said := ""
		if err != nil {
			said = err.Error()
		} else {
			for _, n := range l.Notes {
				said += n.Error() + "\n"
			}
		}
		if c.want == "" && said != "" || !strings.Contains(said, c.want) || c.at != "" && !strings.Contains(said, place(text, c.at)) {
			t.Errorf("%s: got\n%s\nwant %s%s", c.name, said, place(text, c.at), c.want)
		}
	}
}
