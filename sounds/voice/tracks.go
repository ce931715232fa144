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

// build lays the tracks of a clause. voice and asp are the rms of a steady
// vowel of unit voicing and of unit aspiration; levels are set against them.
func (c *clause) build(t *Talker, sh shape, voice, asp float64, rnd *rng) speech {
	n := c.ticks
	ctl := make([]control, n+1)
	av := make([]float64, n+1)
	ah := make([]float64, n+1)
	var out speech
	ms := func(x float64) int { return int(x/2 + 0.5) }
	frames := func(x float64) int { return int(x * Rate / 1000) }
	noiseScale := math.Sqrt(t.high)
	ahUnit := voice / asp
	addHiss := func(start, end, rise, fall int, db float64, gate bool, b []band) {
		out.hisses = append(out.hisses, newHiss(start, end, rise, fall, voice*lin(db+sh.hiss), gate, b, noiseScale))
	}

	// Formants, bandwidths, tilt, nasality, levels: segment by segment.
	for i := range c.segs {
		s := &c.segs[i]
		p := s.p
		left, right := c.targets(i, false), c.targets(i, true)
		var bl, br [3]float64
		tl, tr := 0.0, 0.0
		hasL, hasR := i > 0, i+1 < len(c.segs)
		if hasL {
			bl, tl = c.joint(i - 1)
		} else {
			bl = left
			if !p.open() && hasR {
				bl, _ = c.joint(i)
			}
		}
		if hasR {
			br, tr = c.joint(i)
		} else {
			br = right
			if !p.open() && hasL {
				br = bl
			}
		}
		d := float64(s.ticks) * 2
		tl, tr = min(tl, d/2), min(tr, d/2)
		for k := 0; k <= s.ticks && s.start+k <= n; k++ {
			x := &ctl[s.start+k]
			at := float64(k) * 2
			x.bw = p.bw
			for j := range 3 {
				var f float64
				if p.open() {
					own := left[j]
					if p.ramp > 0 {
						own += (right[j] - left[j]) * (1 - ease((at-p.mid*d)/min(p.ramp, d)+.5))
					} else if d > 0 {
						own += (right[j] - left[j]) * at / d
					}
					f = own
					if tl > 0 {
						f += (bl[j] - left[j]) * ease(at/tl)
					}
					if tr > 0 {
						f += (br[j] - right[j]) * ease((d-at)/tr)
					}
				} else {
					f = bl[j] + (br[j]-bl[j])*at/d
					if p.class == nasal && j == 0 {
						f = 300
					}
				}
				x.f[j] = f
			}
		}
	}

	level := func(from, to int, v []float64, x float64) {
		for k := max(0, from); k < to && k <= n; k++ {
			v[k] = x
		}
	}
	breath := ahUnit * lin(t.breath-2)
	var releases []func() // they change what the next phone lays, so they come last
	for i := range c.segs {
		s := &c.segs[i]
		p := s.p
		a, z := s.start, s.start+s.ticks
		var prev, next *seg
		if i > 0 {
			prev = &c.segs[i-1]
		}
		if i+1 < len(c.segs) {
			next = &c.segs[i+1]
		}
		switch p.class {
		case vowel, glide, nasal:
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
				db += sh.close * min(1, (700-min(f, 700))/350)
			}
			level(a, z, av, lin(db))
			level(a, z, ah, breath*lin(db))
			if p.class == nasal {
				open := 1.0
				if p.name == "N" {
					open = 1.3
				}
				for k := a; k < z; k++ {
					ctl[k].nasal = open
				}
				// the neighbours' vowels start and end with an open velum
				for k := range 35 {
					w := 0.4 * (1 - float64(k)/35)
					if i > 0 && c.segs[i-1].p.open() && a-1-k >= c.segs[i-1].start {
						ctl[a-1-k].nasal = max(ctl[a-1-k].nasal, w)
					}
					if next != nil && next.p.open() && z+k < next.start+next.ticks {
						ctl[z+k].nasal = max(ctl[z+k].nasal, w)
					}
				}
			}
		case breathy:
			x := 0.0
			if prev != nil && prev.p.voiced {
				x = lin(-14)
			}
			level(a, z, av, x)
			level(a, z, ah, ahUnit*lin(-16))
			for k := a; k < z; k++ {
				ctl[k].bw[0] = 250
			}
		case flap:
			level(a, z, av, lin(p.av))
			for k := a; k < z; k++ {
				ctl[k].tilt += 8
			}
		case fricative:
			if p.voiced {
				level(a, z, av, lin(p.av))
				dull := 10.0
				if p.noise < -30 { // v, dh: more an approximant than a fricative
					dull = 4
				}
				for k := a; k < z; k++ {
					ctl[k].tilt += dull
				}
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
			addHiss(a*tickFrames-frames(6), z*tickFrames+frames(6), frames(ramp), frames(fall), db, p.voiced, p.bands)
		case affricate:
			hold := int(float64(s.ticks) * .45)
			if p.voiced {
				level(a, a+hold, av, lin(-14))
				level(a+hold, z, av, lin(p.av))
				for k := a; k < z; k++ {
					ctl[k].tilt += 20
				}
			}
			addHiss((a+hold)*tickFrames, z*tickFrames+frames(4), 48, frames(25), p.noise, p.voiced, p.bands)
		case stop:
			burst := p.burst
			hold := max(a, z-ms(burst))
			if p.voiced {
				x := lin(p.av)
				level(a, hold, av, x)
				for k := a; k < hold; k++ {
					ctl[k].tilt += 28
				}
			}
			db := p.noise
			bands := p.bands
			to := float64(1500)
			if next != nil {
				f, _ := c.joint(i)
				to = f[1]
				if next.p.class == vowel {
					to = 0.5*f[1] + 0.5*next.p.f[1]
				}
			} else {
				db -= 4
			}
			if next != nil && (next.p.class == stop || next.p.class == affricate || next.p.class == nasal) {
				db -= 6
			}
			switch {
			case p.place == velar:
				bands = append([]band(nil), p.bands...)
				bands[0].f = min(2900, max(1150, to*1.15)) * t.scale[1] / noiseScale
			case p.place == alveolar && next != nil && next.p.name == "R":
				bands = []band{{2700, 600, 0}, {3900, 1500, -4}}
			}
			start := hold * tickFrames
			addHiss(start, start+frames(burst*4), 12, -frames(burst*.6), db, false, bands)
			if next == nil {
				if !p.voiced { // a breath of release
					addHiss(start+frames(burst), start+frames(burst+45), frames(5), frames(38), db-10, false, bands)
				}
				break
			}
			if next.p.class == vowel || next.p.class == glide {
				vot := p.vot
				if next.p.class == glide {
					vot *= 1.28
				}
				if !p.voiced {
					same := prev != nil && prev.p.name == "S" && !s.first
					stressed := next.stress > 0 && !next.weak
					if next.p.class == glide && i+2 < len(c.segs) {
						stressed = c.segs[i+2].stress > 0 && !c.segs[i+2].weak
					}
					switch {
					case same:
						vot = 20
					case s.last || !stressed:
						vot /= 2
					}
				}
				releases = append(releases, func() { c.release(ctl, av, ah, next, ms(vot), p, ahUnit) })
				if !p.voiced {
					addHiss(start+frames(burst), start+frames(burst+14), 24, frames(10), db-8, false, bands)
				}
			}
		}
	}

	for _, release := range releases {
		release()
	}

	// Edges: soft onset after silence, slow release before it.
	if len(c.segs) > 0 {
		s := &c.segs[0]
		if s.p.class == vowel || s.p.class == glide || s.p.class == nasal {
			for k := 0; k < min(12, s.ticks); k++ {
				av[k] *= 1 - ease(float64(k)/12)
			}
		}
		if z := c.segs[len(c.segs)-1]; z.p.voiced {
			w := min(45, z.ticks)
			for k := range w {
				at := n - w + k
				g := ease(float64(k) / float64(w))
				av[at] *= g
				ah[at] *= 0.3 + 0.7*g
			}
		}
	}
	av[n], ah[n] = 0, 0
	soften(av, 2)
	soften(av, 2)
	soften(ah, 2)
	velum := make([]float64, n+1)
	for k := range velum {
		velum[k] = ctl[k].nasal
	}
	soften(velum, 2)
	soften(velum, 2)

	f0 := c.melody(t, sh)
	for k := range ctl {
		x := &ctl[k]
		x.av, x.ah, x.nasal = av[k], ah[k], velum[k]
		for j := range 3 {
			x.f[j] *= t.scale[j]
			x.bw[j] *= math.Sqrt(t.scale[j])
		}
		x.f[0] = raiseF1(x.f[0], sh.f1)
		x.f[1] = max(x.f[1], x.f[0]+150)
		x.f[2] = max(x.f[2], x.f[1]+150)
		x.tilt += sh.tilt
		x.f0 = f0[k]
	}
	out.controls = ctl
	sortHisses(out.hisses)
	return out
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
