package identify

import (
	"math"
	"slices"
)

const (
	blockRate  = 4000 // a second, about: a quarter of a millisecond
	perBlock   = 4    // parts of a block
	pieceS     = 10
	mostPieces = 6
	ownCeiling = 0.985 // of the ceiling: the second recording is clipped itself
	dullError  = 0.4   // a stretch whose roundness is known no better tells nothing
	overNoise  = 6.0
	nearPeakMS = 5
)

// A Limiter is what a pair tells of the limiter.
type Limiter struct {
	Place Place
	// Odds of the place against the next likely one; 0 where stretches did not decide. Where it
	// is Before and BehindUnseen, they are of a limiter before the converter, whether or not
	// another acts behind it.
	Odds float64
	// BehindUnseen tells that a limiter behind one before the converter could not show: what it
	// is given is not clipped.
	BehindUnseen bool
	// Stretches is in how many the first recording is clipped and the second can tell;
	// Flat and Round in how many of them it is clearly flat or round; AtCeiling how many
	// more there are in which it is clipped itself.
	Stretches, Flat, Round, AtCeiling int
	Threshold                         Estimate // dBFS of a peak
	Ratio                             Estimate // 100 stands for that and more
	AttackMS, ReleaseMS               Estimate // time constants of what Smooths says
	Smooths                           Smoothed // the law that fits best; "" where none is known
	ReductionDB                       float64  // the deepest in the stretches that the law was fitted to
	GainDB                            float64  // of the second recording over the first, below the threshold
	Ceiling                           Ceiling  // of the first recording
	Alignment                         *Alignment
	Rate                              int // Hz, of both
	// Why says in a sentence what the place rests on, or what is missing to know it.
	Why string
}

// A piece is a stretch of time in blocks.
type piece struct {
	from  int64     // frame of the first recording
	size  []float32 // rms of the first in a block, of full scale as a magnitude
	level []float32 // the same in dB
	other []float32 // of the second
	gain  []float32 // rms of the second over the first, dB; NaN where that tells nothing
	cut   []bool    // the first is at its ceiling
	// hidden are the blocks whose level in the first can only be told with the law; nil for none.
	hidden []bool
	pace   func() error
	// What a detector sees changes within a block: fine is the rms of the first in a part
	// of it, as a magnitude, and in dB; ms is how long a part is.
	fine, fineDB []float32
	ms           float64
}

// Identify tells what the second of two recordings of one sound, made with a limiter on,
// says of that limiter; the first was made with it off. Each is read three times.
func Identify(first, second Recording, a, b *Survey) (*Limiter, error) {
	al, err := Align(first, second, a, b)
	if err != nil {
		return nil, err
	}
	l := &Limiter{Rate: a.Rate, Alignment: al, Ceiling: a.Ceiling}
	p := &pairing{a: a, b: b, al: al, block: blockOf(a.Rate)}
	p.choosePieces()
	if err := p.run(first, second); err != nil {
		return nil, err
	}
	p.usable()
	pace := paceOf(first)
	for _, q := range p.pieces {
		q.pace = pace
	}
	rest := gainAtRest(p.pieces)
	seen := p.ev.weigh(rest)
	l.Stretches, l.Flat, l.Round, l.AtCeiling = seen.n, seen.flat, seen.round, p.ev.own
	place, odds := seen.judge()
	law := fitLaw(p.pieces, place == Before && odds >= leastOdds, dB(a.Peak()))
	if err := pace(); err != nil {
		return nil, err
	}
	l.take(law)
	l.decide(p, law, place, odds, seen.stopped(al.SameTime, rest))
	return l, nil
}

// pairing walks through both recordings together.
type pairing struct {
	a, b   *Survey
	al     *Alignment
	block  int // frames
	pieces []*piece
	ev     evidence
	slack  float64
}

// blockOf is a block's length in frames: whole parts.
func blockOf(rate int) int {
	return perBlock * max(1, (rate+perBlock*blockRate/2)/(perBlock*blockRate))
}

// choosePieces takes the loudest stretches, which are where a limiter acts.
func (p *pairing) choosePieces() {
	hop := int64(max(1, p.a.Rate/envelopeRate))
	per := pieceS * envelopeRate
	type loud struct {
		at  int
		max float32
	}
	var list []loud
	for i := 0; i < len(p.a.Envelope); i += per {
		list = append(list, loud{i, slices.Max(p.a.Envelope[i:min(i+per, len(p.a.Envelope))])})
	}
	slices.SortStableFunc(list, func(a, b loud) int {
		switch {
		case a.max > b.max:
			return -1
		case a.max < b.max:
			return 1
		}
		return 0
	})
	list = list[:min(len(list), mostPieces)]
	slices.SortFunc(list, func(a, b loud) int { return a.at - b.at })
	for _, l := range list {
		n := pieceS*p.a.Rate/p.block + 1
		one := func(n int) []float32 { return make([]float32, 0, n) }
		p.pieces = append(p.pieces, &piece{from: int64(l.at) * hop, size: one(n), level: one(n), other: one(n), gain: one(n),
			fine: one(n * perBlock), fineDB: one(n * perBlock), cut: make([]bool, 0, n)})
	}
}

func (p *pairing) run(first, second Recording) error {
	tb, err := newTape(second)
	if err != nil {
		return err
	}
	p.slack = max(1.5*p.a.Step, 1e-3*p.a.Ceiling.Level)
	length := int64(pieceS * envelopeRate * max(1, p.a.Rate/envelopeRate))
	var tail []float64 // of the first recording, from the frame before what is new
	start := int64(0)
	next := 0 // the piece that is being filled
	const margin = 8
	return stream(first, func(_ int64, x []float64) error {
		tail = append(tail, x...)
		lo := int64(math.Floor(p.al.At(start))) - margin
		hi := int64(math.Ceil(p.al.At(start+int64(len(tail))))) + margin
		y, err := tb.window(lo, hi)
		if err != nil {
			return err
		}
		v := view{y, max(lo, tb.start), p.al}
		done := p.stretches(tail, start, v)
		for next < len(p.pieces) {
			q := p.pieces[next]
			at := q.from + int64(len(q.level)*p.block)
			end := min(start+int64(len(tail)), q.from+length)
			for ; at+int64(p.block) <= end; at += int64(p.block) {
				if at >= start {
					p.add(q, tail[at-start:at-start+int64(p.block)], at, v)
				}
			}
			done = min(done, max(int(at-start), 0))
			if at+int64(p.block) <= q.from+length {
				break
			}
			next++
		}
		done = min(max(done-2, 0), len(tail))
		tail = append(tail[:0], tail[done:]...)
		start += int64(done)
		return nil
	})
}

// noiseOf is a recording's noise; where the sound never rests, what is quietest is no noise.
func noiseOf(s *Survey) float64 { return min(s.Noise, 0.005*s.Peak()) }

// A view is a part of the second recording, by the times of the first.
type view struct {
	y    []float64
	from int64
	al   *Alignment
}

// span is the second recording at frames i to j of the first, inclusive: only what lies
// between them.
func (v view) span(i, j int64) []float64 {
	lo, hi := int64(math.Ceil(v.al.At(i)-1e-9))-v.from, int64(math.Floor(v.al.At(j)+1e-9))-v.from
	if lo < 0 || hi >= int64(len(v.y)) || hi < lo {
		return nil
	}
	return v.y[lo : hi+1]
}

// at is the second recording at frame i of the first.
func (v view) at(i int64) (float64, bool) {
	place := v.al.At(i)
	lo := int64(math.Floor(place)) - v.from
	if lo < 1 || lo+2 >= int64(len(v.y)) {
		return 0, false
	}
	k, y := cubic(place-math.Floor(place)), v.y[lo-1:]
	return k[0]*y[0] + k[1]*y[1] + k[2]*y[2] + k[3]*y[3], true
}

// stretches looks at all that end within x, and returns how much of it is done with.
func (p *pairing) stretches(x []float64, start int64, v view) int {
	if !p.a.Ceiling.Found() {
		return len(x)
	}
	i := 2
	for i < len(x)-2 {
		s, next, ok := stretchAt(x, i, p.a.Ceiling.Level, p.slack)
		if next >= len(x)-2 && s.n < 1<<13 && s.n > 0 {
			return i
		}
		if ok {
			p.weigh(&s, x, start, v)
		}
		i = next
	}
	return i
}

func (p *pairing) weigh(s *stretch, x []float64, start int64, v view) {
	i := start + int64(s.from)
	y := v.span(i, i+int64(s.n)-1)
	if len(y) < leastFlat {
		return
	}
	t := *s
	if p.al.Inverted {
		t.sign = -t.sign
	}
	at := 0
	for _, w := range y {
		if t.sign*w >= ownCeiling*p.a.Ceiling.Level {
			at++
		}
	}
	if at >= 2 {
		p.ev.own++
		return
	}
	gain, rho, se := t.roundness(y, p.a.Ceiling.Level, max(noiseOf(p.b), p.b.Step))
	if gain > 0.02 && se < dullError {
		sign := 1.0
		if p.al.Inverted {
			sign = -1
		}
		step := s.stepOf(x, start, func(i int64) (float64, bool) {
			w, ok := v.at(i)
			return sign * w, ok
		})
		p.ev.add(rho, se, s.over(p.a.Ceiling.Level), step)
	}
}

// add appends a block to a piece.
func (p *pairing) add(q *piece, x []float64, at int64, v view) {
	place := v.al.At(at)
	lo := int64(math.Floor(place)) - v.from
	k := cubic(place - math.Floor(place))
	// An offset would make half-waves of one sign larger, and in an inverted recording those
	// of the other.
	top, ex, ey := 0.0, 0.0, 0.0
	for _, s := range x {
		top = max(top, math.Abs(s))
		s -= p.a.Offset
		ex += s * s
	}
	gain := math.NaN()
	if lo >= 1 && lo+int64(len(x))+2 <= int64(len(v.y)) {
		y := v.y[lo-1:]
		for i := range x {
			s := k[0]*y[i] + k[1]*y[i+1] + k[2]*y[i+2] + k[3]*y[i+3] - p.b.Offset
			ey += s * s
		}
		n := float64(len(x))
		na, nb := noiseOf(p.a), noiseOf(p.b)
		if ex > n*overNoise*overNoise*na*na && ey > n*overNoise*overNoise*nb*nb && ex > 0 && ey > 0 {
			gain = 10 * math.Log10(ey/ex)
		}
	}
	// The mean of a block stands for what a detector sees in it; its highest sample would
	// make attacks look slow.
	size := math.Sqrt(ex / float64(len(x)))
	q.size = append(q.size, float32(size))
	q.level = append(q.level, float32(dB(size)))
	q.ms = 1000 * float64(len(x)) / perBlock / float64(p.a.Rate)
	for i, per := 0, len(x)/perBlock; i < perBlock; i++ {
		e := 0.0
		for _, s := range x[i*per : (i+1)*per] {
			s -= p.a.Offset
			e += s * s
		}
		e = math.Sqrt(e / float64(per))
		q.fine, q.fineDB = append(q.fine, float32(e)), append(q.fineDB, float32(dB(e)))
	}
	q.other = append(q.other, float32(dB(math.Sqrt(ey/float64(len(x))))))
	q.gain = append(q.gain, float32(gain))
	q.cut = append(q.cut, p.a.Ceiling.Found() && top >= p.a.Ceiling.Level-p.slack)
}

// cubic are the weights of four neighbours that interpolate at t between the middle two
// (Catmull and Rom, 1974).
func cubic(t float64) [4]float64 {
	return [4]float64{t * (-0.5 + t*(1-0.5*t)), 1 + t*t*(-2.5+1.5*t), t * (0.5 + t*(2-1.5*t)), t * t * (-0.5 + 0.5*t)}
}

// usable leaves the gain only where the first recording is near the top of its wave:
// near zero a fraction of a frame makes a large ratio.
func (p *pairing) usable() {
	near := nearPeakMS * blockRate / 1000
	for _, q := range p.pieces {
		for i := range q.gain {
			top := slices.Max(q.level[max(0, i-near):min(len(q.level), i+near+1)])
			if q.level[i] < top-12 {
				q.gain[i] = float32(math.NaN())
			}
		}
	}
}

// take carries a law over.
func (l *Limiter) take(w *law) {
	l.Threshold, l.Ratio, l.AttackMS, l.ReleaseMS = w.threshold, w.ratio, w.attack, w.release
	l.ReductionDB, l.GainDB = w.deepest, w.base
	if w.acts {
		l.Smooths = w.smooths
	}
}
