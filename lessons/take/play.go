package take

import (
	"math"

	"gainwright/sim/meter"
)

// Compared strips are played at one loudness, and nothing above a ceiling.
const (
	MatchLUFS     = -23
	playCeilingDB = -3 // dB re full scale, of the sample peak
)

// Trim takes all down alike, so that nothing is played above the ceiling.
func Trim(all []*Wave) {
	over := 0.0
	for _, w := range all {
		peak := 0.0
		for _, v := range w.File {
			peak = max(peak, math.Abs(float64(v)))
		}
		over = max(over, meter.DB(peak)+w.GainDB-playCeilingDB)
	}
	for _, w := range all {
		w.GainDB -= over
	}
}

// Loudness is the integrated loudness of a wave, LUFS.
func Loudness(w *Wave) (float64, error) {
	l, err := meter.NewLoudness(w.Rate, 1)
	if err != nil {
		return 0, err
	}
	buf := make([]float64, 4096)
	for x := w.File; len(x) > 0; {
		n := min(len(x), len(buf))
		for i, v := range x[:n] {
			buf[i] = float64(v)
		}
		l.WriteMono(buf[:n])
		x = x[n:]
	}
	return l.Integrated(), nil
}
