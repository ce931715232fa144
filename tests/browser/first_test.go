//go:build full

package browser

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// fresh makes each visit of the page a first one.
func (p *page) fresh() {
	p.t.Helper()
	p.first(`try { localStorage.clear() } catch {}`)
}

// finger is a person who touches what the picture shows, and nothing else.
type finger struct{ *page }

func (f finger) find(role, name string) node {
	f.t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		for _, n := range f.nodes() {
			if n.Role == role && called(n.Name, name) && n.Bounds.W > 0 {
				return n
			}
		}
		if time.Now().After(end) {
			f.t.Fatalf("there is no %s %q to be touched", role, name)
		}
	}
}

func (f finger) touch(kind input.DispatchTouchEventType, at ...*input.TouchPoint) {
	f.t.Helper()
	if _, err := chromedp.Call(f.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: at}); err != nil {
		f.t.Fatal(err)
	}
}

func (f finger) press(role, name string) {
	f.t.Helper()
	n := f.find(role, name)
	if n.Bounds.W < 44 || n.Bounds.H < 44 {
		f.t.Errorf("%s is %v by %v, too small for a thumb", name, n.Bounds.W, n.Bounds.H)
	}
	x, y := n.Bounds.X+n.Bounds.W/2, n.Bounds.Y+n.Bounds.H/2
	f.touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
	time.Sleep(40 * time.Millisecond)
	f.touch(input.DispatchTouchEventTypeTouchEnd)
}

// set drags a knob, which turns by a fifth of a decibel a pixel.
func (f finger) set(name string, v float64) {
	f.t.Helper()
	n := f.find("slider", name)
	x, y := n.Bounds.X+n.Bounds.W/2, n.Bounds.Y+n.Bounds.H/2
	f.touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
	const steps = 10
	for i := 1; i <= steps; i++ {
		time.Sleep(30 * time.Millisecond)
		f.touch(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: x, Y: y + (n.Now-v)/0.2*float64(i)/steps})
	}
	time.Sleep(60 * time.Millisecond)
	f.touch(input.DispatchTouchEventTypeTouchEnd)
	f.wait(name+" dragged", fmt.Sprintf(`Math.abs(gainwright.nodes().find(n => n.id == %q).now - %g) < 0.6`, n.ID, v), 20*time.Second)
}

func (f finger) value(role, name string) string { return f.find(role, name).Value }

// firstVisit is a first visit from the page's load to the second take, and what axe-core
// says of each of its steps.
func firstVisit(t *testing.T, p *page, h hands) {
	t.Helper()
	source := axe(t)
	p.calm()
	p.fresh()
	p.open(serveScene(t))
	p.js(source)
	p.listen()
	if n := len(p.nodes()); n > 14 {
		t.Errorf("a first visit has %d nodes", n)
	}
	step := func(name, ready string) {
		t.Helper()
		p.wait(name, fmt.Sprintf(`gainwright.nodes().some(n => n.id == %q)`, ready), 3*time.Minute)
		p.paints(2)
		time.Sleep(300 * time.Millisecond)
		p.same(name)
		p.judge(name)
		p.shot("first-" + strings.ReplaceAll(t.Name(), "/", "-") + "-" + name)
	}
	presses := 0
	press := func(name string) {
		t.Helper()
		h.press("button", name)
		presses++
	}
	step("set", "first.meter")
	press("Record")
	p.hears(`^Recording\.`, time.Minute)
	p.hears(`^Too hot\. \d+ moments flattened, lost for good\.`, 2*time.Minute)
	step("heard", "first.wave")
	press("Hear it")
	p.hears(`^The sound is off\. Caution: this is clipped`, 20*time.Second)
	step("asked", "sound.yes")
	press("Turn the sound on")
	p.wait("the laugh heard", `gainwright.stats().sound_by_device == 1`, time.Minute)
	t.Logf("%d presses from the page's load to the first heard laugh", presses)
	h.press("button", "Try again, same laugh")
	step("again", "first.meter")
	h.set("Preamp gain", 38)
	h.press("button", "Record")
	p.hears(`^Recording\. The same talk`, time.Minute)
	p.hears(`^Well set\. Nothing was cut off\.`, 2*time.Minute)
	step("both", "first.lower")
	p.noErrors()
}

// TestFirstVisit: from the page's load to the second take by the keyboard alone, by the
// accessibility tree alone, and by touch alone on a phone.
func TestFirstVisit(t *testing.T) {
	t.Run("keyboard", func(t *testing.T) {
		p := newPage(t, 1024, 640, cold(t))
		firstVisit(t, p, byKeys(p))
	})
	t.Run("tree", func(t *testing.T) {
		p := newPage(t, 1024, 640, cold(t))
		firstVisit(t, p, &reader{p})
	})
	t.Run("touch", func(t *testing.T) {
		p := newPhone(t, 390, 844)
		firstVisit(t, p, finger{p})
	})
}
