package scenes

import (
	"strings"
	"testing"

	"gainwright/lessons/glossary"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// units are what has to be explained wherever it stands in a scene.
var units = map[string]string{"dB SPL": "db-spl", "dBu": "dbu", "dBFS": "dbfs", "LUFS": "lufs", "EIN": "ein", "noise after delivery": "noise-after-delivery"}

// TestExplained: each unit that stands in a scene has its explanation one press away, by
// pointer and mirror; it says what the glossary says, whole and in the picture. On a phone on
// its side and on a tablet held upright with GAINWRIGHT_LONG.
func TestExplained(t *testing.T) {
	met := map[string]bool{}
	for _, size := range []ink.Point{{X: 1280, Y: 720}, phone, {X: 844, Y: 390}, {X: 820, Y: 1180}} {
		if !long && (size.X == 844 || size.X == 820) {
			continue
		}
		b := under(t, size)
		b.Coarse = size.X != 1280
		look := func(where string) {
			t.Helper()
			b.Wait(1.0 / 30)
			shown := strings.Join(b.ShownWords(func(s string) bool { return strings.Contains(s, "explain") }), "\n")
			b.Do("explain")
			b.Wait(1.0 / 30)
			for unit, id := range units {
				if !strings.Contains(shown, unit) {
					continue
				}
				met[unit] = true
				c := controlOf(t, b.P, "explain."+id)
				if c.Hidden {
					t.Errorf("%v, %s: %s stands there and is not explained", size, where, unit)
					continue
				}
				b.Do(c.ID)
				b.Wait(1.0 / 30)
				term, _ := glossary.ByID(id)
				if n := b.Node("explain.text"); n.Name != term.Name || n.Value != strings.Join(term.Paragraphs(), " ") {
					t.Errorf("%v, %s: %s says %q", size, where, id, n.Value)
				}
				if c.Name != "What is "+term.Name+"?" {
					t.Errorf("%s is called %q", c.ID, c.Name)
				}
				r := b.Node("explain.text").Bounds
				if r.Y < 0 || r.X < 0 || r.Right() > size.X || r.Bottom() > size.Y {
					t.Errorf("%v, %s: the panel lies at %v", size, where, r)
				}
				if size.X == 390 {
					checkThumbs(t, where+", explained", b.P)
				}
			}
			b.Key("Escape")
			b.Wait(1.0 / 30)
			if b.Has("explain.text") {
				t.Errorf("%v, %s: Escape closes nothing", size, where)
			}
		}
		for _, tab := range []string{kit.IDTabGain, kit.IDTabPlan, kit.IDTabPractice, kit.IDTabMend} {
			b.Do(tab)
			b.Wait(0.5)
			look(tab)
		}
		b.Do(kit.IDTabFirst)
		for _, id := range []string{"first.record", "first.again", "first.record", "first.next"} {
			b.Wait(1.0 / 30)
			b.Until(id+" to be offered", func() bool { c := controlOf(t, b.P, id); return !c.Hidden && !c.Disabled })
			b.Do(id)
		}
		look("the first guest's diagram")
	}
	for unit := range units {
		if !met[unit] {
			t.Errorf("%s stands nowhere", unit)
		}
	}
}

// TestExplainedAway: a press beside the panel closes it, one on it does not reach what lies
// below; its button closes it; the focus goes in and comes back.
func TestExplainedAway(t *testing.T) {
	b := newBench(t)
	press := func(at ink.Point) {
		b.Now += 1.0 / 60
		b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Pointers: []ui.Pointer{{Kind: ui.Down, At: at}, {Kind: ui.Up, At: at}}})
		b.Wait(1.0 / 30)
	}
	open := func() ink.Rect {
		t.Helper()
		if err := b.P.Apply(ui.Intent{ID: "explain", Do: ui.DoFocus}); err != nil {
			t.Fatal(err)
		}
		b.Do("explain")
		b.Wait(1.0 / 30)
		if f := b.P.Focused(); f != "explain.close" {
			t.Errorf("the focus is on %q", f)
		}
		return b.Node("explain.text").Bounds
	}
	gain := b.Gain(0)
	r := open()
	press(ink.Point{X: r.X + r.W/2, Y: r.Bottom() - 4})
	if !b.Has("explain.text") || b.Gain(0) != gain {
		t.Error("a press on the panel closes it or goes through it")
	}
	for _, c := range b.P.Controls() {
		if x := c.Common(); x.ID == "A.gain_db" {
			t.Error("what the panel covers can be reached")
		}
	}
	press(ink.Point{X: 30, Y: 700})
	if b.Has("explain.text") {
		t.Error("a press beside the panel does not close it")
	}
	open()
	b.Do("explain.close")
	b.Wait(1.0 / 30)
	if f := b.P.Focused(); b.Has("explain.text") || f != "explain" {
		t.Errorf("closed, the focus is on %q", f)
	}
}
