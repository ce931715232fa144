package model

import (
	"testing"

	"gainwright/sounds/scenario"
)

// The first performance is the scenario's own; each further one is another seed.
func TestPerformancesAreCountedFromOne(t *testing.T) {
	for _, start := range []uint64{5, scenario.MaxSeed - 1} {
		for n := range uint64(4) {
			s := scenario.New()
			s.Seed = start
			if err := ApplyDraw(s, nil, DrawPerformance, float64(n+1)); err != nil {
				t.Fatal(err)
			}
			if want := (start + n) % scenario.MaxSeed; s.Seed != want {
				t.Errorf("performance %d of seed %d has seed %d, want %d", n+1, start, s.Seed, want)
			}
		}
	}
	for _, v := range []any{0.0, 1.5, 1001.0, "2"} {
		if ApplyDraw(scenario.New(), nil, DrawPerformance, v) == nil {
			t.Errorf("performance %v was accepted", v)
		}
	}
}
