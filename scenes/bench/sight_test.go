package bench

import (
	"strings"
	"testing"

	"gainwright/scenes/ui"
)

// What happened less than 3 s before the loudest moment is named with it.
func TestLoudestWords(t *testing.T) {
	s := newSession(t)
	take := record(t, s, false, 1)
	v := Sight{Bench: s}
	for _, c := range []struct {
		at    float64
		named bool
	}{{10.1, false}, {10, true}, {7.1, true}, {6.9, false}} {
		take.Loudest, take.Marks = 10*Rate, []ui.Mark{{At: c.at, Text: "laugh"}}
		if w := v.LoudestWords(); strings.Contains(w, "laugh") != c.named || !strings.HasPrefix(w, "at 10.0 s") {
			t.Errorf("a laugh at %g s, loudest at 10 s: %q", c.at, w)
		}
	}
}
