package voice

import "math"

// control is the state of the vocal tract at one tick; the synthesis moves
// linearly from one to the next.
type control struct {
	f, bw  [3]float64 // formants 1-3 and bandwidths, Hz
	av     float64    // voicing, linear
	ah     float64    // aspiration, linear
	tilt   float64    // extra loss of the voice at 3 kHz, dB
	nasal  float64    // 0 oral .. 1 nasal murmur
	f0     float64    // Hz
	breath float64    // second source mix, 0..1 (not used by the voice source when 0)
}

// tickFrames is the spacing of controls: 2 ms.
const tickFrames = Rate / 500

// subFrames is how often filter coefficients move: every millisecond.
const subFrames = tickFrames / 2

// hiss is one stretch of noise beside the tract: frication, a burst.
type hiss struct {
	start, end int // frames in the utterance
	rise, fall int // frames of the linear ramps; fall < 0 decays from the start with time constant -fall
	level      float64
	gate       bool // chopped by the glottis when the voice sounds
	res        []resonator
	gain       []float64
}

// newHiss prepares a noise of unit rms times level through bands, the noise
// band of one resonance taken as (π/2)·bandwidth.
func newHiss(start, end, rise, fall int, level float64, gate bool, bands []band, scale float64) *hiss {
	h := &hiss{start: start, end: end, rise: rise, fall: fall, level: level, gate: gate}
	sum := 0.0
	for _, b := range bands {
		sum += math.Pow(10, b.db/10)
	}
	sign := 1.0
	for _, b := range bands {
		f := b.f
		if f > 1200 {
			f *= scale
		}
		f = min(f, 0.45*Rate)
		var r resonator
		r.set(f, b.bw)
		pk := r.peak(f)
		rms := pk * math.Sqrt(math.Pi/2*b.bw/(Rate/2))
		h.res = append(h.res, r)
		h.gain = append(h.gain, sign*math.Pow(10, b.db/20)/math.Sqrt(sum)/rms)
		sign = -sign // neighbours in opposite phase: no hole between them
	}
	return h
}

// step gives the noise at frame n, driven by white noise w.
func (h *hiss) step(n int, w, gate float64) float64 {
	env := h.level
	k := n - h.start
	if k < h.rise {
		env *= float64(k) / float64(h.rise)
	}
	if h.fall < 0 {
		env *= math.Exp(float64(k) / float64(h.fall))
		if rest := h.end - n; rest < 96 {
			env *= float64(rest) / 96
		}
	} else if rest := h.end - n; rest < h.fall {
		env *= float64(rest) / float64(h.fall)
	}
	if h.gate {
		env *= gate
	}
	y := 0.0
	for i := range h.res {
		y += h.gain[i] * h.res[i].step(w)
	}
	return y * env
}

// tract renders controls into sound: glottal pulse and aspiration through a
// cascade of resonators (Klatt 1980), noises beside it, the talker's colour
// after both. Everything is at 48 kHz; the pulse is the derivative of the flow,
// so the radiation from the lips is already in it.
type tract struct {
	pulse    *pulse
	controls []control
	hisses   []*hiss // by start
	first    int     // first hiss that has not ended

	jitter, shimmer float64
	gain            float64 // to pascal
	rnd             rng
	frame, length   int

	phase, inc, shim, wob float64
	cur                   control
	avStep, ahStep        float64
	tiltD, tiltY          float64
	cascade               [12]resonator // 0-2 move
	zero                  antiresonator
	pole                  resonator
	hp                    biquad
	eq                    []biquad
	dip                   float64
	nasalOn               bool
}

const (
	nasalF   = 270
	nasalBW  = 100
	tailMS   = 40 // the ring-out after the last control
	flutterD = 0.005
)

func newTract(t *Talker, p *pulse, eq []biquad) *tract {
	r := &tract{pulse: p, jitter: t.jitter, shimmer: t.shimmer, gain: 1, shim: 1}
	r.cascade[3].set(3400*t.high, 200)
	r.cascade[4].set(4300*t.high, 250)
	for i := 5; i < 12; i++ {
		f := (500 + 1000*float64(i)) * t.high
		if f > 0.46*Rate {
			f = 0.46 * Rate
		}
		r.cascade[i].set(f, 300+150*float64(i-5))
	}
	r.pole.set(nasalF, nasalBW)
	r.zero.set(nasalF, nasalBW)
	r.hp.highPass(55)
	r.eq = append([]biquad(nil), eq...)
	return r
}

// load gives the tract something to say; the filters keep their state.
func (r *tract) load(c []control, h []*hiss, seed rng) {
	r.controls, r.hisses, r.rnd = c, h, seed
	r.frame, r.first = 0, 0
	r.length = len(c)*tickFrames + tailMS*Rate/1000
	for _, x := range h {
		r.length = max(r.length, x.end)
	}
}

func (r *tract) update() {
	tick := r.frame / tickFrames
	half := float64(r.frame%tickFrames) / tickFrames
	last := len(r.controls) - 1
	a, b := &r.controls[min(tick, last)], &r.controls[min(tick+1, last)]
	mix := func(x, y float64) float64 { return x + (y-x)*half }
	for i := range 3 {
		r.cascade[i].set(mix(a.f[i], b.f[i]), mix(a.bw[i], b.bw[i]))
	}
	next := func(x, y float64) float64 { return x + (y-x)*(half+0.5) }
	av, ah := next(a.av, b.av), next(a.ah, b.ah)
	if tick >= last {
		av, ah = 0, 0
	}
	r.avStep, r.ahStep = (av-r.cur.av)/subFrames, (ah-r.cur.ah)/subFrames
	if n := mix(a.nasal, b.nasal); n != r.cur.nasal {
		r.cur.nasal = n
		r.zero.set(nasalF+180*n, nasalBW)
	}
	if tl := mix(a.tilt, b.tilt); tl != r.cur.tilt || r.frame == 0 {
		r.cur.tilt = tl
		r.tiltD = tiltPole(tl)
	}
	f0 := mix(a.f0, b.f0)
	t := float64(r.frame) / Rate
	// Flutter after Klatt & Klatt 1990, in its relative form.
	f0 *= 1 + flutterD/3*(math.Sin(2*math.Pi*12.7*t)+math.Sin(2*math.Pi*7.1*t+1)+math.Sin(2*math.Pi*4.7*t+2))
	r.inc = f0 / Rate * (1 + r.wob)
}

// tiltPole is the pole of the one-pole low-pass that is tl dB down at 3 kHz
// (Klatt 1980).
func tiltPole(tl float64) float64 {
	if tl <= 0.01 {
		return 0
	}
	g := math.Pow(10, -tl/10)
	c := math.Cos(2 * math.Pi * 3000 / Rate)
	p, q := 1-g*c, 1-g
	return (p - math.Sqrt(p*p-q*q)) / q
}

// render adds the next samples to dst and returns how many there were; fewer
// than len(dst) only at the end.
func (r *tract) render(dst []float64) int {
	n := min(len(dst), r.length-r.frame)
	for i := range n {
		if r.frame%subFrames == 0 {
			r.update()
		}
		// the glottis
		ph := r.phase + r.inc
		var e float64
		if ph >= 1 {
			ph--
			e = r.pulse.at(ph) - r.pulse.at(r.phase)
			r.wob = r.jitter * r.rnd.normal()
			r.shim = 1 + r.shimmer*r.rnd.normal()
		} else {
			e = r.pulse.at(ph) - r.pulse.at(r.phase)
		}
		e *= r.shim / r.inc
		r.phase = ph
		r.cur.av += r.avStep
		r.cur.ah += r.ahStep
		gate := 1.0
		if r.cur.av > 1e-6 && ph > r.pulse.open {
			gate = 0.4
		}
		r.tiltY = (1-r.tiltD)*e*r.cur.av + r.tiltD*r.tiltY
		w := r.rnd.noise()
		x := r.tiltY + w*r.cur.ah*gate

		// the cascade
		x = r.pole.step(r.zero.step(x))
		for k := len(r.cascade) - 1; k >= 0; k-- {
			x = r.cascade[k].step(x)
		}
		// noises beside it
		for k := r.first; k < len(r.hisses); k++ {
			h := r.hisses[k]
			if h.start > r.frame {
				break
			}
			if r.frame < h.end {
				g := 1.0
				if gate < 1 {
					g = 0.5
				}
				x += h.step(r.frame, r.rnd.noise(), g)
			} else if k == r.first {
				r.first++
			}
		}
		x = r.hp.step(x)
		for k := range r.eq {
			x = r.eq[k].step(x)
		}
		dst[i] += x * r.gain
		r.frame++
	}
	return n
}

// steady renders a held vowel without randomness and returns its rms after
// the start has died away, and the rms that unit white aspiration would have.
func steady(t *Talker, p *pulse, eq []biquad, c control) (voice, aspiration float64) {
	measure := func(c control, periods int) float64 {
		r := newTract(t, p, eq)
		r.jitter, r.shimmer = 0, 0
		const skip = 2400
		n := int(math.Round(float64(periods) * Rate / c.f0))
		buf := make([]float64, skip+n)
		hold := make([]control, len(buf)/tickFrames+2)
		for i := range hold {
			hold[i] = c
		}
		r.load(hold, nil, 1)
		r.render(buf)
		s := 0.0
		for _, x := range buf[skip:] {
			s += x * x
		}
		return math.Sqrt(s / float64(n))
	}
	c.av, c.ah = 1, 0
	voice = measure(c, max(6, int(c.f0/25)))
	// aspiration: energy of the impulse response, closed form being clumsier
	r := newTract(t, p, eq)
	for i := range 3 {
		r.cascade[i].set(c.f[i], c.bw[i])
	}
	s := 0.0
	for i := range 4800 {
		x := 0.0
		if i == 0 {
			x = 1
		}
		for k := len(r.cascade) - 1; k >= 0; k-- {
			x = r.cascade[k].step(x)
		}
		x = r.hp.step(x)
		for k := range r.eq {
			x = r.eq[k].step(x)
		}
		s += x * x
	}
	return voice, math.Sqrt(s)
}
