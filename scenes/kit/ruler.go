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
	// Edge is how finely Risky is known: no gain is called too risky that is above it by
	// less.
	Edge  float64
	Ticks []RulerTick
	// Rule and RuleTo are the gains between which talk reads as the published rule of thumb
	// has it, dB; RuleTo is NaN where that is one gain.
	Rule, RuleTo float64
	RuleWords    [2]string // the rule and where it was published, and that in brief
	Most         float64   // the most that the take that is looked at allowed, dB
	Secret       string    // why the window is not shown; "" where it may be
	// Lead is what is told beside the scale where there is room: what to set, what the
	// meter then holds, how sure that is.
	Lead [3]string
	// For says which question the window answers: this take or the hour.
	For [2]*ui.Choice

	box, scale ink.Rect
	nums       [8]ui.Num
	words      [6]ui.Strs
	title      string
	told       bool // there is room for Lead
	slim       bool // for the scale alone
	letters    []letter
	letterW    float32
	said       ui.Strs
}

// RulerTick is a gain on the ruler: a strip's.
type RulerTick struct {
	Name string // short: "A"
	Said string // what it is called in words
	Gain float64
	// Mute tells that its zone is not told, for it stands before something else.
	Mute bool
	// Own tells that Quiet and Risky are this tick's own window, not the one shown.
	Own          bool
	Quiet, Risky float64
}

// NewRuler makes a ruler without a window.
func NewRuler() *Ruler {
	r := &Ruler{Min: GainMin, Max: GainMax, Quiet: math.NaN(), Risky: math.NaN(), Rule: math.NaN(), RuleTo: math.NaN(), Most: math.NaN()}
	for i, w := range [2][4]string{
		{IDRulerTake, "Window for this take", "What the take that was recorded would have allowed.", "this take"},
		{IDRulerHour, "Window for the hour", "What an hour with this guest asks for: its loudest laugh has not come yet.", "the hour"},
	} {
		r.For[i] = ui.NewChoice("ruler", w[0], w[1], w[2], w[3])
		r.For[i].Look = ui.Tile
	}
	r.For[1].Checked = true
	return r
}

// RulerHeight is what a ruler needs, dp.
func RulerHeight(th *ui.Theme) float32 { return 8 + max(th.Row(ui.Tiny)*3+4, 40) }

// RulerRoom is what a ruler takes of a picture of a height: what it needs or, where
// everything else would be left too little, the scale alone.
func RulerRoom(th *ui.Theme, height float32) float32 {
	if height < 330*th.Text+th.Least {
		return th.Tall(8 + max(th.Row(ui.Tiny)+2, 22))
	}
	return RulerHeight(th)
}

// Controls lists the controls in focus order.
func (r *Ruler) Controls() []ui.Control { return []ui.Control{r.For[0], r.For[1]} }

// Between sets the window's ends; an end that no gain reaches leaves the whole scale on that
// side of it, and one that all do nothing.
func (r *Ruler) Between(quiet, risky, edge float64) {
	r.Quiet, r.Risky, r.Edge = quiet, risky, edge
	switch {
	case math.IsInf(quiet, 1):
		r.Quiet = r.Max
	case math.IsInf(quiet, -1):
		r.Quiet = math.NaN()
	}
	switch {
	case math.IsInf(risky, -1):
		r.Risky = r.Min
	case math.IsInf(risky, 1):
		r.Risky = math.NaN()
	}
}

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
		chip := min(ChipHeight(th), box.H)
		side.Y, side.H = side.Y+(side.H-chip)/2, chip
		Share(side, 2, 4, func(i int) float32 { return r.For[i].Width(th) }, func(i int, b ink.Rect) { r.For[i].Bounds = b })
		ui.Right(&in, 14)
	}
	lead := ink.Measure(r.title, th.Style(ui.Small, ink.Bold, ink.Left, th.Say)) + 16
	if r.told = in.W > 4.5*leadWidth(th); r.told {
		lead = leadWidth(th) + 16
	}
	if in.W > 4*lead {
		ui.Left(&in, lead)
	} else {
		r.title = ""
	}
	r.scale = ui.Pad(in, 8, 0)
	if r.slim = box.H < RulerHeight(th)-1; r.slim {
		r.told = false
		return
	}
	r.scale.Y += th.Row(ui.Tiny) + 1
	r.scale.H = max(10, in.H-2*th.Row(ui.Tiny)-2)
}

// leadWidth is the room that Lead needs.
func leadWidth(th *ui.Theme) float32 {
	return ink.Measure("talk's held peak −22 dBFS", th.Style(ui.Tiny, ink.Regular, ink.Left, th.Say))
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
	r.placeTicks(th)
	switch {
	case r.told && r.Lead[0] != "" && r.Secret == "":
		r.drawLead(l, th)
	case r.title != "":
		l.TextIn(ink.Rect{X: r.box.X + 12, Y: s.Y, W: s.X - r.box.X - 16, H: s.H}, r.title, th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
	}
	l.Fill(s, 3, th.Well)
	r.drawZones(l, th)
	l.Frame(s, 3, 1, th.Line)
	r.drawNumbers(l, th)
	r.drawMarks(l, th)
	r.drawTicks(l, th)
}

func (r *Ruler) drawLead(l *ink.List, th *ui.Theme) {
	b := ui.Pad(r.box, 12, 4)
	b.W = r.scale.X - b.X - 4
	head, row := th.Row(ui.Small), th.Row(ui.Tiny)
	b.Y += max(0, (b.H-head-2*row)/2)
	l.TextIn(ink.Rect{X: b.X, Y: b.Y, W: b.W, H: head}, r.Lead[0], th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
	for i, w := range r.Lead[1:] {
		l.TextIn(ink.Rect{X: b.X, Y: b.Y + head + float32(i)*row, W: b.W, H: row}, w, th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim))
	}
}

func (r *Ruler) drawZones(l *ink.List, th *ui.Theme) {
	s := r.scale
	quiet, risky, ok := r.window()
	small := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim)
	if !ok {
		if r.Secret != "" {
			from, to := s.X, s.Right()
			if rule := r.X(r.Rule); rule-s.X > s.W/2 {
				to = rule
			} else if end := r.X(r.RuleTo); !math.IsNaN(r.RuleTo) {
				from = end
			}
			x0, x1 := r.free(from, to)
			l.TextIn(ink.Rect{X: x0, Y: s.Y, W: x1 - x0, H: s.H}, r.words[0].Get([6]int64{Hash(r.Secret), int64(x1 - x0), int64(th.Text * 100)}, func() string {
				return ui.Fit(small, x1-x0-8, r.Secret, "not told yet", "")
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
		x0, x1 = r.free(x0, x1)
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
	if r.slim {
		return
	}
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
	mark := func(i int, gain, to float64, c, say ink.Color, words func() []string) {
		if math.IsNaN(gain) {
			return
		}
		x, end := r.X(gain), r.X(gain)
		l.Line(2, c, ink.Point{X: x, Y: s.Y - 3}, ink.Point{X: x, Y: s.Bottom() + 1})
		if to > gain {
			end = r.X(to)
			l.Line(2, c, ink.Point{X: end, Y: s.Y - 3}, ink.Point{X: end, Y: s.Bottom() + 1})
			l.Line(2, c, ink.Point{X: x, Y: s.Y - 2}, ink.Point{X: end, Y: s.Y - 2})
		}
		st := th.Style(ui.Tiny, ink.Regular, ink.Left, say)
		// On the side where there is more room.
		w := s.Right() - end - 6
		left := x-s.X-6 > w
		if left {
			st.Align, w = ink.Right, x-s.X-6
		}
		if r.slim {
			return
		}
		t := r.words[i].Get([6]int64{int64(w), int64(th.Text * 100), ui.Q(gain, 0), Hash(r.RuleWords[0])<<1 | Bit(math.IsNaN(r.Most) || r.Secret != "")}, func() string {
			return ui.Fit(st, w, append(words(), "")...)
		})
		box := ink.Rect{X: end + 5, Y: s.Y - row - 1, W: w, H: row}
		if left {
			box.X = s.X
		}
		l.TextIn(box, t, st)
	}
	if math.IsNaN(r.Most) || r.Secret != "" {
		mark(4, r.Rule, r.RuleTo, th.Ceiling, th.SayCeiling, func() []string { return r.RuleWords[:] })
		return
	}
	mark(4, r.Rule, r.RuleTo, th.Ceiling, th.SayCeiling, func() []string { return nil })
	mark(5, r.Most, math.NaN(), th.Good, th.SayGood, func() []string {
		v := ui.Decimal(r.Most, 0) + " dB"
		return []string{"this take needed at most " + v, "at most " + v, v}
	})
}

// mostTicks is how many strips and other gains there are room for.
const mostTicks = 6

// tickWidth is how wide a tick's letter is.
func tickWidth(th *ui.Theme) float32 { return 13 * th.Text }

// placeTicks finds where the letters stand: over their gains, side by side where these are
// too close, and within the scale. It spreads neighbours about their mean, as isotonic
// regression does.
func (r *Ruler) placeTicks(th *ui.Theme) {
	w, n := tickWidth(th), min(len(r.Ticks), mostTicks)
	r.letters = r.letters[:0]
	for i := range n { // in order of gain
		k := i
		r.letters = append(r.letters, letter{})
		for ; k > 0 && r.Ticks[r.letters[k-1].of].Gain > r.Ticks[i].Gain; k-- {
			r.letters[k] = r.letters[k-1]
		}
		r.letters[k] = letter{of: i}
	}
	for i := range r.letters {
		r.letters[i].x, r.letters[i].n = r.X(r.Ticks[r.letters[i].of].Gain)-float32(i)*w, 1
		// Those that would overlap share their mean.
		for k := i; k > 0; {
			first := k - r.letters[k-1].n
			if r.letters[k-1].x <= r.letters[k].x {
				break
			}
			a, b := r.letters[k-1].n, i-k+1
			x := (r.letters[k-1].x*float32(a) + r.letters[k].x*float32(b)) / float32(a+b)
			for m := first; m <= i; m++ {
				r.letters[m].x, r.letters[m].n = x, a+b
			}
			k = first
		}
	}
	lo, hi := r.scale.X+w/2, r.scale.Right()-w/2-float32(n-1)*w
	for i := range r.letters {
		l := &r.letters[i]
		l.x = max(min(l.x, hi), lo) + float32(i)*w
	}
	r.letterW = w
}

// letter is where a tick's letter stands: over x; n stand together.
type letter struct {
	of, n int
	x     float32
}

// free is the widest stretch between two places that no letter stands in.
func (r *Ruler) free(x0, x1 float32) (from, to float32) {
	from, to = x0, x0
	at := x0
	for i := range r.letters {
		a, b := r.letters[i].x-r.letterW/2, r.letters[i].x+r.letterW/2
		if b <= x0 || a >= x1 {
			continue
		}
		if a-at > to-from {
			from, to = at, a
		}
		at = max(at, b)
	}
	if x1-at > to-from {
		from, to = at, x1
	}
	return from, to
}

// drawTicks draws where each strip stands: a line across the scale, with its letter on it.
func (r *Ruler) drawTicks(l *ink.List, th *ui.Theme) {
	s := r.scale
	st := th.Style(ui.Tiny, ink.Bold, ink.Middle, th.Ground)
	for _, p := range r.letters {
		t := &r.Ticks[p.of]
		x := r.X(t.Gain)
		top := s.Y + 1
		l.Line(2, th.Say, ink.Point{X: x, Y: s.Y}, ink.Point{X: x, Y: s.Bottom() + 2})
		b := ink.Rect{X: p.x - r.letterW/2 + 0.5, Y: top, W: r.letterW - 1, H: s.Bottom() - top}
		l.Fill(b, 3, th.Say)
		l.TextIn(b, t.Name, st)
	}
}

// Node tells what the ruler shows.
func (r *Ruler) Node() ui.Node {
	key := [6]int64{ui.Q(r.Quiet, 1), ui.Q(r.Risky, 1), ui.Q(r.Rule, 1), ui.Q(r.Most, 1), Hash(r.Secret)*31 + Hash(r.Lead[0])*7 + Hash(r.Lead[1])*3 + Hash(r.Lead[2]), int64(len(r.Ticks))}
	for _, t := range r.Ticks {
		key[5] = key[5]*1009 + ui.Q(t.Gain, 1)
		if t.Own {
			key[5] = key[5]*31 + ui.Q(t.Quiet, 1)*7 + ui.Q(t.Risky, 1)
		}
	}
	return ui.Node{ID: IDRuler, Role: ui.RoleImage, Name: "Ruler of gain", Value: r.said.Get(key, r.describe), Bounds: r.box}
}

// zone is the word for where a gain stands.
func (r *Ruler) zone(t *RulerTick) string {
	quiet, risky, ok := r.window()
	if !ok || t.Mute {
		return ""
	}
	if t.Own {
		quiet, risky = t.Quiet, t.Risky
	}
	risky += r.Edge
	switch gain := t.Gain; {
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
	if r.Secret == "" && r.Lead[0] != "" {
		s += " " + Capital(r.Lead[0])
		for _, w := range r.Lead[1:] {
			if w != "" {
				s += ", " + w
			}
		}
		s += "."
	}
	for i := range r.Ticks {
		t := &r.Ticks[i]
		name := t.Said
		if name == "" {
			name = "Strip " + t.Name
		}
		s += " " + name + " at " + ui.Decimal(t.Gain, 1) + " dB" + r.zone(t) + "."
	}
	if !math.IsNaN(r.Rule) {
		s += " " + Capital(r.RuleWords[0]) + ": " + db(r.Rule)
		if r.RuleTo > r.Rule {
			s += " to " + db(r.RuleTo)
		}
		s += "."
	}
	if !math.IsNaN(r.Most) && r.Secret == "" {
		s += " This take needed at most " + db(r.Most) + "."
	}
	return s
}
