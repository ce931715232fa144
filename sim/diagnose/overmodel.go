package diagnose

// The linear model of how far what was blurred would have gone on (over.go).

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

// OverModel is the linear model: Spread times the root of the estimate is the error, dB,
// that two in three of speakers it was not fitted to stayed within.
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

// A RiseSpread has, for each history whose cut still shows, the error that two in three
// recordings clipped by a known amount stayed within, as a part of the rise of their
// restored peaks: the deeper the cut, the less is known of what it took. The first are
// those of low rates, at which few samples are left on either side of a cut.
type RiseSpread [2][Softened]float64

// At returns the part that a history has at a rate in Hz.
func (s *RiseSpread) At(rate float64, h History) *float64 {
	if rate <= lowRate {
		return &s[0][h]
	}
	return &s[1][h]
}

const lowRate = 24000
