package format_test

import (
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
)

// What is no fault but worth a second look: what the note says, and where.
func TestNotes(t *testing.T) {
	record := "  - record: Record it.\n    id: first\n    take: loud\n"
	for _, c := range []struct{ name, from, to, at, want string }{
		{"", "title: A small lesson", "title: A small lesson", "", ""},
		{"no choice is right", "when: A.overs > 0}\n  - record", "when: A.overs > 10}\n  - record", "choices:", "no choice is right when A.overs is 1"},
		{"two are right", "{say: nothing, when: A.overs == 0}", "{say: nothing, when: A.overs < 3}", "choices:", "a and b are right at once when A.overs is 1"},
		{"one right always, one by a rule", "{say: nothing, when: A.overs == 0}", "{say: nothing, right: true}", "choices:", "a and b are right at once when A.overs is 1"},
		{"the same over two readings", "when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", "right: true}\n      - {say: something, when: A.overs > B.overs}", "choices:", "a is right whatever comes, and others are right by a rule"},
		{"a measured value between two", "when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", "when: A.headroom_db > 6}\n      - {say: something, when: A.headroom_db < 3}", "choices:", "no choice is right when A.headroom_db is 3.1 dB"},
		{"a word left out", "when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", "when: 'A.limiter_place == \"off\"'}\n      - {say: something, when: 'A.limiter_place == \"after\"'}", "choices:", "no choice is right when A.limiter_place is before"},
		{"what is drawn and left out", "when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", "when: drawn.distance_m < 0.1}\n      - {say: something, when: drawn.distance_m > 0.1}", "choices:", "no choice is right when drawn.distance_m is 0.1 m"},
		{"decided by the student's own take", record, "", "predict", "is decided by the student's own take in step 4 (set): put a record step between"},
		{"resolved by nothing", "nothing, when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", "nothing}\n      - {say: something}", "predict:", "nothing says what came of this prediction"},
		{"resolved by words", "nothing, when: A.overs == 0}\n      - {say: something, when: A.overs > 0}", "nothing}\n      - {say: something, because: You never know.}", "", ""},
		{"known before it is asked", "  - listen: Compare.", "  - predict: And before?\n    id: late\n    choices: [{say: x, when: first.A.overs > 0}, {say: y, when: first.A.overs == 0}]\n  - record: Again.\n  - listen: Compare.", "predict: And", "was recorded before it, in step 3 (first)"},
		{"listening before any prediction", "  - predict: What will happen?\n    id: guess\n    choices:\n      - {say: nothing, when: A.overs == 0}\n      - {say: something, when: A.overs > 0}\n", "", "listen:", "listen comes before any prediction"},
		{"a second listening", "  - ask: How much?", "  - listen: Again.\n  - listen: And again.\n    strips: [A, B]\n    blind: 8\n  - ask: How much?", "", ""},
	} {
		text := trial.Good
		if c.name == "listening before any prediction" {
			text = strings.Replace(text, "    of: [guess]\n", "", 1)
		}
		if c.name == "decided by the student's own take" {
			text = strings.Replace(text, "  - reveal: It left {{A.headroom_db}}.\n    of: [guess]\n", "  - say: Wait.\n", 1)
			text = strings.Replace(text, "  loud:\n    - {text: \"Well!\", effort: loud}\n", "", 1)
			text = strings.Replace(text, "takes:\n", "", 1)
		}
		if !strings.Contains(text, c.from) {
			t.Fatalf("%s: %q is not in the good lesson", c.name, c.from)
		}
		text = strings.Replace(text, c.from, c.to, 1)
		l, err := format.Parse("b.yaml", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		said := ""
		for _, n := range l.Notes {
			said += n.Error() + "\n"
		}
		switch {
		case c.want == "" && said != "":
			t.Errorf("%s: %s", c.name, said)
		case c.want != "" && (!strings.Contains(said, place(text, c.at)) || !strings.Contains(said, c.want)) || strings.Count(said, "\n") > 1:
			t.Errorf("%s: got\n%swant %s%s", c.name, said, place(text, c.at), c.want)
		}
	}
}
