package scenes

import (
	"fmt"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// phone is the picture of a phone held upright, dp.
var phone = ink.Point{X: 390, Y: 844}

var allTabs = []string{kit.IDTabGain, kit.IDTabTwin, kit.IDTabMend, kit.IDTabPlan, kit.IDTabLessons, kit.IDTabPractice}

func onPhone(t testing.TB) *scenetest.Driver {
	b := newBench(t)
	b.Size = phone
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
