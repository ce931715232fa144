package scenes

import (
	"archive/zip"
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sounds"
)

var update = flag.Bool("update", false, "accept the pictures as they are now")

func newProgram(t testing.TB) *Program {
	t.Helper()
	p, err := NewProgram(nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func newBench(t testing.TB) *bench {
	return drive(t, newProgram(t))
}

// TestScenario is what the program is for: with too much gain the laugh is
// lost, with less gain the same laugh is whole.
func TestScenario(t *testing.T) {
	b := newBench(t)
	b.set("A.gain_db", 60)
	b.set("B.gain_db", 44)
	b.do("A.limiter.after")
	b.wait(1)
	b.do("record")
	b.wait(1)
	b.do("event.laugh")
	b.wait(3)
	b.do("record")
	b.wait(0.2)
	take := b.p.Bench().Take()
	if take == nil || !take.Done {
		t.Fatal("no finished take")
	}
	if take.Readings[0].Overs == 0 {
		t.Errorf("60 dB of gain and no over: %+v", take.Readings[0])
	}
	status := b.node("status").Value
	if !strings.HasPrefix(status, "Take 1, 4.0 s: strip A ") || !strings.Contains(status, "overs, longest") {
		t.Errorf("status: %q", status)
	}
	if got := b.p.Announce(); got != status {
		t.Errorf("announced %q, shown %q", got, status)
	}
	b.do("show.A")
	if w := b.node("diagram").Value; !strings.Contains(w, "lost for good") {
		t.Errorf("the diagram does not tell of the loss: %q", w)
	}
	// Clipped sound is announced before it plays.
	b.do("play")
	b.wait(0.1)
	if b.p.Bench().Playing() || !strings.Contains(b.p.Announce(), "clipped") {
		t.Errorf("clipped sound plays unannounced; %q", b.p.Announce())
	}
	b.do("caution.play")
	b.wait(0.5)
	if !b.p.Bench().Playing() || b.p.Bench().Place() < 0.3 {
		t.Errorf("does not play: place %v", b.p.Bench().Place())
	}
	b.do("play")
	b.wait(0.1)
	if b.p.Bench().Playing() {
		t.Error("does not pause")
	}
	// The same performance, with less gain.
	b.do("again")
	b.set("A.gain_db", 30)
	b.wait(0.2)
	b.do("record")
	b.wait(6)
	take = b.p.Bench().Take()
	if !take.Done || take.Number != 2 {
		t.Fatalf("take %d, done %v", take.Number, take.Done)
	}
	if r := take.Readings[0]; r.Overs != 0 || r.HeadroomDB < 3 {
		t.Errorf("30 dB of gain: %d overs, %.1f dB left", r.Overs, float64(r.HeadroomDB))
	}
	if s := b.node("A.overs").Value; !strings.HasPrefix(s, "no overs, ") {
		t.Errorf("strip A: %q", s)
	}
	// One can look around in it.
	b.set("scope.at_ms", 1500)
	b.set("take.at_s", 2)
	b.wait(0.1)
	if got := b.node("take.at_s").Now; math.Abs(got-2) > 0.02 {
		t.Errorf("at %v s", got)
	}
	b.do("scope.loudest")
	b.do("check")
	b.wait(0.2)
	if b.p.Bench().Mode() != ModeCheck {
		t.Error("no sound check")
	}
}

func TestErrorsChangeNothing(t *testing.T) {
	b := newBench(t)
	for _, it := range []Intent{
		{ID: "A.gain_db", Do: "set", Value: 71}, {ID: "A.gain_db", Do: "set", Value: math.NaN()}, {ID: "A.gain_db", Do: "press"},
		{ID: "nothing", Do: "press"}, {ID: "play", Do: "press"}, {ID: "take.at_s", Do: "set", Value: 1}, {ID: "take.save", Do: "press"},
		{ID: "talker.nobody", Do: "press"}, {ID: "event.sing", Do: "press"}, {ID: "A.limiter.inside", Do: "press"},
		{ID: "listen.level_db", Do: "set", Value: 6}, {ID: "sound", Do: "press"}, {ID: "file.level_db", Do: "set", Value: 70},
		{ID: "nothing", Do: "focus"}, {ID: "caution.play", Do: "press"}, {ID: "A.gain_db", Do: "set", Text: "loud"},
	} {
		if err := b.p.Apply(it); err == nil {
			t.Errorf("%+v went through", it)
		} else if strings.Contains(err.Error(), "\n") || err.Error() == "" {
			t.Errorf("%+v: %q is not one line", it, err)
		}
	}
	if got := b.p.Bench().Chain(0).Preamp.GainDB; got != gainDefault[0] {
		t.Errorf("gain %v", got)
	}
	if err := b.p.Apply(Intent{ID: "A.gain_db", Do: "set", Text: "41,5 dB"}); err != nil {
		t.Error(err)
	}
	if got := b.p.Bench().Chain(0).Preamp.GainDB; got != 41.5 {
		t.Errorf("gain %v", got)
	}
}

func TestListeningStartsLow(t *testing.T) {
	b := newBench(t)
	if n := b.node("listen.level_db"); n.Now != -20 || n.Max > 0 {
		t.Errorf("listening level %v, at most %v", n.Now, n.Max)
	}
}

// TestDocumentedIDs holds the package comment's list to what there is.
func TestDocumentedIDs(t *testing.T) {
	src, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t)
	documented := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^//\t([a-zA-Z0-9_.]+)  `).FindAllStringSubmatch(string(src), -1) {
		documented[m[1]] = true
		err := b.p.Apply(Intent{ID: m[1], Do: "default"})
		if err != nil && strings.Contains(err.Error(), "nothing called") {
			t.Errorf("%s is documented but unknown", m[1])
		}
	}
	if len(documented) < 30 {
		t.Errorf("only %d IDs documented", len(documented))
	}
	b = newBench(t)
	for _, c := range b.p.Controls() {
		id := c.Common().ID
		for _, n := range []string{"B", "C", "D"} {
			if rest, ok := strings.CutPrefix(id, n+"."); ok {
				id = "A." + rest
			}
			if base, ok := strings.CutSuffix(id, "."+n); ok {
				id = base + ".A"
			}
		}
		if _, ok := sim.SettingByKey(strings.TrimPrefix(id, "A.")); ok {
			continue
		}
		// Of what the comment names together the first stands for all.
		for list, one := range map[string]string{"station.": "station.preamp", "view.": "view.waves", "blind.hear_": "blind.hear_first",
			"blind.is_": "blind.is_first", "A.mic.": "A.mic.dynamic", "A.recorder.": "A.recorder.handheld", "A.file.pcm": "A.file.pcm24",
			"A.file.float": "A.file.pcm24", "take.1": "take.1", "file.channel.": "file.channel.1", "file.place.": "file.place.1"} {
			if strings.HasPrefix(id, list) {
				id = one
			}
		}
		if n, ok := strings.CutPrefix(id, "take."); ok && n[0] >= '0' && n[0] <= '9' {
			continue
		}
		if strings.HasPrefix(id, "talker.") {
			id = "talker.captain"
		}
		if !documented[id] && id != "A.meter" {
			t.Errorf("%s is not documented", id)
		}
	}
}

// TestPressOnLargePicture: a press lands where the node says the control is.
func TestPressOnLargePicture(t *testing.T) {
	p := build(t, nil, func(Shell) []Scene { return amid() })
	size := ink.Point{X: 3840, Y: 2160}
	p.Frame(Input{Size: size})
	for _, n := range p.Semantics() {
		if n.ID == "tab.twin" {
			c := n.Bounds.Center()
			p.Frame(Input{Size: size, Pointers: []Pointer{{Kind: Down, At: c}, {Kind: Up, At: c}}})
		}
	}
	if p.Scene().ID() != "tab.twin" {
		t.Error("a press on a large picture missed")
	}
}

// TestHeader lays out more tabs than there are.
func TestHeader(t *testing.T) {
	p := build(t, nil, func(sh Shell) []Scene {
		return append(amid(), otherScene{"tab.first", "Plan the season"}, otherScene{"tab.last", "Listening"})
	})
	for i, size := range testSizes {
		for range ui.TextScales {
			p.Frame(Input{Size: size, Seconds: float64(i)})
			name := fmt.Sprintf("%gx%g, text %g", size.X, size.Y, p.Theme().Text)
			var l ink.List
			p.Draw(&l)
			checkTexts(t, name, &l, size, ink.Rect{})
			checkControls(t, name, p)
			if err := p.Apply(Intent{ID: "text_size", Do: "press"}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := p.Apply(Intent{ID: "tab.last", Do: "press"}); err != nil || p.Scene().Title() != "Listening" {
		t.Errorf("%v, at %q", err, p.Scene().Title())
	}
}

// TestNodes: every control has a role, a name, a unique ID and a place.
func TestNodes(t *testing.T) {
	b := newBench(t)
	seen := map[string]bool{}
	focus := 0
	for _, n := range b.p.Semantics() {
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
			if err := b.p.Apply(Intent{ID: n.ID, Do: "focus"}); err != nil {
				t.Error(err)
			}
			if b.p.Focused() != n.ID {
				t.Errorf("focus at %q, want %q", b.p.Focused(), n.ID)
			}
		}
		if (n.Role == RoleSlider || n.Role == RoleMeter) && !n.Disabled && (n.Value == "" || n.Now < n.Min || n.Now > n.Max) {
			t.Errorf("%s: %q, %v of %v to %v", n.ID, n.Value, n.Now, n.Min, n.Max)
		}
	}
	// Tab comes past everything that takes the focus, and back.
	b.p.Apply(Intent{Do: "focus"})
	met := map[string]bool{}
	for range focus {
		b.p.Frame(Input{Size: b.size, Seconds: b.now, Keys: []KeyPress{{Key: "Tab"}}})
		met[b.p.Focused()] = true
	}
	if len(met) != focus {
		t.Errorf("Tab met %d of %d", len(met), focus)
	}
}

func TestDropAndSave(t *testing.T) {
	b := gainBench(t)
	x := make([]float64, 3*44100)
	for i := range x {
		x[i] = 0.2 * math.Sin(2*math.Pi*220*float64(i)/44100) * (1 + math.Sin(float64(i)/9000))
	}
	wav, err := sounds.WAVBytes(44100, [][]float64{x}, sounds.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	drop := func(name string, data []byte) {
		b.now += 1.0 / 60
		b.p.Frame(Input{Size: b.size, Seconds: b.now, Drops: []Drop{{Name: name, Data: data}}})
	}
	drop("notes.txt", []byte("not a sound"))
	if !strings.Contains(b.p.Announce(), "notes.txt") {
		t.Errorf("no word about a file that is no sound: %q", b.p.Announce())
	}
	dropped(b, "ferry-bell.wav", wav)
	f := b.p.Bench().File()
	if f == nil || f.Name != "ferry-bell.wav" || math.Abs(float64(len(f.Samples))-3*Rate) > 2 {
		t.Fatalf("file %+v; %s", f, b.p.Announce())
	}
	b.set("file.level_db", 90)
	b.do("record")
	b.wait(2)
	b.do("record")
	b.wait(0.2)
	b.do("take.save")
	name, data, ok := b.p.NextSave()
	if !ok || name != "gainwright-take-1.zip" {
		t.Fatalf("saved %q, %v", name, ok)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		if f.UncompressedSize64 < 200 {
			t.Errorf("%s has %d bytes", f.Name, f.UncompressedSize64)
		}
	}
	if got := fmt.Sprint(names); got != "[A.wav B.wav as-spoken.wav readings.json picture.png]" {
		t.Errorf("archive of %s", got)
	}
	if _, _, ok := b.p.NextSave(); ok {
		t.Error("handed out twice")
	}
	b.do("file.open")
	if accept, ok := b.p.WantsFile(); !ok || !strings.Contains(accept, ".flac") {
		t.Errorf("asked for %q", accept)
	}
	if _, ok := b.p.WantsFile(); ok {
		t.Error("asked twice")
	}
	b.do("talker.maren")
	if b.p.Bench().File() != nil || b.p.Bench().Talker() != "maren" {
		t.Error("the recording goes on")
	}
}

func TestStandsStillInReview(t *testing.T) {
	b := newBench(t)
	b.do("record")
	b.wait(0.5)
	b.do("record")
	b.wait(0.5)
	if b.p.Frame(Input{Size: b.size, Seconds: b.now + 0.1}) {
		t.Error("a picture that stands still is drawn again")
	}
	if !b.p.Frame(Input{Size: b.size, Seconds: b.now + 0.2, Pointers: []Pointer{{Kind: Move}}}) {
		t.Error("a moving pointer draws nothing")
	}
}

// still is a host whose user wants little motion.
type still struct{ Silent }

func (still) Calm() bool { return true }

// TestLittleMotion: for those who want little motion the picture of a sound check
// steps twice a second; what one does oneself shows at once.
func TestLittleMotion(t *testing.T) {
	count := func(h Host) (n int, p *Program) {
		p, err := NewProgram(h)
		if err != nil {
			t.Fatal(err)
		}
		size := ink.Point{X: 1280, Y: 720}
		for i := range 300 {
			if p.Frame(Input{Size: size, Scale: 1, Seconds: float64(i) / 60}) && i >= 60 {
				n++
			}
		}
		return n, p
	}
	moving, _ := count(Silent{})
	calm, p := count(still{})
	if moving < 200 || calm > 9 || calm < 7 {
		t.Errorf("in 4 s %d pictures, and %d where little motion is wanted", moving, calm)
	}
	if err := p.Apply(Intent{ID: "A.gain_db", Do: "set", Value: 33}); err != nil {
		t.Fatal(err)
	}
	if !p.Frame(Input{Size: ink.Point{X: 1280, Y: 720}, Scale: 1, Seconds: 5.01}) {
		t.Error("a turn of the gain does not show at once")
	}
}

func TestDrawAllocatesNothing(t *testing.T) {
	b := newBench(t)
	b.wait(1)
	var l ink.List
	draw := func() { l.Reset(); b.p.Draw(&l) }
	draw()
	if n := testing.AllocsPerRun(20, draw); n != 0 {
		t.Errorf("sound check: %v allocations a frame", n)
	}
	b.do("record")
	b.wait(1)
	b.do("record")
	b.wait(0.3)
	draw()
	if n := testing.AllocsPerRun(20, draw); n != 0 {
		t.Errorf("review: %v allocations a frame", n)
	}
}

// TestMonkey uses the whole program at random.
func TestMonkey(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 5))
	b := newBench(t)
	keys := []Key{"Tab", "Enter", "Escape", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "PageUp", "PageDown", "Home", "End", "Delete", " ", "5", "r", "p", "."}
	var l ink.List
	n := 1500
	if testing.Short() {
		n = 300
	}
	for range n {
		in := Input{Size: b.size, Scale: 1}
		if rnd.IntN(60) == 0 {
			b.size = testSizes[rnd.IntN(len(testSizes))]
		}
		for range rnd.IntN(4) {
			in.Pointers = append(in.Pointers, Pointer{Kind: ui.PointerKind(rnd.IntN(5)), ID: rnd.IntN(3),
				At: ink.Point{X: rnd.Float32() * b.size.X, Y: rnd.Float32() * b.size.Y}, WheelY: rnd.Float32()*4 - 2, Fine: rnd.IntN(5) == 0, Clicks: 1 + rnd.IntN(2)})
		}
		for range rnd.IntN(3) {
			in.Keys = append(in.Keys, KeyPress{Key: keys[rnd.IntN(len(keys))], Shift: rnd.IntN(4) == 0})
		}
		if rnd.IntN(10) == 0 {
			nodes := b.p.Semantics()
			d := []string{"press", "set", "nudge", "default", "focus"}[rnd.IntN(5)]
			_ = b.p.Apply(Intent{ID: nodes[rnd.IntN(len(nodes))].ID, Do: d, Value: rnd.Float64()*200 - 100})
		}
		b.now += rnd.Float64() * 0.05
		in.Seconds = b.now
		in.Hidden = rnd.IntN(50) == 0
		b.p.Frame(in)
		l.Reset()
		b.p.Draw(&l)
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
			if err := b.p.Bench().Chain(i).Validate(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if b.p.Bench().View().Frame == 0 {
		t.Error("time stood still")
	}
}

// TestGolden holds the words and boxes of the first picture to a file; run with
// -update to accept a change.
func TestGolden(t *testing.T) {
	p := newProgram(t)
	p.Frame(Input{Size: ink.Point{X: 1280, Y: 720}, Scale: 1})
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
	s.wait(2)
	var l ink.List
	b.ReportAllocs()
	for b.Loop() {
		s.now += 1.0 / 60
		s.p.Frame(Input{Size: s.size, Scale: 1, Seconds: s.now})
		l.Reset()
		s.p.Draw(&l)
	}
	b.ReportMetric(float64(len(l.Ops)), "ops")
	b.ReportMetric(float64(len(l.Pts)), "points")
}

func BenchmarkDraw(b *testing.B) {
	s := newBench(b)
	s.wait(2)
	var l ink.List
	for b.Loop() {
		l.Reset()
		s.p.Draw(&l)
	}
}
