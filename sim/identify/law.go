package identify

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Limiters differ in what they smooth over time. Four laws are fitted, in all of which the
// level of the peaks over a threshold is reduced by a share of the excess, and something
// follows by one time constant down and another up: the reduction in dB, worked out of what
// goes in or of what comes out; or, before the gain is worked out of it, the envelope of
// amplitude or of power (Giannoulis, Massberg and Reiss, J. Audio Eng. Soc. 60, 2012). Others
// are told by the nearest of these; the intervals allow for that.
const (
	warmBlocks     = blockRate / 2 // before a piece counts: the state is not known
	mostRatio      = 100.0
	leastActing    = 0.7  // dB
	leastRise      = 0.7  // dB
	leastFall      = 0.35 // dB
	quickAttackMS  = 30.0 // choices: level controls take longer
	quickReleaseMS = 1000.0
	leastSlowMS    = 300 // release of a level control that no law fits well
	aheadLess      = 0.8 // of the loss without it, below which look-ahead is believed
	huber          = 0.5 // dB
	replicates     = 60
	coarseStep     = 3 // pieces
	// By how much the truth may differ for the model's sake: dB, of a logarithm, of 1. Attack
	// and slope lean on the few moments in which the gain moves, and are less sure the worse the
	// law fits; per dB of what is left.
	thresholdBy  = 0.35
	timesBy      = 0.16
	attackBy     = 0.17
	slopeBy      = 0.045
	misfitAttack = 1.3
	misfitSlope  = 0.3
	// A law whose attack comes out quicker than this, ms, is one that looks ahead or holds
	// peaks and was not recognised: what its attack is does not show.
	leastAttackMS = 0.2
	quickHeldMS   = 2.0 // only what seems quicker may be one that holds peaks
)

// A law is the result of a fit.
type law struct {
	smooths                           Smoothed
	loss                              float64
	threshold, ratio, attack, release Estimate
	base, deepest                     float64
	acts, automatic                   bool
	rises, falls                      bool // the gain is higher, or lower, where it is loudest
	blocks                            int  // that could be used
	top, slow                         float64
}

func fitLaw(pieces []*piece, before bool, top float64) *law {
	if before {
		for _, q := range pieces {
			q.uncover()
		}
	}
	w := &law{threshold: Unknown(), ratio: Unknown(), attack: Unknown(), release: Unknown(), top: top}
	var gains []float64
	for _, q := range pieces {
		for i, g := range q.gain {
			if g == g && !(before && q.cut[i]) {
				gains = append(gains, float64(g))
			}
		}
	}
	w.blocks = len(gains)
	if len(gains) < blockRate/20 {
		return w
	}
	slices.Sort(gains)
	w.base = restingGain(pieces, gains)
	w.slow = slowRange(pieces)
	w.rises, w.falls = loudest(pieces)
	constant := constantLoss(gains)
	f, best, least := search(pieces, before, top, w.base)
	w.smooths, w.loss = f.smooths, least
	w.read(f, best, least, constant)
	if w.acts {
		w.spread(f, best)
	}
	return w
}

// search tries all laws, coarsely from the best of a grid, then finely.
func search(pieces []*piece, before bool, top, base float64) (f *fit, best params, least float64) {
	type found struct {
		f *fit
		p params
		l float64
	}
	rough := pieces[:min(len(pieces), coarseStep)]
	var list []found
	for _, k := range []Smoothed{SmoothsGain, SmoothsFedBack, SmoothsAmplitude, SmoothsPower} {
		g := &fit{pieces: rough, before: before, smooths: k, coarse: true}
		at, low := params{}, math.Inf(1)
		for _, t := range []float64{-3, -6, -9, -13, -18, -25} {
			for _, a := range []float64{1, 8} {
				for _, r := range []float64{50, 150, 500} {
					p := params{top + t, 1.5, math.Log(a), math.Log(r), 3, base}
					if l := g.loss(p); l < low {
						at, low = p, l
					}
				}
			}
		}
		p, l := g.solve(at, 8)
		list = append(list, found{g, p, l})
	}
	slices.SortFunc(list, func(a, b found) int { return int(math.Copysign(1, a.l-b.l)) })
	var plain params // what fits best of a gain that is smoothed and no more
	for i, x := range list {
		g := &fit{pieces: pieces, before: before, smooths: x.f.smooths}
		p, l := g.solve(x.p, 4)
		if g.smooths == SmoothsGain {
			plain = p
		}
		if i == 0 || l < least {
			f, best, least = g, p, l
		}
	}
	best, least = f.solve(best, 8)
	if f.attack(best) >= quickHeldMS {
		return f.lookAhead(best, least)
	}
	held, p, l := f.held(plain)
	f, best, least = f.lookAhead(best, least)
	if l < aheadLess*least {
		f, best, least = held, p, l
	}
	return f, best, least
}

// held fits a smoothed gain that holds peaks, from where the one that does not fits best: its
// attack would look like none to that.
func (f *fit) held(from params) (g *fit, best params, least float64) {
	g = &fit{pieces: f.pieces, before: f.before, smooths: SmoothsHeld, coarse: true}
	least = math.Inf(1)
	for _, ms := range []float64{1, 5} {
		p := from
		p[pAttack] = math.Log(ms)
		if p, l := g.solve(p, 5); l < least {
			best, least = p, l
		}
	}
	g.coarse = false
	best, least = g.solve(best, 6)
	return g, best, least
}

// lookAhead tries whether a smoothed gain that looks ahead fits much better.
func (f *fit) lookAhead(best params, least float64) (*fit, params, float64) {
	first, was := f, best
	for _, ms := range []float64{1.5, 3, 5} {
		g := &fit{before: f.before, smooths: SmoothsGain, coarse: true}
		for _, q := range first.pieces {
			g.pieces = append(g.pieces, q.ahead(ms))
		}
		p := was
		p[pAttack] = max(p[pAttack], math.Log(0.5))
		p, _ = g.solve(p, 5)
		g.coarse = false
		less := aheadLess
		if f.attack(best) < leastAttackMS { // nothing is as quick as that, but what looks ahead
			less = 1
		}
		if p, l := g.solve(p, 3); l < less*least {
			f, best, least = g, p, l
		}
	}
	return f, best, least
}

// ahead is a piece whose levels are the highest of those and of so many ms on.
func (q *piece) ahead(ms float64) *piece {
	o := *q
	n := max(1, int(math.Round(ms/q.ms)))
	o.fine, o.fineDB = highest(q.fine, n), highest(q.fineDB, n)
	blocks := (n + perBlock - 1) / perBlock
	o.size, o.level = highest(q.size, blocks), highest(q.level, blocks)
	return &o
}

// uncover puts the level that a limiter before the converter was given where the first
// recording is clipped: that of the second, by the gain close by on either side.
func (q *piece) uncover() {
	const far = blockRate / 500
	q.hidden = make([]bool, len(q.gain))
	last := -far // the block whose gain is known
	for i := range q.gain {
		if !q.cut[i] {
			if q.gain[i] == q.gain[i] {
				last = i
			}
			continue
		}
		next := i + 1
		for next < len(q.gain) && next < i+far && (q.cut[next] || q.gain[next] != q.gain[next]) {
			next++
		}
		if q.hidden[i] = i-last >= far || next >= min(len(q.gain), i+far); q.hidden[i] {
			continue
		}
		gain := q.gain[last] + (q.gain[next]-q.gain[last])*float32(i-last)/float32(next-last)
		level := q.other[i] - gain
		size := float32(fromDB(float64(level)))
		q.level[i], q.size[i] = max(q.level[i], level), max(q.size[i], size)
		for j := i * perBlock; j < (i+1)*perBlock; j++ {
			q.fineDB[j], q.fine[j] = max(q.fineDB[j], level), max(q.fine[j], size)
		}
	}
}

// highest is the largest of each value and the next n.
func highest(x []float32, n int) []float32 {
	y := slices.Clone(x)
	for have := 0; have < n; {
		k := min(have+1, n-have)
		for i := range max(len(y)-k, 0) {
			y[i] = max(y[i], y[i+k])
		}
		have += k
	}
	return y
}

// restingGain is the gain where the limiter rests, if it does anywhere: near the highest
// median of short windows.
func restingGain(pieces []*piece, sorted []float64) float64 {
	const per = blockRate / 50
	m := mediansOf(pieces, per, per/8)
	if len(m) < 8 {
		return sorted[len(sorted)*9/10]
	}
	return m[len(m)-1-len(m)/20]
}

// gainAtRest is the same, of what is not clipped; 0 where too little is known.
func gainAtRest(pieces []*piece) float64 {
	var gains []float64
	for _, q := range pieces {
		for i, g := range q.gain {
			if g == g && !q.cut[i] {
				gains = append(gains, float64(g))
			}
		}
	}
	if len(gains) < blockRate/20 {
		return 0
	}
	slices.Sort(gains)
	return restingGain(pieces, gains)
}

// mediansOf are the median gains of windows of so many blocks in which at least so many
// can be used, sorted.
func mediansOf(pieces []*piece, per, least int) (medians []float64) {
	var now []float64
	for _, q := range pieces {
		for i := 0; i+per <= len(q.gain); i += per {
			now = now[:0]
			for _, g := range q.gain[i : i+per] {
				if g == g {
					now = append(now, float64(g))
				}
			}
			if len(now) >= max(least, 1) {
				slices.Sort(now)
				medians = append(medians, now[len(now)/2])
			}
		}
	}
	slices.Sort(medians)
	return medians
}

// slowRange is by how much the gain moves from one half second to another, dB.
func slowRange(pieces []*piece) float64 {
	medians := mediansOf(pieces, blockRate/2, blockRate/40)
	if len(medians) < 4 {
		return 0
	}
	return medians[len(medians)-1-len(medians)/20] - medians[len(medians)/20]
}

// loudest tells whether the gain is higher where it is loud than where it is not, outside
// what is clipped, as if the limiter had been on in the first recording, not in the second;
// and whether it is lower where it is loudest, clipped or not, as no gain is that stays the same.
func loudest(pieces []*piece) (rises, falls bool) {
	type point struct{ level, gain float32 }
	var list, all []point
	for _, q := range pieces {
		for i, g := range q.gain {
			if g != g {
				continue
			}
			all = append(all, point{q.level[i], g})
			if !q.cut[i] {
				list = append(list, point{q.level[i], g})
			}
		}
	}
	median := func(p []point) float64 {
		var g []float64
		for _, x := range p {
			g = append(g, float64(x.gain))
		}
		slices.Sort(g)
		return g[len(g)/2]
	}
	over := func(p []point, top int) float64 { // of the loudest, one in so many, over the rest
		if len(p) < blockRate/20 {
			return 0
		}
		slices.SortFunc(p, func(a, b point) int { return int(math.Copysign(1, float64(a.level-b.level))) })
		n := len(p)
		return median(p[n-n/top:]) - median(p[n/10:n/2])
	}
	return over(list, 20) > leastRise, min(over(all, 20), over(all, 100)) < -leastFall
}

// constantLoss is the loss of a gain that does not move.
func constantLoss(sorted []float64) float64 {
	m := sorted[len(sorted)/2]
	sum := 0.0
	for _, g := range sorted {
		_, l := weigh(g - m)
		sum += l
	}
	return sum / float64(len(sorted))
}

// attack is that of a law, ms: a loop is quicker than its filter by what it takes away.
func (f *fit) attack(p params) float64 {
	a := math.Exp(p[pAttack])
	if f.smooths == SmoothsFedBack {
		a *= 1 - p.slope()
	}
	return a
}

// read sums the fit up.
func (w *law) read(f *fit, p params, loss, constant float64) {
	var red []float64
	for _, q := range f.pieces {
		for i, g := range q.gain {
			if g == g && !(f.before && q.cut[i]) {
				red = append(red, p[pBase]-float64(g))
			}
		}
	}
	slices.Sort(red)
	w.base = p[pBase]
	w.deepest = red[len(red)-1-len(red)/200]
	idle := 0
	for _, r := range red {
		if r < max(0.5, 0.15*w.deepest) {
			idle++
		}
	}
	moves := w.deepest > leastActing && constant > 0.02
	w.acts = moves && loss < 0.6*constant
	attack := f.attack(p)
	// A limiter rests below its threshold; what never rests, or is slow beyond any
	// release, levels.
	rests := float64(idle) / float64(len(red))
	// One that is quick and fits its law is a limiter, however low its threshold.
	quick := loss < 0.25*constant && attack < quickAttackMS && math.Exp(p[pRelease]) < quickReleaseMS
	w.automatic = moves && !quick && w.slow > 2 && (rests < 0.08 && p[pThreshold] < w.top-20 || rests < 0.15 && loss > 0.4*constant && p[pRelease] > math.Log(leastSlowMS) ||
		attack > 150 || math.Exp(p[pRelease]) > 2500 || !w.acts && constant > 0.3)
	if !w.acts {
		return
	}
	s := p.slope()
	w.threshold = Estimate{p[pThreshold], p[pThreshold], p[pThreshold]}
	w.ratio = Estimate{ratioOf(s), ratioOf(s), ratioOf(s)}
	w.attack = Estimate{attack, attack, attack}
	w.release = Estimate{math.Exp(p[pRelease]), math.Exp(p[pRelease]), math.Exp(p[pRelease])}
}

// spread draws the seconds anew and takes a step from the best, which gives the intervals.
func (w *law) spread(f *fit, best params) {
	seconds := f.equations(best)
	r := rand.New(rand.NewPCG(1, uint64(len(seconds))))
	var all [unknowns][]float64
	for range replicates {
		var sum equation
		for range seconds {
			sum.add(&seconds[r.IntN(len(seconds))], 1)
		}
		d, ok := sum.step(0)
		if !ok {
			continue
		}
		p := best
		for i := range p {
			p[i] += min(max(d[i], -mostStep[i]), mostStep[i])
		}
		p.clamp()
		for i, v := range p {
			switch i {
			case pSlope:
				v = p.slope()
			case pAttack:
				v = math.Log(f.attack(p))
			}
			all[i] = append(all[i], v)
		}
	}
	half := func(i int, model float64) float64 {
		return 1.645 * math.Hypot(deviation(all[i]), model/1.645)
	}
	left := math.Sqrt(w.loss)
	h := half(pThreshold, thresholdBy)
	w.threshold.Low, w.threshold.High = w.threshold.Value-h, w.threshold.Value+h
	s := best.slope()
	h = half(pSlope, math.Hypot(slopeBy, misfitSlope*left))
	w.ratio.Low, w.ratio.High = ratioOf(max(s-h, 0)), ratioOf(min(s+h, 1))
	widen := func(e *Estimate, i int, model float64) {
		h := half(i, model)
		e.Low, e.High = e.Value*math.Exp(-h), e.Value*math.Exp(h)
		if e.Value < 2000.0/blockRate {
			e.Low = 0
		}
	}
	if widen(&w.attack, pAttack, math.Hypot(attackBy, misfitAttack*left)); w.attack.Value < leastAttackMS {
		w.attack = Unknown()
	}
	widen(&w.release, pRelease, timesBy)
}

// deviation is the standard deviation of a list.
func deviation(x []float64) float64 {
	m, v := 0.0, 0.0
	for _, a := range x {
		m += a / float64(len(x))
	}
	for _, a := range x {
		v += (a - m) * (a - m)
	}
	return math.Sqrt(v / float64(max(len(x)-1, 1)))
}
