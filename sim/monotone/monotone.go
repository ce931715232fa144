// Package monotone is a smooth curve through points that rises wherever they rise: the
// piecewise cubic of Fritsch and Butland (A method for constructing local monotone piecewise
// cubic interpolants, SIAM J. Sci. Stat. Comput. 5, 1984), with their ends after Fritsch and
// Carlson. gonum has it, too, with all of its linear algebra behind it, which a page would
// have to download: a sixth of the scene.
package monotone

import (
	"math"
	"sort"
)

// A Curve goes through points.
type Curve struct{ x, y, d []float64 }

// Through is the curve through (x, y), x strictly ascending; nil for fewer than two.
func Through(x, y []float64) *Curve {
	n := len(x)
	if n < 2 || len(y) != n {
		return nil
	}
	c := &Curve{append([]float64(nil), x...), append([]float64(nil), y...), make([]float64, n)}
	s := make([]float64, n-1) // slopes of the chords
	for i := range s {
		s[i] = (y[i+1] - y[i]) / (x[i+1] - x[i])
	}
	if n == 2 {
		c.d[0], c.d[1] = s[0], s[0]
		return c
	}
	for i := 1; i < n-1; i++ {
		if s[i-1]*s[i] > 0 {
			a, b := x[i]-x[i-1], x[i+1]-x[i]
			// The harmonic mean of both chords, each weighted by the other's length.
			c.d[i] = 3 * (a + b) / ((a+2*b)/s[i-1] + (2*a+b)/s[i])
		}
	}
	c.d[0] = end(s[0], s[1], x[1]-x[0], x[2]-x[1])
	c.d[n-1] = end(s[n-2], s[n-3], x[n-1]-x[n-2], x[n-2]-x[n-3])
	return c
}

// end is the slope at an end: by the three points next to it, unless that would overshoot.
// s and h are slope and length of the last chord, s2 and h2 of the one before.
func end(s, s2, h, h2 float64) float64 {
	g := ((2*h+h2)*s - h*s2) / (h + h2)
	switch {
	case g*s <= 0:
		return 0
	case s*s2 <= 0 && math.Abs(g) > 3*math.Abs(s):
		return 3 * s
	}
	return g
}

// At is the curve's value; outside the points that of the nearest.
func (c *Curve) At(x float64) float64 {
	n := len(c.x)
	switch {
	case x <= c.x[0]:
		return c.y[0]
	case x >= c.x[n-1]:
		return c.y[n-1]
	}
	i := sort.SearchFloat64s(c.x, x) - 1
	h := c.x[i+1] - c.x[i]
	t := (x - c.x[i]) / h
	u := 1 - t
	return u*u*(1+2*t)*c.y[i] + t*t*(1+2*u)*c.y[i+1] + h*t*u*(u*c.d[i]-t*c.d[i+1])
}
