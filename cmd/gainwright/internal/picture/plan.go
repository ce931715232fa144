package picture

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"gainwright/sim/plan"
	"gainwright/sim/say"
)

// Plan is a picture of the two curves of a plan against gain: the chance of an
// over, and the noise after delivery.
type Plan struct {
	Title, Line string
	Curve       []plan.Point // in rising order of gain
	Window      plan.Window
	Limits      plan.Limits
	SuggestDB   float64 // NaN if nothing is suggested
	OwnDB       float64 // the gain that is set now
}

// Draw writes the picture as "png" or "svg".
func (p *Plan) Draw(w io.Writer, format string) error { return drawCanvas(w, p.paint, format) }

// heading writes a picture's title and the line below it and gives the room left.
func heading(c draw.Canvas, title, line string) draw.Canvas {
	const m = 0.3 * vg.Inch
	in := draw.Crop(c, m, -m, m, -m)
	big, small := style(17, inkText, true), style(12, inkText, false)
	w := in.Max.X - in.Min.X
	c.FillText(at(big, text.XLeft, text.YTop), vg.Point{X: in.Min.X, Y: in.Max.Y}, fit(big, title, w))
	c.FillText(at(small, text.XLeft, text.YTop), vg.Point{X: in.Min.X, Y: in.Max.Y - 26}, fit(small, line, w))
	return draw.Crop(in, 0, 0, 0, -54)
}

func (p *Plan) paint(c draw.Canvas) {
	in := heading(c, p.Title, p.Line)
	w, h := in.Max.X-in.Min.X, in.Max.Y-in.Min.Y
	up, down := panel(in, 0, h*0.46, w, h), panel(in, 0, 0, w, h*0.42)
	up = titled(up, "How likely is an over in the session?", "the band is the 95 % interval for the number of sessions simulated")
	down = titled(down, "What does headroom cost in noise?", fmt.Sprintf("noise after speech has been brought to %s", DB(p.Limits.DeliveryLUFS, "LUFS")))
	risk, noise := p.risk(), p.noise()
	// One gain above the other: the frames line up.
	a, b := risk.DataCanvas(up).Rectangle, noise.DataCanvas(down).Rectangle
	x0, x1 := max(a.Min.X, b.Min.X), min(a.Max.X, b.Max.X)
	risk.Draw(draw.Crop(up, x0-a.Min.X, x1-a.Max.X, 0, 0))
	noise.Draw(draw.Crop(down, x0-b.Min.X, x1-b.Max.X, 0, 0))
}

// leastRisk is the bottom of the risk axis.
const leastRisk = 1e-3

func percent(v float64) string { return strings.TrimSpace(fmt.Sprintf("%.3g %%", 100*v)) }

// gainAxis sets the range and ticks of the gain, each with what the meter holds of talk there.
func (p *Plan) gainAxis(pl *plot.Plot, meter bool) {
	lo, hi := p.Curve[0], p.Curve[len(p.Curve)-1]
	pl.X.Min, pl.X.Max = lo.GainDB, hi.GainDB
	step := 3.0
	for (hi.GainDB-lo.GainDB)/step > 16 {
		step *= 2
	}
	var ticks plot.ConstantTicks
	for g := math.Ceil(lo.GainDB/step) * step; g <= hi.GainDB+1e-9; g += step {
		label := say.Number("%g", g)
		if meter { // the meter goes up with the gain, decibel by decibel
			label = say.Number("%.0f", lo.HeldPeakDBFS+g-lo.GainDB)
		}
		ticks = append(ticks, plot.Tick{Value: g, Label: label})
	}
	pl.X.Tick.Marker = ticks
}

// ground draws what both panels share: the grid, where a limit is broken, and the
// gains of interest.
func (p *Plan) ground(c draw.Canvas, pl *plot.Plot, grid plot.ConstantTicks, words bool) {
	x, y := pl.Transforms(&c)
	for _, t := range grid {
		c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
	}
	cut := func(g float64) vg.Length { return min(max(x(min(max(g, -1e3), 1e3)), c.Min.X), c.Max.X) }
	lo, hi := cut(p.Window.LowDB), cut(p.Window.HighDB)
	// Hatched both ways where both limits are broken.
	if hi < c.Max.X {
		hatch(c, rectangle(hi, c.Min.Y, c.Max.X, c.Max.Y), faint(inkLost), 7, 0.6)
	}
	if lo > c.Min.X {
		c.FillPolygon(color.NRGBA{inkNoise.R, inkNoise.G, inkNoise.B, 60}, rectangle(c.Min.X, c.Min.Y, lo, c.Max.Y))
	}
	if words {
		st := at(style(10.5, inkText, true), text.XCenter, text.YTop)
		word := func(a, b vg.Length, s string) {
			if w := st.Width(s) + 8; b-a > w {
				mid := (a + b) / 2
				c.FillPolygon(color.White, rectangle(mid-w/2, c.Max.Y-19, mid+w/2, c.Max.Y-3))
				c.FillText(st, vg.Point{X: mid, Y: c.Max.Y - 5}, s)
			}
		}
		word(c.Min.X, min(lo, hi), "too noisy")
		word(max(lo, hi), c.Max.X, "too risky")
		if lo <= hi {
			word(lo, hi, "the gain window")
		} else {
			word(hi, lo, "both")
		}
	}
	for _, m := range []struct {
		g    float64
		name string
		ink  color.Color
	}{{p.SuggestDB, "suggested", inkWave}, {p.OwnDB, "set now", inkSoft}} {
		if math.IsNaN(m.g) || m.g < pl.X.Min || m.g > pl.X.Max {
			continue
		}
		c.StrokeLine2(draw.LineStyle{Color: m.ink, Width: 1.2, Dashes: []vg.Length{5, 3}}, x(m.g), c.Min.Y, x(m.g), c.Max.Y-22)
		if words {
			st := at(style(9.5, m.ink, false), text.XLeft, text.YTop)
			s := fmt.Sprintf("%s, %s", m.name, DB(m.g, "dB"))
			px := x(m.g) + 4
			if px+st.Width(s) > c.Max.X {
				px = x(m.g) - 4 - st.Width(s)
			}
			down := vg.Length(24)
			if m.name != "suggested" {
				down = 38
			}
			c.FillPolygon(color.White, rectangle(px-2, c.Max.Y-down-13, px+st.Width(s)+2, c.Max.Y-down+1))
			c.FillText(st, vg.Point{X: px, Y: c.Max.Y - down}, s)
		}
	}
}

func faint(c color.NRGBA) color.NRGBA { c.A = 90; return c }

func (p *Plan) risk() *plot.Plot {
	pl := newPlot("preamp gain, dB", "chance of an over")
	p.gainAxis(pl, false)
	pl.Y.Min, pl.Y.Max = math.Log10(leastRisk), 0
	var ticks plot.ConstantTicks
	for _, v := range []float64{0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1} {
		ticks = append(ticks, plot.Tick{Value: math.Log10(v), Label: percent(v)})
	}
	pl.Y.Tick.Marker = ticks
	pl.Add(plotter(func(c draw.Canvas, pl *plot.Plot) {
		p.ground(c, pl, ticks, true)
		x, y := pl.Transforms(&c)
		lg := func(v float64) vg.Length { return y(math.Log10(min(max(v, leastRisk), 1))) }
		var band, line []vg.Point
		for _, q := range p.Curve {
			band = append(band, vg.Point{X: x(q.GainDB), Y: lg(q.RiskHigh)})
			if q.Risk >= leastRisk {
				line = append(line, vg.Point{X: x(q.GainDB), Y: lg(q.Risk)})
			}
		}
		for i := len(p.Curve) - 1; i >= 0; i-- {
			band = append(band, vg.Point{X: x(p.Curve[i].GainDB), Y: lg(p.Curve[i].RiskLow)})
		}
		c.FillPolygon(inkBand, band)
		if len(line) > 1 {
			c.StrokeLines(draw.LineStyle{Color: inkWave, Width: 2.2}, line)
		}
		p.limit(c, lg(p.Limits.Risk), "accepted: "+percent(p.Limits.Risk), false)
	}))
	return pl
}

// limit draws a limit and its words, on the side where the curve is not.
func (p *Plan) limit(c draw.Canvas, y vg.Length, words string, right bool) {
	c.StrokeLine2(draw.LineStyle{Color: inkLimit, Width: 1.8}, c.Min.X, y, c.Max.X, y)
	st := at(style(9.5, inkText, false), text.XLeft, text.YBottom)
	x := c.Min.X + 9
	if right {
		x = c.Max.X - 9 - st.Width(words)
	}
	c.FillPolygon(color.White, rectangle(x-3, y+2, x+3+st.Width(words), y+15))
	c.FillText(st, vg.Point{X: x, Y: y + 3.5}, words)
}

func (p *Plan) noise() *plot.Plot {
	pl := newPlot("highest peak that the meter holds in a minute of talk at that gain, dBFS", "noise, LUFS")
	p.gainAxis(pl, true)
	lo, hi := p.Limits.NoiseLUFS, p.Limits.NoiseLUFS
	for _, q := range p.Curve {
		lo, hi = min(lo, q.NoiseLUFS), max(hi, q.NoiseLUFS)
	}
	lo, hi = math.Floor(lo/5)*5-1, min(math.Ceil(hi/5)*5+1, p.Limits.NoiseLUFS+30)
	pl.Y.Min, pl.Y.Max = lo, hi
	var ticks plot.ConstantTicks
	for v := math.Ceil(lo/5) * 5; v <= hi; v += 5 {
		ticks = append(ticks, plot.Tick{Value: v, Label: say.Number("%g", v)})
	}
	pl.Y.Tick.Marker = ticks
	pl.Add(plotter(func(c draw.Canvas, pl *plot.Plot) {
		p.ground(c, pl, ticks, false)
		x, y := pl.Transforms(&c)
		var line []vg.Point
		for _, q := range p.Curve {
			if q.NoiseLUFS <= hi {
				line = append(line, vg.Point{X: x(q.GainDB), Y: y(q.NoiseLUFS)})
			}
		}
		if len(line) > 1 {
			c.StrokeLines(draw.LineStyle{Color: inkWave, Width: 2.2}, line)
		}
		p.limit(c, y(p.Limits.NoiseLUFS), "accepted: "+DB(p.Limits.NoiseLUFS, "LUFS"), true)
	}))
	return pl
}

// Swings is a picture of which assumption moves the upper end of the gain window by
// how much.
type Swings struct {
	Title, Line string
	HeldDBFS    float64 // what the meter should hold, as planned
	Swings      []plan.Swing
}

// Draw writes the picture as "png" or "svg".
func (s *Swings) Draw(w io.Writer, format string) error { return drawCanvas(w, s.paint, format) }

// mostSwings fit on the picture.
const mostSwings = 14

func (s *Swings) paint(c draw.Canvas) {
	in := heading(c, s.Title, s.Line)
	in = titled(in, "Which assumption matters most?", "how far the reading to aim at moves when one assumption goes from its low to its high value")
	list := s.Swings[:min(len(s.Swings), mostSwings)]
	lo, hi := s.HeldDBFS, s.HeldDBFS
	for _, x := range list {
		for _, v := range []float64{x.LowDBFS, x.HighDBFS} {
			if !math.IsInf(v, 0) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	pad := max((hi-lo)*0.14, 1)
	pl := newPlot("highest peak that the meter should hold in a minute of talk, dBFS", "")
	pl.X.Min, pl.X.Max = lo-pad, hi+pad
	pl.Y.Min, pl.Y.Max = 0, float64(len(list))
	var ticks plot.ConstantTicks
	step := 1.0
	for (pl.X.Max-pl.X.Min)/step > 18 {
		step *= 2
	}
	for v := math.Ceil(pl.X.Min/step) * step; v <= pl.X.Max; v += step {
		ticks = append(ticks, plot.Tick{Value: v, Label: say.Number("%g", v)})
	}
	pl.X.Tick.Marker = ticks
	var names plot.ConstantTicks
	for i, x := range list {
		names = append(names, plot.Tick{Value: float64(len(list)-i) - 0.5, Label: x.Param.Name})
	}
	pl.Y.Tick.Marker = names
	pl.Y.Tick.Length = 0
	pl.Y.Tick.Label = at(style(10.5, inkText, false), text.XRight, text.YCenter)
	pl.Add(plotter(func(c draw.Canvas, pl *plot.Plot) {
		x, y := pl.Transforms(&c)
		for _, t := range ticks {
			c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, x(t.Value), c.Min.Y, x(t.Value), c.Max.Y)
		}
		clamp := func(v float64) vg.Length { return min(max(x(min(max(v, -1e3), 1e3)), c.Min.X), c.Max.X) }
		for i, sw := range list {
			mid := float64(len(list)-i) - 0.5
			y0, y1 := y(mid-0.33), y(mid+0.33)
			bar := func(v float64, ink color.NRGBA, hatched bool) {
				a, b := clamp(s.HeldDBFS), clamp(v)
				if a > b {
					a, b = b, a
				}
				if hatched {
					hatch(c, rectangle(a, y0, b, y1), ink, 3.4, 1)
					c.StrokeLines(draw.LineStyle{Color: ink, Width: 1}, append(rectangle(a, y0, b, y1), vg.Point{X: a, Y: y0}))
				} else {
					c.FillPolygon(ink, rectangle(a, y0, b, y1))
				}
			}
			bar(sw.LowDBFS, inkBand, false)
			bar(sw.HighDBFS, inkLost, true)
			label := func(v float64, of float64, other float64) {
				px, s0 := clamp(v), number(of, sw.Param.Unit)
				st := at(style(9.5, inkText, false), text.XLeft, text.YCenter)
				w := st.Width(s0)
				if v < other || v == other && of == sw.Param.Low {
					px -= w + 4
				} else {
					px += 4
				}
				px = min(max(px, c.Min.X), c.Max.X-w)
				c.FillText(st, vg.Point{X: px, Y: (y0 + y1) / 2}, s0)
			}
			label(sw.LowDBFS, sw.Param.Low, sw.HighDBFS)
			label(sw.HighDBFS, sw.Param.High, sw.LowDBFS)
		}
		c.StrokeLine2(draw.LineStyle{Color: inkText, Width: 1.4}, x(s.HeldDBFS), c.Min.Y, x(s.HeldDBFS), c.Max.Y)
	}))
	foot := vg.Length(26)
	pl.Draw(draw.Crop(in, 0, 0, foot, -4))
	st := at(style(10, inkSoft, false), text.XLeft, text.YBottom)
	key := vg.Point{X: in.Min.X, Y: in.Min.Y}
	c.FillPolygon(inkBand, rectangle(key.X, key.Y, key.X+22, key.Y+11))
	c.FillText(st, vg.Point{X: key.X + 27, Y: key.Y}, "with the low value")
	hatch(c, rectangle(key.X+150, key.Y, key.X+172, key.Y+11), inkLost, 3.4, 1)
	c.FillText(st, vg.Point{X: key.X + 177, Y: key.Y}, "with the high value; the values stand at the ends; the line is the plan as it is")
}

// number writes a value of an assumption with its unit.
func number(v float64, unit string) string {
	if unit == "" {
		return percent(v)
	}
	return say.Number("%g", math.Round(v*100)/100) + " " + unit
}
