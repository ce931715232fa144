package mesh

import (
	"image"
	"unicode/utf8"

	"golang.org/x/image/font/sfnt"

	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
)

const (
	firstSize = 1024
	lastSize  = 4096
	// white is a point well within the block of full texels in the corner.
	white      = 2
	whiteBlock = 4
)

// Atlas is the picture that holds every glyph in use, and a white block for
// shapes. Its texels are coverages.
type Atlas struct {
	Size int     // width and height, texels
	Pix  []uint8 // Size × Size
	// Dirty is what changed since the painter last took it over. All else of a new
	// generation is empty, as a new image is.
	Dirty image.Rectangle
	// Generation counts how often the atlas began anew: a painter then makes a
	// new image.
	Generation int

	glyphs       map[key]entry
	raster       raster.Glyphs
	pix          []uint8
	x, y, height int // where the next glyph goes, height of its shelf
	full         bool
}

type key struct {
	index sfnt.GlyphIndex
	font  ink.Font
	phase uint8
	size  float32 // pixels
}

type entry struct {
	u, v       int16
	w, h       int16
	left, over int16 // where the mask lies from the pen
}

func (a *Atlas) init() {
	if a.Size == 0 {
		a.Size = firstSize
		a.clear()
	}
}

func (a *Atlas) grow() {
	a.Size = min(2*a.Size, lastSize)
	a.clear()
}

func (a *Atlas) clear() {
	a.Pix = make([]uint8, a.Size*a.Size)
	a.glyphs = make(map[key]entry)
	a.x, a.y, a.height, a.full = whiteBlock+1, 0, whiteBlock+1, false
	for y := range whiteBlock {
		for x := range whiteBlock {
			a.Pix[y*a.Size+x] = 255
		}
	}
	a.Dirty = image.Rect(0, 0, whiteBlock, whiteBlock)
	a.Generation++
}

// Glyphs returns how many glyphs the atlas holds.
func (a *Atlas) Glyphs() int { return len(a.glyphs) }

func (a *Atlas) glyph(k key) entry {
	e, ok := a.glyphs[k]
	if ok {
		return e
	}
	m := a.raster.Mask(k.font, k.size, k.index, int(k.phase), a.pix)
	if cap(m.Pix) > cap(a.pix) {
		a.pix = m.Pix[:0]
	}
	w, h := m.Rect.Dx(), m.Rect.Dy()
	if a.x+w > a.Size {
		a.x, a.y, a.height = 0, a.y+a.height, 0
	}
	if w > a.Size || a.y+h > a.Size {
		a.full = true
		return entry{}
	}
	e = entry{int16(a.x), int16(a.y), int16(w), int16(h), int16(m.Rect.Min.X), int16(m.Rect.Min.Y)}
	for y := range h {
		copy(a.Pix[(a.y+y)*a.Size+a.x:], m.Pix[y*m.Stride:y*m.Stride+w])
	}
	if w > 0 && h > 0 {
		a.Dirty = a.Dirty.Union(image.Rect(a.x, a.y, a.x+w, a.y+h))
	}
	// One texel between glyphs, though sampling is exact: some drivers round.
	a.x += w + 1
	a.height = max(a.height, h+1)
	a.glyphs[k] = e
	return e
}

func (m *Mesh) text(op *ink.Op, at ink.Point) {
	st := op.Style
	if m.outside(ink.Rect{X: -1e6, W: 2e6, Y: (at.Y - st.Size*1.2) * m.scale, H: st.Size * 2 * m.scale}) {
		return
	}
	c := premultiply(op.Color)
	pen := raster.NewPen(op.Text, st, at, m.scale)
	m.room(4 * utf8.RuneCountInString(op.Text))
	size := st.Size * m.scale
	for _, r := range op.Text {
		index, x, phase := pen.Next(r)
		e := m.Atlas.glyph(key{index, st.Font, uint8(phase), size})
		if e.w == 0 {
			continue
		}
		n := len(m.b.Vertices)
		x0, y0 := float32(x+int(e.left)), float32(pen.Y+int(e.over))
		u0, v0 := float32(e.u), float32(e.v)
		w, h := float32(e.w), float32(e.h)
		m.b.Vertices = append(m.b.Vertices,
			Vertex{x0, y0, u0, v0, c.r, c.g, c.b, c.a},
			Vertex{x0 + w, y0, u0 + w, v0, c.r, c.g, c.b, c.a},
			Vertex{x0 + w, y0 + h, u0 + w, v0 + h, c.r, c.g, c.b, c.a},
			Vertex{x0, y0 + h, u0, v0 + h, c.r, c.g, c.b, c.a})
		m.quad(n, n+1, n+2, n+3)
	}
}
