package lessoncmd

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
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
