package scenes

import (
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// A trace is what one picture of a scope shows: full scale = 1, all as long as
// the sound.
type trace struct {
	kept  []float64 // the thick line
	thin  []float64 // the thin line; nil for none
	lost  []float64 // what the hatched part reaches to; nil for none
	scale float64   // of kept; 0 means 1
	// ceiling is drawn where it is above 0. Lost counts where lost lies beyond it.
	ceiling float64
	mended  bool // the line is a guess
}

// scope shows the same few milliseconds of several traces; one can drag it
// along.
type scope struct {
	ui.Base
	frames int64
	at     int64
	spanMS float64
	home   int64 // what "default" goes to
	width  float32
	thin   []ink.Point
	kept   []ink.Point
	hatch  []ink.Point
	say    ui.Num
}

func newScope() *scope {
	return &scope{Base: ui.Base{ID: "scope.at_ms", Name: "Moment shown",
		Hint: "Drag or use the arrow keys to look at another moment; the wheel zooms."}, spanMS: 8}
}

// load sets the length and the moment to begin with.
func (w *scope) load(frames, home int64) {
	w.frames, w.home = frames, home
	w.at = home
}

func (w *scope) ms() float64 { return float64(w.at) * 1000 / Rate }

// apply carries an intent out; ok is false if it is none of the scope's.
func (w *scope) apply(it Intent) (ok bool, err error) {
	switch it.ID {
	case "scope.at_ms":
		if w.frames == 0 {
			return true, errNoTake
		}
		v, err := numeric(it, w.ms(), float64(w.home)*1000/Rate, 1, 0, float64(w.frames)*1000/Rate)
		if err != nil {
			return true, err
		}
		w.at = int64(math.Round(v * Rate / 1000))
	case "scope.span_ms":
		v, err := numeric(it, w.spanMS, 8, 2, 2, 60)
		if err != nil {
			return true, err
		}
		w.spanMS = v
	case "scope.loudest":
		w.at = w.home
	default:
		return false, nil
	}
	return true, nil
}

// Node tells the semantics.
func (w *scope) Node() Node {
	n := Node{ID: w.ID, Role: RoleSlider, Name: w.Name, Hint: w.Hint, Disabled: w.Disabled, Why: w.Why, Bounds: w.Bounds, Focus: !w.Disabled}
	if w.Clip.W > 0 {
		n.Bounds = n.Bounds.Intersect(w.Clip)
	}
	n.Value = w.say.Text("", w.ms(), 0, " ms")
	n.Now, n.Step, n.Max = w.ms(), 1, float64(w.frames)*1000/Rate
	return n
}

// Point drags along and zooms.
func (w *scope) Point(p Pointer, g *ui.Grip, out *ui.Out) bool {
	switch p.Kind {
	case ui.Down:
		g.Acc = w.ms()
	case ui.Move:
		g.Acc -= float64(p.At.X-g.Last.X) * w.spanMS / float64(max(w.width, 1))
		g.Acc = min(max(g.Acc, 0), float64(w.frames)*1000/Rate)
		out.Emit(Intent{ID: w.ID, Do: ui.DoSet, Value: g.Acc})
	case ui.Wheel:
		out.Emit(Intent{ID: "scope.span_ms", Do: ui.DoNudge, Value: math.Copysign(1, float64(-p.WheelY))})
	}
	return true
}

// Key moves along and zooms.
func (w *scope) Key(k KeyPress, out *ui.Out) bool {
	n := 0.0
	switch k.Key {
	case "ArrowRight":
		n = 1
	case "ArrowLeft":
		n = -1
	case "PageUp":
		n = 20
	case "PageDown":
		n = -20
	case "ArrowUp":
		out.Emit(Intent{ID: "scope.span_ms", Do: ui.DoNudge, Value: -1})
		return true
	case "ArrowDown":
		out.Emit(Intent{ID: "scope.span_ms", Do: ui.DoNudge, Value: 1})
		return true
	case "Home", "Delete":
		out.Emit(Intent{ID: w.ID, Do: ui.DoDefault})
		return true
	default:
		return false
	}
	out.Emit(Intent{ID: w.ID, Do: ui.DoNudge, Value: n})
	return true
}

// Draw draws nothing: the scene draws the pictures with plot.
func (w *scope) Draw(*ink.List, *ui.Theme, ui.State) {}

// window is the first frame shown and how many.
func (w *scope) window() (first int64, n int) {
	n = max(2, int(w.spanMS*Rate/1000))
	return w.at - int64(n/2), n
}

func sampleAt(x []float64, i int64) float64 {
	if i < 0 || i >= int64(len(x)) {
		return 0
	}
	return x[i]
}

// top is the largest value in the window of all that is drawn, and at least a
// tenth of full scale.
func (w *scope) top(ts ...*trace) float64 {
	first, n := w.window()
	top := 0.1
	for _, t := range ts {
		sc := t.scale
		if sc == 0 {
			sc = 1
		}
		for k := range int64(n) {
			top = max(top, math.Abs(sc*sampleAt(t.kept, first+k)))
			if t.thin != nil {
				top = max(top, math.Abs(sampleAt(t.thin, first+k)))
			}
		}
	}
	return top * 1.1
}

// peak is the largest value of x in the window.
func (w *scope) peak(x []float64) float64 {
	first, n := w.window()
	p := 0.0
	for k := range int64(n) {
		p = max(p, math.Abs(sampleAt(x, first+k)))
	}
	return p
}

// plot draws one trace into r.
func (w *scope) plot(l *ink.List, th *ui.Theme, r ink.Rect, t *trace, top float64) {
	w.width = r.W
	l.Fill(r, 5, th.Well)
	mid, half := r.Y+r.H/2, r.H/2
	l.Line(1, th.Grid, ink.Point{X: r.X, Y: mid}, ink.Point{X: r.Right(), Y: mid})
	if t == nil || t.kept == nil {
		return
	}
	l.Clip(r)
	defer l.Unclip()
	first, n := w.window()
	sc := t.scale
	if sc == 0 {
		sc = 1
	}
	y := func(v float64) float32 { return mid - float32(v/top)*half }
	px := func(k int) float32 { return r.X + float32(k)/float32(n-1)*r.W }
	if t.ceiling > 0 && t.ceiling < top {
		for _, s := range [2]float64{1, -1} {
			yy := y(t.ceiling * s)
			for d := r.X; d < r.Right(); d += 9 {
				l.Line(1.2, th.Ceiling, ink.Point{X: d, Y: yy}, ink.Point{X: min(d+5, r.Right()), Y: yy})
			}
		}
	}
	if t.lost != nil {
		w.hatch = w.hatch[:0]
		flush := func() {
			if len(w.hatch) >= 4 {
				l.HatchStrip(th.Lost, th.Lost.Alpha(0.18), 1.5, 4.5, w.hatch...)
			}
			w.hatch = w.hatch[:0]
		}
		for k := range n {
			d := sampleAt(t.lost, first+int64(k))
			if math.Abs(d) <= t.ceiling {
				flush()
				continue
			}
			a, b := y(d), y(sc*sampleAt(t.kept, first+int64(k)))
			w.hatch = append(w.hatch, ink.Point{X: px(k), Y: min(a, b)}, ink.Point{X: px(k), Y: max(a, b)})
		}
		flush()
	}
	w.thin, w.kept = w.thin[:0], w.kept[:0]
	step := max(1, int(float32(n)/max(r.W, 1)/1.5))
	for k := 0; k < n; k += step {
		if t.thin != nil {
			w.thin = append(w.thin, ink.Point{X: px(k), Y: y(sampleAt(t.thin, first+int64(k)))})
		}
		w.kept = append(w.kept, ink.Point{X: px(k), Y: y(sc * sampleAt(t.kept, first+int64(k)))})
	}
	if t.thin != nil {
		l.Line(1, th.True.Alpha(0.75), w.thin...)
	}
	hue := th.Signal
	if t.mended {
		hue = th.Mended
	}
	l.Line(2, hue, w.kept...)
}
