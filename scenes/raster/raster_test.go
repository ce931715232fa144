package raster

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gainwright/scenes/ink"
)

var update = flag.Bool("update", false, "write the golden images anew")

var (
	ground = ink.RGB(0x10151b)
	panel  = ink.RGB(0x1a212b)
	sky    = ink.RGB(0x56b4e9)
	rust   = ink.RGB(0xd55e00)
	pale   = ink.RGB(0xe6edf3)
)

// pictures are small and together use every kind of operation.
var pictures = map[string]struct {
	w, h  int
	scale float32
	draw  func(l *ink.List)
}{
	"knob":     {120, 120, 1, knob},
	"knob-1.5": {150, 150, 1.25, knob},
	"strip": {150, 90, 1, func(l *ink.List) {
		var pairs, lost, line []ink.Point
		for x := float32(0); x <= 150; x += 3 {
			y := 45 - 30*float32(math.Sin(float64(x)/15))
			pairs = append(pairs, ink.Point{X: x, Y: y}, ink.Point{X: x, Y: 90})
			lost = append(lost, ink.Point{X: x, Y: min(y, 30)}, ink.Point{X: x, Y: 30})
			line = append(line, ink.Point{X: x, Y: y})
		}
		l.Strip(sky, sky.Alpha(0.1), pairs...)
		l.HatchStrip(rust, ink.RGB(0x4a2a18), 2, 6, lost...)
		l.Line(1.5, pale, line...)
		l.Line(1, rust, ink.Point{X: 0, Y: 30}, ink.Point{X: 150, Y: 30})
	}},
	"text": {160, 80, 1, func(l *ink.List) {
		l.Text(4, 18, "−12.5 dBFS · ≥ 46 Ω", ink.Style{Size: 14, Color: pale})
		l.TextIn(ink.Rect{X: 4, Y: 24, W: 150, H: 20}, "a text too long for its box", ink.Style{Size: 13, Font: ink.Bold, Color: sky})
		l.TextIn(ink.Rect{X: 4, Y: 44, W: 150, H: 30}, "0:14.2", ink.Style{Size: 18, Font: ink.Mono, Align: ink.Right, Color: pale.Alpha(0.7)})
	}},
	"clip": {80, 60, 1, func(l *ink.List) {
		l.Clip(ink.Rect{X: 10, Y: 10, W: 60, H: 40})
		l.Fill(ink.Rect{X: -500, Y: -500, W: 1000, H: 1000}, 0, panel)
		l.Clip(ink.Rect{X: 0, Y: 0, W: 40, H: 30})
		l.Disc(ink.Point{X: 40, Y: 30}, 25, sky)
		l.Unclip()
		l.Polygon(rust.Alpha(0.6), ink.Point{X: 40, Y: 20}, ink.Point{X: 90, Y: 40}, ink.Point{X: 40, Y: 60})
		l.Line(3, pale, ink.Point{X: -20, Y: 60}, ink.Point{X: 30, Y: -1e5}, ink.Point{X: 60, Y: 1e5})
		l.Unclip()
		l.Frame(ink.Rect{X: 2, Y: 2, W: 76, H: 56}, 6, 1, pale)
	}},
}

func knob(l *ink.List) {
	c := ink.Point{X: 60, Y: 60}
	l.Fill(ink.Rect{X: 4, Y: 4, W: 112, H: 112}, 8, panel)
	l.Disc(c, 38, ground)
	l.Arc(c, 46, 0.75*math.Pi, 2.25*math.Pi, 4, ink.RGB(0x30363d))
	l.Arc(c, 46, 0.75*math.Pi, 1.6*math.Pi, 4, sky)
	l.Line(3, pale, c, ink.Point{X: 72, Y: 30})
	l.Frame(ink.Rect{X: 4, Y: 4, W: 112, H: 112}, 8, 1, sky)
	l.TextIn(ink.Rect{X: 4, Y: 90, W: 112, H: 24}, "46.0 dB", ink.Style{Size: 16, Font: ink.Bold, Align: ink.Middle, Color: pale})
}

// The golden images are compared exactly: the same bytes are expected on amd64,
// 386 and wasm.
func TestGolden(t *testing.T) {
	for name, p := range pictures {
		t.Run(name, func(t *testing.T) {
			var l ink.List
			p.draw(&l)
			got := Paint(&l, p.w, p.h, p.scale, ground)
			file := filepath.Join("testdata", name+".png")
			if *update {
				write(t, file, got)
				return
			}
			f, err := os.Open(file)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			img, err := png.Decode(f)
			if err != nil {
				t.Fatal(err)
			}
			want := image.NewRGBA(img.Bounds())
			for y := range want.Rect.Dy() {
				for x := range want.Rect.Dx() {
					want.Set(x, y, img.At(x, y))
				}
			}
			if want.Rect != got.Rect || !bytes.Equal(want.Pix, got.Pix) {
				n := filepath.Join(t.ArtifactDir(), name+"-got.png")
				write(t, n, got)
				t.Errorf("%s differs from the golden image; see %s (-artifacts keeps it)", name, n)
			}
		})
	}
}

func write(t *testing.T, file string, img image.Image) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// What a painter must get right whatever its anti-aliasing: inside, outside and
// half covered pixels of simple shapes.
func TestCoverage(t *testing.T) {
	var l ink.List
	black, white := ink.RGB(0), ink.RGB(0xffffff)
	l.Fill(ink.Rect{X: 2, Y: 2, W: 4, H: 4}, 0, white)
	l.Disc(ink.Point{X: 20, Y: 20}, 10, white)
	l.Polygon(white, ink.Point{X: 40.5, Y: 0}, ink.Point{X: 45, Y: 0}, ink.Point{X: 45, Y: 9}, ink.Point{X: 40.5, Y: 9})
	l.Fill(ink.Rect{X: 50, Y: 2, W: 4, H: 4}, 0, white.Alpha(0.5))
	img := Paint(&l, 60, 40, 1, black)
	for _, c := range []struct {
		x, y int
		want uint8
		tol  int
	}{
		{1, 3, 0, 0}, {2, 2, 255, 0}, {5, 5, 255, 0}, {6, 5, 0, 0},
		{20, 20, 255, 0}, {20, 11, 255, 1}, {20, 9, 0, 0}, {31, 20, 0, 0},
		{40, 4, 128, 1}, {44, 4, 255, 0}, {51, 3, 128, 1},
	} {
		if got := img.RGBAAt(c.x, c.y).G; math.Abs(float64(got)-float64(c.want)) > float64(c.tol) {
			t.Errorf("pixel %d,%d is %d, want %d", c.x, c.y, got, c.want)
		}
	}
	// The disc's area, from its pixels.
	sum := 0.0
	for y := 8; y < 33; y++ {
		for x := 8; x < 33; x++ {
			sum += float64(img.RGBAAt(x, y).G) / 255
		}
	}
	if want := math.Pi * 100; math.Abs(sum-want) > 2 {
		t.Errorf("a disc of radius 10 covers %.1f pixels, want %.1f", sum, want)
	}
}

// Any list, however odd, paints without a panic and within the picture.
func FuzzPaint(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10})
	f.Fuzz(func(t *testing.T, b []byte) {
		next := func() float32 {
			if len(b) == 0 {
				return 0
			}
			v := float32(int8(b[0]))
			b = b[1:]
			if v == 127 {
				return 1e9
			}
			return v / 2
		}
		var l ink.List
		for len(b) > 0 {
			kind := ink.Kind(b[0] % 12)
			b = b[1:]
			op := ink.Op{Kind: kind, Rect: ink.Rect{X: next(), Y: next(), W: next(), H: next()},
				Color: pale, Color2: rust, Width: next() / 4, Radius: next(), Gap: 2 + max(next(), -next()), A0: next() / 8, A1: next() / 8,
				Text: "Äg−", Style: ink.Style{Size: min(max(4, next()), 64), Font: ink.Font(int(next()) & 3)}}
			if op.Gap != op.Gap || op.Gap < 1 {
				op.Gap = 1
			}
			for range int(next()) & 7 {
				l.Pts = append(l.Pts, ink.Point{X: min(next(), 1e4), Y: min(next(), 1e4)})
				op.N++
			}
			op.First = len(l.Pts) - op.N
			l.Ops = append(l.Ops, op)
		}
		Paint(&l, 40, 30, 1.5, ground)
	})
}

func BenchmarkPaint(b *testing.B) {
	var l ink.List
	for i := range 40 {
		x, y := float32(i%8)*120, float32(i/8)*120
		n := len(l.Ops)
		knob(&l)
		for j := range l.Ops[n:] {
			op := &l.Ops[n+j]
			op.Rect.X += x
			op.Rect.Y += y
			for k := range l.Points(op) {
				l.Points(op)[k].X += x
				l.Points(op)[k].Y += y
			}
		}
	}
	img := image.NewRGBA(image.Rect(0, 0, 1280, 720))
	b.ReportAllocs()
	for b.Loop() {
		img.SetRGBA(0, 0, color.RGBA{})
		Onto(img, &l, 1)
	}
}
