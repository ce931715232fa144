//go:build js || window

package window

import (
	"image"
	"image/color"

	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
)

func rgba(c ink.Color) color.Color { return color.NRGBA{c.R, c.G, c.B, c.A} }

// drawIcon appends the program's sign: a wave whose top is cut off, and the cut
// part hatched. It is 64 dp wide and high.
func drawIcon(l *ink.List) {
	l.Fill(ink.Rect{W: 64, H: 64}, 12, ink.RGB(0x161d26))
	lost, sky := ink.RGB(0xd55e00), ink.RGB(0x56b4e9)
	wave := []ink.Point{{X: 6, Y: 46}, {X: 14, Y: 43}, {X: 20, Y: 36}, {X: 25, Y: 24}, {X: 29, Y: 13}, {X: 32, Y: 10},
		{X: 35, Y: 13}, {X: 39, Y: 24}, {X: 44, Y: 36}, {X: 50, Y: 43}, {X: 58, Y: 46}}
	const ceiling = 24
	var cut, kept []ink.Point
	for _, p := range wave {
		if p.Y <= ceiling {
			cut = append(cut, p, ink.Point{X: p.X, Y: ceiling})
		}
		kept = append(kept, ink.Point{X: p.X, Y: max(p.Y, ceiling)})
	}
	l.HatchStrip(lost, lost.Alpha(0.25), 2.5, 5, cut...)
	l.Line(5, sky, kept...)
	l.Line(3, lost, ink.Point{X: 10, Y: ceiling - 3}, ink.Point{X: 54, Y: ceiling - 3})
}

func icons() []image.Image {
	var l ink.List
	drawIcon(&l)
	var out []image.Image
	for _, n := range []int{16, 32, 48, 128} {
		out = append(out, raster.Paint(&l, n, n, float32(n)/64, ink.Color{}))
	}
	return out
}
