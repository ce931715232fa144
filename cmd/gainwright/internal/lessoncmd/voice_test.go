package lessoncmd

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sounds/codec"
	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// voiceFile writes a small voice as “Your voice” saves it.
func voiceFile(t *testing.T, path, name, talker string) {
	t.Helper()
	p := &own.Performance{Name: name}
	part := func(k own.Part, e voice.Event) {
		v, err := voice.New(voice.Script{e}, talker, 5)
		if err != nil {
			t.Fatal(err)
		}
		x, err := v.Render(t.Context(), nil)
		if err != nil {
			t.Fatal(err)
		}
		p.Parts[k] = own.Span{From: len(p.Samples), To: len(p.Samples) + len(x)}
		for _, s := range x {
			p.Samples = append(p.Samples, float32(.1*s))
		}
	}
	part(own.Read, voice.Event{Text: "The ferry crosses the river every half hour. A bell rang at each side."})
	part(own.Laugh, voice.Event{Do: "laugh"})
	p.Settle()
	b, err := p.Pack()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

const ownVoiceLesson = `title: The ferry bell
for: hosts who laugh
minutes: 3
own_voice: allowed
scenario:
  source:
    talker: joss
    script:
      - {text: "Hold on to the rail."}
      - {do: laugh}
  strips:
    A: {preamp: {gain_db: 40}}
steps:
  - say: "{{drawn.talker_name}} talks."
  - do: Keep headroom.
    id: set
    controls: {A.preamp.gain_db: {from: 0, to: 60}}
    rule: A.overs == 0 && A.headroom_db >= 6
vary:
  talker: [joss, ilse]
`

// A lesson is taken with a voice of one's own, and verified with its file alone.
func TestLessonOwnVoice(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("mine.yaml", ownVoiceLesson)
	write("closed.yaml", strings.Replace(ownVoiceLesson, "own_voice: allowed\n", "", 1))
	write("a.yaml", "answers: {set: {A.preamp.gain_db: 15}}\n")
	voiceFile(t, filepath.Join(dir, "ada.wav"), "Ada", "maren")
	voiceFile(t, filepath.Join(dir, "bo.wav"), "Bo", "pip")
	plain, err := codec.WAVBytes(own.Rate, [][]float64{make([]float64, 4800)}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	write("plain.wav", string(plain))
	is := func(want int, says string, a ...string) (out string) {
		t.Helper()
		status, out, errs := lesson(t, dir, "", a...)
		if status != want || !strings.Contains(out+errs, says) {
			t.Errorf("%q: %d, want %d and %q\n%s%s", a, status, want, says, out, errs)
		}
		if strings.Count(errs, "\n") > 2 {
			t.Errorf("%q: more than a line or two: %s", a, errs)
		}
		return out
	}
	is(cli.ExitOK, "students may take it with a voice of their own", "check", "--no-takes", "mine.yaml")
	is(cli.ExitOK, "may be taken with your own voice", "list", "--lesson", "mine.yaml")
	is(cli.ExitOK, "with a voice of your own", "show", "mine.yaml")
	if out := is(cli.ExitOK, "", "show", "closed.yaml"); strings.Contains(out, "voice of your own") {
		t.Error("the handout of a lesson that does not allow it tells of voices")
	}
	is(cli.ExitOK, "2 of 2 combinations pass", "rehearse", "mine.yaml", "--answers", "a.yaml", "--voice", "ada.wav", "--quiet")
	is(cli.ExitUsage, "does not allow", "rehearse", "closed.yaml", "--answers", "a.yaml", "--voice", "ada.wav", "--quiet")
	is(cli.ExitUsage, "taken with the talker that it has", "run", "closed.yaml", "--answers", "a.yaml", "--voice", "ada.wav")
	is(cli.ExitUsage, "want the WAV that “Your voice” saves", "run", "mine.yaml", "--answers", "a.yaml", "--voice", "plain.wav")
	is(cli.ExitUsage, "no such file", "run", "mine.yaml", "--answers", "a.yaml", "--voice", "none.wav")
	is(cli.ExitOK, "hand its file in, too", "run", "mine.yaml", "--answers", "a.yaml", "--voice", "ada.wav", "--out", "r.json")

	grade := []string{"grade", "r.json", "--lesson", "mine.yaml", "--quiet"}
	is(cli.ExitFailure, "without it the result cannot be verified", grade...)
	is(cli.ExitFailure, "holds another recording", append(grade, "--voice", "bo.wav")...)
	is(cli.ExitUsage, "plain.wav: is not a voice", append(grade, "--voice", "plain.wav")...)
	is(cli.ExitOK, "taken with the student's own voice \"Ada\"", append(grade, "--voice", "ada.wav")...)
	is(cli.ExitFailure, "bo.wav: no result here was taken with this voice", append(grade, "--voice", "ada.wav", "--voice", "bo.wav")...)
	out := is(cli.ExitOK, "", append(grade, "--voice", "ada.wav", "--json")...)
	one := clitest.ReadJSON(t, out)["results"].([]any)[0].(map[string]any)
	if v, _ := one["own_voice"].(map[string]any); one["passed"] != true || v["name"] != "Ada" || len(v["sha256"].(string)) != 64 {
		t.Errorf("%v", one)
	}
}
