package picture

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// A RepairZoom is a few milliseconds of a take before and after a repair, and of
// the truth if it is at hand. All begin at StartS.
type RepairZoom struct {
	Name   string
	StartS float64
	Before []float64
	After  []float64
	Truth  []float64 // nil if nobody knows it
}

// Repair is a picture of a recording before and after it was treated.
type Repair struct {
	Title, Line string
	Rate        int
	Seconds     float64
	// Lowest and highest sample of equal parts of the recording, before and after.
	Lo, Hi, AfterLo, AfterHi []float64
	Zooms                    []RepairZoom // two at most
}

// Draw writes the picture as "png" or "svg".
func (r *Repair) Draw(w io.Writer, format string) error { return drawCanvas(w, r.paint, format) }

func (r *Repair) paint(c draw.Canvas) {
	in := heading(c, r.Title, r.Line)
	w, h := in.Max.X-in.Min.X, in.Max.Y-in.Min.Y
	zooms := r.Zooms[:min(len(r.Zooms), 2)]
	low := vg.Length(0)
	if len(zooms) > 0 {
		low = h * 0.42
	}
	// One scale for both, so that they can be compared by eye.
	most := 0.0
	for _, x := range [][]float64{r.Lo, r.Hi, r.AfterLo, r.AfterHi} {
		for _, v := range x {
			most = max(most, math.Abs(v))
		}
	}
	mid := (low + h) / 2
	for i, x := range [][2][]float64{{r.Lo, r.Hi}, {r.AfterLo, r.AfterHi}} {
		up := panel(in, 0, mid+6, w, h)
		if i == 1 {
			up = panel(in, 0, low+16, w, mid-4)
		}
		d := &Diagnosis{Seconds: r.Seconds, Lo: x[0], Hi: x[1]}
		p := d.wave()
		if most > 0 {
			top := most
			if most > 0.5 {
				top = max(most, 1)
			}
			p.Y.Min, p.Y.Max = -top*1.06, top*1.06
			p.Y.Tick.Marker = linearTicks(top)
		}
		p.Draw(titled(up, []string{"Before", "After"}[i], ""))
	}
	for i, z := range zooms {
		x0, x1 := vg.Length(0), w
		if len(zooms) == 2 {
			x0, x1 = w*0.52*vg.Length(i), w*(0.48+0.52*vg.Length(i))
		}
		z.paint(panel(in, x0, 0, x1, low-10), r.Rate)
	}
}

func (z *RepairZoom) paint(c draw.Canvas, rate int) {
	c = titled(c, z.Name, "")
	most := 0.0
	for _, x := range [][]float64{z.Before, z.After, z.Truth} {
		for _, v := range x {
			most = max(most, math.Abs(v))
		}
	}
	if most == 0 {
		most = 1
	}
	ms := 1000 / float64(rate)
	p := newPlot(fmt.Sprintf("ms from %s on", clockTenths(z.StartS)), "full scale = 1")
	p.X.Min, p.X.Max = 0, max(float64(len(z.After)-1)*ms, ms)
	p.Y.Min, p.Y.Max = -most*1.1, most*1.35 // room for the key
	if most > 0.4 {
		p.Y.Tick.Marker = linearTicks(most)
	}
	p.Add(plotter(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, c.Min.X, y(0), c.Max.X, y(0))
		if most >= 1 {
			for _, v := range []float64{1, -1} {
				c.StrokeLine2(draw.LineStyle{Color: inkLimit, Width: 1, Dashes: []vg.Length{4, 3}}, c.Min.X, y(v), c.Max.X, y(v))
			}
		}
		key := c.Min.X + 6
		words := at(style(9.5, inkText, false), text.XLeft, text.YCenter)
		for _, l := range []struct {
			name string
			x    []float64
			line draw.LineStyle
		}{
			{"truth", z.Truth, draw.LineStyle{Color: inkTrue, Width: 1.1, Dashes: []vg.Length{1.5, 2}}},
			{"after", z.After, draw.LineStyle{Color: inkWave, Width: 1.6}},
			{"before", z.Before, draw.LineStyle{Color: inkLost, Width: 1.3, Dashes: []vg.Length{6, 3}}},
		} {
			if len(l.x) == 0 {
				continue
			}
			line := make([]vg.Point, len(l.x))
			for i, v := range l.x {
				line[i] = vg.Point{X: x(float64(i) * ms), Y: y(v)}
			}
			c.StrokeLines(l.line, line)
			// The key names each line beside a piece of it.
			c.StrokeLine2(l.line, key, c.Max.Y-8, key+26, c.Max.Y-8)
			c.FillText(words, vg.Point{X: key + 31, Y: c.Max.Y - 8}, l.name)
			key += 31 + words.Width(l.name) + 16
		}
	}))
	p.Draw(c)
}
