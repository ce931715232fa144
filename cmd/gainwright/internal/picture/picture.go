package picture

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"

	"golang.org/x/image/font"
	"gonum.org/v1/plot"
	plotfont "gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"gainwright/sim"
	"gainwright/sim/say"
)

// Inks: the palette of Okabe and Ito, "Color Universal Design" (2008), which
// stays distinct in the common forms of colour blindness.
var (
	inkWave  = color.NRGBA{0, 114, 178, 255} // blue
	inkBand  = color.NRGBA{86, 180, 233, 255}
	inkLost  = color.NRGBA{213, 94, 0, 255} // vermilion
	inkLimit = color.NRGBA{230, 159, 0, 255}
	inkText  = color.NRGBA{30, 34, 40, 255}
	inkSoft  = color.NRGBA{105, 110, 118, 255}
	inkGrid  = color.NRGBA{226, 229, 233, 255}
	inkNoise = color.NRGBA{160, 164, 170, 255}
	inkTrue  = color.NRGBA{0, 0, 0, 255}
	inkPaper = color.NRGBA{255, 255, 255, 255}
)

// Mark is a word below the overview.
type Mark struct {
	AtS   float64
	Label string
}

// Sheet is all that a picture shows of one strip.
type Sheet struct {
	Title    string // of the scenario
	Strip    string
	Chain    sim.Chain
	Readings sim.Readings
	Levels   [sim.NumStations]sim.StationLevel
	Gather   *Gather
	Marks    []Mark
}

// Formats a picture can have.
const (
	PNG = "png"
	SVG = "svg"
)

const (
	width  = 13 * vg.Inch
	height = 9.2 * vg.Inch
	dpi    = 110
)

// Draw writes the sheet as "png" or "svg".
func Draw(w io.Writer, s *Sheet, format string) error {
	var in inlay
	return drawCanvas(w, func(c draw.Canvas) { s.paint(c, &in) }, format, &in)
}

// drawCanvas writes what paint draws, with what it then finds in the inlays over it.
func drawCanvas(w io.Writer, paint func(draw.Canvas), format string, over ...*inlay) error {
	switch format {
	case PNG:
		img := vgimg.NewWith(vgimg.UseWH(width, height), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(color.White))
		paint(draw.New(img))
		for _, in := range over {
			in.pixels(img.Image())
		}
		_, err := vgimg.PngCanvas{Canvas: img}.WriteTo(w)
		return err
	case SVG:
		img := vgsvg.New(width, height)
		paint(draw.New(img))
		var b bytes.Buffer
		if _, err := img.WriteTo(&b); err != nil {
			return err
		}
		// Any sans-serif does where the fonts the layout was measured with are
		// not installed.
		page := strings.ReplaceAll(b.String(), "font-family:Liberation Sans", "font-family:Liberation Sans, Arial, Helvetica")
		for _, in := range over {
			var err error
			if page, err = in.into(page); err != nil {
				return err
			}
		}
		_, err := io.WriteString(w, page)
		return err
	}
	return fmt.Errorf("no picture format %q: png or svg", format)
}

func style(size vg.Length, ink color.Color, bold bool) text.Style {
	f := plotfont.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
	if bold {
		f.Weight = font.WeightBold
	}
	return text.Style{Color: ink, Font: f, Handler: plot.DefaultTextHandler, XAlign: text.XLeft, YAlign: text.YCenter}
}

func at(s text.Style, x text.XAlignment, y text.YAlignment) text.Style {
	s.XAlign, s.YAlign = x, y
	return s
}

// paint lays the sheet out: a heading, the take, and below it the moment and the
// levels.
func (s *Sheet) paint(c draw.Canvas, over *inlay) {
	const m = 0.3 * vg.Inch
	in := draw.Crop(c, m, -m, m, -m)
	top := in.Max.Y
	c.FillText(at(style(17, inkText, true), text.XLeft, text.YTop), vg.Point{X: in.Min.X, Y: top}, fit(style(17, inkText, true), s.heading(), in.Max.X-in.Min.X))
	line, lost := s.summary()
	ink := inkText
	if lost {
		ink = inkLost
	}
	c.FillText(at(style(12, ink, lost), text.XLeft, text.YTop), vg.Point{X: in.Min.X, Y: top - 26}, fit(style(12, ink, lost), line, in.Max.X-in.Min.X))
	body := draw.Crop(in, 0, 0, 0, -54)
	half := (body.Max.Y - body.Min.Y) * 0.56
	s.take(panel(body, 0, half+20, body.Max.X-body.Min.X, body.Max.Y-body.Min.Y))
	w := body.Max.X - body.Min.X
	s.moment(panel(body, 0, 0, w*0.42, half))
	s.levels(panel(body, w*0.45, 0, w, half), over)
}

func panel(c draw.Canvas, x0, y0, x1, y1 vg.Length) draw.Canvas {
	c.Rectangle = vg.Rectangle{Min: vg.Point{X: c.Min.X + x0, Y: c.Min.Y + y0}, Max: vg.Point{X: c.Min.X + x1, Y: c.Min.Y + y1}}
	return c
}

// fit shortens a line to a width.
func fit(s text.Style, line string, w vg.Length) string {
	if s.Width(line) <= w {
		return line
	}
	r := []rune(line)
	for len(r) > 1 && s.Width(string(r)+"…") > w {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

func (s *Sheet) heading() string {
	if s.Title == "" {
		return "Strip " + s.Strip
	}
	return "Strip " + s.Strip + " · " + s.Title
}

// PlaceText says where the limiter sits, for people.
func PlaceText(c sim.Chain) string {
	switch {
	case c.InputLimiter.On && c.Limiter.On:
		return "limiters before and after the converter"
	case c.InputLimiter.On:
		return "limiter before the converter"
	case c.Limiter.On:
		return "limiter after the converter"
	}
	return "no limiter"
}

// DB writes a level with a real minus sign, "–" if there is none.
func DB(v float64, unit string) string {
	switch {
	case math.IsNaN(v):
		return "–"
	case math.IsInf(v, -1):
		return "−∞ " + unit
	case math.IsInf(v, 1):
		return "∞ " + unit
	}
	return say.Number("%.1f", v) + " " + unit
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// summary is the line below the heading, and whether something was lost.
func (s *Sheet) summary() (string, bool) {
	r := &s.Readings
	parts := []string{fmt.Sprintf("preamp gain %s", DB(s.Chain.Preamp.GainDB, "dB")), PlaceText(s.Chain), "peak " + DB(float64(r.PeakDBFS), "dBFS")}
	if r.Overs > 0 {
		parts = append(parts, fmt.Sprintf("%s at the converter, the longest %.2f ms: lost for good", plural(r.Overs, "over", "overs"), float64(r.LongestOverMS)))
	} else {
		parts = append(parts, fmt.Sprintf("no overs, %s left", DB(float64(r.HeadroomDB), "dB")))
	}
	if r.RailOvers > 0 {
		parts = append(parts, fmt.Sprintf("%d times at the preamp's rail", r.RailOvers))
	}
	if r.MicOverloadSamples > 0 {
		parts = append(parts, "microphone overloaded")
	}
	return strings.Join(parts, " · "), r.Overs > 0 || r.RailOvers > 0 || r.MicOverloadSamples > 0
}

// newPlot is an empty plot in our style.
func newPlot(x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle = at(style(10, inkSoft, false), text.XCenter, text.YTop)
		a.Tick.Label = style(9.5, inkSoft, false)
		a.LineStyle.Color, a.Tick.LineStyle.Color = inkNoise, inkNoise
		a.LineStyle.Width, a.Tick.LineStyle.Width = 0.7, 0.7
		a.Padding = 2
	}
	p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = text.XCenter, text.YTop
	p.Y.Tick.Label.XAlign, p.Y.Tick.Label.YAlign = text.XRight, text.YCenter
	p.X.Label.Text, p.Y.Label.Text = x, y
	p.Y.Label.TextStyle.YAlign = text.YBottom
	return p
}

// titled draws a panel's name and an explanation after it, and gives the room left.
func titled(c draw.Canvas, name, note string) draw.Canvas {
	b, n := style(12, inkText, true), style(10, inkSoft, false)
	c.FillText(at(b, text.XLeft, text.YTop), vg.Point{X: c.Min.X, Y: c.Max.Y}, name)
	x := c.Min.X + b.Width(name) + 10
	c.FillText(at(n, text.XLeft, text.YTop), vg.Point{X: x, Y: c.Max.Y - 1.5}, fit(n, note, c.Max.X-x))
	return draw.Crop(c, 0, 0, 0, -20)
}

// plotter is a function as a plot.Plotter.
type plotter func(c draw.Canvas, p *plot.Plot)

func (f plotter) Plot(c draw.Canvas, p *plot.Plot) { f(c, p) }

// Clock writes seconds as m:ss, or with tenths where steps are that fine.
func Clock(s float64) string {
	m := int(s) / 60
	if h := m / 60; h > 0 {
		return fmt.Sprintf("%d:%02d:%02d", h, m%60, int(s)%60)
	}
	return fmt.Sprintf("%d:%02d", m, int(s)%60)
}

// clockTenths writes seconds as m:ss.t.
func clockTenths(s float64) string {
	t := int(s * 10)
	return fmt.Sprintf("%d:%02d.%d", t/600, t/10%60, t%10)
}

func timeTicks(seconds float64) plot.ConstantTicks {
	step := 1.0
	for _, s := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200} {
		if step = s; seconds/s <= 14 {
			break
		}
	}
	var out plot.ConstantTicks
	for i := 0; ; i++ {
		t := float64(i) * step
		if t > seconds*1.0001 {
			return out
		}
		label := Clock(t)
		if step < 1 {
			label = fmt.Sprintf("%.1f s", t)
		}
		out = append(out, plot.Tick{Value: t, Label: label})
	}
}

// take draws the whole take.
func (s *Sheet) take(c draw.Canvas) {
	cols, per := s.Gather.Overview()
	rate := float64(s.Gather.rate)
	seconds := max(float64(s.Gather.Frames())/rate, 1/rate)
	most, overs := 1.0, 0
	for _, b := range cols {
		most = max(most, b.Hi, -b.Lo)
		if b.Over {
			overs++
			most = max(most, b.WantHi, -b.WantLo)
		}
	}
	note := "the file"
	if overs > 0 {
		note += "; hatched: what the converter could not hold; the marks on top show where"
	}
	c = titled(c, "The take", note)
	p := newPlot("", "full scale = 1")
	p.X.Min, p.X.Max = 0, seconds
	p.Y.Min, p.Y.Max = -most*1.06, most*1.06
	p.X.Tick.Marker = timeTicks(seconds)
	p.Y.Tick.Marker = linearTicks(most)
	span := func(p *plot.Plot, c *draw.Canvas, i int) (x0, x1 vg.Length) {
		x, _ := p.Transforms(c)
		x0 = x(float64(i*per) / rate)
		x1 = x(min(float64((i+1)*per)/rate, seconds))
		return x0, x1
	}
	p.Add(plotter(func(c draw.Canvas, p *plot.Plot) {
		_, y := p.Transforms(&c)
		for _, v := range []float64{0, -1, 1} {
			st := draw.LineStyle{Color: inkGrid, Width: 0.7}
			if v != 0 {
				st = draw.LineStyle{Color: inkLimit, Width: 1, Dashes: []vg.Length{4, 3}}
			}
			c.StrokeLine2(st, c.Min.X, y(v), c.Max.X, y(v))
		}
		// One closed shape for the wave: up along the tops, back along the bottoms.
		var up, down []vg.Point
		for i, b := range cols {
			x0, x1 := span(p, &c, i)
			hair := vg.Length(0.25)
			hi, lo := max(y(b.Hi), y(b.Lo)+hair), y(b.Lo)
			up = append(up, vg.Point{X: x0, Y: hi}, vg.Point{X: x1, Y: hi})
			down = append(down, vg.Point{X: x0, Y: lo}, vg.Point{X: x1, Y: lo})
		}
		for i := len(down) - 1; i >= 0; i-- {
			up = append(up, down[i])
		}
		c.FillPolygon(inkWave, up)
		// What lay beyond the ceiling; short stretches are widened to be seen.
		ceil := s.Gather.Moment().Ceiling
		marked := vg.Length(math.Inf(-1))
		for i := 0; i < len(cols); i++ {
			if !cols[i].Over {
				continue
			}
			j, hi, lo := i, ceil, -ceil
			for j < len(cols) && cols[j].Over {
				hi, lo = max(hi, cols[j].WantHi), min(lo, cols[j].WantLo)
				j++
			}
			x0, _ := span(p, &c, i)
			_, x1 := span(p, &c, j-1)
			if w := vg.Length(2.5); x1-x0 < w {
				mid := (x0 + x1) / 2
				x0, x1 = mid-w/2, mid+w/2
			}
			if hi > ceil {
				hatch(c, rectangle(x0, y(ceil), x1, y(hi)), inkLost, 2.6, 0.9)
			}
			if lo < -ceil {
				hatch(c, rectangle(x0, y(lo), x1, y(-ceil)), inkLost, 2.6, 0.9)
			}
			if mid := (x0 + x1) / 2; mid-marked > 5 {
				top := c.Max.Y
				c.FillPolygon(inkLost, []vg.Point{{X: mid - 3.2, Y: top + 4}, {X: mid + 3.2, Y: top + 4}, {X: mid, Y: top - 3}})
				marked = mid
			}
			i = j
		}
	}))
	foot := vg.Length(0)
	if len(s.Marks) > 0 {
		foot = 15
	}
	room := draw.Crop(c, 0, 0, foot, -5)
	p.Draw(room)
	if foot == 0 {
		return
	}
	data := p.DataCanvas(room)
	x, _ := p.Transforms(&data)
	st := at(style(9.5, inkText, false), text.XLeft, text.YBottom)
	free := data.Min.X - 100
	for _, m := range s.Marks {
		px := x(m.AtS)
		w := st.Width(m.Label)
		px = min(px, data.Max.X-w)
		if px < free {
			continue // no room: the first ones stay
		}
		c.FillText(st, vg.Point{X: px, Y: c.Min.Y}, m.Label)
		free = px + w + 12
	}
}

func linearTicks(most float64) plot.ConstantTicks {
	step := 0.5
	for most/step > 4 {
		step *= 2
	}
	var out plot.ConstantTicks
	for k := -math.Floor(most * 1.05 / step); k*step <= most*1.05; k++ {
		out = append(out, plot.Tick{Value: k * step, Label: say.Number("%g", k*step)})
	}
	return out
}

// moment draws the loudest moment at the converter.
func (s *Sheet) moment(c draw.Canvas) {
	m := s.Gather.Moment()
	lost := false
	most, conv := 0.0, 0.0
	for i := range m.True {
		most = max(most, math.Abs(m.True[i]), math.Abs(m.Conv[i]), math.Abs(m.Demand[i]))
		conv = max(conv, math.Abs(m.Conv[i]))
		lost = lost || math.Abs(m.Demand[i]) > m.Ceiling || m.Hot[i] != 0
	}
	note := "thin: what the talker did"
	if lost {
		note += "; hatched: lost"
	}
	c = titled(c, fmt.Sprintf("The loudest %d ms at the converter", MomentMS), note)
	p := newPlot(fmt.Sprintf("ms from %s on", clockTenths(float64(max(m.Start, 0))/float64(m.Rate))), "full scale = 1")
	if most == 0 {
		most = 1
	}
	if most > 0.35*m.Ceiling {
		most = max(most, m.Ceiling*1.02)
	}
	ms := 1000 / float64(m.Rate)
	p.X.Min, p.X.Max = 0, float64(len(m.True)-1)*ms
	p.Y.Min, p.Y.Max = -most*1.06, most*1.06
	p.X.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}, {Value: 2, Label: "2"}, {Value: 4, Label: "4"}, {Value: 6, Label: "6"}, {Value: 8, Label: "8"}, {Value: 10, Label: "10"}}
	if most > 0.4 {
		p.Y.Tick.Marker = linearTicks(most)
	}
	p.Add(plotter(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		c.StrokeLine2(draw.LineStyle{Color: inkGrid, Width: 0.7}, c.Min.X, y(0), c.Max.X, y(0))
		if m.Ceiling < most {
			dash := draw.LineStyle{Color: inkLimit, Width: 1, Dashes: []vg.Length{4, 3}}
			c.StrokeLine2(dash, c.Min.X, y(m.Ceiling), c.Max.X, y(m.Ceiling))
			c.StrokeLine2(dash, c.Min.X, y(-m.Ceiling), c.Max.X, y(-m.Ceiling))
		}
		pt := func(i int, v float64) vg.Point { return vg.Point{X: x(float64(i) * ms), Y: y(v)} }
		// Between what would have come without ceilings and what came, over each run
		// of loss and one sample to either side.
		bad := func(i int) bool { return math.Abs(m.Demand[i]) > m.Ceiling || m.Hot[i] != 0 }
		for i := 0; i < len(m.True); i++ {
			if !bad(i) {
				continue
			}
			j := i
			for j < len(m.True) && bad(j) && (m.True[j] >= 0) == (m.True[i] >= 0) {
				j++
			}
			a, b := max(i-1, 0), min(j, len(m.True)-1)
			var poly []vg.Point
			for k := a; k <= b; k++ {
				v := m.Want[k]
				if !bad(k) || math.Abs(v) < math.Abs(m.Conv[k]) {
					v = m.Conv[k]
				}
				poly = append(poly, pt(k, v))
			}
			for k := b; k >= a; k-- {
				poly = append(poly, pt(k, m.Conv[k]))
			}
			hatch(c, poly, inkLost, 3.2, 0.9)
			i = j - 1
		}
		var truth, got []vg.Point
		for i := range m.True {
			truth, got = append(truth, pt(i, m.True[i])), append(got, pt(i, m.Conv[i]))
		}
		c.StrokeLines(draw.LineStyle{Color: inkWave, Width: 2}, got)
		c.StrokeLines(draw.LineStyle{Color: inkTrue, Width: 0.7}, truth)
	}))
	p.Draw(c)
}
