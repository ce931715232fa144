package ui

import (
	"gainwright/scenes/ink"
)

// Base is what all controls have.
type Base struct {
	ID, Name, Hint string
	Bounds         ink.Rect
	// Clip, if not empty, limits where the control can be seen and pressed.
	Clip     ink.Rect
	Disabled bool
	Why      string // why it is disabled
	Hidden   bool   // neither drawn nor reached
}

// Common is what every control has; a control gets it by embedding.
func (b *Base) Common() *Base { return b }

func (b *Base) node(role Role) Node {
	bounds := b.Bounds
	if b.Clip.W > 0 {
		bounds = bounds.Intersect(b.Clip)
	}
	return Node{ID: b.ID, Role: role, Name: b.Name, Hint: b.Hint, Disabled: b.Disabled, Why: b.Why,
		Bounds: bounds, Focus: !b.Disabled}
}

// State is what a Router knows about a control while it is drawn.
type State struct {
	Hover, Pressed, Focused bool
	Editing                 bool
	Edit                    string // what has been typed so far
}

// Control is one thing a person can use.
type Control interface {
	Common() *Base
	// Node tells its semantics.
	Node() Node
	// Point takes an event of a press that belongs to the control, or the wheel
	// turning over it. It reports whether the control had a use for it.
	Point(p Pointer, g *Grip, out *Out) bool
	// Key takes a key while the control has the focus and reports whether it had
	// a use for it.
	Key(k KeyPress, out *Out) bool
	Draw(l *ink.List, th *Theme, st State)
}

// Grip is what is remembered of a press while it lasts.
type Grip struct {
	Start, Last ink.Point
	Acc         float64 // the value that the drag stands at, not rounded
	Sent        float64 // the last value emitted
	Dead        bool    // what follows has no effect
}

// Out collects intents.
type Out struct{ List []Intent }

// Emit appends an intent.
func (o *Out) Emit(it Intent) { o.List = append(o.List, it) }

// value is the part that knobs, sliders and timelines share.
type value struct {
	Value, Min, Max, Default float64
	Step                     float64 // of an arrow key or a notch of the wheel
	Coarse                   float64 // of PageUp and PageDown
}

func (v *value) clamp(x float64) float64 { return min(max(x, v.Min), v.Max) }

func (v *value) round(x float64, fine bool) float64 {
	step := v.Step
	if fine {
		step /= 10
	}
	return v.clamp(roundTo(x, step))
}

func (v *value) key(id string, k KeyPress, out *Out) bool {
	n, set := 0.0, v.Value
	one, coarse := 1.0, v.Coarse/v.Step
	if k.Shift {
		one = 0.1
	}
	switch k.Key {
	case "ArrowUp", "ArrowRight":
		n = one
	case "ArrowDown", "ArrowLeft":
		n = -one
	case "PageUp":
		n = coarse
	case "PageDown":
		n = -coarse
	case "Home":
		set = v.Min
	case "End":
		set = v.Max
	case "Delete", "Backspace":
		out.Emit(Intent{ID: id, Do: DoDefault})
		return true
	default:
		return false
	}
	if n != 0 {
		out.Emit(Intent{ID: id, Do: DoNudge, Value: n})
	} else {
		out.Emit(Intent{ID: id, Do: DoSet, Value: set})
	}
	return true
}

// Nudge gives the value n steps on from v, on the grid of steps (or of tenths
// of a step, if n is no whole number) and within min and max: what a "nudge"
// intent asks for.
func Nudge(v, n, step, lo, hi float64) float64 {
	grid := step
	if n != float64(int64(n)) {
		grid /= 10
	}
	return min(max(roundTo(v+n*step, grid), lo), hi)
}

func roundTo(x, step float64) float64 {
	// Dividing by the inverse keeps tenths exact: 0.1 has no exact value, 10 has.
	if inv := 1 / step; inv == float64(int64(inv)) {
		return float64(roundHalf(x*inv)) / inv
	}
	return float64(roundHalf(x/step)) * step
}

func roundHalf(x float64) int64 {
	if x < 0 {
		return -int64(-x + 0.5)
	}
	return int64(x + 0.5)
}

func press(k Key) bool { return k == "Enter" || k == " " }

// typed shows what is being typed, with a caret.
func typed(l *ink.List, th *Theme, box ink.Rect, edit string, st ink.Style) {
	l.Fill(box, 4, th.Well)
	l.Frame(box, 4, 1.5, th.Focus)
	in := Pad(box, 6, 0)
	w := ink.Measure(edit, st)
	st.Align = ink.Left
	x := in.X + max(0, (in.W-w)/2)
	l.TextIn(ink.Rect{X: x, Y: in.Y, W: in.Right() - x, H: in.H}, edit, st)
	cx := min(x+w+1.5, in.Right())
	l.Line(1.5, th.Say, ink.Point{X: cx, Y: box.Y + box.H*0.2}, ink.Point{X: cx, Y: box.Y + box.H*0.8})
}
