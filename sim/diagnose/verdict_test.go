package diagnose

import "testing"

// Of few tops a cut is told only where the trees are sure; of many, and of what is no cut,
// the likeliest is.
func TestFewTopsAreLittleToGoBy(t *testing.T) {
	for _, c := range []struct {
		tops, moving, softened, rounded float64
		want                            History
	}{
		{900, 0.02, 0.55, 0.40, Unclear}, {900, 0.30, 0.45, 0.20, Softened}, {900, 0.02, 0.40, 0.55, Rounded},
		{1100, 0.02, 0.55, 0.40, Softened}, {1100, 0.55, 0.02, 0.40, Moving}, {900, 0.55, 0.02, 0.40, Unclear},
	} {
		var v verdict
		v.p[indexOf(Moving)], v.p[indexOf(Softened)], v.p[indexOf(Rounded)] = c.moving, c.softened, c.rounded
		v.p[0] = 1 - c.moving - c.softened - c.rounded
		v.decide()
		v.hesitate(c.tops)
		if v.main != c.want {
			t.Errorf("%+v: %d", c, v.main)
		}
	}
}
