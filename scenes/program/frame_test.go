package program

import (
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
)

func TestLargePictures(t *testing.T) {
	for size, want := range map[ink.Point]float32{{X: 1920, Y: 1080}: 1, {X: 2560, Y: 1440}: 1.5, {X: 3840, Y: 2160}: 2.25, {X: 1024, Y: 640}: 1, {X: 2000, Y: 600}: 1} {
		if got := enlarge(size); got != want {
			t.Errorf("%v: enlarged %v times, want %v", size, got, want)
		}
	}
}

// blank is a scene by name only.
type blank struct{ kit.Scene }

func (blank) ID() string { return "tab.blank" }

func (blank) Title() string { return "Blank" }

// TestMonitorStartsLow: nothing is heard before it is asked for, and never at full scale.
func TestMonitorStartsLow(t *testing.T) {
	p, err := New(nil, func(kit.Shell) []kit.Scene { return []kit.Scene{blank{}} })
	if err != nil {
		t.Fatal(err)
	}
	if m := p.monitor.Settings(); !m.Mute || m.CeilingDBFS > -6 || m.TrimDB != levelStart {
		t.Errorf("monitor %+v", m)
	}
}
