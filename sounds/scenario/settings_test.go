package scenario_test

import (
	"testing"

	"gainwright/sounds/scenario"
)

// TestTruePeakKept: what the scene saves as a scenario holds the limiter's watch
// between samples, too, and --set knows it.
func TestTruePeakKept(t *testing.T) {
	s := scenario.New()
	s.Strips[0].Chain.Limiter.TruePeak = true
	b, err := s.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	back, err := scenario.Parse("saved", b)
	if err != nil {
		t.Fatal(err)
	}
	if !back.Strips[0].Chain.Limiter.TruePeak {
		t.Error("limiter.true_peak is lost in writing and reading")
	}
	if err := back.Set("limiter.true_peak", "false"); err != nil {
		t.Error(err)
	} else if back.Strips[0].Chain.Limiter.TruePeak {
		t.Error("--set limiter.true_peak=false does nothing")
	}
}
