package stage

import (
	"math"

	"gainwright/scenes/bench"
	"gainwright/sim"
)

// Loop gives a sound check in which x, Pa at 1 m, is said over and over.
func (st *Stage) Loop(x []float64) error {
	b := st.shell.Bench()
	r := &bench.Recording{Name: "sound check", Samples: make([]float32, len(x))}
	for i, v := range x {
		r.Samples[i] = float32(v)
	}
	b.StartCheck()
	return b.PerformPressure(r, loudestSecond(x))
}

// loudestSecond is the level of the loudest second of pressure, dB SPL.
func loudestSecond(x []float64) float64 {
	best, sum := 0.0, 0.0
	for i, v := range x {
		sum += v * v
		if i >= bench.Rate {
			sum -= x[i-bench.Rate] * x[i-bench.Rate]
		}
		best = max(best, sum)
	}
	n := float64(min(len(x), bench.Rate))
	return 20 * math.Log10(math.Sqrt(best/max(n, 1))/sim.PressureRef)
}
