package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"io"
	"strings"

	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"

	"gainwright/lessons/take"
	"gainwright/scenes/diagram"
	"gainwright/scenes/ink"
	"gainwright/scenes/lesson/still"
	"gainwright/scenes/raster"
	"gainwright/scenes/svg"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// An inlay is a draw list that lies on a page of plots, laid out in dp of the whole
// page: 96 to the inch, y down, where the page has 72 points to the inch and y up.
type inlay struct {
	list         ink.List
	title, words string // for those who do not see it
}

const pointsPerDP = 72.0 / 96

// box turns a part of the page into dp.
func box(r vg.Rectangle) ink.Rect {
	dp := func(v vg.Length) float32 { return float32(v / pointsPerDP) }
	return ink.Rect{X: dp(r.Min.X), Y: dp(height - r.Max.Y), W: dp(r.Max.X - r.Min.X), H: dp(r.Max.Y - r.Min.Y)}
}

// pixels paints the inlay on a page of pixels.
func (in *inlay) pixels(page draw.Image) {
	to, ok := page.(*image.RGBA)
	if !ok { // what a page of plots is made of is for its library to say
		to = image.NewRGBA(page.Bounds())
		draw.Draw(to, to.Rect, page, to.Rect.Min, draw.Src)
		defer func() { draw.Draw(page, to.Rect, to, to.Rect.Min, draw.Src) }()
	}
	raster.Onto(to, &in.list, dpi/96.0)
}

// into puts the inlay at the end of an SVG page.
func (in *inlay) into(page string) (string, error) {
	end := strings.LastIndex(page, "</svg>")
	if end < 0 {
		return "", fmt.Errorf("the page of plots does not end")
	}
	var b bytes.Buffer
	size := ink.Point{X: float32(width / pointsPerDP), Y: float32(height / pointsPerDP)}
	if err := svg.Write(&b, &in.list, size, in.title, in.words); err != nil {
		return "", err
	}
	return fmt.Sprintf("%s<g transform=\"scale(%g)\">\n%s</g>\n%s", page[:end], pointsPerDP, b.String(), page[end:]), nil
}

// levels lays the level diagram of the scene over its part of the page.
func (s *Sheet) levels(c vgdraw.Canvas, over *inlay) {
	const title = "Levels along the chain"
	c = titled(c, title, "dB re the converter's full scale; each value in its own unit")
	c.Max.Y -= 4
	th := ui.NewTheme(false, 1)
	d := diagram.Diagram{Fill: s.fill, Printed: true}
	d.Layout(&th, ink.Rect{}, box(c.Rectangle))
	d.Draw(&over.list, &th)
	over.title, over.words = title, d.Words(s.Strip)
}

// Bench draws the levels of a strip on which nothing has happened yet: what its stations
// can take and how they hiss; an SVG element.
func Bench(w io.Writer, strip string, c sim.Chain) error {
	th := ui.NewTheme(false, 1)
	size := ink.Point{X: 900, Y: 330}
	s := Sheet{Strip: strip, Chain: c, Gather: NewGather(rate)}
	d := diagram.Diagram{Fill: s.fill, Printed: true}
	var l ink.List
	d.Layout(&th, ink.Rect{}, ink.Rect{W: size.X, H: size.Y})
	d.Draw(&l, &th)
	return svg.Write(w, &l, size, "Strip "+strip+" of the bench", d.Words(strip))
}

// Still draws what a lesson's step shows, light, for screen and paper: an SVG element, and
// gives its title.
func Still(w io.Writer, what string, of *take.Still) (title string, err error) {
	th := ui.NewTheme(false, 1)
	size := ink.Point{X: 900}
	p := still.Picture{What: what, Of: of}
	size.Y = p.Height(&th, size.X)
	var l ink.List
	p.Layout(&th, ink.Rect{W: size.X, H: size.Y})
	p.Draw(&l, &th)
	return p.Title(), svg.Write(w, &l, size, p.Title(), p.Words())
}

// rate is that of a take that there is not.
const rate = 48000

// fill tells the diagram what the strip recorded: all of it is the take's own.
func (s *Sheet) fill(d *diagram.Data) {
	d.Chain, d.Whole = s.Chain, true
	for st := range sim.NumStations {
		l := s.Levels[st]
		d.Peak[st], d.RMS[st] = l.Peak, l.RMS
		d.Hold(st, l.Peak)
	}
	d.Demand, d.Truth = s.Levels[sim.AtConverter].Wanted, s.Gather.best
}
