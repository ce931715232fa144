package scenes

import (
	"encoding/json"
	"fmt"
	"gainwright/lessons/practice"
	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
	"gainwright/scenes/ui"
	"image/png"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
)

// bench drives a program by a script, as a lesson or a browser test would.
type bench struct {
	testing.TB
	p    *Program
	now  float64
	size ink.Point
}

func (b *bench) wait(seconds float64) {
	for range int(math.Ceil(seconds * 60)) {
		b.now += 1.0 / 60
		b.p.Frame(Input{Size: b.size, Scale: 1, Seconds: b.now})
	}
}

func (b *bench) do(id string) {
	b.Helper()
	if err := b.p.Apply(Intent{ID: id, Do: "press"}); err != nil {
		b.Fatal(err)
	}
}

func (b *bench) set(id string, v float64) {
	b.Helper()
	if err := b.p.Apply(Intent{ID: id, Do: "set", Value: v}); err != nil {
		b.Fatal(err)
	}
}

// has reports whether there is a node of that ID.
func (b *bench) has(id string) bool {
	return slices.ContainsFunc(b.p.Semantics(), func(n Node) bool { return n.ID == id })
}

func (b *bench) node(id string) Node {
	b.Helper()
	for _, n := range b.p.Semantics() {
		if n.ID == id {
			return n
		}
	}
	b.Fatalf("there is no node %q", id)
	return Node{}
}

// amid gives scenes among stand-ins for the others, in the program's order.
func amid(scenes ...Scene) []Scene {
	all := []Scene{
		otherScene{"tab.gain", "Set the gain"}, otherScene{"tab.twin", "One file, two talkers"}, otherScene{"tab.mend", "Mend it later"},
		otherScene{"tab.plan", "Plan the session"}, otherScene{"tab.lessons", "Lessons"}, otherScene{"tab.practice", "Practice"},
	}
	for _, sc := range scenes {
		all[slices.IndexFunc(all, func(o Scene) bool { return o.ID() == sc.ID() })] = sc
	}
	return all
}

// drive drives a program by a script, in a window of 1280 by 720 dp.
func drive(t testing.TB, p *Program) *bench {
	b := &bench{TB: t, p: p, size: ink.Point{X: 1280, Y: 720}}
	b.wait(0.1)
	return b
}

// build makes a program of some scenes.
func build(t testing.TB, h Host, scenes func(Shell) []Scene) *Program {
	t.Helper()
	p, err := newProgramOf(h, scenes)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (b *bench) gain(i int) float64 { return b.p.Bench().Chain(i).Preamp.GainDB }

func (b *bench) key(k Key) {
	b.now += 1.0 / 60
	b.p.Frame(Input{Size: b.size, Seconds: b.now, Keys: []KeyPress{{Key: k}}})
}

func (b *bench) take(seconds float64) *Take {
	b.Helper()
	b.do("record")
	b.wait(seconds)
	b.do("record")
	b.wait(0.2)
	return b.p.Bench().Take()
}

// memory is a host that remembers, and has an address.
type memory struct {
	Silent
	m       map[string]string
	carried string
	copied  string
	refuses error // what the clipboard answers
}

func (h *memory) Load(k string) string { return h.m[k] }

func (h *memory) Store(k, v string) { h.m[k] = v }

func (h *memory) Copy(s string) <-chan error {
	h.copied = s
	answer := make(chan error, 1)
	answer <- h.refuses
	return answer
}

func (h *memory) Address() string { return "http://127.0.0.1:8080/" }

func (h *memory) Carried() string { return h.carried }

// until lets frames pass until ok, with some real time for work beside the
// screen.
func (b *bench) until(what string, ok func() bool) {
	b.Helper()
	for start := time.Now(); time.Since(start) < 2*time.Minute; {
		if ok() {
			return
		}
		b.wait(1.0 / 60)
		time.Sleep(time.Millisecond)
	}
	b.Fatal("still not so: " + what)
}

// shooter draws pictures of a program for people to look at.
type shooter struct {
	*bench
	dir string
}

// newShooter skips the test where GAINWRIGHT_SHOTS names no directory.
func newShooter(t *testing.T, open func(testing.TB) *bench) shooter {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	return shooter{open(t), dir}
}

func (b shooter) shot(name string, w, h int) {
	b.Helper()
	b.size = ink.Point{X: float32(w), Y: float32(h)}
	b.wait(2.0 / 60)
	var l ink.List
	b.p.Draw(&l)
	f, err := os.Create(fmt.Sprintf("%s/%s-%dx%d.png", b.dir, name, w, h))
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, raster.Paint(&l, w, h, 1, b.p.Theme().Ground)); err != nil {
		b.Fatal(err)
	}
}

// checkScene draws the scene shown at all sizes, themes and sizes of text,
// scrolled through: no word overlaps another or is cut, no control another.
func checkScene(t *testing.T, b *bench, state string, p *pane) {
	t.Helper()
	for _, size := range testSizes {
		b.size = size
		for range ui.TextScales {
			b.wait(1.0 / 60)
			name := fmt.Sprintf("%s, %gx%g, text %g, dark %v", state, size.X, size.Y, b.p.Theme().Text, b.p.Theme().Dark)
			var l ink.List
			b.p.Draw(&l)
			view := p.view
			if p.wide {
				view = ink.Rect{}
			}
			checkTexts(t, name, &l, size, view)
			checkApart(t, name, b.p)
			for y := float32(150); !p.wide && y < p.content; y += 150 {
				b.p.Scene().Scroll(150)
				l.Reset()
				b.p.Draw(&l)
				checkWords(t, fmt.Sprintf("%s, scrolled %g", name, p.scroll), texts(&l, size), view)
			}
			b.p.Scene().Scroll(-1e6)
			b.do("text_size")
		}
	}
	b.do("theme")
}

// checkWords: none in view is cut short, leaves its room or overlaps another.
func checkWords(t *testing.T, name string, ws []written, view ink.Rect) {
	t.Helper()
	for i, a := range ws {
		if strings.HasSuffix(a.s, "…") && a.s != "your file…" || a.in.H > 0 && (a.box.X < a.in.X-1 || a.box.Right() > a.in.Right()+1) {
			t.Errorf("%s: %q in %.0f", name, a.s, a.in.W)
		}
		for _, b := range ws[i+1:] {
			if in := a.box.Intersect(b.box).Intersect(view); in.W > 0.5 && in.H > 0.5 {
				t.Errorf("%s: %q and %q overlap", name, a.s, b.s)
			}
		}
	}
}

// checkApart: no two controls overlap, none leaves the picture, none is too small.
func checkApart(t *testing.T, name string, p *Program) {
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

var testSizes = []ink.Point{
	{X: 1024, Y: 640}, {X: 1024, Y: 768}, {X: 1280, Y: 720}, {X: 1280, Y: 1024}, {X: 1366, Y: 768}, {X: 1440, Y: 900}, {X: 1600, Y: 700},
	{X: 1920, Y: 1080}, {X: 2560, Y: 1440}, {X: 3840, Y: 2160}, {X: 820, Y: 1180}, {X: 1180, Y: 820}, {X: 1024, Y: 1366}, {X: 900, Y: 640},
}

// otherScene stands for a scene that is not looked at.
type otherScene struct{ id, title string }

func (s otherScene) Title() string { return s.title }

func (s otherScene) ID() string { return s.id }

func (otherScene) Layout(*ui.Theme, ink.Rect) {}

func (otherScene) Controls() []ui.Control { return nil }

func (otherScene) Update(*Input) bool { return false }

func (otherScene) Apply(Intent) error { return errNoTake }

func (otherScene) Draw(*ink.List, *ui.Theme) {}

func (otherScene) Nodes(dst []Node) []Node { return dst }

func (otherScene) Scroll(float32) {}

func (otherScene) Reveal(ink.Rect) {}

func (otherScene) Announce() string { return "" }

// shotter writes pictures for people to look at where GAINWRIGHT_SHOTS names a
// directory.
type shotter struct {
	*bench
	dir string
}

func (s shotter) shot(name string, w, h int) {
	s.Helper()
	if s.dir == "" {
		return
	}
	s.size = ink.Point{X: float32(w), Y: float32(h)}
	s.wait(0.05)
	var l ink.List
	s.p.Draw(&l)
	f, err := os.Create(fmt.Sprintf("%s/%s-%dx%d.png", s.dir, name, w, h))
	if err != nil {
		s.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, raster.Paint(&l, w, h, 1, s.p.Theme().Ground)); err != nil {
		s.Fatal(err)
	}
}

// shots makes one picture at each of the usual sizes.
func (s shotter) shots(name string) {
	for _, z := range [][2]int{{1024, 640}, {1280, 720}, {1440, 900}, {820, 1180}} {
		s.shot(name, z[0], z[1])
	}
}

// checkPlaces: no control that can be seen is tiny, leaves the picture or overlaps
// another.
func checkPlaces(t *testing.T, name string, p *Program) {
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

// lookAll draws the present scene at all sizes, text sizes and in both themes.
func lookAll(t *testing.T, b *bench, state string, view func() ink.Rect, scroll func(float32) bool) {
	t.Helper()
	for range 2 {
		for _, size := range testSizes {
			for range ui.TextScales {
				b.size = size
				b.wait(1.0 / 60)
				name := fmt.Sprintf("%s, %gx%g, text %g, dark %v", state, size.X, size.Y, b.p.Theme().Text, b.p.Theme().Dark)
				var l ink.List
				b.p.Draw(&l)
				checkTexts(t, name, &l, size, view())
				checkPlaces(t, name, b.p)
				for i := 0; scroll != nil && i < 40 && scroll(200); i++ {
					l.Reset()
					b.p.Draw(&l)
					checkTexts(t, fmt.Sprintf("%s, scrolled %d", name, i), &l, size, view())
					checkPlaces(t, name, b.p)
				}
				b.do("text_size")
			}
		}
		b.do("theme")
	}
}

// keeper is a host that remembers.
type keeper struct {
	Silent
	m map[string]string
}

func (k keeper) Load(key string) string { return k.m[key] }

func (k keeper) Store(key, v string) { k.m[key] = v }

func (b *bench) write(id, text string) {
	b.Helper()
	if err := b.p.Apply(Intent{ID: id, Do: "set", Text: text}); err != nil {
		b.Fatal(err)
	}
}

// chancy is a memory whose visits each have another chance, as browsers have.
type chancy struct {
	memory
	chance uint64
}

func (h *chancy) Chance() uint64 { h.chance += 1 << 40; return h.chance }

func newChancy() *chancy { return &chancy{memory: memory{m: map[string]string{}}} }

// remade waits until no take is being made again.
func (b *bench) remade() {
	b.Helper()
	for range 3000 {
		b.wait(1.0 / 60)
		if _, _, ok := b.p.Bench().Remaking(); !ok {
			return
		}
	}
	b.Fatal("the take is still being made again")
}

// shownWords are all the words on the picture, and all that is told to assistive
// technology, but for what skip says.
func (b *bench) shownWords(skip func(string) bool) []string {
	b.Helper()
	b.wait(1.0 / 60)
	var l ink.List
	b.p.Draw(&l)
	var out []string
	for _, op := range l.Ops {
		if op.Kind == ink.KText {
			out = append(out, op.Text)
		}
	}
	for _, n := range b.p.Semantics() {
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

func sameWords(t *testing.T, when string, got, want []string) {
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

// recordLaugh records a take of two seconds and a laugh.
func (b *bench) recordLaugh() *Take {
	b.Helper()
	b.do("record")
	b.wait(1)
	b.do("event.laugh")
	b.wait(3)
	b.do("record")
	b.wait(0.3)
	return b.p.Bench().Take()
}

// checkControls: no two controls overlap, none leaves its clip's width, none is
// without size.
func checkControls(t *testing.T, name string, p *Program) {
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

// playedHistory is a history with ups and downs.
func playedHistory(t testing.TB) string {
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

// rolls waits until a take rolls, and then a little.
func rolls(b *bench, rolling func() bool) {
	b.Helper()
	for end := time.Now().Add(time.Minute); !rolling(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			b.Fatal("no take rolls")
		}
		b.wait(1.0 / 60)
	}
	b.wait(1)
}

// tab is a host that shares its memory with others, as the tabs of a browser do.
type tab struct {
	chancy
	own    map[string]string
	others *[]*tab
	heard  []string
}

// browser opens tabs that share one memory.
type browser struct {
	m    map[string]string
	tabs []*tab
}

func (b *browser) tab() *tab {
	t := &tab{chancy: chancy{memory: memory{m: b.m}, chance: uint64(len(b.tabs)+1) << 50}, own: map[string]string{}, others: &b.tabs}
	b.tabs = append(b.tabs, t)
	return t
}

func (t *tab) LoadOwn(k string) string { return t.own[k] }
func (t *tab) StoreOwn(k, v string)    { t.own[k] = v }
func (t *tab) Store(k, v string) {
	if t.m[k] == v {
		return
	}
	t.m[k] = v
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
