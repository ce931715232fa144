package restore

// A Stretch is a piece of a recording with its clipped samples marked.
type Stretch struct {
	Y     []float64
	Sign  []int8    // 0 known, +1 clipped at the top, −1 at the bottom
	Bound []float64 // where Sign is not 0: the clip level, a magnitude
	At    []int     // indices of the clipped samples, rising
}

// hold makes x consistent: known samples exactly those of the recording, clipped
// ones at or beyond their clip level.
func (q *Stretch) hold(x []float64) {
	for _, i := range q.At {
		b := q.Bound[i]
		v := x[i]
		if v != v {
			v = 0
		}
		if q.Sign[i] > 0 {
			x[i] = max(v, b)
		} else {
			x[i] = min(v, -b)
		}
	}
	last := 0
	for _, i := range q.At {
		copy(x[last:i], q.Y[last:i])
		last = i + 1
	}
	copy(x[last:], q.Y[last:])
}

// cut returns the part [i, j) of q.
func (q *Stretch) cut(i, j int) *Stretch {
	p := &Stretch{Y: q.Y[i:j], Sign: q.Sign[i:j], Bound: q.Bound[i:j]}
	lo, hi := 0, len(q.At)
	for lo < hi {
		m := (lo + hi) / 2
		if q.At[m] < i {
			lo = m + 1
		} else {
			hi = m
		}
	}
	for ; lo < len(q.At) && q.At[lo] < j; lo++ {
		p.At = append(p.At, q.At[lo]-i)
	}
	return p
}
