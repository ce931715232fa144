package scenes

import (
	"strings"
	"testing"

	"gainwright/scenes/scenetest"
)

// wayfarer is a host with a history of its own, as a browser has one.
type wayfarer struct {
	scenetest.Memory
	way  []string
	at   int
	went []string
}

func from(place string) *wayfarer {
	return &wayfarer{Memory: scenetest.Memory{M: map[string]string{}}, way: []string{place}}
}

func (w *wayfarer) Place() string { return w.way[w.at] }

func (w *wayfarer) Mark(place string, step bool) {
	if step {
		w.way = append(w.way[:w.at+1], place)
		w.at++
	}
	w.way[w.at] = place
}

func (w *wayfarer) Went() (place string, ok bool) {
	if len(w.went) == 0 {
		return "", false
	}
	place, w.went = w.went[0], w.went[1:]
	return place, true
}

// goes is what the user does with the browser's buttons.
func (w *wayfarer) goes(d int) {
	w.at += d
	w.went = append(w.went, w.Place())
}

// TestWay: tabs are steps of the browser's history; Back and Forward go along them and
// add none.
func TestWay(t *testing.T) {
	h := from("")
	b := visitAll(t, h)
	shows := func(id, way string) {
		t.Helper()
		b.Wait(0.1)
		if got := b.P.Scene().ID(); got != id || strings.Join(h.way, ",") != way {
			t.Errorf("shown is %s, the way %q; want %s, %q", got, h.way, id, way)
		}
	}
	shows("tab.gain", "")
	b.Do("tab.plan")
	b.Do("tab.plan")
	b.Do("tab.twin")
	shows("tab.twin", ",plan,twin")
	h.goes(-1)
	shows("tab.plan", ",plan,twin")
	h.goes(-1)
	shows("tab.gain", ",plan,twin")
	h.goes(2)
	shows("tab.twin", ",plan,twin")
	h.goes(-1)
	b.Wait(0.1)
	b.Do("tab.mend")
	shows("tab.mend", ",plan,mend")
	h.way[h.at] = "nowhere" // somebody writes into the address
	h.goes(0)
	shows("tab.mend", ",plan,mend")
	h.way[h.at] = "gain" // the first has a name, too
	h.goes(0)
	shows("tab.gain", ",plan,gain")
}

// TestAddressOpensATab: each of them, also one that borrows the bench.
func TestAddressOpensATab(t *testing.T) {
	for _, place := range []string{"twin", "mend", "plan", "lessons", "practice", "gain", "nowhere"} {
		h := from(place)
		b := visitAll(t, h)
		b.Wait(0.2)
		want, way := "tab."+place, place
		if place == "gain" || place == "nowhere" {
			want, way = "tab.gain", ""
		}
		if got := b.P.Scene().ID(); got != want || h.way[0] != way || len(h.way) != 1 {
			t.Errorf("%q shows %s, the way is %q", place, got, h.way)
		}
		b.Do("tab.gain")
		if b.Take(1) == nil {
			t.Errorf("%q: no take afterwards", place)
		}
	}
}

// TestBackInATakeAsks: where a tab asks, Back does, and the way stays as it was.
func TestBackInATakeAsks(t *testing.T) {
	h := from("")
	b := visitAll(t, h)
	b.Do("tab.practice")
	b.Do("tab.gain")
	b.Do("record")
	b.Wait(0.5)
	h.goes(-1)
	b.Wait(0.1)
	if got := b.P.Scene().ID(); got != "tab.gain" || !strings.Contains(b.P.Announce(), "once more") || h.Place() != "" {
		t.Fatalf("shown is %s, told %q, the way %q", got, b.P.Announce(), h.way)
	}
	h.goes(-1)
	b.Wait(1)
	if got := b.P.Scene().ID(); got != "tab.practice" {
		t.Errorf("shown is %s, told %q, the way %q", got, b.P.Announce(), h.way)
	}
}
