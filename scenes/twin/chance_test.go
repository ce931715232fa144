package twin

import "testing"

// Three decimals, and below half of the last one "smaller than" (APA Publication Manual,
// 7th edition, 6.36: exact p to three decimals, below .001 as such; from memory).
func TestPValue(t *testing.T) {
	for p, want := range map[float64]string{1: "p = 1.000", 0.0312: "p = 0.031", 0.004: "p = 0.004", 0.0006: "p = 0.001", 0.0004: "p < 0.001", 0: "p < 0.001"} {
		if got := pValue(p); got != want {
			t.Errorf("%g: %q, want %q", p, got, want)
		}
	}
}
