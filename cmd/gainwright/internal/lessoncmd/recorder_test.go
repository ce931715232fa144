package lessoncmd

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sounds/codec"
)

const ownRecorder = `recorder:
  marks:
  - {mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 124, low: 122, high: 126}}
  - {mark: 10, gain_db: {value: 32, low: 31.8, high: 32.2}, full_scale_db_spl: {value: 92, low: 90, high: 94}}
  word_length_bits: 16
`

// TestLessonOnOwnRecorder: a lesson and a practice are taken on an equipment file; a result
// is graded with the same file and, without it, is one of another lesson.
func TestLessonOnOwnRecorder(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(ownRecorder), 0o666); err != nil {
		t.Fatal(err)
	}
	ans := answersFor(t, dir, "gain-and-headroom")
	status, _, errs := lesson(t, dir, "", "run", "gain-and-headroom", "--recorder", "mine.yaml", "--answers", ans, "--out", "r.json")
	if status != 0 {
		t.Fatal(status, errs)
	}
	if status, out, _ := lesson(t, dir, "", "grade", "r.json", "--recorder", "mine.yaml"); status != 0 || !strings.Contains(out, "1 passed") {
		t.Errorf("%d %s", status, out)
	}
	if status, out, _ := lesson(t, dir, "", "grade", "r.json"); status == 0 || !strings.Contains(out, "its text was different") {
		t.Errorf("%d %s", status, out)
	}
	if status, out, errs := lesson(t, dir, "", "rehearse", "gain-and-headroom", "--recorder", "mine.yaml", "--most", "1"); status != 0 || !strings.Contains(out, "1 of 1") {
		t.Errorf("%d %s %s", status, out, errs)
	}
	status, out, errs := lesson(t, dir, "mark=5\nmark=12\nquit\n", "practice", "--recorder", "mine.yaml", "--seed", "3", "--history", "h.json")
	if status != 0 || !strings.Contains(out, "Your own recorder") || !strings.Contains(out, ", mark 5 (") || !strings.Contains(out, "mark 12 is not on the knob") {
		t.Errorf("%d %s %s", status, out, errs)
	}
	for _, a := range [][]string{{"run", "gain-and-headroom"}, {"rehearse", "gain-and-headroom"}, {"grade", "r.json"}, {"practice", "--history", "h.json"}} {
		if status, _, errs := lesson(t, dir, "", append(a, "--recorder", "none.yaml")...); status != cli.ExitUsage || strings.TrimSpace(errs) != "gainwright: none.yaml: no such file" {
			t.Errorf("%v: %d %q", a, status, errs)
		}
	}
}

// limited turns down what goes over 0.5: attack 2 ms, release 120 ms, on the level in dB.
func limited(x []float64) []float64 {
	y, down := make([]float64, len(x)), 0.0
	for i, v := range x {
		over := max(0, 20*math.Log10(math.Abs(v)/0.5+1e-12))
		k := 1 - math.Exp(-1/(0.12*16000))
		if over > down {
			k = 1 - math.Exp(-1/(0.002*16000))
		}
		down += k * (over - down)
		y[i] = v * math.Pow(10, -down/20)
	}
	return y
}

// TestLessonOnOwnPair: two recordings of a recorder of this test's make the lesson one about
// that recorder, wherever its limiter sits; a result is graded with the file that is written.
// Pairs that do not tell, and wrong use, are one sentence.
func TestLessonOnOwnPair(t *testing.T) {
	dir := t.TempDir()
	const id = "where-does-your-limiter-sit"
	ans := answersFor(t, dir, id)
	put := func(name string, x []float64) { clitest.PutWAV(t, filepath.Join(dir, name), 16000, codec.PCM24, x) }
	loud := clitest.Times(clitest.VoiceLike(12, 16000, 4), 2)
	put("off.wav", clitest.ClipAt(loud, 1))
	put("after.wav", limited(clitest.ClipAt(loud, 1)))
	put("before.wav", clitest.ClipAt(limited(loud), 1))
	put("soft.wav", clitest.Times(loud, 0.05))
	put("soft-on.wav", clitest.Times(loud, 0.05))
	for place, say := range map[string]string{"after": "after_converter", "before": "before_converter"} {
		out := place + ".json"
		status, text, errs := lesson(t, dir, "", "run", id, "--off", "off.wav", "--on", place+".wav", "--answers", ans, "--out", out)
		if status != 0 || !strings.Contains(text, "limiter acts "+place+" the converter") {
			t.Errorf("%s: %d %s %s", place, status, text, errs)
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, place+"-recorder.yaml"))
		if err != nil || !strings.Contains(string(data), "place: "+say) || !strings.Contains(string(data), "sha256:") {
			t.Errorf("%v\n%s", err, data)
		}
		if status, text, _ := lesson(t, dir, "", "grade", out, "--recorder", place+"-recorder.yaml"); status != 0 || !strings.Contains(text, "1 passed") {
			t.Errorf("%s: %d %s", place, status, text)
		}
		// What is measured is not drawn: a seed changes who talks, and nothing about the limiter.
		if data, err := os.ReadFile(filepath.Join(dir, out)); err != nil || !strings.Contains(strings.ReplaceAll(string(data), " ", ""), `"on.limiter_place":"`+place+`"`) {
			t.Errorf("%v\n%s", err, data)
		}
	}
	for _, c := range []struct{ args, want string }{
		{"--off off.wav", "are a pair"},
		{"--off off.wav --on none.wav", "none.wav: no such file"},
		{"--off soft.wav --on soft-on.wav", "record a louder pair"},
		{"--off off.wav --on after.wav --recorder mine.yaml", "either of them"},
		{"--off - --on after.wav", "standard input"},
	} {
		status, out, errs := lesson(t, dir, "", append([]string{"run", id, "--answers", ans}, strings.Fields(c.args)...)...)
		if status != cli.ExitUsage || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: %d, %q %q", c.args, status, out, errs)
		}
	}
}
