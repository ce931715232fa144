package repair

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"gainwright/sim/repair/restore"
	"gainwright/sim/repair/vec"
)

// A ClipRun is a run of samples taken as clipped.
type ClipRun struct {
	Start, End int     // samples [Start, End)
	Sign       int8    // +1 a top, −1 a bottom
	Level      float64 // the clip level there, a magnitude, full scale 1
}

// Clips is what Detect found.
type Clips struct {
	Kind Flatness
	Runs []ClipRun
	// Top and Bottom are the median clip levels of each polarity, magnitudes; 0
	// where there is none.
	Top, Bottom float64
	Samples     int     // in all runs
	Share       float64 // of all samples, 0 to 1
	Longest     int     // samples in the longest run
	Ripple      float64 // rms of what rides on the tops; 0 for exactly flat ones
	Invalid     int     // samples that were no numbers, taken as 0
	// Ride is the gain that moved after the clipping, where the runs tell it; else nil.
	Ride *Ride
}

// Known marks what a hard ceiling at ±level did to a recording whose past is
// known: every sample at or beyond it.
func Known(x []float64, level float64) Clips {
	x, bad := scrubbed(x)
	c := Clips{Kind: FlatHard, Invalid: bad}
	if !(level > 0) {
		c.Kind = NotFlat
		return c
	}
	for i, v := range x {
		switch {
		case v >= level:
			c.add(i, 1, level)
		case v <= -level:
			c.add(i, -1, level)
		}
	}
	c.Total(len(x))
	return c
}

func (c *Clips) add(i int, sign int8, level float64) {
	if n := len(c.Runs); n > 0 {
		if r := &c.Runs[n-1]; r.End == i && r.Sign == sign && r.Level == level {
			r.End++
			return
		}
	}
	c.Runs = append(c.Runs, ClipRun{i, i + 1, sign, level})
}

// Total sorts the runs and sums them up anew, for a recording of n samples.
func (c *Clips) Total(n int) {
	sort.SliceStable(c.Runs, func(i, j int) bool { return c.Runs[i].Start < c.Runs[j].Start })
	c.Samples, c.Longest, c.Share = 0, 0, 0
	var top, bottom []float64
	for _, r := range c.Runs {
		c.Samples += r.End - r.Start
		c.Longest = max(c.Longest, r.End-r.Start)
		if r.Sign > 0 {
			top = append(top, r.Level)
		} else {
			bottom = append(bottom, r.Level)
		}
	}
	c.Top, c.Bottom = median(top), median(bottom)
	if n > 0 {
		c.Share = float64(c.Samples) / float64(n)
	}
	if len(c.Runs) == 0 && c.Kind != Rounded {
		c.Kind = NotFlat
	}
}

// Within gives what is marked in [from, to) of the recording, counted from from.
func (c *Clips) Within(from, to int) Clips {
	q := Clips{Kind: c.Kind, Ripple: c.Ripple, Ride: c.Ride}
	i := sort.Search(len(c.Runs), func(i int) bool { return c.Runs[i].End > from })
	for ; i < len(c.Runs) && c.Runs[i].Start < to; i++ {
		r := c.Runs[i]
		r.Start, r.End = max(0, r.Start-from), min(r.End, to)-from
		q.Runs = append(q.Runs, r)
	}
	q.Total(to - from)
	return q
}

// MarkKnown marks, in a part of a recording that begins at sample at, what stands at
// the median ceilings of c, found elsewhere: where too little touches a ceiling to be
// told, it holds all the same. Call Total afterwards.
func (c *Clips) MarkKnown(part []float64, at int) {
	for i, v := range part {
		sign, level := int8(1), c.Top
		if v < 0 {
			sign, level = -1, c.Bottom
		}
		if level > 0 && math.Abs(v) >= level*(1-1e-9) {
			c.add(at+i, sign, level)
		}
	}
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	return vec.Select(slices.Clone(v), (len(v)+1)/2)
}

// stretch marks the runs in x.
func (c *Clips) stretch(x []float64) *restore.Stretch {
	q := &restore.Stretch{Y: x, Sign: make([]int8, len(x)), Bound: make([]float64, len(x))}
	for _, r := range c.Runs {
		for i := max(0, r.Start); i < min(r.End, len(x)); i++ {
			if q.Sign[i] == 0 {
				q.At = append(q.At, i)
			}
			q.Sign[i], q.Bound[i] = r.Sign, r.Level
		}
	}
	sort.Ints(q.At)
	return q
}

// Detect finds clipped samples in a recording of unknown past, mono, full scale
// 1. Tops that are flat within the file's own steps are told by their edges: in a
// parabola of curvature κ, n samples that differ by d have slopes of about
// (4+8/n)·d/n just outside them, a cut one has many times that. Tops with ripple
// on them are told by their shape: the width of a half-wave near its top against
// its width at half height, and by how many half-waves end at one level.
//
// A square wave looks clipped; no method can tell.
func Detect(x []float64) Clips {
	x, bad := scrubbed(x)
	c := Clips{Kind: NotFlat, Invalid: bad}
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	if peak == 0 {
		return c
	}
	if slices.Min(x) == slices.Max(x) {
		// No wave at all: one run, which Declip takes for what it is.
		c.Kind = FlatHard
		c.Runs = []ClipRun{{0, len(x), int8(math.Copysign(1, x[0])), peak}}
		c.Total(len(x))
		return c
	}
	raw := rawStep(x)
	if raw < 0.01 && peak < 16*raw {
		return c // a few codes of noise: everything in it is flat
	}
	q := step(raw, peak)
	plateaus := findPlateaus(x, q, peak)
	sides := [2]side{sideOf(x, plateaus, 1, q, peak), sideOf(x, plateaus, -1, q, peak)}
	if !sides[0].any() && !sides[1].any() {
		return byShape(x, bad)
	}
	c.markSides(x, sides, q)
	c.Total(len(x))
	if c.Kind == FlatMoving && c.Longest < 8 {
		// Short runs at many levels: noise on flat tops makes some by chance.
		if n := byShape(x, bad); n.Kind == FlatNoisy && n.Samples > 2*c.Samples {
			return n
		}
	}
	return c
}

// markSides adds the runs of both sides and tells whether they lie at one level, and
// how exactly.
func (c *Clips) markSides(x []float64, sides [2]side, q float64) {
	c.Kind = FlatHard
	for _, s := range sides {
		switch {
		case s.level > 0:
			c.markLevel(x, s.sign, s.level, q)
		case len(s.sure) > 0:
			c.Kind = FlatMoving
			for _, p := range s.sure {
				c.Runs = append(c.Runs, ClipRun{p.start, p.end, p.sign, p.level})
			}
		}
	}
	c.mirror(x, sides, q)
	ripple, n := 0.0, 0.0
	for _, r := range c.Runs {
		for _, v := range x[r.Start:r.End] {
			d := math.Abs(v) - r.Level
			ripple += d * d
			n++
		}
	}
	if n > 0 && c.Kind == FlatHard {
		if c.Ripple = math.Sqrt(ripple / n); c.Ripple < q/2 {
			c.Ripple = 0
		} else {
			c.Kind = FlatNoisy
		}
	}
}

// byShape looks for tops with ripple on them, and for rounded ones.
func byShape(x []float64, bad int) Clips {
	c := Clips{Kind: NotFlat, Invalid: bad}
	rounded := 0
	for _, sign := range []int8{1, -1} {
		switch c.noisyTops(x, sign) {
		case FlatNoisy:
			c.Kind = FlatNoisy
		case Rounded:
			rounded++
		}
	}
	if c.Kind == NotFlat && rounded > 0 {
		c.Kind = Rounded
	}
	c.Total(len(x))
	return c
}

// rawStep is the smallest distance of successive samples that differ: in most files
// that of neighbouring codes.
func rawStep(x []float64) float64 {
	q := math.Inf(1)
	for i := 1; i < len(x); i++ {
		if d := math.Abs(x[i] - x[i-1]); d > 0 && d < q {
			q = d
		}
	}
	return q
}

// step is the distance of neighbouring codes, within what it can be at that peak.
func step(q, peak float64) float64 {
	return min(max(q, 1e-7*peak), 1e-2*peak)
}

type plateau struct {
	start, end int
	sign       int8
	level      float64
	chance     float64 // of a top of an uncut wave to be as straight by accident
}

// findPlateaus lists runs of three or more samples at a local extreme that lie on
// a line within the file's steps and end in kinks.
func findPlateaus(x []float64, q, peak float64) []plateau {
	var out []plateau
	for i := 1; i+1 < len(x); {
		v := x[i]
		if math.Abs(v) < 0.02*peak {
			i++
			continue
		}
		sign := int8(1)
		if v < 0 {
			sign = -1
		}
		g := float64(sign)
		if g*(v-x[i-1]) <= 0 { // a run starts with a rise
			i++
			continue
		}
		// Two codes and rounding: triangular dither moves a flat top that far. A gain
		// that moved bends it a little besides.
		p, ok := plateauAt(x, i, g, 2.6*q, q)
		if !ok {
			p, ok = plateauAt(x, i, g, max(2.6*q, 3e-4*math.Abs(v)), q)
		}
		if !ok {
			i++
			continue
		}
		out = append(out, p)
		i = p.end
	}
	return out
}

// plateauAt grows a run from x[i] along a line, within tol, and says whether it
// has the kinks of a cut top on the side g.
func plateauAt(x []float64, i int, g, tol, q float64) (plateau, bool) {
	v := x[i]
	// The slope inside may be a gain's, but slow: under 1 % of the level a sample.
	j := i + 1
	for j < len(x) {
		d := x[j] - x[j-1]
		if math.Abs(d) > tol+0.01*math.Abs(v) || math.Abs(x[j]-v) > tol+0.05*math.Abs(v) {
			break
		}
		if j-i >= 2 { // on the line through the first and this one?
			m := (x[j] - v) / float64(j-i)
			if math.Abs(x[j-1]-v-m*float64(j-1-i)) > tol || math.Abs(x[(i+j)/2]-v-m*float64((i+j)/2-i)) > tol {
				break
			}
		}
		j++
	}
	n := j - i
	if n < 3 {
		return plateau{}, false
	}
	m := (x[j-1] - v) / float64(n-1)
	dev, mean := q/2, 0.0
	for k := i; k < j; k++ {
		dev = max(dev, math.Abs(x[k]-v-m*float64(k-i)))
		mean += g * x[k] / float64(n)
	}
	// Kinks: how far the slope outside differs from the slope inside.
	rise := g * (v - x[i-1] - m)
	if i >= 2 {
		rise = max(rise, g*(x[i-1]-x[i-2]-m))
	}
	fall := rise
	if j < len(x) {
		fall = g * (x[j-1] - x[j] + m)
		if j+1 < len(x) {
			fall = max(fall, g*(x[j]-x[j+1]+m))
		}
	}
	kink := min(rise, fall)
	ok := kink*float64(n) >= 24*dev && kink >= 6*math.Abs(m) && ceilingAt(x, i, j, g, mean)
	// Each sample between the ends may lie off the line by as much as the wave bends
	// at its edges; that all lie within dev has the chance of one to the power of how
	// many there are.
	chance := math.Pow(min(1, 2*dev/kink), float64(n-2))
	return plateau{i, j, int8(g), mean, chance}, ok
}

// A side is what was found at the tops or at the bottoms.
type side struct {
	sign  int8
	level float64   // the one level at which the side ends, 0 if there is none
	sure  []plateau // those that are no accident
}

func (s *side) any() bool { return s.level > 0 || len(s.sure) > 0 }

// mistaken is the share of plateaus marked at moving levels that may be accidents.
const mistaken = 0.01

// sideOf sorts what is cut on one side from what only looks so: of many thousand tops
// of a voice with a little noise a few are straight by accident. Plateaus at one level
// above which there is nothing are none; nor are those less likely among as many tops
// than they are numerous (Benjamini, Hochberg, J. R. Stat. Soc. B 57, 1995).
func sideOf(x []float64, plateaus []plateau, sign int8, q, peak float64) side {
	s := side{sign: sign}
	var all []plateau
	for _, p := range plateaus {
		if p.sign == sign {
			all = append(all, p)
		}
	}
	if len(all) == 0 {
		return s
	}
	g := float64(sign)
	tops, extreme := 0.0, 0.0
	for i := 1; i+1 < len(x); i++ {
		v := g * x[i]
		extreme = max(extreme, v)
		if v >= 0.02*peak && v > g*x[i-1] && v >= g*x[i+1] {
			tops++
		}
	}
	extreme = max(extreme, g*x[0], g*x[len(x)-1])
	limit := chanceLimit(all, tops)
	for _, p := range all {
		if p.chance <= limit {
			s.sure = append(s.sure, p)
		}
	}
	ends := func(p []plateau) (float64, bool) {
		level, ok := oneLevel(p, q)
		return level, ok && extreme <= level+3*q+1e-4*level
	}
	if level, ok := ends(s.sure); ok && len(s.sure) > 0 {
		s.level = level
	} else if level, ok := ends(all); ok && len(all) >= 4 {
		s.level = level
	}
	return s
}

// chanceLimit is the largest chance up to which plateaus are believed, so that no
// more than the share mistaken of those believed came about by chance.
func chanceLimit(all []plateau, tops float64) float64 {
	chances := make([]float64, len(all))
	for i, p := range all {
		chances[i] = p.chance
	}
	sort.Float64s(chances)
	limit := -1.0
	for i, v := range chances {
		if v*tops <= mistaken*float64(i+1) {
			limit = v
		}
	}
	return limit
}

// ceilingAt reports whether nothing near x[i:j] rises much above level on the side g:
// a ceiling holds for its neighbourhood, a shoulder of a wave does not.
func ceilingAt(x []float64, i, j int, g, level float64) bool {
	const around = 300
	for _, v := range x[max(0, i-around):min(len(x), j+around)] {
		if g*v > 1.12*level {
			return false
		}
	}
	return true
}

// oneLevel tells whether most plateaus lie at one level, the highest.
func oneLevel(p []plateau, q float64) (float64, bool) {
	levels := make([]float64, len(p))
	for i, x := range p {
		levels[i] = x.level
	}
	m := median(levels)
	near := 0
	for _, v := range levels {
		if math.Abs(v-m) <= 3*q+1e-4*m {
			near++
		}
	}
	return m, near*5 >= len(p)*4
}

// markLevel marks every sample at level, short runs included.
func (c *Clips) markLevel(x []float64, sign int8, level, q float64) {
	// Dither spreads a level over a few codes; one that is exact has no spread.
	exact, spread := 0, 0
	for _, v := range x {
		d := float64(sign)*v - level
		if math.Abs(d) < 0.4*q {
			exact++
		} else if math.Abs(d) < 2.6*q {
			spread++
		}
	}
	tol := 0.4 * q
	if spread > exact/4 {
		tol = 2.6 * q
	}
	for i, v := range x {
		if float64(sign)*v >= level-tol {
			c.add(i, sign, level)
		}
	}
}

// mirror marks the other side of a ceiling that was found on one side only, if that
// is where the other side ends: few tops are no proof alone.
func (c *Clips) mirror(x []float64, sides [2]side, q float64) {
	if c.Kind != FlatHard || sides[0].any() == sides[1].any() {
		return
	}
	found := sides[0]
	if !found.any() {
		found = sides[1]
	}
	level, other := found.level, -found.sign
	extreme := 0.0
	for _, v := range x {
		extreme = max(extreme, float64(other)*v)
	}
	// Two's complement reaches one code further down than up.
	if math.Abs(extreme-level) <= 2.6*q {
		c.markLevel(x, other, level-max(0, level-extreme), q)
	}
}

// noisyTops looks at half-waves of one sign, marks the clipped parts of them, and
// says what they are.
func (c *Clips) noisyTops(x []float64, sign int8) Flatness {
	hs := halfWaves(x, sign)
	if len(hs) < 20 {
		return NotFlat
	}
	peaks := make([]float64, len(hs))
	for i, h := range hs {
		peaks[i] = h.peak
	}
	sort.Float64s(peaks)
	top := peaks[len(peaks)-1]
	count := func(lo, hi float64) float64 {
		return float64(sort.SearchFloat64s(peaks, hi) - sort.SearchFloat64s(peaks, lo))
	}
	// Where half-waves end: a voice's become rarer towards the top.
	upper, lower := count(0.9*top, top*1.01), count(0.7*top, 0.9*top)
	if upper < 8 || upper < lower {
		return NotFlat
	}
	tall := slices.DeleteFunc(slices.Clone(hs), func(h half) bool { return h.peak < 0.9*top })
	square, means := squareness(x, tall, sign)
	if len(square) < 8 {
		return NotFlat
	}
	switch s := median(square); {
	case s < 0.48:
		return NotFlat
	case s < 0.6:
		return Rounded
	}
	level := median(means)
	ripple := rippleAt(level, x, tall, sign)
	c.markTops(x, hs, sign, level, level-2*ripple)
	c.Ripple = max(c.Ripple, ripple)
	return FlatNoisy
}

// half is a half-wave, samples start to end, with how far it goes from zero.
type half struct {
	start, end int
	peak       float64
}

// halfWaves finds the half-waves of one sign that last four samples or more.
func halfWaves(x []float64, sign int8) []half {
	g := float64(sign)
	var hs []half
	for i := 0; i < len(x); {
		if g*x[i] <= 0 {
			i++
			continue
		}
		h := half{start: i}
		for i < len(x) && g*x[i] > 0 {
			h.peak = max(h.peak, g*x[i])
			i++
		}
		h.end = i
		if h.end-h.start >= 4 {
			hs = append(hs, h)
		}
	}
	return hs
}

// squareness is the width near the top against the width at half height, of every
// half-wave wide enough to tell: 0.384 for a sine cut at 92 %, more for a flattened
// one. means are the levels of those tops.
func squareness(x []float64, hs []half, sign int8) (square, means []float64) {
	g := float64(sign)
	for _, h := range hs {
		wide, near, sum := 0, 0, 0.0
		for _, v := range x[h.start:h.end] {
			if g*v >= 0.5*h.peak {
				wide++
			}
			if g*v >= 0.92*h.peak {
				near++
				sum += g * v
			}
		}
		if wide >= 5 {
			square = append(square, float64(near)/float64(wide))
			means = append(means, sum/float64(near))
		}
	}
	return square, means
}

// rippleAt is the standard deviation of what lies within 8 % of level.
func rippleAt(level float64, x []float64, hs []half, sign int8) float64 {
	g := float64(sign)
	var dev, n float64
	for _, h := range hs {
		for i := h.start + 1; i+1 < h.end; i++ {
			if d := g*x[i] - level; math.Abs(d) < 0.08*level {
				dev += d * d
				n++
			}
		}
	}
	return math.Sqrt(dev / max(n, 1))
}

// markTops adds a run at level for every half-wave that reaches floor.
func (c *Clips) markTops(x []float64, hs []half, sign int8, level, floor float64) {
	g := float64(sign)
	for _, h := range hs {
		if h.peak < floor {
			continue
		}
		first, last := -1, -1
		for i := h.start; i < h.end; i++ {
			if g*x[i] >= floor {
				if first < 0 {
					first = i
				}
				last = i
			}
		}
		// One sample that only just reaches in is a peak, not a top.
		if last-first < 1 && h.peak < level {
			continue
		}
		c.Runs = append(c.Runs, ClipRun{first, last + 1, sign, level})
	}
}

// String says in one line what was found.
func (c Clips) String() string {
	switch c.Kind {
	case NotFlat:
		return "no flat tops found"
	case Rounded:
		return "tops look rounded, as an overdriven analogue stage leaves them; which samples are wrong cannot be told"
	}
	level := max(c.Top, c.Bottom)
	s := fmt.Sprintf("%.2g %% of the samples are clipped, in %d runs, the longest %d samples, at %s dBFS",
		100*c.Share, len(c.Runs), c.Longest, minus(20*math.Log10(level)))
	switch c.Kind {
	case FlatMoving:
		s += "; the level moves, so a gain changed after the clipping"
	case FlatNoisy:
		s += "; the tops carry noise or a codec's ripple, so the marks are estimates"
	}
	return s
}
