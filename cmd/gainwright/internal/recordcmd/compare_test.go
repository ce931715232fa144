package recordcmd

import (
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/sim"
	"gainwright/sounds/scenario"
)

// What the built-in comparison is there to teach.
func TestCompareDefault(t *testing.T) {
	dir := t.TempDir()
	out := must(t, dir, "compare")
	text, err := os.ReadFile(filepath.Join(dir, "compare-1", "readings.json"))
	if err != nil {
		t.Fatal(err)
	}
	var res struct {
		Strips map[string]sim.Readings
		Gain   map[string]float64 `json:"matched_gain_db"`
		LUFS   float64            `json:"matched_lufs"`
	}
	if err := json.Unmarshal(text, &res); err != nil {
		t.Fatal(err)
	}
	a, b := res.Strips["A"], res.Strips["B"]
	if a.Overs < 10 || b.Overs != 0 {
		t.Errorf("A %d overs, B %d", a.Overs, b.Overs)
	}
	// The limiter after the converter hides the clipping from a plain meter and
	// mends nothing.
	if a.MeterOvers != 0 || a.PeakDBFS > -1 || a.LimiterReductionMaxDB < 3 || a.LostEnergyDB < 0.1 {
		t.Errorf("A: %+v", a)
	}
	if a.GainDB-b.GainDB != 12 {
		t.Errorf("gains %v and %v", a.GainDB, b.GainDB)
	}
	// The copies are equally loud, and none clips.
	for _, name := range []string{"A", "B"} {
		m, err := metercmd.Measure(t.Context(), filepath.Join(dir, "compare-1", name+"-matched.wav"), false, cli.NewWatch(io.Discard, true))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(m.LoudnessLUFS)-res.LUFS) > 0.02 || m.TruePeakDBTP > matchTopDBTP+0.02 {
			t.Errorf("%s: %v LUFS, want %v; %v dBTP", name, m.LoudnessLUFS, res.LUFS, m.TruePeakDBTP)
		}
	}
	page, err := os.ReadFile(filepath.Join(dir, "compare-1", "report.html"))
	if err != nil {
		t.Fatal(err)
	}
	html := string(page)
	if n := strings.Count(html, "<audio "); n != 4 {
		t.Errorf("%d players", n)
	}
	if n := strings.Count(html, `src="data:image/png;base64,`); n != 2 {
		t.Errorf("%d pictures", n)
	}
	// Nothing but the sounds beside it is fetched.
	for _, m := range regexp.MustCompile(`(?:src|href)="([^"]{0,60})`).FindAllStringSubmatch(html, -1) {
		if !strings.HasPrefix(m[1], "data:") && !regexp.MustCompile(`^[AB](-matched)?\.wav$`).MatchString(m[1]) {
			t.Errorf("the report wants %s", m[1])
		}
	}
	for where, s := range map[string]string{"report": html, "output": out} {
		ears, file := strings.Index(s, "Mind your ears: strip A is clipped"), strings.Index(s, "A.wav")
		if ears < 0 || file < ears {
			t.Errorf("%s: the caution stands at %d, the file at %d", where, ears, file)
		}
	}
}

func TestBuiltinScenarios(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	dir := t.TempDir()
	for _, n := range scenario.BuiltinNames()[1:] {
		var res struct{ Strips map[string]sim.Readings }
		if err := json.Unmarshal([]byte(must(t, dir, "compare", n, "--json", "--out", n)), &res); err != nil {
			t.Fatal(err)
		}
		s := res.Strips
		switch n {
		case "limiter-first":
			if s["off"].Overs == 0 || s["after"].Overs != s["off"].Overs || s["before"].Overs > s["off"].Overs/10 {
				t.Errorf("%s: overs %d, %d, %d", n, s["off"].Overs, s["after"].Overs, s["before"].Overs)
			}
		case "two-ranges":
			if s["fixed"].Overs == 0 || s["float"].Overs != 0 || s["float"].PeakDBFS < 0 {
				t.Errorf("%s: %+v", n, s)
			}
		case "engine-room":
			if s["close"].SNRDB < s["far"].SNRDB+10 || math.Abs(float64(s["far"].SNRDB-s["far_more_gain"].SNRDB)) > 0.5 {
				t.Errorf("%s: SNR far %v, with more gain %v, close %v", n, s["far"].SNRDB, s["far_more_gain"].SNRDB, s["close"].SNRDB)
			}
		case "quiet-guest":
			if s["low"].DeliveredNoiseLUFS < s["fair"].DeliveredNoiseLUFS+3 || s["fair"].Overs != 0 {
				t.Errorf("%s: noise %v and %v", n, s["low"].DeliveredNoiseLUFS, s["fair"].DeliveredNoiseLUFS)
			}
		case "lean-in":
			if s["A"].Overs == 0 || s["B"].Overs != 0 {
				t.Errorf("%s: overs %d and %d", n, s["A"].Overs, s["B"].Overs)
			}
		}
	}
}

func TestPrintScenario(t *testing.T) {
	dir := t.TempDir()
	text := must(t, dir, "compare", "--print", "limiter-first", "--set", "seed=3")
	s, err := scenario.Parse("printed", []byte(text))
	if err != nil || s.Seed != 3 || len(s.Strips) != 3 {
		t.Errorf("%v\n%s", err, text)
	}
	if got := clitest.Names(t, dir); got != "" {
		t.Errorf("wrote %s", got)
	}
}
