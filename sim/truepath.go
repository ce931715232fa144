package sim

// truePath carries the true wave to the converter: up, times the gain, and down,
// as the signal goes. While the gain rests over all that the filters remember, the
// three are one linear filter at the chain's own rate, a symmetric FIR that costs a
// third of the way round; around a change of gain the wave goes the whole way, its
// state made anew from the wave's past. Which of the two is taken depends on the
// gains before the sample alone, never on the blocks.
type truePath struct {
	os     *oversampler
	centre float64
	sides  [wholePairs]float64 // taps at ±1, ±2, … of the whole way at gain 1
	hist   []float64           // the wave's past, then the block
	x4     []float64
	gain   float64
	same   int  // for how many samples the gain has been that, up to os.delay
	behind bool // the oversampler has not seen the newest past
}

// wholePairs is how many of the whole way's taps are kept to either side: what lies
// beyond adds up to less than 1.4·10⁻¹⁰, −197 dB of the wave's peak.
const (
	wholePairs = 50
	wholeWin   = 2*wholePairs + 1
)

func newTruePath(rate int) (*truePath, error) {
	os, err := newOversampler(rate)
	if err != nil {
		return nil, err
	}
	p := &truePath{os: os, x4: make([]float64, chunk*os.factor)}
	if os.factor == 1 {
		return p, nil
	}
	p.hist = make([]float64, p.past()+chunk)
	// The response to an impulse, from the filters themselves.
	y := make([]float64, chunk)
	y[0] = 1
	os.up(p.x4, y)
	os.down(y, p.x4)
	os.reset()
	p.centre = y[os.delay]
	copy(p.sides[:], y[os.delay+1:])
	return p, nil
}

// past is how much of the wave everything in the oversampler comes from: either
// direction remembers its delay and one.
func (p *truePath) past() int { return 2 * (p.os.delay + 1) }

// reset returns to silence at a gain.
func (p *truePath) reset(gain float64) {
	clear(p.hist)
	p.gain, p.same, p.behind = gain, p.os.delay, true
}

// run carries the n samples of x, at most chunk, at as many gains.
func (p *truePath) run(x, gain []float64) {
	if p.os.factor == 1 {
		for i, g := range gain {
			x[i] *= g
		}
		return
	}
	past := p.past()
	copy(p.hist[past:], x)
	for i := 0; i < len(x); {
		j := i
		if p.same == p.os.delay {
			for j < len(x) && gain[j] == p.gain {
				j++
			}
			if j > i {
				p.straight(x[i:j], p.hist[past+i-p.os.delay-wholePairs:])
				p.behind = true
				i = j
				continue
			}
		}
		if p.behind {
			p.catchUp(p.hist[i : i+past])
		}
		for ; j < len(x) && (j == i || p.same < p.os.delay); j++ {
			if gain[j] != p.gain {
				p.gain, p.same = gain[j], 0
			}
			p.same++
		}
		p.round(x[i:j], gain[i:j])
		i = j
	}
	copy(p.hist[:past], p.hist[len(x):])
}

// straight writes what the one filter makes of h, which is longer than y by a window
// less one. Four samples at a time share what they read; each is summed in the
// same order as one alone.
func (p *truePath) straight(y, h []float64) {
	c, i := &p.sides, 0
	for ; i+4 <= len(y); i += 4 {
		w, out := (*[wholeWin + 3]float64)(h[i:]), (*[4]float64)(y[i:])
		l1, l2, l3 := w[wholePairs], w[wholePairs+1], w[wholePairs+2]
		r0, r1, r2 := w[wholePairs+1], w[wholePairs+2], w[wholePairs+3]
		s0, s1, s2, s3 := p.centre*l1, p.centre*l2, p.centre*l3, p.centre*r2
		for k := 0; k < wholePairs; k += 2 {
			c0, c1 := c[k], c[k+1]
			l0, r3 := w[wholePairs-1-k], w[wholePairs+4+k]
			s0 += c0 * (l0 + r0)
			s1 += c0 * (l1 + r1)
			s2 += c0 * (l2 + r2)
			s3 += c0 * (l3 + r3)
			l := w[wholePairs-2-k]
			s0 += c1 * (l + r1)
			s1 += c1 * (l0 + r2)
			s2 += c1 * (l1 + r3)
			r0, r1, r2 = r2, r3, w[wholePairs+5+k]
			s3 += c1 * (l2 + r2)
			l1, l2, l3 = l, l0, l1
		}
		out[0], out[1], out[2], out[3] = s0*p.gain, s1*p.gain, s2*p.gain, s3*p.gain
	}
	for ; i < len(y); i++ {
		w := (*[wholeWin]float64)(h[i:])
		s := p.centre * w[wholePairs]
		for k, v := range c {
			s += v * (w[wholePairs-1-k] + w[wholePairs+1+k])
		}
		y[i] = s * p.gain
	}
}

// round carries x in place the whole way.
func (p *truePath) round(x, gain []float64) {
	f := p.os.factor
	x4 := p.x4[:len(x)*f]
	p.os.up(x4, x)
	for i, g := range gain {
		for j := i * f; j < (i+1)*f; j++ {
			x4[j] *= g
		}
	}
	p.os.down(x, x4)
}

// catchUp brings the oversampler to where it would be had it carried the past, at
// the gain that has been resting.
func (p *truePath) catchUp(past []float64) {
	x4 := p.x4[:len(past)*p.os.factor]
	p.os.up(x4, past)
	for i := range x4 {
		x4[i] *= p.gain
	}
	var out [2 * (maxDelay + 1)]float64
	p.os.down(out[:len(past)], x4)
	p.behind = false
}
