package voice

import "math"

// eqBands are the centres of the talker's final equaliser, third octaves.
var eqBands = [...]float64{80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500}

const (
	eqQ    = 3.2
	always = 6 // sections every voice has
)

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
	out := make([]biquad, always, always+len(t.eq))
	// Broad lifts that every voice needs: without them the twelve poles leave
	// the range of F4, F5 and the poles above them short by as much.
	out[0].bell(3700, 9, .55)
	out[1].bell(6800, 11, .65)
	// A pulse through resonances alone peaks higher than people do, the more
	// the louder: what a face, a nose and a chest add to it at other moments is
	// missing. All-passes spread each pulse over some milliseconds; they change
	// no level and no spectrum, and take 1 to 3 dB off a loud voice's crest.
	for i := range 4 {
		out[2+i].allPass(250*math.Exp2(float64(i)), 2)
	}
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
