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
	rnd        rng
	begun      bool
	now, decay float64 // of a decaying envelope
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
		if !h.begun {
			h.begun, h.now, h.decay = true, math.Exp(float64(k)/float64(h.fall)), math.Exp(1/float64(h.fall))
		}
		env *= h.now
		h.now *= h.decay
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
// cascade of resonators (Klatt 1980), the talker's colour on the pulse, noises
// beside it. Everything is at 48 kHz; the pulse is the derivative of the flow,
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
	gates                 [subFrames]float64 // 1 where the glottis is open
	cur                   control
	avStep, ahStep        float64
	tiltD, tiltY          float64
	cascade               [12]resonator // 0-2 move
	zero                  antiresonator
	pole                  resonator
	hp                    biquad
	eq                    []biquad
}

const (
	nasalF   = 270
	nasalBW  = 150
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
	for i, x := range h {
		r.length = max(r.length, x.end)
		x.rnd = *newRNG(uint64(seed), uint64(i), 17)
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
		r.zero.set(nasalF+380*n, nasalBW)
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
// than len(dst) only at the end. It works in stretches of a millisecond, one
// filter after the other, which keeps each filter's state in registers.
func (r *tract) render(dst []float64) int {
	total := min(len(dst), r.length-r.frame)
	var src, air [subFrames]float64
	for done := 0; done < total; {
		if r.frame%subFrames == 0 {
			r.update()
		}
		n := min(total-done, subFrames-r.frame%subFrames)
		src, air := src[:n], air[:n]
		r.source(src, air)
		for k := range r.eq {
			r.eq[k].run(src)
		}
		for i := range src {
			src[i] += air[i]
		}
		r.pole.run(src) // first, so that the zero moves over a smooth signal
		r.zero.run(src)
		for k := len(r.cascade) - 1; k >= 0; k-- {
			r.cascade[k].run(src)
		}
		r.beside(src)
		r.hp.run(src)
		out := dst[done : done+n]
		for i, v := range src {
			out[i] += v * r.gain
		}
		r.frame += n
		done += n
	}
	return total
}

// source makes the glottal pulse and the aspiration.
func (r *tract) source(src, air []float64) {
	for i := range src {
		ph := r.phase + r.inc
		if ph >= 1 {
			ph--
			r.wob = r.jitter * r.rnd.normal()
			r.shim = 1 + r.shimmer*r.rnd.normal()
		}
		e := (r.pulse.at(ph) - r.pulse.at(r.phase)) * r.shim / r.inc
		r.phase = ph
		r.cur.av += r.avStep
		r.cur.ah += r.ahStep
		gate := 1.0
		if r.cur.av > 1e-6 && ph > r.pulse.open {
			gate = 0.4
		}
		r.gates[i] = gate
		r.tiltY = (1-r.tiltD)*e*r.cur.av + r.tiltD*r.tiltY
		src[i] = r.tiltY
		air[i] = r.rnd.noise() * r.cur.ah * gate
	}
}

// beside adds the noises that do not pass the tract.
func (r *tract) beside(x []float64) {
	for k := r.first; k < len(r.hisses); k++ {
		h := r.hisses[k]
		if h.start >= r.frame+len(x) {
			break
		}
		if h.end <= r.frame {
			if k == r.first {
				r.first++
			}
			continue
		}
		for i := max(0, h.start-r.frame); i < len(x) && r.frame+i < h.end; i++ {
			g := 1.0
			if r.gates[i] < 1 {
				g = 0.5
			}
			x[i] += h.step(r.frame+i, h.rnd.noise(), g)
		}
	}
}

// steady gives the rms of a held vowel of unit voicing, and the rms that unit
// white aspiration would have in it. Levels are set against the two, so they
// must not hang on where the harmonics of one F0 happen to fall: the voice is
// the mean over F0 from four semitones below c.f0 to four above, summed over
// its harmonics up to 8 kHz.
func steady(t *Talker, p *pulse, eq []biquad, c control) (voice, aspiration float64) {
	r := newTract(t, p, eq)
	for i := range 3 {
		r.cascade[i].set(c.f[i], c.bw[i])
	}
	const top, fold, step = 8000.0, 4, 1
	amp := p.harmonics(int(top/(c.f0*math.Exp2(-fold/12.0))) + 1)
	d := tiltPole(c.tilt)
	sum := 0.0
	for st := -fold; st <= fold; st += step {
		f0 := c.f0 * math.Exp2(float64(st)/12)
		for k := 1; k < len(amp) && float64(k)*f0 < top; k++ {
			s1, c1 := math.Sincos(2 * math.Pi * float64(k) * f0 / Rate)
			s2, c2 := 2*s1*c1, c1*c1-s1*s1
			g := amp[k] * (1 - d) * (1 - d) / (1 + d*d - 2*d*c1)
			for i := range r.cascade {
				x := &r.cascade[i]
				re, im := 1-x.b*c1-x.c*c2, x.b*s1+x.c*s2
				g *= x.a * x.a / (re*re + im*im)
			}
			for i := range r.eq {
				g *= r.eq[i].power(c1, s1, c2, s2)
			}
			sum += g * r.hp.power(c1, s1, c2, s2)
		}
	}
	voice = math.Sqrt(sum / (2*fold/step + 1))
	// aspiration: energy of the impulse response, closed form being clumsier
	e := 0.0
	for i := range 4800 {
		x := 0.0
		if i == 0 {
			x = 1
		}
		for k := len(r.cascade) - 1; k >= 0; k-- {
			x = r.cascade[k].step(x)
		}
		x = r.hp.step(x)
		e += x * x
	}
	return voice, math.Sqrt(e)
}
