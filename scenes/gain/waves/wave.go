package waves

import (
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// View shows the same few milliseconds at four places of the chain. In a
// take one can drag it along.
type View struct {
	ui.Base
	v      *bench.Sight
	SpanMS float64     // as asked for
	At     int64       // frame of the take in the middle
	of     *bench.Take // what win shows
	wonAt  int64
	won    int // strip
	win    bench.Window
	Known  *bench.Take // the last take that was noticed
	wells  [4]ink.Rect
	names  [4]ink.Rect
	notes  [4]ink.Rect
	Head   ink.Rect
	truth  []ink.Point
	kept   []ink.Point
	hatch  []ink.Point
	say    ui.Num
	txt    [4]ui.Strs
	Title  ui.Num
	now    float64
	env    bench.Envelope
}

// What the waves show, in milliseconds: at the least, and as much as is kept
// besides takes.
const (
	SpanMin    = 1
	SpanWindow = 1000 * bench.WindowFrames / bench.Rate
)

// SpanMax is the most that can be shown: the whole take, or what is kept of the
// loudest moment.
func (w *View) SpanMax() float64 {
	if t := w.review(); t != nil {
		return max(t.Seconds()*1000, SpanMin)
	}
	return SpanWindow
}

func (w *View) review() *bench.Take {
	if w.v.Absent(w.v.Shown) {
		return nil
	}
	return w.v.Bench.Shown()
}

// Span is what is shown, in milliseconds.
func (w *View) Span() float64 { return min(max(w.SpanMS, SpanMin), w.SpanMax()) }

// Zoom goes n steps farther (or nearer), of which six are a factor of ten.
func (w *View) Zoom(n float64) {
	v := w.Span() * math.Pow(10, n/6)
	// To figures that are easy to name.
	if n == math.Trunc(n) {
		d := math.Pow(10, math.Floor(math.Log10(v)))
		best := v
		for _, m := range [...]float64{1, 1.5, 2, 3, 5, 7, 10} {
			if best == v || math.Abs(math.Log(m*d/v)) < math.Abs(math.Log(best/v)) {
				best = m * d
			}
		}
		v = best
	}
	w.SpanMS = min(max(v, SpanMin), w.SpanMax())
}

// NewView shows the strip that v looks at.
func NewView(v *bench.Sight) *View {
	return &View{Base: ui.Base{ID: kit.IDScopeAt, Name: "Moment shown",
		Hint: "Drag or use the arrow keys to look at another moment of the take; the wheel zooms."}, v: v, SpanMS: 12}
}

// Sync brings the control up to the bench.
func (w *View) Sync() {
	w.Disabled, w.Why = w.v.Bench.Shown() == nil, "the loudest moment so far is shown; record a take to look around in it"
}

// ShowFrame puts the cursor at a frame of the take.
func (w *View) ShowFrame(frame int64) { w.At = frame }

// Set looks at the place that an intent asks for, milliseconds of the take.
func (w *View) Set(it ui.Intent) error {
	t := w.v.Bench.Take()
	if t == nil || !t.Done {
		return kit.ErrNoTake
	}
	v, err := kit.Number(it, float64(w.At)*1000/bench.Rate, float64(t.Loudest)*1000/bench.Rate, 1, 0, t.Seconds()*1000)
	if err == nil {
		w.At = int64(math.Round(v * bench.Rate / 1000))
	}
	return err
}

// Current is the window to draw, and whether there is one.
func (w *View) Current() (*bench.Window, bool) {
	s := w.v.Bench
	if t := s.Shown(); t != nil {
		if w.of != t || w.wonAt != w.At || w.won != w.v.Shown {
			t.Window(&w.win, w.v.Shown, w.At)
			w.of, w.wonAt, w.won = t, w.At, w.v.Shown
		}
		return &w.win, true
	}
	w.of = nil
	return s.Shot(), s.Shot().Valid
}

// Node tells the semantics.
func (w *View) Node() ui.Node {
	n := ui.Node{ID: w.ID, Role: ui.RoleSlider, Name: w.Name, Hint: w.Hint, Disabled: w.Disabled, Why: w.Why, Bounds: w.Bounds, Focus: !w.Disabled}
	n.Value = w.say.Text("", float64(w.At)*1000/bench.Rate, 0, " ms")
	n.Now, n.Step = float64(w.At)*1000/bench.Rate, 1
	if t := w.v.Bench.Take(); t != nil {
		n.Max = t.Seconds() * 1000
	}
	n.Now = min(n.Now, n.Max) // another scene may have had a longer take
	return n
}

// Point drags along the take and zooms.
func (w *View) Point(p ui.Pointer, g *ui.Grip, out *ui.Out) bool {
	switch p.Kind {
	case ui.Down:
		g.Acc = float64(w.At) * 1000 / bench.Rate
		g.Sent = g.Acc
	case ui.Move:
		per := w.Span() / float64(max(w.wells[0].W, 1))
		g.Acc -= float64(p.At.X-g.Last.X) * per
		end := 0.0
		if t := w.v.Bench.Take(); t != nil {
			end = t.Seconds() * 1000
		}
		g.Acc = min(max(g.Acc, 0), end)
		out.Emit(ui.Intent{ID: w.ID, Do: ui.DoSet, Value: g.Acc})
	case ui.Wheel:
		out.Emit(ui.Intent{ID: kit.IDScopeSpan, Do: ui.DoNudge, Value: math.Copysign(1, float64(-p.WheelY))})
	}
	return true
}

// Key moves along the take.
func (w *View) Key(k ui.KeyPress, out *ui.Out) bool {
	return kit.ScopeKey(w.ID, k, out, max(1, math.Round(w.Span()/12)), max(20, math.Round(w.Span())))
}

// Layout places the four pictures into box, which has no title.
func (w *View) Layout(th *ui.Theme, box ink.Rect) {
	w.Bounds = box
	gap := th.Px(12)
	for i := range w.wells {
		c := ui.Column(box, i, 4, gap)
		w.notes[i] = ui.Bottom(&c, th.Row(ui.Tiny))
		w.names[i] = ui.Bottom(&c, th.Row(ui.Small))
		ui.Bottom(&c, 3)
		w.wells[i] = c
	}
}

// Draw draws the four pictures.
func (w *View) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	win, ok := w.Current()
	v := w.v
	c := v.Chain(v.Shown)
	ceiling := float32(sim.Ceilings(c)[sim.AtConverter])
	for _, r := range w.wells {
		l.Fill(r, 5, th.Well)
		l.Line(1, th.Grid, ink.Point{X: r.X, Y: r.Y + r.H/2}, ink.Point{X: r.Right(), Y: r.Y + r.H/2})
	}
	names := w.panelNames(th, c)
	if !ok {
		for i := range w.wells {
			l.TextIn(w.names[i], names[i], th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
		}
		return
	}
	if t := w.review(); t != nil && w.Span() > SpanWindow {
		w.drawFar(l, th, t, names, ceiling)
		return
	}
	x := &win.Strip[v.Shown]
	n := min(int(w.Span()*bench.Rate/1000), bench.WindowFrames)
	first := (bench.WindowFrames - n) / 2
	// One scale for all four: the loudest of what is shown, and at least a
	// tenth of full scale.
	top := float32(0.1)
	for k := first; k < first+n; k++ {
		top = max(top, x.Truth[k], -x.Truth[k], x.Demand[k], -x.Demand[k])
	}
	top *= 1.1
	over := 0
	for k := first; k < first+n; k++ {
		if d := x.Demand[k]; d > ceiling || d < -ceiling {
			over++
		}
	}
	peak := float32(0)
	for k := first; k < first+n; k++ {
		peak = max(peak, x.File[k], -x.File[k])
	}
	for i, r := range w.wells {
		w.panel(l, th, r, x, i, first, n, top, ceiling)
		name := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
		l.TextIn(w.names[i], names[i], name)
		note := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
		var key [6]int64
		key[0], key[1], key[2], key[3] = int64(i), int64(over), int64(n), ui.Q(kit.Decibel(float64(peak)), 1)
		key[4] = int64(w.notes[i].W)
		key[5] = int64(note.Size * 16)
		limited := c.Place() == sim.LimiterAfter
		if limited {
			key[0] += 10
		}
		s := w.txt[i].Get(key, func() string {
			switch i {
			case 0:
				return ui.Fit(note, w.notes[i].W, "what the talker did", "as spoken")
			case 1:
				if c.Place() == sim.LimiterBefore {
					return ui.Fit(note, w.notes[i].W, "turned down in time, still whole", "turned down, whole", "still whole")
				}
				return ui.Fit(note, w.notes[i].W, "what the converter was asked for", "asked of the converter", "the demand")
			case 2:
				if over == 0 {
					return ui.Fit(note, w.notes[i].W, "nothing cut off", "whole")
				}
				pc := ui.Decimal(100*float64(over)/float64(n), 1)
				return ui.Fit(note, w.notes[i].W, pc+" % of samples flat: lost for good", pc+" % flat: lost", pc+" % flat")
			}
			pk := "peak " + ui.Decimal(kit.Decibel(float64(peak)), 1) + " dBFS"
			if limited && over > 0 {
				return ui.Fit(note, w.notes[i].W, pk+", turned down, still flat", pk+", still flat", pk, strings.TrimPrefix(pk, "peak "))
			}
			return ui.Fit(note, w.notes[i].W, pk+" here", pk, strings.TrimPrefix(pk, "peak "))
		})
		if i == 2 && over > 0 {
			note.Color = th.SayLost
		}
		l.TextIn(w.notes[i], s, note)
	}
}

// drawFar draws more than single waves: the extremes of each column.
func (w *View) drawFar(l *ink.List, th *ui.Theme, t *bench.Take, names [4]string, ceiling float32) {
	n := max(int(w.wells[0].W/1.5), 2)
	frames := int64(w.Span() * bench.Rate / 1000)
	e := &w.env
	if e.Of != t || e.Strip != w.v.Shown || e.At != w.At || e.Frames != frames || len(e.Over) != n {
		e.Of, e.Strip, e.At, e.Frames = t, w.v.Shown, w.At, frames
		t.Columns(e, e.Strip, w.At-frames/2, frames, n)
	}
	top := float32(0.1)
	overs := 0
	for i := range n {
		top = max(top, e.Hi[bench.TapTruth][i], -e.Lo[bench.TapTruth][i], e.Hi[bench.TapDemand][i], -e.Lo[bench.TapDemand][i])
		if e.Hi[bench.TapDemand][i] > ceiling || e.Lo[bench.TapDemand][i] < -ceiling {
			overs++
		}
	}
	top *= 1.1
	for i, r := range w.wells {
		mid, half := r.Y+r.H/2, r.H/2
		y := func(v float32) float32 { return mid - v/top*half }
		px := func(k int) float32 { return r.X + (float32(k)+0.5)/float32(n)*r.W }
		l.Clip(r)
		if i >= 2 {
			// What was asked for and not given, above and below.
			for side := range 2 {
				w.hatch = w.hatch[:0]
				for k := range n {
					a, b := y(e.Hi[bench.TapDemand][k]), y(min(e.Hi[bench.TapDemand][k], max(e.Hi[i][k], 0)))
					over := e.Hi[bench.TapDemand][k] > ceiling
					if side == 1 {
						a, b = y(max(e.Lo[bench.TapDemand][k], min(e.Lo[i][k], 0))), y(e.Lo[bench.TapDemand][k])
						over = e.Lo[bench.TapDemand][k] < -ceiling
					}
					if over {
						w.hatch = append(w.hatch, ink.Point{X: px(k) - 1, Y: a}, ink.Point{X: px(k) - 1, Y: b}, ink.Point{X: px(k) + 1, Y: a}, ink.Point{X: px(k) + 1, Y: b})
					}
					if !over || k == n-1 {
						if len(w.hatch) >= 4 {
							l.HatchStrip(th.Lost, th.Lost.Alpha(0.4), 1.5, 4, w.hatch...)
						}
						w.hatch = w.hatch[:0]
					}
				}
			}
		}
		w.kept = w.kept[:0]
		for k := range n {
			w.kept = append(w.kept, ink.Point{X: px(k), Y: y(e.Hi[i][k]) - 0.5}, ink.Point{X: px(k), Y: y(e.Lo[i][k]) + 0.5})
		}
		l.Strip(th.Signal, th.Signal, w.kept...)
		if i > 0 && ceiling < top {
			for _, s := range [2]float32{1, -1} {
				for d := r.X; d < r.Right(); d += 9 {
					l.Line(1.2, th.Ceiling, ink.Point{X: d, Y: y(ceiling * s)}, ink.Point{X: min(d+5, r.Right()), Y: y(ceiling * s)})
				}
			}
		}
		l.Unclip()
		l.TextIn(w.names[i], names[i], th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
		note := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
		s := w.txt[i].Get([6]int64{int64(100 + i), int64(overs), int64(n), frames, int64(w.notes[i].W), int64(note.Size * 16)}, func() string {
			room := w.notes[i].W
			switch i {
			case 0:
				return ui.Fit(note, room, "what the talker did", "as spoken")
			case 1:
				return ui.Fit(note, room, "what the converter was asked for", "asked of the converter", "the demand")
			case 2:
				if overs == 0 {
					return ui.Fit(note, room, "nothing cut off", "whole")
				}
				return ui.Fit(note, room, "hatched: lost for good", "lost for good", "lost")
			}
			return ui.Fit(note, room, "what is kept", "kept")
		})
		if i == 2 && overs > 0 {
			note.Color = th.SayLost
		}
		l.TextIn(w.notes[i], s, note)
	}
}

func (w *View) panelNames(th *ui.Theme, c sim.Chain) (n [4]string) {
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	n[0] = ui.Fit(st, w.names[0].W, "at the microphone", "microphone")
	n[1] = ui.Fit(st, w.names[1].W, "before the converter", "into converter", "before")
	if c.Place() == sim.LimiterBefore {
		n[1] = ui.Fit(st, w.names[1].W, "after the limiter", "limiter")
	}
	n[2] = ui.Fit(st, w.names[2].W, "after the converter", "converter")
	n[3] = ui.Fit(st, w.names[3].W, "in the file", "file")
	if c.Place() == sim.LimiterAfter {
		n[3] = ui.Fit(st, w.names[3].W, "limiter, and in the file", "after the limiter", "limiter")
	}
	return n
}

func (w *View) panel(l *ink.List, th *ui.Theme, r ink.Rect, x *bench.StripWindow, i, first, n int, top, ceiling float32) {
	mid, half := r.Y+r.H/2, r.H/2
	y := func(v float32) float32 { return mid - v/top*half }
	px := func(k int) float32 { return r.X + float32(k)/float32(max(n-1, 1))*r.W }
	l.Clip(r)
	defer l.Unclip()
	if ceiling < top && i > 0 {
		for _, s := range [2]float32{1, -1} {
			yy := y(ceiling * s)
			for d := r.X; d < r.Right(); d += 9 {
				l.Line(1.2, th.Ceiling, ink.Point{X: d, Y: yy}, ink.Point{X: min(d+5, r.Right()), Y: yy})
			}
		}
	}
	kept := x.Tap(i)
	// What was lost: from the wave that was asked for to the one that was kept,
	// wherever the converter was out of codes.
	if i >= 2 {
		w.hatch = w.hatch[:0]
		flush := func() {
			if len(w.hatch) >= 4 {
				l.HatchStrip(th.Lost, th.Lost.Alpha(0.18), 1.5, 4.5, w.hatch...)
			}
			w.hatch = w.hatch[:0]
		}
		for k := range n {
			d, got := x.Demand[first+k], kept[first+k]
			out := d > ceiling || d < -ceiling
			if !out {
				flush()
				continue
			}
			a, b := y(d), y(got)
			w.hatch = append(w.hatch, ink.Point{X: px(k), Y: min(a, b)}, ink.Point{X: px(k), Y: max(a, b)})
		}
		flush()
	}
	w.truth, w.kept = w.truth[:0], w.kept[:0]
	step := max(1, int(float32(n)/max(r.W, 1)/1.5))
	for k := 0; k < n; k += step {
		w.truth = append(w.truth, ink.Point{X: px(k), Y: y(x.Truth[first+k])})
		w.kept = append(w.kept, ink.Point{X: px(k), Y: y(kept[first+k])})
	}
	if i == 0 {
		l.Line(2, th.Signal, w.truth...)
		return
	}
	l.Line(1, th.True.Alpha(0.75), w.truth...)
	l.Line(2, th.Signal, w.kept...)
}
