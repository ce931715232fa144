package bench

import (
	"math"
	"testing"
)

func TestColumns(t *testing.T) {
	s := newSession(t)
	setGain(t, s, 0, 60)
	tk := record(t, s, false, 3)
	for _, span := range []int64{200, 4000, 48000, tk.Frames()} {
		var e Envelope
		from := tk.Loudest - span/2
		n := 97
		tk.Columns(&e, 0, from, span, n)
		top, want := float32(0), float32(0)
		for i := range n {
			top = max(top, e.Hi[tapFile][i], -e.Lo[tapFile][i])
		}
		for f := max(from, 0); f < min(from+span, tk.Frames()); f++ {
			want = max(want, tk.File[0][f], -tk.File[0][f])
		}
		if math.Abs(float64(top-want)) > 1e-6 {
			t.Errorf("%d frames: peak %v, want %v", span, top, want)
		}
	}
}
