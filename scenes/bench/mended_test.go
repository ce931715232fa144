package bench

import "testing"

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
