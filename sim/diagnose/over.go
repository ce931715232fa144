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

const (
	oRise    = iota // dB, the highest continuation of a straight top
	oRise5          // that 5 % of them pass
	oRise30         // and 30 %
	oBulge          // the same of all tops near R: 1 %
	oBulge20        // 20 %
	oCrest          // dB, R over the level of the talk
	oShare          // ln of the share of samples within 6 % of R, while anyone talks
	oTops           // ln of the tops near R over those lower
	oTail2          // dB between the levels that 1 and 10 % of the samples pass
	oTail3          // 0.1 and 1 %
	oBlocks         // dB between the 10 ms peaks that 2 and 30 % pass
	oLongest        // ln of the longest straight top, ms
	overCount
)

// OverFeatures are what the estimate of the lost height goes by.
type OverFeatures [overCount]float64

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

// OverModel is the linear model: Spread is the rms error that it had, dB.
type OverModel struct {
	Mean, Scale [overCount]float64
	Weights     [overCount + 1]float64
	Spread      float64
}

// Estimate returns by how much the loudest moment passed the ceiling, dB.
func (m *OverModel) Estimate(o OverFeatures) float64 {
	s := m.Weights[overCount]
	for i, x := range o {
		s += m.Weights[i] * min(max((x-m.Mean[i])*m.Scale[i], -4), 4)
	}
	return max(s, 0.3)
}

// The stated spread: nine in ten recordings clipped by a known amount, of the half of
// the labelled set that is learnt from, lay within it (TestSpreadHolds measures the
// other half). That of restored peaks grows with the depth of the cut.
const (
	leastSpread = 1.0
	spreadPart  = 0.2
	softSpread  = 2.5
)

// over estimates for a channel; the side with more counts.
func (c *Channel) over(v *verdict) (dB, spread float64) {
	// A lossy code rounds what was cut: a wall in it is its decoder's, which holds what
	// lies beyond full scale.
	if v.main != Softened && !c.o.Lossy {
		if rise, ok := c.restored(v); ok {
			return max(rise, 0.1), max(leastSpread, spreadPart*rise)
		}
	}
	for k := range c.sides {
		if v.history[k].flattened() {
			dB = max(dB, softOver.Estimate(c.overFeatures(k)))
		}
	}
	return dB, max(softSpread, softOver.Spread)
}
