package metercmd

import (
	"math"
)

// overview keeps the lowest and highest sample of equal parts of a recording, of
// all channels together. The parts double when there are too many.
type overview struct {
	per    int64 // samples in a part
	n      int64 // in the last one
	Lo, Hi []float64
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
		if k := len(o.Lo) - 1; o.n > 0 && o.n < o.per {
			o.Lo[k], o.Hi[k] = min(o.Lo[k], lo), max(o.Hi[k], hi)
			o.n++
			continue
		}
		if len(o.Lo) == mostParts {
			for k := range mostParts / 2 {
				o.Lo[k], o.Hi[k] = min(o.Lo[2*k], o.Lo[2*k+1]), max(o.Hi[2*k], o.Hi[2*k+1])
			}
			o.Lo, o.Hi = o.Lo[:mostParts/2], o.Hi[:mostParts/2]
			o.per *= 2
		}
		o.Lo, o.Hi = append(o.Lo, lo), append(o.Hi, hi)
		o.n = 1
	}
}
