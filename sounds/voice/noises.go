package voice

import (
	"fmt"
	"math"
)

// laughOver is how far a laugh stands over the talker's own normal speech, in
// dB of active level, for efforts quiet .. shout. The middle follows the open
// laughter of eight talkers of an open anechoic corpus (EARS), +16 dB over
// their regular reading; the rest is our choice.
var laughOver = [5]float64{2, 8, 13, 16, 20}

// noisePiece promises everything that is not speech.
func noisePiece(t *Talker, do string, effort float64, e *Event, rnd *rng) (piece, error) {
	seed := *newRNG(rnd.next())
	tk := *t
	switch do {
	case "laugh":
		l := planLaugh(t, effort, &seed)
		return piece{frames: l.frames(), open: func(float64) source { return l.open(&tk, e.LevelDB, seed) }}, nil
	case "cough":
		const frames = 380 * Rate / 1000
		return piece{frames: frames, open: func(float64) source { return newCough(&tk, effort, e.LevelDB, seed) }}, nil
	case "breath":
		const frames = 520 * Rate / 1000
		return piece{frames: frames, open: func(float64) source { return newBreath(&tk, effort, e.LevelDB, seed) }}, nil
	case "pop":
		const frames = 180 * Rate / 1000
		own := e.DistanceM
		return piece{frames: frames, open: func(d float64) source {
			if own > 0 {
				d = own
			}
			return newPop(&tk, effort, e.LevelDB, d, seed)
		}}, nil
	case "clap":
		const frames = 60 * Rate / 1000
		return piece{frames: frames, open: func(float64) source { return newClap(&tk, effort, e.LevelDB, seed) }}, nil
	case "chair":
		const frames = 700 * Rate / 1000
		return piece{frames: frames, open: func(float64) source { return newChair(&tk, effort, e.LevelDB, seed) }}, nil
	}
	return piece{}, fmt.Errorf("do: %q cannot be performed", do)
}

// call is one "ha" of a laugh.
type call struct {
	onset, breath, voice int // ticks: start, length of the h, of the vowel
	f0                   float64
	db                   float64
	voiced               bool
}

// laugh is a planned bout.
type laugh struct {
	calls  []call
	effort float64
	shift  float64 // dB, how this bout differs from others
	ticks  int
}

// laughF0 is the mean F0 of a talker's laughter: women about twice their
// speech F0, men about 2.5 times (Bachorowski, Smoski & Owren 2001: means
// 272 Hz for men, 405 Hz for women).
func laughF0(t *Talker) float64 {
	if t.F0Hz > 160 {
		return t.F0Hz * 2
	}
	return t.F0Hz * 2.5
}

// planLaugh lays out a bout: onsets every 215 ms or so, notes of 75-110 ms
// after a breath (Provine & Yong 1991), each softer than the last, one in four
// without voice.
func planLaugh(t *Talker, effort float64, rnd *rng) *laugh {
	l := &laugh{effort: effort, shift: rnd.between(-1.5, 1.5)}
	n := 4 + rnd.index(4) // 4..7
	if effort > 0.8 {
		n++
	}
	base := laughF0(t) * math.Exp2(ladder([5]float64{-3, -1.5, 0, 1, 3}, effort)/12)
	at := 10
	for i := range n {
		c := call{onset: at, breath: 28 + rnd.index(7), voice: 38 + rnd.index(18)}
		c.f0 = base * math.Exp2((1.5-3*float64(i)/float64(n-1))/12) * (1 + .10*rnd.normal())
		c.db = -2.2*float64(i) + .7*rnd.normal()
		c.voiced = i == 0 || rnd.unit() > .25
		l.calls = append(l.calls, c)
		at += int(215 / 2 * (1 + .08*rnd.normal()))
		l.ticks = c.onset + c.breath + c.voice + 30
	}
	return l
}

func (l *laugh) frames() int { return l.ticks*tickFrames + tailMS*Rate/1000 }

func (l *laugh) open(t *Talker, levelDB float64, rnd rng) source {
	sh := shapeOf(t, max(.5, l.effort))
	p := newPulse(max(.45, .5*t.rd))
	tn := tuned(t.Name, max(.5, l.effort))
	eq := tn.sections()
	var ref control
	v := phones["AX"]
	if l.effort > .4 {
		v = phones["AH"]
	}
	for j := range 3 {
		ref.f[j] = v.f[j] * t.scale[j]
		ref.bw[j] = v.bw[j] * 1.2
	}
	ref.f[0] = raiseF1(ref.f[0], sh.f1)
	ref.f0 = laughF0(t)
	voice, asp := steady(t, p, eq, ref)
	c := make([]control, l.ticks+1)
	for k := range c {
		c[k] = ref
		c[k].f0 = l.calls[0].f0
	}
	av, ah := make([]float64, len(c)), make([]float64, len(c))
	unit := voice / asp
	energy := 0.0
	for _, x := range l.calls {
		g := lin(x.db)
		energy += g * g
		for k := range x.breath {
			up := 1 - ease(float64(k)/float64(x.breath)*1.3)
			ah[x.onset+k] = unit * lin(-19) * g * up
			c[x.onset+k].bw[0] = 200
		}
		for k := 0; k < x.voice+14; k++ {
			at := x.onset + x.breath + k
			if at >= len(c) {
				break
			}
			r := float64(k) / float64(x.voice)
			env := (1 - ease(float64(k)/6)) * (1 - .35*r)
			if k >= x.voice-8 {
				env *= ease(float64(k-x.voice+8) / 22)
			}
			ah[at] = unit * lin(-16) * g * env
			if x.voiced {
				av[at] = g * env
			} else {
				ah[at] = unit * lin(-12) * g * env
			}
			c[at].f0 = x.f0 * math.Exp2((1-2*r)/12)
			c[at].f[0] *= 1 + .06*(1-r)
		}
	}
	// F0 glides between the calls unheard.
	soften(av, 1)
	soften(ah, 2)
	for k := range c {
		c[k].av, c[k].ah = av[k], ah[k]
	}
	r := newTract(t, p, eq)
	r.jitter, r.shimmer = max(.012, t.jitter), max(.06, t.shimmer)
	mean := energy / float64(len(l.calls))
	// The level over active sound is set exactly: a bout is short, so it is
	// made in full and measured.
	r.gain = 1 / voice / math.Sqrt(mean)
	r.load(c, nil, rnd)
	x := make([]float64, l.frames())
	r.render(x)
	g := pascal(effortSPL[1]+ladder(laughOver, l.effort)+levelDB+l.shift) / activeRMS(x)
	for i := range x {
		x[i] *= g
	}
	return &ready{x}
}

// ready is sound already made.
type ready struct{ rest []float64 }

func (r *ready) render(dst []float64) int {
	n := min(len(dst), len(r.rest))
	for i, v := range r.rest[:n] {
		dst[i] += v
	}
	r.rest = r.rest[n:]
	return n
}

// activeRMS is the rms over the 20 ms frames within 30 dB of the loudest.
func activeRMS(x []float64) float64 {
	const n = Rate / 50
	var e []float64
	top := 1e-30
	for ; len(x) >= n; x = x[n:] {
		s := 0.0
		for _, v := range x[:n] {
			s += v * v
		}
		e = append(e, s/n)
		top = max(top, s/n)
	}
	sum, k := 1e-30, 0
	for _, v := range e {
		if v >= top/1000 {
			sum += v
			k++
		}
	}
	return math.Sqrt(sum / float64(max(1, k)))
}

// newCough: a burst as the glottis opens, rushing air through the tract, and
// a voiced end (the three phases of Korpas and others).
func newCough(t *Talker, effort, levelDB float64, rnd rng) source {
	sh := shapeOf(t, .6)
	p := newPulse(.5)
	var ref control
	v := phones["AX"]
	for j := range 3 {
		ref.f[j] = v.f[j] * t.scale[j]
		ref.bw[j] = v.bw[j] * 1.6
	}
	ref.f[0] = raiseF1(ref.f[0], sh.f1)
	ref.f0 = min(400, max(250, t.F0Hz*1.8))
	voice, asp := steady(t, p, nil, ref)
	unit := voice / asp
	c := make([]control, 341/2)
	rush := 70 + rnd.index(20)
	for k := range c {
		c[k] = ref
		x := float64(k)
		switch {
		case k < 20:
			c[k].ah = unit * min(1, x) * lin(-2)
		case k < 20+rush:
			c[k].ah = unit * lin(-3-17*(x-20)/float64(rush))
		default:
			r := (x - 20 - float64(rush)) / float64(len(c)-20-rush)
			c[k].av = lin(-8) * math.Sin(math.Pi*min(1, r*1.2+.02))
			if r > .82 {
				c[k].av = 0
			}
			c[k].ah = unit * lin(-22) * (1 - r)
			c[k].f0 = ref.f0 * math.Exp2(-6*r/12)
		}
	}
	c[len(c)-1].av, c[len(c)-1].ah = 0, 0
	burst := newHiss(0, 60*Rate/1000, 96, -16*Rate/1000, voice*lin(2), false, []band{{700, 900, 0}, {2000, 2400, -2}}, 1)
	r := newTract(t, p, nil)
	// Peak about 100 dB SPL at 0.3 m for a plain cough, that is 90 dB at 1 m;
	// from memory, no source at hand.
	r.gain = pascal(72+ladder([5]float64{-8, 0, 4, 8, 12}, effort)+levelDB) / voice
	r.load(c, []*hiss{burst}, rnd)
	return r
}

// newBreath: air drawn in, noise through an open tract. Its level is our
// choice: some 20 dB under normal speech.
func newBreath(t *Talker, effort, levelDB float64, rnd rng) source {
	p := newPulse(1)
	var ref control
	for j, f := range []float64{600, 1500, 2600} {
		ref.f[j] = f * t.scale[j]
		ref.bw[j] = 250
	}
	ref.f0 = t.F0Hz
	_, asp := steady(t, p, nil, ref)
	c := make([]control, 240)
	for k := range c {
		c[k] = ref
		r := float64(k) / float64(len(c)-1)
		c[k].ah = math.Pow(math.Sin(math.Pi*math.Pow(r, .8)), 1.5) / asp
		c[k].f[0] *= 1 + .15*r
	}
	r := newTract(t, p, nil)
	r.gain = pascal(43 + ladder([5]float64{-4, 0, 4, 7, 10}, effort) + levelDB)
	r.load(c, nil, rnd)
	return r
}

// newClap: two short bursts through one resonance (single peak between 0.7
// and 2.5 kHz, 10-15 ms of decay: Repp 1987, from memory). Peak about 102 dB
// SPL at 1 m for effort raised; no calibrated source at hand.
func newClap(t *Talker, effort, levelDB float64, rnd rng) source {
	f := rnd.between(800, 2200)
	gap := int(rnd.between(4, 8) * Rate / 1000)
	ms := Rate / 1000
	h := []*hiss{
		newHiss(0, 45*ms, 6, -4*ms, 1, false, []band{{f, 400, 0}}, 1),
		newHiss(0, 8*ms, 2, -ms/2, .5, false, []band{{3000, 8000, 0}}, 1),
		newHiss(gap, gap+45*ms, 6, -4*ms, .7, false, []band{{f * 1.07, 400, 0}}, 1),
	}
	r := newTract(t, newPulse(1), nil)
	r.gain = pascal(92 + ladder([5]float64{-14, -5, 0, 5, 9}, effort) + levelDB)
	r.load(make([]control, 12), h, rnd)
	for k := range r.controls {
		r.controls[k] = control{f: [3]float64{500, 1500, 2500}, bw: [3]float64{100, 100, 100}, f0: 100}
	}
	return r
}

// newChair: a dry creak (a train of small clicks through two wooden
// resonances) and a low thump. Made up; there is no standard chair.
func newChair(t *Talker, effort, levelDB float64, rnd rng) source {
	ms := Rate / 1000
	var h []*hiss
	at := 20.0
	rate := rnd.between(45, 60)
	for at < 380 {
		r := at / 380
		f := 620 * (1 + .25*r)
		s := int(at) * ms
		h = append(h, newHiss(s, s+14*ms, 12, -3*ms, .5*math.Sin(math.Pi*r)+.05, false, []band{{f, 120, 0}, {f * 2.7, 260, -6}}, 1))
		at += 1000 / rate * rnd.between(.75, 1.3)
	}
	s := 430 * ms
	h = append(h, newHiss(s, s+200*ms, 2*ms, -35*ms, 2.2, false, []band{{95, 60, 0}, {210, 120, -6}}, 1))
	r := newTract(t, newPulse(1), nil)
	r.gain = pascal(60 + ladder([5]float64{-6, 0, 4, 8, 12}, effort) + levelDB)
	r.load(make([]control, 300), h, rnd)
	for k := range r.controls {
		r.controls[k] = control{f: [3]float64{500, 1500, 2500}, bw: [3]float64{100, 100, 100}, f0: 100}
	}
	return r
}

// jet is the breath of a plosive reaching a close microphone: not sound that
// spreads but air that moves.
type jet struct {
	at    int     // frame
	peak  float64 // Pa, referred to 1 m like everything else
	tau   float64 // frames
	rnd   rng
	lp    biquad
	ready bool
}

// add puts the jet into dst, whose first sample is frame at.
func (j *jet) add(dst []float64, at int) {
	const length = 140 * Rate / 1000
	if at+len(dst) <= j.at || at >= j.at+length {
		return
	}
	if !j.ready {
		j.lp.lowPass(250)
		j.ready = true
	}
	bump := func(x float64) float64 {
		if x <= 0 {
			return 0
		}
		return x * math.Exp(1-x)
	}
	for i := max(0, j.at-at); i < len(dst) && at+i < j.at+length; i++ {
		k := float64(at + i - j.at)
		e := bump(k / j.tau)
		fade := min(1, (length-k)/480)
		dst[i] += j.peak * fade * (e - .35*bump((k-.030*Rate)/j.tau) + 2.2*e*j.lp.step(j.rnd.noise()))
	}
}

// jetPeak is the jet's peak for speech of a level, referred to 1 m, when the
// mouth is d metres away: 14 dB over the peaks of speech (taken 15 dB over its
// level) at 3 cm, losing 6 dB more than the speech with each doubling, gone by
// 20 cm. Set by ear and by common practice, no source.
func jetPeak(spl, d float64) float64 {
	if d >= .20 {
		return 0
	}
	g := lin(14) * .03 / max(d, .02)
	if d > .12 {
		g *= (.20 - d) / .08
	}
	return pascal(spl+15) * g
}

// jets finds the plosives of a clause that blow at the microphone.
func (c *clause) jets(spl, distance float64, rnd *rng) []jet {
	pk := jetPeak(spl, distance)
	if pk == 0 {
		return nil
	}
	var out []jet
	for i := range c.segs {
		s := &c.segs[i]
		var db float64
		switch s.p.name {
		case "P":
		case "B":
			db = -6
		case "T", "K":
			db = -10
		default:
			continue
		}
		if i+1 == len(c.segs) || c.segs[i+1].p.class != vowel && c.segs[i+1].p.class != glide {
			continue
		}
		if i > 0 && c.segs[i-1].p.name == "S" && !s.first || c.segs[i+1].stress == 0 && c.segs[i+1].p.class == vowel {
			db -= 8
		}
		db += 3 * rnd.normal()
		out = append(out, jet{at: (s.start + s.ticks) * tickFrames, peak: pk * lin(db), tau: rnd.between(8, 14) * Rate / 1000, rnd: *newRNG(rnd.next())})
	}
	return out
}

// newPop: the release of one hard p with its jet.
func newPop(t *Talker, effort, levelDB, distance float64, rnd rng) source {
	spl := ladder(effortSPL, effort) + levelDB
	h := newHiss(0, 25*Rate/1000, 12, -3*Rate/1000, 1, false, bandsP, 1)
	puff := newHiss(5*Rate/1000, 70*Rate/1000, 240, 55*Rate/1000, .3, false, []band{{900, 900, 0}, {1800, 1500, -6}}, 1)
	r := newTract(t, newPulse(1), nil)
	r.gain = pascal(spl - 10)
	r.load(make([]control, 70), []*hiss{h, puff}, rnd)
	for k := range r.controls {
		r.controls[k] = control{f: [3]float64{500, 1500, 2500}, bw: [3]float64{100, 100, 100}, f0: 100}
	}
	s := &speaking{tract: r}
	if pk := jetPeak(spl, distance); pk > 0 {
		s.jets = []jet{{at: 96, peak: pk, tau: rnd.between(8, 14) * Rate / 1000, rnd: *newRNG(uint64(rnd), 3)}}
	}
	return s
}
