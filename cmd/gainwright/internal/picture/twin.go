package picture

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"gainwright/sim/proof"
)

// Twin is a picture of two performances and the one file they leave.
type Twin struct {
	Title string
	Pair  *proof.Pair
	Rate  int
	// PerPa turns pressure at 1 m into the converter's full scale.
	PerPa float64
	// At is the sample around which the picture is drawn.
	At int
}

// Draw writes the picture as "png" or "svg".
func (t *Twin) Draw(w io.Writer, format string) error { return drawCanvas(w, t.paint, format) }

func (t *Twin) paint(c draw.Canvas) {
	const m = 0.3 * vg.Inch
	in := draw.Crop(c, m, -m, m, -m)
	top := in.Max.Y
	c.FillText(at(style(17, inkText, true), text.XLeft, text.YTop), vg.Point{X: in.Min.X, Y: top}, "Two performances, one file · "+t.Title)
	verdict := fmt.Sprintf("where the converter ran out, the levels are %.1f dB apart; the two recordings are equal in every one of %d samples", math.Abs(t.Pair.LevelDB), len(t.Pair.File))
	ink := inkText
	if !t.Pair.Same {
		verdict = fmt.Sprintf("the recordings differ in %d of %d samples", t.Pair.Differing, len(t.Pair.File))
		ink = inkLost
	}
	s := style(12, ink, true)
	c.FillText(at(s, text.XLeft, text.YTop), vg.Point{X: in.Min.X, Y: top - 25}, fit(s, verdict, in.Max.X-in.Min.X))
	in.Max.Y -= 52
	h := (in.Max.Y - in.Min.Y) / 3
	row := func(i int) draw.Canvas {
		return panel(c, in.Min.X, in.Max.Y-vg.Length(i+1)*h+8, in.Max.X, in.Max.Y-vg.Length(i)*h)
	}
	n := int(0.020 * float64(t.Rate))
	from := min(max(t.At-n/2, 0), max(len(t.Pair.File)-n, 0))
	to := min(from+n, len(t.Pair.File))
	most := 1.0
	for i := from; i < to; i++ {
		most = max(most, math.Abs(t.Pair.First[i])*t.PerPa, math.Abs(t.Pair.Second[i])*t.PerPa)
	}
	level := func(x []float64, k float64) func(int) float64 {
		return func(i int) float64 { return x[i] * k }
	}
	one, two, file := level(t.Pair.First, t.PerPa), level(t.Pair.Second, t.PerPa), level(t.Pair.File, 1)
	t.wave(row(0), "First performance", "what one talker did; hatched: beyond the ceiling", from, to, most, one, file)
	t.wave(row(1), "Second performance", "what another talker did", from, to, most, two, file)
	t.wave(row(2), "The file", "what either leaves behind, to the last bit", from, to, most, file, file)
}

// wave draws x over the moment and hatches what lies between it and the file.
func (t *Twin) wave(c draw.Canvas, name, note string, from, to int, most float64, x, file func(int) float64) {
	c = titled(c, name, note)
	p := newPlot("", "full scale = 1")
	ms := 1000 / float64(t.Rate)
	p.X.Min, p.X.Max = float64(from)*ms/1000, float64(to-1)*ms/1000
	p.Y.Min, p.Y.Max = -most*1.06, most*1.06
	p.Y.Tick.Marker = linearTicks(most)
	var ticks plot.ConstantTicks
	for k := math.Ceil(p.X.Min * 200); k/200 <= p.X.Max; k++ {
		ticks = append(ticks, plot.Tick{Value: k / 200, Label: fmt.Sprintf("%.3f s", k/200)})
	}
	p.X.Tick.Marker = ticks
	p.Add(plotter(func(c draw.Canvas, p *plot.Plot) {
		px, py := p.Transforms(&c)
		c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, c.Min.X, py(0), c.Max.X, py(0))
		for _, v := range []float64{1, -1} {
			c.StrokeLine2(draw.LineStyle{Color: inkLimit, Width: 1, Dashes: []vg.Length{4, 3}}, c.Min.X, py(v), c.Max.X, py(v))
		}
		pt := func(i int, v float64) vg.Point { return vg.Point{X: px(float64(i) * ms / 1000), Y: py(v)} }
		over := func(i int) bool { return math.Abs(x(i)) > 1 }
		for i := from; i < to; i++ {
			if !over(i) {
				continue
			}
			j := i
			for j < to && over(j) && x(j) > 0 == (x(i) > 0) {
				j++
			}
			edge := math.Copysign(1, x(i))
			var poly []vg.Point
			for k := max(i-1, from); k <= min(j, to-1); k++ {
				v := x(k)
				if !over(k) {
					v = edge
				}
				poly = append(poly, pt(k, v))
			}
			hatch(c, append(poly, pt(min(j, to-1), edge), pt(max(i-1, from), edge)), inkLost, 3.2, 0.9)
			i = j - 1
		}
		var line []vg.Point
		for i := from; i < to; i++ {
			line = append(line, pt(i, x(i)))
		}
		c.StrokeLines(draw.LineStyle{Color: inkWave, Width: 1.6}, line)
	}))
	p.Draw(c)
}
