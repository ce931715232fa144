// Package proof shows that a clipped file cannot be undone: it constructs a
// second performance, different in pressure at the talker, that leaves the same
// file to the last bit through the same chain.
//
// Where the converter ran out of codes it wrote its last code, whatever it was
// asked for. Each such sample is a free number: anything beyond the ceiling on
// the same side leaves the same code. Construct picks other numbers for them
// and solves for the pressure that asks for exactly those and for the same as
// before everywhere else. The chain is linear enough between the talker and the
// converter for a few corrections through the real engine to get there.
package proof

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

	"gainwright/sim"
)

// Errors that say why there is no twin.
var (
	// ErrKept means that no sample went over: the file holds the performance.
	ErrKept = errors.New("nothing was clipped at the converter, so the file leaves no freedom: it holds what was said")
	// ErrBefore means that a limiter sits before the converter.
	ErrBefore = errors.New("a limiter before the converter hears every sample, so another performance leaves another file")
	// ErrBent means that an analogue stage was at its ceiling around every over.
	ErrBent = errors.New("the preamp's rail or the microphone bent every passage that went over; no freedom was looked for there")
)

// Options say what to aim for. The zero value asks for 6.5 dB.
type Options struct {
	// ApartDB is how far the two levels should be apart where the converter ran out.
	ApartDB float64
	// Moves are the talker's, as in sim.RunOptions.
	Moves []sim.Move
	// Progress is called with the corrections done and the most that are tried.
	Progress func(done, total int)
}

// A Pair is two performances and the one file they leave.
type Pair struct {
	// First and Second are pressure at 1 m in pascal.
	First, Second []float64
	// File is what both leave, full scale = 1, as long as they are.
	File []float64
	// Same tells whether the two files, each from a run of its own, are equal in
	// every sample.
	Same bool
	// Differing counts samples that are not, and is 0 when Same.
	Differing int
	// Passages are where the performances differ: clipped runs with no more than
	// 20 ms between them.
	Passages []sim.Span
	// Free is how many samples the converter left free, of Total.
	Free, Total int
	// LevelDB is Second's rms level over First's where the converter had run out,
	// and DifferenceDB the level of Second − First there over First's.
	LevelDB, DifferenceDB float64
	// Correlation of the two performances over the passages: 1 for waves of one
	// shape, whatever their levels.
	Correlation float64
	// Corrections is how many runs through the engine it took, and ResidualLSB the
	// largest deviation left outside the runs, in steps of the converter.
	Corrections int
	ResidualLSB float64
}

const passageGapS = 0.02

// trial is what one run through the engine leaves.
type trial struct {
	demand, file []float64
	hot          []uint8
	ceiling      float64
}

func run(ctx context.Context, rate int, c sim.Chain, seed uint64, x []float64, moves []sim.Move) (trial, error) {
	s, err := sim.NewStrip(rate, c, seed)
	if err != nil {
		return trial{}, err
	}
	t := trial{demand: make([]float64, 0, len(x)), file: make([]float64, 0, len(x)), hot: make([]uint8, 0, len(x))}
	_, err = sim.Run(ctx, &sim.Samples{X: x}, []*sim.Strip{s}, sim.RunOptions{Moves: moves, Sink: func(_ int, b *sim.Taps) error {
		t.demand = append(t.demand, b.Demand...)
		t.file = append(t.file, b.Wave[sim.AtFile]...)
		t.hot = append(t.hot, b.Hot...)
		t.ceiling = b.Ceiling
		return nil
	}})
	return t, err
}

// Construct looks for a second performance that leaves the same file as first
// does through c at rate with seed. It returns ErrKept, ErrBefore or ErrBent
// when there is none to look for; a Pair whose Same is false is a search that
// failed, and its numbers say by how much.
func Construct(ctx context.Context, rate int, c sim.Chain, seed uint64, first []float64, o Options) (*Pair, error) {
	if o.ApartDB == 0 {
		o.ApartDB = 6.5
	}
	if len(first) == 0 {
		return nil, ErrKept
	}
	if c.InputLimiter.On {
		return nil, ErrBefore
	}
	one, err := run(ctx, rate, c, seed, first, o.Moves)
	if err != nil {
		return nil, err
	}
	runs, over := freeRuns(one)
	if !over {
		return nil, ErrKept
	}
	if len(runs) == 0 {
		return nil, ErrBent
	}
	p := &Pair{First: first, File: one.file, Total: len(first), Passages: merge(runs, int(passageGapS*float64(rate)))}
	for _, r := range runs {
		p.Free += int(r.End - r.Start)
	}

	inv, err := newInverse(ctx, rate, c, seed, len(first))
	if err != nil {
		return nil, err
	}
	inv.moves, inv.rate, inv.near = o.Moves, float64(rate), c.DistanceM
	// Between the samples the second wave may reach higher than at them; when it
	// meets the rail there, aim lower and try again.
	tries := []float64{0.97, 0.9, 0.75, 0.6, 0.45}
	for k, room := range tries {
		want := append([]float64(nil), one.demand...)
		if err := aim(ctx, want, one, runs, room*highest(c), o.ApartDB, inv.smooth); err != nil {
			return nil, err
		}
		bent, err := p.solve(ctx, rate, c, seed, one, want, runs, inv, func(done, total int) {
			if o.Progress != nil {
				o.Progress(k*total+done, len(tries)*total)
			}
		})
		if err != nil {
			return nil, err
		}
		if p.Same && !bent {
			break
		}
	}
	p.compare(runs)
	return p, nil
}

// compare measures how far apart the two waves are: in level where both are free,
// in shape over the passages around.
func (p *Pair) compare(runs []sim.Span) {
	var e1, e2, ed float64
	for _, r := range runs {
		for i := r.Start; i < r.End; i++ {
			a, b := p.First[i], p.Second[i]
			e1 += a * a
			e2 += b * b
			ed += (b - a) * (b - a)
		}
	}
	var ab, aa, bb float64
	for _, r := range p.Passages {
		for i := r.Start; i < r.End; i++ {
			a, b := p.First[i], p.Second[i]
			ab, aa, bb = ab+a*b, aa+a*a, bb+b*b
		}
	}
	p.Correlation = ab / math.Sqrt(aa*bb)
	p.LevelDB, p.DifferenceDB = 10*math.Log10(e2/e1), 10*math.Log10(ed/e1)
}

// solve corrects the second performance until its demand is want everywhere, or
// until corrections stop helping. It reports whether an analogue stage bent the
// result where it had not bent the first.
func (p *Pair) solve(ctx context.Context, rate int, c sim.Chain, seed uint64, one trial, want []float64, runs []sim.Span, inv *inverse, progress func(done, total int)) (bent bool, err error) {
	lsb := math.Ldexp(1, 1-c.Converter.Bits)
	second := append([]float64(nil), p.First...)
	now := one
	const most = 10
	best, bestX := math.Inf(1), second
	res := make([]float64, len(second))
	for k := range most {
		worst := missed(res, want, now.demand, runs)
		progress(k, most)
		if k > 0 {
			stuck := worst > 0.5*best && k > 3
			if worst < best {
				best, bestX = worst, append(bestX[:0:0], second...)
			}
			// A millionth of a step: no code tips over but by the rarest chance, and
			// the comparison of the files would tell.
			if worst < 1e-6*lsb || stuck {
				break
			}
		}
		inv.apply(res)
		if err := ctx.Err(); err != nil {
			return false, err
		}
		for i := range second {
			second[i] += res[i]
		}
		if now, err = run(ctx, rate, c, seed, second, inv.moves); err != nil {
			return false, err
		}
		p.Corrections++
	}
	if now, err = run(ctx, rate, c, seed, bestX, inv.moves); err != nil {
		return false, err
	}
	p.Second, p.ResidualLSB, p.Differing = bestX, best/lsb, 0
	for i := range now.file {
		if now.file[i] != one.file[i] {
			p.Differing++
		}
		bent = bent || now.hot[i] != 0 && one.hot[i] == 0
	}
	p.Same = p.Differing == 0
	return bent, nil
}

// missed fills res with what is wanted less what is asked for, and returns the most
// it is outside the runs, where the file would show it.
func missed(res, want, demand []float64, runs []sim.Span) (worst float64) {
	k := 0
	for i := range res {
		res[i] = want[i] - demand[i]
		for k < len(runs) && int64(i) >= runs[k].End {
			k++
		}
		if k == len(runs) || int64(i) < runs[k].Start {
			worst = max(worst, math.Abs(res[i]))
		}
	}
	return worst
}

// freeRuns lists the runs beyond the ceiling, away from places where an analogue
// stage bent the wave; over tells whether there was any run at all.
func freeRuns(t trial) (runs []sim.Span, over bool) {
	// The oversampling filters reach that far.
	const reach = 64
	lastHot := -reach - 1
	bent := make([]bool, len(t.demand))
	for i, h := range t.hot {
		if h != 0 {
			lastHot = i
		}
		if i-lastHot <= reach {
			bent[i] = true
		}
	}
	lastHot = len(t.hot) + reach + 1
	for i := len(t.hot) - 1; i >= 0; i-- {
		if t.hot[i] != 0 {
			lastHot = i
		}
		if lastHot-i <= reach {
			bent[i] = true
		}
	}
	// A little above the ceiling: dither must not bring the code back.
	limit := t.ceiling * (1 + 1e-9)
	for i := 0; i < len(t.demand); {
		if math.Abs(t.demand[i]) <= limit {
			i++
			continue
		}
		over = true
		j, ok := i, true
		up := t.demand[i] > 0
		for j < len(t.demand) && math.Abs(t.demand[j]) > limit && (t.demand[j] > 0) == up {
			ok = ok && !bent[j]
			j++
		}
		if ok {
			runs = append(runs, sim.Span{Start: int64(i), End: int64(j)})
		}
		i = j
	}
	return runs, over
}

func merge(runs []sim.Span, gap int) []sim.Span {
	var out []sim.Span
	for _, r := range runs {
		if n := len(out); n > 0 && r.Start-out[n-1].End <= int64(gap) {
			out[n-1].End = r.End
			continue
		}
		out = append(out, r)
	}
	return out
}

// highest is the largest demand, full scale = 1, that stays clear of the rail
// and of the microphone's overload.
func highest(c sim.Chain) float64 {
	ceil, to := sim.Ceilings(c), sim.ToFullScale(c)
	rail := ceil[sim.AtPreamp] * to[sim.AtPreamp]
	mic := ceil[sim.AtMicOut] * to[sim.AtMicOut]
	if c.Preamp.RailKnee == sim.RoundKnee {
		rail /= 2 // it bends from half way on
	}
	return min(rail, mic)
}

// arches are what aim puts into the runs beyond the ceiling.
type arches struct {
	d, want, add  []float64 // demanded; wanted; away from zero, 0 outside the runs
	runs          []sim.Span
	ceiling, most float64
	fold          float64 // how many times its own height a run may reach
	before        float64 // energy of the runs of d
	ctx           context.Context
}

// energy sums up the runs of x.
func (a *arches) energy(x []float64) float64 {
	e := 0.0
	for _, r := range a.runs {
		for _, v := range x[r.Start:r.End] {
			e += v * v
		}
	}
	return e
}

// fill puts the arches in at a height and returns by how many dB that raises the runs.
func (a *arches) fill(height float64) float64 {
	_ = a.ctx.Err() // a place to stop for a context that shares its thread
	e := 0.0
	for _, r := range a.runs {
		own := 0.0
		for _, v := range a.d[r.Start:r.End] {
			own = max(own, math.Abs(v))
		}
		// What is too high is made lower as a whole: its top stays round.
		top, h := min(a.most, a.fold*own), height
		for i := r.Start; i < r.End; i++ {
			if v := math.Abs(a.d[i]); a.add[i] > 0 && v+h*a.add[i] > top {
				h = max(0, (top-v)/a.add[i])
			}
		}
		for i := r.Start; i < r.End; i++ {
			v := max(math.Abs(a.d[i])+h*a.add[i], a.ceiling*1.001)
			a.want[i] = math.Copysign(v, a.d[i])
			e += v * v
		}
	}
	return 10 * math.Log10(e/a.before)
}

// reach finds the height at which the level is up by so many dB.
func (a *arches) reach(apartDB float64) (height float64, ok bool) {
	lo, hi := 0.0, 0.1
	for a.fill(hi) < apartDB {
		if hi *= 2; hi > 1e3*a.most {
			return hi, false
		}
	}
	for range 50 {
		mid := (lo + hi) / 2
		if a.fill(mid) < apartDB {
			lo = mid
		} else {
			hi = mid
		}
	}
	a.fill(hi)
	return hi, true
}

// shape makes sines to a power of all runs; those shorter than short would need sharp
// arches and get lower ones.
func (a *arches) shape(power, short float64) {
	for _, r := range a.runs {
		n := float64(r.End - r.Start)
		g := 1.0
		if n < short {
			g = n / short
		}
		for i := r.Start; i < r.End; i++ {
			a.add[i] = g * math.Pow(math.Sin(math.Pi*(float64(i-r.Start)+0.5)/n), power)
		}
	}
}

// round smooths the arches and holds them to their runs again, as often as helps.
func (a *arches) round(apartDB float64, smooth func([]float64)) error {
	rough := append([]float64(nil), a.want...)
	for range smoothings {
		for _, r := range a.runs {
			for i := r.Start; i < r.End; i++ {
				a.add[i] = math.Copysign(math.Abs(a.want[i])-math.Abs(a.d[i]), a.d[i])
			}
		}
		smooth(a.add)
		if err := a.ctx.Err(); err != nil {
			return err
		}
		k := 0
		for i := range a.add {
			for k < len(a.runs) && int64(i) >= a.runs[k].End {
				k++
			}
			if k == len(a.runs) || int64(i) < a.runs[k].Start {
				a.add[i] = 0
			} else if a.d[i] < 0 {
				a.add[i] = -a.add[i]
			}
		}
		if _, ok := a.reach(apartDB); !ok {
			copy(a.want, rough)
			return a.ctx.Err()
		}
	}
	return a.ctx.Err()
}

// aim fills the runs of want with other values beyond the ceiling: arches that
// bring the level in the runs up by apartDB. They are the smoothest that the rail
// leaves room for; smooth runs into the neighbouring ones bring no edges along,
// and edges are heard, or ring above hearing. Where there is no room at all for
// apartDB, it takes whatever goes further: as high as there is room for, or values
// that barely pass the ceiling.
func aim(ctx context.Context, want []float64, one trial, runs []sim.Span, most, apartDB float64, smooth func([]float64)) error {
	a := &arches{d: one.demand, want: want, add: make([]float64, len(want)), runs: runs, ceiling: one.ceiling, most: most, ctx: ctx}
	a.before = a.energy(a.d)
	up := 0.0
	for _, s := range []struct{ power, short, fold float64 }{
		{2, 24, 3}, {2, 12, 4}, {1.5, 8, 6}, {1, 0, math.Inf(1)}, {0.5, 0, math.Inf(1)}, {0.1, 0, math.Inf(1)},
	} {
		a.fold = s.fold
		a.shape(s.power, s.short)
		height, ok := a.reach(apartDB)
		if !ok {
			up = a.fill(height)
			continue
		}
		if s.power < 1.5 {
			return ctx.Err() // there is too little room for smoothing
		}
		return a.round(apartDB, smooth)
	}
	for _, r := range runs {
		for i := r.Start; i < r.End; i++ {
			want[i] = math.Copysign(min(math.Abs(a.d[i]), a.ceiling*1.005), a.d[i])
		}
	}
	if down := 10 * math.Log10(a.energy(want)/a.before); -down < up {
		a.fold = math.Inf(1)
		a.shape(0.1, 0)
		a.fill(1e3 * most)
	}
	return ctx.Err()
}

// smoothings is how often the arches are smoothed and held to their runs again.
const smoothings = 12

// smooth takes away what lies high: all below 6 kHz stays, nothing above 12 does.
func (v *inverse) smooth(x []float64) {
	clear(v.buf)
	copy(v.buf, x)
	c := v.fft.Coefficients(v.work, v.buf)
	for i := range c {
		f := float64(i) * v.rate / float64(v.n)
		g := 0.5 + 0.5*math.Cos(math.Pi*min(max((f-6000)/6000, 0), 1))
		c[i] *= complex(g/float64(v.n), 0)
	}
	copy(x, v.fft.Sequence(v.buf, c))
}

// inverse turns a wanted change of the converter's demand into the change of
// pressure that makes it, for a chain that is all but linear.
type inverse struct {
	n    int
	fft  *fourier.FFT
	h    []complex128
	work []complex128
	buf  []float64

	// A talker who has moved nearer needs less pressure for the same change.
	moves []sim.Move
	rate  float64
	near  float64 // the distance for which the response holds
}

func newInverse(ctx context.Context, rate int, c sim.Chain, seed uint64, n int) (*inverse, error) {
	size := 1
	for size < n+4*rate/10 {
		size *= 2
	}
	// Two silent runs that differ by one small impulse: their difference is the
	// response, since the noise is the same in both.
	x := make([]float64, size)
	base, err := run(ctx, rate, c, seed, x, nil)
	if err != nil {
		return nil, err
	}
	const at = 4096
	amp := 1e-3 / math.Sqrt2 / sim.ToFullScale(c)[sim.AtTalker]
	if size <= 2*at {
		return nil, fmt.Errorf("a performance of %d samples is too short", n)
	}
	x[at] = amp
	hit, err := run(ctx, rate, c, seed, x, nil)
	if err != nil {
		return nil, err
	}
	resp := make([]float64, size)
	for i := range resp {
		// Shifted so that the impulse sits at 0, around the end.
		resp[(i-at+size)%size] = (hit.demand[i] - base.demand[i]) / amp
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	inv := &inverse{n: size, fft: fourier.NewFFT(size), buf: make([]float64, size)}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	inv.h = inv.fft.Coefficients(nil, resp)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	inv.work = make([]complex128, len(inv.h))
	top := 0.0
	for _, v := range inv.h {
		top = max(top, cmplx.Abs(v))
	}
	for i, v := range inv.h {
		if cmplx.Abs(v) < 1e-4*top {
			inv.h[i] = 0 // the chain does not pass it: no change of pressure would
			continue
		}
		inv.h[i] = 1 / v
	}
	return inv, nil
}

// apply replaces x by the pressure whose effect it is.
func (v *inverse) apply(x []float64) {
	clear(v.buf)
	copy(v.buf, x)
	c := v.fft.Coefficients(v.work, v.buf)
	for i := range c {
		c[i] *= v.h[i]
	}
	y := v.fft.Sequence(v.buf, c)
	for i := range x {
		x[i] = y[i] / float64(v.n)
		if len(v.moves) > 0 {
			x[i] *= sim.DistanceAt(v.moves, v.near, float64(i)/v.rate) / v.near
		}
	}
}
