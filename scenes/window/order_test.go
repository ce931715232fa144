package window

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"gainwright/scenes/ui"
)

// Whatever comes in whatever order is taken in that order, intents before keys in
// each frame, and nothing is lost or taken twice.
func TestInboxKeepsTheOrder(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		var b inbox
		var put, got []string
		frames := 0
		frame := func() {
			intents, keys := b.take(nil, nil)
			for _, w := range intents {
				got = append(got, w.ID)
			}
			for _, k := range keys {
				got = append(got, string(k.Key))
			}
			frames++
		}
		for i := range rnd.IntN(12) {
			switch rnd.IntN(5) {
			case 0, 1:
				b.key(ui.KeyPress{Key: ui.Key(fmt.Sprint("key ", i))})
				put = append(put, fmt.Sprint("key ", i))
			case 2, 3:
				b.put(ui.Intent{ID: fmt.Sprint("intent ", i)})
				put = append(put, fmt.Sprint("intent ", i))
			default:
				frame()
			}
		}
		for b.waiting() || len(b.keys) > 0 {
			if frame(); frames > 50 {
				t.Fatalf("%v is never taken whole", put)
			}
		}
		if !slices.Equal(put, got) {
			t.Fatalf("came as %v, taken as %v", put, got)
		}
	}
	// Enter, then Tab: the Enter is for where the focus was.
	var b inbox
	b.key(ui.KeyPress{Key: "Enter"})
	b.put(ui.Intent{ID: "next", Do: "focus"})
	if w, k := b.take(nil, nil); len(w) != 0 || len(k) != 1 {
		t.Errorf("first frame: %v, %v", w, k)
	}
	if w, k := b.take(nil, nil); len(w) != 1 || len(k) != 0 {
		t.Errorf("second frame: %v, %v", w, k)
	}
}
