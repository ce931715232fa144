package scenes

import (
	"strings"
	"testing"

	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// A new version is asked about, by itself and without taking the focus, never while a
// take rolls, and once a visit.
func TestNewVersion(t *testing.T) {
	h := &scenetest.Memory{M: map[string]string{"everything": "1"}}
	p, err := NewProgram(h)
	if err != nil {
		t.Fatal(err)
	}
	b := scenetest.Drive(t, p)
	asked := func() bool { return strings.Contains(p.Announce(), "A new version") }
	b.Do("record")
	b.Wait(0.2)
	h.New = true
	b.Wait(0.2)
	if asked() {
		t.Error("it is asked about in a running take")
	}
	b.Do("record")
	b.Wait(0.3)
	focus := p.Focused()
	if !asked() || focus != "" || !strings.HasPrefix(b.Node("sound.yes").Name, "Take the new version") {
		t.Fatalf("after the take: %q, focus on %q", p.Announce(), focus)
	}
	b.Do("tab.plan")
	b.Wait(0.1)
	if !asked() {
		t.Error("another scene takes the question away")
	}
	b.Do("tab.gain")
	b.Do("record")
	b.Wait(0.2)
	if err := p.Apply(ui.Intent{ID: "sound.yes", Do: ui.DoPress}); err == nil || h.Renewed {
		t.Errorf("taken in a running take: %v", err)
	}
	b.Do("record")
	b.Wait(0.3)
	b.Do("sound.yes")
	if !h.Renewed {
		t.Error("it was not taken")
	}
	h.Renewed = false
	b.Wait(0.1)
	b.Do("sound.no")
	b.Wait(0.2)
	if asked() || h.Renewed {
		t.Errorf("after “Later”: %q", p.Announce())
	}
	// What would be heard still asks for the sound.
	if b.Has("sound.yes") {
		t.Error("the question stands")
	}
}
