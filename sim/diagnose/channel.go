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

func sampleBin(bits uint64) int {
	return min(max(int(bits>>45)-sampleBase, 0), sampleBins-1)
}

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

// side is what is gathered about one polarity.
type side struct {
	samples []int64 // sampleBins counts, of the Channel's
	tops    [topBins]topSum
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
	blockBins        [topBins]int64
	slots            slots
	tones            *tones
	bands            *bands
	stats            *meter.Stats
	places           *places
	collect          func(run) // called with every straight top, or nil
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
		top, low = c.count(x[at:at+n], low)
		at += n
		c.blockPeak = max(c.blockPeak, math.Float64frombits(top))
		if c.blockN += n; c.blockN == c.blockLen {
			if c.blockPeak > lowest {
				c.blockBins[topBin(c.blockPeak)]++
			}
			c.slots.block(c.total+int64(at)-1, c.blockPeak)
			c.blockN, c.blockPeak = 0, 0
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
// low. It returns the largest magnitude, as bits. All that waits for the last sample is
// two sums; a branch by sign or level would be guessed wrong in noise.
func (c *Channel) count(x []float64, low float64) (uint64, float64) {
	sum, top := c.sum, uint64(0)
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
		sum += v
		low += v
	}
	c.sum = sum
	return top, low
}

// look goes through the half-waves of the buffer and keeps its end.
func (c *Channel) look(last bool) {
	x := c.buf
	limit := len(x) - margin
	if last {
		limit = len(x) - 2
	}
	i := c.next
	dc := 0.0
	if c.total > 0 {
		dc = c.sum / float64(c.total)
	}
	end := len(x)
	if last {
		end -= 2
	}
	for i < limit {
		up := x[i] > dc
		j, peak, at := i, 0.0, i
		if up {
			for j < end && x[j] > dc {
				if x[j] > peak {
					peak, at = x[j], j
				}
				j++
			}
		} else {
			for j < end && x[j] <= dc {
				if -x[j] > peak {
					peak, at = -x[j], j
				}
				j++
			}
		}
		if j == end && !last && j-i < margin {
			break // it may go on
		}
		c.halfWave(x, i, j, at, peak, up)
		i = j
	}
	keep := max(0, i-16)
	n := copy(x, x[keep:])
	c.buf = x[:n]
	c.start += int64(keep)
	c.next = i - keep
}

// halfWave looks at x[i:j], which lies on one side of zero.
func (c *Channel) halfWave(x []float64, i, j, at int, peak float64, up bool) {
	if n := j - i; n < decays {
		c.env *= c.decs[n]
	} else {
		c.env *= math.Pow(c.dec, float64(n))
	}
	loud := peak >= loudPart*c.env && peak > lowest
	c.env = max(c.env, peak)
	if !loud || i < 2 || j+2 > len(x) {
		return
	}
	s, g := &c.sides[0], 1.0
	if !up {
		s, g = &c.sides[1], -1
	}
	var t topSum
	t.n = 1
	wall := s.raise(peak, c.o.Step)
	c.heights(x, i, j, peak, wall, g, s, &t)
	t.upperTenth(x, i, j, at, peak, g)
	bin := topBin(peak)
	s.tops[bin].add(&t)
	s.bulge[bin][min(int(t.rise*bulgePer), bulgeBins-1)]++
	c.findFlats(x, i, j, peak, g, s)
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
	for k := i; k < j; k++ {
		v := g * x[k]
		d := v - b
		dd := d - d1
		rough += math.Abs(dd - d2)
		sum += v
		if v >= p50 {
			t.n50++
			if ad := math.Abs(d); fine && ad > 0 && b > 0 {
				c.grid(ad)
			}
			if v >= p80 {
				t.n80++
				if v >= p90 {
					t.n90++
					if v >= p95 {
						t.n95++
					}
				}
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
	t.rough, t.roughTo = rough, sum
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

// upperTenth gathers how the half-wave turns over around its top at x[at].
func (t *topSum) upperTenth(x []float64, i, j, at int, peak, g float64) {
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
	t.turn, t.inner, t.pair = turn/peak, inner/peak, pair/peak
	t.pairLen = t.pair * float64(m)
	if over := 0.9 + t.turn*float64(m)/8; over > 1 {
		t.rise = 20 * math.Log10(over)
	}
	l8, r8 := widen(x, i, j, l, r, g, 0.8*peak)
	t.rise80 = 20 * math.Log10(max(0.8, 0.8+(slope(l8)-slope(r8+1))/peak*float64(r8-l8+1)/8))
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
