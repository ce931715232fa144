package mesh

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
)

// rasterise does what a GPU does with the batches: for every pixel centre in a
// triangle (top-left rule) it blends the interpolated colour times the nearest
// texel.
func rasterise(m *Mesh, w, h int, ground ink.Color) *image.RGBA {
	buf := make([][4]float64, w*h)
	g := premultiply(ground)
	for i := range buf {
		buf[i] = [4]float64{float64(g.r), float64(g.g), float64(g.b), float64(g.a)}
	}
	for _, b := range m.Batches[:m.N] {
		for i := 0; i < len(b.Indices); i += 3 {
			p, q, r := &b.Vertices[b.Indices[i]], &b.Vertices[b.Indices[i+1]], &b.Vertices[b.Indices[i+2]]
			edge := func(a, b *Vertex, x, y float64) float64 {
				return (float64(b.X)-float64(a.X))*(y-float64(a.Y)) - (float64(b.Y)-float64(a.Y))*(x-float64(a.X))
			}
			area := edge(p, q, float64(r.X), float64(r.Y))
			if area == 0 {
				continue
			}
			if area < 0 {
				q, r, area = r, q, -area
			}
			topLeft := func(a, b *Vertex) bool { return a.Y == b.Y && b.X > a.X || b.Y < a.Y }
			in := func(e float64, a, b *Vertex) bool { return e > 0 || e == 0 && topLeft(a, b) }
			box := image.Rect(int(min(p.X, q.X, r.X))-1, int(min(p.Y, q.Y, r.Y))-1, int(max(p.X, q.X, r.X))+2, int(max(p.Y, q.Y, r.Y))+2)
			box = box.Intersect(b.Clip).Intersect(image.Rect(0, 0, w, h))
			for y := box.Min.Y; y < box.Max.Y; y++ {
				for x := box.Min.X; x < box.Max.X; x++ {
					fx, fy := float64(x)+0.5, float64(y)+0.5
					e0, e1, e2 := edge(q, r, fx, fy), edge(r, p, fx, fy), edge(p, q, fx, fy)
					if !in(e0, q, r) || !in(e1, r, p) || !in(e2, p, q) {
						continue
					}
					mix := func(a, b, c float32) float64 {
						return (float64(a)*e0 + float64(b)*e1 + float64(c)*e2) / area
					}
					t := float64(m.Atlas.Pix[int(mix(p.V, q.V, r.V))*m.Atlas.Size+int(mix(p.U, q.U, r.U))]) / 255
					c := [4]float64{mix(p.R, q.R, r.R) * t, mix(p.G, q.G, r.G) * t, mix(p.B, q.B, r.B) * t, mix(p.A, q.A, r.A) * t}
					d := &buf[y*w+x]
					for j := range d {
						d[j] = c[j] + d[j]*(1-c[3])
					}
				}
			}
		}
	}
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i, d := range buf {
		for j, v := range d {
			img.Pix[4*i+j] = uint8(math.Min(math.Max(v, 0), 1)*255 + 0.5)
		}
	}
	return img
}

var (
	ground = ink.RGB(0x10151b)
	panel  = ink.RGB(0x1a212b)
	sky    = ink.RGB(0x56b4e9)
	rust   = ink.RGB(0xd55e00)
	pale   = ink.RGB(0xe6edf3)
)

var pictures = map[string]func(l *ink.List){
	"shapes": func(l *ink.List) {
		l.Fill(ink.Rect{X: 4, Y: 4, W: 92, H: 92}, 8, panel)
		l.Frame(ink.Rect{X: 4, Y: 4, W: 92, H: 92}, 8, 1, sky)
		l.Frame(ink.Rect{X: 110, Y: 4, W: 40, H: 30}, 0, 2, sky)
		l.Disc(ink.Point{X: 50, Y: 50}, 28, ground)
		l.Arc(ink.Point{X: 50, Y: 50}, 36, 0.75*math.Pi, 2.1*math.Pi, 4, sky)
		l.Line(3, pale, ink.Point{X: 50, Y: 50}, ink.Point{X: 62, Y: 20})
		l.Polygon(rust, ink.Point{X: 110, Y: 50}, ink.Point{X: 110, Y: 90}, ink.Point{X: 145, Y: 70})
		l.Polygon(rust.Alpha(0.5), ink.Point{X: 110, Y: 95}, ink.Point{X: 145, Y: 75}, ink.Point{X: 150, Y: 98})
		l.Line(1, pale, ink.Point{X: 100, Y: 2}, ink.Point{X: 100, Y: 98})
	},
	"lines": func(l *ink.List) {
		var wave []ink.Point
		for x := float32(0); x <= 160; x += 2 {
			wave = append(wave, ink.Point{X: x, Y: 30 - 24*float32(math.Sin(float64(x)/6))})
		}
		l.Line(2, sky, wave...)
		l.Line(6, rust, ink.Point{X: 10, Y: 90}, ink.Point{X: 40, Y: 62}, ink.Point{X: 60, Y: 95}, ink.Point{X: 120, Y: 90}, ink.Point{X: 124, Y: 62})
		l.Line(0.5, pale, ink.Point{X: 3, Y: 60}, ink.Point{X: 150, Y: 97})
	},
	"strips": func(l *ink.List) {
		var pairs, lost []ink.Point
		for x := float32(0); x <= 160; x += 4 {
			y := 45 - 30*float32(math.Sin(float64(x)/15))
			pairs = append(pairs, ink.Point{X: x, Y: y}, ink.Point{X: x, Y: 90})
			lost = append(lost, ink.Point{X: x, Y: min(y, 30)}, ink.Point{X: x, Y: 30})
		}
		l.Strip(sky, sky.Alpha(0.1), pairs...)
		l.HatchStrip(rust, ink.RGB(0x4a2a18), 2, 6, lost...)
	},
	"text": func(l *ink.List) {
		l.Clip(ink.Rect{X: 0, Y: 0, W: 140, H: 100})
		l.Text(4, 18, "−12.5 dBFS · ≥ 46 Ω", ink.Style{Size: 14, Color: pale})
		l.TextIn(ink.Rect{X: 4, Y: 24, W: 150, H: 20}, "a text too long for its box", ink.Style{Size: 13, Font: ink.Bold, Color: sky})
		l.Unclip()
		l.TextIn(ink.Rect{X: 4, Y: 44, W: 150, H: 30}, "0:14.2", ink.Style{Size: 18, Font: ink.Mono, Align: ink.Right, Color: pale.Alpha(0.7)})
	},
}

// The triangles show what the software painter shows. Feathered edges are not
// area coverage, so single edge pixels differ; text must not differ at all
// beyond rounding.
func TestLikeTheSoftwarePainter(t *testing.T) {
	const w, h = 160, 100
	for name, draw := range pictures {
		for _, scale := range []float32{1, 1.5, 2} {
			var l ink.List
			draw(&l)
			var m Mesh
			pw, ph := int(w*scale), int(h*scale)
			m.Build(&l, pw, ph, scale)
			got := rasterise(&m, pw, ph, ground)
			want := raster.Paint(&l, pw, ph, scale, ground)
			mean, worst, at := distance(got, want)
			t.Logf("%s at %v: mean %.3f, worst %d at %v", name, scale, mean, worst, at)
			limit, most := 0.9, 130
			if name == "text" {
				limit, most = 0.1, 2
			}
			if mean > limit || worst > most {
				t.Errorf("%s at %v: mean difference %.2f, worst %d at %v", name, scale, mean, worst, at)
				for n, img := range map[string]image.Image{"got": got, "want": want} {
					f, err := os.Create(filepath.Join(t.ArtifactDir(), name+"-"+n+".png"))
					if err != nil {
						t.Fatal(err)
					}
					png.Encode(f, img)
					f.Close()
					t.Log(f.Name())
				}
			}
		}
	}
}

func distance(a, b *image.RGBA) (mean float64, worst int, at image.Point) {
	for i := range a.Pix {
		d := int(a.Pix[i]) - int(b.Pix[i])
		if d < 0 {
			d = -d
		}
		mean += float64(d)
		if d > worst {
			worst, at = d, image.Pt(i%a.Stride/4, i/a.Stride)
		}
	}
	return mean / float64(len(a.Pix)), worst, at
}

// busy is a picture of the size of the main scene.
func busy(l *ink.List) {
	l.Reset()
	for i := range 12 {
		x, y := float32(i%4)*300, float32(i/4)*220
		l.Fill(ink.Rect{X: x, Y: y, W: 290, H: 210}, 8, panel)
		l.Clip(ink.Rect{X: x, Y: y, W: 290, H: 210})
		l.Pts = append(l.Pts, make([]ink.Point, 0)...)
		first := len(l.Pts)
		for j := range 290 {
			l.Pts = append(l.Pts, ink.Point{X: x + float32(j), Y: y + 100 + 60*float32(math.Sin(float64(j+i)/9))})
		}
		l.Ops = append(l.Ops, ink.Op{Kind: ink.KLine, Width: 1.5, Color: sky, First: first, N: 290})
		l.Unclip()
		for j := range 12 {
			l.Text(x+10, y+16*float32(j)+16, "peak −12.5 dBFS · loudest 0:14", ink.Style{Size: 13, Color: pale})
		}
	}
}

func TestBuildDoesNotAllocate(t *testing.T) {
	var l ink.List
	var m Mesh
	busy(&l)
	m.Build(&l, 1280, 720, 1)
	if n := testing.AllocsPerRun(20, func() { m.Build(&l, 1280, 720, 1) }); n != 0 {
		t.Errorf("%v allocations a frame", n)
	}
}

// Many sizes of text overflow the atlas: it begins anew, and the picture is
// right all the same.
func TestAtlasOverflow(t *testing.T) {
	var m Mesh
	for size := float32(40); size < 140; size++ {
		var l ink.List
		l.Text(2, 90, "Gainwright 0123456789", ink.Style{Size: size, Color: pale})
		m.Build(&l, 160, 100, 1)
		mean, worst, _ := distance(rasterise(&m, 160, 100, ground), raster.Paint(&l, 160, 100, 1, ground))
		if mean > 0.3 || worst > 2 {
			t.Fatalf("size %v, generation %d: mean %.2f, worst %d", size, m.Atlas.Generation, mean, worst)
		}
	}
	if m.Atlas.Generation < 2 || m.Atlas.Size > lastSize {
		t.Errorf("generation %d, size %d: the atlas never began anew", m.Atlas.Generation, m.Atlas.Size)
	}
}

// A painter that begins each generation with an empty image, and takes over no more than
// what is told to be dirty, has the whole atlas; and what it takes over for a first picture
// is a small part of that.
func TestDirtyIsEnough(t *testing.T) {
	var m Mesh
	var copied []uint8
	var nothing image.Rectangle
	made := 0
	for size := float32(12); size < 140; size += 2 {
		var l ink.List
		l.Text(2, 90, "Gainwright 0123456789", ink.Style{Size: size, Color: pale})
		m.Build(&l, 160, 100, 1)
		a := &m.Atlas
		if made != a.Generation {
			made, copied = a.Generation, make([]uint8, a.Size*a.Size)
		}
		d := a.Dirty
		if size == 12 && d.Dx()*d.Dy() > a.Size*a.Size/16 {
			t.Errorf("for one line of text %v of %d × %d is taken over", d, a.Size, a.Size)
		}
		for y := d.Min.Y; y < d.Max.Y; y++ {
			copy(copied[y*a.Size+d.Min.X:y*a.Size+d.Max.X], a.Pix[y*a.Size+d.Min.X:])
		}
		a.Dirty = nothing
		if !bytes.Equal(copied, a.Pix) {
			t.Fatalf("size %v, generation %d: not all that changed is dirty", size, a.Generation)
		}
	}
	if made < 2 {
		t.Error("the atlas never began anew")
	}
}

// A polyline longer than a batch is drawn whole.
func TestLongLine(t *testing.T) {
	var l ink.List
	pts := make([]ink.Point, 50000)
	for i := range pts {
		pts[i] = ink.Point{X: float32(i) / 400, Y: 50 + float32(i%2)*0.4}
	}
	l.Line(3, pale, pts...)
	var m Mesh
	m.Build(&l, 160, 100, 1)
	if m.N < 2 {
		t.Fatalf("%d batches", m.N)
	}
	img := rasterise(&m, 160, 100, ground)
	for x := 1; x < 124; x++ {
		if img.RGBAAt(x, 50) != (raster.Paint(&ink.List{}, 1, 1, 1, pale).RGBAAt(0, 0)) {
			t.Fatalf("a gap at %d: %v", x, img.RGBAAt(x, 50))
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	var l ink.List
	var m Mesh
	busy(&l)
	b.ReportAllocs()
	for b.Loop() {
		m.Build(&l, 1280, 720, 1)
	}
	b.ReportMetric(float64(m.Triangles()), "triangles")
}
