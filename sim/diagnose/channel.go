package diagnose

import (
	"math"

	"gainwright/sim/meter"
)

// Tuning of what is looked at. The numbers are choices, held by the measurements
// of tests/diagnose.
const (
	bulgeBins = 64
	bulgePer  = 3 // bins a dB

	chunk  = 8192 // samples looked at together
	margin = 2048 // kept for what reaches over the end of a chunk: the longest half-wave

	loudPart = 0.25 // tops below this part of the recent envelope tell nothing
	lowest   = 1e-4 // nor do those under −80 dBFS
	recallS  = 3.0  // s, time constant of the envelope
	decays   = 1024 // samples of a half-wave over which its decay is kept
	blockS   = 0.010
)

// Levels are binned by the bits of a float: sixteen bins an octave for tops, 128
// for samples, from 2^-16 (−96 dBFS) to 2^4.
const (
	octaves    = 20
	lowOctave  = -16
	sampleBins = octaves * 128
	topBins    = octaves * 16
	sampleBase = (1023 + lowOctave) << 7
	topBase    = (1023 + lowOctave) << 4
)

func topBin(v float64) int {
	return min(max(int(math.Float64bits(v)>>48)-topBase, 0), topBins-1)
}

// Lower edges of bins, magnitudes.
func sampleEdge(i int) float64 { return math.Float64frombits(uint64(i+sampleBase) << 45) }

func topEdge(i int) float64 { return math.Float64frombits(uint64(i+topBase) << 48) }

// topSum gathers the shapes of tops of about one level.
type topSum struct {
	n              int
	n95, n90, n80  int     // samples above 95, 90 and 80 % of the top
	n50            int     // and above half of it
	turn           float64 // by how much the slope turns over the upper tenth, of the top
	inner          float64 // of that, in its inner half
	pair           float64 // of that, between two neighbouring steps at most
	pairLen        float64 // the same times the length of the upper tenth
	rough, roughTo float64 // Σ|Δ³x| of the half-wave, Σ|x|
	rise, rise80   float64 // dB that parabolas with the slopes at 90 and 80 % would rise over the top
}

func (a *topSum) add(b *topSum) {
	a.n += b.n
	a.n95 += b.n95
	a.n90 += b.n90
	a.n80 += b.n80
	a.n50 += b.n50
	a.turn += b.turn
	a.inner += b.inner
	a.pair += b.pair
	a.pairLen += b.pairLen
	a.rough += b.rough
	a.roughTo += b.roughTo
	a.rise += b.rise
	a.rise80 += b.rise80
}

// rises multiplies what parabolas would rise to: one logarithm for many tops.
type rises struct{ over, over80 float64 } // products, or 0

func (r *rises) take(over, over80 float64) {
	if r.over == 0 {
		r.over, r.over80 = 1, 1
	}
	r.over *= over
	r.over80 *= over80
}

// full tells whether much more would be out of range: a factor is at least 0.8, and no million.
func (r *rises) full() bool { return r.over > 1e100 || r.over80 > 1e100 || r.over80 < 1e-100 }

// settle puts the rises of a bin into its sums.
func (s *side) settle(bin int) {
	if r := &s.rises[bin]; r.over > 0 {
		s.tops[bin].rise += 20 * math.Log10(r.over)
		s.tops[bin].rise80 += 20 * math.Log10(r.over80)
		*r = rises{}
	}
}

// bulgeEdges are the bins' edges in what a top rises to; bulgeFrom the bin in which a
// 32nd of an octave begins, which is narrower than a bin.
var bulgeEdges, bulgeFrom = func() (edges [bulgeBins]float64, from [bulgeCells]uint8) {
	for k := range edges {
		edges[k] = math.Pow(10, float64(k)/(20*bulgePer))
	}
	bin := 0
	for i := range from {
		for bin+1 < bulgeBins && edges[bin+1] <= math.Float64frombits(uint64(i+bulgeBase)<<47) {
			bin++
		}
		from[i] = uint8(bin)
	}
	return edges, from
}()

const (
	bulgeBase  = 1023 << 5
	bulgeCells = 4 * 32 // to 24 dB, beyond the last bin
)

// bulgeBin is the bin of a top that would rise to so much of it, at least 1.
func bulgeBin(over float64) int {
	i := int(bulgeFrom[min(int(math.Float64bits(over)>>47)-bulgeBase, bulgeCells-1)])
	if i+1 < bulgeBins && over >= bulgeEdges[i+1] {
		i++
	}
	return i
}

// side is what is gathered about one polarity.
type side struct {
	samples []int64 // sampleBins counts, of the Channel's
	tops    [topBins]topSum
	rises   [topBins]rises  // not yet in tops
	levels  [flatBins]int32 // how many tops, by their level
	peak    float64
	// How many samples, and runs, lie at the highest value so far.
	atPeak, peakRuns, peakLongest int
	wallKinks                     int // of the runs, those that end in corners
	flats                         flatSum
	// How high a parabola with the slopes at 90 % would rise above the top, by the
	// level of the top.
	bulge [topBins][bulgeBins]int32
}

// A Channel listens to one channel of a recording, in blocks of any length. Its
// memory does not depend on how long that is. It is not safe for use by several
// goroutines at once.
type Channel struct {
	o     Options
	rate  float64
	buf   []float64
	start int64 // of buf, in samples from the beginning
	next  int   // where in buf the next half-wave begins
	bad   int64
	total int64

	sides    [2]side
	sum      float64
	env, dec float64
	decs     [decays]float64 // powers of dec
	step     float64         // smallest difference met near tops
	onGrid   int64           // how many others are multiples of it, and how many are not
	offGrid  int64

	// How many samples there are of each sign and magnitude; before the first bin, of
	// those below it.
	counts [2][sampleBins + 1]int64

	blockLen, blockN int
	blockPeak        float64
	blockSum         float64 // of magnitudes
	blockBins        [topBins]int64
	blockThin        [topBins]float64 // Σ ln of peak over mean magnitude
	slots            slots
	tones            *tones
	bands            *bands
	stats            *meter.Stats
	places           *places
	collect          func(run) // called with every straight top, or nil
	judged           *verdict  // once it is
}

// New returns a Channel for a sample rate that meter.CheckRate accepts; it panics
// on another.
func New(rate int, o Options) *Channel {
	if !(o.FullScale > 0) {
		o.FullScale = math.Inf(1)
	}
	c := &Channel{
		o: o, rate: float64(rate), buf: make([]float64, 0, chunk+margin),
		dec: math.Exp(-1 / (recallS * float64(rate))), step: math.Inf(1),
		blockLen: max(1, int(blockS*float64(rate)+0.5)),
		stats:    meter.NewStats(rate),
		tones:    newTones(rate), bands: newBands(rate), places: newPlaces(rate),
	}
	c.slots.width = int64(max(1, rate/10))
	for k := range c.sides {
		c.sides[k].samples = c.counts[k][1:]
	}
	for n := range c.decs {
		c.decs[n] = math.Pow(c.dec, float64(n))
	}
	return c
}

// Write feeds samples, full scale 1. One that is no number counts as 0.
func (c *Channel) Write(x []float64) {
	if c.total == 0 && len(x) > 0 && len(c.buf) == 0 {
		// What comes before the first sample is taken to be like it.
		v := x[0]
		if !(math.Abs(v) < math.MaxFloat32) {
			v = 0
		}
		c.buf = append(c.buf, v, v)
		c.start, c.next = -2, 2
	}
	for len(x) > 0 {
		n := min(len(x), cap(c.buf)-len(c.buf))
		at := len(c.buf)
		c.buf = append(c.buf, x[:n]...)
		c.raw(c.buf[at:])
		x = x[n:]
		if len(c.buf) == cap(c.buf) {
			c.look(false)
		}
	}
}

// Stats are plain figures about what was written; they belong to the channel.
func (c *Channel) Stats() *meter.Stats { return c.stats }

// raw is what is done sample by sample.
func (c *Channel) raw(x []float64) {
	low := 0.0
	for at := 0; at < len(x); {
		n := min(len(x)-at, c.blockLen-c.blockN, c.tones.factor-c.tones.n)
		var top uint64
		var sum float64
		top, low, sum = c.count(x[at:at+n], low)
		c.blockSum += sum
		at += n
		c.blockPeak = max(c.blockPeak, math.Float64frombits(top))
		if c.blockN += n; c.blockN == c.blockLen {
			if c.blockPeak > lowest {
				k := topBin(c.blockPeak)
				c.blockBins[k]++
				c.blockThin[k] += math.Log(c.blockPeak * float64(c.blockN) / c.blockSum)
			}
			c.slots.block(c.total+int64(at)-1, c.blockPeak)
			c.blockN, c.blockPeak, c.blockSum = 0, 0, 0
		}
		if c.tones.n += n; c.tones.n == c.tones.factor {
			c.tones.end(low)
			low = 0
		}
	}
	c.tones.acc += low
	c.total += int64(len(x))
	c.places.remember(x, c.total)
	c.stats.Write(x)
	c.bands.write(x)
}

// count counts samples by sign and magnitude and adds them to the channel's sum and to
// low. It returns the largest magnitude, as bits, low, and the magnitudes' sum. All that
// waits for the last sample is three sums; a branch by sign or level would be guessed
// wrong in noise.
func (c *Channel) count(x []float64, low float64) (top uint64, lowSum, size float64) {
	run := 0.0
	for i, v := range x {
		b := math.Float64bits(v)
		m := b &^ (1 << 63)
		if m >= 0x47f0000000000000 { // 2^128: no file of numbers holds it
			x[i], v, b, m = 0, 0, 0, 0
			c.bad++
		}
		top = max(top, m)
		k := min(max(int(m>>45)-sampleBase, -1), sampleBins-1)
		c.counts[b>>63][k+1]++
		run += v
		size += math.Float64frombits(m)
	}
	c.sum += run
	return top, low + run, size
}

// look goes through the half-waves of the buffer and keeps its end.
func (c *Channel) look(last bool) {
	x := c.buf
	limit, end := len(x)-margin, len(x)
	if last {
		limit, end = len(x)-2, len(x)-2
	}
	dc := 0.0
	if c.total > 0 {
		dc = c.sum / float64(c.total)
	}
	i := c.next
	w := wave{from: i, at: i}
	if i < limit {
		w.up = x[i] > dc
	}
	var found [scan]wave
	for from := i; from < limit; {
		to := min(from+scan, limit)
		if c.quiet(x[from:to], to-w.from) {
			c.pass(x, from, to, dc, &w)
		} else {
			n := w.scan(x[:to], from, dc, &found)
			c.waves(x, found[:n])
		}
		from = to
	}
	i = w.from
	if i < limit {
		// The one that reaches over the limit.
		j := limit
		for j < end && x[j] > dc == w.up {
			w.top(x[j], j)
			j++
		}
		if j < end || last || j-i >= margin { // else it may go on
			w.end = j
			c.waves(x, []wave{w})
			i = j
		}
	}
	keep := max(0, i-16)
	n := copy(x, x[keep:])
	c.buf = x[:n]
	c.start += int64(keep)
	c.next = i - keep
}

// A wave is a half-wave x[from:end]; its top, of magnitude peak, is x[at].
type wave struct {
	from, at, end int
	peak          float64
	up            bool // above the mean
}

// scan is how many samples are split into half-waves together.
const scan = 128

// top takes x[j] into the half-wave.
func (w *wave) top(v float64, j int) {
	if !w.up {
		v = -v
	}
	if v > w.peak {
		w.peak, w.at = v, j
	}
}

// scan goes on with the half-wave w through x[from:], at most scan samples, and puts
// those that end there into found. It has no branch that depends on a sample: half-waves
// of noise are so short that each would be guessed wrong.
func (w *wave) scan(x []float64, from int, dc float64, found *[scan]wave) int {
	n, begun := uint(0), w.from
	peak, at := int64(math.Float64bits(w.peak)), w.at
	var down uint64 // 1 below the mean
	if !w.up {
		down = 1
	}
	for k, v := range x[from:] {
		var is uint64
		if v <= dc {
			is = 1
		}
		f := &found[n%scan] // scan is a power of two
		f.from, f.at, f.end, f.peak, f.up = begun, at, from+k, math.Float64frombits(uint64(peak)), down == 0
		if is != down {
			peak, at, begun = 0, from+k, from+k
			n++
		}
		down = is
		if h := int64(math.Float64bits(v) ^ is<<63); h > peak {
			peak, at = h, from+k
		}
	}
	*w = wave{from: begun, at: at, peak: math.Float64frombits(uint64(peak)), up: down == 0}
	return int(n)
}

// quiet tells whether no half-wave that begins within x can be a loud one, when time
// samples have gone by since the envelope was taken.
func (c *Channel) quiet(x []float64, time int) bool {
	if time >= decays {
		return false
	}
	top := meter.Largest(x)
	return top < loudPart*c.env*c.decs[time]*(1-1e-9)
}

// pass goes on with the half-wave w through x[from:to], which is quiet: all that comes
// of the half-waves that begin and end in it is time.
func (c *Channel) pass(x []float64, from, to int, dc float64, w *wave) {
	j := from
	for j < to && x[j] > dc == w.up {
		w.top(x[j], j)
		j++
	}
	if j == to {
		return
	}
	w.end = j
	c.waves(x, []wave{*w})
	s, up := to-1, x[to-1] > dc
	for s > j && x[s-1] > dc == up {
		s--
	}
	c.env *= c.decs[s-j]
	*w = wave{from: s, at: s, up: up}
	for k := s; k < to; k++ {
		w.top(x[k], k)
	}
}

// waves goes through half-waves, and looks at the loud ones.
func (c *Channel) waves(x []float64, list []wave) {
	n, env := uint(0), c.env
	var loud [scan]uint8
	for k := range list {
		w := &list[k]
		if time := w.end - w.from; time < decays {
			env *= c.decs[time]
		} else {
			env *= math.Pow(c.dec, float64(time))
		}
		// Which are loud is as hard to guess.
		var is, heard uint
		if w.peak >= loudPart*env {
			is = 1
		}
		if w.peak > lowest {
			heard = 1
		}
		loud[n%scan] = uint8(k)
		n += is & heard
		env = max(env, w.peak)
	}
	c.env = env
	for _, k := range loud[:n] {
		c.halfWave(x, &list[k])
	}
}

// halfWave looks at a loud one.
func (c *Channel) halfWave(x []float64, w *wave) {
	i, j, peak := w.from, w.end, w.peak
	if i < 2 || j+2 > len(x) {
		return
	}
	s, g := &c.sides[0], 1.0
	if !w.up {
		s, g = &c.sides[1], -1
	}
	bin := topBin(peak)
	t := &s.tops[bin]
	t.n++
	wall := s.raise(peak, c.o.Step)
	c.heights(x, i, j, peak, wall, g, s, t)
	over, over80 := t.upperTenth(x, i, j, w.at, peak, g)
	if s.rises[bin].take(over, over80); s.rises[bin].full() {
		s.settle(bin)
	}
	s.levels[flatBin(peak)]++
	s.bulge[bin][bulgeBin(over)]++
	if j-i >= leastFlat {
		c.findFlats(x, i, j, peak, g, s)
	}
}

// raise notes a peak and returns the level from which samples count as lying at the
// highest value: a wall has many.
func (s *side) raise(peak, step float64) float64 {
	if peak > s.peak+1.2*step {
		if peak > s.peak*(1+1e-6)+1.2*step {
			s.atPeak, s.peakRuns, s.peakLongest, s.wallKinks = 0, 0, 0, 0
		}
		s.peak = peak
	}
	return s.peak*(1-1e-7) - 1.2*step
}

// heights counts the samples of a half-wave by height, sums up how rough it is, and
// finds runs at the wall.
func (c *Channel) heights(x []float64, i, j int, peak, wall, g float64, s *side, t *topSum) {
	p50, p80, p90, p95 := 0.5*peak, 0.8*peak, 0.9*peak, 0.95*peak
	rough, sum := 0.0, 0.0
	fine := c.step > c.o.Step
	run := 0
	a, b := g*x[i-2], g*x[i-1]
	d1, d2 := b-a, 0.0
	n50, n80, n90, n95 := 0, 0, 0, 0
	for k := i; k < j; k++ {
		v := g * x[k]
		d := v - b
		dd := d - d1
		rough += math.Abs(dd - d2)
		sum += v
		if v >= p50 {
			n50++
		}
		if v >= p80 {
			n80++
		}
		if v >= p90 {
			n90++
		}
		if v >= p95 {
			n95++
		}
		if fine && v >= p50 {
			if ad := math.Abs(d); ad > 0 && b > 0 {
				c.grid(ad)
			}
		}
		if v >= wall {
			s.atPeak++
			if run++; run == 2 {
				s.peakRuns++
			}
			s.peakLongest = max(s.peakLongest, run)
		} else {
			if run >= 2 {
				c.wallRun(x, k-run, k, g, s)
			}
			run = 0
		}
		b, d1, d2 = v, d, dd
	}
	t.n50 += n50
	t.n80 += n80
	t.n90 += n90
	t.n95 += n95
	t.rough += rough
	t.roughTo += sum
}

// grid holds a difference between neighbours against the smallest one met: is it a
// multiple? Once that is no coarser than the file's own code there is nothing to ask.
func (c *Channel) grid(ad float64) {
	if ad < c.step*0.99 {
		c.step, c.onGrid, c.offGrid = ad, 0, 0
	} else if ad < 50*c.step {
		r := ad / c.step
		if math.Abs(r-math.RoundToEven(r)) > 0.12 { // a half is as far from either
			c.offGrid++
		} else {
			c.onGrid++
		}
	}
}

// upperTenth gathers how the half-wave turns over around its top at x[at], and returns
// what parabolas with the slopes at 90 and 80 % would rise to, of the top.
func (t *topSum) upperTenth(x []float64, i, j, at int, peak, g float64) (over, over80 float64) {
	l, r := widen(x, i, j, at, at, g, 0.9*peak)
	m := r - l + 1
	slope := func(k int) float64 { return g * (x[k] - x[k-1]) } // into k
	turn := slope(l) - slope(r+1)
	q := m / 4
	inner := slope(l+q+1) - slope(r-q)
	if m < 3 {
		inner = turn / 2
	}
	pair, into := 0.0, slope(l+1)
	one := slope(l) - into
	for k := l; ; k++ {
		if one > pair {
			pair = one
		}
		if k == r {
			break
		}
		next := slope(k + 2)
		follows := into - next
		if two := one + follows; two > pair {
			pair = two
		}
		into, one = next, follows
	}
	turn, pair = turn/peak, pair/peak
	t.turn += turn
	t.inner += inner / peak
	t.pair += pair
	t.pairLen += pair * float64(m)
	l8, r8 := widen(x, i, j, l, r, g, 0.8*peak)
	return max(1, 0.9+turn*float64(m)/8), max(0.8, 0.8+(slope(l8)-slope(r8+1))/peak*float64(r8-l8+1)/8)
}

// widen goes from x[l] and x[r] outwards, within x[i:j], as long as samples are at
// least so high.
func widen(x []float64, i, j, l, r int, g, height float64) (int, int) {
	for l > i && g*x[l-1] >= height {
		l--
	}
	for r+1 < j && g*x[r+1] >= height {
		r++
	}
	return l, r
}

// codes is the distance between codes near the tops: the file's, or a coarser one
// that all differences there are multiples of, as a logarithmic code leaves it.
func (c *Channel) codes() float64 {
	if math.IsInf(c.step, 1) || c.offGrid*8 > c.onGrid {
		return c.o.Step
	}
	return max(c.o.Step, c.step)
}

// wallRun looks at the ends of x[a:b], which lies at the side's highest value.
func (c *Channel) wallRun(x []float64, a, b int, g float64, s *side) {
	if b+1 >= len(x) {
		return
	}
	v := g * x[a]
	e := max(v-g*x[a-1], g*x[a-1]-g*x[a-2])
	f := max(v-g*x[b], g*x[b]-g*x[b+1])
	if min(e, f) >= max(cornerPart*v, 6*c.o.Step) {
		s.wallKinks++
		c.places.add(c.start+int64((a+b)/2), 20*math.Log10(1+(e+f)*float64(b-a)/8/v))
	}
}

// finish looks at what is left.
func (c *Channel) finish() {
	if c.blockN > 0 && c.blockPeak > lowest {
		c.slots.block(c.total, c.blockPeak)
	}
	if n := len(c.buf); n > 0 && n+2 <= cap(c.buf) {
		c.buf = append(c.buf, c.buf[n-1], c.buf[n-1])
		c.look(true)
		c.buf = c.buf[:0]
		c.places.complete(c.total, true)
		for k := range c.sides {
			c.sides[k].flats.settle(c.sides[k].peak)
		}
	}
}
