// Package curves draws what recordings told of a recorder: the gain between the knob's
// marks, the noise against the gain, the limiter's law. The scene and the command's report
// draw them from the same data.
package curves

import (
	"fmt"
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim/identify"
	"gainwright/sounds/series"
)

// A Curve is one picture.
type Curve struct {
	Title string
	// Known tells whether there is something to draw.
	Known func(f *series.Found) bool
	// Draw draws it into a box, ground and all.
	Draw func(l *ink.List, th *ui.Theme, box ink.Rect, f *series.Found)
	// Words say what it shows.
	Words func(f *series.Found) string
}

// Gain, Noise and Limiter are the pictures there are.
var (
	Gain    = Curve{"Gain between the marks", knowsGain, drawGain, gainWords}
	Noise   = Curve{"Noise against gain", knowsNoise, drawNoise, noiseWords}
	Limiter = Curve{"The limiter's law", knowsLaw, drawLaw, lawWords}
)

// All are the pictures in the order that they are shown in.
var All = []Curve{Gain, Noise, Limiter}

// plot is a box with two linear axes.
type plot struct {
	l            *ink.List
	th           *ui.Theme
	r            ink.Rect
	x0, x1       float64
	y0, y1       float64
	tiny, tinyRt ink.Style
}

// begin draws ground, grid and names of the axes. The highest and lowest values are
// widened to whole steps.
func begin(l *ink.List, th *ui.Theme, box ink.Rect, x0, x1, y0, y1 float64, unit, below string) *plot {
	p := &plot{l: l, th: th, x0: x0, x1: x1, tiny: th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim), tinyRt: th.Style(ui.Tiny, ink.Regular, ink.Right, th.SayDim)}
	row := th.Row(ui.Tiny)
	most := max(2, int(box.H/(2.2*row)))
	step := 1.0
	for _, s := range []float64{3, 6, 10, 20, 40, 80} {
		if step = s; (y1-y0)/s < float64(most-1) {
			break
		}
	}
	p.y0, p.y1 = step*math.Floor(y0/step), step*math.Ceil(y1/step)
	if p.y1-p.y0 < step {
		p.y1 = p.y0 + step
	}
	gutter := float32(0)
	for y := p.y0; y <= p.y1+1e-9; y += step {
		gutter = max(gutter, ink.Measure(ui.Decimal(y, 0)+unit, p.tinyRt))
	}
	l.Fill(box, 5, th.Well)
	p.r = ink.Rect{X: box.X + gutter + 14, Y: box.Y + row*0.8, W: box.W - gutter - 28, H: box.H - 3.2*row}
	for y := p.y0; y <= p.y1+1e-9; y += step {
		at := p.y(y)
		l.Line(1, th.Grid, ink.Point{X: p.r.X, Y: at}, ink.Point{X: p.r.Right(), Y: at})
		l.TextIn(ink.Rect{X: box.X + 4, Y: at - row/2, W: gutter + 4, H: row}, ui.Decimal(y, 0)+unit, p.tinyRt)
	}
	l.TextIn(ink.Rect{X: p.r.X, Y: box.Bottom() - row*1.15, W: p.r.W, H: row}, ui.Fit(p.tiny, p.r.W, below), p.tiny)
	return p
}

func (p *plot) x(v float64) float32 {
	return p.r.X + float32((v-p.x0)/max(p.x1-p.x0, 1e-9))*p.r.W
}

func (p *plot) y(v float64) float32 {
	return p.r.Bottom() - float32((min(max(v, p.y0), p.y1)-p.y0)/(p.y1-p.y0))*p.r.H
}

// tick writes a word under the axis, unless it would lie over the one before, which ends
// at free; it gives where this one ends.
func (p *plot) tick(v float64, word string, free float32) float32 {
	w := ink.Measure(word, p.tiny)
	x := p.x(v)
	if x-w/2 < free {
		return free
	}
	row := p.th.Row(ui.Tiny)
	p.l.TextIn(ink.Rect{X: x - w/2, Y: p.r.Bottom() + row*0.25, W: w + 0.5, H: row}, word, p.tiny)
	return x + w/2 + 6
}

// curve draws a function between two places.
func (p *plot) curve(c ink.Color, width float32, from, to float64, f func(float64) float64) {
	const n = 120
	var pts []ink.Point
	for i := range n + 1 {
		v := from + (to-from)*float64(i)/n
		if i == n {
			v = to
		}
		if y := f(v); y >= p.y0-1e-9 && y <= p.y1+1e-9 {
			pts = append(pts, ink.Point{X: p.x(v), Y: p.y(y)})
		}
	}
	if len(pts) > 1 {
		p.l.Line(width, c, pts...)
	}
}

// dot draws a value with its interval.
func (p *plot) dot(v float64, e identify.Estimate, c ink.Color) {
	x := p.x(v)
	lo, hi := e.Low, e.High
	if !math.IsInf(lo, 0) && !math.IsNaN(lo) && hi > lo {
		p.l.Line(2, p.th.Say, ink.Point{X: x, Y: p.y(lo)}, ink.Point{X: x, Y: p.y(hi)})
	}
	p.l.Disc(ink.Point{X: x, Y: p.y(e.Value)}, 4, c)
}

func knowsGain(f *series.Found) bool { return len(f.Gains.Marks) > 1 }

func drawGain(l *ink.List, th *ui.Theme, box ink.Rect, f *series.Found) {
	m := f.Gains.Marks
	lo, hi := 0.0, 1.0
	for _, k := range m {
		lo, hi = min(lo, k.Gain.Low), max(hi, k.Gain.High)
	}
	p := begin(l, th, box, m[0].Mark, m[len(m)-1].Mark, lo, hi, " dB", "mark of the knob; gain over the lowest")
	p.curve(th.Signal, 2, p.x0, p.x1, f.Gains.At)
	free := box.X
	for _, k := range m {
		p.dot(k.Mark, k.Gain, th.Signal)
		free = p.tick(k.Mark, series.Mark(k.Mark), free)
	}
}

func gainWords(f *series.Found) string {
	if !knowsGain(f) {
		return "Not known."
	}
	s := "Gain over the lowest mark:"
	for i, k := range f.Gains.Marks {
		if i > 0 {
			s += ";"
		}
		s += fmt.Sprintf(" mark %s, %s", series.Mark(k.Mark), series.Within(k.Gain, "dB"))
	}
	return s + "."
}

func knowsNoise(f *series.Found) bool {
	for _, q := range f.Quiet {
		if !math.IsNaN(f.Gains.At(q.Mark)) && q.DBFS.Known() && q.DBFS.Value > -180 {
			return true
		}
	}
	return false
}

func drawNoise(l *ink.List, th *ui.Theme, box ink.Rect, f *series.Found) {
	x1 := f.Gains.Marks[len(f.Gains.Marks)-1].Gain.Value
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range f.Quiet {
		if q.DBFS.Known() && q.DBFS.Value > -180 {
			lo, hi = min(lo, q.DBFS.Value), max(hi, q.DBFS.Value)
		}
	}
	in, out := f.Noises.In.Value, f.Noises.Out.Value
	if f.Noises.Out.Known() {
		lo = min(lo, out)
	}
	p := begin(l, th, box, 0, max(x1, 1), lo-3, hi+3, " dBFS", "gain over the lowest mark, dB")
	free := box.X
	for v := 0.0; v <= p.x1+1e-9; v += 10 {
		free = p.tick(v, ui.Decimal(v, 0), free)
	}
	if f.Noises.In.Known() {
		p.curve(th.Noise, 1.5, 0, p.x1, func(g float64) float64 { return in + g })
	}
	if f.Noises.Out.Known() {
		p.curve(th.Noise, 1.5, 0, p.x1, func(float64) float64 { return out })
	}
	if f.Noises.In.Known() && f.Noises.Out.Known() {
		p.curve(th.Signal, 2, 0, p.x1, func(g float64) float64 {
			return 10 * math.Log10(math.Pow(10, (in+g)/10)+math.Pow(10, out/10))
		})
	}
	for _, q := range f.Quiet {
		if g := f.Gains.At(q.Mark); !math.IsNaN(g) && q.DBFS.Known() && q.DBFS.Value > -180 {
			p.dot(g, q.DBFS, th.Signal)
		}
	}
}

func noiseWords(f *series.Found) string {
	if !f.HasNoise() {
		return "Not known."
	}
	return fmt.Sprintf("Noise before the gain, at the lowest mark: %s. Noise after the gain: %s. Both add up along the curve.", series.Within(f.Noises.In, "dBFS"), series.Within(f.Noises.Out, "dBFS"))
}

func knowsLaw(f *series.Found) bool {
	return f.Limiter != nil && f.Limiter.Threshold.Known() && f.Limiter.Ratio.Known()
}

func drawLaw(l *ink.List, th *ui.Theme, box ink.Rect, f *series.Found) {
	q := f.Limiter
	top := 6.0
	if q.Ceiling.Found() {
		top = 20*math.Log10(q.Ceiling.Level) + 6
	}
	from := min(q.Threshold.Value-12, top-24)
	out := func(t, ratio float64) func(float64) float64 {
		return func(in float64) float64 { return in - max(0, in-t)*(1-1/ratio) }
	}
	p := begin(l, th, box, from, top, from, max(0, out(q.Threshold.High, q.Ratio.Low)(top)), " dBFS", "level with the limiter off, dBFS; with it on, less its gain")
	p.curve(th.Grid, 2, from, top, func(in float64) float64 { return min(in, p.y1) })
	// What the intervals leave open lies between two curves.
	const n = 60
	var pairs []ink.Point
	for i := range n + 1 {
		v := from + (top-from)*float64(i)/n
		hi, lo := out(q.Threshold.High, q.Ratio.Low)(v), out(q.Threshold.Low, q.Ratio.High)(v)
		pairs = append(pairs, ink.Point{X: p.x(v), Y: p.y(hi)}, ink.Point{X: p.x(v), Y: p.y(lo)})
	}
	band := th.Signal.Alpha(0.25)
	l.Strip(band, band, pairs...)
	p.curve(th.Signal, 2, from, top, out(q.Threshold.Value, q.Ratio.Value))
	free := box.X
	for v := 6 * math.Ceil(from/6); v <= top; v += 6 {
		free = p.tick(v, ui.Decimal(v, 0), free)
	}
}

func lawWords(f *series.Found) string {
	if !knowsLaw(f) {
		return "Not known."
	}
	s := ""
	for _, r := range series.TellLimiter(f.Limiter).Law[:2] {
		s += r.Name + " " + r.Value + "; "
	}
	return "Level with the limiter on against the level with it off: " + s + "the band is what the intervals leave open."
}
