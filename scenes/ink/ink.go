// Package ink is a draw list: a picture as plain data.
//
// A scene appends operations, a painter replays them. Three painters read the
// same list: the window's (ebiten), the software rasteriser's (exact pixels on
// a bare machine) and SVG. Nothing in here knows a screen.
//
// All lengths are device-independent pixels (dp), x to the right, y down.
// Colours are straight (not premultiplied) 8-bit sRGB with alpha.
package ink

// Color is a straight-alpha sRGB colour.
type Color struct{ R, G, B, A uint8 }

// RGB makes an opaque colour from 0xRRGGBB.
func RGB(hex uint32) Color {
	return Color{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

// Alpha returns c with its alpha replaced; a is clamped to 0..1.
func (c Color) Alpha(a float64) Color {
	c.A = uint8(min(max(a, 0), 1)*255 + 0.5)
	return c
}

// Mix returns the colour t of the way (0..1) from c to d, component by component.
func (c Color) Mix(d Color, t float64) Color {
	t = min(max(t, 0), 1)
	m := func(a, b uint8) uint8 { return uint8(float64(a) + (float64(b)-float64(a))*t + 0.5) }
	return Color{m(c.R, d.R), m(c.G, d.G), m(c.B, d.B), m(c.A, d.A)}
}

// Point is a place in dp.
type Point struct{ X, Y float32 }

// Rect is an axis-parallel rectangle in dp.
type Rect struct{ X, Y, W, H float32 }

// Contains reports whether p lies inside r (left and top edges included).
func (r Rect) Contains(p Point) bool {
	return p.X >= r.X && p.Y >= r.Y && p.X < r.X+r.W && p.Y < r.Y+r.H
}

// Inset returns r shrunk by d on every side.
func (r Rect) Inset(d float32) Rect { return Rect{r.X + d, r.Y + d, r.W - 2*d, r.H - 2*d} }

// Right and Bottom are the far edges; Center is the middle.
func (r Rect) Right() float32  { return r.X + r.W }
func (r Rect) Bottom() float32 { return r.Y + r.H }
func (r Rect) Center() Point   { return Point{r.X + r.W/2, r.Y + r.H/2} }

// Intersect returns the overlap of r and s, empty (zero size) if there is none.
func (r Rect) Intersect(s Rect) Rect {
	x0, y0 := max(r.X, s.X), max(r.Y, s.Y)
	x1, y1 := min(r.Right(), s.Right()), min(r.Bottom(), s.Bottom())
	if x1 <= x0 || y1 <= y0 {
		return Rect{x0, y0, 0, 0}
	}
	return Rect{x0, y0, x1 - x0, y1 - y0}
}

// Font names one of the embedded faces.
type Font uint8

// The faces a list may use. Mono is for numbers that change in place.
const (
	Regular Font = iota
	Bold
	Mono
)

// Align says which part of a text its x is.
type Align uint8

const (
	Left Align = iota
	Middle
	Right
)

// Style is how a text looks. Size is the em size in dp; scenes keep to a small
// fixed set of sizes because painters cache glyphs per size.
type Style struct {
	Size  float32
	Font  Font
	Align Align
	Color Color
}

// Kind is the kind of an operation.
type Kind uint8

const (
	// KRect fills Rect with Color; Radius rounds the corners.
	KRect Kind = iota
	// KFrame strokes the outline of Rect, Width wide, centred on the edge.
	KFrame
	// KLine strokes the polyline through Points, Width wide, round joins.
	KLine
	// KStrip fills between two curves: Points holds pairs (upper, lower), left to
	// right; Color at the upper curve fades to Color2 at the lower one.
	KStrip
	// KHatchStrip fills like KStrip with diagonal lines of Color (Width wide,
	// every Gap dp, measured square to the lines) over a ground of Color2.
	KHatchStrip
	// KPolygon fills the convex polygon through Points with Color.
	KPolygon
	// KArc strokes a circular arc: Rect's centre and W/2 as radius, from angle A0
	// to A1 in radians, clockwise, 0 pointing right; Width wide, round ends.
	KArc
	// KText writes Text with its baseline at Points[0].
	KText
	// KClip limits what follows to Rect (within any clip in force) until KUnclip.
	KClip
	KUnclip
)

// Op is one operation. Which fields count depends on Kind.
type Op struct {
	Kind          Kind
	Rect          Rect
	First, N      int // Points of this op: List.Pts[First : First+N]
	Color, Color2 Color
	Width, Radius float32
	Gap           float32
	A0, A1        float32
	Text          string
	Style         Style
	// Box tells a layout test the room a text may take; zero means unchecked.
	Box Rect
}

// List is a picture. Reset keeps the memory, so that a scene that draws every
// frame does not allocate.
type List struct {
	Ops []Op
	Pts []Point
}

// Reset empties the list.
func (l *List) Reset() { l.Ops, l.Pts = l.Ops[:0], l.Pts[:0] }

// Points are those of op, in the list's own memory.
func (l *List) Points(op *Op) []Point { return l.Pts[op.First : op.First+op.N] }

func (l *List) add(op Op, pts ...Point) {
	op.First, op.N = len(l.Pts), len(pts)
	l.Pts = append(l.Pts, pts...)
	l.Ops = append(l.Ops, op)
}

// Fill fills a rectangle, corners rounded by radius.
func (l *List) Fill(r Rect, radius float32, c Color) {
	l.add(Op{Kind: KRect, Rect: r, Radius: radius, Color: c})
}

// Frame strokes the outline of a rectangle.
func (l *List) Frame(r Rect, radius, width float32, c Color) {
	l.add(Op{Kind: KFrame, Rect: r, Radius: radius, Width: width, Color: c})
}

// Line strokes a polyline. The points are copied.
func (l *List) Line(width float32, c Color, pts ...Point) {
	l.add(Op{Kind: KLine, Width: width, Color: c}, pts...)
}

// Strip fills between curves given as pairs (upper, lower).
func (l *List) Strip(upper, lower Color, pairs ...Point) {
	l.add(Op{Kind: KStrip, Color: upper, Color2: lower}, pairs...)
}

// HatchStrip hatches between curves given as pairs (upper, lower).
func (l *List) HatchStrip(lines, ground Color, width, gap float32, pairs ...Point) {
	l.add(Op{Kind: KHatchStrip, Color: lines, Color2: ground, Width: width, Gap: gap}, pairs...)
}

// Hatch hatches a rectangle.
func (l *List) Hatch(r Rect, lines, ground Color, width, gap float32) {
	l.HatchStrip(lines, ground, width, gap,
		Point{r.X, r.Y}, Point{r.X, r.Bottom()}, Point{r.Right(), r.Y}, Point{r.Right(), r.Bottom()})
}

// Polygon fills a convex polygon.
func (l *List) Polygon(c Color, pts ...Point) { l.add(Op{Kind: KPolygon, Color: c}, pts...) }

// Disc fills a circle.
func (l *List) Disc(center Point, radius float32, c Color) {
	l.Fill(Rect{center.X - radius, center.Y - radius, 2 * radius, 2 * radius}, radius, c)
}

// Arc strokes a circular arc from a0 to a1 radians, clockwise, 0 to the right.
func (l *List) Arc(center Point, radius, a0, a1, width float32, c Color) {
	l.add(Op{Kind: KArc, Rect: Rect{center.X - radius, center.Y - radius, 2 * radius, 2 * radius},
		A0: a0, A1: a1, Width: width, Color: c})
}

// Text writes s with its baseline at (x, y).
func (l *List) Text(x, y float32, s string, st Style) {
	l.add(Op{Kind: KText, Text: s, Style: st, Color: st.Color}, Point{x, y})
}

// TextIn writes s inside box, vertically centred, aligned by st.Align; a text
// that is too wide is shortened with an ellipsis. The box is kept so that a
// layout test can check that nothing overlaps.
func (l *List) TextIn(box Rect, s string, st Style) {
	x := box.X
	switch st.Align {
	case Middle:
		x += box.W / 2
	case Right:
		x += box.W
	}
	s = Shorten(s, st, box.W)
	y := box.Y + (box.H+CapHeight(st))/2
	l.add(Op{Kind: KText, Text: s, Style: st, Color: st.Color, Box: box}, Point{x, y})
}

// Clip limits what follows to r until the matching Unclip.
func (l *List) Clip(r Rect) { l.add(Op{Kind: KClip, Rect: r}) }

// Unclip ends the innermost Clip.
func (l *List) Unclip() { l.add(Op{Kind: KUnclip}) }
