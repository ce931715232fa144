// Package svg writes a draw list as an SVG picture (W3C Recommendation SVG 1.1,
// Second Edition), for handouts and reports: shapes as shapes, text as text that
// can be searched and read aloud, with a title and a description.
package svg

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"strconv"

	"gainwright/scenes/ink"
)

// Write writes the list as a document of the given size in dp. title names the
// picture, desc says in words what it shows; both are for those who do not see
// it. An empty desc is left out.
//
// The fade of a strip runs from its highest to its lowest point, where the other
// painters let it follow the curves.
func Write(w io.Writer, l *ink.List, size ink.Point, title, desc string) error {
	// A page may hold several pictures, and names in it are the page's: ours begin
	// with a hash of the picture.
	h := fnv.New32a()
	fmt.Fprint(h, title, desc, size, l.Ops, l.Pts)
	s := &writer{ids: make(map[string]string), prefix: fmt.Sprintf("g%08x", h.Sum32())}
	for i := range l.Ops {
		s.op(&l.Ops[i], l.Points(&l.Ops[i]))
	}
	for range s.depth {
		s.body.WriteString("</g>\n")
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" viewBox="0 0 %[1]s %[2]s" role="img" aria-labelledby="%st`, num(size.X), num(size.Y), s.prefix)
	if desc != "" {
		fmt.Fprintf(b, " %sd", s.prefix)
	}
	fmt.Fprintf(b, "\">\n<title id=\"%st\">%s</title>\n", s.prefix, escape(title))
	if desc != "" {
		fmt.Fprintf(b, "<desc id=\"%sd\">%s</desc>\n", s.prefix, escape(desc))
	}
	if s.defs.Len() > 0 {
		fmt.Fprintf(b, "<defs>\n%s</defs>\n", s.defs.Bytes())
	}
	b.Write(s.body.Bytes())
	b.WriteString("</svg>\n")
	return b.Flush()
}

type writer struct {
	defs, body bytes.Buffer
	ids        map[string]string // what a definition says, to its name
	prefix     string            // of the names
	depth      int               // open clips
}

// num writes a length to a hundredth of a dp; what is not a number is 0.
func num(v float32) string {
	f := math.Round(float64(v)*100) / 100
	if math.IsNaN(f) || math.IsInf(f, 0) || f == 0 {
		return "0"
	}
	return strconv.FormatFloat(f, 'f', -1, 64)
}

// escape makes text safe in content and attributes; characters that XML forbids
// become U+FFFD.
func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a bytes.Buffer takes everything
	return b.String()
}

func paint(what string, c ink.Color) string {
	name := what
	if what == "stop" {
		name = "stop-color"
	}
	p := fmt.Sprintf(` %s="#%02x%02x%02x"`, name, c.R, c.G, c.B)
	if c.A < 255 {
		p += fmt.Sprintf(` %s-opacity="%.3g"`, what, float64(c.A)/255)
	}
	return p
}

// define returns the name of a definition, made once; format has one %s for it.
func (s *writer) define(kind, format string, args ...any) string {
	text := fmt.Sprintf(format, args...)
	id, ok := s.ids[text]
	if !ok {
		id = fmt.Sprintf("%s%s%d", s.prefix, kind, len(s.ids))
		s.ids[text] = id
		fmt.Fprintf(&s.defs, text, id)
	}
	return id
}

func (s *writer) points(pts []ink.Point) {
	for i, p := range pts {
		if i > 0 {
			s.body.WriteByte(' ')
		}
		s.body.WriteString(num(p.X) + "," + num(p.Y))
	}
}

func rect(r ink.Rect, radius float32) string {
	t := fmt.Sprintf(`x="%s" y="%s" width="%s" height="%s"`, num(r.X), num(r.Y), num(max(r.W, 0)), num(max(r.H, 0)))
	if radius > 0 {
		t += fmt.Sprintf(` rx="%s"`, num(min(radius, r.W/2, r.H/2)))
	}
	return t
}

func (s *writer) op(op *ink.Op, pts []ink.Point) {
	b := &s.body
	switch op.Kind {
	case ink.KRect:
		fmt.Fprintf(b, "<rect %s%s/>\n", rect(op.Rect, op.Radius), paint("fill", op.Color))
	case ink.KFrame:
		fmt.Fprintf(b, "<rect %s fill=\"none\"%s stroke-width=\"%s\"/>\n", rect(op.Rect, op.Radius), paint("stroke", op.Color), num(op.Width))
	case ink.KLine:
		if len(pts) < 2 {
			return
		}
		b.WriteString(`<polyline points="`)
		s.points(pts)
		fmt.Fprintf(b, "\" fill=\"none\"%s stroke-width=\"%s\" stroke-linejoin=\"round\"/>\n", paint("stroke", op.Color), num(op.Width))
	case ink.KArc:
		s.arc(op)
	case ink.KPolygon:
		if len(pts) < 3 {
			return
		}
		b.WriteString(`<polygon points="`)
		s.points(pts)
		fmt.Fprintf(b, "\"%s/>\n", paint("fill", op.Color))
	case ink.KStrip, ink.KHatchStrip:
		s.strip(op, pts)
	case ink.KText:
		if len(pts) == 1 && op.Text != "" {
			s.text(op, pts[0])
		}
	case ink.KClip:
		id := s.define("c", "<clipPath id=\"%%s\"><rect %s/></clipPath>\n", rect(op.Rect, 0))
		fmt.Fprintf(b, "<g clip-path=\"url(#%s)\">\n", id)
		s.depth++
	case ink.KUnclip:
		if s.depth > 0 {
			s.depth--
			b.WriteString("</g>\n")
		}
	}
}

func (s *writer) arc(op *ink.Op) {
	r := float64(op.Rect.W / 2)
	c := op.Rect.Center()
	at := func(a float32) string {
		sin, cos := math.Sincos(float64(a))
		return num(c.X+float32(r*cos)) + " " + num(c.Y+float32(r*sin))
	}
	turn := op.A1 - op.A0
	sweep := 1
	if turn < 0 {
		sweep = 0
	}
	// An arc command cannot go all the way round: two halves can.
	mid := op.A0 + turn/2
	half := func(to float32) string {
		return fmt.Sprintf("A%s %[1]s 0 0 %d %s", num(float32(r)), sweep, at(to))
	}
	if math.Abs(float64(turn)) > 2*math.Pi {
		mid, op = op.A0+math.Pi, &ink.Op{A0: op.A0, A1: op.A0 + 2*math.Pi, Color: op.Color, Width: op.Width}
	}
	fmt.Fprintf(&s.body, "<path d=\"M%s%s%s\" fill=\"none\"%s stroke-width=\"%s\" stroke-linecap=\"round\"/>\n",
		at(op.A0), half(mid), half(op.A1), paint("stroke", op.Color), num(op.Width))
}

func (s *writer) strip(op *ink.Op, pts []ink.Point) {
	n := len(pts) / 2
	if n < 2 {
		return
	}
	outline := make([]ink.Point, 0, 2*n)
	top, bottom := pts[0].Y, pts[1].Y
	for i := range n {
		outline = append(outline, pts[2*i])
		top, bottom = min(top, pts[2*i].Y), max(bottom, pts[2*i+1].Y)
	}
	for i := n - 1; i >= 0; i-- {
		outline = append(outline, pts[2*i+1])
	}
	var fill string
	switch {
	case op.Kind == ink.KHatchStrip:
		if op.Gap <= 0 {
			return
		}
		// One tile of the hatching, turned by 45° so that x runs across the lines;
		// the line at 0 has a half at either end of it.
		ground := ""
		if op.Color2.A > 0 {
			// A little larger than the tile, or seams show.
			ground = fmt.Sprintf(`<rect x="-1" y="-1" width="%s" height="%[1]s"%s/>`, num(op.Gap+2), paint("fill", op.Color2))
		}
		id := s.define("h", `<pattern id="%%s" width="%s" height="%[1]s" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">%[2]s<path d="M0 0V%[1]sM%[1]s 0V%[1]s"%[3]s stroke-width="%[4]s"/></pattern>`+"\n",
			num(op.Gap), ground, paint("stroke", op.Color), num(op.Width))
		fill = fmt.Sprintf(` fill="url(#%s)"`, id)
	case op.Color == op.Color2:
		fill = paint("fill", op.Color)
	default:
		id := s.define("f", `<linearGradient id="%%s" gradientUnits="userSpaceOnUse" x1="0" y1="%s" x2="0" y2="%s"><stop offset="0"%s/><stop offset="1"%s/></linearGradient>`+"\n",
			num(top), num(bottom), paint("stop", op.Color), paint("stop", op.Color2))
		fill = fmt.Sprintf(` fill="url(#%s)"`, id)
	}
	s.body.WriteString(`<polygon points="`)
	s.points(outline)
	fmt.Fprintf(&s.body, "\"%s/>\n", fill)
}

func (s *writer) text(op *ink.Op, at ink.Point) {
	st := op.Style
	family := "Go, Verdana, sans-serif"
	if st.Font == ink.Mono {
		family = "Go Mono, monospace"
	}
	anchor := ""
	switch st.Align {
	case ink.Middle:
		anchor = ` text-anchor="middle"`
	case ink.Right:
		anchor = ` text-anchor="end"`
	}
	weight := ""
	if st.Font == ink.Bold {
		weight = ` font-weight="bold"`
	}
	// The layout was made with the Go faces' widths; whatever face the reader has
	// is brought to them.
	fmt.Fprintf(&s.body, "<text x=\"%s\" y=\"%s\" font-family=\"%s\" font-size=\"%s\"%s%s%s textLength=\"%s\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\">%s</text>\n",
		num(at.X), num(at.Y), family, num(st.Size), weight, anchor, paint("fill", op.Color), num(ink.Measure(op.Text, st)), escape(op.Text))
}
