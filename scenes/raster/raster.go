// Package raster paints a draw list in software. The pixels are the same on
// every machine of the kinds tested (amd64, 386, wasm), which makes exact
// golden images and reproducible handouts possible.
package raster

import (
	"image"
	"image/draw"

	"golang.org/x/image/vector"

	"gainwright/scenes/ink"
	"gainwright/scenes/ink/shape"
)

// Paint paints the list onto a picture of w × h pixels filled with ground.
// scale is device pixels a dp.
func Paint(l *ink.List, w, h int, scale float32, ground ink.Color) *image.RGBA {
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(dst, dst.Rect, image.NewUniform(premultiplied(ground)), image.Point{}, draw.Src)
	Onto(dst, l, scale)
	return dst
}

// Onto paints the list over what is in dst, whose bounds start at (0, 0).
func Onto(dst *image.RGBA, l *ink.List, scale float32) {
	p := painter{dst: dst, scale: scale, clip: dst.Rect}
	var clips []image.Rectangle
	for i := range l.Ops {
		op := &l.Ops[i]
		switch op.Kind {
		case ink.KClip:
			clips = append(clips, p.clip)
			p.clip = p.clip.Intersect(shape.Clip(op.Rect, scale))
		case ink.KUnclip:
			if n := len(clips); n > 0 {
				p.clip, clips = clips[n-1], clips[:n-1]
			}
		default:
			if !p.clip.Empty() {
				p.op(op, l.Points(op))
			}
		}
	}
}

type painter struct {
	dst    *image.RGBA
	scale  float32
	clip   image.Rectangle
	z      vector.Rasterizer
	mask   image.Alpha
	glyphs Glyphs
	// paths holds the contours of the shape being made, ends where each ends.
	paths    []ink.Point
	ends     []int
	sections []shape.Section
	pts, buf []ink.Point
	pix      []uint8
}

func (p *painter) op(op *ink.Op, pts []ink.Point) {
	p.paths, p.ends = p.paths[:0], p.ends[:0]
	s := p.scale
	switch op.Kind {
	case ink.KRect:
		b := shape.Box(op.Rect, op.Radius, s)
		if b.W <= 0 || b.H <= 0 {
			return
		}
		p.paths = shape.RoundRect(p.paths, b, op.Radius*s)
		p.closeAndFill(op.Color)
	case ink.KFrame:
		c, w := shape.Frame(op.Rect, op.Radius, op.Width, s)
		if w <= 0 {
			return
		}
		col := op.Color
		if w < 1 {
			col, w = thin(col, w)
		}
		outer := op.Radius*s + w/2
		if op.Radius <= 0 {
			outer = 0
		}
		p.paths = shape.RoundRect(p.paths, c.Inset(-w/2), outer)
		p.end()
		if in := c.Inset(w / 2); in.W > 0 && in.H > 0 {
			n := len(p.paths)
			p.paths = shape.RoundRect(p.paths, in, max(0, op.Radius*s-w/2))
			reverse(p.paths[n:])
			p.end()
		}
		p.fill(flat(col))
	case ink.KLine:
		if len(pts) == 2 {
			a, b, w := shape.Segment(pts[0], pts[1], op.Width, s)
			p.pts = append(p.pts[:0], a, b)
			p.stroke(p.pts, w, op.Color, false)
			return
		}
		p.stroke(p.scaled(pts), op.Width*s, op.Color, false)
	case ink.KArc:
		r := op.Rect.W / 2 * s
		c := op.Rect.Center()
		p.pts = shape.Arc(p.pts[:0], ink.Point{X: c.X * s, Y: c.Y * s}, r, op.A0, op.A1)
		p.stroke(p.pts, op.Width*s, op.Color, true)
	case ink.KPolygon:
		if len(pts) < 3 {
			return
		}
		p.paths = append(p.paths, p.scaled(pts)...)
		p.closeAndFill(op.Color)
	case ink.KStrip, ink.KHatchStrip:
		p.strip(op, p.scaled(pts))
	case ink.KText:
		if len(pts) == 1 {
			p.text(op, pts[0])
		}
	}
}

func (p *painter) scaled(pts []ink.Point) []ink.Point {
	p.pts = p.pts[:0]
	for _, q := range pts {
		p.pts = append(p.pts, ink.Point{X: q.X * p.scale, Y: q.Y * p.scale})
	}
	return p.pts
}

// thin draws a line of less than a pixel as a paler one of a pixel.
func thin(c ink.Color, w float32) (ink.Color, float32) {
	c.A = uint8(float32(c.A)*w + 0.5)
	return c, 1
}

func (p *painter) stroke(pts []ink.Point, w float32, c ink.Color, roundEnds bool) {
	if w <= 0 {
		return
	}
	if w < 1 {
		c, w = thin(c, w)
	}
	p.sections = shape.Stroke(p.sections[:0], pts, w/2, roundEnds)
	if len(p.sections) == 0 {
		return
	}
	p.paths = shape.Outline(p.paths, p.sections, w/2)
	p.closeAndFill(c)
}

// strip fills between curves; pts are pairs in pixels.
func (p *painter) strip(op *ink.Op, pts []ink.Point) {
	n := len(pts) / 2
	if n < 2 {
		return
	}
	for i := range n {
		pts[2*i], pts[2*i+1] = shape.Uncross(pts[2*i], pts[2*i+1])
	}
	for i := range n {
		p.paths = append(p.paths, pts[2*i])
	}
	for i := n - 1; i >= 0; i-- {
		p.paths = append(p.paths, pts[2*i+1])
	}
	p.end()
	if op.Kind == ink.KStrip {
		if op.Color == op.Color2 {
			p.fill(flat(op.Color))
		} else {
			p.fill(&fade{pts: pts[:2*n], a: components(op.Color), b: components(op.Color2)})
		}
		return
	}
	if op.Color2.A > 0 {
		p.fill(flat(op.Color2))
	}
	gap, w, c := op.Gap*p.scale, op.Width*p.scale, op.Color
	if gap <= 0 || w <= 0 {
		return
	}
	if w < 1 {
		c, w = thin(c, w)
	}
	// Lines as wide as their distance cover everything; wider ones, or thousands within a
	// pixel, would all be painted for the same picture.
	gap = max(gap, 1)
	w = min(w, gap)
	p.paths, p.ends = p.paths[:0], p.ends[:0]
	var quad [4]ink.Point
	for i := range n - 1 {
		q := shape.Quad(quad[:0], pts[2*i], pts[2*i+1], pts[2*i+2], pts[2*i+3])
		first, last := shape.HatchLines(q, p.clip, w/2, gap)
		for k := first; k <= last; k++ {
			p.paths, p.buf = shape.Slice(p.paths, p.buf, q, float32(k)*gap-w/2, float32(k)*gap+w/2)
			p.end()
		}
	}
	p.fill(flat(c))
}

func (p *painter) text(op *ink.Op, at ink.Point) {
	pen := NewPen(op.Text, op.Style, at, p.scale)
	c := components(op.Color)
	for _, r := range op.Text {
		index, x, phase := pen.Next(r)
		m := p.glyphs.Mask(op.Style.Font, op.Style.Size*p.scale, index, phase, p.pix)
		if cap(m.Pix) > cap(p.pix) {
			p.pix = m.Pix[:0]
		}
		p.blend(m.Pix, m.Stride, m.Rect.Add(image.Pt(x, pen.Y)), &even{c})
	}
}

func (p *painter) end() { p.ends = append(p.ends, len(p.paths)) }

func (p *painter) closeAndFill(c ink.Color) {
	p.end()
	p.fill(flat(c))
}

func reverse(p []ink.Point) {
	for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
		p[i], p[j] = p[j], p[i]
	}
}

// fill paints the shape made of the contours in paths.
func (p *painter) fill(ink shader) {
	if len(p.paths) == 0 {
		return
	}
	x0, y0, x1, y1 := p.paths[0].X, p.paths[0].Y, p.paths[0].X, p.paths[0].Y
	for _, q := range p.paths {
		x0, y0, x1, y1 = min(x0, q.X), min(y0, q.Y), max(x1, q.X), max(y1, q.Y)
	}
	// The bounds are cut before they are whole numbers: a point may be far off.
	c := p.clip
	r := image.Rect(
		int(max(x0, float32(c.Min.X))), int(max(y0, float32(c.Min.Y))),
		int(min(x1, float32(c.Max.X)-1))+1, int(min(y1, float32(c.Max.Y)-1))+1)
	r = r.Intersect(c)
	if r.Empty() || x1 < float32(c.Min.X) || y1 < float32(c.Min.Y) {
		return
	}
	w, h := r.Dx(), r.Dy()
	p.z.Reset(w, h)
	p.z.DrawOp = draw.Src
	dx, dy := float32(r.Min.X), float32(r.Min.Y)
	start := 0
	for _, e := range p.ends {
		if c := p.paths[start:e]; len(c) > 0 {
			a := c[len(c)-1]
			for _, b := range c {
				p.edge(a, b, dx, dy, float32(h))
				a = b
			}
		}
		start = e
	}
	if cap(p.mask.Pix) < w*h {
		p.mask.Pix = make([]uint8, w*h)
	}
	p.mask.Pix, p.mask.Stride, p.mask.Rect = p.mask.Pix[:w*h], w, image.Rect(0, 0, w, h)
	p.z.Draw(&p.mask, p.mask.Rect, image.Opaque, image.Point{})
	p.blend(p.mask.Pix, w, r, ink)
}

// edge adds one edge of a contour. The rasteriser sums signed areas edge by
// edge, so what lies above or below the picture can be left out; it would walk
// every row of it.
func (p *painter) edge(a, b ink.Point, dx, dy, height float32) {
	a.X, a.Y, b.X, b.Y = a.X-dx, a.Y-dy, b.X-dx, b.Y-dy
	if max(a.Y, b.Y) <= 0 || min(a.Y, b.Y) >= height {
		return
	}
	cut := func(p, q ink.Point) ink.Point {
		y := min(max(p.Y, 0), height)
		if y != p.Y {
			p.X += (q.X - p.X) * ((y - p.Y) / (q.Y - p.Y))
			p.Y = y
		}
		return p
	}
	a, b = cut(a, b), cut(b, a)
	p.z.MoveTo(a.X, a.Y)
	p.z.LineTo(b.X, b.Y)
}

// blend lays the colour over the destination where the mask, which covers r, is.
func (p *painter) blend(mask []uint8, stride int, r image.Rectangle, sh shader) {
	c := r.Intersect(p.clip)
	for y := c.Min.Y; y < c.Max.Y; y++ {
		row := mask[(y-r.Min.Y)*stride:]
		d := p.dst.Pix[p.dst.PixOffset(c.Min.X, y):]
		for x := c.Min.X; x < c.Max.X; x++ {
			m := uint32(row[x-r.Min.X])
			if m == 0 {
				d = d[4:]
				continue
			}
			s := sh.at(x, y)
			k := 255*255 - s[3]*m
			for j := range 4 {
				// All in units of 1/255²; dst in 1/255.
				d[j] = uint8((s[j]*m + uint32(d[j])*k/255 + 127) / 255)
			}
			d = d[4:]
		}
	}
}

// pixel is a premultiplied colour, each component 0..255.
type pixel = [4]uint32

type shader interface{ at(x, y int) pixel }

type even struct{ c pixel }

func (e *even) at(int, int) pixel { return e.c }

func flat(c ink.Color) shader { return &even{components(c)} }

func components(c ink.Color) pixel {
	a := uint32(c.A)
	f := func(v uint8) uint32 { return (uint32(v)*a + 127) / 255 }
	return pixel{f(c.R), f(c.G), f(c.B), a}
}

func premultiplied(c ink.Color) premul { return premul(components(c)) }

type premul pixel

func (p premul) RGBA() (r, g, b, a uint32) {
	return p[0] * 0x101, p[1] * 0x101, p[2] * 0x101, p[3] * 0x101
}

// fade goes from a at the upper curve to b at the lower one.
type fade struct {
	pts  []ink.Point // pairs, pixels
	a, b pixel
	i    int // the pair left of the last pixel asked for
}

func (f *fade) at(x, y int) pixel {
	px, py := float32(x)+0.5, float32(y)+0.5
	last := len(f.pts)/2 - 2
	if px < f.pts[2*f.i].X {
		f.i = 0
	}
	for f.i < last && px >= f.pts[2*f.i+2].X {
		f.i++
	}
	q := f.pts[2*f.i : 2*f.i+4]
	t := float32(0)
	if w := q[2].X - q[0].X; w > 0 {
		t = min(max((px-q[0].X)/w, 0), 1)
	}
	up := q[0].Y + t*(q[2].Y-q[0].Y)
	low := q[1].Y + t*(q[3].Y-q[1].Y)
	v := float32(0)
	if low > up {
		v = min(max((py-up)/(low-up), 0), 1)
	}
	k := uint32(v*256 + 0.5)
	var c pixel
	for j := range c {
		c[j] = (f.a[j]*(256-k) + f.b[j]*k + 128) >> 8
	}
	return c
}
