//go:build full && unix

package repair

import (
	"fmt"
	"math"
	"testing"

	"gainwright/sim"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/trust"
)

// TestFloorUnderRecordings is TestFloorUnderTalk with people: open recordings, and two
// voices of another synthesiser, at the pressure of normal speech (ANSI S3.5-1997:
// 62.35 dB SPL at 1 m, here over the whole file).
func TestFloorUnderRecordings(t *testing.T) {
	if err := speechset.Missing(speechset.Test); err != nil {
		t.Fatal(err)
	}
	for _, rate := range []int{16000, 44100, 48000} {
		worst, name := 0.0, ""
		for _, it := range speechset.Test {
			x, err := it.Load(rate)
			if err != nil {
				t.Fatal(err)
			}
			sum := 0.0
			for _, v := range x {
				sum += v * v
			}
			g := float64(sim.DBSPL(62.35).Pascal()) / math.Sqrt(sum/float64(len(x)))
			for i := range x {
				x[i] *= g
			}
			r, silence := floorOf(t, x, rate)
			t.Logf("%s, %d Hz: floor %.1f dBFS, silence %.1f, SDR %.1f dB", it.Name, rate, r.NoiseFloorDBFS, silence, r.SDRDB)
			if d := float64(r.NoiseFloorDBFS) - silence; math.Abs(d) > math.Abs(worst) {
				worst, name = d, it.Name
			}
		}
		trust.Record(t, trust.Check{Area: "chain: levels and noise",
			What:     fmt.Sprintf("noise read under thirteen recordings of speech less noise in silence, the worst at %d Hz (%s)", rate, name),
			Source:   "the same recorder's file of silence, measured without a truth",
			Expected: 0, Got: worst, Tolerance: 0.3, Unit: "dB"})
	}
}
