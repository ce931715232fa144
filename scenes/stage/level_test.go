package stage

import (
	"math"
	"testing"

	"gainwright/scenes/bench"
)

// A second at 1 Pa rms is 93.98 dB SPL, as sound calibrators state it (IEC 60942),
// whatever is quieter before and after; less than a second counts by itself.
func TestLoudestSecond(t *testing.T) {
	x := make([]float64, 3*bench.Rate)
	for i := bench.Rate / 2; i < bench.Rate*3/2; i++ {
		x[i] = math.Sqrt2 * math.Sin(2*math.Pi*1000*float64(i)/bench.Rate)
	}
	if got := loudestSecond(x); math.Abs(got-93.98) > 0.01 {
		t.Errorf("%.2f dB SPL", got)
	}
	if got := loudestSecond(x[bench.Rate/2 : bench.Rate]); math.Abs(got-93.98) > 0.01 {
		t.Errorf("half a second: %.2f dB SPL", got)
	}
}
