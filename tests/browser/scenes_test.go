//go:build full

package browser

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// view is a window: its size in CSS pixels and how many pixels each of them has.
type view struct {
	w, h  int64
	scale float64
}

func (v view) String() string {
	if v.scale != 1 {
		return fmt.Sprintf("%dx%d@%g", v.w, v.h, v.scale)
	}
	return fmt.Sprintf("%dx%d", v.w, v.h)
}

// The windows of a projector, laptops, a screen with fine pixels and a tablet held
// upright.
var views = []view{{1024, 768, 1}, {1280, 720, 1}, {1440, 900, 1}, {2560, 1440, 2}, {820, 1180, 1}}

// resize makes the window another one and waits for its picture.
func (p *page) resize(v view) {
	p.t.Helper()
	p.do(chromedp.EmulateViewport(v.w, v.h, chromedp.EmulateScale(v.scale)))
	p.wait("a window of "+v.String(), fmt.Sprintf(`Math.abs(gainwright.size().width - %d) < 2 && Math.abs(gainwright.size().height - %d) < 2`, v.w, v.h), time.Minute)
	p.paints(2)
}

// paints waits for so many more frames.
func (p *page) paints(n int) {
	p.t.Helper()
	frames := eval[float64](p, "gainwright.stats().frames")
	p.wait("a picture", fmt.Sprintf("gainwright.stats().frames >= %g", frames+float64(n)), time.Minute)
}

// tab goes to a scene.
func (p *page) tab(id string) {
	p.t.Helper()
	p.use("tab." + id)
	p.wait("the scene "+id, `gainwright.nodes().find(n => n.id == "tab.`+id+`").checked`, 20*time.Second)
}

// has tells whether there is a control, and whether it can be used.
func (p *page) has(id string) bool {
	p.t.Helper()
	return eval[bool](p, fmt.Sprintf(`(n => !!n && !n.disabled)(gainwright.nodes().find(n => n.id == %q))`, id))
}

// until waits for a control that can be used.
func (p *page) until(id string, within time.Duration) {
	p.t.Helper()
	p.wait(id, fmt.Sprintf(`(n => n && !n.disabled)(gainwright.nodes().find(n => n.id == %q))`, id), within)
}

// TestScenes opens every scene in the middle of its use and keeps a picture of it
// in each window, dark and light; what is mirrored is what is shown. Light pictures of
// every window, and those of the larger ones, are for people to look at and come with GAINWRIGHT_LONG.
func TestScenes(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1280, 720)
	p.open(url)
	look := func(name string, light bool) {
		t.Helper()
		for _, v := range views {
			if v.w < 1440 || name == "gain" || long() {
				p.resize(v)
				p.shot(fmt.Sprintf("%s-%s", name, v))
			}
		}
		p.resize(view{1280, 720, 1})
		p.same(name)
		if !light {
			return
		}
		p.use("theme")
		p.wait("the light picture", `localStorage.getItem("gainwright.theme") == "light"`, 20*time.Second)
		for i, v := range views {
			if i == 0 || long() {
				p.resize(v)
				p.shot(fmt.Sprintf("%s-light-%s", name, v))
			}
		}
		p.use("theme")
		p.wait("the dark picture", `localStorage.getItem("gainwright.theme") == "dark"`, 20*time.Second)
		p.resize(view{1280, 720, 1})
	}
	for _, sc := range []struct {
		name string
		make func()
	}{
		{"gain", func() {
			p.use("A.gain_db", 64)
			p.use("record")
			p.says("status", "(?i)recording", 20*time.Second)
			p.performs(2 * time.Second)
			p.use("event.laugh")
			p.performs(4 * time.Second)
			p.use("record")
			p.says("status", `^(Result: )?Take 1, `, 2*time.Minute)
		}},
		{"twin", func() {
			p.tab("twin")
			p.until("twin.answer.first", 3*time.Minute)
		}},
		{"mend", func() {
			p.tab("mend")
			p.until("mend.save", 3*time.Minute)
		}},
		{"plan", func() {
			p.tab("plan")
			p.until("plan.use", 3*time.Minute)
			p.wait("the remedies", `gainwright.nodes().some(n => n.id == "plan.remedy.1")`, 3*time.Minute)
		}},
		{"lessons", func() { p.tab("lessons") }},
		{"lesson", func() {
			p.use("lesson.begin.before-or-after")
			p.until("lesson.next", 20*time.Second)
			p.use("lesson.next")
			p.until("lesson.answer.c", 20*time.Second)
			p.use("lesson.answer.c")
			p.until("lesson.commit", 20*time.Second)
		}},
		{"practice", func() {
			p.tab("practice")
			p.until("practice.talk", 2*time.Minute)
		}},
	} {
		began := time.Now()
		sc.make()
		made := time.Since(began)
		look(sc.name, true)
		t.Logf("%s: ready after %.1f s, %.1f s for the pictures; %s", sc.name, made.Seconds(), (time.Since(began) - made).Seconds(),
			eval[string](p, `JSON.stringify(gainwright.stats())`))
		if s := p.live(); strings.Contains(s, "too slow") {
			t.Logf("%s says %q", sc.name, s)
		}
	}
	p.noErrors()
}

// calm makes the page's system one that asks for little motion: most of the work of a
// browser without a graphics card is in painting. Tests are calm but where something moves
// or sounds while it is looked at.
func (p *page) calm() {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}}); err != nil {
		p.t.Fatal(err)
	}
}

// TestLittleMotion: where the system asks for little motion, the picture of a sound
// check steps twice a second instead of moving.
func TestLittleMotion(t *testing.T) {
	p := newPage(t, 1024, 640)
	p.calm()
	p.open(serveScene(t))
	p.paints(5)
	began := time.Now()
	a := eval[float64](p, "gainwright.stats().paints")
	p.paints(20)
	time.Sleep(3 * time.Second)
	b := eval[float64](p, "gainwright.stats().paints")
	s := time.Since(began).Seconds()
	t.Logf("%.0f pictures in %.1f s", b-a, s)
	if b-a > 2*s+2 || b-a < 1 {
		t.Errorf("%.0f pictures in %.1f s, want two a second at most", b-a, s)
	}
	p.noErrors()
}
