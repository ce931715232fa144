package rfft

import (
	"gainwright/sim/repair/vec"
)

// The loops of a transform in vector code, two complex numbers at a time. Sizes are
// even, and at least 2.

//go:noescape
func firstStage(y, x, w *complex128, l int)

//go:noescape
func stage(y, x, w *complex128, l, m int)

//go:noescape
func lastStage(y, x *complex128, m int)

//go:noescape
func unfold(dst, z, w *complex128, h, pairs int)

//go:noescape
func fold(dst, z, w *complex128, h, pairs int)

//go:noescape
func conjugate(dst *float64, z *complex128, pairs int)

// wide are the factors in the order in which vector code reads them; nil where it
// does not pay or cannot run.
type wide struct {
	first []complex128   // of the first stage: all of one output, then the next
	rest  [][]complex128 // of the stages after it: three for each butterfly
	split []complex128   // −i/2·e^(−2πi·k/n)
}

const leastWide = 64

func newWide(f *Transform) *wide {
	if !vec.Wide || f.N < leastWide {
		return nil
	}
	h := f.N / 2
	w := &wide{first: make([]complex128, 3*(h/4)), split: make([]complex128, len(f.half))}
	for l, m := h/4, 1; l >= 1; l, m = l/4, m*4 {
		rest := make([]complex128, 3*l)
		for j := range l {
			for k := range 3 {
				v := f.tw[(k+1)*j*m]
				rest[3*j+k] = v
				if m == 1 {
					w.first[k*l+j] = v
				}
			}
		}
		if m > 1 {
			w.rest = append(w.rest, rest)
		}
	}
	for k, v := range f.half {
		w.split[k] = v * complex(0, -0.5)
	}
	return w
}

// forward is complexForward.
func (w *wide) forward(f *Transform) []complex128 {
	x, y := f.a, f.b
	h := len(x)
	firstStage(&y[0], &x[0], &w.first[0], h/4)
	x, y = y, x
	m := 4
	for _, t := range w.rest {
		stage(&y[0], &x[0], &t[0], h/(4*m), m)
		x, y = y, x
		m *= 4
	}
	if m < h {
		lastStage(&y[0], &x[0], h/2)
		x = y
	}
	return x
}

// unfold writes bins k and h−k of dst from the transform z of the folded frame, for
// k from 1 up to below the one that is returned.
func (w *wide) unfold(dst, z []complex128) int {
	pairs := (len(z) - 2) / 4
	unfold(&dst[0], &z[0], &w.split[0], len(z), pairs)
	return 1 + 2*pairs
}

// fold is the way back, conjugated, from bins to a.
func (w *wide) fold(a, bins []complex128) int {
	pairs := (len(a) - 2) / 4
	fold(&a[0], &bins[0], &w.split[0], len(a), pairs)
	return 1 + 2*pairs
}

// conjugate writes the conjugate of z to dst, as far as pairs of pairs go, and
// returns how many of z that were.
func (w *wide) conjugate(dst []float64, z []complex128) int {
	pairs := len(dst) / 4
	if pairs > 0 {
		conjugate(&dst[0], &z[0], pairs)
	}
	return 2 * pairs
}
