package scenes

import (
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// waveView shows the same few milliseconds at four places of the chain. In a
// take one can drag it along.
type waveView struct {
	ui.Base
	v      *sight
	spanMS float64 // as asked for
	at     int64   // frame of the take in the middle
	of     *Take   // what win shows
	wonAt  int64
	won    int // strip
	win    Window
	known  *Take // the last take that was noticed
	wells  [4]ink.Rect
	names  [4]ink.Rect
	notes  [4]ink.Rect
	head   ink.Rect
	truth  []ink.Point
	kept   []ink.Point
	hatch  []ink.Point
	say    ui.Num
	txt    [4]ui.Strs
	title  ui.Num
	now    float64
	env    envelope
}

// What the waves show, in milliseconds: at the least, and as much as is kept
// besides takes.
const (
	spanMin    = 1
	spanWindow = 1000 * WindowFrames / Rate
)

// spanMax is the most that can be shown: the whole take, or what is kept of the
// loudest moment.
func (w *waveView) spanMax() float64 {
	if t := w.review(); t != nil {
		return max(t.Seconds()*1000, spanMin)
	}
	return spanWindow
}

func (w *waveView) review() *Take {
	if w.v.absent(w.v.shown) {
		return nil
	}
	return w.v.s.Shown()
}

// span is what is shown, in milliseconds.
func (w *waveView) span() float64 { return min(max(w.spanMS, spanMin), w.spanMax()) }

// zoom goes n steps farther (or nearer), of which six are a factor of ten.
func (w *waveView) zoom(n float64) {
	v := w.span() * math.Pow(10, n/6)
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
	w.spanMS = min(max(v, spanMin), w.spanMax())
}

// envelope is the lowest and highest of a stretch of a take, column by column.
type envelope struct {
	of     *Take
	strip  int
	at     int64
	frames int64
	lo, hi [numTaps][]float32
	over   []bool
}

// Columns fills lo and hi with the extremes of n columns between two frames.
func (t *Take) Columns(e *envelope, strip int, from, frames int64, n int) {
	for k := range numTaps {
		e.lo[k], e.hi[k] = grown(e.lo[k], n), grown(e.hi[k], n)
	}
	e.over = grown(e.over, n)
	total := t.frames.Load()
	for i := range n {
		a, b := from+frames*int64(i)/int64(n), from+frames*int64(i+1)/int64(n)
		a, b = max(a, 0), min(max(b, a+1), total)
		var lo, hi [numTaps]float32
		over := false
		if b-a >= 2*binFrames {
			for f := a / binFrames; f < b/binFrames; f++ {
				c := &t.bins[strip][f]
				for k := range numTaps {
					lo[k], hi[k] = min(lo[k], c.lo[k]), max(hi[k], c.hi[k])
				}
				over = over || c.over
			}
		} else {
			for f := a; f < b; f++ {
				c := t.chunks[strip][f/chunkFrames].Load()
				if c == nil {
					break
				}
				o := f % chunkFrames
				for k, v := range [numTaps]float32{c.truth[o].float(), c.demand[o].float(), c.conv[o].float(), c.file[o]} {
					if f == a {
						lo[k], hi[k] = v, v
					}
					lo[k], hi[k] = min(lo[k], v), max(hi[k], v)
				}
			}
		}
		for k := range numTaps {
			e.lo[k][i], e.hi[k][i] = lo[k], hi[k]
		}
		e.over[i] = over
	}
}

func grown[T any](x []T, n int) []T {
	if cap(x) < n {
		return make([]T, n)
	}
	return x[:n]
}

func newWaveView(v *sight) *waveView {
	return &waveView{Base: ui.Base{ID: "scope.at_ms", Name: "Moment shown",
		Hint: "Drag or use the arrow keys to look at another moment of the take; the wheel zooms."}, v: v, spanMS: 12}
}

func (w *waveView) sync() {
	w.Disabled, w.Why = w.v.s.Shown() == nil, "the loudest moment so far is shown; record a take to look around in it"
}

// follow looks at a frame of the take.
func (w *waveView) follow(frame int64) { w.at = frame }

func (w *waveView) set(it Intent) error {
	t := w.v.s.Take()
	if t == nil || !t.Done {
		return errNoTake
	}
	v, err := numeric(it, float64(w.at)*1000/Rate, float64(t.Loudest)*1000/Rate, 1, 0, t.Seconds()*1000)
	if err == nil {
		w.at = int64(math.Round(v * Rate / 1000))
	}
	return err
}

// current is the window to draw, and whether there is one.
func (w *waveView) current() (*Window, bool) {
	s := w.v.s
	if t := s.Shown(); t != nil {
		if w.of != t || w.wonAt != w.at || w.won != w.v.shown {
			t.window(&w.win, w.v.shown, w.at)
			w.of, w.wonAt, w.won = t, w.at, w.v.shown
		}
		return &w.win, true
	}
	w.of = nil
	return s.Shot(), s.Shot().Valid
}

// Node tells the semantics.
func (w *waveView) Node() Node {
	n := Node{ID: w.ID, Role: RoleSlider, Name: w.Name, Hint: w.Hint, Disabled: w.Disabled, Why: w.Why, Bounds: w.Bounds, Focus: !w.Disabled}
	n.Value = w.say.Text("", float64(w.at)*1000/Rate, 0, " ms")
	n.Now, n.Step = float64(w.at)*1000/Rate, 1
	if t := w.v.s.Take(); t != nil {
		n.Max = t.Seconds() * 1000
	}
	n.Now = min(n.Now, n.Max) // another scene may have had a longer take
	return n
}

// Point drags along the take and zooms.
func (w *waveView) Point(p Pointer, g *ui.Grip, out *ui.Out) bool {
	switch p.Kind {
	case ui.Down:
		g.Acc = float64(w.at) * 1000 / Rate
		g.Sent = g.Acc
	case ui.Move:
		per := w.span() / float64(max(w.wells[0].W, 1))
		g.Acc -= float64(p.At.X-g.Last.X) * per
		end := 0.0
		if t := w.v.s.Take(); t != nil {
			end = t.Seconds() * 1000
		}
		g.Acc = min(max(g.Acc, 0), end)
		out.Emit(Intent{ID: w.ID, Do: ui.DoSet, Value: g.Acc})
	case ui.Wheel:
		out.Emit(Intent{ID: "scope.span_ms", Do: ui.DoNudge, Value: math.Copysign(1, float64(-p.WheelY))})
	}
	return true
}

// Key moves along the take.
func (w *waveView) Key(k KeyPress, out *ui.Out) bool {
	n := 0.0
	switch k.Key {
	case "ArrowRight":
		n = max(1, math.Round(w.span()/12))
	case "ArrowLeft":
		n = -max(1, math.Round(w.span()/12))
	case "PageUp":
		n = max(20, math.Round(w.span()))
	case "PageDown":
		n = -max(20, math.Round(w.span()))
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

// Layout places the four pictures into box, which has no title.
func (w *waveView) layout(th *ui.Theme, box ink.Rect) {
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

// tap gives the wave of panel i.
func (x *StripWindow) tap(i int) *[WindowFrames]float32 {
	return [4]*[WindowFrames]float32{&x.Truth, &x.Demand, &x.Conv, &x.File}[i]
}

// Draw draws the four pictures.
func (w *waveView) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	win, ok := w.current()
	v := w.v
	c := v.chain(v.shown)
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
	if t := w.review(); t != nil && w.span() > spanWindow {
		w.drawFar(l, th, t, names, ceiling)
		return
	}
	x := &win.Strip[v.shown]
	n := min(int(w.span()*Rate/1000), WindowFrames)
	first := (WindowFrames - n) / 2
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
		key[0], key[1], key[2], key[3] = int64(i), int64(over), int64(n), ui.Q(decibel(float64(peak)), 1)
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
			pk := "peak " + ui.Decimal(decibel(float64(peak)), 1) + " dBFS"
			if limited && over > 0 {
				return ui.Fit(note, w.notes[i].W, pk+", turned down, still flat", pk+", still flat", pk)
			}
			return ui.Fit(note, w.notes[i].W, pk+" here", pk)
		})
		if i == 2 && over > 0 {
			note.Color = th.SayLost
		}
		l.TextIn(w.notes[i], s, note)
	}
}

// drawFar draws more than single waves: the extremes of each column.
func (w *waveView) drawFar(l *ink.List, th *ui.Theme, t *Take, names [4]string, ceiling float32) {
	n := max(int(w.wells[0].W/1.5), 2)
	frames := int64(w.span() * Rate / 1000)
	e := &w.env
	if e.of != t || e.strip != w.v.shown || e.at != w.at || e.frames != frames || len(e.over) != n {
		e.of, e.strip, e.at, e.frames = t, w.v.shown, w.at, frames
		t.Columns(e, e.strip, w.at-frames/2, frames, n)
	}
	top := float32(0.1)
	overs := 0
	for i := range n {
		top = max(top, e.hi[tapTruth][i], -e.lo[tapTruth][i], e.hi[tapDemand][i], -e.lo[tapDemand][i])
		if e.hi[tapDemand][i] > ceiling || e.lo[tapDemand][i] < -ceiling {
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
					a, b := y(e.hi[tapDemand][k]), y(min(e.hi[tapDemand][k], max(e.hi[i][k], 0)))
					over := e.hi[tapDemand][k] > ceiling
					if side == 1 {
						a, b = y(max(e.lo[tapDemand][k], min(e.lo[i][k], 0))), y(e.lo[tapDemand][k])
						over = e.lo[tapDemand][k] < -ceiling
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
			w.kept = append(w.kept, ink.Point{X: px(k), Y: y(e.hi[i][k]) - 0.5}, ink.Point{X: px(k), Y: y(e.lo[i][k]) + 0.5})
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

func (w *waveView) panelNames(th *ui.Theme, c sim.Chain) (n [4]string) {
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

func (w *waveView) panel(l *ink.List, th *ui.Theme, r ink.Rect, x *StripWindow, i, first, n int, top, ceiling float32) {
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
	kept := x.tap(i)
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
