package kit

import (
	"math"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// A trace is what one picture of a scope shows: full scale = 1, all as long as
// the sound.
type Trace struct {
	Kept  []float64 // the thick line
	Thin  []float64 // the thin line; nil for none
	Lost  []float64 // what the hatched part reaches to; nil for none
	Scale float64   // of kept; 0 means 1
	// Ceiling is drawn where it is above 0. Lost counts where lost lies beyond it.
	Ceiling float64
	Mended  bool // the line is a guess
}

// Scope shows the same few milliseconds of several traces; one can drag it
// along.
type Scope struct {
	ui.Base
	acts   Acts
	frames int64
	at     int64
	SpanMS float64
	home   int64 // what "default" goes to
	width  float32
	thin   []ink.Point
	kept   []ink.Point
	hatch  []ink.Point
	say    ui.Num
}

// NewScope shows 8 ms at first.
func NewScope() *Scope {
	w := &Scope{Base: ui.Base{ID: IDScopeAt, Name: "Moment shown",
		Hint: "Drag or use the arrow keys to look at another moment; the wheel zooms."}, SpanMS: 8}
	w.acts = Acts{IDScopeAt: w.setPlace, IDScopeSpan: w.setSpan, IDScopeLoudest: Press(func() { w.at = w.home })}
	return w
}

// Load sets the length and the moment to begin with.
func (w *Scope) Load(frames, home int64) {
	w.frames, w.home = frames, home
	w.at = home
}

// MS is the place shown, milliseconds.
func (w *Scope) MS() float64 { return float64(w.at) * 1000 / bench.Rate }

// Apply carries an intent out; ok is false if it is none of the scope's.
func (w *Scope) Apply(it ui.Intent) (ok bool, err error) { return w.acts.Apply(it) }

func (w *Scope) setPlace(it ui.Intent) error {
	if w.frames == 0 {
		return ErrNoTake
	}
	v, err := Number(it, w.MS(), float64(w.home)*1000/bench.Rate, 1, 0, float64(w.frames)*1000/bench.Rate)
	if err == nil {
		w.at = int64(math.Round(v * bench.Rate / 1000))
	}
	return err
}

func (w *Scope) setSpan(it ui.Intent) error {
	v, err := Number(it, w.SpanMS, 8, 2, 2, 60)
	if err == nil {
		w.SpanMS = v
	}
	return err
}

// Node tells the semantics.
func (w *Scope) Node() ui.Node {
	n := ui.Node{ID: w.ID, Role: ui.RoleSlider, Name: w.Name, Hint: w.Hint, Disabled: w.Disabled, Why: w.Why, Bounds: w.Bounds, Focus: !w.Disabled}
	if w.Clip.W > 0 {
		n.Bounds = n.Bounds.Intersect(w.Clip)
	}
	n.Value = w.say.Text("", w.MS(), 0, " ms")
	n.Now, n.Step, n.Max = w.MS(), 1, float64(w.frames)*1000/bench.Rate
	return n
}

// Point drags along and zooms.
func (w *Scope) Point(p ui.Pointer, g *ui.Grip, out *ui.Out) bool {
	switch p.Kind {
	case ui.Down:
		g.Acc = w.MS()
	case ui.Move:
		g.Acc -= float64(p.At.X-g.Last.X) * w.SpanMS / float64(max(w.width, 1))
		g.Acc = min(max(g.Acc, 0), float64(w.frames)*1000/bench.Rate)
		out.Emit(ui.Intent{ID: w.ID, Do: ui.DoSet, Value: g.Acc})
	case ui.Wheel:
		out.Emit(ui.Intent{ID: IDScopeSpan, Do: ui.DoNudge, Value: math.Copysign(1, float64(-p.WheelY))})
	}
	return true
}

// Key moves along and zooms.
func (w *Scope) Key(k ui.KeyPress, out *ui.Out) bool { return ScopeKey(w.ID, k, out, 1, 20) }

// ScopeKey is what the keys do where waves are looked at: along by step or page
// milliseconds, nearer and farther, back to where it began. id is that of the place.
func ScopeKey(id string, k ui.KeyPress, out *ui.Out, step, page float64) bool {
	nudge := func(id string, by float64) { out.Emit(ui.Intent{ID: id, Do: ui.DoNudge, Value: by}) }
	switch k.Key {
	case "ArrowRight":
		nudge(id, step)
	case "ArrowLeft":
		nudge(id, -step)
	case "PageUp":
		nudge(id, page)
	case "PageDown":
		nudge(id, -page)
	case "ArrowUp":
		nudge(IDScopeSpan, -1)
	case "ArrowDown":
		nudge(IDScopeSpan, 1)
	case "Home", "Delete":
		out.Emit(ui.Intent{ID: id, Do: ui.DoDefault})
	default:
		return false
	}
	return true
}

// Draw draws nothing: the scene draws the pictures with plot.
func (w *Scope) Draw(*ink.List, *ui.Theme, ui.State) {}

// window is the first frame shown and how many.
func (w *Scope) window() (first int64, n int) {
	n = max(2, int(w.SpanMS*bench.Rate/1000))
	return w.at - int64(n/2), n
}

func sampleAt(x []float64, i int64) float64 {
	if i < 0 || i >= int64(len(x)) {
		return 0
	}
	return x[i]
}

// Top is the largest value in the window of all that is drawn, and at least a
// tenth of full scale.
func (w *Scope) Top(ts ...*Trace) float64 {
	first, n := w.window()
	top := 0.1
	for _, t := range ts {
		sc := t.Scale
		if sc == 0 {
			sc = 1
		}
		for k := range int64(n) {
			top = max(top, math.Abs(sc*sampleAt(t.Kept, first+k)))
			if t.Thin != nil {
				top = max(top, math.Abs(sampleAt(t.Thin, first+k)))
			}
		}
	}
	return top * 1.1
}

// Peak is the largest value of x in the window.
func (w *Scope) Peak(x []float64) float64 {
	first, n := w.window()
	p := 0.0
	for k := range int64(n) {
		p = max(p, math.Abs(sampleAt(x, first+k)))
	}
	return p
}

// Plot draws one trace into r.
func (w *Scope) Plot(l *ink.List, th *ui.Theme, r ink.Rect, t *Trace, top float64) {
	w.width = r.W
	l.Fill(r, 5, th.Well)
	mid, half := r.Y+r.H/2, r.H/2
	l.Line(1, th.Grid, ink.Point{X: r.X, Y: mid}, ink.Point{X: r.Right(), Y: mid})
	if t == nil || t.Kept == nil {
		return
	}
	l.Clip(r)
	defer l.Unclip()
	first, n := w.window()
	sc := t.Scale
	if sc == 0 {
		sc = 1
	}
	y := func(v float64) float32 { return mid - float32(v/top)*half }
	px := func(k int) float32 { return r.X + float32(k)/float32(n-1)*r.W }
	if t.Ceiling > 0 && t.Ceiling < top {
		for _, s := range [2]float64{1, -1} {
			yy := y(t.Ceiling * s)
			for d := r.X; d < r.Right(); d += 9 {
				l.Line(1.2, th.Ceiling, ink.Point{X: d, Y: yy}, ink.Point{X: min(d+5, r.Right()), Y: yy})
			}
		}
	}
	if t.Lost != nil {
		w.hatch = w.hatch[:0]
		flush := func() {
			if len(w.hatch) >= 4 {
				l.HatchStrip(th.Lost, th.Lost.Alpha(0.18), 1.5, 4.5, w.hatch...)
			}
			w.hatch = w.hatch[:0]
		}
		for k := range n {
			d := sampleAt(t.Lost, first+int64(k))
			if math.Abs(d) <= t.Ceiling {
				flush()
				continue
			}
			a, b := y(d), y(sc*sampleAt(t.Kept, first+int64(k)))
			w.hatch = append(w.hatch, ink.Point{X: px(k), Y: min(a, b)}, ink.Point{X: px(k), Y: max(a, b)})
		}
		flush()
	}
	w.thin, w.kept = w.thin[:0], w.kept[:0]
	step := max(1, int(float32(n)/max(r.W, 1)/1.5))
	for k := 0; k < n; k += step {
		if t.Thin != nil {
			w.thin = append(w.thin, ink.Point{X: px(k), Y: y(sampleAt(t.Thin, first+int64(k)))})
		}
		w.kept = append(w.kept, ink.Point{X: px(k), Y: y(sc * sampleAt(t.Kept, first+int64(k)))})
	}
	if t.Thin != nil {
		l.Line(1, th.True.Alpha(0.75), w.thin...)
	}
	hue := th.Signal
	if t.Mended {
		hue = th.Mended
	}
	l.Line(2, hue, w.kept...)
}

// PlotDemand draws a wave whose part beyond the ceiling is hatched.
func (w *Scope) PlotDemand(l *ink.List, th *ui.Theme, r ink.Rect, t *Trace, top float64) {
	under := *t
	under.Lost = nil
	w.Plot(l, th, r, &under, top)
	l.Clip(r)
	defer l.Unclip()
	first, n := w.window()
	mid, half := r.Y+r.H/2, r.H/2
	y := func(v float64) float32 { return mid - float32(v/top)*half }
	w.hatch = w.hatch[:0]
	flush := func() {
		if len(w.hatch) >= 4 {
			l.HatchStrip(th.Lost, th.Lost.Alpha(0.18), 1.5, 4.5, w.hatch...)
		}
		w.hatch = w.hatch[:0]
	}
	for k := range n {
		d := sampleAt(t.Kept, first+int64(k))
		if math.Abs(d) <= t.Ceiling {
			flush()
			continue
		}
		x := r.X + float32(k)/float32(n-1)*r.W
		a, b := y(d), y(math.Copysign(t.Ceiling, d))
		w.hatch = append(w.hatch, ink.Point{X: x, Y: min(a, b)}, ink.Point{X: x, Y: max(a, b)})
	}
	flush()
}
