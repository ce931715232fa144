// Package mesh turns a draw list into triangles and a glyph atlas for a painter
// on the GPU. It knows no graphics library, so that its cost and its geometry
// can be tested on a bare machine.
//
// Edges are anti-aliased by feathering: a strip one pixel wide along the edge
// over which the alpha runs out. Everything (shapes take a white texel of the
// atlas) goes into one batch for each clip region, because a GPU painter pays
// by the batch.
package mesh

import (
	"image"
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ink/shape"
)

// Vertex is a corner of a triangle: where it is (pixels), what it shows (texels
// of the atlas) and its premultiplied colour, 0..1.
type Vertex struct {
	X, Y, U, V float32
	R, G, B, A float32
}

// Batch is a run of triangles within one clip region.
type Batch struct {
	Clip     image.Rectangle
	Vertices []Vertex
	Indices  []uint16
}

// tolerance is how far, in pixels, a line may lie from its points. With its edges
// a pixel soft nothing of it is seen.
const tolerance = 0.12

// maxVertices keeps indices within 16 bit, with room for one more shape.
const maxVertices = 60000

// Mesh is a picture as triangles. The zero value is ready; building again
// reuses its memory.
type Mesh struct {
	Batches []Batch // in drawing order; only the first N count
	N       int
	Atlas   Atlas

	b        *Batch
	clip     image.Rectangle
	clips    []image.Rectangle
	scale    float32
	pts      []ink.Point
	buf, cut []ink.Point
	sections []shape.Section
	// Stretches of a hatching line: along its two edges.
	above, below, spare []shape.Interval
}

// Build makes the triangles of l for a picture of w × h pixels at scale pixels a
// dp.
func (m *Mesh) Build(l *ink.List, w, h int, scale float32) {
	m.build(l, w, h, scale)
	if m.Atlas.full {
		// Glyphs of sizes no longer used take the room: begin anew, larger while
		// that is possible.
		m.Atlas.grow()
		m.build(l, w, h, scale)
	}
}

func (m *Mesh) build(l *ink.List, w, h int, scale float32) {
	m.Atlas.init()
	m.N, m.b, m.scale = 0, nil, scale
	m.clip, m.clips = image.Rect(0, 0, w, h), m.clips[:0]
	for i := range l.Ops {
		op := &l.Ops[i]
		switch op.Kind {
		case ink.KClip:
			m.clips = append(m.clips, m.clip)
			m.clip = m.clip.Intersect(shape.Clip(op.Rect, scale))
		case ink.KUnclip:
			if n := len(m.clips); n > 0 {
				m.clip, m.clips = m.clips[n-1], m.clips[:n-1]
			}
		default:
			if !m.clip.Empty() {
				m.op(op, l.Points(op))
			}
		}
	}
}

// Triangles returns how many triangles the mesh has.
func (m *Mesh) Triangles() (n int) {
	for i := range m.N {
		n += len(m.Batches[i].Indices) / 3
	}
	return n
}

// room makes sure that n more vertices fit into the batch at hand.
func (m *Mesh) room(n int) {
	if m.b != nil && m.b.Clip == m.clip && len(m.b.Vertices)+n <= maxVertices {
		return
	}
	if m.N == len(m.Batches) {
		m.Batches = append(m.Batches, Batch{})
	}
	m.b = &m.Batches[m.N]
	m.N++
	m.b.Clip, m.b.Vertices, m.b.Indices = m.clip, m.b.Vertices[:0], m.b.Indices[:0]
}

// rgba is a premultiplied colour, 0..1.
type rgba struct{ r, g, b, a float32 }

func premultiply(c ink.Color) rgba {
	a := float32(c.A) / 255
	return rgba{float32(c.R) / 255 * a, float32(c.G) / 255 * a, float32(c.B) / 255 * a, a}
}

func (c rgba) times(k float32) rgba { return rgba{c.r * k, c.g * k, c.b * k, c.a * k} }

func (m *Mesh) vertex(x, y float32, c rgba) {
	m.b.Vertices = append(m.b.Vertices, Vertex{x, y, white, white, c.r, c.g, c.b, c.a})
}

func (m *Mesh) tri(a, b, c int) {
	m.b.Indices = append(m.b.Indices, uint16(a), uint16(b), uint16(c))
}

func (m *Mesh) quad(a, b, c, d int) {
	m.b.Indices = append(m.b.Indices, uint16(a), uint16(b), uint16(c), uint16(a), uint16(c), uint16(d))
}

func (m *Mesh) op(op *ink.Op, pts []ink.Point) {
	s := m.scale
	switch op.Kind {
	case ink.KRect:
		b := shape.Box(op.Rect, op.Radius, s)
		if b.W <= 0 || b.H <= 0 || m.outside(b) {
			return
		}
		c := premultiply(op.Color)
		if op.Radius <= 0 {
			m.room(4)
			m.plain(b, c)
			return
		}
		m.pts = shape.RoundRect(m.pts[:0], b, op.Radius*s)
		m.convex(m.pts, c)
	case ink.KFrame:
		b, w := shape.Frame(op.Rect, op.Radius, op.Width, s)
		if w <= 0 || m.outside(b.Inset(-w)) {
			return
		}
		c := premultiply(op.Color)
		if w < 1 {
			c, w = c.times(w), 1
		}
		m.frame(b, op.Radius*s, w/2, c)
	case ink.KLine:
		if len(pts) == 2 {
			a, b, w := shape.Segment(pts[0], pts[1], op.Width, s)
			m.pts = append(m.pts[:0], a, b)
			m.stroke(m.pts, w, op.Color, false)
			return
		}
		m.stroke(m.scaled(pts), op.Width*s, op.Color, false)
	case ink.KArc:
		c := op.Rect.Center()
		m.pts = shape.Arc(m.pts[:0], ink.Point{X: c.X * s, Y: c.Y * s}, op.Rect.W/2*s, op.A0, op.A1)
		m.stroke(m.pts, op.Width*s, op.Color, true)
	case ink.KPolygon:
		if len(pts) >= 3 && len(pts) < maxVertices/2 {
			p := m.scaled(pts)
			if shape.Area(p) < 0 {
				for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
					p[i], p[j] = p[j], p[i]
				}
			}
			m.convex(p, premultiply(op.Color))
		}
	case ink.KStrip:
		m.strip(m.scaled(pts), op.Color, op.Color2)
	case ink.KHatchStrip:
		p := m.scaled(pts)
		if op.Color2.A > 0 {
			m.strip(p, op.Color2, op.Color2)
		}
		m.hatch(p, op.Width*s, op.Gap*s, op.Color)
	case ink.KText:
		if len(pts) == 1 {
			m.text(op, pts[0])
		}
	}
}

func (m *Mesh) outside(r ink.Rect) bool {
	c := m.clip
	return r.Right() <= float32(c.Min.X) || r.Bottom() <= float32(c.Min.Y) ||
		r.X >= float32(c.Max.X) || r.Y >= float32(c.Max.Y)
}

func (m *Mesh) scaled(pts []ink.Point) []ink.Point {
	m.pts = m.pts[:0]
	for _, p := range pts {
		m.pts = append(m.pts, ink.Point{X: p.X * m.scale, Y: p.Y * m.scale})
	}
	return m.pts
}

// plain fills a rectangle on whole pixels: nothing to feather.
func (m *Mesh) plain(r ink.Rect, c rgba) {
	n := len(m.b.Vertices)
	m.vertex(r.X, r.Y, c)
	m.vertex(r.Right(), r.Y, c)
	m.vertex(r.Right(), r.Bottom(), c)
	m.vertex(r.X, r.Bottom(), c)
	m.quad(n, n+1, n+2, n+3)
}

// convex fills a convex polygon, clockwise on screen, with feathered edges.
func (m *Mesh) convex(p []ink.Point, c rgba) {
	p = shape.Distinct(p)
	if len(p) < 3 {
		return
	}
	m.room(2 * len(p))
	n := len(m.b.Vertices)
	for i := range p {
		v := shape.Mitre(p, i)
		m.vertex(p[i].X-v.X/2, p[i].Y-v.Y/2, c)
		m.vertex(p[i].X+v.X/2, p[i].Y+v.Y/2, rgba{})
	}
	k := 2 * len(p)
	for i := 4; i < k; i += 2 {
		m.tri(n, n+i-2, n+i)
	}
	for i := 0; i < k; i += 2 {
		j := (i + 2) % k
		m.quad(n+i, n+i+1, n+j+1, n+j)
	}
}

// frame strokes a rectangle's outline, h to either side of the centre line b.
func (m *Mesh) frame(b ink.Rect, radius, h float32, c rgba) {
	if radius <= 0 {
		m.room(16)
		o, i := b.Inset(-h), b.Inset(h)
		if i.W <= 0 || i.H <= 0 {
			m.plain(o, c)
			return
		}
		m.plain(ink.Rect{X: o.X, Y: o.Y, W: o.W, H: i.Y - o.Y}, c)
		m.plain(ink.Rect{X: o.X, Y: i.Bottom(), W: o.W, H: o.Bottom() - i.Bottom()}, c)
		m.plain(ink.Rect{X: o.X, Y: i.Y, W: i.X - o.X, H: i.H}, c)
		m.plain(ink.Rect{X: i.Right(), Y: i.Y, W: o.Right() - i.Right(), H: i.H}, c)
		return
	}
	m.pts = shape.RoundRect(m.pts[:0], b, radius)
	p := shape.Distinct(m.pts)
	if len(p) < 3 {
		return
	}
	m.room(4 * len(p))
	n := len(m.b.Vertices)
	for i := range p {
		v := shape.Mitre(p, i)
		m.row(p[i], v, ink.Point{X: -v.X, Y: -v.Y}, h, c)
	}
	k := 4 * len(p)
	for i := 0; i < k; i += 4 {
		m.rows(n+i, n+(i+4)%k)
	}
}

// row adds the four vertices of a section: out, full, full, out.
func (m *Mesh) row(p, l, r ink.Point, h float32, c rgba) {
	o, i := h+0.5, h-0.5
	m.vertex(p.X+o*l.X, p.Y+o*l.Y, rgba{})
	m.vertex(p.X+i*l.X, p.Y+i*l.Y, c)
	m.vertex(p.X+i*r.X, p.Y+i*r.Y, c)
	m.vertex(p.X+o*r.X, p.Y+o*r.Y, rgba{})
}

// rows joins two sections.
func (m *Mesh) rows(a, b int) {
	m.quad(a, b, b+1, a+1)
	m.quad(a+1, b+1, b+2, a+2)
	m.quad(a+2, b+2, b+3, a+3)
}

func (m *Mesh) stroke(pts []ink.Point, w float32, col ink.Color, roundEnds bool) {
	if w <= 0 || len(pts) == 0 {
		return
	}
	c := premultiply(col)
	if w < 1 {
		c, w = c.times(w), 1
	}
	h := w / 2
	if len(pts) == 2 && !roundEnds && (pts[0].X == pts[1].X || pts[0].Y == pts[1].Y) {
		a, b := pts[0], pts[1]
		m.room(4)
		if a.X == b.X {
			m.plain(ink.Rect{X: a.X - h, Y: min(a.Y, b.Y), W: w, H: max(a.Y, b.Y) - min(a.Y, b.Y)}, c)
		} else {
			m.plain(ink.Rect{X: min(a.X, b.X), Y: a.Y - h, W: max(a.X, b.X) - min(a.X, b.X), H: w}, c)
		}
		return
	}
	m.buf = shape.Simplify(m.buf[:0], pts, tolerance)
	m.sections = shape.Stroke(m.sections[:0], m.buf, h, roundEnds)
	s := m.sections
	// Long polylines are cut where a batch is full; the pieces share a section.
	const most = maxVertices / 8
	for len(s) > 1 {
		k := min(len(s), most)
		m.room(4 * k)
		n := len(m.b.Vertices)
		for i := range s[:k] {
			m.row(s[i].At, s[i].Left, s[i].Right, h, c)
		}
		for i := range k - 1 {
			m.rows(n+4*i, n+4*i+4)
		}
		s = s[k-1:]
	}
}

// strip fills between curves given as pairs, with the curves feathered. The
// ends are not, so that neighbours join without a seam.
func (m *Mesh) strip(pts []ink.Point, upper, lower ink.Color) {
	u, l := premultiply(upper), premultiply(lower)
	k := len(pts) / 2
	if k < 2 {
		return
	}
	const most = maxVertices / 8
	for i := 0; i < k-1; i += most - 1 {
		e := min(k, i+most)
		m.room(4 * (e - i))
		n := len(m.b.Vertices)
		for j := i; j < e; j++ {
			m.pair(pts, j, k, u, l)
		}
		for j := range e - i - 1 {
			p := pts[2*(i+j) : 2*(i+j)+4]
			if p[1].Y-p[0].Y < flat && p[3].Y-p[2].Y < flat {
				continue
			}
			m.rows(n+4*j, n+4*j+4)
		}
	}
}

// flat is the height, in pixels, below which a cell of a strip is not seen.
const flat = 0.02

func (m *Mesh) pair(pts []ink.Point, j, k int, u, l rgba) {
	a, b := shape.Uncross(pts[2*j], pts[2*j+1])
	before, after := max(j-1, 0), min(j+1, k-1)
	nu := shape.Upward(pts[2*before], pts[2*after])
	nl := shape.Upward(pts[2*before+1], pts[2*after+1])
	// Less than a pixel of height: the feathers meet in the middle and the
	// colour gets paler.
	if d := b.Y - a.Y; d < 1 {
		mid := ink.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		c := rgba{(u.r + l.r) / 2, (u.g + l.g) / 2, (u.b + l.b) / 2, (u.a + l.a) / 2}.times(d)
		m.vertex(mid.X+nu.X, mid.Y+nu.Y, rgba{})
		m.vertex(mid.X, mid.Y, c)
		m.vertex(mid.X, mid.Y, c)
		m.vertex(mid.X-nl.X, mid.Y-nl.Y, rgba{})
		return
	}
	m.vertex(a.X+nu.X/2, a.Y+nu.Y/2, rgba{})
	m.vertex(a.X-nu.X/2, a.Y-nu.Y/2, u)
	m.vertex(b.X+nl.X/2, b.Y+nl.Y/2, l)
	m.vertex(b.X-nl.X/2, b.Y-nl.Y/2, rgba{})
}

// hatch draws the lines of a hatching within a strip.
func (m *Mesh) hatch(pts []ink.Point, w, gap float32, col ink.Color) {
	if w <= 0 || gap <= 0 || len(pts) < 4 {
		return
	}
	c := premultiply(col)
	if w < 1 {
		c, w = c.times(w), 1
	}
	gap = max(gap, 1) // as in the raster painter
	w = min(w, gap)
	if !shape.Upright(pts) {
		m.hatchCells(pts, w, gap, c)
		return
	}
	n := len(pts) &^ 1
	pts = pts[:n]
	top, bottom := pts[0].Y, pts[1].Y
	for i := 0; i < n; i += 2 {
		pts[i], pts[i+1] = shape.Uncross(pts[i], pts[i+1])
		top, bottom = min(top, pts[i].Y), max(bottom, pts[i+1].Y)
	}
	box := [4]ink.Point{{X: pts[0].X, Y: top}, {X: pts[n-1].X, Y: top}, {X: pts[n-1].X, Y: bottom}, {X: pts[0].X, Y: bottom}}
	h := w/2 - 0.5 // to where a line is full
	first, last := shape.HatchLines(box[:], m.clip, w/2+0.5, gap)
	for k := first; k <= last; k++ {
		at := float32(k) * gap
		m.above = shape.Inside(m.above[:0], pts, at-h, top, bottom)
		m.below = m.above
		if h > 0 {
			m.below = shape.Inside(m.spare[:0], pts, at+h, top, bottom)
			m.spare = m.below
		}
		if len(m.above) != len(m.below) {
			// The edges of the line meet different parts of the strip: its middle
			// stands for both.
			m.above = shape.Inside(m.above[:0], pts, at, top, bottom)
			m.below = m.above
		}
		for i := range m.above {
			m.hatchLine(at, h, m.above[i], m.below[i], c)
		}
	}
}

// hatchLine draws one stretch of a hatching line, given by where its two edges
// begin and end.
func (m *Mesh) hatchLine(at, h float32, a, b shape.Interval, c rgba) {
	m.room(8)
	n := len(m.b.Vertices)
	const diagonal = math.Sqrt2
	const step = math.Sqrt2 / 2 // a pixel across
	point := func(x, d float32) ink.Point { return ink.Point{X: x, Y: d*diagonal - x} }
	for _, e := range [2][2]float32{{a.From, b.From}, {a.To, b.To}} {
		p, q := point(e[0], at-h), point(e[1], at+h)
		m.vertex(p.X-step, p.Y-step, rgba{})
		m.vertex(p.X, p.Y, c)
		m.vertex(q.X, q.Y, c)
		m.vertex(q.X+step, q.Y+step, rgba{})
	}
	m.rows(n, n+4)
}

// hatchCells hatches a strip with pairs that lean: cell by cell.
func (m *Mesh) hatchCells(pts []ink.Point, w, gap float32, c rgba) {
	o, i := w/2+0.5, w/2-0.5
	var q [4]ink.Point
	for j := 0; j+3 < len(pts); j += 2 {
		quad := shape.Quad(q[:0], pts[j], pts[j+1], pts[j+2], pts[j+3])
		first, last := shape.HatchLines(quad, m.clip, o, gap)
		for k := first; k <= last; k++ {
			at := float32(k) * gap
			m.band(quad, at, -o, -i, 0, 1, c)
			m.band(quad, at, -i, i, 1, 1, c)
			m.band(quad, at, i, o, 1, 0, c)
		}
	}
}

// band fills the part of a convex polygon between two distances from a hatching
// line, its alpha running from a0 to a1 across.
func (m *Mesh) band(poly []ink.Point, at, d0, d1, a0, a1 float32, c rgba) {
	if d1 <= d0 {
		return
	}
	m.cut, m.buf = shape.Slice(m.cut[:0], m.buf, poly, at+d0, at+d1)
	if len(m.cut) < 3 {
		return
	}
	m.room(len(m.cut))
	n := len(m.b.Vertices)
	for _, p := range m.cut {
		t := min(max((shape.Across(p)-at-d0)/(d1-d0), 0), 1)
		m.vertex(p.X, p.Y, c.times(a0+t*(a1-a0)))
	}
	for i := 2; i < len(m.cut); i++ {
		m.tri(n, n+i-1, n+i)
	}
}
