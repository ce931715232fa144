//go:build full && unix

package repair

import (
	"context"
	"slices"
	"testing"

	sr "gainwright/sim/repair"
	"gainwright/tests/repair/lightly"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/trust"
)

// Every tenth take of both sides of go run ./tests/repair/light, which has all of them, as
// it is and at 16 kHz: none may be worse than before by 0.3 dB or an ESTOI of 0.01, and the promises, which were
// set on the other side, must be kept about as often as they say.
func TestDeclipNeverWorse(t *testing.T) {
	if err := speechset.MissingSpeakers(speechset.Speakers); err != nil {
		t.Fatal(err)
	}
	var light, held []lightly.Result
	for _, half := range []bool{false, true} {
		cases := slices.Concat(speechset.LightCases(half, 0), speechset.HeavyCases(half, 0))
		for i, c := range slices.Concat(cases, speechset.At16kHz(cases)) {
			if i %= len(cases); i%10 != 0 {
				continue
			}
			r, err := lightly.Measure(context.Background(), c, sr.Best)
			if err != nil {
				t.Fatal(err)
			}
			t.Log(r)
			if i < 300 {
				light = append(light, r)
			}
			if half {
				held = append(held, r)
			}
		}
	}
	s := lightly.Sum(light)
	for _, r := range s.Worse {
		t.Errorf("worse: %s", r)
	}
	const packages = "recordings of 54 speakers from Debian packages, through sox"
	trust.Record(t, trust.Check{Area: "declipping", What: "120 lightly clipped takes, the least gain in SDR", Source: packages,
		Got: s.Least, Expected: lightly.WorseDB, Op: ">=", Unit: "dB"})
	trust.Record(t, trust.Check{Area: "declipping", What: "120 lightly clipped takes, mean gain in SDR", Source: packages,
		Got: s.Mean, Expected: 12, Op: ">=", Unit: "dB"})
	p := lightly.Sum(held)
	trust.Record(t, trust.Check{Area: "declipping", What: "takes of speakers that nothing was set by: promises kept", Source: packages,
		Got: float64(p.Kept) / float64(p.Promises), Expected: 0.8, Op: ">="})
}
