package ui

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gainwright/scenes/ink"
)

// form is a scene in small: it carries out what its controls ask for.
type form struct {
	r     Router
	gain  *Knob
	level *Slider
	rec   *Button
	tick  *Check
	a, b  *Choice
	meter *Meter
	line  *Timeline
	cs    []Control
	log   []Intent
}

func newForm() *form {
	d := &form{
		gain:  NewKnob("A.gain_db", "Strip A, preamp gain", "", "preamp gain", " dB", 0, 60, 40, 1, 6, 0.25, 1),
		level: NewSlider("listen.level_db", "Listening level", "", "Listening level", " dB", -60, 0, -20, 1, 6, 0),
		rec:   NewButton("record", "Record", "", "Record", Plain, IconRecord),
		tick:  NewCheck("listen.matched", "Matched", "", "matched in loudness"),
		a:     NewChoice("listen", "listen.A", "A", "", "A"),
		b:     NewChoice("listen", "listen.B", "B", "", "B"),
		meter: NewMeter("A.meter", "Strip A, file level", ""),
		line:  NewTimeline("take.at_s", "Place in the take", ""),
	}
	d.a.Checked = true
	d.line.Max = 20
	d.line.Wave = func(from, to float64) (float32, float32) {
		return -float32(math.Abs(math.Sin(from))), float32(math.Abs(math.Sin(to)))
	}
	d.line.Overs = []Span{{3, 3.01}, {3.02, 3.03}, {12, 12.5}}
	d.line.Marks = []Mark{{3, "laugh"}, {3.1, "louder"}, {12, "cough"}}
	d.gain.Bounds = ink.Rect{X: 20, Y: 20, W: 100, H: 140}
	d.level.Bounds = ink.Rect{X: 140, Y: 20, W: 300, H: 44}
	d.rec.Bounds = ink.Rect{X: 140, Y: 80, W: 120, H: 44}
	d.tick.Bounds = ink.Rect{X: 280, Y: 80, W: 200, H: 24}
	d.a.Bounds = ink.Rect{X: 140, Y: 140, W: 80, H: 44}
	d.b.Bounds = ink.Rect{X: 224, Y: 140, W: 80, H: 44}
	d.meter.Bounds = ink.Rect{X: 500, Y: 20, W: 50, H: 160}
	d.line.Bounds = ink.Rect{X: 20, Y: 220, W: 600, H: 60}
	d.cs = []Control{d.gain, d.level, d.rec, d.tick, d.a, d.b, d.meter, d.line}
	return d
}

func (d *form) do(in Input) []Intent {
	its := d.r.Update(&in, d.cs)
	for _, it := range its {
		d.apply(it)
	}
	d.log = append(d.log, its...)
	return its
}

func (d *form) apply(it Intent) {
	num := func(v *value) {
		switch it.Do {
		case DoSet:
			v.Value = min(max(it.Value, v.Min), v.Max)
		case DoNudge:
			v.Value = Nudge(v.Value, it.Value, v.Step, v.Min, v.Max)
		case DoDefault:
			v.Value = v.Default
		}
	}
	switch it.ID {
	case "A.gain_db":
		num(&d.gain.value)
	case "listen.level_db":
		num(&d.level.value)
	case "take.at_s":
		num(&d.line.value)
	case "record":
		d.rec.On = !d.rec.On
	case "listen.matched":
		d.tick.On = !d.tick.On
	case "listen.A", "listen.B":
		d.a.Checked, d.b.Checked = it.ID == "listen.A", it.ID == "listen.B"
	}
}

func at(x, y float32) ink.Point { return ink.Point{X: x, Y: y} }

func ptr(k PointerKind, x, y float32) Pointer { return Pointer{Kind: k, At: at(x, y), Clicks: 1} }

func keys(ks ...Key) (in Input) {
	for _, k := range ks {
		in.Keys = append(in.Keys, KeyPress{Key: k})
	}
	return in
}

func TestKnobDragIsFixedPerDP(t *testing.T) {
	d := newForm()
	d.do(Input{Pointers: []Pointer{ptr(Down, 70, 60), ptr(Move, 70, 40), ptr(Move, 70, 20)}})
	if d.gain.Value != 50 { // 40 dp up at 0.25 dB a dp
		t.Fatalf("gain %v after a drag of 40 dp, want 50", d.gain.Value)
	}
	// The press stays with the knob wherever the pointer goes.
	d.do(Input{Pointers: []Pointer{ptr(Move, 200, 100)}})
	if d.gain.Value != 30 {
		t.Fatalf("gain %v after dragging over a button, want 30", d.gain.Value)
	}
	if d.do(Input{Pointers: []Pointer{ptr(Up, 200, 100)}}); d.rec.On {
		t.Fatal("the release of a captured press reached the button under it")
	}
	if its := d.do(Input{Pointers: []Pointer{ptr(Move, 70, 90)}}); len(its) != 0 {
		t.Fatalf("moved after release: %v", its)
	}
}

func TestKnobFineAndSwitchingMidDrag(t *testing.T) {
	d := newForm()
	fine := func(k PointerKind, y float32) Pointer { p := ptr(k, 70, y); p.Fine = true; return p }
	d.do(Input{Pointers: []Pointer{ptr(Down, 70, 60), ptr(Move, 70, 56), fine(Move, 48)}})
	if want := 41.2; math.Abs(d.gain.Value-want) > 1e-9 {
		t.Fatalf("gain %v, want %v", d.gain.Value, want)
	}
}

func TestKnobKeysWheelDefaultTyping(t *testing.T) {
	d := newForm()
	d.r.SetFocus("A.gain_db")
	for _, c := range []struct {
		in   Input
		want float64
	}{
		{keys("ArrowUp"), 41},
		{keys("ArrowLeft", "ArrowDown"), 39},
		{keys("PageUp"), 45},
		{keys("PageDown", "PageDown"), 33},
		{Input{Keys: []KeyPress{{Key: "ArrowUp", Shift: true}}}, 33.1},
		{keys("Home"), 0},
		{keys("End"), 60},
		{keys("Delete"), 40},
		{Input{Pointers: []Pointer{{Kind: Wheel, At: at(70, 60), WheelY: -2}}}, 38},
		{keys("Enter", "3", "7", ".", "5", "Enter"), 37.5},
		{keys("2", "x", "5", "Backspace", "1", "Enter"), 21},
		{keys("Enter", "9", "9", "9", "Enter"), 60},
		{keys("Enter", "1", "2", "Escape"), 60},
		{keys("Enter", "-", "Enter"), 60},
		{Input{Pointers: []Pointer{{Kind: Down, At: at(70, 60), Clicks: 2}, ptr(Move, 70, 0), ptr(Up, 70, 0)}}, 40},
	} {
		d.do(c.in)
		if math.Abs(d.gain.Value-c.want) > 1e-9 {
			t.Fatalf("after %+v: gain %v, want %v", c.in, d.gain.Value, c.want)
		}
	}
}

func TestTabOrderAndChoices(t *testing.T) {
	d := newForm()
	want := []string{"A.gain_db", "listen.level_db", "record", "listen.matched", "listen.A", "take.at_s", "A.gain_db"}
	for _, w := range want {
		d.do(keys("Tab"))
		if d.r.Focused() != w {
			t.Fatalf("focus at %q, want %q", d.r.Focused(), w)
		}
		if !d.r.RingOn() {
			t.Fatal("focus by key is not shown")
		}
	}
	d.do(Input{Keys: []KeyPress{{Key: "Tab", Shift: true}}})
	if d.r.Focused() != "take.at_s" {
		t.Fatalf("Shift-Tab went to %q", d.r.Focused())
	}
	d.r.SetFocus("listen.A")
	d.do(keys("ArrowRight"))
	if !d.b.Checked || d.r.Focused() != "listen.B" {
		t.Fatal("arrow did not choose the next of the group")
	}
	d.do(keys("ArrowRight"))
	if !d.a.Checked {
		t.Fatal("the group does not close in a ring")
	}
	d.r.SetFocus("record")
	d.do(keys(" "))
	if !d.rec.On {
		t.Fatal("space did not press the button")
	}
	d.do(keys("q"))
	if len(d.r.Unused) != 1 {
		t.Fatalf("an unused key is not handed on: %v", d.r.Unused)
	}
}

func TestPressOutsideAndCancel(t *testing.T) {
	d := newForm()
	d.do(Input{Pointers: []Pointer{ptr(Down, 200, 100), ptr(Move, 600, 400), ptr(Up, 600, 400)}})
	if d.rec.On {
		t.Fatal("pressed though released elsewhere")
	}
	d.do(Input{Pointers: []Pointer{ptr(Down, 200, 100), ptr(Cancel, 200, 100)}})
	if d.rec.On {
		t.Fatal("pressed by a cancelled press")
	}
	d.do(Input{Pointers: []Pointer{ptr(Down, 200, 100)}})
	d.do(Input{Hidden: true})
	d.do(Input{Pointers: []Pointer{ptr(Up, 200, 100)}})
	if d.rec.On {
		t.Fatal("a press outlived the window being hidden")
	}
	// A second finger works on its own.
	d.do(Input{Pointers: []Pointer{
		{Kind: Down, ID: 1, At: at(70, 60)}, {Kind: Down, ID: 2, At: at(200, 100)},
		{Kind: Move, ID: 1, At: at(70, 20)}, {Kind: Up, ID: 2, At: at(200, 100)}, {Kind: Up, ID: 1, At: at(70, 20)},
	}})
	if !d.rec.On || d.gain.Value != 50 {
		t.Fatalf("two fingers: record %v, gain %v", d.rec.On, d.gain.Value)
	}
}

func TestReachIsAtLeast44(t *testing.T) {
	d := newForm()
	d.do(Input{Pointers: []Pointer{ptr(Down, 300, 112), ptr(Up, 300, 112)}}) // 8 dp under the 24 dp box
	if !d.tick.On {
		t.Fatal("a press within 44 dp missed the check box")
	}
	d.do(Input{Pointers: []Pointer{ptr(Down, 300, 120), ptr(Up, 300, 120)}})
	if !d.tick.On {
		t.Fatal("a press out of reach hit")
	}
}

func TestDisabledAndClipped(t *testing.T) {
	d := newForm()
	d.rec.Disabled = true
	d.do(Input{Pointers: []Pointer{ptr(Down, 200, 100), ptr(Up, 200, 100)}})
	if d.rec.On || d.rec.Node().Focus {
		t.Fatal("a disabled button works")
	}
	d.gain.Clip = ink.Rect{X: 0, Y: 100, W: 1000, H: 1000}
	d.do(Input{Pointers: []Pointer{ptr(Down, 70, 60), ptr(Move, 70, 0), ptr(Up, 70, 0)}})
	if d.gain.Value != 40 {
		t.Fatal("a press reached what is scrolled out of sight")
	}
	d.do(Input{Pointers: []Pointer{{Kind: Wheel, At: at(900, 900), WheelY: 3}}})
	if d.r.WheelLeft != 3 {
		t.Fatal("a wheel turn that no control took is not handed on")
	}
}

func TestTimelineSeeks(t *testing.T) {
	d := newForm()
	d.do(Input{Pointers: []Pointer{ptr(Down, 320, 250)}})
	if math.Abs(d.line.Value-10) > 1e-6 {
		t.Fatalf("at %v, want 10", d.line.Value)
	}
	d.do(Input{Pointers: []Pointer{ptr(Move, 2000, 250), ptr(Up, 2000, 250)}})
	if d.line.Value != 20 {
		t.Fatalf("dragged off the end: at %v", d.line.Value)
	}
}

// TestMonkey presses, drags and types at random: nothing may panic, and every
// value stays in its range.
func TestMonkey(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 11))
	all := []Key{"Tab", "Enter", "Escape", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "PageUp", "PageDown",
		"Home", "End", "Delete", "Backspace", " ", "1", "9", "-", ".", ",", "x", "é"}
	for _, dark := range []bool{true, false} {
		d := newForm()
		th := NewTheme(dark, 1)
		var l ink.List
		for range 20000 {
			var in Input
			for range rnd.IntN(4) {
				in.Pointers = append(in.Pointers, Pointer{Kind: PointerKind(rnd.IntN(5)), ID: rnd.IntN(15),
					At: at(rnd.Float32()*700-20, rnd.Float32()*320-20), WheelY: rnd.Float32()*6 - 3,
					Fine: rnd.IntN(4) == 0, Clicks: 1 + rnd.IntN(2)})
			}
			for range rnd.IntN(3) {
				in.Keys = append(in.Keys, KeyPress{Key: all[rnd.IntN(len(all))], Shift: rnd.IntN(3) == 0, Ctrl: rnd.IntN(20) == 0})
			}
			in.Hidden = rnd.IntN(100) == 0
			if rnd.IntN(50) == 0 {
				d.cs[rnd.IntN(len(d.cs))].Common().Disabled = rnd.IntN(2) == 0
				d.cs[rnd.IntN(len(d.cs))].Common().Hidden = rnd.IntN(2) == 0
			}
			d.do(in)
			l.Reset()
			d.r.Draw(&l, &th, d.cs)
			for _, v := range []*value{&d.gain.value, &d.level.value, &d.line.value} {
				if !(v.Value >= v.Min && v.Value <= v.Max) {
					t.Fatalf("value %v out of %v..%v after %+v", v.Value, v.Min, v.Max, in)
				}
			}
			if d.a.Checked == d.b.Checked {
				t.Fatal("a group with none or two chosen")
			}
			if f := d.r.Focused(); f != "" && !usable(find(d.cs, f)) {
				// The focus may rest on what has just been disabled until the next update.
				d.do(Input{})
				if f := d.r.Focused(); f != "" && !usable(find(d.cs, f)) {
					t.Fatalf("focus on %q, which cannot be used", f)
				}
			}
		}
		if len(d.log) < 1000 {
			t.Fatalf("only %d intents: the monkey did not reach the controls", len(d.log))
		}
	}
}

func TestDrawAllocatesNothing(t *testing.T) {
	d := newForm()
	th := NewTheme(true, 1)
	d.r.SetFocus("A.gain_db")
	var l ink.List
	draw := func() { l.Reset(); d.r.Draw(&l, &th, d.cs) }
	draw()
	if n := testing.AllocsPerRun(50, draw); n != 0 {
		t.Fatalf("%v allocations a frame", n)
	}
	var nodes []Node
	nodes = Semantics(nodes[:0], d.cs)
	if n := testing.AllocsPerRun(50, func() { nodes = Semantics(nodes[:0], d.cs) }); n != 0 {
		t.Fatalf("%v allocations in the semantics", n)
	}
	in := Input{Pointers: []Pointer{ptr(Move, 70, 60)}}
	d.r.Update(&in, d.cs)
	if n := testing.AllocsPerRun(50, func() { d.r.Update(&in, d.cs) }); n != 0 {
		t.Fatalf("%v allocations an update", n)
	}
}

// TestContrast holds words to WCAG 2.2 (1.4.3: 4.5:1) and the drawn parts that
// carry meaning to 1.4.11 (3:1).
func TestContrast(t *testing.T) {
	for _, dark := range []bool{true, false} {
		th := NewTheme(dark, 1)
		for name, c := range map[string]ink.Color{"Say": th.Say, "SayDim": th.SayDim, "SaySignal": th.SaySignal, "SayLost": th.SayLost,
			"SayCeiling": th.SayCeiling, "SayNoise": th.SayNoise, "SayGood": th.SayGood, "SayMended": th.SayMended} {
			for gn, g := range map[string]ink.Color{"Panel": th.Panel, "Well": th.Well, "Ground": th.Ground} {
				if r := Contrast(c, g); r < 4.5 {
					t.Errorf("dark %v: %s on %s has contrast %.2f", dark, name, gn, r)
				}
			}
		}
		for name, c := range map[string]ink.Color{"Signal": th.Signal, "Lost": th.Lost, "Ceiling": th.Ceiling, "Focus": th.Focus} {
			want := 3.0
			if name == "Ceiling" && !dark {
				want = 2.2 // a line that always has its words beside it
			}
			if r := Contrast(c, th.Panel); r < want {
				t.Errorf("dark %v: %s on Panel has contrast %.2f", dark, name, r)
			}
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		v    float64
		n    int
		want string
	}{{-6, 1, "−6.0"}, {-0.04, 1, "0.0"}, {math.Inf(-1), 1, "−∞"}, {math.NaN(), 1, "–"}, {46.04, 1, "46.0"}, {-0.4, 0, "0"}} {
		if got := Decimal(c.v, c.n); got != c.want {
			t.Errorf("Decimal(%v) = %q, want %q", c.v, got, c.want)
		}
	}
	for s, want := range map[string]float64{"−6,5 dB": -6.5, " 40": 40, "+3": 3, "12dB": 12} {
		if v, ok := ParseNumber(s); !ok || v != want {
			t.Errorf("ParseNumber(%q) = %v, %v", s, v, ok)
		}
	}
	for _, s := range []string{"", "dB", "-", "1.2.3", "--4"} {
		if v, ok := ParseNumber(s); ok {
			t.Errorf("ParseNumber(%q) = %v", s, v)
		}
	}
}

func TestAxisRises(t *testing.T) {
	last := float32(-1)
	for db := -59.0; db <= 12; db++ {
		a := MeterAxis.At(db)
		if a <= last {
			t.Fatalf("axis does not rise at %v dB", db)
		}
		last = a
	}
	if MeterAxis.At(math.Inf(-1)) != 0 || MeterAxis.At(math.NaN()) != 0 || MeterAxis.At(99) != 1 {
		t.Fatal("values off the axis are not moved to its ends")
	}
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"1", "-2,5 dB", "", "−", "1e9", "++", "٣"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if v, ok := ParseNumber(s); ok && (math.IsNaN(v) || math.IsInf(v, 0)) {
			t.Fatal(fmt.Sprint(s, v))
		}
	})
}

// TestNumbersKeepTheirUnits breaks a text at every width: no line begins with the unit
// of the number before it, and nothing is lost.
func TestNumbersKeepTheirUnits(t *testing.T) {
	const s = "At 27.0 dB talk peaks at −36.0 dBFS (0.50 %; 8 cm away), 120 ms later at 3 m, in 24 days"
	th := NewTheme(true, 1)
	st := th.Style(Body, ink.Regular, ink.Left, th.Say)
	for w := ink.Measure("talk peaks at −36.0 dBFS", st); w < ink.Measure(s, st); w += 3 {
		var p Para
		lines := p.Lines(s, st, w)
		if got := strings.Join(lines, " "); got != s {
			t.Fatalf("width %g: %q", w, got)
		}
		for _, line := range lines {
			if word, _, _ := strings.Cut(line, " "); strings.Contains(" dB dBFS %; cm ms m, ", " "+word+" ") {
				t.Errorf("width %g: %q", w, lines)
			}
			if ink.Measure(line, st) > w+0.01 {
				t.Errorf("width %g: %q is too wide", w, line)
			}
		}
	}
}
