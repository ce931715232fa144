package identify

import "math"

// A Smoothed is what a limiter's law smooths over time.
type Smoothed string

// The laws that are fitted.
const (
	SmoothsGain      Smoothed = "gain"          // the reduction in dB
	SmoothsFedBack   Smoothed = "gain_fed_back" // the same, worked out of what the limiter gives
	SmoothsHeld      Smoothed = "gain_held"     // the reduction in dB, that falls back before it attacks: peaks are held
	SmoothsAmplitude Smoothed = "amplitude"     // the envelope of the magnitude
	SmoothsPower     Smoothed = "power"         // the envelope of the square
)

// params are a law's: threshold in dB, slope logit, ln ms, ln ms, width of the knee in dB,
// whose sign does not count, and the gain at rest in dB.
type params [6]float64

const (
	pThreshold = iota
	pSlope
	pAttack
	pRelease
	pKnee
	pBase
)

func (p *params) slope() float64 { return 1 / (1 + math.Exp(-p[pSlope])) }

// ratioOf is the ratio that goes with a slope.
func ratioOf(slope float64) float64 { return min(1/max(1-slope, 1/mostRatio), mostRatio) }

// bounds keep the search where limiters are.
var bounds = [6][2]float64{{-70, 6}, {-3, 5.5}, {math.Log(0.05), math.Log(500)}, {math.Log(2), math.Log(10000)}, {-12, 12}, {-100, 100}}

func (p *params) clamp() {
	for i, b := range bounds {
		p[i] = min(max(p[i], b[0]), b[1])
	}
}

// A smoother is a limiter's law while it runs.
type smoother struct {
	threshold, slope, knee float64 // dB, of 1, dB either way
	base                   float64 // dB
	down, up               float64 // what a step goes of the way
	back                   float64 // the share of the excess of what comes out; 0 unless that is what is looked at
	exponent               float64 // of an envelope; 0 if the reduction is smoothed
	scale                  float64 // 1 over the threshold as a magnitude
	rests                  float64 // the state up to which an envelope does nothing
	state, mid             float64 // dB, or the envelope over the threshold; mid in the middle of the last block
	coarse                 bool    // a block is one step
	held                   bool
	peak                   float64 // that is held, dB
}

// newSmoother is as the piece q is found.
func newSmoother(k Smoothed, p params, q *piece, coarse bool) smoother {
	ms := q.ms
	if coarse {
		ms *= perBlock
	}
	s := smoother{threshold: p[pThreshold], slope: p.slope(), knee: math.Abs(p[pKnee]) / 2, base: p[pBase], coarse: coarse,
		down: 1 - math.Exp(-ms/math.Exp(p[pAttack])), up: 1 - math.Exp(-ms/math.Exp(p[pRelease]))}
	for _, g := range q.gain {
		if g == g {
			s.state = max(0, s.base-float64(g))
			break
		}
	}
	switch k {
	case SmoothsAmplitude:
		s.exponent = 1
	case SmoothsPower:
		s.exponent = 2
	case SmoothsHeld:
		s.held, s.peak = true, s.state
	case SmoothsFedBack:
		s.back = s.slope / max(1-s.slope, 1/mostRatio)
	}
	if s.exponent > 0 {
		s.scale = fromDB(-s.threshold)
		s.rests = fromDB(-s.knee * s.exponent)
		s.state = fromDB(s.exponent * s.state / max(s.slope, 0.05))
	}
	return s
}

// over is by how much a level counts as over the threshold: nothing below the knee, all
// above it, a parabola within.
func (s *smoother) over(d float64) float64 {
	switch {
	case d <= -s.knee:
		return 0
	case d >= s.knee:
		return d
	}
	return (d + s.knee) * (d + s.knee) / 4 / s.knee
}

// at is the reduction that goes with a state, dB.
func (s *smoother) at(state float64) float64 {
	if s.exponent == 0 {
		return state
	}
	if state <= s.rests {
		return 0
	}
	return s.slope * s.over(20/s.exponent*math.Log10(state))
}

// towards takes a step on the way to where the law wants the state.
func (s *smoother) towards(want float64) {
	if s.held {
		s.peak = max(want, s.peak+s.up*(want-s.peak))
		s.state += s.down * (s.peak - s.state)
		return
	}
	k := s.up
	if want > s.state {
		k = s.down
	}
	s.state += k * (want - s.state)
}

// step takes a level, in dB and as a magnitude.
func (s *smoother) step(level, size float64) {
	switch {
	case s.exponent == 1:
		s.towards(size * s.scale)
	case s.exponent == 2:
		s.towards(size * size * s.scale * s.scale)
	case s.back > 0:
		s.towards(s.back * s.over(level-s.state-s.threshold))
	default:
		s.towards(s.slope * s.over(level-s.threshold))
	}
}

// block takes block i of a piece. Where the level is hidden it is what the second recording
// and the law show.
func (s *smoother) block(q *piece, i int) {
	least, size := math.Inf(-1), 0.0
	if q.hidden != nil && q.hidden[i] {
		least = float64(q.other[i]) - s.base + s.at(s.state)
		size = fromDB(least)
	}
	if s.coarse {
		was := s.state
		s.step(max(float64(q.level[i]), least), max(float64(q.size[i]), size))
		s.mid = (was + s.state) / 2
		return
	}
	for j := i * perBlock; j < (i+1)*perBlock; j++ {
		s.step(max(float64(q.fineDB[j]), least), max(float64(q.fine[j]), size))
		if j == i*perBlock+perBlock/2-1 {
			s.mid = s.state
		}
	}
}
