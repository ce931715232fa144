package scenes

import (
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
)

// visitAll opens the program with all its scenes.
func visitAll(t testing.TB, h kit.Host) *scenetest.Driver {
	t.Helper()
	if h == nil {
		h = scenetest.Seen()
	}
	h.Store("everything", "1")
	p, err := NewProgram(h)
	if err != nil {
		t.Fatal(err)
	}
	return scenetest.Drive(t, p)
}

// TestTwoTabs: each tab has its own set-up and takes back after a reload, the other one
// is told of, and a new visit begins with those used last.
func TestTwoTabs(t *testing.T) {
	br := &scenetest.Browser{M: map[string]string{}}
	ha, hb := br.Tab(), br.Tab()
	a, b := visitAll(t, ha), visitAll(t, hb)
	a.Set("A.gain_db", 31)
	a.Wait(1)
	first := a.Take(2)
	a.Wait(0.2)
	if w := b.P.Announce(); strings.Contains(w, "another tab") {
		t.Errorf("told before the tab had a look: %q", w)
	}
	b.Wait(0.1)
	if w := b.P.Announce(); !strings.Contains(w, "open in another tab") {
		t.Errorf("the second tab says %q", w)
	}
	b.Set("A.gain_db", 44)
	b.Wait(1)
	b.Take(3)
	b.Wait(1)
	if w := a.P.Announce(); strings.Contains(w, "another tab") {
		t.Errorf("told before the tab had a look: %q", w)
	}
	a.Wait(0.1)
	if w := a.P.Announce(); !strings.Contains(w, "open in another tab") {
		t.Errorf("the first tab says %q", w)
	}
	a, b = visitAll(t, ha), visitAll(t, hb)
	a.Remade()
	b.Remade()
	if g, h := a.Gain(0), b.Gain(0); g != 31 || h != 44 {
		t.Errorf("after reloads: %v and %v dB, were 31 and 44", g, h)
	}
	if got := a.P.Bench().Take(); got == nil || got.Frames() != first.Frames() {
		t.Error("the first tab has not got its own take back")
	}
	c := visitAll(t, br.Tab())
	c.Remade()
	if c.Gain(0) != 44 || c.P.Bench().Take().Seconds() < 2.5 {
		t.Errorf("a new visit begins with %v dB", c.Gain(0))
	}
	// A tab that has set nothing itself keeps what it began with, too.
	d := br.Tab()
	visitAll(t, d)
	b.Set("A.gain_db", 20)
	b.Wait(1)
	if g := visitAll(t, d).Gain(0); g != 44 {
		t.Errorf("a tab that only looked on was set to %v dB by another one", g)
	}
}

// TestWaysOutAsk: no way out of a scene loses a running take unasked.
func TestWaysOutAsk(t *testing.T) {
	for _, to := range []string{"tab.lessons", "tab.practice"} {
		h := scenetest.NewChancy()
		b := visitAll(t, h)
		s := b.P.Bench()
		if b.P.Holds() {
			t.Error("the page asks although nothing is recorded")
		}
		b.Do("record")
		b.Wait(1)
		if !b.P.Holds() {
			t.Error("the page does not ask although a take runs")
		}
		b.Do(to)
		b.Wait(0.5)
		if s.Mode() != bench.ModeRecord || b.P.Scene().ID() != "tab.gain" || !strings.Contains(b.P.Announce(), "Take 1 is being recorded") {
			t.Fatalf("%s: mode %d, scene %s, it says %q", to, s.Mode(), b.P.Scene().ID(), b.P.Announce())
		}
		b.Do("event.laugh") // something else: asked anew
		b.Do(to)
		b.Wait(0.2)
		if s.Mode() != bench.ModeRecord {
			t.Fatalf("%s: the take has ended", to)
		}
		b.Do(to)
		b.Wait(0.5)
		if b.P.Scene().ID() != to {
			t.Fatalf("%s: shown is %s", to, b.P.Scene().ID())
		}
		b.Do("tab.gain")
		b.Wait(0.5)
		if tk := s.Take(); tk == nil || !tk.Done || tk.Number != 1 || tk.Seconds() < 1 {
			t.Fatalf("%s: the take is gone: %+v", to, tk)
		}
		if !strings.Contains(h.M["takes"], `"number":1`) {
			t.Errorf("%s: the take is not kept: %q", to, h.M["takes"])
		}
	}
	// Where the take goes on nothing is asked.
	b := visitAll(t, scenetest.NewChancy())
	b.Do("record")
	b.Wait(0.5)
	b.Do("tab.plan")
	b.Wait(0.5)
	if b.P.Scene().ID() != "tab.plan" || b.P.Bench().Mode() != bench.ModeRecord || !b.P.Holds() {
		t.Error("the take does not go on beside another scene")
	}
	if b.P.MayClose() {
		t.Error("the window closes unasked")
	}
	if !b.P.MayClose() {
		t.Error("the window does not close when asked twice")
	}
}

// TestNothingWaitsToBeKept: a take that ends, or a knob that was turned, beside another
// scene or just before the page goes, is kept.
func TestNothingWaitsToBeKept(t *testing.T) {
	h := scenetest.NewChancy()
	b := visitAll(t, h)
	b.Do("record")
	b.Wait(1)
	b.Set("B.gain_db", 33)
	b.Do("tab.plan")
	b.Wait(1)
	b.P.Bench().Stop()
	b.Wait(1)
	if !strings.Contains(h.M["takes"], `"number":1`) {
		t.Errorf("the take is not kept: %q", h.M["takes"])
	}
	if !strings.Contains(h.M["setup"], `"gain_db":33`) {
		t.Errorf("the knob is not kept: %q", h.M["setup"])
	}
	b.Do("tab.gain")
	b.Set("B.gain_db", 27)
	b.P.Leaving()
	if !strings.Contains(h.M["setup"], `"gain_db":27`) {
		t.Errorf("what was turned just before is not kept: %q", h.M["setup"])
	}
}

// TestBenchHandedOn: from practice to a lesson and on, the bench comes back as it was.
func TestBenchHandedOn(t *testing.T) {
	b := visitAll(t, nil)
	b.Set("A.gain_db", 13)
	was := b.P.Bench().Setup()
	b.Do("tab.practice")
	b.Until("the guest sits", func() bool { return strings.HasPrefix(b.P.Announce(), "Guest ") })
	b.Do("tab.lessons")
	b.Wait(0.3)
	b.Do("lesson.begin.what-the-numbers-mean")
	b.Wait(0.3)
	if b.P.Bench().Setup() == was {
		t.Error("the lesson has no bench of its own")
	}
	b.Do("tab.gain")
	if got := b.P.Bench().Setup(); got != was {
		t.Errorf("%+v, was %+v", got, was)
	}
}
