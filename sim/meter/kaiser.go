package meter

import "math"

// Kaiser returns the Kaiser window of a shape β: w(u) for u from −1 at one end to 1
// at the other, 1 in the middle and 0 outside. Source: J. F. Kaiser, "Nonrecursive
// digital filter design using the I0-sinh window function", 1974.
func Kaiser(beta float64) func(u float64) float64 {
	middle := besselI0(beta)
	return func(u float64) float64 {
		if u < -1 || u > 1 {
			return 0
		}
		return besselI0(beta*math.Sqrt(1-u*u)) / middle
	}
}

// besselI0 is the modified Bessel function of the first kind and order zero, by its
// power series (Abramowitz and Stegun 9.6.12).
func besselI0(x float64) float64 {
	s, t := 1.0, 1.0
	for k := 1.0; t > 1e-17*s; k++ {
		t *= (x / 2 / k) * (x / 2 / k)
		s += t
	}
	return s
}
