package rules

import (
	"strings"
	"testing"
)

// A rule, and how a take stands to it, is told without the names that rules are written
// with.
func TestRulesAreSaid(t *testing.T) {
	for rule, want := range map[string]string{
		"A.headroom_db >= 6 && A.overs == 0":          "headroom of A: at least 6 dB; overs of A: 0",
		"between(A.headroom_db, -3.5, 18)":            "headroom of A: between −3.5 and 18 dB",
		"6 <= A.headroom_db":                          "headroom of A: at least 6 dB",
		"A.headroom_db - B.headroom_db < 3":           "headroom of A − headroom of B: less than 3 dB",
		"abs(A.loudness_lufs - B.loudness_lufs) <= 4": "size of (loudness of A − loudness of B): at most 4 dB",
		`A.limiter_place != "off"`:                    "limiter of A: not off",
		"A.overs > loud.A.overs || A.overs == 0":      "overs of A: more than overs of A (take “loud”) or overs of A: 0",
		"A.headroom_db * 2 > (A.headroom_db + 1) * 3": "headroom of A × 2 dB: more than (headroom of A + 1 dB) × 3 dB",
		"drawn.distance_m < 0.2":                      "distance of this bench: less than 0.2 m",
		"A.microphone.proximity":                      "bass rise close up of A",
		"not (A.overs == 0)":                          "not (overs of A: 0)",
		"max(A.headroom_db, B.headroom_db) >= 3":      "highest of (headroom of A and headroom of B): at least 3 dB",
	} {
		e, bad := Compile(rule, testScope(), Bool)
		if len(bad) > 0 {
			t.Fatal(rule, bad)
		}
		_, checks := e.Holds(testValues())
		var said []string
		for _, c := range checks {
			said = append(said, c.Said)
			if strings.Contains(c.GotSaid, "_") || !strings.Contains(c.GotSaid, ": ") && strings.Contains(c.Got, " is ") {
				t.Errorf("%s: got %q", rule, c.GotSaid)
			}
		}
		if got := strings.Join(said, "; "); got != want {
			t.Errorf("%s\n got %q\nwant %q", rule, got, want)
		}
	}
}
