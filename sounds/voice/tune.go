package voice

import "math"

// eqBands are the centres of the talker's final equaliser, third octaves.
var eqBands = [...]float64{80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500}

const eqQ = 3.2

// tuning is what is measured once per talker and effort and kept in
// tuning.go: the equaliser that brings the long-term spectrum to its target
// and the gain that brings the level to its target.
type tuning struct {
	level float64 // dB
	eq    [len(eqBands)]float64
}

// tuneSteps is the number of efforts tuned per talker, evenly spaced over 0..1.
const tuneSteps = 9

// tuned interpolates the talker's tuning for an effort.
func tuned(name string, effort float64) tuning {
	t, ok := tunings[name]
	if !ok {
		return tuning{}
	}
	x := min(1, max(0, effort)) * (tuneSteps - 1)
	i := min(tuneSteps-2, int(x))
	w := x - float64(i)
	out := tuning{level: t[i].level + (t[i+1].level-t[i].level)*w}
	for k := range out.eq {
		out.eq[k] = t[i].eq[k] + (t[i+1].eq[k]-t[i].eq[k])*w
	}
	return out
}

// sections makes the filters of a tuning, leaving out what does nothing.
func (t *tuning) sections() []biquad {
	var out []biquad
	for k, db := range t.eq {
		if math.Abs(db) < 0.15 {
			continue
		}
		var q biquad
		q.bell(eqBands[k], db, eqQ)
		out = append(out, q)
	}
	return out
}
