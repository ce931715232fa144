package archive

import (
	"strings"
	"testing"
)

// TestExplain: whatever goes wrong is one sentence that says a way on.
func TestExplain(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range []string{"QuotaExceededError", "SecurityError", "VersionError", "UnknownError", "AbortError", ""} {
		s := Explain(name, "disk is full").Error()
		before, after, ok := strings.Cut(s, ": ")
		if !ok || before == "" || after == "" || strings.HasSuffix(s, ".") || strings.Contains(s, ". ") {
			t.Errorf("%s: %q", name, s)
		}
		seen[s] = true
	}
	if len(seen) != 4 {
		t.Errorf("%d sentences", len(seen))
	}
	if Explain("InvalidStateError", "") != ErrForbidden { // Firefox, in a private window (from memory)
		t.Error("a private window is not told")
	}
}
