package repaircmd

import (
	"context"
	"math"

	"gainwright/sim/repair"
)

// distance measures both tapes against a truth of the same length.
func distance(ctx context.Context, truth, before, after *tape, tell func(float64)) (repair.Distance, error) {
	ends := [2]*tape{before, after}
	var gain, err2 [2]float64
	tt := 0.0
	for round := range 2 {
		var tx, xx [2]float64
		tt = 0
		var y [2][][]float64
		err := truth.each(ctx, func(s float64) { tell((float64(round) + s) / 2) }, func(x [][]float64, at int64) error {
			for k, t := range ends {
				var err error
				if y[k], err = t.read(y[k], at, at+int64(len(x[0]))); err != nil {
					return err
				}
			}
			for c := range x {
				for i, v := range x[c] {
					tt += v * v
					for k := range ends {
						w := y[k][c][i]
						if round == 0 {
							tx[k] += v * w
							xx[k] += w * w
						} else {
							e := v - gain[k]*w
							err2[k] += e * e
						}
					}
				}
			}
			return nil
		})
		if err != nil {
			return repair.Distance{}, err
		}
		if round == 0 {
			for k := range gain {
				if gain[k] = 1; xx[k] > 0 {
					gain[k] = tx[k] / xx[k]
				}
			}
		}
	}
	sdr := func(k int) float64 {
		if tt == 0 {
			return math.NaN()
		}
		return 10 * math.Log10(tt/err2[k])
	}
	d := repair.Distance{BeforeDB: sdr(0), AfterDB: sdr(1)}
	if d.GainDB = d.AfterDB - d.BeforeDB; math.IsInf(d.BeforeDB, 1) && math.IsInf(d.AfterDB, 1) {
		d.GainDB = 0
	}
	return d, nil
}
