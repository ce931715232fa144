package repair

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"gainwright/sim/repair/reduction"
)

// Behind a hard ceiling at C a limiter multiplies with a gain g that moves slowly
// against the wave. Every clipped sample then stands at C·g, and no sample beyond it,
// so that the clipped ones tell the gain where they are: g = |y|/C. Their tops are not
// flat; they bend as the gain does, and end in the kinks of the cut.

// A Reduction is what becomes of a gain that moved after the clipping, as a limiter
// behind the converter leaves it. The zero value is KeepReduction.
type Reduction int

// What can become of it.
const (
	// KeepReduction turns the gain back to find what was cut off and puts it on again:
	// samples that were not clipped stay as they are, to the last bit.
	KeepReduction Reduction = iota
	// UndoReduction leaves it out: loud and quiet lie as far apart as they did before
	// the limiter, as well as its gain could be told.
	UndoReduction
	// IgnoreReduction takes every top at its own level, without looking for a gain.
	IgnoreReduction
)

// Reductions are the words for them, in order.
var Reductions = []string{"keep", "undo", "ignore"}

func (r Reduction) String() string {
	if r < 0 || int(r) >= len(Reductions) {
		return fmt.Sprintf("reduction %d", int(r))
	}
	return Reductions[r]
}

// ParseReduction reads "keep", "undo" or "ignore".
func ParseReduction(s string) (Reduction, error) {
	if i := slices.Index(Reductions, s); i >= 0 {
		return Reduction(i), nil
	}
	return 0, fmt.Errorf("%q is not one of keep, undo, ignore", s)
}

// A Ride is a gain that moved between the ceiling and the file.
type Ride struct {
	// ceiling is the magnitude at which the wave was cut: full scale, unless a top lies
	// beyond it.
	ceiling float64
	law     reduction.Law // the limiter's, if one explains the tops
}

// With is one gain for two parts of a recording: what was learnt where more was told.
func (ride *Ride) With(o *Ride) *Ride {
	if ride == nil || o == nil {
		if ride == nil {
			return o
		}
		return ride
	}
	both := *ride
	if !both.law.Holds() && o.law.Holds() {
		both = *o
	}
	both.ceiling = max(ride.ceiling, o.ceiling)
	return &both
}

const (
	leastRidden  = 8    // runs from which a gain is believed
	leastMoveDB  = 0.05 // by which one of them must differ from most
	leastBeyond  = 1.02 // or a sample lie beyond them, as a factor
	mostDropped  = 0.3  // share of runs that may turn out impossible
	shortRounds  = 2    // of looking for short runs by the gain
	riddenSoon   = 160  // samples in which no release brings a wave up by riddenBeyond
	riddenBeyond = 1.35
	leastTurned  = 0.9  // highest top above which nothing was turned down since
	lessMiss     = 0.4  // by which a ceiling below full scale must explain the tops better
	leastMissDB  = 0.02 // up to which full scale explains the tops
	turnedStepDB = 2
	turnedLook   = 1 << 17 // samples that are looked at for it
)

// behindGain looks in x for tops that were cut at one ceiling and follow a gain that
// moved afterwards, where Detect found c. It returns c where there are none, and where
// one ceiling explains the tops.
func behindGain(ctx context.Context, x []float64, c Clips) (Clips, error) {
	if c.Kind == FlatHard {
		return c, nil
	}
	x, _ = scrubbed(x)
	peak := peakOf(x)
	if peak == 0 {
		return c, nil
	}
	raw := rawStep(x)
	if raw < 0.01 && peak < 16*raw {
		return c, nil
	}
	runs := sureRidden(x, step(raw, peak), peak)
	kept := plausible(x, slices.Clone(runs))
	if len(kept) < leastRidden || float64(len(runs)-len(kept)) > mostDropped*float64(len(runs)) || !cut(x, kept) || !moved(x, kept) {
		return c, nil
	}
	ride, err := rideOf(ctx, x, kept)
	if err != nil {
		return c, err
	}
	for range shortRounds {
		kept = shortRuns(ride.curve(x, kept), x, kept)
	}
	out := Clips{Kind: FlatMoving, Runs: kept, Ride: ride, Invalid: c.Invalid}
	out.Total(len(x))
	return out, nil
}

// rideOf reads the gain off runs. The ceiling was full scale, unless a top lies beyond it
// or the whole was turned down since: the law that fits best with the true ceiling tells.
func rideOf(ctx context.Context, x []float64, runs []ClipRun) (*Ride, error) {
	highest := 0.0
	for _, r := range runs {
		highest = max(highest, r.Level)
	}
	ceiling := max(1, highest)
	if highest < leastTurned {
		var err error
		if ceiling, err = ceilingOf(ctx, x, runs, highest); err != nil {
			return nil, err
		}
	}
	ride := &Ride{ceiling: ceiling}
	level, knots := ride.known(x, runs)
	var err error
	ride.law, err = reduction.Fit(ctx, level, knots)
	return ride, err
}

// ceilingOf looks between the highest of runs and full scale for the ceiling with which a
// law explains them best: in large steps first, then in small ones. It is full scale where
// that explains them about as well.
func ceilingOf(ctx context.Context, x []float64, runs []ClipRun, highest float64) (float64, error) {
	some := Clips{Runs: runs}
	from := max(0, runs[0].Start-1)
	to := min(len(x), from+turnedLook)
	some = some.Within(from, to)
	x = x[from:to]
	missAt := func(ceiling float64) (float64, error) {
		level, knots := (&Ride{ceiling: ceiling}).known(x, some.Runs)
		law, err := reduction.Fit(ctx, level, knots)
		return law.Miss(), err
	}
	full, err := missAt(1)
	if err != nil || full < leastMissDB {
		return 1, err
	}
	best, least := 1.0, lessMiss*full
	try := func(ceiling float64) {
		if err != nil || ceiling < highest || ceiling > 1 {
			return
		}
		var miss float64
		if miss, err = missAt(ceiling); err == nil && miss < least {
			best, least = ceiling, miss
		}
	}
	for c := highest; c < 1; c *= dbLin(turnedStepDB) {
		try(c)
	}
	for step := turnedStepDB / 2.0; best < 1 && step > 0.1; step /= 2 {
		mid := best
		try(mid * dbLin(-step))
		try(mid * dbLin(step))
	}
	return best, err
}

// known is the level of x against the ceiling, and the gain at each sample of runs.
func (ride *Ride) known(x []float64, runs []ClipRun) ([]float64, []reduction.Knot) {
	level := reduction.Levels(x, ride.ceiling)
	var knots []reduction.Knot
	for _, r := range runs {
		for i := r.Start; i < r.End; i++ {
			knots = append(knots, reduction.Knot{At: i, Down: -level[i]})
		}
	}
	return level, knots
}

// curve reads the gain off the samples of runs and lays it through the gaps.
func (ride *Ride) curve(x []float64, runs []ClipRun) *reduction.Curve {
	return ride.law.Curve(ride.known(x, runs))
}

// sureRidden finds the runs that are no accident.
func sureRidden(x []float64, q, peak float64) []ClipRun {
	all := findRidden(x, q, peak)
	tops := 0.0
	for i := 1; i+1 < len(x); i++ {
		v := math.Abs(x[i])
		if v >= 0.02*peak && v > math.Abs(x[i-1]) && v >= math.Abs(x[i+1]) {
			tops++
		}
	}
	limit := chanceLimit(all, tops)
	var runs []ClipRun
	for _, p := range all {
		if p.chance <= limit {
			runs = append(runs, ClipRun{p.start, p.end, p.sign, p.level})
		}
	}
	return runs
}

const (
	leastSharp = 0.75 // of a wave's slope right outside the ceiling against a sample further out
	mostSkewed = 0.6  // ln of the slopes into the ceiling against those out of it
)

// cut tells whether runs were cut off. Right outside a ceiling a wave is as steep as a
// sample further out, and it falls out of it as it rose into it, on average. Outside tops
// that were bent it gets steeper and steeper; a compressor that is as fast as the wave
// follows it upwards and lets it round its tops.
func cut(x []float64, runs []ClipRun) bool {
	var into, outOf, skew []float64
	for _, r := range runs {
		if r.Start < 3 || r.End+3 > len(x) {
			continue
		}
		g := float64(r.Sign)
		slope := func(i int) float64 { return g * (x[i] - x[i-1]) }
		if a, b := slope(r.Start-2), slope(r.End+2); a != 0 && b != 0 {
			into = append(into, slope(r.Start-1)/a)
			outOf = append(outOf, slope(r.End+1)/b)
		}
		rise, fall := reduction.Edges(x, r.Start, r.End, g)
		skew = append(skew, math.Log(rise/fall))
	}
	return median(into) >= leastSharp && median(outOf) >= leastSharp && math.Abs(median(skew)) <= mostSkewed
}

// moved tells whether one level cannot be the ceiling of all runs in x: theirs differ by
// more than a file's steps, or the wave goes beyond it elsewhere.
func moved(x []float64, runs []ClipRun) bool {
	levels := levelsOf(runs)
	mid := levels[len(levels)/2]
	differs := func(r ClipRun) bool { return math.Abs(20*math.Log10(r.Level/mid)) > leastMoveDB }
	return slices.ContainsFunc(runs, differs) || peakOf(x) > leastBeyond*mid
}

// levelsOf are the levels of all samples in runs, sorted.
func levelsOf(runs []ClipRun) []float64 {
	var levels []float64
	for _, r := range runs {
		for range r.End - r.Start {
			levels = append(levels, r.Level)
		}
	}
	sort.Float64s(levels)
	return levels
}

// plausible drops runs that cannot be at the ceiling: those soon after which the wave
// goes well beyond them, as no release lets it, and those far below where most are.
func plausible(y []float64, runs []ClipRun) []ClipRun {
	levels := levelsOf(runs)
	if len(levels) == 0 {
		return nil
	}
	least := 0.8 * levels[len(levels)/50]
	return slices.DeleteFunc(runs, func(r ClipRun) bool {
		return r.Level < least || peakOf(y[r.End:min(len(y), r.End+riddenSoon)]) > riddenBeyond*r.Level
	})
}

// findRidden lists runs of four or more samples of one sign that lie on a parabola and
// end in kinks, with the chance of an uncut top to look so by accident.
func findRidden(x []float64, q, peak float64) []plateau {
	var out []plateau
	for i := 1; i+4 < len(x); {
		g := math.Copysign(1, x[i])
		v := g * x[i]
		if v < 0.02*peak || v <= g*x[i-1] {
			i++
			continue
		}
		p, ok := reduction.TopAt(x, i, g, q)
		if !ok {
			i++
			continue
		}
		out = append(out, plateau{p.Start, p.End, int8(g), p.Level, p.Chance})
		i = p.End
	}
	return out
}

// How far below the ceiling a top is still looked at: by a gain that was laid through a
// gap, and by a law's.
const (
	shortUnderDB = 0.5
	exactUnderDB = 0.1
)

// shortRuns returns runs, with those added that are too short to be told by themselves
// and end where the gain says that the ceiling was.
func shortRuns(c *reduction.Curve, y []float64, runs []ClipRun) []ClipRun {
	taken := make([]bool, len(y))
	for _, r := range runs {
		for i := r.Start; i < r.End; i++ {
			taken[i] = true
		}
	}
	under := shortUnderDB
	if c.Exact {
		under = exactUnderDB
	}
	near := func(i int) bool { return !taken[i] && c.Down[i]+c.Level[i] > -under }
	out := slices.Clone(runs)
	for i := 1; i+1 < len(y); {
		if !near(i) {
			i++
			continue
		}
		g := math.Copysign(1, y[i])
		j := i + 1
		for j+1 < len(y) && g*y[j] > 0 && near(j) {
			j++
		}
		s, e, ok := shortAt(y, i, j, g)
		if !ok && c.Exact {
			s, e, ok = touching(c, i, j)
		}
		if ok {
			out = append(out, ClipRun{s, e, int8(g), g * y[s]})
		}
		i = j
	}
	sort.Slice(out, func(a, b int) bool { return out[a].Start < out[b].Start })
	return joined(out)
}

// shortAt finds the longest level stretch of y[i:j] with kinks at both ends.
func shortAt(y []float64, i, j int, g float64) (start, end int, ok bool) {
	j = min(j, i+64)
	for s := i; s < j; s++ {
		inside := 0.0
		for e := s + 2; e <= j; e++ {
			inside = max(inside, math.Abs(y[e-1]-y[e-2]))
			rise, fall := reduction.Edges(y, s, e, g)
			if inside > 0.12*rise {
				break
			}
			if inside <= 0.12*fall && e-s > end-start && g*(y[s]-y[s-1]) > 0 && g*(y[e-1]-y[e]) > 0 {
				start, end, ok = s, e, true
			}
		}
	}
	return start, end, ok
}

// touching finds the first samples of [i, j) that stand at the ceiling by the law.
func touching(c *reduction.Curve, i, j int) (start, end int, ok bool) {
	at := func(k int) bool { return c.Down[k]+c.Level[k] > -touchDB }
	for ; i < j && !at(i); i++ {
	}
	for end = i; end < j && at(end); end++ {
	}
	return i, end, end > i
}

// touchDB is how well a law tells the ceiling.
const touchDB = 0.02

// joined joins runs that touch.
func joined(runs []ClipRun) []ClipRun {
	out := runs[:0]
	for _, r := range runs {
		if n := len(out); n > 0 && out[n-1].End >= r.Start {
			if out[n-1].Sign == r.Sign {
				out[n-1].End = max(out[n-1].End, r.End)
			}
			continue
		}
		out = append(out, r)
	}
	return out
}

// Behind is a take that went through a gain that moved after the clipping, with that
// gain turned back.
type Behind struct {
	Wave  []float64 // full scale 1; at the clipped samples it stands at the one ceiling there was
	Clips Clips     // of Wave

	take        []float64 // as it is in the file
	down        []float64 // dB
	ceiling, db float64   // in the file, a magnitude; the deepest reduction at a clipped sample
}

// Behind turns the gain back that c tells of, which was found in y. c.Ride must not be nil.
func (c *Clips) Behind(y []float64) *Behind {
	b := &Behind{Wave: make([]float64, len(y)), Clips: Clips{Kind: FlatHard, Invalid: c.Invalid},
		take: y, down: c.Ride.curve(y, c.Runs).Down, ceiling: max(c.Top, c.Bottom)}
	for i, v := range y {
		b.Wave[i] = v * dbLin(b.down[i])
	}
	for _, run := range c.Runs {
		run.Level = c.Ride.ceiling
		b.Clips.Runs = append(b.Clips.Runs, run)
		for i := run.Start; i < run.End; i++ {
			b.Wave[i] = float64(run.Sign) * run.Level
			b.db = max(b.db, b.down[i])
		}
	}
	b.Clips.Total(len(y))
	return b
}

// Mended takes what declipping made of Wave, and its report, and gives the take with the
// gain on it again, or without it for UndoReduction. rate is in Hz.
func (b *Behind) Mended(wave []float64, rep Report, rate int, r Reduction) ([]float64, Report) {
	switch {
	case rep.Verdict.Outcome == Hopeless:
		return b.take, rep
	case rep.Verdict.Outcome == Nothing && r == UndoReduction:
		return b.Wave, rep // a part of a take that was cut elsewhere
	case rep.Verdict.Outcome == Nothing:
		return b.take, rep
	}
	var totals DeclipTotals
	totals.Heed(rep)
	totals.Count(&b.Clips)
	totals.Write(b.Wave, wave)
	filled := totals.Filled()
	out := wave
	if r != UndoReduction {
		out = slices.Clone(b.take)
		for _, run := range b.Clips.Runs {
			for i := run.Start; i < run.End; i++ {
				out[i] = math.Copysign(max(math.Abs(out[i]), math.Abs(wave[i])*dbLin(-b.down[i])), out[i])
			}
		}
	}
	// How much was missing is told behind the gain, levels as the file has them.
	totals.Level, totals.PeakBefore, totals.PeakAfter = b.ceiling, peakOf(b.take), peakOf(out)
	rep.Numbers = append(totals.Numbers(rate), Number{ReductionKey, b.db})
	rep.Verdict.Back = strings.Replace(rep.Verdict.Back, filled, totals.Filled(), 1) + " " + Ridden(b.db, r)
	return out, rep
}

// behind declips y behind the gain that c tells of.
func (d Declip) behind(ctx context.Context, y []float64, rate int, r Run, c *Clips) ([]float64, Report, error) {
	b := c.Behind(y)
	inner := d
	inner.Clips, inner.KnownCeiling, inner.Reduction = &b.Clips, false, KeepReduction
	out, rep, err := inner.Apply(ctx, b.Wave, rate, r)
	if err != nil {
		return nil, rep, err
	}
	out, rep = b.Mended(out, rep, rate, d.Reduction)
	return out, rep, nil
}

// ReductionDB is the deepest of the gains that moved after the clipping, as the runs tell
// it, dB; 0 where none did.
func (c *Clips) ReductionDB() float64 {
	least := math.Inf(1)
	for _, r := range c.Runs {
		least = min(least, r.Level)
	}
	if c.Ride == nil || !(least > 0) {
		return 0
	}
	return max(0, 20*math.Log10(c.Ride.ceiling/least))
}

// ReductionKey is the figure, in a report of declipping, of the deepest reduction that a
// clipped sample stands under, dB.
const ReductionKey = "gain_reduction_max_db"

// Ridden says what became of a gain that moved by up to deepest dB.
func Ridden(deepest float64, r Reduction) string {
	what := "put on again."
	if r == UndoReduction {
		what = "left out, as well as it could be told between the tops."
	}
	return fmt.Sprintf("After the clipping the tops were moved by up to %.1f dB, as a limiter, or a filter, moves them; "+
		"that gain was read from them, turned back for the guess, and %s", deepest, what)
}

// Unridden says that no gain was left out, since none was found.
const Unridden = "No gain that moved after the clipping is told by the tops, so none was left out."

func dbLin(db float64) float64 { return math.Exp(db * (math.Ln10 / 20)) }
