package identify

import (
	"math"
	"slices"
)

const (
	envelopeRate = 50   // values a second
	leastFlat    = 3    // samples at the ceiling that make a flat top
	flatCorner   = 4    // how much steeper a wave climbs to a flat top than it wanders on it
	ceilingBins  = 4096 // of 0.02 dB, downwards from +6 dB
	ceilingBin   = 0.02
	ceilingTop   = 6.0
	silentDBFS   = -100.0 // rms under which nothing is told
)

// A Survey is what one recording tells alone.
type Survey struct {
	Format
	Frames   int64
	High     float64 // the highest sample
	Low      float64 // the lowest
	DC       float64
	Offset   float64   // the mean where it is quietest: what is loud may have one of its own
	Noise    float64   // rms of the quietest tenth of 100 ms stretches that are not digital silence
	Envelope []float32 // rms in dB of a full-scale sine, fifty a second
	Ceiling  Ceiling
	Bent     bool    // the highest half-waves are wide at the top, as a stage that bends makes them
	BentBy   float64 // how far over the peak such a stage would stop, dB
	Bits     int     // length of the words that are really used; 0 where that cannot be said
}

// A Ceiling is a level that the wave reaches and does not pass. Hard ones only: a stage
// that bends before it stops leaves no flat tops.
type Ceiling struct {
	Level    float64 // magnitude; 0 if none was found
	Up, Down int     // flat tops at it, of the upper and the lower half-waves
	Beside   int     // within 2 dB below it: where these are many a stage bends before it stops
}

// Found tells whether there is one: a top or two are chance.
func (c Ceiling) Found() bool { return c.Up+c.Down >= 3 }

// Peak is the largest magnitude.
func (s *Survey) Peak() float64 { return max(s.High, -s.Low) }

// Seconds is the length.
func (s *Survey) Seconds() float64 { return float64(s.Frames) / float64(s.Rate) }

// dB is the level of a magnitude, with a floor for silence.
func dB(v float64) float64 { return 20 * math.Log10(max(v, 1e-12)) }

func fromDB(d float64) float64 { return math.Pow(10, d/20) }

// Look surveys a recording. What is not finite is a Fault.
func Look(r Recording, f Format) (*Survey, error) {
	if f.Rate < MinRate || f.Rate > MaxRate {
		return nil, faultf("%d Hz cannot be compared: %d to %d Hz can", f.Rate, MinRate, MaxRate)
	}
	s := &Survey{Format: f}
	tops := &topCounter{step: f.Step}
	shapes := &waveShapes{}
	words := &wordLength{step: f.Step}
	hop := max(1, f.Rate/envelopeRate)
	sum, n, mean := 0.0, 0, 0.0
	var means []float32 // of as much as a value of the envelope
	part := 0.0
	err := stream(r, func(begun int64, x []float64) error {
		for i, v := range x {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return faultf("holds a value that is no number at %.2f s", float64(begun+int64(i))/float64(f.Rate))
			}
			s.High, s.Low = max(s.High, v), min(s.Low, v)
			mean += v
			words.add(v)
			sum += v * v
			part += v
			if n++; n == hop {
				means = append(means, float32(part/float64(hop)))
				part = 0
				s.Envelope = append(s.Envelope, float32(dB(math.Sqrt(2*sum/float64(n)))))
				sum, n = 0, 0
			}
		}
		s.Frames += int64(len(x))
		tops.write(x)
		shapes.write(x)
		return nil
	})
	if err != nil {
		return nil, err
	}
	if s.Frames == 0 {
		return nil, Fault("holds no samples")
	}
	s.DC = mean / float64(s.Frames)
	s.Noise = s.quietest()
	s.Offset = s.offset(means)
	s.Bits = words.bits()
	s.Ceiling = tops.ceiling(s.High, -s.Low)
	s.BentBy, s.Bent = shapes.bent(s.Peak())
	if s.Seconds() < 1 {
		return nil, faultf("is %.2f s long: at least one second is needed", s.Seconds())
	}
	if dB(s.Peak()) < silentDBFS {
		return nil, Fault("is silent")
	}
	return s, nil
}

// quietest is the rms of the quietest tenth, DC taken out.
func (s *Survey) quietest() float64 {
	var list []float64
	for i := 0; i+5 <= len(s.Envelope); i += 5 {
		p := 0.0
		for _, e := range s.Envelope[i : i+5] {
			p += math.Pow(10, float64(e)/10) / 2 / 5
		}
		if p -= s.DC * s.DC; p > 1e-20 {
			list = append(list, p)
		}
	}
	if len(list) == 0 {
		return 0
	}
	slices.Sort(list)
	return math.Sqrt(list[len(list)/10])
}

// offset is the mean of what lies in the quietest tenth.
func (s *Survey) offset(means []float32) float64 {
	if len(means) == 0 {
		return s.DC
	}
	e := slices.Clone(s.Envelope)
	slices.Sort(e)
	limit := e[len(e)/10]
	sum, n := 0.0, 0.0
	for i, m := range means {
		if s.Envelope[i] <= limit {
			sum += float64(m)
			n++
		}
	}
	return sum / n
}

// topCounter looks for flat tops at any level, so that a ceiling below full scale is
// found too.
type topCounter struct {
	step float64
	tail []float64
	up   [ceilingBins]int32
	down [ceilingBins]int32
}

func ceilingOf(v float64) int {
	return min(max(int((ceilingTop-dB(v))/ceilingBin), 0), ceilingBins-1)
}

func (c *topCounter) write(x []float64) {
	c.tail = append(c.tail, x...)
	const keep = 4096
	t := c.tail
	i := 2
	for i < len(t)-2 {
		end, level, sure := flatAt(t, i, c.step, 0)
		if !sure && end >= len(t)-3 && end-i < keep/2 && i > 2 {
			break // it may go on
		}
		if sure {
			if level > 0 {
				c.up[ceilingOf(level)]++
			} else {
				c.down[ceilingOf(-level)]++
			}
		}
		i = max(end, i+1)
	}
	from := max(0, min(i, len(t)-2)-2)
	c.tail = append(t[:0], t[from:]...)
}

// flatAt tells whether a flat top begins at sample i of t: samples that stay within
// slack (at least a step and a half, or 0.03 %) of the first, with a corner at either
// end. end is where the run of like samples stops.
func flatAt(t []float64, i int, step, slack float64) (end int, level float64, sure bool) {
	v := t[i]
	g := math.Abs(v)
	if g < 1e-4 {
		return i + 1, 0, false
	}
	may := max(1.5*step, 3e-4*g, min(1.5e-4, 1.5e-3*g), slack)
	lo, hi := v, v
	for end = i + 1; end < len(t); end++ {
		l, h := min(lo, t[end]), max(hi, t[end])
		if h-l > may {
			break
		}
		lo, hi = l, h
	}
	n := end - i
	if n < leastFlat || i < 2 || end+1 >= len(t) {
		return end, 0, false
	}
	sign := math.Copysign(1, v)
	in := sign * max(sign*(t[i]-t[i-1]), sign*(t[i-1]-t[i-2]))
	out := sign * max(sign*(t[end-1]-t[end]), sign*(t[end]-t[end+1]))
	least := max(flatCorner*(hi-lo), 4*step, 5e-3*g)
	if sign*(t[i]-t[i-1]) <= 0 || sign*(t[end-1]-t[end]) <= 0 || min(sign*in, sign*out) < least {
		return end, 0, false
	}
	return end, sign * max(sign*lo, sign*hi), true
}

// ceiling is the level near either peak at which most flat tops lie.
func (c *topCounter) ceiling(high, low float64) Ceiling {
	up, nu, bu := ceilingIn(&c.up, high)
	down, nd, bd := ceilingIn(&c.down, low)
	if nu > 0 && nd > 0 && math.Abs(dB(up/down)) < 0.1 {
		level := up
		if nd > nu {
			level = down
		}
		return Ceiling{Level: level, Up: nu, Down: nd, Beside: bu + bd}
	}
	// What differs on either side stops first at the lower, if that is more than chance.
	least := max(3, max(nu, nd)/20)
	if nd < least || nu >= least && up < down {
		return Ceiling{Level: up, Up: nu, Beside: bu}
	}
	return Ceiling{Level: down, Down: nd, Beside: bd}
}

// ceilingIn looks for the ceiling of one side, whose largest magnitude is peak: the level
// of most flat tops, how many lie there, and how many within 2 dB below.
func ceilingIn(tops *[ceilingBins]int32, peak float64) (level float64, n, beside int) {
	if peak <= 0 {
		return 0, 0, 0
	}
	best, at := int32(0), 0
	for i := ceilingOf(peak * 1.003); i < min(ceilingOf(peak*0.5), ceilingBins-3); i++ {
		if k := tops[i] + tops[i+1] + tops[i+2]; k > best {
			best, at = k, i
		}
	}
	if best == 0 {
		return 0, 0, 0
	}
	top := at
	for k := at; k < at+3; k++ {
		if tops[k] > tops[top] {
			top = k
		}
	}
	for k := at + 3; k < min(at+100, ceilingBins); k++ {
		beside += int(tops[k])
	}
	level = fromDB(ceilingTop - (float64(top)+0.5)*ceilingBin)
	if math.Abs(dB(level/peak)) < 2*ceilingBin {
		level = peak
	}
	return level, int(best), beside
}

// waveShapes are the half-waves of a recording by their level and by how wide they are at
// the top: the part over 97 % of the top as a part of that over half of it, which is 0.23 for
// a sine (arccos 0.97 / arccos 0.5). A stage that bends makes the highest wider than lower
// ones of the same sound, and there are many of them, since what should be higher lies there,
// too.
type waveShapes struct {
	sign float64
	half []float64
	of   [shapeBins][widthBins]int32
}

const (
	shapeBins  = 256 // of 0.25 dB, downwards from +6 dB
	shapeBin   = 0.25
	widthBins  = 25 // of 0.02
	widthBin   = 0.02
	leastHalf  = 8 // samples over half the top
	leastTops  = 30
	bentWidth  = 0.2
	bentWider  = 1.5
	bentPileUp = 0.1
)

func (w *waveShapes) write(x []float64) {
	for _, v := range x {
		if v*w.sign <= 0 || len(w.half) >= 1<<12 {
			w.end()
			w.sign = math.Copysign(1, v)
		}
		w.half = append(w.half, math.Abs(v))
	}
}

func (w *waveShapes) end() {
	top := 0.0
	for _, v := range w.half {
		top = max(top, v)
	}
	over, upper := 0, 0
	for _, v := range w.half {
		if v >= 0.5*top {
			over++
		}
		if v >= 0.97*top {
			upper++
		}
	}
	w.half = w.half[:0]
	if over < leastHalf || top < 1e-3 {
		return
	}
	width := float64(upper) / float64(over)
	w.of[shapeOf(dB(top))][min(int(width/widthBin), widthBins-1)]++
}

// shapeOf is the bin of a level.
func shapeOf(level float64) int {
	return min(max(int((ceilingTop-level)/shapeBin), 0), shapeBins-1)
}

// between gives the number and the median width of half-waves from so many dB under a level
// to so many.
func (w *waveShapes) between(level, from, to float64) (n int, median float64) {
	var sum [widthBins]int
	for k := shapeOf(level - from); k < shapeOf(level-to); k++ {
		for i, c := range w.of[k] {
			sum[i] += int(c)
			n += int(c)
		}
	}
	half := 0
	for i, c := range sum {
		if half += c; 2*half > n {
			return n, (float64(i) + 0.5) * widthBin
		}
	}
	return n, 0
}

// bent tells whether the highest half-waves are wide and many; and if so how far over the
// peak the level lies that the stage would stop at. The more half-waves are crowded within
// the last decibel, against the third, the nearer it is: by a curve chosen on emulated stages.
func (w *waveShapes) bent(peak float64) (over float64, ok bool) {
	n, width := w.between(dB(peak), 0, 1)
	below, _ := w.between(dB(peak), 2, 3)
	more, usual := w.between(dB(peak), 8, 16)
	if more < leastTops {
		usual = 0.23
	}
	if n < leastTops || width <= max(bentWidth, bentWider*usual) || float64(n) < bentPileUp*float64(below) {
		return 0, false
	}
	return 0.8 * math.Exp(-3.1*float64(n)/float64(max(below, 1))), true
}
