package meter

import (
	"fmt"
	"math"
)

// peakFallDB is the fall of the bar in dB per second: 20 dB in 1.7 s, the
// return time of a digital peak meter (IEC 60268-18, from memory).
const peakFallDB = 20 / 1.7

// SamplePeak is the ballistics of a digital peak meter on one channel: a bar
// that rises at once and falls by 20 dB in 1.7 s, a mark that holds the highest
// value for a while and then falls with the bar, and the largest sample so far.
type SamplePeak struct {
	fall float64 // factor per sample
	hold int     // frames

	n         int
	bar       float64
	held      float64
	heldUntil int
	peak      float64
	bad       int
}

// NewSamplePeak returns a peak meter whose mark stays for hold seconds (0 or
// more; +Inf holds until [SamplePeak.ResetHold]). It panics on a rate
// [CheckRate] refuses or a hold time that is negative or NaN.
func NewSamplePeak(rate int, hold float64) *SamplePeak {
	mustRate(rate)
	if !(hold >= 0) {
		panic(fmt.Sprintf("meter: peak hold of %v s", hold))
	}
	p := &SamplePeak{fall: FromDB(-peakFallDB / float64(rate)), hold: math.MaxInt / 2}
	if f := hold * float64(rate); f < float64(p.hold) {
		p.hold = int(f)
	}
	return p
}

// Write feeds samples.
func (p *SamplePeak) Write(x []float64) {
	bar := p.bar
	for i, v := range x {
		bar *= p.fall
		if a := math.Abs(v); a > bar {
			if !usable(a) {
				continue // counted below
			}
			if n := p.n + i; a >= p.held || n >= p.heldUntil {
				p.held, p.heldUntil = a, n+p.hold
			}
			bar = a
		}
	}
	m := maxBits(x)
	if m >= invalidBits {
		m = 0
		for _, v := range x {
			if usable(v) {
				m = max(m, magBits(v))
			} else {
				p.bad++
			}
		}
	}
	p.peak = max(p.peak, math.Float64frombits(m))
	p.n += len(x)
	if bar < 1e-40 { // before the numbers become denormal and slow
		bar = 0
	}
	p.bar = bar
}

// Bar returns the height of the bar, linear; under −600 dB it reads 0.
func (p *SamplePeak) Bar() float64 {
	if p.bar < 1e-30 {
		return 0
	}
	return p.bar
}

// Held returns the height of the mark, linear; never below the bar.
func (p *SamplePeak) Held() float64 {
	if p.n < p.heldUntil {
		return max(p.held, p.Bar())
	}
	return p.Bar()
}

// Peak returns the largest magnitude since the start, linear.
func (p *SamplePeak) Peak() float64 { return p.peak }

// BarDB returns the height of the bar in dB re full scale.
func (p *SamplePeak) BarDB() float64 { return DB(p.Bar()) }

// HeldDB returns the height of the mark in dB re full scale.
func (p *SamplePeak) HeldDB() float64 { return DB(p.Held()) }

// DB returns the largest magnitude since the start in dB re full scale.
func (p *SamplePeak) DB() float64 { return DB(p.peak) }

// ResetHold lets the mark fall to the bar and forgets the largest magnitude.
func (p *SamplePeak) ResetHold() { p.held, p.heldUntil, p.peak = 0, 0, p.bar }

// Invalid returns how many samples were not usable and counted as zero.
func (p *SamplePeak) Invalid() int { return p.bad }

// Reset makes the meter as new.
func (p *SamplePeak) Reset() { *p = SamplePeak{fall: p.fall, hold: p.hold} }
