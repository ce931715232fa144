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
	for at, n := 0, len(planar[0]); at < n; {
		if o.n == 0 || o.n == o.per {
			o.begin()
		}
		end := min(n, at+int(o.per-o.n))
		k := len(o.Lo) - 1
		lo, hi := o.Lo[k], o.Hi[k]
		for _, x := range planar {
			for _, v := range x[at:end] {
				if !(math.Abs(v) < math.MaxFloat32) {
					v = 0
				}
				if v < lo {
					lo = v
				}
				if v > hi {
					hi = v
				}
			}
		}
		o.Lo[k], o.Hi[k] = lo, hi
		o.n += int64(end - at)
		at = end
	}
}

// begin begins a part.
func (o *overview) begin() {
	if len(o.Lo) == mostParts {
		for k := range mostParts / 2 {
			o.Lo[k], o.Hi[k] = min(o.Lo[2*k], o.Lo[2*k+1]), max(o.Hi[2*k], o.Hi[2*k+1])
		}
		o.Lo, o.Hi = o.Lo[:mostParts/2], o.Hi[:mostParts/2]
		o.per *= 2
	}
	o.Lo, o.Hi = append(o.Lo, math.Inf(1)), append(o.Hi, math.Inf(-1))
	o.n = 0
}
