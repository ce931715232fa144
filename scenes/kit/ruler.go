package kit

import (
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Ruler is the axis of gain that scenes share: where the noise would be too high, the
// window, where an over would be too likely, and where everybody's gain stands.
// What is not known, or not to be told yet, is NaN and not drawn.
type Ruler struct {
	Min, Max float64 // ends of the axis, dB
	// Quiet and Risky bound the window: with less gain than Quiet the noise is above what
	// was asked, with more than Risky overs are likelier than what was asked.
	// Where Quiet is above Risky there is no window, and both zones overlap.
	Quiet, Risky float64
	Ticks        []RulerTick
	Rule         float64 // gain at which talk reads as the published rule of thumb has it, dB
	RuleWords    string  // the rule and where it was published, briefly
	Most         float64 // the most that the take that is looked at allowed, dB
	Secret       string  // why the window is not shown; "" where it may be
	// For says which question the window answers: this take or the hour.
	For [2]*ui.Choice

	box, scale ink.Rect
	nums       [8]ui.Num
	ticks      [8]ui.Num
	words      [6]ui.Strs
	title      string
	said       ui.Strs
}

// RulerTick is a gain on the ruler: a strip's.
type RulerTick struct {
	Name string // short: "A"
	Gain float64
}

// What the window is of.
const (
	RulerForTake = "ruler.take"
	RulerForHour = "ruler.hour"
)

// NewRuler makes a ruler without a window.
func NewRuler() *Ruler {
	r := &Ruler{Min: GainMin, Max: GainMax, Quiet: math.NaN(), Risky: math.NaN(), Rule: math.NaN(), Most: math.NaN()}
	for i, w := range [2][4]string{
		{RulerForTake, "Window for this take", "What the take that was recorded would have allowed.", "this take"},
		{RulerForHour, "Window for the hour", "What an hour with this guest asks for: its loudest laugh has not come yet.", "the hour"},
	} {
		r.For[i] = ui.NewChoice("ruler", w[0], w[1], w[2], w[3])
		r.For[i].Look = ui.Tile
	}
	r.For[1].Checked = true
	return r
}

// RulerHeight is what a ruler needs, dp.
func RulerHeight(th *ui.Theme) float32 { return 8 + max(th.Row(ui.Tiny)*3+4, 40) }

// Controls lists the controls in focus order.
func (r *Ruler) Controls() []ui.Control { return []ui.Control{r.For[0], r.For[1]} }

// X is where a gain lies.
func (r *Ruler) X(gain float64) float32 {
	return r.scale.X + float32((min(max(gain, r.Min), r.Max)-r.Min)/(r.Max-r.Min))*r.scale.W
}

// Layout puts the ruler into box: a title, the scale, the switch. In a narrow box the
// switch stands in the title's row.
func (r *Ruler) Layout(th *ui.Theme, box ink.Rect) {
	r.box = box
	in := ui.Pad(box, 12, 4)
	w := r.For[0].Width(th) + r.For[1].Width(th)
	r.title = "gain, dB"
	switch {
	case r.For[0].Hidden && r.For[1].Hidden:
	default:
		side := ui.Right(&in, min(w, in.W*0.4))
		side.Y, side.H = side.Y+max(0, side.H-ChipHeight(th))/2, min(side.H, ChipHeight(th))
		Share(side, 2, 4, func(i int) float32 { return r.For[i].Width(th) }, func(i int, b ink.Rect) { r.For[i].Bounds = b })
		ui.Right(&in, 14)
	}
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	if lead := ink.Measure(r.title, st) + 16; in.W > 6*lead {
		ui.Left(&in, lead)
	} else {
		r.title = ""
	}
	r.scale = ui.Pad(in, 8, 0)
	r.scale.Y += th.Row(ui.Tiny) + 1
	r.scale.H = max(10, in.H-2*th.Row(ui.Tiny)-2)
}

// window tells the ends to be drawn, and whether there is anything to draw.
func (r *Ruler) window() (quiet, risky float64, ok bool) {
	if r.Secret != "" || math.IsNaN(r.Risky) && math.IsNaN(r.Quiet) {
		return 0, 0, false
	}
	quiet, risky = r.Quiet, r.Risky
	if math.IsNaN(quiet) {
		quiet = r.Min
	}
	if math.IsNaN(risky) {
		risky = r.Max
	}
	return quiet, risky, true
}

// Draw draws the ruler; its switch is drawn with the other controls.
func (r *Ruler) Draw(l *ink.List, th *ui.Theme) {
	Panel(l, th, r.box)
	s := r.scale
	if r.title != "" {
		l.TextIn(ink.Rect{X: r.box.X + 12, Y: s.Y, W: s.X - r.box.X - 12, H: s.H}, r.title, th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
	}
	l.Fill(s, 3, th.Well)
	r.drawZones(l, th)
	l.Frame(s, 3, 1, th.Line)
	r.drawNumbers(l, th)
	r.drawMarks(l, th)
	r.drawTicks(l, th)
}

func (r *Ruler) drawZones(l *ink.List, th *ui.Theme) {
	s := r.scale
	quiet, risky, ok := r.window()
	small := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim)
	if !ok {
		if r.Secret != "" {
			l.TextIn(s, r.words[0].Get([6]int64{Hash(r.Secret), int64(s.W), int64(th.Text * 100)}, func() string {
				return ui.Fit(small, s.W-8, r.Secret, "not told yet", "")
			}), small)
		}
		return
	}
	q, k := r.X(quiet), r.X(risky)
	if q > s.X {
		l.Fill(ink.Rect{X: s.X, Y: s.Y, W: q - s.X, H: s.H}, 0, th.Noise)
	}
	if k < s.Right() {
		l.Hatch(ink.Rect{X: k, Y: s.Y, W: s.Right() - k, H: s.H}, th.Lost, th.Lost.Mix(th.Well, 0.8), 2, 6)
	}
	say := func(i int, x0, x1 float32, c ink.Color, plate bool, ways ...string) {
		st := small
		st.Color, st.Font = c, ink.Bold
		w := x1 - x0 - 8
		t := r.words[i].Get([6]int64{int64(w), int64(th.Text * 100)}, func() string { return ui.Fit(st, w, append(ways, "")...) })
		if t == "" {
			return
		}
		box := ink.Rect{X: x0, Y: s.Y, W: x1 - x0, H: s.H}
		if plate {
			tw := ink.Measure(t, st) + 8
			l.Fill(ink.Rect{X: box.Center().X - tw/2, Y: s.Y + 1, W: tw, H: s.H - 2}, 3, th.Well)
		}
		l.TextIn(box, t, st)
	}
	say(1, s.X, min(q, k), th.Say, true, "too noisy", "noisy")
	say(3, max(q, k), s.Right(), th.SayLost, true, "too risky", "risky")
	if k > q {
		l.Frame(ink.Rect{X: q, Y: s.Y, W: k - q, H: s.H}, 0, 2, th.Good)
		say(2, q, k, th.SayGood, false, "the window", "window")
	} else {
		say(2, k, q, th.SayLost, true, "too noisy and too risky: no window", "no window")
	}
}

func (r *Ruler) drawNumbers(l *ink.List, th *ui.Theme) {
	s := r.scale
	st := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim)
	step := 10.0
	if s.W < 8*ink.Measure("00", st)*1.6 {
		step = 20
	}
	for i, v := 0, r.Min; v <= r.Max && i < len(r.nums); i, v = i+1, v+step {
		x := r.X(v)
		l.Line(1, th.Line, ink.Point{X: x, Y: s.Bottom()}, ink.Point{X: x, Y: s.Bottom() + 3})
		l.TextIn(ink.Rect{X: x - 20, Y: s.Bottom() + 2, W: 40, H: th.Row(ui.Tiny)}, r.nums[i].Text("", v, 0, ""), st)
	}
}

// drawMarks draws the rule of thumb and what the take allowed, with words where there is room.
func (r *Ruler) drawMarks(l *ink.List, th *ui.Theme) {
	s := r.scale
	row := th.Row(ui.Tiny)
	mark := func(i int, gain float64, c, say ink.Color, words func() []string) {
		if math.IsNaN(gain) {
			return
		}
		x := r.X(gain)
		l.Line(2, c, ink.Point{X: x, Y: s.Y - 3}, ink.Point{X: x, Y: s.Bottom() + 1})
		st := th.Style(ui.Tiny, ink.Regular, ink.Left, say)
		w := s.Right() - x - 6
		left := w < s.W*0.3
		if left {
			st.Align, w = ink.Right, x-s.X-6
		}
		t := r.words[i].Get([6]int64{int64(w), int64(th.Text * 100), ui.Q(gain, 0), Hash(r.RuleWords)}, func() string {
			return ui.Fit(st, w, append(words(), "")...)
		})
		box := ink.Rect{X: x + 5, Y: s.Y - row - 1, W: w, H: row}
		if left {
			box.X = s.X
		}
		l.TextIn(box, t, st)
	}
	if math.IsNaN(r.Most) || r.Secret != "" {
		mark(4, r.Rule, th.Ceiling, th.SayCeiling, func() []string { return []string{r.RuleWords} })
		return
	}
	mark(4, r.Rule, th.Ceiling, th.SayCeiling, func() []string { return nil })
	mark(5, r.Most, th.Good, th.SayGood, func() []string {
		v := ui.Decimal(r.Most, 0) + " dB"
		return []string{"this take needed at most " + v, "at most " + v, v}
	})
}

// drawTicks draws where each strip stands: a wedge that points at the scale from above, with its
// letter in it. Those that stand together lie side by side.
func (r *Ruler) drawTicks(l *ink.List, th *ui.Theme) {
	s := r.scale
	st := th.Style(ui.Tiny, ink.Bold, ink.Middle, th.Ground)
	for i := range r.Ticks {
		t := &r.Ticks[i]
		x := r.X(t.Gain)
		same, before := 0, 0
		for k := range r.Ticks {
			if math.Abs(float64(r.X(r.Ticks[k].Gain)-x)) < 12 {
				same++
				if k < i {
					before++
				}
			}
		}
		cx := x + (float32(before)-float32(same-1)/2)*13*th.Text
		top := s.Y + s.H*0.45
		l.Line(2, th.Say, ink.Point{X: x, Y: s.Y}, ink.Point{X: x, Y: s.Bottom() + 2})
		b := ink.Rect{X: cx - 6.5*th.Text, Y: top, W: 13 * th.Text, H: s.Bottom() - top + 4}
		l.Fill(b, 3, th.Say)
		l.TextIn(b, t.Name, st)
	}
}

// Node tells what the ruler shows.
func (r *Ruler) Node() ui.Node {
	key := [6]int64{ui.Q(r.Quiet, 1), ui.Q(r.Risky, 1), ui.Q(r.Rule, 1), ui.Q(r.Most, 1), Hash(r.Secret), int64(len(r.Ticks))}
	for _, t := range r.Ticks {
		key[5] = key[5]*1009 + ui.Q(t.Gain, 1)
	}
	return ui.Node{ID: IDRuler, Role: ui.RoleImage, Name: "Ruler of gain", Value: r.said.Get(key, r.describe), Bounds: r.box}
}

// zone is the word for where a gain stands.
func (r *Ruler) zone(gain float64) string {
	quiet, risky, ok := r.window()
	switch {
	case !ok:
		return ""
	case gain > risky && gain < quiet:
		return ": too noisy and too risky"
	case gain > risky:
		return ": too risky"
	case gain < quiet:
		return ": too noisy"
	}
	return ": in the window"
}

func (r *Ruler) describe() string {
	db := func(v float64) string { return ui.Decimal(v, 0) + " dB" }
	var s string
	switch quiet, risky, ok := r.window(); {
	case r.Secret != "":
		s = Capital(r.Secret) + "."
	case !ok:
		s = "No window is known yet."
	case quiet > risky:
		s = "No window: too noisy below " + db(quiet) + ", too risky above " + db(risky) + "."
	default:
		s = "Too noisy below " + db(quiet) + ", too risky above " + db(risky) + "."
	}
	for _, t := range r.Ticks {
		s += " Strip " + t.Name + " at " + ui.Decimal(t.Gain, 1) + " dB" + r.zone(t.Gain) + "."
	}
	if !math.IsNaN(r.Rule) {
		s += " " + Capital(r.RuleWords) + ": " + db(r.Rule) + "."
	}
	if !math.IsNaN(r.Most) && r.Secret == "" {
		s += " This take needed at most " + db(r.Most) + "."
	}
	return s
}
