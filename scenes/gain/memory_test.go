package gain

import (
	"encoding/json"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// visit opens the program as somebody does who comes or comes back.
func visit(t testing.TB, h kit.Host) *scenetest.Driver {
	t.Helper()
	p := scenetest.Build(t, h, gainScenes)
	b := &scenetest.Driver{TB: t, P: p, Size: ink.Point{X: 1280, Y: 720}}
	b.Wait(0.1)
	return b
}

// setupText is what is kept of a set-up.
func setupText(t testing.TB, p bench.Setup) string {
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
	h := scenetest.NewChancy()
	b := visit(t, h)
	b.Set("A.gain_db", 30)
	b.Set("B.gain_db", 24)
	b.Wait(1)
	b.RecordLaugh()
	b.Wait(1)
	c := visit(t, h)
	c.Remade()
	b.Do("show.A")
	for _, v := range lowerViews {
		b.Do(v)
		c.Do(v)
		scenetest.SameWords(t, v, c.ShownWords(nil), b.ShownWords(nil))
	}
	c.Do("show.B")
	b.Do("show.B")
	scenetest.SameWords(t, "strip B", c.ShownWords(nil), b.ShownWords(nil))
}

// TestEachTakeIsItself: an earlier take shows what it showed, and a take that a sound
// check came after shows it, too.
func TestEachTakeIsItself(t *testing.T) {
	b := visit(t, scenetest.NewChancy())
	b.Set("A.gain_db", 34)
	b.Set("B.gain_db", 28)
	b.Wait(0.5)
	b.RecordLaugh()
	// What can be pressed differs: there are more takes, and more to be undone.
	skip := func(s string) bool {
		return strings.HasPrefix(s, "take.") || strings.HasPrefix(s, "status: ") || strings.HasPrefix(s, "Take 1") || s == "1" || s == "2"
	}
	want := b.ShownWords(skip)
	b.Do("check")
	b.Wait(0.5)
	b.Do("event.laugh")
	b.Wait(3)
	b.Do("take.1")
	scenetest.SameWords(t, "after a sound check", b.ShownWords(skip), want)
	b.Do("check")
	b.Wait(0.5)
	b.Take(2)
	b.Do("take.1")
	b.Remade()
	scenetest.SameWords(t, "after another take", b.ShownWords(skip), want)
	// Settings of now beside figures of then: the panel says which is which.
	b.Set("A.gain_db", 20)
	b.Wait(0.5)
	b.Do("take.1")
	b.Wait(0.1)
	if w := b.Node("A.overs").Value; !strings.Contains(w, "take 1") || !strings.Contains(w, "34.0 dB") {
		t.Errorf("the knob stands at 20 dB beside a figure of 34: %q", w)
	}
	if w := b.Node("B.overs").Value; strings.Contains(w, "take") {
		t.Errorf("strip B was not touched: %q", w)
	}
}

// TestStripsTheTakeHasNot: what a take has not got is not told of it, drawn or played.
func TestStripsTheTakeHasNot(t *testing.T) {
	b := visit(t, scenetest.NewChancy())
	b.Take(2)
	b.Do("strips.add")
	b.Do("listen.C")
	b.Wait(0.5)
	b.Do("view.spectrum")
	b.Set("take.at_s", 0.5)
	b.Do("play")
	if strings.Contains(b.P.Announce(), "Caution") {
		b.Do("caution.play")
	}
	b.Wait(0.5)
	s := b.P.Bench()
	if s.Mode() != bench.ModeReview || s.Take().N != 2 || s.N() != 3 {
		t.Fatalf("mode %d, a take of %d strips, a bench of %d", s.Mode(), s.Take().N, s.N())
	}
	if s.Listening() == bench.ListenC {
		t.Error("strip C is heard in a take that has none")
	}
	if w := b.Node("C.overs").Value; !strings.Contains(w, "not in take 1") {
		t.Errorf("strip C: %q", w)
	}
	if n := b.Node("listen.C"); !n.Disabled {
		t.Error("strip C of the take can be listened to")
	}
	if w := b.Node("diagram").Value; strings.HasPrefix(w, "Strip C") {
		t.Errorf("the diagram shows %q", w)
	}
	for _, v := range lowerViews {
		b.Do(v)
		b.ShownWords(nil)
	}
	if err := b.P.Apply(ui.Intent{ID: "show.C", Do: ui.DoPress}); err == nil {
		t.Error("strip C of the take can be shown")
	}
	b.Do("check")
	b.Do("show.C")
	b.Wait(0.5)
	if w := b.Node("diagram").Value; !strings.HasPrefix(w, "Strip C") {
		t.Errorf("in the sound check the diagram shows %q", w)
	}
}

// TestWhatBelongsToATake: a blind comparison ends with the take it is of, and a strip of
// a take can be handed out also where the bench has it no longer.
func TestWhatBelongsToATake(t *testing.T) {
	b := visit(t, scenetest.NewChancy())
	b.Do("strips.add")
	b.Take(1.5)
	b.Do("check")
	b.Take(1.5)
	b.Do("blind.start")
	b.Do("blind.start")
	b.Wait(0.1)
	if !gainOf(b.P).blind.On {
		t.Fatal("no blind comparison")
	}
	b.Do("take.1")
	b.Remade()
	if gainOf(b.P).blind.On {
		t.Error("a comparison of take 2 goes on with take 1")
	}
	b.Do("strips.remove")
	b.Do("more")
	b.Wait(0.1)
	if n := b.Node("save.C"); n.Disabled {
		t.Errorf("strip C of the take: %+v", n)
	}
	b.Do("save.C")
	if name, _, ok := b.P.NextSave(); !ok || !strings.HasSuffix(name, "-C.wav") {
		t.Errorf("handed out %q", name)
	}
}

// TestTheLastTakeIsBack: one take is enough to have it back after a reload, also where
// the bench has other strips by then: its verdict, its waves, and playing it.
func TestTheLastTakeIsBack(t *testing.T) {
	for _, later := range []string{"", "strips.add", "strips.remove", "A.limiter.off"} {
		t.Run(later, func(t *testing.T) {
			h := scenetest.NewChancy()
			b := visit(t, h)
			if later == "strips.remove" {
				b.Do("strips.add")
			}
			first := b.Take(2)
			if later != "" {
				b.Do(later)
			}
			b.Wait(1)
			set := b.P.Bench().Setup()
			p := scenetest.Build(t, h, gainScenes)
			if w := p.Announce(); w != "Take 1 is being made again." {
				t.Errorf("meanwhile the program says %q", w)
			}
			c := &scenetest.Driver{TB: t, P: p, Size: b.Size}
			c.Remade()
			s := c.P.Bench()
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
						t.Fatalf("strip %s differs at %d", bench.StripNames[i], k)
					}
				}
			}
			c.Wait(0.1)
			if w := c.Node("status").Value; !strings.HasPrefix(w, result.OfTake(first)[:len(result.OfTake(first))-1]) {
				t.Errorf("verdict %q, was %q", w, result.OfTake(first))
			}
			win, ok := gainOf(c.P).wave.Current()
			if !ok || win.Strip[0].Truth[bench.WindowFrames/2] == 0 {
				t.Error("no waves are shown")
			}
			c.Do("play")
			if strings.Contains(c.P.Announce(), "Caution") {
				c.Do("caution.play")
			}
			c.Wait(0.5)
			if !s.Playing() || s.Place() < 0.2 {
				t.Errorf("the take does not play: at %v s", s.Place())
			}
		})
	}
}

// TestRestoringWaits: a take that is made again after a reload takes nobody away from
// what is done meanwhile, and not the bench from a lesson; it can be had by its button.
func TestRestoringWaits(t *testing.T) {
	h := scenetest.NewChancy()
	b := visit(t, h)
	b.Take(4)
	b.Wait(1)
	c := visit(t, h)
	c.Do("event.laugh")
	c.Remade()
	s := c.P.Bench()
	if s.Mode() != bench.ModeCheck || s.Take() == nil {
		t.Errorf("mode %d; take %v", s.Mode(), s.Take())
	}
	if strings.Contains(c.P.Announce(), "Take") {
		t.Errorf("it says %q", c.P.Announce())
	}
	c.Do("take.1")
	c.Wait(0.1)
	if s.Shown() == nil || !strings.HasPrefix(c.P.Announce(), "Take 1, ") {
		t.Errorf("take 1 is not shown; %q", c.P.Announce())
	}

	c = visit(t, h)
	s = c.P.Bench()
	s.RemakeFor(0, nil)
	c.Do("tab.practice")
	c.Wait(1)
	if n, _, ok := s.Remaking(); ok || s.Take() != nil {
		t.Errorf("take %d comes to the guest's bench", n)
	}
	c.Do("tab.gain")
	c.Remade()
	if s.Take() == nil || s.Take().Number != 1 {
		t.Error("the take is not made again after the lesson")
	}

	// As long as it is not there it has a button, also as the only one.
	p := scenetest.Build(t, h, gainScenes)
	if err := p.Apply(ui.Intent{ID: "view.result", Do: ui.DoPress}); err != nil {
		t.Fatal(err)
	}
	if c := gainOf(p).takes[0]; c.ID != "take.1" || c.Hidden || c.Disabled {
		t.Errorf("the button of take 1: %+v", c)
	}
}
