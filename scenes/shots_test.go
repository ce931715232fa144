package scenes

import (
	"fmt"
	"image/png"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
	"gainwright/scenes/ui"
	"gainwright/sounds/codec"
)

// TestShots writes pictures of the scene for people to look at, where
// GAINWRIGHT_SHOTS names a directory; it is not a check.
func TestShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	p := newProgram(t)
	now := 0.0
	frame := func(size ink.Point, n int) {
		for range n {
			p.Frame(ui.Input{Size: size, Scale: 1, Seconds: now})
			now += 1.0 / 60
		}
	}
	shot := func(name string, w, h int) {
		size := ink.Point{X: float32(w), Y: float32(h)}
		frame(size, 2)
		var l ink.List
		p.Draw(&l)
		img := raster.Paint(&l, w, h, 1, p.Theme().Ground)
		f, err := os.Create(dir + "/" + name + ".png")
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := png.Encode(f, img); err != nil {
			t.Fatal(err)
		}
	}
	size := ink.Point{X: 1280, Y: 720}
	do := func(id string) {
		if err := p.Apply(ui.Intent{ID: id, Do: "press"}); err != nil {
			t.Fatal(err)
		}
	}
	frame(size, 240)
	shot("check-1280x720", 1280, 720)
	shot("check-1024x768", 1024, 768)
	do("record")
	frame(size, 200)
	do("event.laugh")
	frame(size, 110)
	shot("record-1280x720", 1280, 720)
	frame(size, 120)
	do("record")
	frame(size, 10)
	shot("review-1280x720", 1280, 720)
	shot("review-1440x900", 1440, 900)
	shot("review-1024x768", 1024, 768)
	shot("review-1024x640", 1024, 640)
	shot("review-820x1180", 820, 1180)
	do("view.spectrum")
	shot("spectrum-1280x720", 1280, 720)
	shot("spectrum-1440x900", 1440, 900)
	do("view.result")
	shot("result-1280x720", 1280, 720)
	shot("result-1024x640", 1024, 640)
	shot("result-820x1180", 820, 1180)
	do("view.waves")
	p.Apply(ui.Intent{ID: "scope.span_ms", Do: "set", Value: 1500})
	shot("far-1280x720", 1280, 720)
	p.Apply(ui.Intent{ID: "scope.span_ms", Do: "set", Value: 12})
	do("blind.start")
	shot("blind0-1280x720", 1280, 720)
	do("blind.start")
	do("caution.play")
	shot("blind-1280x720", 1280, 720)
	shot("blind-1024x768", 1024, 768)
	do("blind.is_first")
	do("blind.stop")
	for _, st := range []string{"microphone", "preamp", "converter", "limiter", "room", "file", "talker"} {
		do("station." + st)
		shot("station-"+st+"-1280x720", 1280, 720)
		if st == "converter" {
			shot("station-"+st+"-1024x640", 1024, 640)
			shot("station-"+st+"-820x1180", 820, 1180)
		}
	}
	do("strips")
	shot("strips-1280x720", 1280, 720)
	do("strips.safety")
	shot("strips3-1280x720", 1280, 720)
	do("show.A")
	do("strips.add")
	do("drawer.close")
	shot("four-1280x720", 1280, 720)
	shot("four-1440x900", 1440, 900)
	shot("four-1024x640", 1024, 640)
	shot("four-820x1180", 820, 1180)
	do("record")
	frame(size, 200)
	do("event.laugh")
	frame(size, 220)
	do("record")
	frame(size, 20)
	do("view.result")
	shot("result4-1280x720", 1280, 720)
	shot("result4-1440x900", 1440, 900)
	do("more")
	shot("more-1280x720", 1280, 720)
	shot("more-820x1180", 820, 1180)
	do("more")
	do("show.A")
	do("present")
	for i := range 5 {
		shot(fmt.Sprintf("present%d-1280x720", i+1), 1280, 720)
		do("present.next")
	}
	do("theme")
	shot("present-light-1920x1080", 1920, 1080)
	do("theme")
	do("present")
	do("strips.remove")
	do("strips.remove")
	do("view.waves")
	do("record")
	frame(size, 200)
	do("event.laugh")
	frame(size, 220)
	do("record")
	frame(size, 20)
	do("listen.A")
	do("play")
	shot("caution-1280x720", 1280, 720)
	do("caution.cancel")
	do("theme")
	shot("light-1440x900", 1440, 900)
	x := make([]float64, 2*bench.Rate)
	for i := range x {
		x[i] = min(max(1.6*math.Sin(float64(i)*0.03)*math.Sin(float64(i)*0.0003)+0.1, -0.5), 0.5)
	}
	wav, err := codec.WAVBytes(bench.Rate, [][]float64{x}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	p.Frame(ui.Input{Size: size, Seconds: now, Drops: []ui.Drop{{Name: "ferry-bell-morning.wav", Data: wav}}})
	for end := time.Now().Add(time.Minute); !strings.Contains(p.Announce(), " performed now as loud speech"); {
		if time.Now().After(end) {
			t.Fatalf("the recording is not performed: %q", p.Announce())
		}
		time.Sleep(time.Millisecond)
		frame(size, 1)
	}
	frame(size, 200)
	if err := p.Apply(ui.Intent{ID: "A.gain_db", Do: "focus"}); err != nil {
		t.Fatal(err)
	}
	shot("file-1280x720", 1280, 720)
	shot("file-1024x640", 1024, 640)
	shot("file-820x1180", 820, 1180)
	do("talker.ilse")
	shot("light-3840x2160", 3840, 2160)
	do("A.limiter.before")
	do("play")
	do("text_size")
	do("text_size")
	shot("text150-1440x900", 1440, 900)
	do("text_size")
	do("text_size")
	shot("text200-1024x768", 1024, 768)
	shot("text200-1920x1080", 1920, 1080)
}
