package scenes

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sounds"
)

// written is a text as it lands on the picture.
type written struct {
	s   string
	box ink.Rect // of the glyphs
	in  ink.Rect // the room given
	see ink.Rect // the part of box that can be seen
}

// texts replays the clips of a list and gives the texts that can be seen.
func texts(l *ink.List, size ink.Point) []written {
	clip := ink.Rect{W: size.X, H: size.Y}
	var clips []ink.Rect
	var out []written
	for i := range l.Ops {
		op := &l.Ops[i]
		switch op.Kind {
		case ink.KClip:
			clips = append(clips, clip)
			clip = clip.Intersect(op.Rect)
		case ink.KUnclip:
			clip, clips = clips[len(clips)-1], clips[:len(clips)-1]
		case ink.KText:
			if op.Text == "" {
				continue
			}
			at := l.Points(op)[0]
			w := ink.Measure(op.Text, op.Style)
			x := at.X
			switch op.Style.Align {
			case ink.Middle:
				x -= w / 2
			case ink.Right:
				x -= w
			}
			b := ink.Rect{X: x, Y: at.Y - ink.CapHeight(op.Style), W: w, H: ink.CapHeight(op.Style)}
			if in := b.Intersect(clip); in.W > 0 {
				out = append(out, written{op.Text, b, op.Box, in})
			}
		}
	}
	return out
}

func TestLargePictures(t *testing.T) {
	for size, want := range map[ink.Point]float32{{X: 1920, Y: 1080}: 1, {X: 2560, Y: 1440}: 1.5, {X: 3840, Y: 2160}: 2.25, {X: 1024, Y: 640}: 1, {X: 2000, Y: 600}: 1} {
		if got := enlarge(size); got != want {
			t.Errorf("%v: enlarged %v times, want %v", size, got, want)
		}
	}
	// A press lands where the node says the control is.
	p := newProgram(t)
	size := ink.Point{X: 3840, Y: 2160}
	p.Frame(Input{Size: size})
	for _, n := range p.Semantics() {
		if n.ID == "A.limiter.off" {
			c := n.Bounds.Center()
			p.Frame(Input{Size: size, Pointers: []Pointer{{Kind: Down, At: c}, {Kind: Up, At: c}}})
		}
	}
	if p.Bench().Chain(0).Limiter.On {
		t.Error("a press on a large picture missed")
	}
}

func checkTexts(t *testing.T, name string, l *ink.List, size ink.Point, view ink.Rect) {
	t.Helper()
	ws := texts(l, size)
	if len(ws) < 6 {
		t.Errorf("%s: only %d texts", name, len(ws))
	}
	for i, a := range ws {
		if strings.HasSuffix(a.s, "…") && a.s != "your file…" && a.s != "reading…" && !strings.HasPrefix(a.s, "ferry-bell-") { // a name may be as long as it likes
			t.Errorf("%s: %q is cut short (room %.0f)", name, a.s, a.in.W)
		}
		if a.box.X < -0.5 || a.box.Right() > size.X+0.5 || (a.box.Y < -0.5 || a.box.Bottom() > size.Y+0.5) && view.W == 0 {
			t.Errorf("%s: %q at %v leaves the picture", name, a.s, a.box)
		}
		if a.in.H > 0 && (a.box.X < a.in.X-1 || a.box.Right() > a.in.Right()+1) {
			t.Errorf("%s: %q leaves its room", name, a.s)
		}
		for _, b := range ws[i+1:] {
			if in := a.see.Intersect(b.see); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %q at %v and %q at %v overlap", name, a.s, a.box, b.s, b.box)
			}
		}
	}
}

// checkControls: no two controls overlap, none leaves its clip's width, none is
// without size.
func checkControls(t *testing.T, name string, p *Program) {
	t.Helper()
	for i, a := range p.cs {
		ab := a.Common()
		if ab.Hidden {
			continue
		}
		if ab.Bounds.W < 12 || ab.Bounds.H < 12 {
			t.Errorf("%s: %s is only %v", name, ab.ID, ab.Bounds)
		}
		if ab.Bounds.X < 0 || ab.Bounds.Right() > p.size.X {
			t.Errorf("%s: %s at %v leaves the picture", name, ab.ID, ab.Bounds)
		}
		if ab.Clip.W == 0 && (ab.Bounds.Y < 0 || ab.Bounds.Bottom() > p.size.Y) {
			t.Errorf("%s: %s at %v leaves the picture", name, ab.ID, ab.Bounds)
		}
		for _, b := range p.cs[i+1:] {
			bb := b.Common()
			if bb.Hidden {
				continue
			}
			x, y := ab.Bounds, bb.Bounds
			if ab.Clip.W > 0 {
				x = x.Intersect(ab.Clip)
			}
			if bb.Clip.W > 0 {
				y = y.Intersect(bb.Clip)
			}
			if in := x.Intersect(y); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %s and %s overlap by %v", name, ab.ID, bb.ID, in)
			}
		}
	}
	g := p.scenes[0].(*gainScene)
	if p.scene() != Scene(g) {
		return
	}
	for i, sp := range g.strip[:g.s.N()] {
		if g.idea != ideaAll && g.idea != ideaStrips {
			continue
		}
		for k, c := range sp.lim {
			if c.Bounds.Bottom() > sp.box.Bottom()-3 {
				t.Errorf("%s: strip %d, choice %d leaves its panel", name, i, k)
			}
		}
		if h := ui.KnobHeight(&p.th, 44); !sp.compact && sp.gain.Bounds.H < h || sp.compact && sp.gain.Bounds.H < 40 {
			t.Errorf("%s: strip %d's knob is only %.0f high", name, i, sp.gain.Bounds.H)
		}
	}
}

var testSizes = []ink.Point{
	{X: 1024, Y: 640}, {X: 1024, Y: 768}, {X: 1280, Y: 720}, {X: 1280, Y: 1024}, {X: 1366, Y: 768}, {X: 1440, Y: 900}, {X: 1600, Y: 700},
	{X: 1920, Y: 1080}, {X: 2560, Y: 1440}, {X: 3840, Y: 2160}, {X: 820, Y: 1180}, {X: 1180, Y: 820}, {X: 1024, Y: 1366}, {X: 900, Y: 640},
}

// TestLayout draws the scene in all its states at many sizes, in both themes and
// all sizes of text: no word overlaps another or is cut, no control another.
func TestLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	p := newProgram(t)
	now := 0.0
	frame := func(size ink.Point, n int) {
		for range n {
			p.Frame(Input{Size: size, Scale: 1, Seconds: now})
			now += 1.0 / 60
		}
	}
	must := func(it Intent) {
		t.Helper()
		if err := p.Apply(it); err != nil {
			t.Fatal(err)
		}
	}
	press := func(id string) { t.Helper(); must(Intent{ID: id, Do: "press"}) }
	set := func(id string, v float64) { t.Helper(); must(Intent{ID: id, Do: "set", Value: v}) }
	look := func(state string) {
		t.Helper()
		for _, size := range testSizes {
			for range ui.TextScales {
				frame(size, 1)
				name := fmt.Sprintf("%s, %gx%g, text %g, dark %v", state, size.X, size.Y, p.th.Text, p.th.Dark)
				var l ink.List
				p.Draw(&l)
				g := p.scenes[0].(*gainScene)
				view := g.view
				if p.sheetOn {
					view = p.sheet.view
				}
				checkTexts(t, name, &l, size, view)
				checkControls(t, name, p)
				for s := float32(150); !p.present && !p.sheetOn && !g.wide && s < g.content; s += 150 {
					g.Scroll(150)
					l.Reset()
					p.Draw(&l)
					checkTexts(t, fmt.Sprintf("%s, scrolled %g", name, g.scroll), &l, size, g.view)
				}
				g.Scroll(-1e6)
				press("text_size")
			}
		}
		press("theme")
	}
	look("at the start")
	set("A.gain_db", 69.9)
	press("A.limiter.after")
	frame(testSizes[0], 200)
	look("high gain")
	press("A.limiter.before")
	frame(testSizes[0], 120)
	look("limiter before")
	press("station.input_limiter")
	look("limiter before, open")
	press("drawer.close")
	press("record")
	frame(testSizes[0], 60)
	press("event.laugh")
	frame(testSizes[0], 120)
	look("recording")
	press("record")
	frame(testSizes[0], 5)
	look("review")
	press("show.A")
	press("play")
	frame(testSizes[0], 2)
	look("caution or playing")
	press("caution.cancel")
	press("view.spectrum")
	look("spectrum")
	press("view.result")
	look("result")
	press("view.waves")
	set("scope.span_ms", 3000)
	look("waves from afar")
	press("blind.start")
	look("blind, being prepared")
	press("blind.start")
	press("caution.play")
	look("blind")
	press("blind.stop")
	for st := range numDrawers {
		if st == sim.AtLimiter {
			continue // it is the other one that is switched on here
		}
		press(drawerIDs[st])
		look(drawerIDs[st])
	}
	press("drawer.close")
	press("more")
	look("the page behind")
	press("more")
	press("present")
	for range numIdeas - 1 {
		look("presented")
		press("present.next")
	}
	press("present")
	press("strips.safety")
	frame(testSizes[0], 100)
	look("three strips")
	press("show.A")
	press("strips.add")
	press("record")
	frame(testSizes[0], 100)
	press("event.laugh")
	frame(testSizes[0], 100)
	look("four strips, recording")
	press("record")
	frame(testSizes[0], 5)
	press("view.result")
	look("four strips, result")
	press("blind.start")
	look("four strips, blind")
	press("blind.stop")
	press("present")
	for range numIdeas - 1 {
		look("four strips, presented")
		press("present.next")
	}
	press("present")
	// What a recording tells: two findings with all their words.
	x := make([]float64, 4*Rate)
	for i := range x {
		x[i] = min(max(1.6*math.Sin(float64(i)*0.03)*math.Sin(float64(i)*0.0003)+0.1, -0.5), 0.5)
	}
	wav, err := sounds.WAVBytes(Rate, [][]float64{x}, sounds.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	p.Frame(Input{Size: testSizes[0], Scale: 1, Seconds: now, Drops: []Drop{{Name: "ferry-bell-in-the-morning-fog.wav", Data: wav}}})
	g := p.scenes[0].(*gainScene)
	look("a recording being looked at")
	for end := time.Now().Add(time.Minute); g.file.job != nil && time.Now().Before(end); time.Sleep(time.Millisecond) {
		frame(testSizes[0], 1)
	}
	if len(g.file.found) == 0 {
		t.Fatal("nothing was found in a flattened recording")
	}
	look("a recording's past")
	press("talker.captain")
	press("view.waves")
	set("A.gain_db", 0)
	set("B.gain_db", 0)
	frame(testSizes[0], 100)
	look("low gain")
}

// otherScene stands for the tabs still to come.
type otherScene struct{ title string }

func (s otherScene) Title() string            { return s.title }
func (s otherScene) ID() string               { return "tab." + s.title }
func (otherScene) Layout(*ui.Theme, ink.Rect) {}
func (otherScene) Controls() []ui.Control     { return nil }
func (otherScene) Update(*Input) bool         { return false }
func (otherScene) Apply(Intent) error         { return errNoTake }
func (otherScene) Draw(*ink.List, *ui.Theme)  {}
func (otherScene) Nodes(dst []Node) []Node    { return dst }
func (otherScene) Scroll(float32)             {}
func (otherScene) Reveal(ink.Rect)            {}
func (otherScene) Announce() string           { return "" }

// TestHeader lays out more tabs than there are.
func TestHeader(t *testing.T) {
	p := newProgram(t)
	for _, title := range []string{"Plan the session", "Lessons"} {
		sc := otherScene{title}
		p.scenes = append(p.scenes, sc)
		p.tabs = append(p.tabs, ui.NewTab("tabs", sc.ID(), title, "", title))
	}
	for i, size := range testSizes {
		for range ui.TextScales {
			p.Frame(Input{Size: size, Seconds: float64(i)})
			name := fmt.Sprintf("%gx%g, text %g", size.X, size.Y, p.th.Text)
			var l ink.List
			p.Draw(&l)
			checkTexts(t, name, &l, size, p.scenes[0].(*gainScene).view)
			checkControls(t, name, p)
			if err := p.Apply(Intent{ID: "text_size", Do: "press"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := p.Apply(Intent{ID: "tab.Lessons", Do: "press"}); err != nil || p.Scene().Title() != "Lessons" {
		t.Errorf("%v, at %q", err, p.Scene().Title())
	}
}

// TestLongValues puts the longest figures on screen.
func TestLongValues(t *testing.T) {
	p := newProgram(t)
	g := p.scenes[0].(*gainScene)
	for _, size := range testSizes {
		p.Frame(Input{Size: size, Seconds: 0})
		v := g.s.lastView
		for i := range v.Strip {
			sv := &v.Strip[i]
			sv.Overs, sv.Truth, sv.Demand = 1888, 30, 30
			sv.Readings.LongestOverMS = 88.8
			sv.Readings.DeliveredNoiseLUFS = -88.8
			for st := range sv.Held {
				sv.Held[st] = 30
			}
			for st := 5; st < 8; st++ {
				sv.Held[st] = 1
			}
		}
		g.status = longResult
		var l ink.List
		p.Draw(&l)
		checkTexts(t, fmt.Sprintf("long values, %gx%g", size.X, size.Y), &l, size, g.view)
		for i := range v.Strip {
			v.Strip[i].Readings.DeliveredNoiseLUFS = 0
			v.Strip[i].Truth, v.Strip[i].Demand = 1e-9, math.SmallestNonzeroFloat64
		}
		l.Reset()
		p.Draw(&l)
		checkTexts(t, fmt.Sprintf("silence, %gx%g", size.X, size.Y), &l, size, g.view)
	}
}
