package window

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"testing"
)

// TestAttribute: a valid number of WAI-ARIA 1.2 (a decimal without exponent) for whatever a meter or
// slider may stand at, equal to nine digits.
func TestAttribute(t *testing.T) {
	decimal := regexp.MustCompile(`^-?\d+(\.\d+)?$`)
	r := rand.New(rand.NewPCG(1, 2))
	vs := []float64{0, -1.035438795e-06, 1e-12, -60, 12, 1e7, 0.1 + 0.2, math.MaxFloat64}
	for range 10000 {
		vs = append(vs, r.NormFloat64()*math.Pow(10, 24*r.Float64()-12))
	}
	for _, v := range vs {
		s := attribute(v)
		if !decimal.MatchString(s) {
			t.Fatalf("%g is written %q", v, s)
		}
		got, err := strconv.ParseFloat(s, 64)
		if err != nil || math.Abs(got-v) > 1e-9*math.Abs(v) {
			t.Fatalf("%g is written %q: %v", v, s, err)
		}
	}
	if s := attribute(0.1 + 0.2); s != "0.3" {
		t.Errorf("0.3 is written %q", s)
	}
}
