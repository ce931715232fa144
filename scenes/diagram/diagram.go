package diagram

import (
	"math"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// levelAxis is finer near the ceilings: what matters happens there.
var levelAxis = ui.Axis{{DB: -120, At: 0}, {DB: -60, At: 0.17}, {DB: -30, At: 0.37}, {DB: 0, At: 0.73}, {DB: 12, At: 0.87}, {DB: 40, At: 1}}

var levelTicks = [...]float64{24, 12, 6, 0, -6, -12, -20, -30, -40, -60, -80, -100}

const maxCols = int(sim.NumStations)

// column is one station of the diagram; levels in dB re full scale of the file.
type column struct {
	st            sim.Station
	live, rms     float64 // peak now, slow rms
	held          float64 // loudest peak
	noise         float64
	ceil          float64 // +Inf for none
	wanted        float64 // what came at the ceiling
	left          float64 // between the loudest and the converter's ceiling
	native        float64 // loudest peak in the station's unit
	x0, x, x1     float32
	ceilingText   [2]string
	floorText     [2]string
	name, long    string
	lost, turned  float64 // dB cut off, dB turned down
	overs, scarry bool
}

// Data is what a diagram shows. Peaks and rms are in the stations' units, what is
// held is full scale of the file = 1.
type Data struct {
	Chain sim.Chain
	// Peak and RMS are those of now; of a whole take, where there is no now, they are
	// the take's, and Whole is set.
	Peak, RMS [sim.NumStations]float64
	Whole     bool
	// Held is the largest peak at each station by the gains of that moment, Native the
	// same in the station's unit.
	Held, Native [sim.NumStations]float64
	// Demand is the largest that the converter was asked for, Truth that of the true
	// wave.
	Demand, Truth float64
	// OwnRoom is the rms of the noise that a learner's own voice brings along from the room
	// where it was recorded, Pa at 1 m; 0 of any other talker.
	OwnRoom float64
}

// Hold sets what a station held, in its unit, for the gains of the chain.
func (d *Data) Hold(st sim.Station, peak float64) {
	d.Native[st], d.Held[st] = peak, peak*sim.ToFullScale(d.Chain)[st]
}

// Diagram is the level from the talker's lips to the file.
type Diagram struct {
	// Fill sets what is shown.
	Fill func(*Data)
	// Title, and Subtitle for a width, head the diagram; without a title it has no head.
	Title    string
	Subtitle func(st ink.Style, width float32) string
	// Printed is a diagram of a whole take that nobody can point at: the noise at each
	// station stands below its level, and there is no key to what only changes.
	Printed bool
	// Opened has the stations' openers laid out anew; nil if nothing is opened.
	Opened func()

	data                                      Data
	Box                                       ink.Rect
	head, legend, plot, gutter, names, native ink.Rect
	bed                                       ink.Rect // a printed one's noise
	tall                                      bool     // units stand below their levels
	cols                                      [maxCols]column
	n                                         int
	tick                                      [len(levelTicks)]ui.Num
	nat                                       [maxCols]ui.Num
	ceil, floor                               [maxCols]ui.Num
	event                                     [maxCols]ui.Num
	up, lo                                    []ink.Point
	pairs                                     []ink.Point
	boxes                                     []ink.Rect
	laidFor                                   int // columns
}

// decibel is 20·log10, −∞ for 0.
func decibel(ratio float64) float64 { return float64(sim.ToDB(ratio)) }

// columns works out what the diagram shows.
func (d *Diagram) columns() []column {
	d.data = Data{}
	d.Fill(&d.data)
	sv, c := &d.data, d.data.Chain
	to := sim.ToFullScale(c)
	noise := sim.NoiseLevels(c)
	ceil := sim.Ceilings(c)
	d.n = 0
	for st := sim.AtTalker; st < sim.NumStations; st++ {
		if !st.In(c) {
			continue
		}
		k := &d.cols[d.n]
		d.n++
		*k = column{st: st, live: decibel(sv.Peak[st] * to[st]), rms: decibel(sv.RMS[st] * to[st]),
			held: decibel(sv.Held[st]), native: sv.Native[st], noise: decibel(noise[st] * to[st]), ceil: math.Inf(1)}
		if st == sim.AtTalker && sv.OwnRoom > 0 {
			k.noise = decibel(sv.OwnRoom * to[st]) // at this station only: the others' is the simulation's
		}
		if sv.Whole {
			k.live = k.held
		}
		k.wanted = k.held
		switch st {
		case sim.AtMicOut, sim.AtPreamp, sim.AtConverter:
			k.ceil = decibel(ceil[st] * to[st])
		case sim.AtInputLimiter:
			k.ceil = c.InputLimiter.ThresholdDBFS
		case sim.AtLimiter:
			k.ceil = c.Limiter.ThresholdDBFS
		case sim.AtFile:
			if !math.IsInf(ceil[st], 1) {
				k.ceil = decibel(ceil[st])
			}
		}
	}
	// Follow the loudest moment along: where it meets a hard ceiling, what is
	// above is lost; a limiter turns down.
	came := decibel(sv.Truth)
	scar := false
	for i := range d.cols[:d.n] {
		k := &d.cols[i]
		switch k.st {
		case sim.AtMicOut, sim.AtPreamp:
			if came > k.ceil+0.05 && k.held > k.ceil-1 {
				k.lost, k.wanted, scar = came-k.held, came, true
			}
			came = k.held
		case sim.AtInputLimiter:
			k.turned = max(0, came-k.held)
			came = k.held
		case sim.AtConverter:
			came = decibel(sv.Demand)
			k.left = k.ceil - came
			if came > k.ceil {
				k.lost, k.wanted, scar = came-k.ceil, came, true
			}
			came = min(came, k.ceil)
		case sim.AtLimiter:
			k.turned = max(0, came-k.held)
		}
		k.scarry = scar
	}
	return d.cols[:d.n]
}

// Draw draws the level from the talker's lips to the file on one axis:
// each station's level is moved by the gains between it and the file, so that
// the band runs level wherever nothing but gain happens, and the gain moves the
// band against the ceilings behind it.
func (d *Diagram) Draw(l *ink.List, th *ui.Theme) {
	d.drawHead(l, th)
	cols := d.columns()
	if len(cols) != d.laidFor && d.Opened != nil {
		d.Opened()
	}
	p := d.plot
	if p.H < 20 || len(cols) == 0 {
		return
	}
	w := p.W / float32(len(cols))
	for i := range cols {
		k := &cols[i]
		k.x0, k.x1 = p.X+float32(i)*w, p.X+float32(i+1)*w
		k.x = (k.x0 + k.x1) / 2
	}
	y := func(db float64) float32 { return levelAxis.Y(p, db) }
	l.Fill(ink.Rect{X: p.X, Y: p.Y, W: p.W, H: p.H}, 4, th.Well)
	d.drawAxis(l, th, p)
	l.Clip(p)
	for i := 1; i < len(cols); i++ {
		l.Line(1, th.Grid.Alpha(0.6), ink.Point{X: cols[i].x0, Y: p.Y}, ink.Point{X: cols[i].x0, Y: p.Bottom()})
	}
	bottom := func(*column) float32 { return p.Bottom() }
	noise := func(k *column) float32 { return y(k.noise) }
	rms := func(k *column) float32 { return min(y(k.rms), noise(k)) }
	live := func(k *column) float32 { return min(y(k.live), rms(k)) }
	held := func(k *column) float32 { return min(y(k.held), live(k)) }
	d.between(l, cols, noise, bottom, th.Noise.Alpha(0.55), th.Noise.Alpha(0.3))
	d.between(l, cols, rms, noise, th.Signal.Alpha(0.16), th.Signal.Alpha(0.06))
	d.between(l, cols, held, live, th.Signal.Alpha(0.26), th.Signal.Alpha(0.26))
	d.between(l, cols, live, rms, th.Signal.Alpha(0.95), th.Signal.Alpha(0.5))
	d.up = d.curve(d.up[:0], cols, held)
	l.Line(1.6, th.SaySignal, d.up...)
	d.drawLost(l, th, cols, y)
	for i := range cols {
		k := &cols[i]
		if math.IsInf(k.ceil, 1) {
			continue
		}
		yy := max(y(k.ceil), p.Y+1.5)
		l.Line(2.6, th.Ceiling, ink.Point{X: k.x0 + 7, Y: yy}, ink.Point{X: k.x1 - 7, Y: yy})
		if k.ceil > levelAxis[len(levelAxis)-1].DB { // beyond the picture
			l.Polygon(th.Ceiling, ink.Point{X: k.x - 5, Y: p.Y + 9}, ink.Point{X: k.x, Y: p.Y + 3}, ink.Point{X: k.x + 5, Y: p.Y + 9})
		}
	}
	l.Unclip()
	d.drawLabels(l, th, cols, y)
	d.drawNames(l, th, cols)
}

func (d *Diagram) drawAxis(l *ink.List, th *ui.Theme, p ink.Rect) {
	st := th.Style(ui.Tiny, ink.Regular, ink.Right, th.SayDim)
	row := th.DP(ui.Tiny) * 1.25
	last := p.Y - row
	for i, t := range levelTicks {
		yy := levelAxis.Y(p, t)
		if yy-last < row || yy > p.Bottom()-row/2 {
			continue
		}
		last = yy
		l.Line(1, th.Grid, ink.Point{X: p.X, Y: yy}, ink.Point{X: p.Right(), Y: yy})
		pre, s := "", st
		if t > 0 {
			pre = "+"
		}
		if t == 0 {
			s.Font, s.Color = ink.Bold, th.Say
		}
		l.TextIn(ink.Rect{X: d.gutter.X, Y: yy - row/2, W: d.gutter.W - 6, H: row}, d.tick[i].Text(pre, t, 0, ""), s)
	}
}

// smoothing is how wide, in dp, the band takes to go from one station's level
// to the next one's.
const smoothing = 18

// each calls f for the points along x at which curves are drawn: t of the way
// from column i−1 to i.
func each(cols []column, f func(x float32, i int, t float32)) {
	f(cols[0].x0, 0, 1)
	for i := 1; i < len(cols); i++ {
		for n := range 9 {
			t := float32(n) / 8
			f(cols[i].x0+(t-0.5)*smoothing, i, t*t*(3-2*t))
		}
	}
	f(cols[len(cols)-1].x1, len(cols)-1, 1)
}

func mixed(cols []column, i int, t float32, v func(*column) float32) float32 {
	b := v(&cols[i])
	if t >= 1 || i == 0 {
		return b
	}
	a := v(&cols[i-1])
	return a + (b-a)*t
}

func (d *Diagram) curve(dst []ink.Point, cols []column, v func(*column) float32) []ink.Point {
	each(cols, func(x float32, i int, t float32) { dst = append(dst, ink.Point{X: x, Y: mixed(cols, i, t, v)}) })
	return dst
}

func (d *Diagram) between(l *ink.List, cols []column, upper, lower func(*column) float32, a, b ink.Color) {
	d.up, d.lo = d.curve(d.up[:0], cols, upper), d.curve(d.lo[:0], cols, lower)
	d.pairs = d.pairs[:0]
	for i := range d.up {
		d.pairs = append(d.pairs, d.up[i], d.lo[i])
	}
	l.Strip(a, b, d.pairs...)
}

// drawLost hatches what was cut off at each ceiling, and scars the upper edge
// from there on.
func (d *Diagram) drawLost(l *ink.List, th *ui.Theme, cols []column, y func(float64) float32) {
	for i := range cols {
		k := &cols[i]
		if k.lost < 0.05 {
			continue
		}
		top := max(y(k.wanted), d.plot.Y)
		d.pairs = d.pairs[:0]
		from := 0
		each(cols, func(x float32, at int, t float32) {
			if at == i && (i > 0 || from == 0) {
				d.pairs = append(d.pairs, ink.Point{X: x, Y: top},
					ink.Point{X: x, Y: mixed(cols, at, t, func(c *column) float32 { return max(y(c.held), top) })})
			}
		})
		d.pairs = append(d.pairs, ink.Point{X: k.x1 - 6, Y: top}, ink.Point{X: k.x1 - 6, Y: y(min(k.held, k.ceil))})
		l.HatchStrip(th.Lost, th.Lost.Alpha(0.22), 2, 6, d.pairs...)
		l.Line(1.4, th.Lost, ink.Point{X: k.x0 - smoothing/2, Y: top}, ink.Point{X: k.x1 - 6, Y: top}, ink.Point{X: k.x1 - 6, Y: y(min(k.held, k.ceil))})
	}
	// The scar: a zigzag on the edge of the band.
	d.up = d.up[:0]
	step, n := float32(4.5), 0
	for i := range cols {
		k := &cols[i]
		if !k.scarry {
			continue
		}
		x := k.x0 + smoothing/2
		if k.lost >= 0.05 {
			x = k.x0 + smoothing/2
		}
		end := k.x1 - smoothing/2
		if i == len(cols)-1 {
			end = k.x1
		}
		base := y(k.held)
		if n > 0 { // over the step between two stations
			prev := d.up[len(d.up)-1]
			d.up = append(d.up, ink.Point{X: (prev.X + x) / 2, Y: (prev.Y + base) / 2})
		}
		for ; x <= end; x += step {
			o := float32(1)
			if n%2 == 1 {
				o = 6
			}
			n++
			d.up = append(d.up, ink.Point{X: x, Y: base + o})
		}
	}
	if len(d.up) > 1 {
		l.Line(1.8, th.Lost, d.up...)
	}
}

// label places a box of the given height into column k: at the first of the
// heights ys that collides with nothing.
func (d *Diagram) place(k *column, h float32, ys ...float32) (ink.Rect, bool) {
	p := d.plot
	for _, yy := range ys {
		b := ink.Rect{X: k.x0 + 3, Y: min(max(yy, p.Y+2), p.Bottom()-h-2), W: k.x1 - k.x0 - 6, H: h}
		free := true
		for _, o := range d.boxes {
			if b.Y < o.Bottom() && o.Y < b.Bottom() && b.X < o.Right() && o.X < b.Right() {
				free = false
				break
			}
		}
		if free {
			d.boxes = append(d.boxes, b)
			return b, true
		}
	}
	return ink.Rect{}, false
}

// plate puts a quiet ground under words that lie on the picture.
func plate(l *ink.List, th *ui.Theme, b ink.Rect, w float32) {
	l.Fill(ink.Rect{X: b.X + (b.W-w)/2 - 4, Y: b.Y, W: w + 8, H: b.H}, 3, th.Well.Alpha(0.78))
}

func (d *Diagram) words(l *ink.List, th *ui.Theme, b ink.Rect, row float32, st ink.Style, lines ...string) {
	var w float32
	for _, s := range lines {
		w = max(w, ink.Measure(s, st))
	}
	plate(l, th, b, min(w, b.W-8))
	b.H = row
	for _, s := range lines {
		if s != "" {
			l.TextIn(b, s, st)
			b.Y += row
		}
	}
}

// figure is a level with its unit: in one line where column k has room for it, else
// in two.
func figure(k *column, st ink.Style, level string) (one, two string) {
	if ink.Measure(level, st) <= k.x1-k.x0-6 {
		return level, ""
	}
	one, two, _ = strings.Cut(level, " ")
	return one, two
}

// noted writes what a ceiling or a floor is called and where it lies, at the first of
// the heights that at gives for so many lines.
func (d *Diagram) noted(l *ink.List, th *ui.Theme, k *column, row float32, st ink.Style, name, level string, at func(h float32) [7]float32) {
	one, two := figure(k, st, level)
	if s := briefly[name]; s != "" {
		name = ui.Fit(st, k.x1-k.x0-6, name, s)
	}
	h := 2 * row
	if two != "" {
		h = 3 * row
	}
	ys := at(h)
	if b, ok := d.place(k, h, ys[:]...); ok {
		d.words(l, th, b, row, st, name, one, two)
	}
}

func (d *Diagram) drawLabels(l *ink.List, th *ui.Theme, cols []column, y func(float64) float32) {
	d.boxes = d.boxes[:0]
	c := d.data.Chain
	tiny := th.DP(ui.Tiny) * 1.22
	small := th.DP(ui.Small) * 1.22
	for i := range cols {
		if k := &cols[i]; !math.IsInf(k.ceil, 1) {
			d.boxes = append(d.boxes, ink.Rect{X: k.x0 + 7, Y: max(y(k.ceil), d.plot.Y) - 2, W: k.x1 - k.x0 - 14, H: 4})
			if k.ceil > levelAxis[len(levelAxis)-1].DB {
				d.boxes = append(d.boxes, ink.Rect{X: k.x - 5, Y: d.plot.Y + 3, W: 10, H: 6})
			}
		}
	}
	heard := d.data.Truth > 1e-5
	if heard {
		for i := range cols {
			d.drawEvent(l, th, &cols[i], i, small, y)
		}
	}
	for i := range cols {
		k := &cols[i]
		if math.IsInf(k.ceil, 1) {
			continue
		}
		st := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayCeiling)
		name, val := d.ceilingWords(i, k, c)
		yy := max(y(k.ceil), d.plot.Y+2)
		d.noted(l, th, k, tiny, st, name, val, func(h float32) [7]float32 {
			up := yy - h - 3
			if k.lost >= 0.05 || up < d.plot.Y {
				up = yy + 4
			}
			return [7]float32{up, yy + 4, yy - h - 3, yy + 4 + tiny, yy + 4 + 2*tiny, yy + 4 + 3*tiny, yy + 4 + 4*tiny}
		})
	}
	for i := range cols {
		k := &cols[i]
		name, val := d.floorWords(i, k, c)
		if name == "" {
			continue
		}
		st := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayNoise)
		yy := y(k.noise)
		d.noted(l, th, k, tiny, st, name, val, func(h float32) [7]float32 {
			below, above := yy+3, yy-h-2
			return [7]float32{below, above, above - tiny, below, below, below, below}
		})
	}
}

// drawEvent says what happens at a station: cut off, turned down, room left.
func (d *Diagram) drawEvent(l *ink.List, th *ui.Theme, k *column, i int, row float32, y func(float64) float32) {
	st := th.Style(ui.Small, ink.Bold, ink.Middle, th.SayGood)
	width := k.x1 - k.x0 - 14
	if ink.Measure("88.8 dB down", st) > width {
		st.Size = th.DP(ui.Tiny)
	}
	// A narrow column has the number on one line and what it is on the next.
	narrow := ink.Measure("88.8 dB down", st) > width
	var v float64
	var what, two string
	at := y(k.ceil) + 5
	above := false
	switch {
	case k.lost >= 0.05:
		st.Color = th.SayLost
		v, what = k.lost, "over"
		two = ui.Fit(st, width, "lost for good", "lost")
		at, above = y(k.wanted)-3, true
	case k.turned >= 0.05:
		st.Color = th.Say
		v, what = k.turned, "down"
		two = ui.Fit(st, width, "still whole", "whole")
		if k.scarry {
			st.Color = th.SayLost
			two = ui.Fit(st, width, "but already flat", "already flat", "still flat", "flat")
		}
		at, above = min(y(k.held), y(k.ceil))-4, true
	case k.st == sim.AtConverter && !math.IsInf(k.ceil, 1):
		v, what = k.left, "left"
	case k.st == sim.AtFile && k.scarry:
		st.Color = th.SayLost
		one := ui.Fit(st, width, "flat tops stay", "still flat", "flat")
		top := y(k.held)
		if b, ok := d.place(k, row, min(top, y(k.ceil))-row-4, top+9, top+9+row); ok {
			d.words(l, th, b, row, st, one, "")
		}
		return
	default:
		return
	}
	var one string
	if narrow {
		digits := 1
		if ink.Measure("88.8 dB", st) > width {
			digits = 0
		}
		one = d.event[i].Text("", v, digits, " dB")
		switch {
		case k.scarry && k.lost < 0.05:
			two = ui.Fit(st, width, what+", flat", what)
		default:
			two = what
		}
	} else {
		one = d.event[i].Text("", v, 1, eventUnit(what))
	}
	h := row
	if two != "" {
		h = 2 * row
	}
	if above {
		if at -= h; at < d.plot.Y+2 && k.lost >= 0.05 {
			at = y(k.wanted) + 3
		}
	}
	if b, ok := d.place(k, h, at, y(k.held)+10, y(k.held)+10+row, y(k.held)-h-6); ok {
		d.words(l, th, b, row, st, one, two)
	}
}

func (d *Diagram) drawNames(l *ink.List, th *ui.Theme, cols []column) {
	if d.Printed {
		d.drawBed(l, th, cols)
	}
	for i := range cols {
		k := &cols[i]
		st := th.Style(ui.Small, ink.Bold, ink.Middle, th.Say)
		b := ink.Rect{X: k.x0 + 2, Y: d.names.Y, W: k.x1 - k.x0 - 4, H: d.names.H}
		l.TextIn(b, ui.Fit(st, b.W, k.st.Columns()...), st)
		b.Y, b.H = d.native.Y, d.native.H
		st = th.Style(ui.Small, ink.Regular, ink.Middle, th.SaySignal)
		level := d.level(&d.nat[i], k)
		if d.tall {
			st.Size = th.DP(ui.Tiny)
			one, two, _ := strings.Cut(level, " ")
			b.H /= 2
			l.TextIn(b, one, st)
			b.Y += b.H
			l.TextIn(b, two, st)
			continue
		}
		if ink.Measure(level, st) > b.W {
			st.Size = th.DP(ui.Tiny)
		}
		l.TextIn(b, level, st)
	}
}

// drawBed writes how much noise there is by each station, in its unit, and names the
// two rows of figures.
func (d *Diagram) drawBed(l *ink.List, th *ui.Theme, cols []column) {
	st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SaySignal)
	l.TextIn(ink.Rect{X: d.gutter.X, Y: d.native.Y, W: d.gutter.W, H: d.native.H}, "peak", st)
	st.Color = th.SayNoise
	l.TextIn(ink.Rect{X: d.gutter.X, Y: d.bed.Y, W: d.gutter.W, H: d.bed.H}, "noise", st)
	st.Align = ink.Middle
	noise := sim.NoiseLevels(d.data.Chain)
	for i := range cols {
		k := &cols[i]
		if noise[k.st] == 0 {
			continue
		}
		q := k.st.Quantity()
		l.TextIn(ink.Rect{X: k.x0 + 1, Y: d.bed.Y, W: k.x1 - k.x0 - 2, H: d.bed.H},
			ui.Decimal(q.Level(noise[k.st]), 1)+" "+q.LevelUnit(), st)
	}
}

func (d *Diagram) drawHead(l *ink.List, th *ui.Theme) {
	head := d.head
	if d.Title != "" {
		st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
		title := ui.Fit(st, head.W, d.Title, "Levels")
		l.TextIn(ui.Left(&head, min(ink.Measure(title, st)+1, head.W)), title, st)
		ui.Left(&head, 12)
		head.W = max(0, head.W-8)
		sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
		l.TextIn(head, d.Subtitle(sub, head.W), sub)
	}
	row := d.legend
	d.key(l, th, &row, "average to peak", "average to peak", func(b ink.Rect) { l.Fill(b, 2, th.Signal) })
	if !d.Printed {
		d.key(l, th, &row, "loudest so far", "loudest", func(b ink.Rect) {
			l.Fill(b, 2, th.Signal.Alpha(0.3))
			l.Line(1.6, th.SaySignal, ink.Point{X: b.X, Y: b.Y}, ink.Point{X: b.Right(), Y: b.Y})
		})
	}
	d.key(l, th, &row, "lost for good", "lost", func(b ink.Rect) { l.Hatch(b, th.Lost, th.Lost.Alpha(0.22), 2, 5) })
	d.key(l, th, &row, "ceiling", "ceiling", func(b ink.Rect) {
		l.Line(2.6, th.Ceiling, ink.Point{X: b.X, Y: b.Y + b.H/2}, ink.Point{X: b.Right(), Y: b.Y + b.H/2})
	})
	d.key(l, th, &row, "noise", "noise", func(b ink.Rect) { l.Fill(b, 2, th.Noise.Alpha(0.6)) })
	axis := th.Style(ui.Tiny, ink.Regular, ink.Right, th.SayDim)
	if d.Printed {
		return // the page says it
	}
	if s := ui.Fit(axis, row.W-8, "axis: dB re full scale of the file", "dB re full scale", ""); s != "" {
		l.TextIn(row, s, axis)
	}
}

func (d *Diagram) key(l *ink.List, th *ui.Theme, row *ink.Rect, long, short string, swatch func(ink.Rect)) {
	st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	w := ink.Measure(long, st)
	if w+22+12 > row.W {
		long, w = short, ink.Measure(short, st)
		if w+22 > row.W {
			return
		}
	}
	b := ui.Left(row, 16)
	swatch(ink.Rect{X: b.X, Y: b.Y + b.H/2 - 5, W: 15, H: 10})
	ui.Left(row, 6)
	l.TextIn(ui.Left(row, w+1), long, st)
	ui.Left(row, 13)
}

// Layout puts the diagram under its head, which is empty where it has no title.
func (d *Diagram) Layout(th *ui.Theme, head, in ink.Rect) {
	d.head = head
	d.legend = ui.Top(&in, th.Row(ui.Tiny))
	ui.Top(&in, 4)
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Left, th.Say)
	gutter := ink.Measure("−100", tiny) + 8
	// Where all stations at once leave no room for a level and its unit side by side,
	// the unit goes below.
	d.tall = ink.Measure("−88.8 dBFS", tiny) > (in.W-gutter)/float32(sim.NumStations)-4
	if d.Printed {
		d.bed = ui.Bottom(&in, th.Row(ui.Tiny))
	}
	if d.tall {
		d.native = ui.Bottom(&in, 2*th.Row(ui.Tiny))
	} else {
		d.native = ui.Bottom(&in, th.Row(ui.Small))
	}
	d.names = ui.Bottom(&in, th.Row(ui.Small))
	if short := th.Least - 3 - d.names.H - d.native.H; short > 0 {
		d.names.Y -= short // a station is opened where its name stands
		d.native.Y -= short
		d.native.H += short
		in.H -= short
	}
	ui.Bottom(&in, 4)
	d.gutter = ui.Left(&in, gutter)
	ui.Left(&d.names, gutter)
	ui.Left(&d.native, gutter)
	ui.Left(&d.bed, gutter)
	d.plot = in
}

// Stations gives the room of each station that the strip has: where it is opened.
func (d *Diagram) Stations(put func(st sim.Station, box ink.Rect)) {
	cols := d.columns()
	w := d.plot.W / float32(len(cols))
	gap := min(4, max(0, w-ui.Touch)) // no less than a thumb for the sake of a gap
	for i := range cols {
		put(cols[i].st, ink.Rect{X: d.plot.X + float32(i)*w + gap/2, Y: d.names.Y - 1, W: w - gap, H: d.names.H + d.native.H + 3})
	}
	d.laidFor = len(cols)
}
