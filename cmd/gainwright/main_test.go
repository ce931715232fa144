package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
)

// call runs the program in the given directory; must wants success.
var call, must = clitest.For(newRootCmd)

// Every key that the contract of the JSON names.
var readingKeys = strings.Fields(`gain_db talk_peak_dbfs peak_dbfs true_peak_dbtp headroom_db loudness_lufs
	loudness_range_lu short_term_max_lufs momentary_max_lufs noise_floor_dbfs snr_db overs longest_over_ms
	clipped_percent rail_overs mic_overload_samples limiter_reduction_max_db sdr_db lost_energy_db
	delivered_gain_db delivered_noise_lufs meter_overs`)

func TestJSON(t *testing.T) {
	dir := clitest.ShortFile(t)
	v := clitest.ReadJSON(t, must(t, dir, "take", "--scenario", "s.yaml", "--json", "--out", "o"))
	a := v["strips"].(map[string]any)["A"].(map[string]any)
	for _, k := range readingKeys {
		if _, ok := a[k]; !ok {
			t.Errorf("no %s", k)
		}
	}
	for name, path := range v["files"].(map[string]any) {
		if st, err := os.Stat(filepath.Join(dir, path.(string))); err != nil || st.Size() == 0 || filepath.Base(path.(string)) != name {
			t.Errorf("%s: %v", name, path)
		}
	}
	v = clitest.ReadJSON(t, must(t, dir, "compare", "s.yaml", "--json", "--out", "c"))
	if len(v["strips"].(map[string]any)) != 2 || len(v["files"].(map[string]any)) != 6 {
		t.Errorf("compare: %v", v)
	}
	v = clitest.ReadJSON(t, must(t, dir, "meter", "--json", "o/A.wav", "c/B.wav"))
	files := v["files"].([]any)
	if len(files) != 2 {
		t.Fatalf("%d files", len(files))
	}
	m := files[0].(map[string]any)
	for _, k := range []string{"path", "rate_hz", "channels", "seconds", "peak_dbfs", "loudness_lufs", "true_peak_dbtp", "meter_overs", "flat_tops", "noise_floor_dbfs", "verdict", "advice"} {
		if _, ok := m[k]; !ok {
			t.Errorf("meter: no %s", k)
		}
	}
	clitest.ReadJSON(t, must(t, dir, "version", "--json"))
}

func TestBadUse(t *testing.T) {
	dir := clitest.ShortFile(t)
	if err := os.WriteFile(filepath.Join(dir, "bad.yaml"), []byte("strips:\n  A:\n    preamp: {gian_db: 40}\n    limiter: {ratio: 0}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	must(t, dir, "take", "--scenario", "s.yaml", "--out", "there", "--quiet")
	before := clitest.Names(t, dir)
	for _, c := range []struct {
		args []string
		want string // on the standard error; lines are told apart by |
	}{
		{[]string{"tkae"}, `there is no command "tkae": did you mean take?`},
		{[]string{"wombat"}, `there is no command "wombat"; see gainwright --help`},
		{[]string{"take", "--gian", "3"}, "unknown flag: --gian; see gainwright take --help"},
		{[]string{"take", "a.wav", "b.wav"}, "gainwright take: takes one recording at most"},
		{[]string{"take", "--gain", "900"}, "--gain: 900 dB is out of range: -20 to 80 dB"},
		{[]string{"take", "--gain", "high"}, `--gain: want a number, -20 to 80 dB, not "high"`},
		{[]string{"take", "--limiter", "behind"}, `--limiter: there is no "behind": there are off, before and after`},
		{[]string{"take", "--talker", "captian"}, `--talker: there is no "captian": did you mean captain?`},
		{[]string{"take", "--distance", "3"}, "--distance: 3 m is out of range: 0.02 to 2 m"},
		{[]string{"take", "--level", "70"}, "--level is for a recording"},
		{[]string{"take", "--seed", "-1"}, "--seed: -1 is out of range"},
		{[]string{"take", "--format", "mp3"}, `--format: there is no "mp3"`},
		{[]string{"take", "--picture", "gif"}, `--picture: there is no "gif": there are png and svg`},
		{[]string{"take", "--set", "preamp.gian_db=3"}, "--set preamp.gian_db: there is no such setting: did you mean preamp.gain_db?"},
		{[]string{"take", "--set", "preamp"}, "--set preamp: want PATH=VALUE"},
		{[]string{"take", "--set", "strips.Q.preamp.gain_db=3"}, `there is no strip "Q": there are A`},
		{[]string{"take", "--set", "preamp.gain_db=99", "--distance", "9"}, "--set preamp.gain_db: 99 dB is out of range|--distance: 9 m"},
		{[]string{"take", "--scenario", "s.yaml", "--strip", "C"}, `there is no strip "C": there are A, B`},
		{[]string{"take", "--scenario", "none"}, `there is no built-in scenario "none"`},
		{[]string{"take", "--scenario", "none.yaml"}, "none.yaml: no such file"},
		{[]string{"take", "--scenario", "bad.yaml"}, "bad.yaml:3:14: strips.A.preamp.gian_db: unknown key: did you mean gain_db?|bad.yaml:4:22: strips.A.limiter.ratio: 0:1 is out of range"},
		{[]string{"take", "none.wav"}, "none.wav: "},
		{[]string{"take", "s.yaml"}, "s.yaml: "},
		{[]string{"take", "none.wav", "--talker", "ilse"}, "--talker ilse: none.wav is a recording"},
		{[]string{"take", "--scenario", "s.yaml", "--out", "there"}, "already exists, and is not replaced unless forced"},
		{[]string{"take", "--out", "no/such/place"}, "there is no directory no/such"},
		{[]string{"take", "--out", "s.yaml"}, "s.yaml: is a file: a directory is needed"},
		{[]string{"compare", "a", "b"}, "takes one scenario at most"},
		{[]string{"compare", "captain-laugh"}, "did you mean captain-laughs?"},
		{[]string{"meter"}, "gainwright meter: wants one or more recordings"},
		{[]string{"meter", "none.wav", "none2.wav"}, "none.wav: |none2.wav: "},
	} {
		status, out, errs := call(t, dir, c.args...)
		wants := strings.Split(c.want, "|")
		lines := strings.Split(strings.TrimSuffix(errs, "\n"), "\n")
		if len(lines) != len(wants) {
			t.Errorf("%v: want %d lines, got %q", c.args, len(wants), errs)
			continue
		}
		for i, w := range wants {
			if !strings.HasPrefix(lines[i], "gainwright: ") || !strings.Contains(lines[i], w) {
				t.Errorf("%v:\n got %s\nwant %s", c.args, lines[i], w)
			}
		}
		wantStatus := cli.ExitUsage
		if strings.Contains(c.want, "a directory is needed") {
			wantStatus = cli.ExitFailure
		}
		if status != wantStatus || out != "" {
			t.Errorf("%v: status %d, stdout %q", c.args, status, out)
		}
		if got := clitest.Names(t, dir); got != before {
			t.Errorf("%v left %s", c.args, got)
		}
	}
}

// One bad file among several does not hide the others.
func TestMeterGoesOn(t *testing.T) {
	dir := clitest.ShortFile(t)
	must(t, dir, "take", "--scenario", "s.yaml", "--out", "o", "--quiet")
	status, out, errs := call(t, dir, "meter", "none.wav", "o/A.wav", "--json")
	if status != cli.ExitUsage || !strings.Contains(errs, "none.wav") || len(clitest.ReadJSON(t, out)["files"].([]any)) != 1 {
		t.Errorf("status %d, %s, %s", status, out, errs)
	}
}

func TestHelp(t *testing.T) {
	for _, c := range [][]string{{"--help"}, {"take", "--help"}, {"compare", "--help"}, {"meter", "--help"}, {"version", "--help"}, {"open", "--help"}} {
		out := must(t, t.TempDir(), c...)
		if !strings.Contains(out, "Examples:") || !strings.Contains(out, "gainwright") {
			t.Errorf("%v: no examples", c)
		}
		for _, line := range strings.Split(out, "\n") {
			if n := cli.Runes(line); n > 110 {
				t.Errorf("%v: a line of %d characters: %s", c, n, line)
			}
		}
	}
}
