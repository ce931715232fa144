package meter

import "math"

// A Pair tells whether two channels hold the same sound: not the same samples, since
// a lossy coder gives each channel a noise of its own, and so do two inputs that one
// microphone is led to. Its memory does not depend on how long the recording is. It is
// not safe for use by several goroutines at once.
//
// The numbers are choices. What they were chosen by, measured with 15 s of built-in
// talkers at 48 kHz through libmp3lame (48 to 192 kbit/s, joint stereo and not),
// libshine, libvorbis (quality −1 to 8), ffmpeg's aac (32 to 160 kbit/s) and libopus
// (32 to 128 kbit/s), d = l−r over m = (l+r)/2 in rms, along m, and along its slope in
// samples:
//
//	                     d/m                along m         slope    loud second
//	equal, MP3, Vorbis   0                  0               0        0
//	equal, Opus          ≤ −42 dB           ≤ 0.0001        ≤ 0.001  ≤ −39 dB
//	equal, AAC           ≤ −17 dB           ≤ 0.0001        ≤ 0.002  ≤ −14 dB
//	equal, AAC, no M/S   ≤ −14 dB           ≤ 0.0041        ≤ 0.023  ≤ −13 dB
//	two inputs' noise    ≤ −12 dB           ≤ 0.0029        ≤ 0.019  ≤ −9 dB (but AAC of 32 kbit/s)
//	0.5 dB apart         −28 to −12 dB      0.017 to 0.080
//	a sample apart       −20 to −8 dB                       ≥ 0.2
//	two microphones      ≥ −8 dB
//
// So the level of the rest alone would not tell a coder's noise from a difference in
// gain or time, but its likeness to m does. One channel clipped by 0.5 to 3 dB leaves
// −59 to −12 dB, and only at the tops: it is found by these, in WAV, MP3 and Vorbis from
// 1 dB, in AAC from 3 dB; under that the coder's own noise hides it.
type Pair struct {
	differ     bool
	mm, dd, md float64 // Σm², Σd², Σmd
	// The same of the slope of m and of d beside it, both smoothed: up to 1 kHz or so
	// coders keep the time.
	gg, eg, low, lowD float64
	smooth            float64

	window int64
	n      int64
	wm, wd float64             // of this second
	worst  [pairLevels]float64 // the highest d²/m² of seconds by their level
	// By the level of m: of this second, and of all.
	second, tops levels
	cut          [pairLevels]bool // seconds of a level with one channel cut
}

const (
	pairLevels = 160 // bins of 1 dB below +20 dB
	pairTops   = 20 * 16
	pairBase   = (1023 - 16) << 4 // bin 0 begins at 2^-16; sixteen bins an octave

	pairMost   = 0.06  // d²/m² in all: −12 dB
	pairSecond = 0.125 // and in a loud second: −9 dB
	pairLoud   = 20    // dB below the loudest second
	pairGain   = 0.005 // a difference of 0.04 dB
	pairShift  = 0.05  // samples
	pairSix    = 16    // bins: 6 dB
	pairBend   = 0.01  // of the level
	pairFew    = 4     // samples that tell nothing
	pairLikely = 4     // standard errors
	pairSure   = 12
)

// A pairTop gathers d in the direction of m where |m| is of about one level.
type pairTop struct {
	n       float64
	sum, sq float64
}

func (t *pairTop) add(o *pairTop) {
	t.n += o.n
	t.sum += o.sum
	t.sq += o.sq
}

type levels [pairTops]pairTop

// NewPair returns a Pair for a sample rate in Hz, from 1.
func NewPair(rate int) *Pair {
	return &Pair{window: int64(max(rate, 1)), smooth: 1 - math.Exp(-2*math.Pi*1000/float64(max(rate, 1)))}
}

// Write feeds as many samples of either channel; it panics if they are not as many.
func (p *Pair) Write(l, r []float64) {
	if len(l) != len(r) {
		panic("meter: channels of unequal length")
	}
	for len(l) > 0 {
		n := int(min(int64(len(l)), p.window-p.n))
		p.add(l[:n], r[:n])
		l, r = l[n:], r[n:]
		if p.n += int64(n); p.n == p.window {
			p.endSecond()
		}
	}
}

// add takes samples of one second.
func (p *Pair) add(l, r []float64) {
	// In variables of their own, sums need not go through memory.
	differ, smooth, keep, low, lowD := p.differ, p.smooth, 1-p.smooth, p.low, p.lowD
	gg, eg, md, wm, wd := p.gg, p.eg, p.md, p.wm, p.wd
	r = r[:len(l)]
	for i, a := range l {
		b := r[i]
		m, d := (a+b)/2, a-b
		differ = differ || d != 0
		p.second.at(m, d)
		was, wasD := low, lowD
		low = keep*was + smooth*m // not was + smooth·(m−was): that waits longer
		lowD = keep*wasD + smooth*d
		g := low - was
		gg += g * g
		eg += g * (lowD + wasD) / 2
		md += m * d
		wm += m * m
		wd += d * d
	}
	p.differ, p.low, p.lowD = differ, low, lowD
	p.gg, p.eg, p.md, p.wm, p.wd = gg, eg, md, wm, wd
}

// at adds d, in the direction of m, at the level of m.
func (l *levels) at(m, d float64) {
	k := int(math.Float64bits(math.Abs(m))>>48) - pairBase
	if k < 0 {
		return
	}
	// With the sign of m: a branch would be guessed wrong half the time.
	d = math.Float64frombits(math.Float64bits(d) ^ math.Float64bits(m)&(1<<63))
	t := &l[min(k, pairTops-1)]
	t.n++
	t.sum += d
	t.sq += d * d
}

func (p *Pair) endSecond() {
	if p.wm > 0 && p.n > p.window/4 {
		level := 10 * math.Log10(p.wm/float64(p.n))
		k := min(max(int(20-level), 0), pairLevels-1)
		p.worst[k] = max(p.worst[k], p.wd/p.wm, math.SmallestNonzeroFloat64)
		// One of thousands of seconds must be beyond all doubt.
		p.cut[k] = p.cut[k] || p.second.bent(pairSure)
	}
	p.mm += p.wm
	p.dd += p.wd
	p.wm, p.wd, p.n = 0, 0, 0
	for k := range p.tops {
		p.tops[k].add(&p.second[k])
	}
	p.second = levels{}
}

// Same tells whether the two are one sound. It ends the second that was begun.
func (p *Pair) Same() bool {
	if !p.differ {
		return true
	}
	p.endSecond()
	return p.dd <= pairMost*p.mm &&
		math.Abs(p.md) <= pairGain*p.mm && math.Abs(p.eg) <= pairShift*p.gg &&
		!p.apart() && !p.tops.bent(pairLikely)
}

// apart tells whether the channels differ in a loud second: somebody has a microphone
// of his own, but seldom speaks; or one of them was cut there.
func (p *Pair) apart() bool {
	loud := -1
	for k, v := range p.worst {
		if v > 0 && loud < 0 {
			loud = k
		}
		if loud >= 0 && k <= loud+pairLoud && (v > pairSecond || p.cut[k]) {
			return true
		}
	}
	return false
}

// bent tells whether the highest tops of one channel are systematically lower than
// the other's: it was clipped, or limited. A coder's noise has either sign; how much
// of it there is at levels like these is taken from the 6 dB under the upper 6 dB.
func (l *levels) bent(errors float64) bool {
	high := pairTops - 1
	for high > 0 && l[high].n == 0 {
		high--
	}
	var under pairTop
	for k := max(0, high-2*pairSix+1); k <= high-pairSix; k++ {
		under.add(&l[k])
	}
	noise := math.Sqrt(under.sq / max(under.n, 1))
	n, sum := 0.0, 0.0
	for k := high; k >= 0 && k > high-pairSix; k-- {
		n += l[k].n
		sum += l[k].sum
		level := math.Float64frombits(uint64(k+pairBase) << 48)
		// Neighbouring samples are no independent draws: one of four counts.
		if n >= pairFew && math.Abs(sum/n) > pairBend*level+errors*noise/math.Sqrt(n/4) {
			return true
		}
	}
	return false
}
