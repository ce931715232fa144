// Package restore guesses the samples of a take that a ceiling cut off, once they are
// marked: sparse spectra, prediction from what is left, Wiener filtering, and small
// networks that weigh them sample by sample. Package repair marks the samples and says
// what came of it.
package restore

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"gainwright/sim/repair/rfft"
	"gainwright/sim/repair/vec"
)

// A Bench holds the solvers of one worker.
type Bench struct {
	rate    int
	effort  Effort
	sparse  []*sparseSolver
	again   []*predictSolver // from the sparse estimate
	fresh   []*predictSolver // from the recording
	late    []*predictSolver // from what all of those came to
	wiener  []*sparseSolver
	est     [][]float64
	mean    []float64
	second  [2][]float64
	feature *features
	jury    *jury
	mixer   *mixer    // where there are late ones
	gated   []float64 // what the gate came to
	sums    around
	tops    []Top // what caution saw of the last part, where somebody looks
	watched bool
	ctx     context.Context // ends work between two methods; nil for none
}

// wide tells whether the recording may hold more than telephones and recognisers want.
func (b *Bench) wide() bool { return Wide(b.rate) }

// Wide tells whether recordings of rate Hz may: methods err otherwise there.
func Wide(rate int) bool { return rate > 24000 }

func (b *Bench) stopped() bool { return b.ctx != nil && b.ctx.Err() != nil }

// tables are the transforms of a rate, shared by workers.
type tables struct {
	fft map[int]*rfft.Transform
}

func newTables() *tables { return &tables{fft: map[int]*rfft.Transform{}} }

func (t *tables) get(n int) *rfft.Transform {
	if t.fft[n] == nil {
		t.fft[n] = rfft.New(n)
	}
	return t.fft[n].Fork()
}

func newBench(rate int, e Effort, t *tables) *Bench {
	b := &Bench{rate: rate, effort: e}
	// 50 ms, rounded to a power of two on a logarithmic scale.
	n := 1 << int(math.Round(math.Log2(0.05*float64(rate))))
	n = max(n, 64)
	ms := func(v float64) int { return max(8, int(math.Round(v*float64(rate)/1000/8))*8) }
	pred := func(w, order float64, rounds int, taper bool) *predictSolver {
		wi, p := ms(w), ms(order)
		return newPredictSolver(wi, p, rounds, taper, t.get(vec.Pow2(wi+p+1)))
	}
	// Orders in ms: above 24 kHz there is less to predict in each of the samples.
	short, middle, long := 2.0, 4.0, 8.0
	fresh := 32.0 // ms
	if b.wide() {
		short, middle, long = 4.0/3, 8.0/3, 3
		fresh = 128.0 / 3
	}
	// From the recording alone it takes a longer memory than from an estimate.
	b.fresh = []*predictSolver{pred(fresh, 2, 6, true)}
	switch e {
	case Fast:
		if b.wide() { // the mean of two memories
			long := pred(64, 8, 6, true)
			long.lean = ms(2)
			b.fresh = append(b.fresh, long)
		}
		return b
	case Balanced:
		b.sparse = []*sparseSolver{newSparseSolver(n, t.get(n))}
		b.again = []*predictSolver{pred(32, short, 3, true)}
		return b
	}
	b.sparse = []*sparseSolver{
		newSparseSolver(n*3/4, t.get(n)),
		newSparseSolver(n, t.get(n)),
		newSparseSolver(n*3/2, t.get(2*n)),
	}
	b.again = []*predictSolver{
		pred(32, short, 3, true),
		pred(64, long, 3, true),
		pred(48, middle, 3, false),
	}
	b.wiener = []*sparseSolver{
		newSparseSolver(n, t.get(n)),
		newSparseSolver(n*3/4, t.get(n)),
	}
	if b.wide() {
		b.late = []*predictSolver{pred(64, 8, 1, true), pred(256.0/3, 32.0/3, 1, true)}
		for _, s := range b.late {
			s.spare = 20
		}
		b.mixer = &mixer{}
	}
	b.feature = &features{}
	b.jury = newJury(pred(40, 2, 1, true))
	return b
}

// NewBench gives a worker with transforms of its own.
func NewBench(rate int, e Effort) *Bench { return newBench(rate, e, newTables()) }

// Reach is how far, in samples, the signal around a clipped sample can matter; the second
// look sees further only through what little it changes.
func (b *Bench) Reach() int {
	longest := func(s []*sparseSolver) int {
		w := 0
		for _, x := range s {
			w = max(w, x.w)
		}
		return w
	}
	p := 0
	for _, x := range slices.Concat(b.again, b.fresh, b.late) {
		p = max(p, x.w+x.order)
	}
	return longest(b.sparse) + longest(b.wiener) + p
}

// crowded is the share of clipped samples from which, where the mixer has the last word, one
// prediction from the sparse estimates stands for all three: with so little left of the wave
// they tell the same, and a third of the time goes to them.
const crowded = 0.15

// estimates computes every method's result for q into b.est, in the order that
// the gate knows: sparse, predicted from their mean, predicted afresh, Wiener.
func (b *Bench) estimates(q *Stretch) {
	n := len(q.Y)
	k := len(b.sparse) + len(b.again) + len(b.fresh) + len(b.wiener)
	for len(b.est) < k {
		b.est = append(b.est, nil)
	}
	for i := range b.est {
		vec.Grow(&b.est[i], n)
	}
	vec.Grow(&b.mean, n)
	e := b.est
	for i, s := range b.sparse {
		if b.stopped() {
			return
		}
		s.sparse(e[i], q)
	}
	i := len(b.sparse)
	from := q.Y
	if i > 0 {
		average(b.mean, e[:i])
		from = b.mean
	}
	again := b.again
	if b.mixer != nil && float64(len(q.At)) > crowded*float64(len(q.Y)) {
		again = again[:1]
	}
	for k := range b.again {
		if b.stopped() {
			return
		}
		if k < len(again) {
			again[k].predict(e[i], q, from)
		} else {
			copy(e[i], e[len(b.sparse)])
		}
		i++
	}
	for _, s := range b.fresh {
		s.predict(e[i], q, q.Y)
		i++
	}
	if len(b.wiener) > 0 && !b.stopped() {
		// The mean so far, the sparse ones together counting as one.
		scale := 1 / float64(1+len(again))
		for t := range b.mean {
			v := b.mean[t]
			for j := range again {
				v += e[len(b.sparse)+j][t]
			}
			b.mean[t] = v * scale
		}
		b.wiener[0].wiener(e[i], q, b.mean, 30, 1, 1e-4)
		b.wiener[1].wiener(e[i+1], q, b.mean, 30, 2, 1e-3)
	}
}

func average(dst []float64, xs [][]float64) {
	s := 1 / float64(len(xs))
	for i := range dst {
		v := 0.0
		for _, x := range xs {
			v += x[i]
		}
		dst[i] = v * s
	}
}

// Mend restores q into dst, and tells how far estimates were apart.
func (b *Bench) Mend(dst []float64, q *Stretch) Doubt {
	b.estimates(q)
	if b.stopped() {
		return Doubt{}
	}
	switch b.effort {
	case Fast:
		average(dst, b.est)
		q.hold(dst)
	case Balanced:
		average(dst, b.est[:3])
		q.hold(dst)
	default:
		if !b.judged(dst, q) {
			return Doubt{}
		}
		if b.mixer != nil {
			b.mixer.mix(dst, q, b.told(), b.rate, &theMixing)
			q.hold(dst)
		}
	}
	return b.heed(dst, q)
}

// judged takes to dst what the gate makes of the estimates, and above 24 kHz a second look at
// it. It tells whether it came to an end.
func (b *Bench) judged(dst []float64, q *Stretch) bool {
	b.feature.blend(dst, q, b.est, b.rate, b.jury)
	q.hold(dst)
	if len(b.late) == 0 {
		return true
	}
	vec.Grow(&b.gated, len(dst))
	copy(b.gated, dst)
	return b.look(dst, q)
}

// look takes a second look at dst, what the ensemble came to: a memory as long as a
// period of the voice finds in the one before what a peak was like, from an estimate that
// is good enough to tell the period. The more is clipped, the less there is to find.
// It tells whether it came to an end.
func (b *Bench) look(dst []float64, q *Stretch) bool {
	if b.stopped() {
		return false
	}
	first, second := &b.second[0], &b.second[1]
	vec.Grow(first, len(dst))
	vec.Grow(second, len(dst))
	b.late[0].predict(*first, q, dst)
	average(b.mean, [][]float64{dst, *first})
	b.late[1].predict(*second, q, b.mean)
	for _, i := range q.At {
		share := lookMost * (1 - ramp(b.feature.share(i, b.rate/2), 0.08, 0.28))
		dst[i] += share * ((*first)[i]/2 + (*second)[i]/2 - dst[i])
	}
	q.hold(dst)
	return true
}

// told are all estimates for the mixer, in its order.
func (b *Bench) told() [][]float64 {
	return append(b.est[:gateMethods:gateMethods], b.gated, b.second[0], b.second[1])
}

// lookMost is the second look's share of the result where little is clipped.
const lookMost = 0.6

// An island is a group of clipped samples [first, last] of a recording, far enough
// from others that they do not matter to each other, or a piece of a long one.
type island struct {
	from, to   int // clipped samples it answers for: [from, to)
	start, end int // what it looks at: [start, end)
}

// islands cuts a recording of n samples into pieces that are restored alone. The
// cuts depend on the recording only, so the result does not depend on how many
// cores work on it.
func islands(at []int, n, reach, longest int) []island {
	var out []island
	for i := 0; i < len(at); {
		j := i + 1
		for j < len(at) && at[j]-at[j-1] <= reach && at[j]-at[i] < longest {
			j++
		}
		is := island{from: at[i], to: at[j-1] + 1}
		is.start, is.end = max(0, is.from-reach), min(n, is.to+reach)
		out = append(out, is)
		i = j
	}
	return out
}

// All restores all of q into dst, on several cores, and tells how far estimates were apart.
func All(ctx context.Context, dst []float64, q *Stretch, rate int, e Effort, cores int, progress func(float64), watch *Watch) (Doubt, error) {
	t := newTables()
	first := newBench(rate, e, t)
	reach := first.Reach()
	list := islands(q.At, len(q.Y), reach, 3*rate)
	copy(dst, q.Y)
	if len(list) == 0 {
		return Doubt{}, ctx.Err()
	}
	doubts := make([]Doubt, len(list))
	if cores <= 0 {
		cores = runtime.GOMAXPROCS(0)
	}
	cores = min(cores, len(list))
	benches := []*Bench{first}
	for len(benches) < cores {
		benches = append(benches, newBench(rate, e, t))
	}
	var next, done atomic.Int64
	var wg sync.WaitGroup
	var mu sync.Mutex
	for _, b := range benches {
		b.ctx, b.watched = ctx, watch != nil
		wg.Add(1)
		go func() {
			defer wg.Done()
			var out []float64
			for {
				i := int(next.Add(1)) - 1
				if i >= len(list) || ctx.Err() != nil {
					return
				}
				is := list[i]
				part := q.cut(is.start, is.end)
				vec.Grow(&out, len(part.Y))
				doubts[i] = b.Mend(out, part)
				if watch != nil {
					watch.take(b.tops, is.start, is.from, is.to)
				}
				// Only clipped samples differ, and each belongs to one island.
				for _, p := range part.At {
					if g := p + is.start; g >= is.from && g < is.to {
						dst[g] = out[p]
					}
				}
				d := done.Add(1)
				if progress != nil {
					mu.Lock()
					progress(float64(d) / float64(len(list)))
					mu.Unlock()
				}
			}
		}()
	}
	wg.Wait()
	var sum Doubt
	for _, d := range doubts {
		sum = sum.Plus(d)
	}
	return sum, ctx.Err()
}
