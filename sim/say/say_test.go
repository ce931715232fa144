package say

import (
	"math"
	"testing"
)

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		verb string
		v    float64
		want string
	}{
		{"%.1f", -3.25, "−3.2"}, {"%.1f", 3, "3.0"}, {"%+.1f", 3, "+3.0"}, {"%+.0f", -20, "−20"}, {"%.1f", -0.04, "0.0"}, {"%g", -0.5, "−0.5"},
		{"%.1f", math.Inf(-1), "−Inf"}, {"%.1f", math.NaN(), "NaN"}, {"%.1f dBFS", -1, "−1.0 dBFS"},
	} {
		if got := Number(c.verb, c.v); got != c.want {
			t.Errorf("%s of %v is %q, not %q", c.verb, c.v, got, c.want)
		}
	}
}
