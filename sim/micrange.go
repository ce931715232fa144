package sim

import "math"

// SpeedOfSound in m/s, for the near field.
const SpeedOfSound = 343

// proximity is the bass rise of a cardioid on axis in a spherical wave: its
// pressure-gradient half sees 1 + 1/(jkr), so that the output is
// p·(1 + ½·c/(r·s)) in the Laplace domain. Like every real microphone it ends at
// low frequencies, here by two first-order high-passes at 5 Hz; the integrator
// and the first of them are one leaky integrator, so nothing grows without bound.
type proximity struct {
	on            bool
	a, c, w       float64 // pole, high-pass scale, integrator weight
	x, h, y, s, z float64
}

func (p *proximity) set(on bool, distanceM, rate float64) {
	p.on = on
	const low = 5.0
	p.a = math.Exp(-2 * math.Pi * low / rate)
	p.c = (1 + p.a) / 2
	// ½·c/r radians a second, times the sampling interval.
	p.w = 0.5 * SpeedOfSound / distanceM / rate
}

func (p *proximity) next(x float64) float64 {
	p.h = p.a*p.h + p.c*(x-p.x)
	// The trapezoid rule keeps the phase right up to high frequencies.
	p.y = p.a*p.y + p.c*p.w*0.5*(x+p.x)
	p.x = x
	sum := p.h + p.y
	p.z = p.a*p.z + p.c*(sum-p.s)
	p.s = sum
	return p.z
}

// rangeSwitch decides which of two converters is heard: the sensitive one while
// it has room, the other from −1 dB of the sensitive one's full scale on, back
// after 20 ms below −6 dB, each time by a cross-fade of 1 ms.
type rangeSwitch struct {
	mixNow float64 // 0 the sensitive one, 1 the other
	quiet  int
	low    bool
	hist   [16]float64
	pos    int
}

func (r *rangeSwitch) mix(hi, lo, demand float64, rate int) float64 {
	a := math.Abs(demand)
	switch {
	case a > 0.891:
		r.low, r.quiet = true, 0
	case a < 0.5:
		if r.quiet++; r.quiet > rate/50 {
			r.low = false
		}
	default:
		r.quiet = 0
	}
	step := 1000 / float64(rate)
	if r.low {
		r.mixNow = min(r.mixNow+step, 1)
	} else {
		r.mixNow = max(r.mixNow-step, 0)
	}
	if a > 0.98 {
		// No time to fade: the sensitive converter is about to run out.
		r.mixNow = 1
	}
	return hi + r.mixNow*(lo-hi)
}

// delay returns x delayed by up to 8 samples, between samples by a straight line.
func (r *rangeSwitch) delay(x, samples float64) float64 {
	r.hist[r.pos&15] = x
	k := int(samples)
	f := samples - float64(k)
	y := r.hist[(r.pos-k)&15]*(1-f) + r.hist[(r.pos-k-1)&15]*f
	r.pos++
	return y
}
