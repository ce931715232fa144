package scenes

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// phone is the picture of a phone held upright, dp.
var phone = ink.Point{X: 390, Y: 844}

var allTabs = []string{kit.IDTabGain, kit.IDTabTwin, kit.IDTabMend, kit.IDTabPlan, kit.IDTabLessons, kit.IDTabPractice, kit.IDTabRecorder}

// fingered are windows whose pointer is a finger: a phone upright and on its side, a
// tablet both ways.
var fingered = []ink.Point{phone, {X: 844, Y: 390}, {X: 820, Y: 1180}, {X: 1180, Y: 820}}

func onPhone(t testing.TB) *scenetest.Driver { return under(t, phone) }

// under is the bench in a window under a finger.
func under(t testing.TB, size ink.Point) *scenetest.Driver {
	b := newBench(t)
	b.Size, b.Coarse = size, true
	b.Wait(1.0 / 60)
	return b
}

func controlOf(t testing.TB, p *program.Program, id string) *ui.Base {
	t.Helper()
	for _, c := range p.Controls() {
		if b := c.Common(); b.ID == id {
			return b
		}
	}
	t.Fatalf("no control %q", id)
	return nil
}

// TestPhoneFrame: of a phone's height the header and the tabs take less than a quarter,
// at every size of text; every tab is as large as a thumb and named by the word on it.
func TestPhoneFrame(t *testing.T) {
	b := onPhone(t)
	for range ui.TextScales {
		b.Wait(1.0 / 60)
		name := fmt.Sprintf("text %g", b.P.Theme().Text)
		for _, tab := range allTabs {
			b.Do(tab)
			b.Wait(1.0 / 60)
			top, bottom := float32(0), phone.Y
			for _, id := range append([]string{"sound", "more"}, allTabs...) {
				c := controlOf(t, b.P, id)
				if c.Hidden {
					t.Errorf("%s: %s is hidden", name, id)
				}
				if c.Bounds.Y < phone.Y/2 {
					top = max(top, c.Bounds.Bottom())
				} else {
					bottom = min(bottom, c.Bounds.Y)
				}
				if c.Bounds.W < ui.Touch || c.Bounds.H < ui.Touch {
					t.Errorf("%s: %s is only %g by %g dp", name, id, c.Bounds.W, c.Bounds.H)
				}
			}
			if used := top + phone.Y - bottom; used >= phone.Y/4 {
				t.Errorf("%s, %s: header and tabs take %.0f of %.0f dp", name, tab, used, phone.Y)
			}
			for _, id := range []string{"undo", "redo", "listen.level_db", "text_size", "theme"} {
				if !controlOf(t, b.P, id).Hidden {
					t.Errorf("%s, %s: %s is in the header", name, tab, id)
				}
			}
		}
		b.Do("text_size")
	}
	b.Do("more")
	b.Wait(1.0 / 60)
	view, _ := b.P.ShowingSheet()
	for _, id := range []string{"undo", "redo", "listen.level_db", "text_size", "theme"} {
		if c := controlOf(t, b.P, id); c.Hidden || c.Bounds.Y < view.Y || c.Bounds.Bottom() > view.Bottom() {
			t.Errorf("%s at %v is not seen on the page behind the menu", id, c.Bounds)
		}
	}
}

// seen is what of a control can be pressed.
func seen(c *ui.Base) ink.Rect {
	if c.Clip.W > 0 {
		return c.Bounds.Intersect(c.Clip)
	}
	return c.Bounds
}

// checkThumbs: nothing that is pressed is smaller than a thumb, lies beside the picture,
// or below another; what scrolls is looked at whole.
func checkThumbs(t *testing.T, name string, p *program.Program) {
	t.Helper()
	scenetest.CheckControls(t, name, p)
	for _, c := range p.Controls() {
		b := c.Common()
		if b.Hidden || b.Bounds.W == 0 {
			continue
		}
		if b.Bounds.W < ui.Touch-0.01 || b.Bounds.H < ui.Touch-0.01 {
			t.Errorf("%s: %s is only %.1f by %.1f dp", name, b.ID, b.Bounds.W, b.Bounds.H)
		}
	}
}

// TestPhoneGain: at a phone's size "Set the gain" has strip and take in view whatever is
// pressed, everything is as large as a thumb, no word is cut, and what a press opens lies
// in the picture.
func TestPhoneGain(t *testing.T) {
	b := onPhone(t)
	look := func(state string, opened ...string) {
		t.Helper()
		for range 2 {
			b.Wait(1.0 / 30)
			name := fmt.Sprintf("%s, text %g", state, b.P.Theme().Text)
			if b.P.Theme().Text == 1 {
				checkThumbs(t, name, b.P)
				var l ink.List
				b.P.Draw(&l)
				scenetest.CheckTexts(t, name, &l, phone, ink.Rect{W: phone.X, H: phone.Y})
			}
			ids := []string{"record", "play", "A.gain_db", "A.meter"}
			if b.P.Theme().Text == 1 {
				ids = append(ids, opened...) // with larger text a card may have to scroll
			}
			if b.P.Theme().Text > 1 && strings.HasPrefix(state, "blind") {
				ids = nil // then all of it scrolls
			}
			for _, id := range ids {
				c := controlOf(t, b.P, id)
				if r := seen(c); c.Hidden || r.H < c.Bounds.H-0.5 || r.W < c.Bounds.W-0.5 || r.Bottom() > phone.Y {
					t.Errorf("%s: %s at %v is not in view (hidden %v)", name, id, c.Bounds, c.Hidden)
				}
			}
			b.Do("text_size")
		}
		for range len(ui.TextScales) - 2 {
			b.Do("text_size")
		}
		b.Wait(1.0 / 30)
	}
	look("at the start", "station.preamp", "strips", "hold.reset")
	for _, st := range []string{"talker", "room", "microphone", "preamp", "converter", "file"} {
		b.Do("station." + st)
		look(st+" open", "drawer.close")
		b.Do("drawer.close")
	}
	b.Do("strips")
	look("strips open", "drawer.close", "strips.add")
	b.Do("drawer.close")
	b.Do("card.talker")
	look("talker", "talker.pip", "event.laugh", "check", "again", "surprises", "file.open")
	b.Do("record")
	b.Wait(1)
	b.Do("event.laugh")
	b.Wait(3)
	look("recording", "event.laugh")
	b.Do("record")
	b.Wait(0.2)
	look("the verdict of a take", "view.result")
	if b.Node("A.result").Value == "" || !controlOf(t, b.P, "view.result").Hidden && !b.Node("view.result").Checked {
		t.Error("the result is not shown after a take")
	}
	b.Do("view.waves")
	look("waves", "scope.nearer", "scope.farther", "scope.loudest")
	b.Do("view.spectrum")
	look("spectrum", "scope.loudest")
	b.Do("card.listen")
	look("listen", "listen.A", "listen.spoken", "listen.matched", "take.at_s", "loop", "take.save", "blind.start")
	b.Do("listen.A")
	b.Do("play")
	look("a caution", "caution.play", "caution.cancel")
	b.Do("caution.cancel")
	b.Do("blind.start")
	look("blind, being prepared", "blind.start", "blind.stop")
	b.Do("blind.start")
	b.Do("caution.play")
	look("blind", "blind.is_first", "blind.is_second", "blind.hear_x", "blind.stop")
	if y, rec := controlOf(t, b.P, "blind.is_first").Bounds, controlOf(t, b.P, "record").Bounds; y.Bottom() > rec.Y || rec.Y-y.Bottom() > 40 {
		t.Errorf("the answers at %v are not above Record at %v", y, rec)
	}
	b.Do("blind.stop")
	b.Do("strips.safety")
	b.Do("strips.add")
	b.Do("show.A")
	b.Do("card.levels")
	b.Wait(0.5)
	look("four strips")
}

// TestPhoneThumbs: in every scene, wherever a finger is the pointer, what is pressed is as
// large as a thumb and lies over nothing else; with a mouse in as large a window it is not.
func TestPhoneThumbs(t *testing.T) {
	for _, size := range fingered {
		b := under(t, size)
		look := func(state string) {
			t.Helper()
			b.Wait(1.0 / 30)
			checkThumbs(t, fmt.Sprintf("%gx%g, %s", size.X, size.Y, state), b.P)
		}
		for _, tab := range allTabs {
			b.Do(tab)
			b.Wait(0.5)
			look(tab)
		}
		b.Do(kit.IDTabGain)
		for _, id := range []string{"station.preamp", "strips"} {
			b.Do(id)
			look(id)
			b.Do("drawer.close")
		}
		if size.X == 820 && !long {
			continue // a tablet held upright has what one on its side has, and more height
		}
		b.RecordLaugh()
		look("a take")
		b.Do("blind.start")
		look("blind")
		b.Do("blind.stop")
		b.Do("listen.A")
		b.Do("play")
		look("a caution")
		b.Do("caution.cancel")
		b.Do("more")
		look("the page behind the menu")
		b.Do("more")
		b.Do(kit.IDTabFirst)
		look("the first guest")
		for _, id := range []string{"first.record", "first.again", "first.record", "first.next", "first.next"} {
			b.Until(id+" to be offered", func() bool { c := controlOf(t, b.P, id); return !c.Hidden && !c.Disabled })
			look("the first guest before " + id)
			b.Do(id)
		}
		look("the first guest at the end")
	}
	b := newBench(t)
	b.Size = ink.Point{X: 1180, Y: 820}
	b.Wait(1.0 / 60)
	if h := controlOf(t, b.P, "check").Bounds.H; h >= ui.Touch {
		t.Errorf("with a mouse the sound check's button is %g dp high, too", h)
	}
	b.Coarse = true
	b.Wait(1.0 / 60)
	if h := controlOf(t, b.P, "check").Bounds.H; h < ui.Touch {
		t.Errorf("when a finger became the pointer the sound check's button stayed %g dp high", h)
	}
}

// TestFingers: a finger that begins on no control scrolls, and sideways goes to the card
// beside; one that begins on the knob turns it.
func TestFingers(t *testing.T) {
	b := onPhone(t)
	drag := func(from ink.Point, dx, dy float32) {
		send := func(k ui.PointerKind, at ink.Point) {
			b.Now += 1.0 / 60
			b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Coarse: true, Pointers: []ui.Pointer{{Kind: k, ID: 7, At: at}}})
		}
		send(ui.Down, from)
		for i := float32(1); i <= 10; i++ {
			send(ui.Move, ink.Point{X: from.X + dx*i/10, Y: from.Y + dy*i/10})
		}
		send(ui.Up, ink.Point{X: from.X + dx, Y: from.Y + dy})
		b.Wait(1.0 / 30)
	}
	card := func() string {
		for _, n := range b.P.Semantics() {
			if n.Checked && (strings.HasPrefix(n.ID, "card.") || strings.HasPrefix(n.ID, "view.")) {
				return n.ID
			}
		}
		return ""
	}
	// Above the diagram, where nothing is pressed.
	op := controlOf(t, b.P, "station.preamp").Bounds
	plot := ink.Point{X: 195, Y: op.Y - 60}
	for _, want := range []string{"view.waves", "view.spectrum"} {
		drag(plot, -90, 4)
		if card() != want {
			t.Errorf("to the left: %q, want %q", card(), want)
		}
		plot.Y = controlOf(t, b.P, "record").Bounds.Y - 60
		if want == "view.waves" {
			plot.Y = controlOf(t, b.P, "card.levels").Bounds.Bottom() + 20
			plot.X = 60
			continue
		}
	}
	b.Do("card.levels")
	b.Wait(1.0 / 30)
	plot = ink.Point{X: 195, Y: op.Y - 60}
	drag(plot, 90, 0)
	if card() != "card.talker" {
		t.Errorf("to the right: %q", card())
	}
	b.Do("card.levels")
	b.Wait(1.0 / 30)
	drag(plot, 20, 0)
	if card() != "card.levels" {
		t.Errorf("20 dp turn the card to %q", card())
	}
	gain := b.Gain(0)
	drag(controlOf(t, b.P, "A.gain_db").Bounds.Center(), 90, -60)
	if card() != "card.levels" || b.Gain(0) == gain {
		t.Errorf("on the knob: card %q, gain %g, was %g", card(), b.Gain(0), gain)
	}
	b.Do(kit.IDTabPlan)
	b.Wait(0.2)
	was := controlOf(t, b.P, "plan.use").Bounds.Y
	drag(ink.Point{X: 20, Y: 300}, 0, -150)
	if moved := was - controlOf(t, b.P, "plan.use").Bounds.Y; moved < 100 {
		t.Errorf("a finger moved the plan by %g dp", moved)
	}
	// The list of lessons is cards all over: a finger that goes on scrolls, and begins none.
	b.Do(kit.IDTabLessons)
	b.Wait(1)
	const last = "lesson.begin.whole-session"
	card0 := controlOf(t, b.P, "lesson.begin.gain-and-headroom").Bounds.Center()
	was = controlOf(t, b.P, last).Bounds.Y
	drag(card0, 0, -150)
	if moved := was - controlOf(t, b.P, last).Bounds.Y; moved < 100 {
		t.Errorf("a finger on a card moved the lessons by %g dp", moved)
	}
	drag(controlOf(t, b.P, "lesson.begin.gain-and-headroom").Bounds.Center(), 0, 5)
	b.Wait(0.1)
	if found := slices.ContainsFunc(b.P.Semantics(), func(n ui.Node) bool { return n.ID == "lesson.where" }); !found {
		t.Error("a press that trembles begins no lesson")
	}
}

// TestFromPhoneToDesk: a window that was a phone's and is made wide shows the take's
// controls whole again.
func TestFromPhoneToDesk(t *testing.T) {
	b := onPhone(t)
	for _, size := range []ink.Point{{X: 1280, Y: 720}, {X: 844, Y: 390}, {X: 1280, Y: 720}, phone, {X: 820, Y: 1180}} {
		b.Size, b.Coarse = size, size.X != 1280
		b.Wait(1.0 / 30)
		if size.X < 820 || size.Y < 480 {
			continue
		}
		for _, id := range []string{"loop", "check", "again", "surprises", "take.at_s", "take.save"} {
			if c := controlOf(t, b.P, id); c.Hidden || seen(c) != c.Bounds {
				t.Errorf("%v: of %s at %v %v is seen", size, id, c.Bounds, seen(c))
			}
		}
	}
}

// TestPhoneBenchLent: a lesson and practice, which lock what changes the bench, leave the
// choice of what is looked at free, and nothing of theirs is smaller than a thumb, with words
// or pictures on the page.
func TestPhoneBenchLent(t *testing.T) {
	b := onPhone(t)
	look := func(state string) {
		t.Helper()
		b.Wait(2.0 / 60)
		checkThumbs(t, state, b.P)
		var l ink.List
		b.P.Draw(&l)
		scenetest.CheckTexts(t, state, &l, b.Size, ink.Rect{W: b.Size.X, H: b.Size.Y})
	}
	free := func(where string) {
		t.Helper()
		for _, b.Size = range scenetest.PhoneSizes[:2] {
			look(where)
			b.Do(where + ".pictures")
			look(where + ", pictures")
			for _, id := range []string{"view.waves", "view.spectrum", "station.preamp"} {
				if c := controlOf(t, b.P, id); c.Hidden || c.Disabled {
					t.Errorf("%s: %s is locked (%s) or hidden", where, id, c.Why)
					continue
				}
				b.Do(id)
				look(where + ", " + id)
			}
			if c := controlOf(t, b.P, "drawer.close"); c.Hidden || seen(c).H < c.Bounds.H-0.5 {
				t.Errorf("%s, %v: what was opened, closed at %v, is not in view", where, b.Size, c.Bounds)
			}
			b.Do("drawer.close")
			b.Do(where + ".pictures")
			b.Wait(2.0 / 60)
		}
	}
	b.Do("tab.practice")
	b.Wait(0.1)
	b.Until("the guest sits", func() bool { return !controlOf(t, b.P, "practice.talk").Disabled })
	free("practice")
	b.Do("tab.lessons")
	b.Until("the lesson is read", func() bool { return b.Has("lesson.begin.before-or-after") })
	b.Do("lesson.begin.before-or-after")
	b.Wait(0.1)
	b.Do("lesson.next")
	free("lesson")
}
