package diagnose

import (
	"math"
)

// Features of one polarity of a channel: what the classifier looks at. None has a
// level in it, so that a fader moved later changes none of them.
type Features [featureCount]float64

const (
	fTail4    = iota // dB between the levels that 1 in 10⁴ and 1 in 10³ samples pass
	fTail3           // the same for 10³ and 10²
	fTail2           // and for 10² and 10
	fPile            // ln of samples in the upper 6 % of the level R over those in the next 6 %
	fPile2           // ln of those in the upper 12 % over those in the next 12 %
	fSquare          // width of the tops near R at 90 % over that at half height
	fSquareUp        // how much more that is than in tops of half the level
	fBlunt           // the same at 95 and 80 %
	fBluntUp         //
	fInner           // share of the top's turn in its inner half, near R
	fInnerUp         // less than in tops of half the level
	fKink            // ln of the sharpest turn against an even one, near R
	fKinkUp          // against that in tops of half the level
	fRough           // ln of third differences over level, near R against half the level
	fTops5           // dB between the tops that 1 and 5 % pass
	fTops20          // 5 and 20 %
	fBlocks2         // dB between the 10 ms peaks that ½ and 2 % pass
	fBlocks10        // 2 and 10 %
	fBlocks30        // 10 and 30 %
	fCrest           // dB of R over the rms while somebody speaks
	fEdge            // where the spectrum ends, ln of it over 8 kHz
	fRange           // ln of the tops near R over those 3 to 6 dB lower
	fFlat            // ln of straight tops a hundred tops near R
	fMode            // share of them at one level, about a half where there are none
	fTilt            // how they lean towards zero, % of their level a millisecond, at most 40; over 40
	fFlats           // ln of how many there are
	fStep            // ln of the steps near the tops over R: codes that are far apart
	fTouch           // ln of samples in the upper 1½ % under the highest one over those in the next 3 %
	fTouches         // ln of how many those are
	fBlocks60        // dB between the 10 ms peaks that 30 and 60 % pass
	fRise            // dB that a parabola with the slopes at 90 % would rise over the tops near R
	fRiseUp          // that much more than over tops of half the level
	fRise80          // the same for the slopes at 80 %
	fRise80Up
	fSpike       // share of the tops from 2 dB under R on that lie within one 0.3 dB
	fSpikeAt     // how far in dB that lies under the highest one
	fPast        // share of them that go beyond it
	fLean        // dB by which R is above that of the other half, or below
	fLeanUp      // how much more that is, with its sign, than where a fifth of the tops pass
	fEven        // by how much the halves come nearer to each other in their highest tops
	fThin        // mean ln of peak over mean in 10 ms about as loud as R
	fThinUp      // less that at about half of it
	fLossy       // 1 where the file's own format is a lossy one
	fWall        // 1 where the half ends in a wall
	fCorners     // share of the tops at the highest one's level that are cut with corners
	fUnder       // ln of the tops 0.1 to 0.6 dB under the highest one over those nearer to it
	fProfile     // the first of the profile (profile.go)
	featureCount = fProfile + profileCount
)

// view is one polarity with its reference level.
type view struct {
	s     *side
	n     float64 // samples that count
	r     float64 // level R
	tops  []int64
	topN  float64
	close topSum // near R
	below topSum // at half of it
}

func (c *Channel) view(k int) view {
	v := view{s: &c.sides[k]}
	floor := max(0.02*v.s.peak, lowest)
	var counts []int64
	for i, n := range v.s.samples {
		if sampleEdge(i) >= floor {
			v.n += float64(n)
		}
	}
	counts = v.s.samples[:]
	v.r = passed(counts, sampleEdge, max(8, 5e-5*v.n))
	v.tops = make([]int64, topBins)
	for i := range v.s.tops {
		v.s.settle(i)
		v.tops[i] = int64(v.s.tops[i].n)
		v.topN += float64(v.tops[i])
		mid := math.Sqrt(topEdge(i) * topEdge(i+1))
		switch {
		case mid >= 0.93*v.r:
			v.close.add(&v.s.tops[i])
		case mid >= 0.3*v.r && mid < 0.6*v.r:
			v.below.add(&v.s.tops[i])
		}
	}
	return v
}

// ratio is a over b, drawn to what is usual where b does not weigh much.
func ratio(a, b, usual, weight float64) float64 { return (a + usual*weight) / (b + weight) }

// What is told of the shape of tops together: see the features of that name.

func (a *topSum) square() float64    { return ratio(float64(a.n90), float64(a.n50), 0.35, 10) }
func (a *topSum) blunt() float64     { return ratio(float64(a.n95), float64(a.n80), 0.5, 10) }
func (a *topSum) innerTurn() float64 { return ratio(a.inner, a.turn, 0.5, 0.3) }
func (a *topSum) kink() float64      { return math.Log(ratio(a.pairLen, a.turn, 3, 0.3)) }
func (a *topSum) rises90() float64   { return ratio(a.rise, float64(a.n), 0.5, 5) }
func (a *topSum) rises80() float64   { return ratio(a.rise80, float64(a.n), 0.5, 5) }

func (a *topSum) roughness(r float64) float64 {
	return math.Log(ratio(a.rough, a.roughTo, 0.01, 0.1*r) + 1e-5)
}

// Features returns those of the upper (0) or lower (1) half of the wave.
func (c *Channel) Features(half int) Features {
	v := c.view(half)
	return c.features(v)
}

func (c *Channel) features(v view) Features {
	var f Features
	level := func(share float64) float64 { return db(passed(v.s.samples[:], sampleEdge, max(2, share*v.n))) }
	l4, l3, l2, l1 := level(1e-4), level(1e-3), level(1e-2), level(1e-1)
	f[fTail4], f[fTail3], f[fTail2] = l4-l3, l3-l2, l2-l1
	count := func(lo, hi float64) float64 {
		s := 0.0
		for i, n := range v.s.samples {
			e := sampleEdge(i)
			if e >= lo*v.r && e < hi*v.r {
				s += float64(n)
			}
		}
		return s + 2
	}
	f[fPile] = math.Log(count(0.94, 9) / count(0.88, 0.94))
	f[fPile2] = math.Log(count(0.88, 9) / count(0.76, 0.88))
	a, b := &v.close, &v.below
	f[fSquare], f[fSquareUp] = a.square(), a.square()-b.square()
	f[fBlunt], f[fBluntUp] = a.blunt(), a.blunt()-b.blunt()
	f[fInner], f[fInnerUp] = a.innerTurn(), b.innerTurn()-a.innerTurn()
	f[fKink], f[fKinkUp] = a.kink(), a.kink()-b.kink()
	f[fRough] = a.roughness(v.r) - b.roughness(v.r)
	top := func(share float64) float64 { return db(passed(v.tops, topEdge, max(2, share*v.topN))) }
	f[fTops5], f[fTops20] = top(0.01)-top(0.05), top(0.05)-top(0.2)
	blockTop := 0
	for i, n := range c.blockBins {
		if n > 0 {
			blockTop = i
		}
	}
	blocks := 0.0
	for i, n := range c.blockBins {
		if topEdge(i) > 0.03*topEdge(blockTop) {
			blocks += float64(n)
		}
	}
	block := func(share float64) float64 { return db(passed(c.blockBins[:], topEdge, max(1.5, share*blocks))) }
	b0, b2, b10, b30 := block(0.005), block(0.02), block(0.1), block(0.3)
	f[fBlocks2], f[fBlocks10], f[fBlocks30] = b0-b2, b2-b10, b10-b30
	f[fCrest] = db(v.r) - c.stats.ActiveDB()
	hz, _ := c.bands.edge()
	f[fEdge] = math.Log(hz / 8000)
	far := topSum{}
	for i := range v.s.tops {
		if e := topEdge(i); e >= 0.5*v.r && e < 0.707*v.r {
			far.add(&v.s.tops[i])
		}
	}
	f[fRange] = math.Log((float64(a.n) + 1) / (float64(far.n) + 1))
	f[fFlat] = math.Log(float64(v.s.flats.n)/(float64(a.n)+20)*100 + 1)
	fl := &v.s.flats
	_, share := fl.mode()
	f[fMode] = ratio(share*float64(fl.n), float64(fl.n), 0.5, 3)
	f[fTilt] = min(max(-fl.tilt(), -20), 40) / 40 * float64(fl.n) / (float64(fl.n) + 3)
	f[fFlats] = math.Log(float64(fl.n) + 1)
	f[fStep] = math.Log(max(c.codes(), 1e-6*v.r) / max(v.r, lowest))
	f[fRise], f[fRiseUp] = a.rises90(), a.rises90()-b.rises90()
	f[fRise80], f[fRise80Up] = a.rises80(), a.rises80()-b.rises80()
	touch, under := 0.0, 0.0
	for i, n := range v.s.samples {
		switch e := sampleEdge(i); {
		case e >= 0.985*v.s.peak:
			touch += float64(n)
		case e >= 0.955*v.s.peak:
			under += float64(n)
		}
	}
	f[fTouch], f[fTouches] = math.Log((touch+1)/(under+1)), math.Log(touch+1)
	f[fBlocks60] = b30 - block(0.6)
	v.held(&f)
	c.leaning(v, &f)
	c.thinning(v.r, &f)
	v.profile(f[fProfile:])
	if c.o.Lossy {
		f[fLossy] = 1
	}
	if c.wall(v.s) {
		f[fWall] = 1
	}
	for i, x := range f {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			f[i] = 0
		}
	}
	return f
}

// held looks for a level that many tops reach and few pass.
func (v view) held(f *Features) {
	const width = 3 // bins
	var n, best, past int32
	at := 0
	for i := flatBin(0.79 * v.r); i < flatBins; i++ {
		n += v.s.levels[i]
		if i < width {
			continue
		}
		if k := v.s.levels[i] + v.s.levels[i-1] + v.s.levels[i-2]; k > best {
			best, at = k, i
		}
	}
	for _, k := range v.s.levels[min(at+1, flatBins):] {
		past += k
	}
	all := float64(n) + 5
	f[fSpike], f[fPast] = float64(best)/all, float64(past)/all
	// A limiter's ceiling is met by tops with corners and without.
	var met, under int32
	for i := flatBin(v.s.peak * 0.933); i < flatBins; i++ {
		if flatEdge(i+1) > v.s.peak*0.988 {
			met += v.s.levels[i]
		} else {
			under += v.s.levels[i]
		}
	}
	f[fCorners] = min(float64(v.s.wallKinks)/float64(met+2), 2)
	f[fUnder] = math.Log(float64(under+1) / float64(met+1))
	f[fSpikeAt] = min(max(db(v.s.peak)-db(flatEdge(at)), 0), 6)
}

// leaning compares the two halves of the wave: speech goes further to one side, which a
// gain keeps and a ceiling does not.
func (c *Channel) leaning(v view, f *Features) {
	k := 0
	if v.s == &c.sides[0] {
		k = 1
	}
	o := c.view(k)
	fifth := func(w view) float64 { return db(max(passed(w.tops, topEdge, 0.2*w.topN), lowest)) }
	lean := min(max(db(max(v.r, lowest))-db(max(o.r, lowest)), -12), 12)
	mid := min(max(fifth(v)-fifth(o), -12), 12)
	f[fLean], f[fLeanUp], f[fEven] = lean, lean-mid, math.Abs(mid)-math.Abs(lean)
}

// thinning is how peaky 10 ms are where they are loud and where they are not.
func (c *Channel) thinning(r float64, f *Features) {
	var sum, n [2]float64
	for i, k := range c.blockBins {
		e := math.Sqrt(topEdge(i) * topEdge(i+1))
		j := 0
		switch {
		case e >= 0.85*r:
		case e >= 0.4*r && e < 0.7*r:
			j = 1
		default:
			continue
		}
		sum[j] += c.blockThin[i]
		n[j] += float64(k)
	}
	loud, mid := (sum[0]+1.2*3)/(n[0]+3), (sum[1]+1.2*3)/(n[1]+3)
	f[fThin], f[fThinUp] = loud, loud-mid
}
