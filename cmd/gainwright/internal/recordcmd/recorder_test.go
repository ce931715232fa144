package recordcmd

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
)

// TestOwnRecorder: takes run on an equipment file; its knob, what is assumed, and what the
// scenario sets itself are told in text and JSON.
func TestOwnRecorder(t *testing.T) {
	dir := clitest.ShortFile(t)
	const mine = `recorder:
  learnt: 2026-11-29
  marks:
  - {mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 124, low: 122, high: 126}}
  - {mark: 10, gain_db: {value: 32, low: 31.8, high: 32.2}, full_scale_db_spl: {value: 92, low: 90, high: 94}}
  limiter: {place: before_converter, stretches: 30, threshold_dbfs: {value: -9, low: -10, high: -8}}
  word_length_bits: 16
`
	if err := os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(mine), 0o666); err != nil {
		t.Fatal(err)
	}
	text := must(t, dir, "take", "--recorder", "mine.yaml", "--mark", "5")
	for _, want := range []string{"at mark 5 (", "Assumed: microphone, gain", "limiter before the converter"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	var got result
	if err := json.Unmarshal([]byte(must(t, dir, "compare", "s.yaml", "--recorder", "mine.yaml", "--set", "strips.A.input_limiter.on=false", "--json")), &got); err != nil {
		t.Fatal(err)
	}
	a := got.Chains["A"]
	if got.Gear == nil || got.Gear.Learnt != "2026-11-29" || len(got.Gear.Assumed) == 0 || got.Gear.Knob["A"] == nil || a.File.Format != "pcm16" || a.InputLimiter.ThresholdDBFS != -9 {
		t.Fatalf("%+v %+v", got.Gear, a)
	}
	if s := strings.Join(got.Gear.Departs, " "); !strings.Contains(s, "strips.A.input_limiter.on") {
		t.Error(s)
	}
	// A scenario that names it says as much, and prints what it stands for.
	if err := os.WriteFile(filepath.Join(dir, "named.yaml"), []byte("recorder: mine.yaml\nstrips: {A: {mark: 10}}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "printed.yaml"), []byte(must(t, dir, "compare", "named.yaml", "--print")), 0o666); err != nil {
		t.Fatal(err)
	}
	// Full scale at 92 dB SPL with 1.8 mV/Pa and +10 dBu: 10 + 93.98 − 92 + 52.68 = 64.66 dB of gain.
	if s := must(t, dir, "compare", "printed.yaml", "--print"); !strings.Contains(s, "recorder:") || !strings.Contains(s, "gain_db: 64.6") {
		t.Error(s)
	}
	status, _, errs := call(t, dir, "take", "--recorder", "s.yaml")
	if status != cli.ExitUsage || strings.Count(errs, "\n") != 1 {
		t.Errorf("%d %q", status, errs)
	}
}
