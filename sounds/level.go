package sounds

import (
	"fmt"
	"math"
)

const (
	// RefPressure is the reference of sound pressure level, in Pa
	// (ISO 1683: 20 µPa).
	RefPressure = 20e-6
	// LoudSpeechDBSPL is the overall level of loud speech 1 m in front of the
	// lips, in dB SPL (ANSI S3.5-1997, standard speech spectra). It is the level
	// a recording is given when nothing else is said.
	LoudSpeechDBSPL = 74.85
)

// LoudestSecond finds the highest rms over a sliding window of 1 s, moved in
// steps of 100 ms, in a mono signal fed block by block. A signal shorter than
// 1 s is one window. The result does not depend on the block sizes.
type LoudestSecond struct {
	rate  int
	seg   [10]float64 // energy of the last ten steps
	steps int64       // whole steps so far
	cur   float64     // energy of the step that is being filled
	n     int64       // frames so far
	next  int64       // frame at which the step ends
	best  float64     // highest energy of ten steps
	bestN int64       // and how many frames they were
	bestK int64       // and after which step
	total float64
}

// NewLoudestSecond makes the meter for a sample rate in Hz.
func NewLoudestSecond(rate int) *LoudestSecond {
	if rate < 10 {
		panic(fmt.Sprintf("sounds: NewLoudestSecond: %d Hz", rate))
	}
	return &LoudestSecond{rate: rate, next: int64(rate) / 10}
}

// Add feeds the next block.
func (m *LoudestSecond) Add(x []float64) {
	for len(x) > 0 {
		k := int(min(int64(len(x)), m.next-m.n))
		// Adding to the running sum sample by sample keeps the result
		// independent of where blocks are cut.
		s := m.cur
		for _, v := range x[:k] {
			s += v * v
		}
		m.cur = s
		m.n += int64(k)
		x = x[k:]
		if m.n < m.next {
			return
		}
		m.total += m.cur
		m.seg[m.steps%10] = m.cur
		m.cur = 0
		m.steps++
		// Steps of a rate that ten does not divide differ by one frame.
		m.next = (m.steps + 1) * int64(m.rate) / 10
		if m.steps < 10 {
			continue
		}
		e := 0.0
		for i := int64(0); i < 10; i++ {
			e += m.seg[(m.steps+i)%10]
		}
		n := m.n - (m.steps-10)*int64(m.rate)/10
		if m.bestN == 0 || e*float64(m.bestN) > m.best*float64(n) {
			m.best, m.bestN, m.bestK = e, n, m.steps
		}
	}
}

// RMS is the rms of the loudest second, in the unit of the signal.
func (m *LoudestSecond) RMS() float64 {
	if m.bestN > 0 {
		return math.Sqrt(m.best / float64(m.bestN))
	}
	if m.n == 0 {
		return 0
	}
	return math.Sqrt((m.total + m.cur) / float64(m.n))
}

// Start is where the loudest second begins, in seconds.
func (m *LoudestSecond) Start() float64 {
	if m.bestN == 0 {
		return 0
	}
	return float64(m.bestK-10) / 10
}

// Scale is the factor, in Pa per unit of the signal, that gives the loudest
// second the stated level at 1 m, in dB SPL. A silent signal cannot be given a
// level: that is an *InputError.
func (m *LoudestSecond) Scale(levelDBSPL float64) (float64, error) {
	if math.IsNaN(levelDBSPL) || levelDBSPL < 0 || levelDBSPL > 160 {
		return 0, badInput("a level of %g dB SPL is outside 0 to 160", levelDBSPL)
	}
	rms := m.RMS()
	if m.n == 0 {
		return 0, badInput("holds no samples")
	}
	// Quieter than anything a 32-bit file can carry counts as silence.
	if !(rms > 1e-12) {
		return 0, badInput("is silent, so it cannot be given a level")
	}
	if math.IsInf(rms, 0) {
		return 0, badInput("is too loud to be given a level")
	}
	return RefPressure * math.Pow(10, levelDBSPL/20) / rms, nil
}

// PlaceLevel returns the factor from file units to pascal at 1 m that gives the
// loudest second of mono (see LoudestSecond) the level levelDBSPL.
func PlaceLevel(mono []float64, rate int, levelDBSPL float64) (scale float64, err error) {
	m := NewLoudestSecond(rate)
	m.Add(mono)
	return m.Scale(levelDBSPL)
}
