package scenes

import (
	"fmt"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"testing"
)

func TestLargePictures(t *testing.T) {
	for size, want := range map[ink.Point]float32{{X: 1920, Y: 1080}: 1, {X: 2560, Y: 1440}: 1.5, {X: 3840, Y: 2160}: 2.25, {X: 1024, Y: 640}: 1, {X: 2000, Y: 600}: 1} {
		if got := enlarge(size); got != want {
			t.Errorf("%v: enlarged %v times, want %v", size, got, want)
		}
	}
	// A press lands where the node says the control is.
	p := build(t, nil, func(Shell) []Scene { return amid() })
	size := ink.Point{X: 3840, Y: 2160}
	p.Frame(Input{Size: size})
	for _, n := range p.Semantics() {
		if n.ID == "tab.twin" {
			c := n.Bounds.Center()
			p.Frame(Input{Size: size, Pointers: []Pointer{{Kind: Down, At: c}, {Kind: Up, At: c}}})
		}
	}
	if p.Scene().ID() != "tab.twin" {
		t.Error("a press on a large picture missed")
	}
}

// TestHeader lays out more tabs than there are.
func TestHeader(t *testing.T) {
	p := build(t, nil, func(sh Shell) []Scene {
		return append(amid(), otherScene{"tab.first", "Plan the season"}, otherScene{"tab.last", "Listening"})
	})
	for i, size := range testSizes {
		for range ui.TextScales {
			p.Frame(Input{Size: size, Seconds: float64(i)})
			name := fmt.Sprintf("%gx%g, text %g", size.X, size.Y, p.Theme().Text)
			var l ink.List
			p.Draw(&l)
			checkTexts(t, name, &l, size, ink.Rect{})
			checkControls(t, name, p)
			if err := p.Apply(Intent{ID: "text_size", Do: "press"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := p.Apply(Intent{ID: "tab.last", Do: "press"}); err != nil || p.Scene().Title() != "Listening" {
		t.Errorf("%v, at %q", err, p.Scene().Title())
	}
}

// TestMonitorStartsLow: nothing is heard before it is asked for, and never at full scale.
func TestMonitorStartsLow(t *testing.T) {
	p := build(t, nil, func(Shell) []Scene { return amid() })
	if m := p.monitor.Settings(); !m.Mute || m.CeilingDBFS > -6 || m.TrimDB != levelStart {
		t.Errorf("monitor %+v", m)
	}
}
