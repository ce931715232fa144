package kit

import (
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// TestOneLineIsCentred: the words of a field of one line stand in the middle of its box, as
// high as a thumb needs it.
func TestOneLineIsCentred(t *testing.T) {
	th := ui.NewTheme(true, 1)
	th.Least = ui.Touch
	for _, text := range []string{"", "Ilse"} {
		f := NewTextField("x", "Name", "", 1, 40)
		f.Empty = "your name"
		f.SetText(text)
		f.Bounds = ink.Rect{X: 10, Y: 20, W: 200, H: f.Height(&th)}
		var l ink.List
		f.Draw(&l, &th, ui.State{})
		for i := range l.Ops {
			if op := &l.Ops[i]; op.Kind == ink.KText {
				if d := op.Box.Center().Y - f.Bounds.Center().Y; d > 0.5 || d < -0.5 {
					t.Errorf("%q stands %g dp off the middle of %v", op.Text, d, f.Bounds)
				}
			}
		}
	}
}
