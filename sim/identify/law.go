package identify

import (
	"math"
	"math/rand/v2"
	"slices"
)

// The law that is fitted is a feed-forward limiter's: above a threshold the level of the
// peaks is reduced by a share of what they exceed it by, and the reduction follows in dB
// by one time constant down and another up. Others are told by the nearest of these; the
// intervals allow for that.
const (
	warmBlocks  = blockRate / 2 // before a piece counts: the state is not known
	blockMS     = 1000.0 / blockRate
	mostRatio   = 100.0
	leastActing = 0.7 // dB
	huber       = 0.5 // dB
	replicates  = 12
	coarseStep  = 3
	thresholdBy = 0.6 // dB by which the truth may differ for the model's sake
	timesBy     = 0.30
	slopeBy     = 0.04
)

// A law is the result of a fit.
type law struct {
	threshold, ratio, attack, release Estimate
	base, deepest                     float64
	acts, automatic                   bool
	blocks                            int // that could be used
	top, slow                         float64
}

// parameters of a fit: threshold in dB, slope logit, ln ms, ln ms, base in dB.
type params [5]float64

func (p params) slope() float64 { return 1 / (1 + math.Exp(-p[1])) }

// ratioOf is the ratio that goes with a slope.
func ratioOf(slope float64) float64 { return min(1/max(1-slope, 1/mostRatio), mostRatio) }

// A fit runs the law over pieces.
type fit struct {
	pieces []*piece
	before bool // clipped stretches' true level is taken from the second recording
	weight []float64
	held   bool // the base stays
}

// loss is the mean loss in dB² of the blocks that can be used, after Huber.
func (f *fit) loss(p params) float64 {
	s := p.slope()
	down, up := 1-math.Exp(-blockMS/math.Exp(p[2])), 1-math.Exp(-blockMS/math.Exp(p[3]))
	sum, n := 0.0, 0.0
	for k, q := range f.pieces {
		if q.pace != nil && q.pace() != nil {
			return math.Inf(1) // given up: the search ends, and nobody asks what it found
		}
		state := 0.0
		for _, g := range q.gain { // begins as it is found
			if g == g {
				state = max(0, p[4]-float64(g))
				break
			}
		}
		for i, level := range q.level {
			lv := float64(level)
			if f.before && q.cut[i] {
				lv = max(lv, float64(q.other[i])-p[4]+state)
			}
			want := max(0, s*(lv-p[0]))
			if want > state {
				state += down * (want - state)
			} else {
				state += up * (want - state)
			}
			g := float64(q.gain[i])
			if g != g || i < warmBlocks && len(q.gain) > 4*warmBlocks || f.before && q.cut[i] {
				continue
			}
			w := 1.0
			if f.weight != nil {
				w = f.weight[(k*pieceS+i/blockRate)%len(f.weight)]
			}
			e := math.Abs(g - p[4] + state)
			if e > huber {
				sum += w * huber * (2*e - huber)
			} else {
				sum += w * e * e
			}
			n += w
		}
	}
	if n == 0 {
		return math.Inf(1)
	}
	return sum/n + penalty(p)
}

// penalty keeps the search where limiters are.
func penalty(p params) float64 {
	out := 0.0
	for i, r := range [...][2]float64{{-70, 6}, {-3, 5.5}, {math.Log(0.05), math.Log(500)}, {math.Log(2), math.Log(10000)}} {
		out += math.Pow(max(0, r[0]-p[i], p[i]-r[1]), 2)
	}
	return out
}

// firstSteps are how far the search goes at first in each parameter.
var firstSteps = params{2, 1, 0.5, 0.5, 0.3}

// search improves on p by trying one parameter after another, and then along the way
// that this led (Hooke and Jeeves, 1961).
func (f *fit) search(p params, evaluations int) (params, float64) {
	least := f.loss(p)
	try := func(q params) bool {
		evaluations--
		l := f.loss(q)
		if l < least {
			p, least = q, l
			return true
		}
		return false
	}
	for scale := 1.0; evaluations > 0 && scale > 0.02; {
		was, better := p, false
		for i := range p {
			if i == 4 && f.held {
				continue
			}
			for _, d := range [...]float64{scale, -scale} {
				q := p
				q[i] += d * firstSteps[i]
				if try(q) {
					better = true
					break
				}
			}
		}
		if !better {
			scale /= 2
			continue
		}
		q := p
		for i := range q {
			q[i] += p[i] - was[i]
		}
		try(q)
	}
	return p, least
}

func fitLaw(pieces []*piece, before bool, top float64) *law {
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
	base := restingGain(pieces, gains)
	w.base = base
	f := &fit{pieces: pieces, before: before}
	rough := &fit{pieces: pieces[:min(len(pieces), coarseStep)], before: before}
	constant := f.constant(gains)
	best, least := f.start(rough, top, base), 0.0
	best, least = f.search(best, 300)
	// A valley leads from a low threshold with a small ratio to a high one with a large:
	// it is walked from the other end, too.
	other := best
	other[0], other[1] = best[0]+1, 4.5
	if p, l := f.search(other, 300); l < least {
		best, least = p, l
	}
	w.slow = slowRange(pieces)
	w.read(f, best, least, constant)
	if w.acts {
		w.spread(f, best)
	}
	return w
}

// start is the best of a coarse grid, moved a little with the base held, since base and
// threshold make up for one another.
func (f *fit) start(rough *fit, top, base float64) params {
	type found struct {
		p params
		l float64
	}
	var list []found
	for _, t := range []float64{-3, -6, -9, -13, -18, -25} {
		for _, a := range []float64{0.6, 3, 15} {
			for _, r := range []float64{40, 130, 400, 1500} {
				p := params{top + t, 1.5, math.Log(a), math.Log(r), base}
				list = append(list, found{p, rough.loss(p)})
			}
		}
	}
	slices.SortFunc(list, func(a, b found) int { return int(math.Copysign(1, a.l-b.l)) })
	for i := range 2 {
		rough.held = true
		list[i].p, list[i].l = rough.search(list[i].p, 150)
		rough.held = false
	}
	if list[1].l < list[0].l {
		return list[1].p
	}
	return list[0].p
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

// constant is the loss of a gain that does not move.
func (f *fit) constant(sorted []float64) float64 {
	m := sorted[len(sorted)/2]
	sum := 0.0
	for _, g := range sorted {
		if e := math.Abs(g - m); e > huber {
			sum += huber * (2*e - huber)
		} else {
			sum += e * e
		}
	}
	return sum / float64(len(sorted))
}

// read sums the fit up.
func (w *law) read(f *fit, p params, loss, constant float64) {
	var red []float64
	for _, q := range f.pieces {
		for i, g := range q.gain {
			if g == g && !(f.before && q.cut[i]) {
				red = append(red, p[4]-float64(g))
			}
		}
	}
	slices.Sort(red)
	w.base = p[4]
	w.deepest = red[len(red)-1-len(red)/200]
	idle := 0
	for _, r := range red {
		if r < max(0.5, 0.15*w.deepest) {
			idle++
		}
	}
	moves := w.deepest > leastActing && constant > 0.02
	w.acts = moves && loss < 0.6*constant
	// A limiter rests below its threshold; what never rests, or is slow beyond any
	// release, levels.
	rests := float64(idle) / float64(len(red))
	w.automatic = moves && w.slow > 2 && (rests < 0.08 && p[0] < w.top-20 || rests < 0.15 && loss > 0.4*constant ||
		math.Exp(p[2]) > 150 || math.Exp(p[3]) > 6000 || !w.acts && constant > 0.3)
	if !w.acts {
		return
	}
	s := p.slope()
	w.threshold = Estimate{p[0], p[0], p[0]}
	w.ratio = Estimate{ratioOf(s), ratioOf(s), ratioOf(s)}
	w.attack = Estimate{math.Exp(p[2]), math.Exp(p[2]), math.Exp(p[2])}
	w.release = Estimate{math.Exp(p[3]), math.Exp(p[3]), math.Exp(p[3])}
}

// spread draws the seconds anew and fits again, which gives the intervals.
func (w *law) spread(f *fit, best params) {
	seconds := len(f.pieces) * pieceS
	r := rand.New(rand.NewPCG(1, uint64(seconds)))
	var all [4][]float64
	for range replicates {
		weight := make([]float64, seconds)
		for range seconds {
			weight[r.IntN(seconds)]++
		}
		g := &fit{pieces: f.pieces, before: f.before, weight: weight}
		p, _ := g.search(best, 50)
		for i := range all {
			v := p[i]
			if i == 1 {
				v = p.slope()
			}
			all[i] = append(all[i], v)
		}
	}
	half := func(i int, model float64) float64 {
		m, v := 0.0, 0.0
		for _, x := range all[i] {
			m += x / replicates
		}
		for _, x := range all[i] {
			v += (x - m) * (x - m) / (replicates - 1)
		}
		return 1.645 * math.Hypot(math.Sqrt(v), model/1.645)
	}
	h := half(0, thresholdBy)
	w.threshold.Low, w.threshold.High = w.threshold.Value-h, w.threshold.Value+h
	s := best.slope()
	h = half(1, slopeBy)
	w.ratio.Low, w.ratio.High = ratioOf(max(s-h, 0)), ratioOf(min(s+h, 1))
	widen := func(e *Estimate, i int) {
		h := half(i, timesBy)
		e.Low, e.High = e.Value*math.Exp(-h), e.Value*math.Exp(h)
		if e.Value < 2*blockMS {
			e.Low = 0
		}
	}
	widen(&w.attack, 2)
	widen(&w.release, 3)
}
