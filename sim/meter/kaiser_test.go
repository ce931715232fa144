package meter

import "testing"

// TestKaiser: the window against the modified Bessel function as tabulated in
// Abramowitz and Stegun, Table 9.8 (e^−x·I0(x), from memory): at the ends it is
// 1/I0(β), half way I0(β·√¾)/I0(β).
func TestKaiser(t *testing.T) {
	for _, c := range []struct{ beta, end float64 }{
		{0, 1}, {1, 1 / 1.2660658778}, {2, 1 / 2.2795853023}, {5, 1 / 27.2398718236}, {10, 1 / 2815.716628},
	} {
		w := Kaiser(c.beta)
		for _, u := range []float64{-1, 1} {
			if got := w(u); got < c.end*(1-1e-9) || got > c.end*(1+1e-9) {
				t.Errorf("β %v: %v at %v, not %v", c.beta, got, u, c.end)
			}
		}
		if w(0) != 1 || w(1.001) != 0 || w(-1.001) != 0 {
			t.Errorf("β %v: %v in the middle, %v and %v outside", c.beta, w(0), w(1.001), w(-1.001))
		}
	}
	// β·√(1−0.8²) = 0.6·5 = 3; I0(3) = 4.8807925859.
	near(t, "β 5 at 0.8", Kaiser(5)(0.8), 4.8807925859/27.2398718236, 1e-10)
}
