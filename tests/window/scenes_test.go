//go:build window && linux

package window

import (
	"bytes"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/scenes"
	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"

	"github.com/jezek/xgb/xproto"
)

// click presses the mouse at a place of the window.
func (s *screen) click(x, y int16) {
	s.fake(xproto.MotionNotify, 0, x, y)
	time.Sleep(150 * time.Millisecond) // a frame is long here
	s.fake(xproto.ButtonPress, 1, x, y)
	time.Sleep(150 * time.Millisecond)
	s.fake(xproto.ButtonRelease, 1, x, y)
}

// settled waits until the picture has a look that lasts, or three seconds where it
// moves on and on.
func (s *screen) settled(w xproto.Window) *image.RGBA {
	last := s.picture(w)
	for range 12 {
		time.Sleep(250 * time.Millisecond)
		img := s.picture(w)
		if bytes.Equal(img.Pix, last.Pix) {
			return img
		}
		last = img
	}
	return last
}

// Every scene is clicked open in a window of three sizes; its tab lies where the same
// program lays it out without a window. The pictures are kept for people to look at.
func TestEveryScene(t *testing.T) {
	none := filepath.Join(t.TempDir(), "none.conf")
	if err := os.WriteFile(none, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	s := display(t)
	r := start(t, "ALSA_CONFIG_PATH="+none)
	var w xproto.Window
	r.waitFor("the window", func() (ok bool) { w, ok = s.find("Gainwright"); return ok })
	r.waitFor("the picture", func() bool { return colours(s.picture(w)) > 50 })
	p, err := scenes.NewProgram(scenetest.Seen())
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range []image.Point{{X: 1024, Y: 768}, {X: 1280, Y: 720}, {X: 1440, Y: 900}} {
		setup := xproto.Setup(s.conn).DefaultScreen(s.conn)
		if int(setup.WidthInPixels) < size.X || int(setup.HeightInPixels) < size.Y {
			t.Fatalf("the display has %dx%d pixels; this test wants 1440x900: xvfb-run -s \"-screen 0 1440x900x24\"", setup.WidthInPixels, setup.HeightInPixels)
		}
		xproto.ConfigureWindow(s.conn, w, xproto.ConfigWindowX|xproto.ConfigWindowY|xproto.ConfigWindowWidth|xproto.ConfigWindowHeight,
			[]uint32{0, 0, uint32(size.X), uint32(size.Y)})
		s.conn.Sync()
		r.waitFor(fmt.Sprintf("window of %v", size), func() bool { return s.picture(w).Rect.Size() == size })
		s.settled(w)
		p.Frame(ui.Input{Size: ink.Point{X: float32(size.X), Y: float32(size.Y)}, Scale: 1})
		seen := map[string]*image.RGBA{}
		for _, n := range p.Semantics() {
			name, is := strings.CutPrefix(n.ID, "tab.")
			if !is {
				continue
			}
			before := s.picture(w)
			c := n.Bounds.Center()
			s.click(int16(c.X), int16(c.Y))
			if len(seen) > 0 { // the first is open already
				r.waitFor("answer to a click on "+n.Name, func() bool { return differ(before, s.picture(w)) > size.X*size.Y/50 })
			}
			img := s.settled(w)
			s.shot(img, fmt.Sprintf("window-%s-%dx%d", name, size.X, size.Y))
			if colours(img) < 50 {
				t.Errorf("%s is nearly blank at %v", n.Name, size)
			}
			for other, o := range seen {
				if differ(img, o) < size.X*size.Y/50 {
					t.Errorf("at %v %s looks like %s", size, n.Name, other)
				}
			}
			seen[n.Name] = img
		}
		if len(seen) < 6 {
			t.Errorf("only %d scenes at %v", len(seen), size)
		}
		// Back to the first for the next size.
		for _, n := range p.Semantics() {
			if strings.HasPrefix(n.ID, "tab.") {
				c := n.Bounds.Center()
				s.click(int16(c.X), int16(c.Y))
				break
			}
		}
	}
}
