package window

import "testing"

// TestLeast: a phone on its side gets a picture of its own size, in which a thumb is a
// thumb; a small window under a mouse gets the whole bench, shrunk.
func TestLeast(t *testing.T) {
	for _, c := range []struct {
		w, h   float64
		coarse bool
		shrunk bool
	}{{844, 390, true, false}, {667, 375, true, false}, {844, 390, false, true}, {390, 844, true, false}, {820, 1180, true, false}, {512, 320, false, true}, {1024, 640, false, false}} {
		lw, lh := least(c.w, c.h, c.coarse)
		if got := c.w < lw || c.h < lh; got != c.shrunk {
			t.Errorf("%+v: least %v by %v", c, lw, lh)
		}
	}
}
