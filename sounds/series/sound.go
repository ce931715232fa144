package series

import (
	"math"
	"math/rand/v2"

	"gainwright/sim/identify"
	"gainwright/sounds/codec"
)

// SoundRate is that of the test sounds, Hz.
const SoundRate = 48000

// The test sounds: what follows the slate.
const (
	slateLevel  = 0.1 // magnitude: −20 dBFS
	toneLevel   = 0.25
	gapS        = 0.5
	toneS       = 6.0
	quietS      = 12.0
	burstsS     = 36.0
	burstTop    = 0.9
	burstS      = 0.9
	burstRestS  = 0.3
	lowestBurst = -30.0 // dB under the highest
)

// WAV is a test sound as a file.
func (p Played) WAV() ([]byte, error) {
	x, err := Sound(p.Step, p.Mark)
	if err != nil {
		return nil, err
	}
	return codec.WAVBytes(SoundRate, [][]float64{x}, codec.PCM16)
}

// Sound gives the samples of a step's test sound at a mark.
func Sound(step identify.Step, mark float64) ([]float64, error) {
	x, err := identify.WriteSlate(step, mark, SoundRate, slateLevel)
	if err != nil {
		return nil, err
	}
	x = append(x, make([]float64, int(gapS*SoundRate))...)
	switch step {
	case identify.Quiet:
		x = append(x, make([]float64, int(quietS*SoundRate))...)
	case identify.Steps, identify.Anchor:
		x = append(x, tone(toneS)...)
	default:
		x = append(x, bursts()...)
	}
	return append(x, make([]float64, SoundRate/4)...), nil
}

// tone is the tone of the gain law, faded.
func tone(seconds float64) []float64 {
	x := make([]float64, int(seconds*SoundRate))
	fade := SoundRate / 20
	for i := range x {
		e := min(1, float64(min(i, len(x)-1-i))/float64(fade))
		x[i] = toneLevel * e * math.Sin(2*math.Pi*identify.ToneHz*float64(i)/SoundRate)
	}
	return x
}

// bursts are syllables of a noise with the bands of talk, at levels that differ by 3 dB
// and come in no order, quiet ones first: what a limiter shows its law by. Each is as the
// others, whenever they are made.
func bursts() []float64 {
	r := rand.New(rand.NewPCG(41, 7))
	x := make([]float64, int(burstsS*SoundRate))
	var levels []float64
	for l := lowestBurst; l <= 0; l += 3 {
		levels = append(levels, l)
	}
	order := append([]float64{}, levels...)
	low, lower, high, higher := 0.0, 0.0, 0.0, 0.0
	at := 0
	for at < len(x) {
		for _, l := range order {
			g := math.Pow(10, l/20)
			n := int(burstS * SoundRate)
			for i := range n {
				if at+i >= len(x) {
					break
				}
				// Around 700 Hz, two poles either side; a voice's pulses at 110 Hz.
				t := float64(i) / SoundRate
				pulse := math.Pow(0.5+0.5*math.Cos(2*math.Pi*110*t), 6)
				v := r.NormFloat64()*(0.25+pulse) + 2*pulse
				low += 0.12 * (v - low)
				lower += 0.12 * (low - lower)
				high += 0.03 * (lower - high)
				higher += 0.03 * (high - higher)
				e := min(1, float64(min(i, n-1-i))/(0.01*SoundRate))
				x[at+i] = g * e * (lower - higher)
			}
			if at += n + int(burstRestS*SoundRate); at >= len(x) {
				break
			}
		}
		order = append([]float64{}, levels...)
		r.Shuffle(len(order), func(i, k int) { order[i], order[k] = order[k], order[i] })
	}
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	for i := range x {
		x[i] *= burstTop / top
	}
	return x
}
