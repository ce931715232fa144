package diagnose

import "testing"

// What reaches a height belongs to the top, to the last sample, and nothing outside the
// half-wave does.
func TestWiden(t *testing.T) {
	x := []float64{1, 0.2, 0.9, 1, 0.95, 0.9, 0.89, 1}
	for _, c := range []struct {
		i, j   int
		height float64
		l, r   int
	}{
		{1, 7, 0.9, 2, 5}, {1, 7, 0.96, 3, 3}, {1, 7, 0.1, 1, 6}, {3, 5, 0.5, 3, 4}, {0, 8, 0.2, 0, 7},
	} {
		for _, g := range []float64{1, -1} {
			y := make([]float64, len(x))
			for k := range x {
				y[k] = g * x[k]
			}
			if l, r := widen(y, c.i, c.j, 3, 3, g, c.height); l != c.l || r != c.r {
				t.Errorf("%+v: %d to %d", c, l, r)
			}
		}
	}
}
