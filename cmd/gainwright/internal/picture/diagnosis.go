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

// A Lane marks where one finding is, on a line of its own below the wave.
type Lane struct {
	Name  string
	Spans [][2]float64 // seconds
}

// A Zoom is a few milliseconds of the file.
type Zoom struct {
	Name, Note string
	StartS     float64
	X          []float64
	Level      float64 // of a ceiling, magnitude; 0 if there is none to draw
}

// Diagnosis is a picture of a recording: all of it, where the findings are, and
// the places they show best.
type Diagnosis struct {
	Title, Line string
	Rate        int
	Seconds     float64
	// Lo and Hi are the lowest and highest sample of equal parts of the recording.
	Lo, Hi []float64
	Lanes  []Lane
	Zooms  []Zoom // two at most
}

// Draw writes the picture as "png" or "svg".
func (d *Diagnosis) Draw(w io.Writer, format string) error { return drawCanvas(w, d.paint, format) }

func (d *Diagnosis) paint(c draw.Canvas) {
	in := heading(c, d.Title, d.Line)
	w, h := in.Max.X-in.Min.X, in.Max.Y-in.Min.Y
	zooms := d.Zooms[:min(len(d.Zooms), 2)]
	low := vg.Length(0)
	if len(zooms) > 0 {
		low = h * 0.42
	}
	laneH := vg.Length(20)
	lanes := laneH * vg.Length(len(d.Lanes))
	up := panel(in, 0, low+lanes+24, w, h)
	note := ""
	if len(d.Lanes) > 0 {
		note = "below it, where each finding was made"
	}
	p := d.wave()
	up = titled(up, "The recording", note)
	data := p.DataCanvas(up)
	p.Draw(up)
	for i, l := range d.Lanes {
		y := in.Min.Y + low + lanes + 14 - laneH*vg.Length(i+1)
		d.lane(c, l, data.Min.X, data.Max.X, y, y+laneH-5)
	}
	for i, z := range zooms {
		x0, x1 := vg.Length(0), w
		if len(zooms) == 2 {
			x0, x1 = w*0.52*vg.Length(i), w*(0.48+0.52*vg.Length(i))
		}
		z.paint(panel(in, x0, 0, x1, low-14), d.Rate)
	}
}

func (d *Diagnosis) wave() *plot.Plot {
	p := newPlot("", "full scale = 1")
	most := 0.0
	for i := range d.Lo {
		most = max(most, d.Hi[i], -d.Lo[i])
	}
	if most > 0.5 {
		most = max(most, 1)
	}
	if most == 0 {
		most = 1
	}
	p.X.Min, p.X.Max = 0, max(d.Seconds, 1e-3)
	p.Y.Min, p.Y.Max = -most*1.06, most*1.06
	p.X.Tick.Marker = timeTicks(p.X.Max)
	p.Y.Tick.Marker = linearTicks(most)
	p.Add(plotter(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		if most >= 1 {
			for _, v := range []float64{1, -1} {
				c.StrokeLine2(draw.LineStyle{Color: inkLimit, Width: 1, Dashes: []vg.Length{4, 3}}, c.Min.X, y(v), c.Max.X, y(v))
			}
		}
		n := len(d.Lo)
		if n == 0 {
			return
		}
		// One outline: there along the highest samples, back along the lowest.
		poly := make([]vg.Point, 0, 2*n+2)
		at := func(i int) vg.Length { return x(d.Seconds * (float64(i) + 0.5) / float64(n)) }
		hair := vg.Length(0.35)
		for i := range n {
			poly = append(poly, vg.Point{X: at(i), Y: y(d.Hi[i]) + hair})
		}
		for i := n - 1; i >= 0; i-- {
			poly = append(poly, vg.Point{X: at(i), Y: y(d.Lo[i]) - hair})
		}
		c.FillPolygon(inkWave, poly)
	}))
	return p
}

// lane draws the spans of a finding as hatched bars, at least a hair wide.
func (d *Diagnosis) lane(c draw.Canvas, l Lane, x0, x1, y0, y1 vg.Length) {
	s := style(9.5, inkText, false)
	width := float64(x1 - x0)
	c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, x0, (y0+y1)/2, x1, (y0+y1)/2)
	right := x0
	for _, sp := range l.Spans {
		a := x0 + vg.Length(width*min(max(sp[0]/d.Seconds, 0), 1))
		b := x0 + vg.Length(width*min(max(sp[1]/d.Seconds, 0), 1))
		b = max(b, a+2)
		hatch(c, rectangle(a, y0, b, y1), inkLost, 3.2, 0.9)
		right = max(right, b)
	}
	// The name stands where it hides nothing, else on a white ground.
	t := at(s, text.XLeft, text.YCenter)
	tw := s.Width(l.Name)
	x := right + 6
	if x+tw > x1 {
		x = x0 + 4
		c.FillPolygon(inkPaper, rectangle(x-3, y0, x+tw+3, y1))
	}
	c.FillText(t, vg.Point{X: x, Y: (y0 + y1) / 2}, l.Name)
}

func (z *Zoom) paint(c draw.Canvas, rate int) {
	c = titled(c, z.Name, z.Note)
	most := 0.0
	for _, v := range z.X {
		most = max(most, math.Abs(v))
	}
	if most == 0 {
		most = 1
	}
	ms := 1000 / float64(rate)
	p := newPlot(fmt.Sprintf("ms from %s on", clockTenths(z.StartS)), "full scale = 1")
	p.X.Min, p.X.Max = 0, max(float64(len(z.X)-1)*ms, ms)
	p.Y.Min, p.Y.Max = -most*1.15, most*1.15
	if most > 0.4 {
		p.Y.Tick.Marker = linearTicks(most)
	}
	p.Add(plotter(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, c.Min.X, y(0), c.Max.X, y(0))
		if z.Level > 0 {
			for _, v := range []float64{z.Level, -z.Level} {
				c.StrokeLine2(draw.LineStyle{Color: inkLimit, Width: 1, Dashes: []vg.Length{4, 3}}, c.Min.X, y(v), c.Max.X, y(v))
			}
		}
		line := make([]vg.Point, len(z.X))
		for i, v := range z.X {
			line[i] = vg.Point{X: x(float64(i) * ms), Y: y(v)}
		}
		c.StrokeLines(draw.LineStyle{Color: inkWave, Width: 1.6}, line)
		if len(z.X) < 700 {
			for _, q := range line {
				c.FillPolygon(inkWave, rectangle(q.X-1.3, q.Y-1.3, q.X+1.3, q.Y+1.3))
			}
		}
	}))
	p.Draw(c)
}
