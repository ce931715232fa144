//go:build window && linux

package window

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// From a setting's change to changed samples at the speaker, through the whole
// program but its window, with a device that takes samples by the clock as a card
// does (testdata/clocked.c).
func TestSoundFollowsSettings(t *testing.T) {
	dir := t.TempDir()
	lib, knob, conf := filepath.Join(dir, "clocked.so"), filepath.Join(dir, "knob"), filepath.Join(dir, "asoundrc")
	for _, c := range [][]string{
		{"gcc", "-O2", "-shared", "-fPIC", "-DPIC", "-o", lib, "testdata/clocked.c", "-lasound"},
		{"go", "build", "-tags", "window", "-o", knob, "./knob"},
	} {
		if out, err := limited.Command(t, 10*time.Minute, c[0], c[1:]...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", strings.Join(c, " "), err, out)
		}
	}
	text := fmt.Sprintf("pcm_type.clocked { lib %q }\npcm.!default { type clocked file %q }\nctl.!default { type null }\n", lib, filepath.Join(dir, "card"))
	if err := os.WriteFile(conf, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := limited.Command(t, 10*time.Minute, knob)
	cmd.Env = append(os.Environ(), "ALSA_CONFIG_PATH="+conf)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	raw, err := os.ReadFile(filepath.Join(dir, "card.raw"))
	if err != nil {
		t.Fatal(err)
	}
	log, err := os.ReadFile(filepath.Join(dir, "card.log"))
	if err != nil {
		t.Fatal(err)
	}
	const rate = 48000
	frames := len(raw) / 4
	at := func(n int) int { return int(int16(binary.LittleEndian.Uint16(raw[4*n:]))) }
	// When the device started, and with which frame: again after each underrun.
	type start struct {
		frame int
		ns    int64
	}
	var starts []start
	empty := map[string]bool{}
	for l := range strings.Lines(string(log)) {
		var s start
		if n, _ := fmt.Sscanf(l, "START %d %d", &s.frame, &s.ns); n == 2 {
			starts = append(starts, s)
		} else {
			empty[l] = true
		}
	}
	var lags []float64
	for l := range strings.Lines(string(out)) {
		var turned int64
		if n, _ := fmt.Sscanf(l, "LOUD %d", &turned); n != 1 {
			continue
		}
		k := len(starts) - 1
		for k > 0 && starts[k].ns > turned {
			k--
		}
		// The frame that was at the speaker when the gain was turned.
		n := starts[k].frame + int(float64(turned-starts[k].ns)*rate/1e9)
		base := 0
		for i := max(0, n-rate/10); i < n && i < frames; i++ {
			base = max(base, at(i), -at(i))
		}
		end := min(frames, n+rate/2)
		i := n
		for i < end && max(at(i), -at(i)) <= base*3/2 {
			i++
		}
		if base < 50 || i == end {
			t.Fatalf("a change of 12 dB did not come out: %d codes before it\n%s%s", base, out, log)
		}
		lags = append(lags, 1000*float64(i-n)/rate)
	}
	if len(lags) != 12 {
		t.Fatalf("%d changes\n%s", len(lags), out)
	}
	slices.Sort(lags)
	load, _ := os.ReadFile("/proc/loadavg")
	t.Logf("setting to speaker: median %.0f ms, from %.0f to %.0f; the device ran empty %d times in %.0f s; %s; load %s",
		lags[6], lags[0], lags[11], len(empty), float64(frames)/rate, bytes.TrimSpace(out[bytes.LastIndex(out, []byte("BUFFER")):]), bytes.TrimSpace(load))
	// What a buffer too many would be: not a matter of how busy a machine is.
	if math.IsNaN(lags[0]) || lags[0] < 5 || lags[0] > 60 {
		t.Errorf("the quickest of %d changes took %.0f ms", len(lags), lags[0])
	}
}
