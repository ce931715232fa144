//go:build full

package cli_test

import (
	"encoding/json"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// The figures of take and meter against an outside program's meters: ebur128 (ITU-R
// BS.1770, EBU Tech 3342) and astats of ffmpeg, on the files that were written.
func TestAgainstFFmpeg(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Fatal("the full tests need ffmpeg: ", err)
	}
	dir := t.TempDir()
	for _, c := range []struct{ scenario, strip string }{
		{"captain-laughs", "A"}, {"captain-laughs", "B"}, {"quiet-guest", "low"}, {"engine-room", "far"}, {"lean-in", "A"},
	} {
		out := filepath.Join(dir, c.scenario+c.strip)
		status, text, stderr := call(t, dir, "take", "--scenario", c.scenario, "--strip", c.strip, "--out", out, "--json")
		if status != 0 {
			t.Fatalf("status %d: %s", status, stderr)
		}
		file := filepath.Join(out, c.strip+".wav")
		var take struct {
			Strips map[string]map[string]*float64
		}
		if err := json.Unmarshal([]byte(text), &take); err != nil {
			t.Fatal(err)
		}
		status, text, stderr = call(t, dir, "meter", "--json", file)
		if status != 0 {
			t.Fatalf("status %d: %s", status, stderr)
		}
		var metered struct{ Files []map[string]any }
		if err := json.Unmarshal([]byte(text), &metered); err != nil {
			t.Fatal(err)
		}
		theirs := ffmpeg(t, file)
		for _, q := range []struct {
			key       string
			tolerance float64
		}{
			// EBU Tech 3341 allows ±0.1 LU and Tech 3342 ±1 LU; true-peak filters differ by
			// design, and Tech 3341 allows +0.2 and −0.4 dB. To each comes half of the last
			// digit that ffmpeg prints. Sample peaks may differ by the step between 2¹⁵ and
			// 2¹⁵−1, either of which may count as full scale.
			{"loudness_lufs", 0.15}, {"loudness_range_lu", 1.05}, {"true_peak_dbtp", 0.25}, {"peak_dbfs", 0.0003},
		} {
			want, ok := theirs[q.key]
			if !ok {
				t.Fatalf("ffmpeg told no %s", q.key)
			}
			got := *take.Strips[c.strip][q.key]
			if math.Abs(got-want) > q.tolerance {
				t.Errorf("%s %s: take %s %.3f, ffmpeg %.3f", c.scenario, c.strip, q.key, got, want)
			}
			if m := metered.Files[0][q.key].(float64); math.Abs(m-got) > 0.05 {
				t.Errorf("%s %s: %s: meter says %.3f, take %.3f", c.scenario, c.strip, q.key, m, got)
			}
			t.Logf("%s %s %s: %.3f, ffmpeg %.3f", c.scenario, c.strip, q.key, got, want)
		}
		if got, want := metered.Files[0]["rms_dbfs"].(float64), theirs["rms"]+20*math.Log10(math.Sqrt2); math.Abs(got-want) > 0.0013 {
			t.Errorf("%s %s: rms %.4f, ffmpeg %.4f (AES17)", c.scenario, c.strip, got, want)
		}
	}
}

func ffmpeg(t *testing.T, file string) map[string]float64 {
	t.Helper()
	text, err := limited.Command(t, 5*time.Minute, "ffmpeg", "-hide_banner", "-nostats", "-i", file,
		"-af", "astats=measure_perchannel=none,ebur128=peak=true+sample", "-f", "null", "-").CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	out := map[string]float64{}
	for key, re := range map[string]string{
		"loudness_lufs":     `(?s)Integrated loudness:\s+I:\s+(-?[\d.]+) LUFS`,
		"loudness_range_lu": `LRA:\s+(-?[\d.]+) LU\n`,
		"true_peak_dbtp":    `(?s)True peak:\s+Peak:\s+(-?[\d.]+) dBFS`,
		"peak_dbfs":         `Peak level dB: (-?[\d.]+)`,
		"rms":               `RMS level dB: (-?[\d.]+)`,
	} {
		all := regexp.MustCompile(re).FindAllSubmatch(text, -1)
		if len(all) == 0 {
			continue
		}
		v, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		out[key] = v
	}
	return out
}
