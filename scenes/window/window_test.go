//go:build window && !js

package window

import (
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
	"gainwright/scenes/ui"
	"gainwright/scenes/window/demo"
)

// ebiten needs its loop before anything can be drawn and read back: the tests
// run within the first update, as ebiten's own do. They need a display
// (xvfb-run).
type loop struct {
	m    *testing.M
	code int
}

func (l *loop) Update() error {
	l.code = l.m.Run()
	return ebiten.Termination
}

func (*loop) Draw(*ebiten.Image)         {}
func (*loop) Layout(int, int) (int, int) { return 320, 240 }

func TestMain(m *testing.M) {
	l := &loop{m: m, code: 1}
	if err := ebiten.RunGame(l); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(l.code)
}

func read(img *ebiten.Image) *image.RGBA {
	b := img.Bounds()
	out := image.NewRGBA(b)
	img.ReadPixels(out.Pix)
	return out
}

func picture(size ink.Point) *ink.List {
	app := demo.New()
	app.Apply(ui.Intent{ID: "record", Do: "focus"})
	app.Frame(ui.Input{Size: size, Scale: 1})
	l := new(ink.List)
	app.Draw(l)
	return l
}

// The screen shows what the software painter shows, at any scale, and when drawn
// again over itself.
func TestPixels(t *testing.T) {
	l := picture(ink.Point{X: 800, Y: 600})
	var p painter
	for _, scale := range []float32{1, 1.25, 2} {
		w, h := int(800*scale), int(600*scale)
		screen := ebiten.NewImage(w, h)
		want := raster.Paint(l, w, h, scale, ground)
		// Three times: caches are filled in the first and used in the others.
		for range 3 {
			screen.Fill(rgba(ground))
			p.paint(screen, l, scale)
		}
		got := read(screen)
		mean, worst, at := distance(got, want)
		far := farOff(got, want)
		t.Logf("scale %v: mean %.3f of 255, worst %d at %v, %.4f %% of pixels far off", scale, mean, worst, at, 100*far)
		// Single pixels at the cut ends of hatching may be quite different.
		if mean > 0.2 || far > 0.0005 {
			t.Errorf("scale %v: mean difference %.3f, %.4f %% of pixels far off", scale, mean, 100*far)
			for n, img := range map[string]image.Image{"got": got, "want": want} {
				f, err := os.Create(filepath.Join(t.ArtifactDir(), fmt.Sprintf("%s-%v.png", n, scale)))
				if err != nil {
					t.Fatal(err)
				}
				png.Encode(f, img)
				f.Close()
				t.Log(f.Name())
			}
		}
		screen.Deallocate()
	}
}

// farOff is the share of pixels that differ by more than a quarter of the range
// in any component.
func farOff(a, b *image.RGBA) float64 {
	n := 0
	for i := 0; i < len(a.Pix); i += 4 {
		for j := range 4 {
			if d := int(a.Pix[i+j]) - int(b.Pix[i+j]); max(d, -d) > 64 {
				n++
				break
			}
		}
	}
	return float64(n) / float64(len(a.Pix)/4)
}

func distance(a, b *image.RGBA) (mean float64, worst int, at image.Point) {
	for i := range a.Pix {
		d := int(a.Pix[i]) - int(b.Pix[i])
		d = max(d, -d)
		mean += float64(d)
		if d > worst {
			worst, at = d, image.Pt(i%a.Stride/4, i/a.Stride)
		}
	}
	return mean / float64(len(a.Pix)), worst, at
}

// A picture that did not change is not painted again; one that moved is.
func TestUnchangedIsNotPainted(t *testing.T) {
	app := demo.New()
	g := newGame(app)
	g.open()
	w, h := g.LayoutF(1280, 720)
	if g.size != (ink.Point{X: 1280, Y: 720}) || w < 1280 || h < 720 {
		t.Fatalf("a window of 1280×720 has a picture of %v, %v×%v pixels", g.size, w, h)
	}
	screen := ebiten.NewImage(int(w), int(h))
	defer screen.Deallocate()
	step := func() { g.Update(); g.Draw(screen) }
	step()
	if g.paints != 1 {
		t.Fatalf("the first frame painted %d times", g.paints)
	}
	for range 5 {
		step()
	}
	if g.paints != 1 {
		t.Errorf("an unchanged picture was painted %d times", g.paints)
	}
	g.intents = append(g.intents, ui.Intent{ID: "gain", Do: "set", Value: 12})
	step()
	if g.paints != 2 || app.Gain != 12 {
		t.Errorf("after an intent: %d paints, gain %v", g.paints, app.Gain)
	}
	// Asked to draw the same: the list is compared.
	g.dirty = true
	step()
	if g.paints != 2 {
		t.Error("an equal list was painted")
	}
	// Too small a window: the picture shrinks.
	g.LayoutF(512, 320)
	if g.size != (ink.Point{X: 1024, Y: 640}) || g.fit != 0.5 {
		t.Errorf("in 512×320: %v, fit %v", g.size, g.fit)
	}
}

// Drawing every frame makes next to nothing for the garbage collector.
func TestFramesDoNotAllocate(t *testing.T) {
	app := demo.New()
	app.Moving = true
	g := newGame(app)
	g.open()
	w, h := g.LayoutF(1280, 720)
	screen := ebiten.NewImage(int(w), int(h))
	defer screen.Deallocate()
	l := picture(ink.Point{X: 1280, Y: 720})
	for range 3 {
		g.painter.paint(screen, l, g.scale)
		read(screen)
	}
	n := testing.AllocsPerRun(20, func() { g.painter.paint(screen, l, g.scale) })
	t.Logf("%v allocations for painting a frame of %d triangles in %d batches", n, g.painter.mesh.Triangles(), g.painter.mesh.N)
	// They are ebiten's own, one set for each batch.
	if n > 20*float64(g.painter.mesh.N) {
		t.Errorf("%v allocations a frame", n)
	}
}

func TestClicks(t *testing.T) {
	var c clicks
	at, now := ink.Point{X: 10, Y: 10}, time.Now()
	for i, s := range []struct {
		dx   float32
		ms   int
		want int
	}{{0, 0, 1}, {2, 200, 2}, {0, 200, 1}, {0, 900, 1}, {20, 100, 1}, {0, 100, 2}} {
		at.X += s.dx
		now = now.Add(time.Duration(s.ms) * time.Millisecond)
		if got := c.press(at, now); got != s.want {
			t.Errorf("press %d: %d, want %d", i, got, s.want)
		}
	}
}

func TestSaveNeverOverwrites(t *testing.T) {
	dir := t.TempDir()
	for i, want := range []string{"take.wav", "take 2.wav", "take 3.wav"} {
		p, err := saveNew(dir, "../take.wav", []byte{byte(i)})
		if err != nil || p != filepath.Join(dir, want) {
			t.Fatalf("%q, %v; want %s", p, err, want)
		}
	}
	if b, _ := os.ReadFile(filepath.Join(dir, "take.wav")); len(b) != 1 || b[0] != 0 {
		t.Errorf("the first file holds %v", b)
	}
	if left, _ := os.ReadDir(dir); len(left) != 3 {
		t.Errorf("left behind: %v", left)
	}
	if _, err := saveNew(filepath.Join(dir, "nowhere"), "a", nil); err == nil {
		t.Error("a folder that is not there gives no error")
	}
}

func TestDroppedFiles(t *testing.T) {
	dir := t.TempDir()
	os.WriteFile(filepath.Join(dir, "a.wav"), []byte("abc"), 0o644)
	os.Mkdir(filepath.Join(dir, "folder"), 0o755)
	drops := readDrops(os.DirFS(dir))
	if len(drops) != 1 || drops[0].Name != "a.wav" || string(drops[0].Data) != "abc" {
		t.Errorf("%+v", drops)
	}
}

// The desktop's dialogue tool is asked with the endings; what it prints is read
// and arrives as a drop.
func TestFileDialogue(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the tool is put in place by PATH, as on Linux")
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "a wave.wav")
	os.WriteFile(file, []byte("abc"), 0o644)
	tool := "#!/bin/sh\nprintf '%s\\n' \"$@\" > " + dir + "/asked\necho '" + file + "'\n"
	if err := os.WriteFile(filepath.Join(dir, "zenity"), []byte(tool), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir)
	app := demo.New()
	g := newGame(app)
	g.open()
	g.LayoutF(1280, 720)
	g.intents = append(g.intents, ui.Intent{ID: "open", Do: "press"})
	for range 200 {
		g.Update()
		if len(app.Dropped) > 0 {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	if len(app.Dropped) != 1 || app.Dropped[0].Name != "a wave.wav" || string(app.Dropped[0].Data) != "abc" {
		t.Fatalf("dropped %+v", app.Dropped)
	}
	if asked, _ := os.ReadFile(filepath.Join(dir, "asked")); !strings.Contains(string(asked), "--file-filter=Recordings | *.wav *.flac") {
		t.Errorf("asked with %q", asked)
	}
	// Endings that could mean something to a tool's own language are left out.
	if e := endings(".wav, audio/*,.f'lac,.ogg"); len(e) != 2 || e[1] != ".ogg" {
		t.Errorf("endings %q", e)
	}
}

func BenchmarkPaint(b *testing.B) {
	l := picture(ink.Point{X: 1280, Y: 720})
	screen := ebiten.NewImage(1280, 720)
	defer screen.Deallocate()
	var p painter
	pix := make([]byte, 4*1280*720)
	b.ReportAllocs()
	for b.Loop() {
		screen.Fill(rgba(ground))
		p.paint(screen, l, 1)
		screen.ReadPixels(pix) // or nothing is drawn
	}
}
