package ui

import (
	"math"

	"gainwright/scenes/ink"
)

// Meter is an upright level meter: a bar, a line at the held peak, ticks. What
// would have been above full scale is drawn hatched above it.
type Meter struct {
	Base
	Level float64 // now, in the unit of the axis
	Hold  float64 // held peak
	// Wanted is what the level would have been with nothing cut off; equal to
	// Hold where nothing was.
	Wanted float64
	Full   float64 // full scale
	// Low and High bound the band where BandName belongs; NaN, or High not above Low: none.
	Low, High float64
	BandName  string
	// Large draws a wider bar and a thicker line at the held peak.
	Large bool
	Axis  Axis
	Ticks []float64
	say   Num
	ticks [16]Num
	told  Strs
}

// MeterAxis is finer near full scale.
var MeterAxis = Axis{{-60, 0}, {-40, 0.17}, {-20, 0.42}, {0, 0.84}, {12, 1}}

// MeterLarge is the width of a large meter's bar, dp.
const MeterLarge = 30

// MeterTicks are the ticks that MeterAxis has room for.
var MeterTicks = []float64{12, 0, -6, -12, -20, -30, -40, -60}

// NewMeter makes a meter in dBFS.
func NewMeter(id, name, hint string) *Meter {
	return &Meter{Base: Base{ID: id, Name: name, Hint: hint}, Axis: MeterAxis, Ticks: MeterTicks,
		Level: -120, Hold: -120, Wanted: -120, Low: math.NaN(), High: math.NaN()}
}

// Node tells the semantics: the held peak.
func (m *Meter) Node() Node {
	n := m.node(RoleMeter)
	n.Focus = false
	n.Value = m.say.Text("", m.Hold, 1, " dBFS")
	if m.banded() {
		n.Value = m.told.Get([6]int64{Q(m.Hold, 1), Q(m.Low, 0), Q(m.High, 0)}, func() string {
			return Decimal(m.Hold, 1) + " dBFS; " + m.BandName + " between " + Decimal(m.Low, 0) + " and " + Decimal(m.High, 0) + " dBFS"
		})
	}
	n.Now, n.Min, n.Max = max(m.Hold, m.Axis[0].DB), m.Axis[0].DB, m.Axis[len(m.Axis)-1].DB
	return n
}

func (m *Meter) banded() bool { return m.High > m.Low }

// drawBand draws the band as a bracket beside the bar.
func (m *Meter) drawBand(l *ink.List, th *Theme, bar ink.Rect) {
	lo, hi := max(m.Low, m.Axis[0].DB), min(m.High, m.Axis[len(m.Axis)-1].DB)
	if !(hi > lo) {
		return
	}
	top, end := m.Axis.Y(bar, hi), m.Axis.Y(bar, lo)
	l.Fill(ink.Rect{X: bar.X, Y: top, W: bar.W, H: end - top}, 0, th.Good.Mix(th.Well, 0.72))
	l.Fill(ink.Rect{X: bar.X - 4, Y: top, W: 2.5, H: end - top}, 1, th.Good)
	l.Fill(ink.Rect{X: bar.X - 4, Y: top - 1, W: bar.W + 6, H: 2}, 0, th.Good)
	l.Fill(ink.Rect{X: bar.X - 4, Y: end - 1, W: bar.W + 6, H: 2}, 0, th.Good)
}

// Point has no use for presses.
func (m *Meter) Point(Pointer, *Grip, *Out) bool { return false }

// Key has no use for keys.
func (m *Meter) Key(KeyPress, *Out) bool { return false }

// Draw draws the bar at the left of the bounds and the ticks right of it.
func (m *Meter) Draw(l *ink.List, th *Theme, st State) {
	b := m.Bounds
	half := th.DP(Tiny) / 2
	bar := ink.Rect{X: b.X, Y: b.Y + half, W: min(16, b.W*0.4), H: b.H - 2*half}
	thick := float32(2)
	if m.Large {
		bar.W, thick = min(MeterLarge, b.W*0.5), 4
	}
	l.Fill(bar, 3, th.Well)
	if m.banded() {
		m.drawBand(l, th, bar)
	}
	full := m.Axis.Y(bar, m.Full)
	y := m.Axis.Y(bar, min(m.Level, m.Full))
	if y < bar.Bottom()-0.5 {
		l.Fill(ink.Rect{X: bar.X + 2, Y: y, W: bar.W - 4, H: bar.Bottom() - y - 1}, 1, th.Signal)
	}
	if m.Wanted > m.Full {
		t := m.Axis.Y(bar, m.Wanted)
		l.Hatch(ink.Rect{X: bar.X + 2, Y: t, W: bar.W - 4, H: full - t}, th.Lost, th.Lost.Mix(th.Well, 0.8), 1.6, 4)
	}
	if m.Hold > m.Axis[0].DB {
		t := m.Axis.Y(bar, min(m.Hold, m.Full))
		l.Fill(ink.Rect{X: bar.X + 1, Y: t - thick/2, W: bar.W - 2, H: thick}, 0, th.Say)
	}
	l.Line(1.6, th.Ceiling, ink.Point{X: bar.X - 3, Y: full}, ink.Point{X: bar.Right() + 3, Y: full})
	l.Frame(bar, 3, 1, th.Line)
	last := float32(-100)
	row := th.DP(Tiny) * 1.1
	for i, t := range m.Ticks {
		if i >= len(m.ticks) {
			break
		}
		y := m.Axis.Y(bar, t)
		if y-last < row {
			continue
		}
		last = y
		l.Line(1, th.Line, ink.Point{X: bar.Right() + 2, Y: y}, ink.Point{X: bar.Right() + 5, Y: y})
		stl := th.Style(Tiny, ink.Regular, ink.Left, th.SayDim)
		pre := ""
		if t > 0 {
			pre = "+"
		}
		if t == m.Full {
			stl.Font, stl.Color = ink.Bold, th.SayCeiling
		}
		l.TextIn(ink.Rect{X: bar.Right() + 8, Y: y - row/2, W: b.Right() - bar.Right() - 8, H: row}, m.ticks[i].Text(pre, t, 0, ""), stl)
	}
}

// Mark is a place on a timeline with a word.
type Mark struct {
	At   float64 // seconds
	Text string
}

// Span is a stretch of a timeline in seconds.
type Span struct{ From, To float64 }

// Timeline is a recording from end to end: its outline, where it went over,
// marks, and the place one is at. A press or drag goes there.
type Timeline struct {
	Base
	value
	// Wave gives the outline between two times: lowest and highest value, full
	// scale = 1.
	Wave  func(from, to float64) (lo, hi float32)
	Scale float32 // what of full scale fills half the height; 0 means 1
	Overs []Span  // ascending
	Marks []Mark  // ascending
	Label string  // whose recording it is, written before the marks
	// Growing draws the place as the end of a recording being made.
	Growing bool
	Empty   []string // what to say when there is nothing: the first that fits
	pts     []ink.Point
	say     Strs
	time    Num
}

func NewTimeline(id, name, hint string) *Timeline {
	return &Timeline{Base: Base{ID: id, Name: name, Hint: hint}, value: value{Step: 0.1, Coarse: 5}}
}

// Node tells the semantics.
func (t *Timeline) Node() Node {
	n := t.node(RoleSlider)
	n.Value = t.time.Text("", t.Value, 1, " s")
	n.Now, n.Min, n.Max, n.Step = t.Value, t.Min, t.Max, t.Step
	return n
}

func (t *Timeline) wave() ink.Rect { return t.Bounds }

// Point goes to where the press is.
func (t *Timeline) Point(p Pointer, g *Grip, out *Out) bool {
	switch p.Kind {
	case Down, Move:
		w := t.wave()
		v := t.clamp(t.Min + (t.Max-t.Min)*float64((p.At.X-w.X)/max(w.W, 1)))
		if p.Kind == Down || v != g.Sent {
			g.Sent = v
			out.Emit(Intent{ID: t.ID, Do: DoSet, Value: v})
		}
	case Wheel:
		out.Emit(Intent{ID: t.ID, Do: DoNudge, Value: float64(-p.WheelY)})
	}
	return true
}

// Key moves along.
func (t *Timeline) Key(k KeyPress, out *Out) bool {
	if k.Key == "Delete" || k.Key == "Backspace" {
		return false
	}
	return t.key(t.ID, k, out)
}

// X is where a time lies.
func (t *Timeline) X(sec float64) float32 {
	w := t.wave()
	if t.Max <= t.Min {
		return w.X
	}
	return w.X + float32((sec-t.Min)/(t.Max-t.Min))*w.W
}

// Draw draws the timeline: outline, overs, marks, place.
func (t *Timeline) Draw(l *ink.List, th *Theme, st State) {
	b := t.wave()
	l.Fill(b, 5, th.Well)
	if t.Max <= t.Min || t.Wave == nil {
		if len(t.Empty) > 0 {
			st := th.Style(Small, ink.Regular, ink.Left, th.SayDim)
			l.TextIn(Pad(b, 12, 0), Fit(st, b.W-24, t.Empty...), st)
		}
		return
	}
	lab := th.Row(Tiny)
	body := ink.Rect{X: b.X, Y: b.Y + 3, W: b.W, H: b.H - lab - 4}
	mid := body.Y + body.H/2
	l.Line(1, th.Grid, ink.Point{X: b.X, Y: mid}, ink.Point{X: b.Right(), Y: mid})
	for _, o := range t.Overs {
		x0, x1 := t.X(o.From), t.X(o.To)
		if x1 < b.X || x0 > b.Right() {
			continue
		}
		x0, x1 = max(x0-1, b.X), min(max(x1, x0+2)+1, b.Right())
		l.Fill(ink.Rect{X: x0, Y: body.Y, W: x1 - x0, H: body.H}, 0, th.Lost.Mix(th.Well, 0.55))
	}
	t.pts = t.pts[:0]
	const step = 2
	sc := t.Scale
	if sc == 0 {
		sc = 1
	}
	n := int(b.W / step)
	per := (t.Max - t.Min) / float64(b.W) * step
	for i := range n {
		lo, hi := t.Wave(t.Min+float64(i)*per, t.Min+float64(i+1)*per)
		lo, hi = min(max(lo/sc, -1), 1), min(max(hi/sc, -1), 1)
		x := b.X + float32(i)*step
		h := body.H / 2
		t.pts = append(t.pts, ink.Point{X: x, Y: mid - hi*h - 0.5}, ink.Point{X: x, Y: mid - lo*h + 0.5})
	}
	if len(t.pts) >= 4 {
		l.Strip(th.Signal, th.Signal, t.pts...)
	}
	// A wedge above every over, so that it is seen by shape as well as by hue.
	last := float32(-10)
	for _, o := range t.Overs {
		x := t.X((o.From + o.To) / 2)
		if x < b.X || x > b.Right() || x-last < 4 {
			continue
		}
		last = x
		l.Polygon(th.Lost, ink.Point{X: x - 3.5, Y: b.Y - 1}, ink.Point{X: x + 3.5, Y: b.Y - 1}, ink.Point{X: x, Y: b.Y + 6})
	}
	t.drawMarks(l, th, b, lab)
	x := min(max(t.X(t.Value), b.X), b.Right())
	hue := th.Say
	if t.Growing {
		hue = th.Lost
	}
	l.Line(2, hue, ink.Point{X: x, Y: b.Y}, ink.Point{X: x, Y: b.Bottom() - lab})
	l.Polygon(hue, ink.Point{X: x - 5, Y: b.Y - 3}, ink.Point{X: x + 5, Y: b.Y - 3}, ink.Point{X: x, Y: b.Y + 5})
}

// drawMarks writes the marks' words, leaving out those there is no room for.
func (t *Timeline) drawMarks(l *ink.List, th *Theme, b ink.Rect, lab float32) {
	stl := th.Style(Tiny, ink.Regular, ink.Left, th.SayDim)
	free := b.X
	if t.Label != "" {
		w := ink.Measure(t.Label, stl)
		l.TextIn(ink.Rect{X: b.X + 6, Y: b.Bottom() - lab, W: w + 0.5, H: lab}, t.Label, stl)
		free += w + 12
	}
	for i, m := range t.Marks {
		x := t.X(m.At)
		if x < b.X-1 || x > b.Right() {
			continue
		}
		l.Line(1, th.SayDim, ink.Point{X: x, Y: b.Bottom() - lab - 4}, ink.Point{X: x, Y: b.Bottom() - lab/2})
		room := b.Right() - x
		for _, o := range t.Marks[i+1:] {
			if nx := t.X(o.At); nx > x+6 {
				room = min(room, nx-x)
				break
			}
		}
		w := ink.Measure(m.Text, stl) + 6
		if x+3 < free || w > room {
			continue
		}
		l.TextIn(ink.Rect{X: x + 4, Y: b.Bottom() - lab, W: w - 6 + 0.5, H: lab}, m.Text, stl)
		free = x + w
	}
}
