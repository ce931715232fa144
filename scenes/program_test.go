package scenes

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

var update = flag.Bool("update", false, "accept the pictures, and write the list of IDs in doc.go, as they are now")

func newProgram(t testing.TB) *program.Program {
	t.Helper()
	return programOn(t, scenetest.Seen())
}

func programOn(t testing.TB, host kit.Host) *program.Program {
	t.Helper()
	p, err := NewProgram(host)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func newBench(t testing.TB) *scenetest.Driver {
	return scenetest.Drive(t, newProgram(t))
}

// TestScenario is what the program is for: with too much gain the laugh is
// lost, with less gain the same laugh is whole.
func TestScenario(t *testing.T) {
	b := newBench(t)
	b.Set("A.gain_db", 60)
	b.Set("B.gain_db", 44)
	b.Do("A.limiter.after")
	b.Wait(1)
	b.Do("record")
	b.Wait(1)
	b.Do("event.laugh")
	b.Wait(3)
	b.Do("record")
	b.Wait(0.2)
	take := b.P.Bench().Take()
	if take == nil || !take.Done {
		t.Fatal("no finished take")
	}
	if take.Readings[0].Overs == 0 {
		t.Errorf("60 dB of gain and no over: %+v", take.Readings[0])
	}
	status := b.Node("status").Value
	if !strings.HasPrefix(status, "Take 1, 4.0 s: strip A ") || !strings.Contains(status, "overs, longest") {
		t.Errorf("status: %q", status)
	}
	if got := b.P.Announce(); got != status {
		t.Errorf("announced %q, shown %q", got, status)
	}
	b.Do("show.A")
	if w := b.Node("diagram").Value; !strings.Contains(w, "lost for good") {
		t.Errorf("the diagram does not tell of the loss: %q", w)
	}
	// Clipped sound is announced before it plays.
	b.Do("play")
	b.Wait(0.1)
	if b.P.Bench().Playing() || !strings.Contains(b.P.Announce(), "clipped") {
		t.Errorf("clipped sound plays unannounced; %q", b.P.Announce())
	}
	b.Do("caution.play")
	b.Wait(0.5)
	if !b.P.Bench().Playing() || b.P.Bench().Place() < 0.3 {
		t.Errorf("does not play: place %v", b.P.Bench().Place())
	}
	b.Do("play")
	b.Wait(0.1)
	if b.P.Bench().Playing() {
		t.Error("does not pause")
	}
	// The same performance, with less gain.
	b.Do("again")
	b.Set("A.gain_db", 30)
	b.Wait(0.2)
	b.Do("record")
	b.Wait(6)
	take = b.P.Bench().Take()
	if !take.Done || take.Number != 2 {
		t.Fatalf("take %d, done %v", take.Number, take.Done)
	}
	if r := take.Readings[0]; r.Overs != 0 || r.HeadroomDB < 3 {
		t.Errorf("30 dB of gain: %d overs, %.1f dB left", r.Overs, float64(r.HeadroomDB))
	}
	if s := b.Node("A.overs").Value; !strings.HasPrefix(s, "no overs, ") {
		t.Errorf("strip A: %q", s)
	}
	// One can look around in it.
	b.Set("scope.at_ms", 1500)
	b.Set("take.at_s", 2)
	b.Wait(0.1)
	if got := b.Node("take.at_s").Now; math.Abs(got-2) > 0.02 {
		t.Errorf("at %v s", got)
	}
	b.Do("scope.loudest")
	b.Do("check")
	b.Wait(0.2)
	if b.P.Bench().Mode() != bench.ModeCheck {
		t.Error("no sound check")
	}
}

func TestErrorsChangeNothing(t *testing.T) {
	b := newBench(t)
	for _, it := range []ui.Intent{
		{ID: "A.gain_db", Do: "set", Value: 71}, {ID: "A.gain_db", Do: "set", Value: math.NaN()}, {ID: "A.gain_db", Do: "press"},
		{ID: "nothing", Do: "press"}, {ID: "play", Do: "press"}, {ID: "take.at_s", Do: "set", Value: 1}, {ID: "take.save", Do: "press"},
		{ID: "talker.nobody", Do: "press"}, {ID: "event.sing", Do: "press"}, {ID: "A.limiter.inside", Do: "press"},
		{ID: "listen.level_db", Do: "set", Value: 6}, {ID: "sound", Do: "press"}, {ID: "file.level_db", Do: "set", Value: 70},
		{ID: "nothing", Do: "focus"}, {ID: "caution.play", Do: "press"}, {ID: "A.gain_db", Do: "set", Text: "loud"},
	} {
		if err := b.P.Apply(it); err == nil {
			t.Errorf("%+v went through", it)
		} else if strings.Contains(err.Error(), "\n") || err.Error() == "" {
			t.Errorf("%+v: %q is not one line", it, err)
		}
	}
	if got := b.P.Bench().Chain(0).Preamp.GainDB; got != bench.GainDefault[0] {
		t.Errorf("gain %v", got)
	}
	if err := b.P.Apply(ui.Intent{ID: "A.gain_db", Do: "set", Text: "41,5 dB"}); err != nil {
		t.Error(err)
	}
	if got := b.P.Bench().Chain(0).Preamp.GainDB; got != 41.5 {
		t.Errorf("gain %v", got)
	}
}

func TestListeningStartsLow(t *testing.T) {
	b := newBench(t)
	if n := b.Node("listen.level_db"); n.Now != -20 || n.Max > 0 {
		t.Errorf("listening level %v, at most %v", n.Now, n.Max)
	}
}

// TestPressOnLargePicture: a press lands where the node says the control is.
func TestPressOnLargePicture(t *testing.T) {
	p := scenetest.Build(t, nil, func(kit.Shell) []kit.Scene { return scenetest.Amid() })
	size := ink.Point{X: 3840, Y: 2160}
	p.Frame(ui.Input{Size: size})
	for _, n := range p.Semantics() {
		if n.ID == "tab.twin" {
			c := n.Bounds.Center()
			p.Frame(ui.Input{Size: size, Pointers: []ui.Pointer{{Kind: ui.Down, At: c}, {Kind: ui.Up, At: c}}})
		}
	}
	if p.Scene().ID() != "tab.twin" {
		t.Error("a press on a large picture missed")
	}
}

// TestHeader lays out more tabs than there are.
func TestHeader(t *testing.T) {
	p := scenetest.Build(t, nil, func(sh kit.Shell) []kit.Scene {
		return append(scenetest.Amid(), scenetest.Other{Tab: "tab.first", Label: "Plan the season"}, scenetest.Other{Tab: "tab.last", Label: "Listening"})
	})
	for i, size := range scenetest.TestSizes {
		for range ui.TextScales {
			p.Frame(ui.Input{Size: size, Seconds: float64(i)})
			name := fmt.Sprintf("%gx%g, text %g", size.X, size.Y, p.Theme().Text)
			var l ink.List
			p.Draw(&l)
			scenetest.CheckTexts(t, name, &l, size, ink.Rect{})
			scenetest.CheckControls(t, name, p)
			if err := p.Apply(ui.Intent{ID: "text_size", Do: "press"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := p.Apply(ui.Intent{ID: "tab.last", Do: "press"}); err != nil || p.Scene().Title() != "Listening" {
		t.Errorf("%v, at %q", err, p.Scene().Title())
	}
}

// TestNodes: every control has a role, a name, a unique ID and a place.
func TestNodes(t *testing.T) {
	b := newBench(t)
	seen := map[string]bool{}
	focus := 0
	for _, n := range b.P.Semantics() {
		if n.ID == "" || n.Role == "" || n.Name == "" || seen[n.ID] {
			t.Errorf("%+v", n)
		}
		seen[n.ID] = true
		if n.Bounds.W <= 0 || n.Bounds.H <= 0 {
			t.Errorf("%s has no place", n.ID)
		}
		if n.Disabled && n.Why == "" {
			t.Errorf("%s does not say why it is disabled", n.ID)
		}
		if n.Focus {
			focus++
			if err := b.P.Apply(ui.Intent{ID: n.ID, Do: "focus"}); err != nil {
				t.Error(err)
			}
			if b.P.Focused() != n.ID {
				t.Errorf("focus at %q, want %q", b.P.Focused(), n.ID)
			}
		}
		if (n.Role == ui.RoleSlider || n.Role == ui.RoleMeter) && !n.Disabled && (n.Value == "" || n.Now < n.Min || n.Now > n.Max) {
			t.Errorf("%s: %q, %v of %v to %v", n.ID, n.Value, n.Now, n.Min, n.Max)
		}
	}
	// Tab comes past everything that takes the focus, and back.
	b.P.Apply(ui.Intent{Do: "focus"})
	met := map[string]bool{}
	for range focus {
		b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Keys: []ui.KeyPress{{Key: "Tab"}}})
		met[b.P.Focused()] = true
	}
	if len(met) != focus {
		t.Errorf("Tab met %d of %d", len(met), focus)
	}
}

func TestStandsStillInReview(t *testing.T) {
	b := newBench(t)
	b.Do("record")
	b.Wait(0.5)
	b.Do("record")
	b.Wait(0.5)
	if b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now + 0.1}) {
		t.Error("a picture that stands still is drawn again")
	}
	if !b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now + 0.2, Pointers: []ui.Pointer{{Kind: ui.Move}}}) {
		t.Error("a moving pointer draws nothing")
	}
}

// still is a host whose user wants little motion.
type still struct{ scenetest.Keeper }

func (still) Calm() bool { return true }

// TestLittleMotion: for those who want little motion the picture of a sound check
// steps twice a second; what one does oneself shows at once.
func TestLittleMotion(t *testing.T) {
	count := func(h kit.Host) (n int, p *program.Program) {
		p, err := NewProgram(h)
		if err != nil {
			t.Fatal(err)
		}
		size := ink.Point{X: 1280, Y: 720}
		for i := range 300 {
			if p.Frame(ui.Input{Size: size, Scale: 1, Seconds: float64(i) / 60}) && i >= 60 {
				n++
			}
		}
		return n, p
	}
	moving, _ := count(scenetest.Seen())
	calm, p := count(still{scenetest.Seen()})
	if moving < 200 || calm > 9 || calm < 7 {
		t.Errorf("in 4 s %d pictures, and %d where little motion is wanted", moving, calm)
	}
	if err := p.Apply(ui.Intent{ID: "A.gain_db", Do: "set", Value: 33}); err != nil {
		t.Fatal(err)
	}
	if !p.Frame(ui.Input{Size: ink.Point{X: 1280, Y: 720}, Scale: 1, Seconds: 5.01}) {
		t.Error("a turn of the gain does not show at once")
	}
}

func TestDrawAllocatesNothing(t *testing.T) {
	b := newBench(t)
	b.Wait(1)
	var l ink.List
	draw := func() { l.Reset(); b.P.Draw(&l) }
	draw()
	quiet := func() float64 {
		// What is worked out beside the picture allocates, and is counted, too.
		for range 200 {
			if n := testing.AllocsPerRun(20, draw); n == 0 {
				return n
			}
			b.Wait(0.1)
		}
		return testing.AllocsPerRun(20, draw)
	}
	if n := quiet(); n != 0 {
		t.Errorf("sound check: %v allocations a frame", n)
	}
	b.Do("record")
	b.Wait(1)
	b.Do("record")
	b.Wait(0.3)
	draw()
	if n := quiet(); n != 0 {
		t.Errorf("review: %v allocations a frame", n)
	}
}

// long asks for everything that a test can look at.
var long = os.Getenv("GAINWRIGHT_LONG") != ""

// TestMonkey uses the whole program at random.
func TestMonkey(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 5))
	b := newBench(t)
	keys := []ui.Key{"Tab", "Enter", "Escape", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "PageUp", "PageDown", "Home", "End", "Delete", " ", "5", "r", "p", "."}
	var l ink.List
	n := 600
	switch {
	case testing.Short():
		n = 300
	case long:
		n = 3000
	}
	for range n {
		in := ui.Input{Size: b.Size, Scale: 1}
		if rnd.IntN(60) == 0 {
			b.Size = scenetest.TestSizes[rnd.IntN(len(scenetest.TestSizes))]
		}
		for range rnd.IntN(4) {
			in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.PointerKind(rnd.IntN(5)), ID: rnd.IntN(3),
				At: ink.Point{X: rnd.Float32() * b.Size.X, Y: rnd.Float32() * b.Size.Y}, WheelY: rnd.Float32()*4 - 2, Fine: rnd.IntN(5) == 0, Clicks: 1 + rnd.IntN(2)})
		}
		for range rnd.IntN(3) {
			in.Keys = append(in.Keys, ui.KeyPress{Key: keys[rnd.IntN(len(keys))], Shift: rnd.IntN(4) == 0})
		}
		if rnd.IntN(10) == 0 {
			nodes := b.P.Semantics()
			d := []string{"press", "set", "nudge", "default", "focus"}[rnd.IntN(5)]
			_ = b.P.Apply(ui.Intent{ID: nodes[rnd.IntN(len(nodes))].ID, Do: d, Value: rnd.Float64()*200 - 100})
		}
		b.Now += rnd.Float64() * 0.05
		in.Seconds = b.Now
		in.Hidden = rnd.IntN(50) == 0
		b.P.Frame(in)
		l.Reset()
		b.P.Draw(&l)
		depth := 0
		for i := range l.Ops {
			switch l.Ops[i].Kind {
			case ink.KClip:
				depth++
			case ink.KUnclip:
				depth--
			}
			if depth < 0 {
				t.Fatal("a clip is ended that was never begun")
			}
		}
		for _, pt := range l.Pts {
			if pt.X != pt.X || pt.Y != pt.Y || pt.X > 1e5 || pt.X < -1e5 || pt.Y > 1e5 || pt.Y < -1e5 {
				t.Fatalf("a point at %v", pt)
			}
		}
		if depth != 0 {
			t.Fatalf("%d clips left open", depth)
		}
		for i := range 2 {
			if err := b.P.Bench().Chain(i).Validate(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if b.P.Bench().View().Frame == 0 {
		t.Error("time stood still")
	}
}

// TestGolden holds the words and boxes of the first picture to a file; run with
// -update to accept a change.
func TestGolden(t *testing.T) {
	p := newProgram(t)
	p.Frame(ui.Input{Size: ink.Point{X: 1280, Y: 720}, Scale: 1})
	var l ink.List
	p.Draw(&l)
	var b strings.Builder
	for i := range l.Ops {
		op := &l.Ops[i]
		r := op.Rect
		switch op.Kind {
		case ink.KText:
			at := l.Points(op)[0]
			fmt.Fprintf(&b, "text %.0f,%.0f %g %q\n", at.X, at.Y, op.Style.Size, op.Text)
		case ink.KRect, ink.KFrame, ink.KClip, ink.KArc:
			fmt.Fprintf(&b, "%s %.0f,%.0f %.0fx%.0f #%02x%02x%02x%02x\n", [...]string{ink.KRect: "rect", ink.KFrame: "frame", ink.KClip: "clip", ink.KArc: "arc"}[op.Kind],
				r.X, r.Y, r.W, r.H, op.Color.R, op.Color.G, op.Color.B, op.Color.A)
		case ink.KUnclip:
			fmt.Fprintln(&b, "unclip")
		default:
			fmt.Fprintf(&b, "%s of %d\n", [...]string{ink.KLine: "line", ink.KStrip: "strip", ink.KHatchStrip: "hatch", ink.KPolygon: "polygon"}[op.Kind], op.N)
		}
	}
	const file = "testdata/start-1280x720.txt"
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	g, w := strings.Split(b.String(), "\n"), strings.Split(string(want), "\n")
	for i := range max(len(g), len(w)) {
		if i >= len(g) || i >= len(w) || g[i] != w[i] {
			t.Fatalf("the picture differs from line %d of %s on:\n got %q\nwant %q", i+1, file, at(g, i), at(w, i))
		}
	}
}

func at(s []string, i int) string {
	if i < len(s) {
		return s[i]
	}
	return "(end)"
}

func BenchmarkFrame(b *testing.B) {
	s := newBench(b)
	s.Wait(2)
	var l ink.List
	b.ReportAllocs()
	for b.Loop() {
		s.Now += 1.0 / 60
		s.P.Frame(ui.Input{Size: s.Size, Scale: 1, Seconds: s.Now})
		l.Reset()
		s.P.Draw(&l)
	}
	b.ReportMetric(float64(len(l.Ops)), "ops")
	b.ReportMetric(float64(len(l.Pts)), "points")
}

func BenchmarkDraw(b *testing.B) {
	s := newBench(b)
	s.Wait(2)
	var l ink.List
	for b.Loop() {
		l.Reset()
		s.P.Draw(&l)
	}
}
