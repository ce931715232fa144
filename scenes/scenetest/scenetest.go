package scenetest

import (
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/practice"
	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/raster"
	"gainwright/scenes/ui"
)

// Driver drives a program by a script, as a lesson or a browser test would.
type Driver struct {
	testing.TB
	P    *program.Program
	Now  float64
	Size ink.Point
	// Coarse has a finger for the pointer.
	Coarse bool
}

// Wait lets frames pass, 60 a second.
func (b *Driver) Wait(seconds float64) {
	for range int(math.Ceil(seconds * 60)) {
		b.Now += 1.0 / 60
		b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Coarse: b.Coarse})
	}
}

// Do presses a control.
func (b *Driver) Do(id string) {
	b.Helper()
	if err := b.P.Apply(ui.Intent{ID: id, Do: "press"}); err != nil {
		b.Fatal(err)
	}
}

// Set gives a control a number.
func (b *Driver) Set(id string, v float64) {
	b.Helper()
	if err := b.P.Apply(ui.Intent{ID: id, Do: "set", Value: v}); err != nil {
		b.Fatal(err)
	}
}

// Has reports whether there is a node of that ID.
func (b *Driver) Has(id string) bool {
	return slices.ContainsFunc(b.P.Semantics(), func(n ui.Node) bool { return n.ID == id })
}

// Node is the node of that ID.
func (b *Driver) Node(id string) ui.Node {
	b.Helper()
	for _, n := range b.P.Semantics() {
		if n.ID == id {
			return n
		}
	}
	b.Fatalf("there is no node %q", id)
	return ui.Node{}
}

// Amid gives scenes among stand-ins for the others, in the program's order.
func Amid(scenes ...kit.Scene) []kit.Scene {
	all := []kit.Scene{
		Other{"tab.gain", "Set the gain"}, Other{"tab.twin", "One file, two talkers"}, Other{"tab.mend", "Mend it later"},
		Other{"tab.plan", "Plan the session"}, Other{"tab.lessons", "Lessons"}, Other{"tab.practice", "Practice"}, Other{"tab.recorder", "Your recorder"},
		Other{"tab.voice", "Your voice"},
	}
	for _, sc := range scenes {
		all[slices.IndexFunc(all, func(o kit.Scene) bool { return o.ID() == sc.ID() })] = sc
	}
	return all
}

// Drive drives a program by a script, in a window of 1280 by 720 dp.
func Drive(t testing.TB, p *program.Program) *Driver {
	b := &Driver{TB: t, P: p, Size: ink.Point{X: 1280, Y: 720}}
	b.Wait(0.1)
	return b
}

// Build makes a program of some scenes.
func Build(t testing.TB, h kit.Host, scenes func(kit.Shell) []kit.Scene) *program.Program {
	t.Helper()
	p, err := program.New(h, scenes)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Open drives a program of some scenes, its host h, and shows the one of type S behind tab.
func Open[S kit.Scene](t testing.TB, h kit.Host, tab string, scenes func(kit.Shell) []kit.Scene) (*Driver, S) {
	t.Helper()
	b := Drive(t, Build(t, h, scenes))
	b.Do(tab)
	s, ok := b.P.Scene().(S)
	if !ok {
		t.Fatalf("%s shows %q", tab, b.P.Scene().Title())
	}
	return b, s
}

// Settle waits until at rest holds, for two minutes at most; what names what goes on.
func (b *Driver) Settle(what func() string, atRest func() bool) {
	b.Helper()
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); {
		b.Wait(1.0 / 60)
		if atRest() {
			return
		}
		time.Sleep(time.Millisecond) // what runs beside the screen goes on
	}
	b.Fatalf("still %q", what())
}

// Gain is the preamp's gain of strip i, dB.
func (b *Driver) Gain(i int) float64 { return b.P.Bench().Chain(i).Preamp.GainDB }

// Key presses a key.
func (b *Driver) Key(k ui.Key) {
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Coarse: b.Coarse, Keys: []ui.KeyPress{{Key: k}}})
}

// Take records so many seconds.
func (b *Driver) Take(seconds float64) *bench.Take {
	b.Helper()
	b.Do("record")
	b.Wait(seconds)
	b.Do("record")
	b.Wait(0.2)
	return b.P.Bench().Take()
}

// Memory is a host that remembers, and has an address.
type Memory struct {
	kit.Silent
	M       map[string]string
	Link    string
	Copied  string
	Others  string           // the address that is good for others
	Stock   []kit.LessonFile // brought along
	New     bool             // a new version has come
	Renewed bool             // and was taken
	Refuses error            // what the clipboard answers
}

func (h *Memory) Load(k string) string { return h.M[k] }

func (h *Memory) Store(k, v string) { h.M[k] = v }

func (h *Memory) Copy(s string) <-chan error {
	h.Copied = s
	answer := make(chan error, 1)
	answer <- h.Refuses
	return answer
}

func (h *Memory) Address() string { return "http://127.0.0.1:8080/" }

func (h *Memory) Carried() string { return h.Link }

func (h *Memory) Public() string { return h.Others }

func (h *Memory) Lessons() []kit.LessonFile { return h.Stock }

func (h *Memory) Fresh() bool { return h.New }

func (h *Memory) Renew() { h.Renewed = true }

// Until lets frames pass until ok, with some real time for work beside the
// screen.
func (b *Driver) Until(what string, ok func() bool) {
	b.Helper()
	for start := time.Now(); time.Since(start) < 2*time.Minute; {
		if ok() {
			return
		}
		b.Wait(1.0 / 60)
		time.Sleep(time.Millisecond)
	}
	b.Fatal("still not so: " + what)
}

// shooter draws pictures of a program for people to look at.
type shooter struct {
	*Driver
	dir string
}

// NewShooter skips the test where GAINWRIGHT_SHOTS names no directory.
func NewShooter(t *testing.T, open func(testing.TB) *Driver) shooter {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	return shooter{open(t), dir}
}

// Shot makes a picture.
func (b shooter) Shot(name string, w, h int) {
	b.Helper()
	b.Size = ink.Point{X: float32(w), Y: float32(h)}
	b.Wait(2.0 / 60)
	var l ink.List
	b.P.Draw(&l)
	f, err := os.Create(fmt.Sprintf("%s/%s-%dx%d.png", b.dir, name, w, h))
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, raster.Paint(&l, w, h, 1, b.P.Theme().Ground)); err != nil {
		b.Fatal(err)
	}
}

// CheckScene draws the scene shown at all sizes, themes and sizes of text,
// scrolled through: no word overlaps another or is cut, no control another.
func CheckScene(t *testing.T, b *Driver, state string, p *kit.Pane) {
	t.Helper()
	for _, size := range TestSizes {
		b.Size = size
		for range ui.TextScales {
			b.Wait(1.0 / 60)
			name := fmt.Sprintf("%s, %gx%g, text %g, dark %v", state, size.X, size.Y, b.P.Theme().Text, b.P.Theme().Dark)
			var l ink.List
			b.P.Draw(&l)
			view := p.View
			if p.Wide {
				view = ink.Rect{}
			}
			CheckTexts(t, name, &l, size, view)
			checkApart(t, name, b.P)
			for y := float32(150); !p.Wide && y < p.Content; y += 150 {
				b.P.Scene().Scroll(150)
				l.Reset()
				b.P.Draw(&l)
				checkWords(t, fmt.Sprintf("%s, scrolled %g", name, p.Scroll), Texts(&l, size), view)
			}
			b.P.Scene().Scroll(-1e6)
			b.Do("text_size")
		}
	}
	b.Do("theme")
}

// checkWords: none in view is cut short, leaves its room or overlaps another.
func checkWords(t *testing.T, name string, ws []written, view ink.Rect) {
	t.Helper()
	for i, a := range ws {
		if strings.HasSuffix(a.S, "…") && a.S != "your file…" || a.in.H > 0 && (a.Box.X < a.in.X-1 || a.Box.Right() > a.in.Right()+1) {
			t.Errorf("%s: %q in %.0f", name, a.S, a.in.W)
		}
		for _, b := range ws[i+1:] {
			if in := a.Box.Intersect(b.Box).Intersect(view); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %q and %q overlap", name, a.S, b.S)
			}
		}
	}
}

// checkApart: no two controls overlap, none leaves the picture, none is too small.
func checkApart(t *testing.T, name string, p *program.Program) {
	t.Helper()
	for i, a := range p.Controls() {
		ab := a.Common()
		if ab.Hidden {
			continue
		}
		x := ab.Bounds
		if x.W < 12 || x.H < 12 || x.X < 0 || x.Right() > p.Size().X || ab.Clip.W == 0 && (x.Y < 0 || x.Bottom() > p.Size().Y) {
			t.Errorf("%s: %s at %v", name, ab.ID, x)
		}
		if ab.Clip.W > 0 {
			x = x.Intersect(ab.Clip)
		}
		for _, o := range p.Controls()[i+1:] {
			ob := o.Common()
			if ob.Hidden {
				continue
			}
			y := ob.Bounds
			if ob.Clip.W > 0 {
				y = y.Intersect(ob.Clip)
			}
			if in := x.Intersect(y); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %s and %s overlap by %v", name, ab.ID, ob.ID, in)
			}
		}
	}
}

// written is a text as it lands on the picture.
type written struct {
	S   string
	Box ink.Rect // of the glyphs
	in  ink.Rect // the room given
	See ink.Rect // the part of box that can be seen
}

// Texts replays the clips of a list and gives the texts that can be seen.
func Texts(l *ink.List, size ink.Point) []written {
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

// CheckTexts: no text is cut short, leaves its room or the picture, or overlaps
// another; outside view texts may leave it.
func CheckTexts(t *testing.T, name string, l *ink.List, size ink.Point, view ink.Rect) {
	t.Helper()
	if n := len(Texts(l, size)); n < 6 {
		t.Errorf("%s: only %d texts", name, n)
	}
	CheckWords(t, name, l, size, view)
}

// CheckWords is CheckTexts of a picture that may hold few texts.
func CheckWords(t *testing.T, name string, l *ink.List, size ink.Point, view ink.Rect) {
	t.Helper()
	ws := Texts(l, size)
	if len(ws) == 0 {
		t.Errorf("%s: no texts", name)
	}
	for i, a := range ws {
		if strings.HasSuffix(a.S, "…") && a.S != "your file…" && a.S != "reading…" && !strings.HasPrefix(a.S, "ferry-bell-") { // a name may be as long as it likes
			t.Errorf("%s: %q is cut short (room %.0f)", name, a.S, a.in.W)
		}
		if a.Box.X < -0.5 || a.Box.Right() > size.X+0.5 || (a.Box.Y < -0.5 || a.Box.Bottom() > size.Y+0.5) && view.W == 0 {
			t.Errorf("%s: %q at %v leaves the picture", name, a.S, a.Box)
		}
		if a.in.H > 0 && (a.Box.X < a.in.X-1 || a.Box.Right() > a.in.Right()+1) {
			t.Errorf("%s: %q leaves its room", name, a.S)
		}
		for _, b := range ws[i+1:] {
			if in := a.See.Intersect(b.See); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %q at %v and %q at %v overlap", name, a.S, a.Box, b.S, b.Box)
			}
		}
	}
}

// TestSizes are the windows that pictures are checked in.
var TestSizes = []ink.Point{
	{X: 1024, Y: 640}, {X: 1024, Y: 768}, {X: 1280, Y: 720}, {X: 1280, Y: 1024}, {X: 1366, Y: 768}, {X: 1440, Y: 900}, {X: 1600, Y: 700},
	{X: 1920, Y: 1080}, {X: 2560, Y: 1440}, {X: 3840, Y: 2160}, {X: 820, Y: 1180}, {X: 1180, Y: 820}, {X: 1024, Y: 1366}, {X: 900, Y: 640},
}

// Other stands for a scene that is not looked at.
type Other struct{ Tab, Label string }

func (s Other) Title() string { return s.Label }

func (s Other) ID() string { return s.Tab }

func (Other) Layout(*ui.Theme, ink.Rect) {}

func (Other) Controls() []ui.Control { return nil }

func (Other) Update(*ui.Input) bool { return false }

func (Other) Apply(ui.Intent) error { return kit.ErrNoTake }

func (Other) Draw(*ink.List, *ui.Theme) {}

func (Other) Nodes(dst []ui.Node) []ui.Node { return dst }

func (Other) Scroll(float32) {}

func (Other) Reveal(ink.Rect) {}

func (Other) Announce() string { return "" }

// Shotter writes pictures for people to look at where GAINWRIGHT_SHOTS names a
// directory.
type Shotter struct {
	*Driver
	Dir string
}

// Shot makes a picture.
func (s Shotter) Shot(name string, w, h int) {
	s.Helper()
	if s.Dir == "" {
		return
	}
	s.Size = ink.Point{X: float32(w), Y: float32(h)}
	s.Wait(0.05)
	var l ink.List
	s.P.Draw(&l)
	f, err := os.Create(fmt.Sprintf("%s/%s-%dx%d.png", s.Dir, name, w, h))
	if err != nil {
		s.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, raster.Paint(&l, w, h, 1, s.P.Theme().Ground)); err != nil {
		s.Fatal(err)
	}
}

// Shots makes one picture at each of the usual sizes.
func (s Shotter) Shots(name string) {
	for _, z := range [][2]int{{1024, 640}, {1024, 768}, {1280, 720}, {1440, 900}, {820, 1180}, {390, 844}, {360, 640}, {844, 390}} {
		s.Shot(name, z[0], z[1])
	}
}

// CheckPlaces checks that no control that can be seen is tiny, leaves the picture or
// overlaps another.
func CheckPlaces(t *testing.T, name string, p *program.Program) {
	t.Helper()
	type at struct {
		id string
		r  ink.Rect
	}
	var seen []at
	for _, c := range p.Controls() {
		b := c.Common()
		if b.Hidden {
			continue
		}
		if b.Bounds.W < 12 || b.Bounds.H < 12 || b.Bounds.X < 0 || b.Bounds.Right() > p.Size().X+0.5 {
			t.Errorf("%s: %s lies at %v", name, b.ID, b.Bounds)
		}
		r := b.Bounds
		if b.Clip.W > 0 {
			if r = r.Intersect(b.Clip); r.W == 0 {
				continue
			}
		} else if r.Y < 0 || r.Bottom() > p.Size().Y+0.5 {
			t.Errorf("%s: %s at %v leaves the picture", name, b.ID, r)
		}
		for _, o := range seen {
			if in := o.r.Intersect(r); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %s and %s overlap by %v", name, b.ID, o.id, in)
			}
		}
		seen = append(seen, at{b.ID, r})
	}
}

// LookAll draws the present scene at all sizes and text sizes, in themes that take turns;
// in both with GAINWRIGHT_LONG. (What lies where is no matter of colours.)
func LookAll(t *testing.T, b *Driver, state string, view func() ink.Rect, scroll func(float32) bool) {
	t.Helper()
	themes := 1
	if os.Getenv("GAINWRIGHT_LONG") != "" {
		themes = 2
	}
	for range themes {
		for _, size := range TestSizes {
			for range ui.TextScales {
				if themes == 1 {
					b.Do("theme")
				}
				b.Size = size
				b.Wait(1.0 / 60)
				name := fmt.Sprintf("%s, %gx%g, text %g, dark %v", state, size.X, size.Y, b.P.Theme().Text, b.P.Theme().Dark)
				var l ink.List
				b.P.Draw(&l)
				CheckTexts(t, name, &l, size, view())
				CheckPlaces(t, name, b.P)
				for i := 0; scroll != nil && i < 40 && scroll(200); i++ {
					l.Reset()
					b.P.Draw(&l)
					CheckTexts(t, fmt.Sprintf("%s, scrolled %d", name, i), &l, size, view())
					CheckPlaces(t, name, b.P)
				}
				b.Do("text_size")
			}
		}
		b.Do("theme")
	}
}

// Keeper is a host that remembers.
type Keeper struct {
	kit.Silent
	M map[string]string
}

func (k Keeper) Load(key string) string { return k.M[key] }

func (k Keeper) Store(key, v string) { k.M[key] = v }

// Seen is a host whose user has been here before: all scenes are shown.
func Seen() Keeper { return Keeper{M: map[string]string{"everything": "1"}} }

// Write writes into a field.
func (b *Driver) Write(id, text string) {
	b.Helper()
	if err := b.P.Apply(ui.Intent{ID: id, Do: "set", Text: text}); err != nil {
		b.Fatal(err)
	}
}

// chancy is a memory whose visits each have another chance, as browsers have.
type chancy struct {
	Memory
	chance uint64
}

func (h *chancy) Chance() uint64 { h.chance += 1 << 40; return h.chance }

// NewChancy is an empty memory.
func NewChancy() *chancy { return &chancy{Memory: Memory{M: map[string]string{}}} }

// Remade waits until no take is being made again.
func (b *Driver) Remade() {
	b.Helper()
	for range 3000 {
		b.Wait(1.0 / 60)
		if _, _, ok := b.P.Bench().Remaking(); !ok {
			return
		}
	}
	b.Fatal("the take is still being made again")
}

// ShownWords are all the words on the picture, and all that is told to assistive
// technology, but for what skip says.
func (b *Driver) ShownWords(skip func(string) bool) []string {
	b.Helper()
	b.Wait(1.0 / 60)
	var l ink.List
	b.P.Draw(&l)
	var out []string
	for _, op := range l.Ops {
		if op.Kind == ink.KText {
			out = append(out, op.Text)
		}
	}
	for _, n := range b.P.Semantics() {
		out = append(out, fmt.Sprintf("%s: %s %v", n.ID, n.Value, n.Now))
	}
	k := 0
	for _, s := range out {
		if skip == nil || !skip(s) {
			out[k] = s
			k++
		}
	}
	return out[:k]
}

// SameWords reports what differs.
func SameWords(t *testing.T, when string, got, want []string) {
	t.Helper()
	n := map[string]int{}
	for _, s := range want {
		n[s]++
	}
	for _, s := range got {
		if n[s]--; n[s] < 0 {
			t.Errorf("%s: %q is new", when, s)
		}
	}
	for s, k := range n {
		if k > 0 {
			t.Errorf("%s: %q is gone", when, s)
		}
	}
}

// RecordLaugh records a take of two seconds and a laugh.
func (b *Driver) RecordLaugh() *bench.Take {
	b.Helper()
	b.Do("record")
	b.Wait(1)
	b.Do("event.laugh")
	b.Wait(3)
	b.Do("record")
	b.Wait(0.3)
	return b.P.Bench().Take()
}

// CheckControls: no two controls overlap, none leaves its clip's width, none is
// without size.
func CheckControls(t *testing.T, name string, p *program.Program) {
	t.Helper()
	for i, a := range p.Controls() {
		ab := a.Common()
		if ab.Hidden {
			continue
		}
		if ab.Bounds.W < 12 || ab.Bounds.H < 12 {
			t.Errorf("%s: %s is only %v", name, ab.ID, ab.Bounds)
		}
		if ab.Bounds.X < 0 || ab.Bounds.Right() > p.Size().X {
			t.Errorf("%s: %s at %v leaves the picture", name, ab.ID, ab.Bounds)
		}
		if ab.Clip.W == 0 && (ab.Bounds.Y < 0 || ab.Bounds.Bottom() > p.Size().Y) {
			t.Errorf("%s: %s at %v leaves the picture", name, ab.ID, ab.Bounds)
		}
		for _, b := range p.Controls()[i+1:] {
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
}

// PlayedHistory is a history with ups and downs.
func PlayedHistory(t testing.TB) string {
	h := struct {
		Seed    uint64           `json:"seed"`
		History practice.History `json:"history"`
	}{11, practice.History{Level: 4}}
	for i, x := range []float64{22, 41.5, 38, 64, 71, 55, 82, 90, 66, 88, 93.5, 74} {
		h.History.Played = append(h.History.Played, practice.Played{Number: i + 1, Level: 1 + i/3, Talker: "joss", Score: x, Overs: int(100-x) / 20, GainDB: 30})
	}
	j, err := json.Marshal(h)
	if err != nil {
		t.Fatal(err)
	}
	return string(j)
}

// Rolls waits until a take rolls, and then a little.
func Rolls(b *Driver, rolling func() bool) {
	b.Helper()
	for end := time.Now().Add(time.Minute); !rolling(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			b.Fatal("no take rolls")
		}
		b.Wait(1.0 / 60)
	}
	b.Wait(1)
}

// tab is a host that shares its memory with others, as the tabs of a browser do.
type tab struct {
	chancy
	own    map[string]string
	others *[]*tab
	heard  []string
}

// Browser opens tabs that share one memory.
type Browser struct {
	M    map[string]string
	tabs []*tab
}

// Tab opens another tab.
func (b *Browser) Tab() *tab {
	t := &tab{chancy: chancy{Memory: Memory{M: b.M}, chance: uint64(len(b.tabs)+1) << 50}, own: map[string]string{}, others: &b.tabs}
	b.tabs = append(b.tabs, t)
	return t
}

func (t *tab) LoadOwn(k string) string { return t.own[k] }

func (t *tab) StoreOwn(k, v string) { t.own[k] = v }

func (t *tab) Store(k, v string) {
	if t.M[k] == v {
		return
	}
	t.M[k] = v
	for _, o := range *t.others {
		if o != t {
			o.heard = append(o.heard, k)
		}
	}
}

func (t *tab) Elsewhere() (string, bool) {
	if len(t.heard) == 0 {
		return "", false
	}
	k := t.heard[0]
	t.heard = t.heard[1:]
	return k, true
}
