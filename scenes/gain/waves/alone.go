package waves

import (
	"math"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// DrawAlone draws into box what the file kept of the moment shown, over what the talker
// did, with a ring around each flat top.
func (w *View) DrawAlone(l *ink.List, th *ui.Theme, box ink.Rect) {
	l.Fill(box, 5, th.Well)
	mid := box.Y + box.H/2
	l.Line(1, th.Grid, ink.Point{X: box.X, Y: mid}, ink.Point{X: box.Right(), Y: mid})
	win, ok := w.Current()
	if !ok {
		return
	}
	const file = 3 // of the four taps
	x := &win.Strip[w.v.Shown]
	ceiling := float32(sim.Ceilings(w.v.Chain(w.v.Shown))[sim.AtConverter])
	first, n := w.part()
	top := float32(0.1)
	for k := first; k < first+n; k++ {
		top = max(top, x.Truth[k], -x.Truth[k], x.Demand[k], -x.Demand[k])
	}
	top *= 1.15
	w.panel(l, th, box, x, file, first, n, top, ceiling)
	l.Clip(box)
	defer l.Unclip()
	for _, f := range flats(x, first, n, ceiling) {
		px := func(k int) float32 { return box.X + float32(k)/float32(max(n-1, 1))*box.W }
		y := mid - ceiling*f.sign/top*box.H/2
		ring(l, th, ink.Point{X: (px(f.from) + px(f.to)) / 2, Y: y}, (px(f.to)-px(f.from))/2+9, 11)
	}
}

// Flats counts the flat tops of the moment shown.
func (w *View) Flats() int {
	win, ok := w.Current()
	if !ok {
		return 0
	}
	first, n := w.part()
	return len(flats(&win.Strip[w.v.Shown], first, n, float32(sim.Ceilings(w.v.Chain(w.v.Shown))[sim.AtConverter])))
}

// part is the part of the window that is shown.
func (w *View) part() (first, n int) {
	n = min(int(w.Span()*bench.Rate/1000), bench.WindowFrames)
	return (bench.WindowFrames - n) / 2, n
}

// flat is a run of samples beyond the ceiling, counted from the first one shown.
type flat struct {
	from, to int
	sign     float32
}

func flats(x *bench.StripWindow, first, n int, ceiling float32) (out []flat) {
	for k := range n {
		d := x.Demand[first+k]
		if d <= ceiling && d >= -ceiling {
			continue
		}
		sign := float32(math.Copysign(1, float64(d)))
		if i := len(out) - 1; i >= 0 && out[i].to >= k-2 && out[i].sign == sign {
			out[i].to = k
			continue
		}
		out = append(out, flat{k, k, sign})
	}
	return out
}

// ring draws an ellipse.
func ring(l *ink.List, th *ui.Theme, c ink.Point, rx, ry float32) {
	var pts [33]ink.Point
	for i := range pts {
		s, co := math.Sincos(2 * math.Pi * float64(i) / float64(len(pts)-1))
		pts[i] = ink.Point{X: c.X + rx*float32(co), Y: c.Y + ry*float32(s)}
	}
	l.Line(2, th.Ceiling, pts[:]...)
}
