//go:build full

package recorder

import (
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// TestHighPass: noise that sox makes, through its high-pass of two poles (3 dB down at the
// frequency that is stated), is told to fall away there within a factor of 1.5, and what it
// leaves alone is not.
func TestHighPass(t *testing.T) {
	dir := t.TempDir()
	prog := program(t, dir)
	about := regexp.MustCompile(`below about ([0-9]+) Hz`)
	for _, kind := range []string{"whitenoise", "pinknoise", "brownnoise"} {
		for _, hz := range []float64{0, 80, 120, 150} {
			if kind == "brownnoise" && hz > 0 {
				continue // falls by 6 dB an octave itself, against the filter
			}
			path := filepath.Join(dir, fmt.Sprintf("%s-%.0f.wav", kind, hz))
			args := []string{"-R", "-D", "-n", "-r", "48000", "-c", "1", "-b", "24", path, "synth", "6", kind, "gain", "-50"}
			if hz > 0 {
				args = append(args, "highpass", fmt.Sprint(hz))
			}
			if said, err := limited.Command(t, time.Minute, "sox", args...).CombinedOutput(); err != nil {
				t.Fatalf("sox: %v\n%s", err, said)
			}
			l, problem := learn(t, prog, device{Files: [][2]string{{filepath.Base(path), "quiet,10"}}}, dir)
			told := 0.0
			for _, n := range l.Notes {
				if m := about.FindStringSubmatch(n); m != nil {
					told, _ = strconv.ParseFloat(m[1], 64)
				}
			}
			t.Logf("%s, %.0f Hz: told %.0f Hz", kind, hz, told)
			if problem != "" || (told > 0) != (hz > 0) || hz > 0 && math.Abs(math.Log(told/hz)) > math.Log(1.5) {
				t.Errorf("%s, high-pass at %.0f Hz: told %.0f Hz, %s %v", kind, hz, told, problem, l.Notes)
			}
		}
	}
}
