package ui

import (
	"math"

	"gainwright/scenes/ink"
)

// Knob is a turning control: drag up and down, Shift for fine, the wheel and
// the arrows in steps, double click or Delete for the default, Enter to type.
type Knob struct {
	Base
	value
	Label  string // under the number
	Unit   string
	Digits int
	PerDP  float64 // units a dp of drag
	Also   string  // the same value on another scale: "mark 4½"
	// Flat puts number and label beside the dial instead of below it.
	Flat bool
	num  Num
	say  Num
}

// NewKnob makes a knob. perDP is how much a drag of one dp turns it.
func NewKnob(id, name, hint, label, unit string, lo, hi, def, step, coarse, perDP float64, digits int) *Knob {
	return &Knob{Base: Base{ID: id, Name: name, Hint: hint}, value: value{def, lo, hi, def, step, coarse},
		Label: label, Unit: unit, Digits: digits, PerDP: perDP}
}

func (k *Knob) editable() bool { return true }

// Node tells the semantics.
func (k *Knob) Node() Node {
	n := k.node(RoleSlider)
	n.Value = k.say.Text("", k.Value, k.Digits, k.Unit)
	if k.Also != "" {
		n.Value += ", " + k.Also
	}
	n.Now, n.Min, n.Max, n.Step = k.Value, k.Min, k.Max, k.Step
	return n
}

// Point turns the knob.
func (k *Knob) Point(p Pointer, g *Grip, out *Out) bool {
	switch p.Kind {
	case Down:
		g.Acc, g.Sent = k.Value, k.Value
		if p.Clicks == 2 {
			g.Dead = true
			out.Emit(Intent{ID: k.ID, Do: DoDefault})
		}
	case Move:
		d := float64(g.Last.Y-p.At.Y) * k.PerDP
		if p.Fine {
			d /= 10
		}
		g.Acc = k.clamp(g.Acc + d)
		if v := k.round(g.Acc, p.Fine); v != g.Sent {
			g.Sent = v
			out.Emit(Intent{ID: k.ID, Do: DoSet, Value: v})
		}
	case Wheel:
		n := float64(p.WheelY)
		if p.Fine {
			n /= 10
		}
		out.Emit(Intent{ID: k.ID, Do: DoNudge, Value: n})
	}
	return true
}

// Key turns the knob.
func (k *Knob) Key(kp KeyPress, out *Out) bool { return k.key(k.ID, kp, out) }

const (
	knobFrom  = 0.75 * math.Pi
	knobSweep = 1.5 * math.Pi
)

// KnobHeight is the height of a knob whose dial is dial dp wide.
func KnobHeight(th *Theme, dial float32) float32 {
	return dial*0.93 + th.Row(Title) + th.Row(Tiny)
}

// Draw draws dial, number, unit and label into the bounds, the dial as large
// as they leave room for.
func (k *Knob) Draw(l *ink.List, th *Theme, st State) {
	b := k.Bounds
	rows := th.Row(Title) + th.Row(Tiny)
	d := min(b.W, (b.H-rows)/0.93, 112*th.Text)
	b.Y += max(0, (b.H-rows-0.93*d)/2)
	b.H = 0.93*d + rows
	c := ink.Point{X: b.X + b.W/2, Y: b.Y + d/2}
	if k.Flat {
		b = k.Bounds
		d = min(b.H/0.93, b.W*0.42, 112*th.Text)
		c = ink.Point{X: b.X + d/2, Y: b.Y + b.H/2 + 0.03*d}
	}
	r := d/2 - 4
	turn := 0.0
	if k.Max > k.Min {
		turn = min(max((k.Value-k.Min)/(k.Max-k.Min), 0), 1)
	}
	a := knobFrom + knobSweep*turn
	l.Arc(c, r, knobFrom, knobFrom+knobSweep, 4, th.Grid)
	hue := th.Signal
	if k.Disabled {
		hue = th.Noise
	}
	if turn > 0.002 {
		l.Arc(c, r, knobFrom, float32(a), 4, hue)
	}
	face := th.Raised
	if st.Hover || st.Pressed {
		face = face.Mix(th.Say, 0.09)
	}
	l.Disc(c, r-7, th.Line)
	l.Disc(c, r-8.2, face)
	s, co := math.Sincos(a)
	from, to := r*0.32, r-11
	l.Line(3, th.Say, ink.Point{X: c.X + from*float32(co), Y: c.Y + from*float32(s)},
		ink.Point{X: c.X + to*float32(co), Y: c.Y + to*float32(s)})
	// A tick outside the ring at the default.
	if k.Max > k.Min {
		s, co = math.Sincos(knobFrom + knobSweep*(k.Default-k.Min)/(k.Max-k.Min))
		l.Line(1.5, th.SayDim, ink.Point{X: c.X + (r+3)*float32(co), Y: c.Y + (r+3)*float32(s)},
			ink.Point{X: c.X + (r+6)*float32(co), Y: c.Y + (r+6)*float32(s)})
	}
	low := ink.Rect{X: b.X, Y: b.Bottom() - rows, W: b.W, H: th.Row(Title)}
	if k.Flat {
		low = ink.Rect{X: b.X + d + 6, Y: b.Y + (b.H-rows)/2, W: b.W - d - 6, H: th.Row(Title)}
	}
	stl := th.Style(Title, ink.Bold, ink.Middle, th.Say)
	if st.Editing {
		typed(l, th, low, st.Edit, stl)
	} else {
		s := k.num.Text("", k.Value, k.Digits, k.Unit)
		if ink.Measure(s, stl) > low.W {
			stl.Size = th.DP(Strong)
		}
		l.TextIn(low, s, stl)
	}
	low.Y, low.H = low.Bottom(), th.Row(Tiny)
	label, tiny := k.Label, th.Style(Tiny, ink.Regular, ink.Middle, th.SayDim)
	if k.Also != "" {
		tiny = th.Style(Tiny, ink.Bold, ink.Middle, th.Say)
		if label = k.Also + " · " + k.Label; ink.Measure(label, tiny) > low.W {
			label = k.Also
		}
	}
	l.TextIn(low, label, tiny)
}

// Slider is a straight control, drawn level: label, track, number.
type Slider struct {
	Base
	value
	Label  string
	Unit   string
	Digits int
	// Stack puts label and number above the track, for narrow places.
	Stack bool
	// Log spaces values in equal ratios; Min must be above 0.
	Log bool
	// Top, if not empty, is what Max is called instead of by its number.
	Top string
	num Num
	say Num
}

// NewSlider makes a slider from lo to hi that rests at def and moves by step, or by
// coarse with a page key; values are in unit.
func NewSlider(id, name, hint, label, unit string, lo, hi, def, step, coarse float64, digits int) *Slider {
	return &Slider{Base: Base{ID: id, Name: name, Hint: hint}, value: value{def, lo, hi, def, step, coarse},
		Label: label, Unit: unit, Digits: digits}
}

func (s *Slider) editable() bool { return true }

// Node tells the semantics.
func (s *Slider) Node() Node {
	n := s.node(RoleSlider)
	n.Value = s.text(&s.say)
	n.Now, n.Min, n.Max, n.Step = s.Value, s.Min, s.Max, s.Step
	return n
}

func (s *Slider) text(n *Num) string {
	if s.Top != "" && s.Value >= s.Max {
		return s.Top
	}
	return n.Text("", s.Value, s.Digits, s.Unit)
}

// part is how far along the track a value lies, 0 to 1; at is its inverse.
func (s *Slider) part(v float64) float64 {
	if s.Max <= s.Min {
		return 0
	}
	v = s.clamp(v)
	if s.Log {
		return math.Log(v/s.Min) / math.Log(s.Max/s.Min)
	}
	return (v - s.Min) / (s.Max - s.Min)
}

func (s *Slider) at(part float64) float64 {
	part = min(max(part, 0), 1)
	if s.Log {
		return s.Min * math.Pow(s.Max/s.Min, part)
	}
	return s.Min + part*(s.Max-s.Min)
}

// track is where the slider slides; its label and number lie beside it, and it
// is the same whoever asks, so that a press lands where it was drawn.
func (s *Slider) track() ink.Rect {
	b := s.Bounds
	if s.Stack {
		return ink.Rect{X: b.X + 8, Y: b.Bottom() - 14, W: b.W - 16, H: 6}
	}
	if s.Label == "" {
		return ink.Rect{X: b.X + 10, Y: b.Y + b.H/2 - 3, W: b.W*0.54 - 10, H: 6}
	}
	return ink.Rect{X: b.X + b.W*0.36, Y: b.Y + b.H/2 - 3, W: b.W * 0.38, H: 6}
}

// Point slides. A press on the track goes there, a drag from anywhere moves by
// what it moves.
func (s *Slider) Point(p Pointer, g *Grip, out *Out) bool {
	t := s.track()
	per := 1 / float64(max(t.W, 1))
	switch p.Kind {
	case Down:
		g.Acc, g.Sent = s.part(s.Value), s.Value
		if p.Clicks == 2 {
			g.Dead = true
			out.Emit(Intent{ID: s.ID, Do: DoDefault})
			return true
		}
		if p.At.X >= t.X && p.At.X <= t.Right() {
			g.Acc = float64(p.At.X-t.X) * per
			s.send(g, p.Fine, out)
		}
	case Move:
		d := float64(p.At.X-g.Last.X) * per
		if p.Fine {
			d /= 10
		}
		g.Acc = min(max(g.Acc+d, 0), 1)
		s.send(g, p.Fine, out)
	case Wheel:
		n := float64(p.WheelY)
		if p.Fine {
			n /= 10
		}
		out.Emit(Intent{ID: s.ID, Do: DoNudge, Value: n})
	}
	return true
}

func (s *Slider) send(g *Grip, fine bool, out *Out) {
	if v := s.round(s.at(g.Acc), fine); v != g.Sent {
		g.Sent = v
		out.Emit(Intent{ID: s.ID, Do: DoSet, Value: v})
	}
}

// Key slides.
func (s *Slider) Key(k KeyPress, out *Out) bool { return s.key(s.ID, k, out) }

func (s *Slider) Draw(l *ink.List, th *Theme, st State) {
	b, t := s.Bounds, s.track()
	say := th.SayDim
	if s.Disabled {
		say = th.Noise
	}
	box := ink.Rect{X: t.Right() + 10, Y: b.Y + b.H/2 - th.Row(Small)/2, W: b.Right() - t.Right() - 10, H: th.Row(Small)}
	stl := th.Style(Small, ink.Bold, ink.Right, th.Say)
	if s.Disabled {
		stl.Color = say
	}
	lab := th.Style(Small, ink.Regular, ink.Left, say)
	if s.Stack {
		w := ink.Measure(s.text(&s.num), stl)
		if st.Editing {
			w = min(max(w, th.Px(70)), b.W/2)
		}
		box = ink.Rect{X: b.Right() - w - 1, Y: b.Y, W: w + 1, H: th.Row(Small)}
		l.TextIn(ink.Rect{X: b.X, Y: b.Y, W: box.X - b.X - 6, H: th.Row(Small)}, s.Label, lab)
	} else {
		l.TextIn(ink.Rect{X: b.X, Y: b.Y, W: t.X - b.X - 10, H: b.H}, s.Label, lab)
	}
	x := t.X + float32(s.part(s.Value))*t.W
	l.Fill(t, 3, th.Grid)
	if x > t.X+1 {
		l.Fill(ink.Rect{X: t.X, Y: t.Y, W: x - t.X, H: t.H}, 3, th.Signal)
	}
	face := th.Say
	if st.Pressed {
		face = th.Signal
	}
	l.Disc(ink.Point{X: x, Y: t.Y + 3}, 8.5, th.Panel)
	l.Disc(ink.Point{X: x, Y: t.Y + 3}, 7, face)
	if st.Editing {
		typed(l, th, box, st.Edit, stl)
		return
	}
	l.TextIn(box, s.text(&s.num), stl)
}

// StackHeight is the height of a slider with its label above.
func StackHeight(th *Theme) float32 { return max(th.Row(Small)+20, th.Least) }
