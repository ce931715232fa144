package diagnose

import (
	"math"
)

// How far a clipped wave would have gone on is read from restored peaks where the
// cut still shows sample by sample (worst.go). Where it was blurred since, it is
// estimated from what the tops show: how high continuations of their flanks rise,
// how many there are, how the level of the cut stands to that of the talk. That is
// a linear model whose weights and spread were learnt where the truth is known
// (weights.go).

func (c *Channel) overFeatures(k int) OverFeatures {
	v := c.view(k)
	f := c.features(v)
	var o OverFeatures
	fl := &v.s.flats
	o[oRise], o[oRise5], o[oRise30] = fl.rise(0), fl.rise(0.05), fl.rise(0.3)
	var hist [bulgeBins]int64
	n := 0.0
	for i := range v.s.bulge {
		if math.Sqrt(topEdge(i)*topEdge(i+1)) >= 0.93*v.r {
			for j, m := range v.s.bulge[i] {
				hist[j] += int64(m)
				n += float64(m)
			}
		}
	}
	at := func(share float64) float64 {
		return passed(hist[:], func(i int) float64 { return float64(i) / bulgePer }, max(1, share*n))
	}
	if n > 0 {
		o[oBulge], o[oBulge20] = at(0.01), at(0.2)
	}
	o[oCrest] = f[fCrest]
	near := 1.0
	for i, m := range v.s.samples {
		if sampleEdge(i) >= 0.94*v.r {
			near += float64(m)
		}
	}
	o[oShare] = math.Log(near / (v.n + 1))
	o[oTops] = f[fRange]
	o[oTail2], o[oTail3] = f[fTail2], f[fTail3]
	o[oBlocks] = f[fBlocks10] + f[fBlocks30]
	o[oLongest] = math.Log(float64(max(fl.longest, 1)) / c.rate * 1000)
	return o
}

// over estimates for a channel; the side with more counts.
func (c *Channel) over(v *verdict) (dB, spread float64) {
	// A lossy code rounds what was cut: a wall in it is its decoder's, which holds what
	// lies beyond full scale.
	if v.main < Softened && !c.o.Lossy {
		if rise, ok := c.lost(v); ok {
			return rise, *riseSpread.At(c.rate, v.main) * rise
		}
	}
	for k := range c.sides {
		if v.history[k].flattened() {
			dB = max(dB, softOver.Estimate(c.overFeatures(k)))
		}
	}
	return dB, softOver.Spread * math.Sqrt(max(dB, 1))
}

// lost is the rise of restored peaks, which the verdict may know already.
func (c *Channel) lost(v *verdict) (rise float64, ok bool) {
	if v.restored {
		return v.rise, true
	}
	return c.restored(v)
}
