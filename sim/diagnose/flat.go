package diagnose

import (
	"math"
)

// A cut wave climbs steeply, goes straight, and falls steeply. A wave that no
// ceiling touched is smooth: its slope changes little by little. What decides is
// therefore how far the slope turns at the corners against how much it varies
// between them, whatever the level. A gain that moves after the cut, or a
// high-pass filter, tilts the straight part and leaves the corners.
const (
	leastFlat  = 4    // samples
	cornerFold = 14.0 // turn at the corners over variation between them
	cornerPart = 0.012
	upperPart  = 0.45 // of the half-wave's top, above which straight parts count
	farPart    = 0.12 // of the side's peak, below which none count
	ceilPart   = 0.9  // and of what lies within its surroundings
)

const (
	flatBins   = 20 * 64 // 64 an octave: 0.07 to 0.13 dB
	flatBase   = (1023 + lowOctave) << 6
	excessBins = 256
	excessPer  = 10 // bins a dB
	tiltBins   = 401
	mostWorst  = 24
)

// flatSum gathers straight tops.
type flatSum struct {
	n, samples, longest int
	levels              [flatBins]int32
	tilts               [tiltBins]int32 // of the level, % a millisecond, in steps of 0.5, middle 0
	excess              [excessBins]int32
	worst               float64 // dB that the highest would have risen
	worstAt             int64
}

func flatBin(v float64) int {
	return min(max(int(math.Float64bits(v)>>46)-flatBase, 0), flatBins-1)
}

func flatEdge(i int) float64 { return math.Float64frombits(uint64(i+flatBase) << 46) }

// findFlats looks for a straight top in the half-wave x[i:j].
func (c *Channel) findFlats(x []float64, i, j int, peak, g float64, s *side) {
	floor := upperPart * peak
	q := c.codes()
	tol := 2.2 * q
	small := cornerPart * peak
	steep := max(small, 4*q)
	for k := i; k+leastFlat <= j; k++ {
		near := x[k-2 : k+2]
		v := g * near[2]
		if v < floor {
			continue
		}
		e := v - g*near[1]
		if before := g*near[1] - g*near[0]; before > e {
			e = before
		}
		if e < steep {
			continue
		}
		d := g * (near[3] - near[2])
		if math.Abs(d) > e/4+q {
			continue
		}
		may := max(e/cornerFold, tol)
		m, lo, hi := straightTo(x, k, j, g, may)
		n := m - k + 1
		if n < leastFlat || m+2 >= len(x) {
			continue
		}
		mean := g * (x[m] - x[k]) / float64(n-1)
		f := max(g*(x[m]-x[m+1]), g*(x[m+1]-x[m+2]))
		corner := min(e-mean, f+mean)
		vary := max(hi-lo, 0)
		// Steps of the file's own codes vary by one or two without meaning it.
		if corner < small || corner < cornerFold*max(vary-tol, 0) || corner < 4*vary && vary > tol ||
			corner*float64(n) < 24*q || math.Abs(mean) > corner/4 {
			k = m - 1
			continue
		}
		level := g * (x[k] + x[m]) / 2
		// A ceiling holds for its surroundings.
		top := peak
		for _, w := range x[max(0, i-300):min(len(x), j+300)] {
			top = max(top, g*w)
		}
		if level < ceilPart*top && v < ceilPart*top || level < farPart*s.peak {
			k = m - 1
			continue
		}
		tilt := 100 * mean / max(level, lowest) * c.rate / 1000
		// A cubic through the corners with the slopes they had would rise this far.
		ex := (e + f) * float64(n) / 8 / max(level, lowest)
		db := 20 * math.Log10(1+ex)
		s.flats.add(c.start+int64(k+n/2), n, level, tilt, db)
		c.slots.flat(c.start+int64(k), n, db)
		c.places.add(c.start+int64(k+n/2), db)
		if c.collect != nil {
			from := int(c.start) + k
			c.collect(run{max(from, 0), from + n, g > 0})
		}
		k = m
	}
}

// straightTo follows a line from sample k, at the most to j, as long as its steps
// differ by no more than may; lo and hi are the least and the largest of them.
func straightTo(x []float64, k, j int, g, may float64) (m int, lo, hi float64) {
	lo = g * (x[k+1] - x[k])
	hi = lo
	for m = k + 1; m+1 < j; m++ {
		d := g * (x[m+1] - x[m])
		l, h := min(lo, d), max(hi, d)
		if h-l > may {
			break
		}
		lo, hi = l, h
	}
	return m, lo, hi
}

// add counts one flat top of n samples about frame at: its level, its tilt in percent
// a millisecond, and by how many dB the wave would have gone beyond it.
func (f *flatSum) add(at int64, n int, level, tilt, db float64) {
	f.n++
	f.samples += n
	f.longest = max(f.longest, n)
	if level > 0 {
		f.levels[flatBin(level)]++
	}
	f.tilts[min(max(int(math.Round(tilt*2))+tiltBins/2, 0), tiltBins-1)]++
	f.excess[min(int(db*excessPer), excessBins-1)]++
	if db >= f.worst {
		f.worst, f.worstAt = db, at
	}
}

// settle leaves only the straight tops that are not far below the side's peak: at
// the beginning, and in silence, what is quiet passes for loud.
func (f *flatSum) settle(peak float64) {
	floor := flatBin(max(farPart*peak, lowest))
	for i := range f.levels[:floor] {
		f.n -= int(f.levels[i])
		f.levels[i] = 0
	}
	f.n = max(f.n, 0)
}

// mode returns the level at which most straight tops lie, and the share of them
// within ±0.15 dB of it.
func (f *flatSum) mode() (level, share float64) {
	if f.n == 0 {
		return 0, 0
	}
	best, at := int32(0), 0
	for i := 1; i+1 < flatBins; i++ {
		if s := f.levels[i-1] + f.levels[i] + f.levels[i+1]; s > best || s == best && f.levels[i] > f.levels[at] {
			best, at = s, i
		}
	}
	sum, n := 0.0, 0.0
	for i := at - 1; i <= at+1; i++ {
		k := float64(f.levels[i])
		sum += k * (flatEdge(i) + flatEdge(i+1)) / 2
		n += k
	}
	return sum / max(n, 1), float64(best) / float64(f.n)
}

// tilt returns the median slope of the straight tops, % of their level a
// millisecond; negative towards zero.
func (f *flatSum) tilt() float64 {
	n := int32(0)
	for i, k := range f.tilts {
		if n += k; int(n)*2 >= f.n && f.n > 0 {
			return float64(i-tiltBins/2) / 2
		}
	}
	return 0
}

// rise returns the height in dB that a share of the straight tops, had they gone
// on, would have passed.
func (f *flatSum) rise(share float64) float64 {
	want := share * float64(f.n)
	for i := excessBins - 1; i >= 0; i-- {
		n := float64(f.excess[i])
		if n > 0 && n >= want {
			return (float64(i) + 1 - want/n) / excessPer
		}
		want -= n
	}
	return 0
}
