package scenes

import (
	"fmt"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// TestPresentEveryScene: every scene with a tab but Practice can be shown one idea at a
// time, by the keys alone; each idea is told in the mirror by a heading of its own, fits
// every window and text, and the end leaves the scene as it was. Each idea is drawn in every
// window, in two sizes of text that take turns; in all five with GAINWRIGHT_LONG.
func TestPresentEveryScene(t *testing.T) {
	sizes := []ink.Point{{X: 1280, Y: 720}, {X: 1024, Y: 640}, {X: 1920, Y: 1080}, {X: 820, Y: 1180}, {X: 390, Y: 844}, {X: 844, Y: 390}, {X: 360, Y: 640}}
	b := newBench(t)
	look := func(name string, least int) {
		t.Helper()
		b.Size = ink.Point{X: 1280, Y: 720}
		b.Wait(2.0 / 60)
		before := shownIDs(b)
		b.Do("present")
		b.Wait(2.0 / 60)
		pr := b.P.Scene().(kit.Presented)
		n := pr.Ideas()
		if n < least || !b.P.Presenting() || b.P.Theme().Text < 1.4 {
			t.Fatalf("%s: %d ideas, presenting %v, text %v", name, n, b.P.Presenting(), b.P.Theme().Text)
		}
		told := map[string]bool{}
		for i := range n {
			for k, size := range sizes {
				b.Size = size
				for n := range ui.TextScales {
					if turn := (n + i + k) % len(ui.TextScales); turn != 0 && turn != 2 && !long {
						b.Do("text_size")
						continue
					}
					b.Wait(1.0 / 60)
					var l ink.List
					b.P.Draw(&l)
					what := fmt.Sprintf("%s, idea %d, %gx%g, text %g", name, i+1, size.X, size.Y, b.P.Theme().Text)
					scenetest.CheckWords(t, what, &l, size, ink.Rect{W: 1})
					scenetest.CheckPlaces(t, what, b.P)
					b.Do("text_size")
				}
			}
			if name != "gain" {
				told[b.Node("idea").Name+b.Node("idea").Value] = true
			}
			b.Key("ArrowRight")
		}
		if name != "gain" && len(told) != n {
			t.Errorf("%s: %d ideas are told apart, of %d", name, len(told), n)
		}
		b.Key("ArrowLeft")
		b.Key("Escape")
		b.Size = ink.Point{X: 1280, Y: 720}
		b.Wait(2.0 / 60)
		if after := shownIDs(b); b.P.Presenting() || after != before {
			t.Errorf("%s: afterwards there is\n%s\nbefore\n%s", name, after, before)
		}
	}
	b.Wait(1)
	b.Do("tab.twin")
	b.Until("made", func() bool { return strings.HasPrefix(b.P.Announce(), "Two performances, one file") })
	look("twin", 4)
	b.Do("present")
	b.Key("ArrowRight")
	was := b.Node("twin.gain_db").Value
	b.Key("ArrowDown")
	if now := b.Node("twin.gain_db").Value; now == was {
		t.Errorf("the arrow does not turn the gain from %v", was)
	}
	b.Key("Escape")
	b.Do("tab.mend")
	look("mend", 4)
	b.Do("tab.plan")
	// What helps, and what matters, are worked out one after the other.
	b.Do("plan.view.matters")
	b.Until("planned", func() bool { return b.Has("plan.swing.1") })
	b.Do("plan.view.remedies")
	b.Until("planned", func() bool { return b.Has("plan.remedy.1") })
	look("plan", 4)
	b.Do("tab.recorder")
	look("recorder", 4)
	b.Do("tab.lessons")
	b.Until("read", func() bool { return strings.Contains(shownIDs(b), "lesson.begin.whole-session") })
	look("lessons", 13)
	b.Do("lesson.begin.gain-and-headroom")
	look("a lesson", 3)
	// The next step begins with its first idea.
	b.Do("present")
	b.Key("ArrowRight")
	b.Key("n")
	b.Wait(2.0 / 60)
	if got := b.Node("idea").Name; !strings.HasPrefix(got, "Idea 1 of 2: Record") {
		t.Errorf("the next step begins with %q", got)
	}
	b.Key("Escape")
}

// shownIDs are the controls that can be reached.
func shownIDs(b *scenetest.Driver) string {
	var out []string
	for _, c := range b.P.Controls() {
		if !c.Common().Hidden {
			out = append(out, c.Common().ID)
		}
	}
	return strings.Join(out, "\n")
}
