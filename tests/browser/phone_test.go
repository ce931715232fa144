//go:build full

package browser

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// newPhone is a page on a device that is touched, as its browser lays it out.
func newPhone(t *testing.T, width, height int) *page {
	t.Helper()
	p := newPage(t, width, height)
	p.do(chromedp.EmulateViewport(int64(width), int64(height), coarse(), chromedp.EmulateMobile, chromedp.EmulateTouch))
	return p
}

// pinch spreads two fingers. Chromium's own synthetic gesture of touches zooms nothing,
// not even a plain page.
func (p *page) pinch(x, y float64) {
	p.t.Helper()
	ids := [2]float64{1, 2}
	send := func(kind input.DispatchTouchEventType, fingers int, apart float64) {
		ps := []*input.TouchPoint{{X: x - apart, Y: y, ID: &ids[0]}, {X: x + apart, Y: y, ID: &ids[1]}}[:fingers]
		if _, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: ps}); err != nil {
			p.t.Fatal(err)
		}
	}
	send(input.DispatchTouchEventTypeTouchStart, 1, 50)
	send(input.DispatchTouchEventTypeTouchStart, 2, 50)
	for i := range 20 {
		send(input.DispatchTouchEventTypeTouchMove, 2, 50+float64(i*5))
		time.Sleep(16 * time.Millisecond)
	}
	send(input.DispatchTouchEventTypeTouchEnd, 0, 0)
	time.Sleep(500 * time.Millisecond)
}

// A phone's page is as wide as the phone, one finger is the scene's, two zoom the page,
// two quick taps zoom nothing, and what is cut out of a screen is kept clear of.
func TestPhonePage(t *testing.T) {
	p := newPhone(t, 820, 1180)
	p.open(demo(t))
	if w := eval[float64](p, "innerWidth"); w != 820 {
		t.Errorf("the page is %v wide, the device 820", w)
	}
	if m := eval[[]string](p, `[...document.querySelectorAll("meta[name=viewport]")].map(e => e.content)`); len(m) != 1 || m[0] != "width=device-width, initial-scale=1, viewport-fit=cover" {
		t.Errorf("viewports %q", m)
	}
	if w := eval[float64](p, "gainwright.size().width"); w != 820 {
		t.Errorf("the picture is %v dp wide", w)
	}

	// A finger reaches the control under it, twice as well.
	b := p.node("record").Bounds
	x, y := b.X+b.W/2, b.Y+b.H/2
	taps := eval[int](p, `gainwright.stats().touches`)
	for range 2 {
		p.do(chromedp.TapXY(x, y))
	}
	p.wait("two presses", fmt.Sprintf(`gainwright.stats().touches == %d && gainwright.stats().pressed == 0`, taps+2), 10*time.Second)
	p.wait("the focus", `gainwright.focused() == "record"`, 10*time.Second)
	time.Sleep(500 * time.Millisecond) // a zoom would be under way
	if s := eval[float64](p, "visualViewport.scale"); s != 1 {
		t.Errorf("two taps zoomed the page to %v", s)
	}

	// Cut-outs: everything moves clear of them, the mirror with the picture.
	top, left := int64(47), int64(12)
	if _, err := chromedp.Call(p.ctx, emulation.SetSafeAreaInsetsOverride, emulation.SetSafeAreaInsetsOverrideParams{Insets: &emulation.SafeAreaInsets{Top: &top, Left: &left}}); err != nil {
		t.Fatal(err)
	}
	p.js(`dispatchEvent(new Event("resize"))`)
	p.wait("the canvas clear of it", `(b => b.top == 47 && b.left == 12 && b.width == 808 && b.height == 1133)(document.querySelector("canvas").getBoundingClientRect())`, 10*time.Second)
	p.wait("the picture as large", "gainwright.size().width == 808", 10*time.Second)
	p.wait("the mirror over it", `(() => {
		const n = gainwright.nodes().find(n => n.id == "record").bounds, b = document.querySelector("[data-id=record]").getBoundingClientRect();
		return Math.abs(b.left - n.x - 12) < 0.2 && Math.abs(b.top - n.y - 47) < 0.2;
	})()`, 10*time.Second)
	p.js(`gainwright.apply({id: "gain", do: "focus"})`)
	p.wait("another focus", `gainwright.focused() == "gain"`, 10*time.Second)
	b = p.node("record").Bounds
	p.do(chromedp.TapXY(b.X+12+2, b.Y+47+2)) // its corner
	p.wait("the finger where it is seen", `gainwright.focused() == "record"`, 10*time.Second)

	// Two fingers, and that the test can fail: not where touches are kept from the page.
	p.js(`document.querySelector("canvas").style.touchAction = "none"`)
	p.pinch(300, 500)
	if z := eval[float64](p, "visualViewport.scale"); z != 1 {
		t.Errorf("two fingers zoom the page to %v where they must not", z)
	}
	p.js(`document.querySelector("canvas").style.touchAction = "pinch-zoom"`)
	p.pinch(300, 500)
	p.wait("the page zoomed", "visualViewport.scale > 1.5", 10*time.Second)
	p.wait("no finger left behind", `gainwright.stats().pressed == 0`, 10*time.Second)
	p.noErrors()
}

// Every scene on a phone, as its browser lays the page out: pictures to be looked at, and
// the mirror where the picture is. On its side, and on a tablet held upright, with
// GAINWRIGHT_LONG.
func TestPhoneScenes(t *testing.T) {
	url := serveScene(t)
	for _, s := range []struct{ w, h int }{{390, 844}, {844, 390}, {820, 1180}} {
		if s.w != 390 && !long() {
			continue
		}
		t.Run(fmt.Sprintf("%dx%d", s.w, s.h), func(t *testing.T) {
			p := newPhone(t, s.w, s.h)
			p.open(url)
			p.tab("gain")
			p.wait("buttons as large as a thumb, since a finger is the pointer", `matchMedia("(pointer: coarse)").matches && (b => b.w >= 44 && b.h >= 44)(gainwright.nodes().find(n => n.id == "hold.reset").bounds)`, time.Minute)
			for _, tab := range []string{"gain", "twin", "mend", "plan", "lessons", "practice", "recorder", "voice"} {
				p.tab(tab)
				p.paints(2)
				p.same(tab)
				if d := eval[[]float64](p, `[innerWidth, document.documentElement.scrollWidth, gainwright.size().fit]`); d[0] != float64(s.w) || d[1] > d[0] || d[2] != 1 {
					t.Errorf("%s: the page is %v wide, %v to scroll, the picture shrunk by %v", tab, d[0], d[1], d[2])
				}
				p.shot(fmt.Sprintf("phone-%s-%dx%d", tab, s.w, s.h))
			}
			p.noErrors()
			p.close()
		})
	}
}
