package microphone

import (
	"strings"
	"testing"
)

// TestFaults: whatever goes wrong is one sentence that says a way on.
func TestFaults(t *testing.T) {
	all := []error{ErrInsecure, ErrNone, ErrWorklet, ErrLibrary, ErrGone}
	for _, name := range []string{"NotAllowedError", "NotFoundError", "NotReadableError", "TypeError", ""} {
		all = append(all, Explain(name, "it broke", false))
	}
	all = append(all, Explain("NotAllowedError", "", true))
	seen := map[string]bool{}
	for _, err := range all {
		s := err.Error()
		if _, way, ok := strings.Cut(s, ": "); !ok || !strings.Contains(way, "or open a recording, or take one of the talkers here") ||
			strings.HasSuffix(s, ".") || strings.Contains(s, ". ") || s[0] < 'a' || s[0] > 'z' {
			t.Errorf("%q", s)
		}
		seen[s] = true
	}
	if len(seen) != len(all)-1 { // two unknown ones are told alike
		t.Errorf("%d sentences for %d faults", len(seen), len(all))
	}
}
