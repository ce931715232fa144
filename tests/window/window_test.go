//go:build window && linux

package window

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
	"github.com/jezek/xgb/xtest"

	"gainwright/tests/limited"
)

const root = "../.."

var built struct {
	sync.Once
	path, dir string
	err       error
}

// TestMain removes the program that the tests built.
func TestMain(m *testing.M) {
	code := m.Run()
	if built.dir != "" {
		os.RemoveAll(built.dir)
	}
	os.Exit(code)
}

// program builds the scene's program once.
func program(t *testing.T) string {
	t.Helper()
	built.Do(func() {
		if built.dir, built.err = os.MkdirTemp("", "gainwright-window-"); built.err != nil {
			return
		}
		built.path = filepath.Join(built.dir, "gainwright-scene")
		cmd := limited.Command(t, 10*time.Minute, "go", "build", "-tags", "window", "-o", built.path, "./cmd/gainwright-scene")
		cmd.Dir = root
		if out, err := cmd.CombinedOutput(); err != nil {
			built.err = fmt.Errorf("%w\n%s", err, out)
		}
	})
	if built.err != nil {
		t.Fatalf("building the program: %v", built.err)
	}
	return built.path
}

// screen is the X server as another client sees it.
type screen struct {
	t    *testing.T
	conn *xgb.Conn
	root xproto.Window
}

func display(t *testing.T) *screen {
	t.Helper()
	if os.Getenv("DISPLAY") == "" {
		t.Fatal("there is no display: run this with xvfb-run -a")
	}
	// A server that resets itself when its last client goes refuses for a moment.
	c, err := xgb.NewConn()
	for range 20 {
		if err == nil {
			break
		}
		time.Sleep(250 * time.Millisecond)
		c, err = xgb.NewConn()
	}
	if err != nil {
		t.Fatalf("the display does not answer: %v", err)
	}
	t.Cleanup(c.Close)
	if err := xtest.Init(c); err != nil {
		t.Fatalf("the display cannot be driven: %v", err)
	}
	return &screen{t, c, xproto.Setup(c).DefaultScreen(c).Root}
}

func (s *screen) atom(name string) xproto.Atom {
	s.t.Helper()
	a, err := xproto.InternAtom(s.conn, false, uint16(len(name)), name).Reply()
	if err != nil {
		s.t.Fatal(err)
	}
	return a.Atom
}

func (s *screen) property(w xproto.Window, name string) []byte {
	p, err := xproto.GetProperty(s.conn, false, w, s.atom(name), xproto.GetPropertyTypeAny, 0, 1<<16).Reply()
	if err != nil {
		return nil
	}
	return p.Value
}

// find returns the mapped window with a title.
func (s *screen) find(title string) (xproto.Window, bool) {
	tree, err := xproto.QueryTree(s.conn, s.root).Reply()
	if err != nil {
		s.t.Fatal(err)
	}
	for _, w := range tree.Children {
		name := s.property(w, "_NET_WM_NAME")
		if name == nil {
			name = s.property(w, "WM_NAME")
		}
		a, err := xproto.GetWindowAttributes(s.conn, w).Reply()
		if err == nil && a.MapState == xproto.MapStateViewable && string(name) == title {
			return w, true
		}
	}
	return 0, false
}

func (s *screen) picture(w xproto.Window) *image.RGBA {
	s.t.Helper()
	g, err := xproto.GetGeometry(s.conn, xproto.Drawable(w)).Reply()
	if err != nil {
		s.t.Fatal(err)
	}
	r, err := xproto.GetImage(s.conn, xproto.ImageFormatZPixmap, xproto.Drawable(w), 0, 0, g.Width, g.Height, 0xffffffff).Reply()
	if err != nil {
		s.t.Fatal(err)
	}
	img := image.NewRGBA(image.Rect(0, 0, int(g.Width), int(g.Height)))
	if len(r.Data) != len(img.Pix) {
		s.t.Fatalf("the display has pixels of %d bits; the test wants 24 or 32", r.Depth)
	}
	for i := 0; i < len(r.Data); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = r.Data[i+2], r.Data[i+1], r.Data[i], 255
	}
	return img
}

func (s *screen) shot(img image.Image, name string) {
	dir := filepath.Join(root, "artefacts")
	os.MkdirAll(dir, 0o755)
	var b bytes.Buffer
	png.Encode(&b, img)
	if err := os.WriteFile(filepath.Join(dir, name+".png"), b.Bytes(), 0o644); err != nil {
		s.t.Error(err)
	}
}

// colours counts the different colours: a blank window has one or two.
func colours(img *image.RGBA) int {
	seen := make(map[[3]uint8]bool)
	for i := 0; i < len(img.Pix); i += 4 {
		seen[[3]uint8(img.Pix[i:i+3])] = true
	}
	return len(seen)
}

// differ counts the pixels that changed.
func differ(a, b *image.RGBA) (n int) {
	if a.Rect != b.Rect {
		return a.Rect.Dx() * a.Rect.Dy()
	}
	for i := 0; i < len(a.Pix); i += 4 {
		if !bytes.Equal(a.Pix[i:i+3], b.Pix[i:i+3]) {
			n++
		}
	}
	return n
}

func (s *screen) fake(kind byte, detail byte, x, y int16) {
	s.t.Helper()
	if err := xtest.FakeInputChecked(s.conn, kind, detail, 0, s.root, x, y, 0).Check(); err != nil {
		s.t.Fatal(err)
	}
}

// key presses the key with an X keysym.
func (s *screen) key(sym xproto.Keysym) {
	s.t.Helper()
	set := xproto.Setup(s.conn)
	n := byte(set.MaxKeycode - set.MinKeycode + 1)
	m, err := xproto.GetKeyboardMapping(s.conn, set.MinKeycode, n).Reply()
	if err != nil {
		s.t.Fatal(err)
	}
	for i := range int(n) {
		if m.Keysyms[i*int(m.KeysymsPerKeycode)] == sym {
			code := byte(int(set.MinKeycode) + i)
			s.fake(xproto.KeyPress, code, 0, 0)
			time.Sleep(120 * time.Millisecond) // a frame is long here
			s.fake(xproto.KeyRelease, code, 0, 0)
			return
		}
	}
	s.t.Fatalf("no key for %#x", sym)
}

// ask asks the window to close, as its frame's button does.
func (s *screen) ask(w xproto.Window) {
	ev := xproto.ClientMessageEvent{Format: 32, Window: w, Type: s.atom("WM_PROTOCOLS"),
		Data: xproto.ClientMessageDataUnionData32New([]uint32{uint32(s.atom("WM_DELETE_WINDOW")), 0, 0, 0, 0})}
	xproto.SendEvent(s.conn, false, w, xproto.EventMaskNoEvent, string(ev.Bytes()))
	s.conn.Sync()
}

const (
	keyTab = 0xff09
	keyUp  = 0xff52
)

// running is the program, started for one test.
type running struct {
	t     *testing.T
	log   bytes.Buffer
	ended chan error
	gone  bool
}

// start runs the program with settings of its own, and stops it after the test.
func start(t *testing.T, env ...string) *running {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	cmd := exec.CommandContext(ctx, program(t))
	home := t.TempDir()
	// As at a second visit, which shows all scenes.
	settings := filepath.Join(home, "gainwright", "settings.json")
	if err := errors.Join(os.MkdirAll(filepath.Dir(settings), 0o755), os.WriteFile(settings, []byte(`{"everything": "1"}`), 0o644)); err != nil {
		t.Fatal(err)
	}
	cmd.Env = append(append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+home), env...)
	r := &running{t: t, ended: make(chan error, 1)}
	cmd.Stdout, cmd.Stderr = &r.log, &r.log
	if err := cmd.Start(); err != nil {
		cancel()
		t.Fatal(err)
	}
	go func() { r.ended <- cmd.Wait() }()
	t.Cleanup(func() {
		cancel()
		if r.gone {
			return
		}
		select {
		case <-r.ended:
		case <-time.After(time.Minute):
			t.Error("the program was killed and did not end")
		}
	})
	return r
}

func (r *running) waitFor(what string, ok func() bool) {
	r.t.Helper()
	for range 300 {
		if ok() {
			return
		}
		select {
		case err := <-r.ended:
			r.gone = true
			r.t.Fatalf("the program ended while waiting for %s: %v\n%s", what, err, r.log.Bytes())
		case <-time.After(100 * time.Millisecond):
		}
	}
	r.t.Fatalf("no %s within 30 s\n%s", what, r.log.Bytes())
}

// The window opens with its picture, answers the keyboard and the mouse, and
// closes; with a sound card and without one.
func TestWindow(t *testing.T) {
	null := filepath.Join(t.TempDir(), "null.conf")
	if err := os.WriteFile(null, []byte("pcm.!default { type null }\nctl.!default { type null }\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	none := filepath.Join(t.TempDir(), "none.conf")
	if err := os.WriteFile(none, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	for name, alsa := range map[string]string{"a sound card": null, "no sound card": none} {
		t.Run(name, func(t *testing.T) {
			s := display(t)
			r := start(t, "ALSA_CONFIG_PATH="+alsa)
			var w xproto.Window
			r.waitFor("the window", func() (ok bool) { w, ok = s.find("Gainwright"); return ok })
			var first *image.RGBA
			r.waitFor("the picture", func() bool { first = s.picture(w); return colours(first) > 50 })
			if first.Rect.Dx() < 1024 || first.Rect.Dy() < 640 {
				t.Errorf("the window is %v", first.Rect)
			}
			if icon := s.property(w, "_NET_WM_ICON"); len(icon) == 0 {
				t.Error("the window has no icon")
			}
			short := strings.ReplaceAll(name, " ", "-")
			s.shot(first, "window-"+short)

			// The keyboard: Tab brings a focus ring. There is no window manager here,
			// so the focus is given by hand.
			xproto.SetInputFocus(s.conn, xproto.InputFocusParent, w, xproto.TimeCurrentTime)
			s.conn.Sync()
			time.Sleep(300 * time.Millisecond)
			before := s.picture(w)
			s.key(keyTab)
			r.waitFor("an answer to the Tab key", func() bool { return differ(before, s.picture(w)) > 20 })
			for range 3 {
				s.key(keyTab)
			}
			s.key(keyUp)
			time.Sleep(300 * time.Millisecond)
			s.shot(s.picture(w), "window-"+short+"-keys")

			s.ask(w)
			select {
			case err := <-r.ended:
				r.gone = true
				if err != nil {
					t.Errorf("closing: %v\n%s", err, r.log.Bytes())
				}
			case <-time.After(20 * time.Second):
				t.Errorf("the program did not end when its window was closed\n%s", r.log.Bytes())
			}
		})
	}
}

// Without a display the program says what is missing and ends.
func TestNoDisplay(t *testing.T) {
	cmd := limited.Command(t, 5*time.Minute, program(t))
	for _, e := range os.Environ() {
		if !strings.HasPrefix(e, "DISPLAY=") && !strings.HasPrefix(e, "WAYLAND_DISPLAY=") {
			cmd.Env = append(cmd.Env, e)
		}
	}
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) {
		t.Fatalf("ended with %v", err)
	}
	if !strings.Contains(string(out), "there is no display") || strings.Count(string(out), "\n") != 1 {
		t.Errorf("not one line about the display:\n%s", out)
	}
}

// Built without the tag it says how to get a window or the browser, in one line.
func TestWithoutTheTag(t *testing.T) {
	cmd := limited.Command(t, 10*time.Minute, "go", "run", "./cmd/gainwright-scene")
	cmd.Dir = root
	out, err := cmd.CombinedOutput()
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if err == nil || len(lines) > 2 || !strings.Contains(lines[0], "go run ./cmd/gainwright") || !strings.Contains(lines[0], "-tags window") {
		t.Errorf("%v\n%s", err, out)
	}
}
