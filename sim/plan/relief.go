package plan

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"

	"gainwright/sim"
)

// mostRelief is the most that is counted on, whatever a burst gets.
const mostRelief = 24.0

// reliefs is how much louder each kind of event may get before it goes over, with a
// limiter before the converter.
type reliefs = [numVoiced]float64

// reliefKey is all that relief depends on.
type reliefKey struct {
	limiter sim.InputLimiter
	rangeDB float64
}

// known keeps what was measured: it takes a second, and is asked for again and again.
var known sync.Map // reliefKey → reliefs

// limiterReliefs measures through the engine by how many dB louder a burst may be
// before a sample goes over, with the limiter against without. A limiter that was at
// rest is caught cold. One burst is like the first call of a laugh, a voice that rises
// in 12 ms; the other like a cough, noise that is there almost at once. The real ones of
// the talkers get about as much (TestRelief in tests/plan).
func limiterReliefs(ctx context.Context, l sim.InputLimiter, rangeDB float64) (reliefs, error) {
	key := reliefKey{l, rangeDB}
	if r, ok := known.Load(key); ok {
		return r.(reliefs), nil
	}
	voice, err := burstRelief(ctx, l, rangeDB, laughBurst(), mostRelief)
	if err != nil {
		return reliefs{}, err
	}
	cough, err := burstRelief(ctx, l, rangeDB, coughBurst(1), mostRelief)
	if err != nil {
		return reliefs{}, err
	}
	var r reliefs
	for k := range r {
		r[k] = voice
	}
	r[Cough] = cough
	known.Store(key, r)
	return r, nil
}

const burstRate = 48000

// laughBurst is 170 ms of 300 Hz with its harmonics, peak 1.
func laughBurst() []float64 {
	x := make([]float64, burstRate*17/100)
	for i := range x {
		t := float64(i) / burstRate
		env := math.Sin(math.Pi / 2 * min(t/0.012, 1))
		for h := 1.0; h <= 12; h++ {
			x[i] += env * math.Exp(-2*t/0.17) / h * math.Sin(2*math.Pi*300*h*t+h*h)
		}
	}
	return peakOne(x)
}

// coughBurst is 60 ms of noise that falls from 1 kHz on, there within 4 ms, peak 1.
func coughBurst(seed uint64) []float64 {
	x := make([]float64, burstRate*6/100)
	r := rand.New(rand.NewPCG(seed, 1))
	k := 1 - math.Exp(-2*math.Pi*1000/burstRate)
	var a, b float64
	for i := range x {
		t := float64(i) / burstRate
		a += k * (r.NormFloat64() - a)
		b += k * (a - b)
		x[i] = b * min(t/0.004, 1) * math.Exp(-t/0.03)
	}
	return peakOne(x)
}

func peakOne(x []float64) []float64 {
	peak := 0.0
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	for i := range x {
		x[i] /= peak
	}
	return x
}

// burstRelief returns the relief for one burst, at most atMost, to a quarter of a
// decibel.
func burstRelief(ctx context.Context, l sim.InputLimiter, rangeDB float64, x []float64, atMost float64) (float64, error) {
	// A chain in which nothing else happens.
	c := sim.Default()
	c.Room.NoiseDBA = -100
	c.Preamp.RailDBu, c.Microphone.MaxSPLDB = 60, 180
	c.InputLimiter = l
	c.Converter.DualRangeDB = rangeDB
	full := sim.DB(rangeDB).Lin() / sim.ToFullScale(c)[sim.AtTalker]
	y := make([]float64, len(x)+burstRate/100)
	over := func(db float64) (bool, error) {
		s, err := sim.NewStrip(burstRate, c, 1)
		if err != nil {
			return false, err
		}
		for i, v := range x {
			y[i] = v * full * sim.DB(db).Lin()
		}
		hit := false
		_, err = sim.Run(ctx, &sim.Samples{X: y}, []*sim.Strip{s}, sim.RunOptions{Sink: func(_ int, t *sim.Taps) error {
			for _, d := range t.Demand {
				hit = hit || math.Abs(d) > t.Ceiling
			}
			return nil
		}})
		return hit, err
	}
	// Upwards in steps, since a limiter may hold a very loud burst that its attack
	// lets pass when it is less so; then finer.
	const step = 2.0
	lo := 0.0
	for {
		hit, err := over(lo + step)
		if err != nil {
			return 0, err
		}
		if hit {
			break
		}
		if lo += step; lo >= atMost {
			return atMost, nil
		}
	}
	hi := lo + step
	for hi-lo > 0.25 {
		mid := (lo + hi) / 2
		hit, err := over(mid)
		if err != nil {
			return 0, err
		}
		if hit {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo, nil
}
