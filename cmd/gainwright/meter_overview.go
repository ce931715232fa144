package main

import "math"

// overview keeps the lowest and highest sample of equal parts of a recording, of
// all channels together. The parts double when there are too many.
type overview struct {
	per    int64 // samples in a part
	n      int64 // in the last one
	lo, hi []float64
}

const mostParts = 3000

func (o *overview) write(planar [][]float64) {
	if len(planar) == 0 {
		return
	}
	for i := range planar[0] {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, x := range planar {
			v := x[i]
			if !(math.Abs(v) < math.MaxFloat32) {
				v = 0
			}
			lo, hi = min(lo, v), max(hi, v)
		}
		if k := len(o.lo) - 1; o.n > 0 && o.n < o.per {
			o.lo[k], o.hi[k] = min(o.lo[k], lo), max(o.hi[k], hi)
			o.n++
			continue
		}
		if len(o.lo) == mostParts {
			for k := range mostParts / 2 {
				o.lo[k], o.hi[k] = min(o.lo[2*k], o.lo[2*k+1]), max(o.hi[2*k], o.hi[2*k+1])
			}
			o.lo, o.hi = o.lo[:mostParts/2], o.hi[:mostParts/2]
			o.per *= 2
		}
		o.lo, o.hi = append(o.lo, lo), append(o.hi, hi)
		o.n = 1
	}
}
