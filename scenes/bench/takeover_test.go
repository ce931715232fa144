package bench

import (
	"math"
	"testing"

	"gainwright/sim"
)

// What a take is told of itself is what is drawn of it: 6.02 dB of headroom and a peak
// of −6.02 dBFS are one half of full scale.
func TestTakeOverIsShown(t *testing.T) {
	s := newSession(t)
	take := record(t, s, false, 1)
	was := take.ID
	r := take.Readings[0]
	r.HeadroomDB, r.PeakDBFS = 6.0206, -6.0206
	take.TakeOver(0, r)
	v := take.view(0)
	for what, got := range map[string]float64{"demand": v.Demand, "converter": v.Held[sim.AtConverter], "file": v.Held[sim.AtFile], "meter": v.MeterHold} {
		if math.Abs(got-0.5) > 1e-4 {
			t.Errorf("%s: %g of full scale, want 0.5", what, got)
		}
	}
	if take.ID == was {
		t.Error("another take has the same ID: what was drawn of it stays")
	}
}

// Only a track as long as the take is what the take became by mending.
func TestMendedIsAsLongAsTheTake(t *testing.T) {
	s := newSession(t)
	take := record(t, s, false, 1)
	for _, n := range []int64{0, take.Frames() - 1, take.Frames() + 1} {
		if s.SetMended(0, make([]float32, n), -20); s.HasMended() {
			t.Errorf("%d samples are mended of %d", n, take.Frames())
			s.DropMended()
		}
	}
	if s.SetMended(0, make([]float32, take.Frames()), -20); !s.HasMended() {
		t.Error("the take's own length is refused")
	}
}
