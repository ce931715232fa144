package scenes

import (
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
)

// TestTextByWindow: text follows the window until somebody chooses its size; then it is
// what was chosen, in every window and at the next visit. A picture as large as a
// projector's is enlarged whole, its text with it.
func TestTextByWindow(t *testing.T) {
	host := scenetest.Seen()
	b := scenetest.Drive(t, programOn(t, host))
	at := func(w, h, want float32) {
		t.Helper()
		b.Size = ink.Point{X: w, Y: h}
		b.Wait(1.0 / 30)
		if got := b.P.Theme().Text; got != want {
			t.Errorf("%gx%g: text %g, want %g", w, h, got, want)
		}
	}
	for _, v := range [][3]float32{{390, 844, 1}, {820, 1180, 1}, {1024, 768, 1}, {1280, 720, 1}, {1440, 900, 1}, {1920, 1080, 1.25}, {1920, 700, 1}, {2560, 1440, 1}, {1280, 720, 1}} {
		at(v[0], v[1], v[2])
	}
	b.Do("text_size")
	at(2560, 1440, 1.25)
	at(1280, 720, 1.25)
	b = scenetest.Drive(t, programOn(t, host))
	at(2560, 1440, 1.25)
}
