//go:build full

package microphone

import "testing"

// TestDriftForTenMinutes: ten minutes of two clocks that differ, in a page that is held up now
// and then, have no break.
func TestDriftForTenMinutes(t *testing.T) {
	for _, rate := range []int{48000, 44100} {
		for _, ppm := range []float64{200, -200} {
			drifts(t, rate, ppm, 10)
		}
	}
}
