package voice

import "math"

// shape is everything about the source that effort changes.
type shape struct {
	rd    float64 // LF shape
	tilt  float64 // dB at 3 kHz
	shift float64 // semitones
	f1    float64 // Hz
	hiss  float64 // dB, noises re the vowel
	close float64 // dB, close vowels and sonorants re what the filters give
}

// shapeOf gives the shape for an effort. With level, F0 rises by about 0.4
// semitones per dB and F1 by 3.5 Hz per dB (Traunmüller & Eriksson 2000;
// Liénard & Di Benedetto 1999), unvoiced sounds rise less than voiced, and the
// pulse gets sharper; the figures between are ours.
func shapeOf(t *Talker, e float64) shape {
	up := ladder([5]float64{-1.5, 0, 2.4, 5, 8.5}, e)
	if t.Child && up > 0 {
		up *= .35 // a child's voice is high already
	}
	return shape{
		rd:    max(0.3, t.rd*ladder([5]float64{1.2, .70, .55, .42, .33}, e)),
		tilt:  ladder([5]float64{4, 0, 0, 0, 0}, e),
		shift: up,
		f1:    ladder([5]float64{-20, 0, 20, 45, 80}, e),
		// Loud talkers open the mouth for close vowels too; part of that is F1,
		// the rest is done here.
		close: ladder([5]float64{0, 0, 2, 4.5, 8}, e),
		// Unvoiced sounds rise less than voiced ones; by how much is what the
		// standard's spectra of raised to shouted speech leave above 5 kHz.
		hiss: ladder([5]float64{1.25, 0, -3, -4.5, -4}, e),
	}
}

// raiseF1 moves F1 with effort: less where the mouth is nearly closed.
func raiseF1(f, by float64) float64 {
	return f + by*min(1, max(.25, (f-250)/300))
}

// ease is a raised cosine from 1 at 0 to 0 at x >= 1.
func ease(x float64) float64 {
	if x >= 1 {
		return 0
	}
	if x <= 0 {
		return 1
	}
	return 0.5 + 0.5*math.Cos(math.Pi*x)
}

// targets are a phone's formants on one side, as this context colours them.
func (c *clause) targets(i int, right bool) [3]float64 {
	s := &c.segs[i]
	switch s.p.name {
	case "HH":
		for k := i + 1; k < len(c.segs); k++ {
			if c.segs[k].p.class == vowel || c.segs[k].p.class == glide {
				return c.segs[k].p.f
			}
		}
	case "L":
		if s.coda { // dark
			return [3]float64{420, 800, 2750}
		}
	case "R":
		if s.coda {
			return [3]float64{420, 1250, 1600}
		}
	}
	if right {
		return s.p.off
	}
	return s.p.f
}

// open reports whether the phone lets the formants be heard as its own.
func (p *phone) open() bool { return p.class == vowel || p.class == glide || p.class == breathy }

// joint gives the formants at the boundary of segs i and i+1 and how long the
// movement on either side takes, in ms.
func (c *clause) joint(i int) (f [3]float64, ms float64) {
	a, b := &c.segs[i], &c.segs[i+1]
	switch {
	case a.p.class == breathy:
		return c.targets(i+1, false), 30
	case b.p.class == breathy:
		x, y := c.targets(i, true), c.targets(i+1, false)
		for k := range f {
			f[k] = (x[k] + y[k]) / 2
		}
		return f, 60
	case a.p.open() && b.p.open():
		x, y := c.targets(i, true), c.targets(i+1, false)
		w := 0.5 // weight of x
		ms = 90
		switch {
		case a.p.class == vowel && b.p.class == glide:
			w, ms = .25, 80
		case a.p.class == glide && b.p.class == vowel:
			w, ms = .75, 80
		}
		for k := range f {
			f[k] = w*x[k] + (1-w)*y[k]
		}
		return f, ms
	case a.p.open():
		return b.p.boundary(c.targets(i, true))
	case b.p.open():
		return a.p.boundary(c.targets(i+1, false))
	default:
		mid := [3]float64{450, 1500, 2500}
		x, m1 := a.p.boundary(mid)
		y, m2 := b.p.boundary(mid)
		for k := range f {
			f[k] = (x[k] + y[k]) / 2
		}
		return f, (m1 + m2) / 2
	}
}

// boundary is the locus rule: where a vowel with these formants meets p.
func (p *phone) boundary(v [3]float64) ([3]float64, float64) {
	l := loci[p.place]
	if p.place == velar && v[1] <= 1500 {
		l = velarBack
	}
	low := l.f1
	if p.class == nasal {
		low = 300
	}
	return [3]float64{
		l.k1*v[0] + (1-l.k1)*low,
		l.k2*v[1] + (1-l.k2)*l.f2,
		l.k3*v[2] + (1-l.k3)*l.f3,
	}, l.ms
}

// speech is a clause turned into controls and noises, ready for a tract.
type speech struct {
	controls []control
	hisses   []*hiss
}

// tracks are the controls of a clause while they are laid.
type tracks struct {
	c      *clause
	t      *Talker
	sh     shape
	ctl    []control
	av, ah []float64 // voicing and aspiration, by tick
	hisses []*hiss

	voice  float64 // rms of a steady vowel of unit voicing
	ahUnit float64 // aspiration as loud as that
	noise  float64 // scale of the noises' frequencies
	// releases change what the next phone lays, so they come last.
	releases []func()
}

func ticksOf(ms float64) int  { return int(ms/2 + 0.5) }
func framesOf(ms float64) int { return int(ms * Rate / 1000) }

// build lays the tracks of a clause. voice and asp are the rms of a steady
// vowel of unit voicing and of unit aspiration; levels are set against them.
func (c *clause) build(t *Talker, sh shape, voice, asp float64, rnd *rng) speech {
	n := c.ticks
	b := &tracks{c: c, t: t, sh: sh, ctl: make([]control, n+1), av: make([]float64, n+1), ah: make([]float64, n+1),
		voice: voice, ahUnit: voice / asp, noise: math.Sqrt(t.high)}
	for i := range c.segs {
		b.formants(i)
	}
	for i := range c.segs {
		b.levels(i)
	}
	for _, release := range b.releases {
		release()
	}
	b.edges()
	b.av[n], b.ah[n] = 0, 0
	soften(b.av, 2)
	soften(b.av, 2)
	soften(b.ah, 2)
	b.merge()
	sortHisses(b.hisses)
	return speech{controls: b.ctl, hisses: b.hisses}
}

func (b *tracks) addHiss(start, end, rise, fall int, db float64, gate bool, bands []band) {
	b.hisses = append(b.hisses, newHiss(start, end, rise, fall, b.voice*lin(db+b.sh.hiss), gate, bands, b.noise))
}

// level sets v over ticks.
func (b *tracks) level(from, to int, v []float64, x float64) {
	for k := max(0, from); k < to && k <= b.c.ticks; k++ {
		v[k] = x
	}
}

func (b *tracks) tilt(from, to int, db float64) {
	for k := from; k < to; k++ {
		b.ctl[k].tilt += db
	}
}

// meeting is where a phone meets its neighbours: formants at either end, and over
// how many ms they come and go.
type meeting struct {
	left, right [3]float64
	in, out     float64 // ms
}

func (c *clause) meetings(i int) meeting {
	p := c.segs[i].p
	left, right := c.targets(i, false), c.targets(i, true)
	var m meeting
	hasL, hasR := i > 0, i+1 < len(c.segs)
	if hasL {
		m.left, m.in = c.joint(i - 1)
	} else {
		m.left = left
		if !p.open() && hasR {
			m.left, _ = c.joint(i)
		}
	}
	if hasR {
		m.right, m.out = c.joint(i)
	} else {
		m.right = right
		if !p.open() && hasL {
			m.right = m.left
		}
	}
	d := float64(c.segs[i].ticks) * 2
	m.in, m.out = min(m.in, d/2), min(m.out, d/2)
	return m
}

// formants lays formants and bandwidths of one phone.
func (b *tracks) formants(i int) {
	c := b.c
	s := &c.segs[i]
	p := s.p
	left, right := c.targets(i, false), c.targets(i, true)
	m := c.meetings(i)
	d := float64(s.ticks) * 2
	// open is the track of a phone with targets of its own.
	open := func(j int, at float64) float64 {
		f := left[j]
		if p.ramp > 0 {
			f += (right[j] - left[j]) * (1 - ease((at-p.mid*d)/min(p.ramp, d)+.5))
		} else if d > 0 {
			f += (right[j] - left[j]) * at / d
		}
		if m.in > 0 {
			f += (m.left[j] - left[j]) * ease(at/m.in)
		}
		if m.out > 0 {
			f += (m.right[j] - right[j]) * ease((d-at)/m.out)
		}
		return f
	}
	for k := 0; k <= s.ticks && s.start+k <= c.ticks; k++ {
		x := &b.ctl[s.start+k]
		at := float64(k) * 2
		x.bw = p.bw
		for j := range 3 {
			switch {
			case p.open():
				x.f[j] = open(j, at)
			case p.class == nasal && j == 0:
				x.f[j] = 300
			default:
				x.f[j] = m.left[j] + (m.right[j]-m.left[j])*at/d
			}
		}
	}
}

// levels lays voicing, aspiration and noise of one phone.
func (b *tracks) levels(i int) {
	s := &b.c.segs[i]
	p := s.p
	a, z := s.start, s.start+s.ticks
	var prev, next *seg
	if i > 0 {
		prev = &b.c.segs[i-1]
	}
	if i+1 < len(b.c.segs) {
		next = &b.c.segs[i+1]
	}
	switch p.class {
	case vowel, glide, nasal:
		b.sonorant(s)
		if p.class == nasal {
			b.openVelum(s, prev, next)
		}
	case breathy:
		x := 0.0
		if prev != nil && prev.p.voiced {
			x = lin(-14)
		}
		b.level(a, z, b.av, x)
		b.level(a, z, b.ah, b.ahUnit*lin(-16))
		for k := a; k < z; k++ {
			b.ctl[k].bw[0] = 250
		}
	case flap:
		b.level(a, z, b.av, lin(p.av))
		b.tilt(a, z, 8)
	case fricative:
		b.fricative(s, next)
	case affricate:
		hold := int(float64(s.ticks) * .45)
		if p.voiced {
			b.level(a, a+hold, b.av, lin(-14))
			b.level(a+hold, z, b.av, lin(p.av))
			b.tilt(a, z, 20)
		}
		b.addHiss((a+hold)*tickFrames, z*tickFrames+framesOf(4), 48, framesOf(25), p.noise, p.voiced, p.bands)
	case stop:
		b.stop(i, s, prev, next)
	}
}

// sonorant is a phone that sounds by the voice alone.
func (b *tracks) sonorant(s *seg) {
	p := s.p
	db := p.av
	if p.class == vowel {
		db = -1
		if s.stress == 0 || s.weak {
			db = -2
		} else if s.accent > 0 {
			db += 1
		}
	} else if s.weak {
		db -= 2
	}
	if f := p.f[0]; p.class == nasal || f < 700 {
		db += b.sh.close * min(1, (700-min(f, 700))/350)
	}
	breath := b.ahUnit * lin(b.t.breath-2)
	b.level(s.start, s.start+s.ticks, b.av, lin(db))
	b.level(s.start, s.start+s.ticks, b.ah, breath*lin(db))
}

// openVelum opens the nose: the neighbours' vowels end and start with it open, too.
func (b *tracks) openVelum(s, prev, next *seg) {
	a, z := s.start, s.start+s.ticks
	open := 1.0
	switch s.p.place {
	case alveolar:
		open = 1.3
	case velar:
		open = 0.6
	}
	for k := a; k < z; k++ {
		b.ctl[k].nasal = open
	}
	for k := range 35 {
		w := 0.4 * (1 - float64(k)/35)
		if prev != nil && prev.p.open() && a-1-k >= prev.start {
			b.ctl[a-1-k].nasal = max(b.ctl[a-1-k].nasal, w)
		}
		if next != nil && next.p.open() && z+k < next.start+next.ticks {
			b.ctl[z+k].nasal = max(b.ctl[z+k].nasal, w)
		}
	}
}

func (b *tracks) fricative(s, next *seg) {
	p := s.p
	a, z := s.start, s.start+s.ticks
	if p.voiced {
		b.level(a, z, b.av, lin(p.av))
		dull := 10.0
		if p.noise < -30 { // v, dh: more an approximant than a fricative
			dull = 4
		}
		b.tilt(a, z, dull)
	}
	db := p.noise
	if s.weak {
		db -= 1
	}
	ramp := min(25.0, float64(s.ticks)*2/3)
	fall := ramp
	if next == nil {
		fall = min(60, float64(s.ticks))
	}
	b.addHiss(a*tickFrames-framesOf(6), z*tickFrames+framesOf(6), framesOf(ramp), framesOf(fall), db, p.voiced, p.bands)
}

// stop is a closure, a burst, and what comes of it before a vowel.
func (b *tracks) stop(i int, s, prev, next *seg) {
	p := s.p
	a, z := s.start, s.start+s.ticks
	burst := p.burst
	hold := max(a, z-ticksOf(burst))
	if p.voiced {
		b.level(a, hold, b.av, lin(p.av))
		b.tilt(a, hold, 28)
	} else if prev != nil && prev.p.voiced && p.place == velar {
		b.dying(a, hold)
	}
	db, bands := b.burst(i, p, prev, next)
	start := hold * tickFrames
	b.addHiss(start, start+framesOf(burst*4), 12, -framesOf(burst*.6), db, false, bands)
	switch {
	case next == nil:
		if !p.voiced { // a breath of release
			b.addHiss(start+framesOf(burst), start+framesOf(burst+45), framesOf(5), framesOf(38), db-10, false, bands)
		}
	case next.p.class == vowel || next.p.class == glide:
		vot := ticksOf(b.c.onset(i, s, prev, next))
		b.releases = append(b.releases, func() { b.c.release(b.ctl, b.av, b.ah, next, vot, p, b.ahUnit) })
		if !p.voiced {
			b.addHiss(start+framesOf(burst), start+framesOf(burst+14), 24, framesOf(10), db-8, false, bands)
		}
	}
}

// dying is the voice that goes on, ever weaker, into the closure of a k, and the breath as
// the glottis opens. (A p's closure is silent in open recordings too; for a t the
// recogniser did no better with it.)
func (b *tracks) dying(a, z int) {
	over := min(14, (z-a)/3)
	for k := a; k < a+over; k++ {
		w := float64(k-a) / float64(over)
		b.av[k] = lin(-9 - 21*w)
		b.ah[k] = b.ahUnit * lin(-24-10*w)
		b.ctl[k].tilt += 6 + 10*w
	}
}

// burst gives level and bands of the burst of a stop, by what follows.
func (b *tracks) burst(i int, p *phone, prev, next *seg) (db float64, bands []band) {
	db, bands = p.noise, p.bands
	to := 1500.0
	if next != nil {
		f, _ := b.c.joint(i)
		to = f[1]
		if next.p.class == vowel {
			to = 0.5*f[1] + 0.5*next.p.f[1]
		}
		if next.p.class == stop || next.p.class == affricate || next.p.class == nasal {
			db -= 6
		}
	} else {
		db -= 4
	}
	if prev != nil && prev.p.class == vowel && (next == nil || !next.p.open()) {
		to = prev.p.off[1] // the tongue has not left the vowel before
	}
	switch {
	case p.place == velar:
		bands = append([]band(nil), p.bands...)
		bands[0].f = min(2900, max(1150, to*1.15)) * b.t.scale[1] / b.noise
	case p.place == alveolar && next != nil && next.p.name == "R":
		bands = []band{{2700, 600, 0}, {3900, 1500, -4}}
	}
	return db, bands
}

// onset is the voice onset time of a stop before a vowel or a glide, ms.
func (c *clause) onset(i int, s, prev, next *seg) float64 {
	vot := s.p.vot
	if next.p.class == glide {
		vot *= 1.28
	}
	if s.p.voiced {
		return vot
	}
	stressed := next.stress > 0 && !next.weak
	if next.p.class == glide && i+2 < len(c.segs) {
		stressed = c.segs[i+2].stress > 0 && !c.segs[i+2].weak
	}
	switch {
	case prev != nil && prev.p.name == "S" && !s.first:
		return 20
	case s.last || !stressed:
		return vot / 2
	}
	return vot
}

// edges makes the onset after silence soft, and the release before it slow.
func (b *tracks) edges() {
	segs := b.c.segs
	if len(segs) == 0 {
		return
	}
	s := &segs[0]
	if s.p.class == vowel || s.p.class == glide || s.p.class == nasal {
		for k := 0; k < min(12, s.ticks); k++ {
			b.av[k] *= 1 - ease(float64(k)/12)
		}
	}
	if z := segs[len(segs)-1]; z.p.voiced {
		w := min(45, z.ticks)
		for k := range w {
			at := b.c.ticks - w + k
			g := ease(float64(k) / float64(w))
			b.av[at] *= g
			b.ah[at] *= 0.3 + 0.7*g
		}
	}
}

// merge puts the tracks into the controls and fits the formants to the talker.
func (b *tracks) merge() {
	velum := make([]float64, len(b.ctl))
	for k := range velum {
		velum[k] = b.ctl[k].nasal
	}
	soften(velum, 2)
	soften(velum, 2)
	f0 := b.c.melody(b.t, b.sh)
	for k := range b.ctl {
		x := &b.ctl[k]
		x.av, x.ah, x.nasal = b.av[k], b.ah[k], velum[k]
		for j := range 3 {
			x.f[j] *= b.t.scale[j]
			x.bw[j] *= math.Sqrt(b.t.scale[j])
		}
		x.f[0] = raiseF1(x.f[0], b.sh.f1)
		x.f[1] = max(x.f[1], x.f[0]+150)
		x.f[2] = max(x.f[2], x.f[1]+150)
		x.tilt += b.sh.tilt
		x.f0 = f0[k]
	}
}

// release takes the voice onset time out of the segment after a stop.
func (c *clause) release(ctl []control, av, ah []float64, next *seg, vot int, p *phone, unit float64) {
	vot = min(vot, int(float64(next.ticks)*.55))
	db := -14.0
	if p.voiced {
		db = -30
	}
	for k := range vot {
		at := next.start + k
		if p.voiced {
			av[at] *= 0.5
		} else {
			av[at] = 0
			ctl[at].bw[0] = max(ctl[at].bw[0], 250)
			ctl[at].bw[1] *= 1.5
		}
		ah[at] = max(ah[at], unit*lin(db))
	}
	for k := range 10 { // the voice comes in over 20 ms
		at := next.start + vot + k
		if at < next.start+next.ticks {
			av[at] *= 1 - ease(float64(k+1)/11)
		}
	}
}

// soften is a moving average over 2·half+1 ticks.
func soften(v []float64, half int) {
	old := append([]float64(nil), v...)
	for i := range v {
		s, n := 0.0, 0
		for k := max(0, i-half); k <= min(len(v)-1, i+half); k++ {
			s += old[k]
			n++
		}
		v[i] = s / float64(n)
	}
}

func sortHisses(h []*hiss) {
	for i := 1; i < len(h); i++ {
		for k := i; k > 0 && h[k].start < h[k-1].start; k-- {
			h[k], h[k-1] = h[k-1], h[k]
		}
	}
}

// melody is the F0 of each tick: a falling base line, a bump on each accent,
// a final fall or rise, and the small shifts that consonants cause.
func (c *clause) melody(t *Talker, sh shape) []float64 {
	n := c.ticks
	out := make([]float64, n+1)
	total := float64(n) * .002
	slope := 0.30 * min(1, total/(c.span[1]-c.span[0]+1e-9)/2.2)
	type bump struct{ at, st, width float64 }
	var bumps []bump
	for i := range c.segs {
		s := &c.segs[i]
		if s.p.class == vowel && s.accent > 0 {
			bumps = append(bumps, bump{(float64(s.start) + .4*float64(s.ticks)) * .002, s.accent * t.melody, .09})
		}
	}
	for k := range out {
		at := float64(k) * .002
		x := c.span[0] + (c.span[1]-c.span[0])*at/max(total, .01)
		base := 1 + slope*0.4 - slope*x
		st := sh.shift
		for _, b := range bumps {
			z := (at - b.at) / b.width
			if z > -4 && z < 4 {
				st += b.st * math.Exp(-z*z/2)
			}
		}
		rest := total - at
		switch {
		case c.yesNo:
			st += 5 * t.melody * ease(rest/.25)
		case c.end == ',':
			st += 1.6 * t.melody * ease(rest/.20)
		default:
			st -= 4 * ease(rest/.18)
		}
		out[k] = t.F0Hz * base * math.Exp2(st/12)
	}
	for i := range c.segs {
		s := &c.segs[i]
		if s.p.class == stop || s.p.class == fricative || s.p.class == affricate {
			if s.p.voiced {
				for k := range s.ticks {
					out[s.start+k] *= .96
				}
			} else if i+1 < len(c.segs) && c.segs[i+1].p.voiced {
				for k := 0; k < min(35, c.segs[i+1].ticks); k++ {
					out[s.start+s.ticks+k] *= 1 + .06*(1-float64(k)/35)
				}
			}
		}
	}
	soften(out, 4)
	return out
}
