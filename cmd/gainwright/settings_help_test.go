package main

import (
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim"
	"gainwright/sim/simtest"
)

// TestHelpSettings: the help names every value of a chain, with its range, and
// lines stay short enough to read.
func TestHelpSettings(t *testing.T) {
	out := must(t, t.TempDir(), "help", "settings")
	c := sim.Default()
	for _, l := range simtest.Leaves(&c) {
		s, ok := sim.SettingByKey(l.Key)
		if !ok || !strings.Contains(out, "  "+l.Key+" ") || !strings.Contains(out, s.Range()) {
			t.Errorf("%s is missing", l.Key)
		}
	}
	for _, line := range strings.Split(out, "\n") {
		if n := cli.Runes(line); n > 110 {
			t.Errorf("a line of %d characters: %s", n, line)
		}
	}
	if root := must(t, t.TempDir(), "--help"); !strings.Contains(root, "gainwright settings") {
		t.Error("the topic is not listed")
	}
}
