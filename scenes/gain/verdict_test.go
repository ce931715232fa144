package gain

import (
	"strings"
	"testing"

	"gainwright/scenes/ink"
)

// TestVerdictByItself: a take that has ended shows its result where the waves were, in
// words without units first; while the next one rolls the waves are there again.
func TestVerdictByItself(t *testing.T) {
	b := gainBench(t)
	checked := func(when, id string) {
		t.Helper()
		if !b.Node(id).Checked {
			t.Errorf("%s: %s is not what the lower panel shows", when, id)
		}
	}
	b.Set("A.gain_db", 60)
	checked("at first", "view.waves")
	b.Do("station.converter")
	b.Do("record")
	b.Wait(1)
	b.Do("event.laugh")
	b.Wait(3)
	b.Do("record")
	b.Wait(0.3)
	checked("after a take with a station open", "view.result")
	if n := b.Node("A.result"); n.Name != "Strip A: too hot" || !strings.Contains(n.Value, "moments flattened, lost for good.") {
		t.Errorf("60 dB: %q, %q", n.Name, n.Value)
	}
	b.Do("record")
	b.Wait(0.5)
	checked("while a take rolls", "view.waves")
	b.Do("record")
	b.Wait(0.3)
	checked("after the second take", "view.result")
	b.Do("view.spectrum")
	b.Do("record")
	b.Wait(0.5)
	checked("chosen, and a take rolls", "view.spectrum")
	b.Do("record")
	b.Wait(0.3)
	checked("after the third take", "view.result")
	b.Do("view.result") // now it is chosen
	b.Do("record")
	b.Wait(0.5)
	checked("the result chosen, and a take rolls", "view.result")
	b.Do("record")
	b.Wait(0.3)
}

// TestVerdictComesIntoView: in a column that scrolls, too, one sees the result.
func TestVerdictComesIntoView(t *testing.T) {
	b := gainBench(t)
	b.Size = ink.Point{X: 600, Y: 760}
	b.Wait(0.2)
	b.Take(2)
	g := gainOf(b.P)
	if in := g.waves.Intersect(g.view); in.H < min(g.waves.H, g.view.H)-1 {
		t.Errorf("the result at %v is not in view %v", g.waves, g.view)
	}
}

// TestVerdictLeavesOthersAlone: a presentation goes on with its own idea, and who
// looked at the bench on loan is not sent elsewhere.
func TestVerdictLeavesOthersAlone(t *testing.T) {
	b := gainBench(t)
	b.Do("present")
	b.Do("record")
	b.Wait(1)
	b.Do("record")
	b.Wait(0.3)
	b.Do("present")
	b.Wait(0.1)
	if b.Node("view.result").Checked {
		t.Error("a take of a presentation has changed the whole bench")
	}
}
