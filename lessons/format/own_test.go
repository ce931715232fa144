package format

import (
	"strings"
	"testing"
)

// The key is read, its faults and what is worth a look are told, and a lesson without it is
// as it was.
func TestOwnVoiceKey(t *testing.T) {
	base := `title: A
for: b
minutes: 3
scenario:
  source:
    talker: joss
    script:
      - {text: "Well."}
  strips:
    A: {preamp: {gain_db: 40}}
vary:
  talker: [joss, ilse]
steps:
  - record: Go.
`
	read := func(change ...string) (allowed bool, notes, faults string) {
		l, err := Parse("a.yaml", []byte(strings.NewReplacer(change...).Replace(base)))
		if err != nil {
			return false, "", err.Error()
		}
		for _, n := range l.Notes {
			notes += n.Error() + "\n"
		}
		return l.OwnVoice, notes, ""
	}
	allow := []string{"minutes: 3\n", "minutes: 3\nown_voice: allowed\n"}
	for _, c := range []struct {
		change      []string
		is          bool
		note, fault string
	}{
		{nil, false, "", ""},
		{allow, true, "", ""},
		{[]string{"minutes: 3\n", "minutes: 3\nown_voice: yes\n"}, false, "", "a.yaml:4:12: own_voice: want allowed"},
		{[]string{"minutes: 3\n", "minutes: 3\nown_voice: {a: b}\n"}, false, "", "own_voice: want allowed"},
		{[]string{"minutes: 3\n", "minutes: 3\nown_voise: allowed\n"}, false, "", "own_voice"},
		{append(allow, `{text: "Well."}`, `{do: cough}`), true, "cough in the scripts is left out", ""},
		{append(allow, `{text: "Well."}`, `{text: "Well.", talker: ilse}`), false, "", "somebody else talks"},
		{append(allow, "record: Go.", "record: Go, {{drawn.talker}}."), true, "names drawn.talker", ""},
		{append(allow, "record: Go.", "record: Go, {{drawn.talker_name}}."), true, "", ""},
		{append(allow, "record: Go.", "say: Go."), true, "nothing is recorded", ""},
	} {
		is, notes, faults := read(c.change...)
		if is != c.is || !strings.Contains(notes, c.note) || !strings.Contains(faults, c.fault) || (c.fault == "") != (faults == "") || c.note == "" && strings.Contains(notes, "own_voice") {
			t.Errorf("%q: %v, notes %q, faults %q", c.change, is, notes, faults)
		}
	}
}
