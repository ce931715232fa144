package practice

import (
	"strings"
	"testing"

	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// TestWindowIsKept: until the conversation is over the ruler shows scale, ticks and the
// rule of thumb, and neither it nor the meter tells the window, mirror included; then both
// do, and speak of the numbers that the advice speaks of.
func TestWindowIsKept(t *testing.T) {
	for _, seed := range []uint64{11, 42} { // a guest in a noisy room, and one in a quiet one
		windowIsKept(t, seed)
	}
}

func windowIsKept(t *testing.T, seed uint64) {
	var s *Scene
	b := scenetest.Drive(t, scenetest.Build(t, scenetest.Keeper{M: map[string]string{}}, func(sh kit.Shell) []kit.Scene {
		g := gain.New(sh)
		s = New(sh, g)
		s.draw = func() uint64 { return seed }
		return scenetest.Amid(g, s)
	}))
	b.Do(kit.IDTabPractice)
	stills(b, s)
	b.Wait(6)
	told := func() bool {
		return strings.Contains(b.Node(kit.IDRuler).Value, "too risky") || strings.Contains(b.Node("A."+kit.IDStripMeter).Value, "belongs")
	}
	if n := b.Node(kit.IDRuler); told() || !strings.Contains(n.Value, "Strip A at ") || !strings.Contains(n.Value, kit.Capital(secretWords)) {
		t.Errorf("before the conversation: %q, %q", n.Value, b.Node("A."+kit.IDStripMeter).Value)
	}
	b.Do("practice.talk")
	for range 400 {
		b.Wait(1.0 / 60)
		if told() {
			t.Fatal("told while the conversation rolls")
		}
	}
	stills(b, s)
	b.Wait(0.1)
	n := b.Node(kit.IDRuler)
	hour, empty := "For the hour: ", s.out.Hour.Window.Empty()
	if empty {
		hour = "The hour: at most "
	}
	if empty != (seed == 11) {
		t.Fatalf("seed %d: another guest than meant", seed)
	}
	for _, w := range []string{hour + whole(s.out.HourGainDB), "needed at most " + whole(s.out.MostGainDB)} {
		if !strings.Contains(n.Value, w) {
			t.Errorf("afterwards %q lacks %q", n.Value, w)
		}
		if w = strings.TrimPrefix(w, hour); !strings.Contains(s.out.Advice, strings.TrimPrefix(w, "needed at most ")) {
			t.Errorf("the advice %q lacks %q", s.out.Advice, w)
		}
	}
	if strings.Contains(b.Node("A."+kit.IDStripMeter).Value, "talk's held peak belongs between") == empty {
		t.Errorf("the meter says %q", b.Node("A."+kit.IDStripMeter).Value)
	}
}

func whole(db float64) string { return ui.Decimal(db, 0) + " dB" }
