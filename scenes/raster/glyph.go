package raster

import (
	"image"
	"image/draw"
	"math"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"gainwright/scenes/ink"
)

// Phases is into how many steps of a pixel glyphs are placed along the line.
const Phases = 4

// Glyphs makes coverage masks of glyphs. Not for several goroutines at once.
type Glyphs struct {
	buf sfnt.Buffer
	z   vector.Rasterizer
}

// Mask rasterises one glyph at size pixels an em, shifted right by phase
// quarters of a pixel. The mask's bounds are relative to the pen on the
// baseline; a blank glyph has empty bounds. pix is memory to reuse, or nil.
func (g *Glyphs) Mask(f ink.Font, size float32, index sfnt.GlyphIndex, phase int, pix []uint8) image.Alpha {
	segs, err := ink.Face(f).LoadGlyph(&g.buf, index, fixed.Int26_6(size*64+0.5), nil)
	if err != nil || len(segs) == 0 {
		return image.Alpha{}
	}
	b := segs.Bounds()
	shift := float32(phase) / Phases
	x0 := int(math.Floor(float64(float32(b.Min.X)/64 + shift)))
	x1 := int(math.Ceil(float64(float32(b.Max.X)/64 + shift)))
	y0, y1 := b.Min.Y.Floor(), b.Max.Y.Ceil()
	if x1 <= x0 || y1 <= y0 {
		return image.Alpha{}
	}
	w, h := x1-x0, y1-y0
	g.z.Reset(w, h)
	dx, dy := shift-float32(x0), -float32(y0)
	pt := func(p fixed.Point26_6) (float32, float32) {
		return float32(p.X)/64 + dx, float32(p.Y)/64 + dy
	}
	for _, s := range segs {
		ax, ay := pt(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			g.z.ClosePath()
			g.z.MoveTo(ax, ay)
		case sfnt.SegmentOpLineTo:
			g.z.LineTo(ax, ay)
		case sfnt.SegmentOpQuadTo:
			bx, by := pt(s.Args[1])
			g.z.QuadTo(ax, ay, bx, by)
		case sfnt.SegmentOpCubeTo:
			bx, by := pt(s.Args[1])
			cx, cy := pt(s.Args[2])
			g.z.CubeTo(ax, ay, bx, by, cx, cy)
		}
	}
	g.z.ClosePath()
	if cap(pix) < w*h {
		pix = make([]uint8, w*h)
	}
	m := image.Alpha{Pix: pix[:w*h], Stride: w, Rect: image.Rect(0, 0, w, h)}
	g.z.DrawOp = draw.Src
	g.z.Draw(&m, m.Rect, image.Opaque, image.Point{})
	m.Rect = image.Rect(x0, y0, x1, y1)
	return m
}

// Pen places the glyphs of one text on the pixel grid.
type Pen struct {
	x    float32 // pixels
	Y    int     // baseline, pixels
	size float32
	font ink.Font
}

// NewPen starts a text of the given style with its anchor at `at` (dp).
func NewPen(s string, st ink.Style, at ink.Point, scale float32) Pen {
	x := at.X
	switch st.Align {
	case ink.Middle:
		x -= ink.Measure(s, st) / 2
	case ink.Right:
		x -= ink.Measure(s, st)
	}
	return Pen{x: x * scale, Y: int(math.Floor(float64(at.Y*scale) + 0.5)), size: st.Size * scale, font: st.Font}
}

// Next returns the glyph for r, the whole pixel it starts from and the phase
// within it, and moves on.
func (p *Pen) Next(r rune) (index sfnt.GlyphIndex, x, phase int) {
	index, adv, _ := ink.Glyph(p.font, r)
	q := int(math.Floor(float64(p.x)*Phases + 0.5))
	p.x += adv * p.size
	return index, q >> 2, q & (Phases - 1)
}
