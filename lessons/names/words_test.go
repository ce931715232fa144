package names

import (
	"strings"
	"testing"
)

// Every reading is called by words of its own.
func TestReadingsAreSaid(t *testing.T) {
	seen := map[string]string{}
	for _, n := range Readings() {
		if said[n.Key] == "" || strings.Contains(n.Label, "_") || seen[n.Label] != "" {
			t.Errorf("%s is said %q, as %q is", n.Key, n.Label, seen[n.Label])
		}
		seen[n.Label] = n.Key
	}
	if len(said) != len(seen) {
		t.Errorf("%d readings, words for %d", len(seen), len(said))
	}
	for text, want := range map[string]string{
		"Read **talk_peak_dbfs** of strip A.":        "Read **talk's held peak** of strip A.",
		"first.A.true_peak_dbtp, and my_own_word":    "true peak of A (take “first”), and my_own_word",
		"overs are overs":                            "overs are overs",
		"[gain](explain:gain) and snr_dbx of _that_": "[gain](explain:gain) and snr_dbx of _that_",
	} {
		if got := InWords(text); got != want {
			t.Errorf("%q: %q", text, got)
		}
	}
	for v, want := range map[string]string{
		"A.preamp.gain_db": "preamp gain of A", "A.overs": "overs of A", "drawn.distance_m": "distance of this bench", "late.limiter_place": "limiter of late",
	} {
		if got := Words(v); got != want {
			t.Errorf("%s: %q, want %q", v, got, want)
		}
	}
}
