package take

import (
	"math"
	"testing"
)

// At the gains that come with them no wave passes −3 dB re full scale, the loudest
// reaches it, and all are turned by the same, so that what was matched stays so.
func TestTrim(t *testing.T) {
	for _, peaks := range [][2]float64{{0.5, 0.1}, {4, 0.3}, {1e-3, 20}} {
		a := &Wave{File: []float32{0, float32(-peaks[0]), 0}, GainDB: 2}
		b := &Wave{File: []float32{float32(peaks[1])}, GainDB: -7}
		Trim([]*Wave{a, b})
		loud := math.Inf(-1)
		for _, w := range []*Wave{a, b} {
			for _, v := range w.File {
				loud = max(loud, 20*math.Log10(math.Abs(float64(v)))+w.GainDB)
			}
		}
		if loud > -3+1e-6 {
			t.Errorf("peaks %v are played at %v dB", peaks, loud)
		}
		if over := max(20*math.Log10(peaks[0])+2, 20*math.Log10(peaks[1])-7); over > -3 && loud < -3-1e-6 {
			t.Errorf("peaks %v are turned down to %v dB", peaks, loud)
		}
		if math.Abs(a.GainDB-b.GainDB-9) > 1e-9 {
			t.Errorf("peaks %v: gains %v and %v dB", peaks, a.GainDB, b.GainDB)
		}
	}
}
