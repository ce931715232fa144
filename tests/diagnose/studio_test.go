//go:build full

package diagnose_test

import (
	"math"
	"slices"
	"testing"

	"gainwright/tests/diagnose/labelled"
)

// heads counts a recording's half-waves by plain means, which share nothing with what is
// tested: how far the highest lies over the one that a hundredth of them pass, dB, and how
// many lie in the upper 3 dB, for each in the next 3.
func heads(x []float64) (topDB, ratio float64) {
	var tops []float64
	high := 0.0
	for i, v := range x {
		if i > 0 && (v > 0) != (x[i-1] > 0) {
			tops = append(tops, high)
			high = 0
		}
		high = max(high, math.Abs(v))
	}
	slices.Sort(tops)
	slices.Reverse(tops)
	n := [2]float64{1, 1}
	for _, v := range tops {
		switch d := 20 * math.Log10(tops[0]/v); {
		case d <= 3:
			n[0]++
		case d <= 6:
			n[1]++
		}
	}
	return 20 * math.Log10(tops[0]/tops[len(tops)/100]), n[0] / n[1]
}

// TestStudioLimited: of the speaker who is taken for limited by the studio tops are at
// one height within a recording, as a limiter leaves them, and of others not: neither of
// those whose clean prompts diagnosis took for limited when it had not met them, nor of
// those beside whom they stood.
func TestStudioLimited(t *testing.T) {
	for _, c := range []struct {
		part labelled.Part
		name string
	}{
		{labelled.Second, "carlo"}, {labelled.Fourth, "mobster"},
		{labelled.Third, "allison"}, {labelled.Third, "ivrvoice"},
		{labelled.Second, "menardi"}, {labelled.Third, "june"}, {labelled.Third, "cs-m"}, {labelled.Third, "cs-v"},
	} {
		speakers, err := labelled.Speakers(c.part)
		if err != nil {
			t.Skip(err)
		}
		sp := speakers[slices.IndexFunc(speakers, func(s labelled.Speaker) bool { return s.Name == c.name })]
		var tops, ratios []float64
		for _, s := range sp.Sources[:5] {
			x, err := s.Load()
			if err != nil {
				t.Fatal(err)
			}
			top, ratio := heads(x)
			tops, ratios = append(tops, top), append(ratios, ratio)
		}
		slices.Sort(tops)
		slices.Sort(ratios)
		top, ratio := tops[2], ratios[2]
		t.Logf("%-9s highest over a hundredth's %.1f dB; in the upper 3 dB %.2f for each in the next", c.name, top, ratio)
		if labelled.StudioLimited(c.name) {
			if top > 2 || ratio < 0.45 {
				t.Errorf("%s does not look limited", c.name)
			}
		} else if top < 2.5 || ratio > 0.45 {
			t.Errorf("%s looks limited", c.name)
		}
	}
}
