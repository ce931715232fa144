package scenes

import (
	"encoding/json"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// visit opens the program as somebody does who comes or comes back.
func visit(t testing.TB, h Host) *bench {
	t.Helper()
	p := build(t, h, gainScenes)
	b := &bench{TB: t, p: p, size: ink.Point{X: 1280, Y: 720}}
	b.wait(0.1)
	return b
}

// setupText is what is kept of a set-up.
func setupText(t testing.TB, p Setup) string {
	t.Helper()
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

var lowerViews = []string{"view.waves", "view.spectrum", "view.result"}

// TestReloadShowsTheTake: after a reload every word and every figure is that of the
// take, whatever the sound check of that visit has heard meanwhile.
func TestReloadShowsTheTake(t *testing.T) {
	h := newChancy()
	b := visit(t, h)
	b.set("A.gain_db", 30)
	b.set("B.gain_db", 24)
	b.wait(1)
	b.recordLaugh()
	b.wait(1)
	c := visit(t, h)
	c.remade()
	b.do("show.A")
	for _, v := range lowerViews {
		b.do(v)
		c.do(v)
		sameWords(t, v, c.shownWords(nil), b.shownWords(nil))
	}
	c.do("show.B")
	b.do("show.B")
	sameWords(t, "strip B", c.shownWords(nil), b.shownWords(nil))
}

// TestEachTakeIsItself: an earlier take shows what it showed, and a take that a sound
// check came after shows it, too.
func TestEachTakeIsItself(t *testing.T) {
	b := visit(t, newChancy())
	b.set("A.gain_db", 34)
	b.set("B.gain_db", 28)
	b.wait(0.5)
	b.recordLaugh()
	// What can be pressed differs: there are more takes, and more to be undone.
	skip := func(s string) bool {
		return strings.HasPrefix(s, "take.") || strings.HasPrefix(s, "status: ") || strings.HasPrefix(s, "Take 1")
	}
	want := b.shownWords(skip)
	b.do("check")
	b.wait(0.5)
	b.do("event.laugh")
	b.wait(3)
	b.do("take.1")
	sameWords(t, "after a sound check", b.shownWords(skip), want)
	b.do("check")
	b.wait(0.5)
	b.take(2)
	b.do("take.1")
	b.remade()
	sameWords(t, "after another take", b.shownWords(skip), want)
	// Settings of now beside figures of then: the panel says which is which.
	b.set("A.gain_db", 20)
	b.wait(0.5)
	b.do("take.1")
	b.wait(0.1)
	if w := b.node("A.overs").Value; !strings.Contains(w, "take 1") || !strings.Contains(w, "34.0 dB") {
		t.Errorf("the knob stands at 20 dB beside a figure of 34: %q", w)
	}
	if w := b.node("B.overs").Value; strings.Contains(w, "take") {
		t.Errorf("strip B was not touched: %q", w)
	}
}

// TestStripsTheTakeHasNot: what a take has not got is not told of it, drawn or played.
func TestStripsTheTakeHasNot(t *testing.T) {
	b := visit(t, newChancy())
	b.take(2)
	b.do("strips.add")
	b.do("listen.C")
	b.wait(0.5)
	b.do("view.spectrum")
	b.set("take.at_s", 0.5)
	b.do("play")
	if strings.Contains(b.p.Announce(), "Caution") {
		b.do("caution.play")
	}
	b.wait(0.5)
	s := b.p.Bench()
	if s.Mode() != ModeReview || s.Take().N != 2 || s.N() != 3 {
		t.Fatalf("mode %d, a take of %d strips, a bench of %d", s.Mode(), s.Take().N, s.N())
	}
	if s.Listening() == ListenC {
		t.Error("strip C is heard in a take that has none")
	}
	if w := b.node("C.overs").Value; !strings.Contains(w, "not in take 1") {
		t.Errorf("strip C: %q", w)
	}
	if n := b.node("listen.C"); !n.Disabled {
		t.Error("strip C of the take can be listened to")
	}
	if w := b.node("diagram").Value; strings.HasPrefix(w, "Strip C") {
		t.Errorf("the diagram shows %q", w)
	}
	for _, v := range lowerViews {
		b.do(v)
		b.shownWords(nil)
	}
	if err := b.p.Apply(Intent{ID: "show.C", Do: ui.DoPress}); err == nil {
		t.Error("strip C of the take can be shown")
	}
	b.do("check")
	b.do("show.C")
	b.wait(0.5)
	if w := b.node("diagram").Value; !strings.HasPrefix(w, "Strip C") {
		t.Errorf("in the sound check the diagram shows %q", w)
	}
}

// TestWhatBelongsToATake: a blind comparison ends with the take it is of, and a strip of
// a take can be handed out also where the bench has it no longer.
func TestWhatBelongsToATake(t *testing.T) {
	b := visit(t, newChancy())
	b.do("strips.add")
	b.take(1.5)
	b.do("check")
	b.take(1.5)
	b.do("blind.start")
	b.do("blind.start")
	b.wait(0.1)
	if !gainOf(b.p).blind.on {
		t.Fatal("no blind comparison")
	}
	b.do("take.1")
	b.remade()
	if gainOf(b.p).blind.on {
		t.Error("a comparison of take 2 goes on with take 1")
	}
	b.do("strips.remove")
	b.do("more")
	b.wait(0.1)
	if n := b.node("save.C"); n.Disabled {
		t.Errorf("strip C of the take: %+v", n)
	}
	b.do("save.C")
	if name, _, ok := b.p.NextSave(); !ok || !strings.HasSuffix(name, "-C.wav") {
		t.Errorf("handed out %q", name)
	}
}

// TestTheLastTakeIsBack: one take is enough to have it back after a reload, also where
// the bench has other strips by then: its verdict, its waves, and playing it.
func TestTheLastTakeIsBack(t *testing.T) {
	for _, later := range []string{"", "strips.add", "strips.remove", "A.limiter.off"} {
		t.Run(later, func(t *testing.T) {
			h := newChancy()
			b := visit(t, h)
			if later == "strips.remove" {
				b.do("strips.add")
			}
			first := b.take(2)
			if later != "" {
				b.do(later)
			}
			b.wait(1)
			set := b.p.Bench().Setup()
			p := build(t, h, gainScenes)
			if w := p.Announce(); w != "Take 1 is being made again." {
				t.Errorf("meanwhile the program says %q", w)
			}
			c := &bench{TB: t, p: p, size: b.size}
			c.remade()
			s := c.p.Bench()
			take := s.Take()
			if take == nil || !take.Done || take.Number != 1 || take.N != first.N {
				t.Fatalf("the take is not there: %+v", take)
			}
			if got, want := setupText(t, s.Setup()), setupText(t, set); got != want {
				t.Errorf("the bench was set up anew: %s\nwas %s", got, want)
			}
			for i := range first.N {
				for k, v := range first.File[i] {
					if take.File[i][k] != v {
						t.Fatalf("strip %s differs at %d", stripNames[i], k)
					}
				}
			}
			c.wait(0.1)
			if w := c.node("status").Value; !strings.HasPrefix(w, TakeResult(first)[:len(TakeResult(first))-1]) {
				t.Errorf("verdict %q, was %q", w, TakeResult(first))
			}
			win, ok := gainOf(c.p).wave.current()
			if !ok || win.Strip[0].Truth[WindowFrames/2] == 0 {
				t.Error("no waves are shown")
			}
			c.do("play")
			if strings.Contains(c.p.Announce(), "Caution") {
				c.do("caution.play")
			}
			c.wait(0.5)
			if !s.Playing() || s.Place() < 0.2 {
				t.Errorf("the take does not play: at %v s", s.Place())
			}
		})
	}
}

// TestRestoringWaits: a take that is made again after a reload takes nobody away from
// what is done meanwhile, and not the bench from a lesson; it can be had by its button.
func TestRestoringWaits(t *testing.T) {
	h := newChancy()
	b := visit(t, h)
	b.take(4)
	b.wait(1)
	c := visit(t, h)
	c.do("event.laugh")
	c.remade()
	s := c.p.Bench()
	if s.Mode() != ModeCheck || s.Take() == nil {
		t.Errorf("mode %d; take %v", s.Mode(), s.Take())
	}
	if strings.Contains(c.p.Announce(), "Take") {
		t.Errorf("it says %q", c.p.Announce())
	}
	c.do("take.1")
	c.wait(0.1)
	if s.Shown() == nil || !strings.HasPrefix(c.p.Announce(), "Take 1, ") {
		t.Errorf("take 1 is not shown; %q", c.p.Announce())
	}

	c = visit(t, h)
	s = c.p.Bench()
	s.remakeFor(0, nil)
	c.do("tab.practice")
	c.wait(1)
	if n, _, ok := s.Remaking(); ok || s.Take() != nil {
		t.Errorf("take %d comes to the guest's bench", n)
	}
	c.do("tab.gain")
	c.remade()
	if s.Take() == nil || s.Take().Number != 1 {
		t.Error("the take is not made again after the lesson")
	}

	// As long as it is not there it has a button, also as the only one.
	p := build(t, h, gainScenes)
	if err := p.Apply(Intent{ID: "view.result", Do: ui.DoPress}); err != nil {
		t.Fatal(err)
	}
	if c := gainOf(p).takes[0]; c.ID != "take.1" || c.Hidden || c.Disabled {
		t.Errorf("the button of take 1: %+v", c)
	}
}
