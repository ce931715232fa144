package restore

import "gainwright/sim/repair/vec"

//go:noescape
func powersFMA(mag *float64, z, t *complex128, fours int)

//go:noescape
func keepFMA(t, z *complex128, mag *float64, fours int, least float64) float64

//go:noescape
func clampFMA(dst, x, lo, hi *float64, fours int, scale float64)

// widePowers, wideKeep and wideClamp do what powers, keep and clamp do to the first of
// their samples, four at a time, and return how many that were.
func widePowers(mag []float64, z, t []complex128) int {
	n := len(z) / 4
	if !vec.Wide || n == 0 {
		return 0
	}
	_, _ = mag[len(z)-1], t[len(z)-1]
	powersFMA(&mag[0], &z[0], &t[0], n)
	return 4 * n
}

func wideKeep(t, z []complex128, mag []float64, least float64) (done int, rest float64) {
	n := len(z) / 4
	if !vec.Wide || n == 0 {
		return 0, 0
	}
	_, _ = mag[len(z)-1], t[len(z)-1]
	return 4 * n, keepFMA(&t[0], &z[0], &mag[0], n, least)
}

func wideClamp(dst, x, lo, hi []float64, scale float64) int {
	n := len(x) / 4
	if !vec.Wide || n == 0 {
		return 0
	}
	_, _, _ = dst[len(x)-1], lo[len(x)-1], hi[len(x)-1]
	clampFMA(&dst[0], &x[0], &lo[0], &hi[0], n, scale)
	return 4 * n
}
