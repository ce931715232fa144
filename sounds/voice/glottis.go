package voice

import "math"

// pulse is one period of the glottal source: the flow of the LF model (Fant,
// Liljencrants & Lin 1985) for one shape Rd, stored as the running integral of
// the flow derivative so that the synthesis can average the derivative over
// each sample interval, which keeps the sharp closure from aliasing.
type pulse struct {
	flow [pulseCells + 2]float64
	open float64 // fraction of the period until the closure
}

const pulseCells = 4096

// newPulse makes the pulse for Rd (0.3 pressed .. 2.7 breathy), with Rd
// mapped to the LF shape by the fits of Fant 1995; the derivative is -1 at the
// closure.
func newPulse(rd float64) *pulse {
	rd = min(2.7, max(0.3, rd))
	ra := max(0.002, (-1+4.8*rd)/100)
	rk := (22.4 + 11.8*rd) / 100
	rg := rk / (4 * (0.11*rd/(0.5+1.2*rk) - ra))
	tp := 1 / (2 * rg)
	te := min(0.95, tp*(1+rk))
	ta := ra
	wg := math.Pi / tp
	rest := 1 - te
	eps := 1 / ta
	for range 40 {
		eps = (1 - math.Exp(-eps*rest)) / ta
	}
	tail := math.Exp(-eps * rest)
	back := -(1 / (eps * ta)) * ((1-tail)/eps - rest*tail)
	sin, cos := math.Sincos(wg * te)
	area := func(alpha float64) float64 {
		// E0 = -1/(e^{alpha te} sin(wg te)), multiplied out so that it cannot overflow
		decay := math.Exp(-alpha * te)
		return -((alpha*sin - wg*cos) + wg*decay) / sin / (alpha*alpha + wg*wg)
	}
	lo, hi := -50.0, 200.0
	for range 80 {
		mid := (lo + hi) / 2
		if area(mid)+back > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	alpha := (lo + hi) / 2
	p := &pulse{open: te}
	e := func(t float64) float64 {
		if t < te {
			return -math.Exp(alpha*(t-te)) * math.Sin(wg*t) / sin
		}
		return -(1 / (eps * ta)) * (math.Exp(-eps*(t-te)) - tail)
	}
	sum, last := 0.0, e(0)
	for i := 1; i <= pulseCells; i++ {
		now := e(float64(i) / pulseCells)
		sum += (last + now) / 2 / pulseCells
		p.flow[i] = sum
		last = now
	}
	for i := 1; i <= pulseCells; i++ { // take the small remaining error out: no DC
		p.flow[i] -= sum * float64(i) / pulseCells
	}
	p.flow[pulseCells+1] = p.flow[1]
	return p
}

// at is the flow at phase ph in [0,1).
func (p *pulse) at(ph float64) float64 {
	x := ph * pulseCells
	i := int(x)
	return p.flow[i] + (p.flow[i+1]-p.flow[i])*(x-float64(i))
}

// harmonics gives the power of the first n harmonics of the flow derivative;
// element 0 is unused.
func (p *pulse) harmonics(n int) []float64 {
	const m = 1024 // points of the period
	const stride = pulseCells / m
	var d [m]float64
	for i := range d {
		d[i] = p.flow[(i+1)*stride] - p.flow[i*stride]
	}
	out := make([]float64, n+1)
	for k := 1; k <= n; k++ {
		// Goertzel
		c := 2 * math.Cos(2*math.Pi*float64(k)/m)
		y1, y2 := 0.0, 0.0
		for _, x := range d {
			y1, y2 = x+c*y1-y2, y1
		}
		out[k] = 2 * (y1*y1 + y2*y2 - c*y1*y2)
	}
	return out
}
