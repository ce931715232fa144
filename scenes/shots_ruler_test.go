package scenes

import (
	"image/png"
	"os"
	"strings"
	"testing"
	"time"

	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
	"gainwright/scenes/ui"
)

// TestRulerShots writes pictures of the ruler in the scenes that have it, for people to
// look at, where GAINWRIGHT_SHOTS names a directory; it is not a check.
func TestRulerShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	for _, size := range []ink.Point{{X: 1280, Y: 720}, {X: 390, Y: 844}} {
		p := newProgram(t)
		now := 0.0
		frame := func(n int) {
			for range n {
				p.Frame(ui.Input{Size: size, Scale: 1, Seconds: now})
				now += 1.0 / 60
				if n > 60 {
					time.Sleep(time.Millisecond)
				}
			}
		}
		until := func(words string) {
			for end := time.Now().Add(time.Minute); ; frame(1) {
				for _, n := range p.Semantics() {
					if strings.Contains(n.Value, words) || strings.Contains(n.Name, words) {
						return
					}
				}
				if time.Now().After(end) {
					t.Fatalf("%q does not come", words)
				}
				time.Sleep(time.Millisecond)
			}
		}
		shot := func(name string) {
			frame(2)
			var l ink.List
			p.Draw(&l)
			img := raster.Paint(&l, int(size.X), int(size.Y), 1, p.Theme().Ground)
			f, err := os.Create(dir + "/ruler-" + name + "-" + ui.Decimal(float64(size.X), 0) + ".png")
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			if err := png.Encode(f, img); err != nil {
				t.Fatal(err)
			}
			for _, n := range p.Semantics() {
				if n.ID == "ruler" {
					t.Logf("%s, %v: %s", name, size, n.Value)
				}
			}
		}
		do := func(id string) {
			if err := p.Apply(ui.Intent{ID: id, Do: "press"}); err != nil {
				t.Fatal(id, ": ", err)
			}
		}
		frame(30)
		shot("gain-first")
		frame(700)
		until("or the hour: ")
		shot("gain-check")
		frame(600)
		shot("gain-sure")
		do("record")
		frame(200)
		do("event.laugh")
		frame(300)
		do("record")
		frame(20)
		shot("gain-take")
		do("ruler.take")
		shot("gain-this-take")
		do("tab.plan")
		frame(400)
		shot("plan")
		do("tab.practice")
		until("The sound check goes on")
		frame(300)
		shot("practice-check")
		do("practice.talk")
		until("The conversation rolls. ")
		shot("practice-rolls")
		until(" of 100")
		frame(200)
		shot("practice-over")
		do("tab.lessons")
		until("Gain and headroom")
		do("lesson.begin.gain-and-headroom")
		frame(60)
		shot("lesson")
	}
}
