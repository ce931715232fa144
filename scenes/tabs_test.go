package scenes

import (
	"strings"
	"testing"

	"gainwright/scenes/ui"
)

// visitAll opens the program with all its scenes.
func visitAll(t testing.TB, h Host) *bench {
	t.Helper()
	p, err := NewProgram(h)
	if err != nil {
		t.Fatal(err)
	}
	return drive(t, p)
}

// TestTwoTabs: each tab has its own set-up and takes back after a reload, the other one
// is told of, and a new visit begins with those used last.
func TestTwoTabs(t *testing.T) {
	br := &browser{m: map[string]string{}}
	ha, hb := br.tab(), br.tab()
	a, b := visitAll(t, ha), visitAll(t, hb)
	a.set("A.gain_db", 31)
	a.wait(1)
	first := a.take(2)
	a.wait(0.2)
	if w := b.p.Announce(); strings.Contains(w, "another tab") {
		t.Errorf("told before the tab had a look: %q", w)
	}
	b.wait(0.1)
	if w := b.p.Announce(); !strings.Contains(w, "open in another tab") {
		t.Errorf("the second tab says %q", w)
	}
	b.set("A.gain_db", 44)
	b.wait(1)
	b.take(3)
	b.wait(1)
	if w := a.p.Announce(); strings.Contains(w, "another tab") {
		t.Errorf("told before the tab had a look: %q", w)
	}
	a.wait(0.1)
	if w := a.p.Announce(); !strings.Contains(w, "open in another tab") {
		t.Errorf("the first tab says %q", w)
	}
	a, b = visitAll(t, ha), visitAll(t, hb)
	a.remade()
	b.remade()
	if g, h := a.gain(0), b.gain(0); g != 31 || h != 44 {
		t.Errorf("after reloads: %v and %v dB, were 31 and 44", g, h)
	}
	if got := a.p.Bench().Take(); got == nil || got.Frames() != first.Frames() {
		t.Error("the first tab has not got its own take back")
	}
	c := visitAll(t, br.tab())
	c.remade()
	if c.gain(0) != 44 || c.p.Bench().Take().Seconds() < 2.5 {
		t.Errorf("a new visit begins with %v dB", c.gain(0))
	}
	// A tab that has set nothing itself keeps what it began with, too.
	d := br.tab()
	visitAll(t, d)
	b.set("A.gain_db", 20)
	b.wait(1)
	if g := visitAll(t, d).gain(0); g != 44 {
		t.Errorf("a tab that only looked on was set to %v dB by another one", g)
	}
}

// TestPracticeInTwoTabs: a history that has grown elsewhere is taken over and not
// written over.
func TestPracticeInTwoTabs(t *testing.T) {
	br := &browser{m: map[string]string{}}
	ha, hb := br.tab(), br.tab()
	a, b := practiceVisit(t, ha), practiceVisit(t, hb)
	// idle waits until the practice works nothing out.
	idle := func(b *bench) {
		t.Helper()
		s := b.p.SceneOf("tab.practice").(*practiceScene)
		for i := 0; i == 0 || s.job != nil; i++ {
			if b.wait(0.1); i > 600 {
				t.Fatal(s.doing)
			}
		}
	}
	for _, x := range []*bench{a, b} {
		x.do("tab.practice")
		idle(x)
	}
	grown := `{"seed":5,"history":{"level":3,"played":[{"number":1,"level":1,"score":90},{"number":2,"level":2,"score":88}]}}`
	ha.Store("practice", grown)
	b.wait(0.1)
	if w := b.p.Announce(); w != practiceWords {
		t.Errorf("it says %q", w)
	}
	idle(b)
	s := b.p.Scene().(*practiceScene)
	if s.seed != 5 || len(s.hist.Played) != 2 {
		t.Errorf("seed %d, %d conversations", s.seed, len(s.hist.Played))
	}
	// What ends here while it has grown there is not entered, and that is said.
	s.foreign = true
	s.store()
	b.wait(0.1)
	if ha.m["practice"] != grown {
		t.Error("the history was written over")
	}
	if w := b.p.Announce(); w != practiceLost {
		t.Errorf("it says %q", w)
	}
}

// TestLessonInTwoTabs: the same for a lesson's progress.
func TestLessonInTwoTabs(t *testing.T) {
	br := &browser{m: map[string]string{}}
	ha, hb := br.tab(), br.tab()
	a, b := lessonVisit(t, ha), lessonVisit(t, hb)
	var id string
	for _, x := range []*bench{a, b} {
		x.do("tab.lessons")
		x.wait(1)
		id = x.p.Scene().(*lessonScene).items[0].card.ID
		x.do(id)
		x.wait(0.5)
	}
	sa, sb := a.p.Scene().(*lessonScene), b.p.Scene().(*lessonScene)
	a.wait(0.5)
	if sa.r.Progress().At != 0 {
		t.Fatal("the lesson does not begin at its beginning")
	}
	if err := a.p.Apply(Intent{ID: "lesson.next", Do: ui.DoPress}); err != nil {
		t.Fatal(err)
	}
	a.wait(0.2)
	b.wait(0.2)
	if sb.r.Progress().At != sa.r.Progress().At || sa.r.Progress().At == 0 {
		t.Errorf("one tab is at step %d, the other at %d", sa.r.Progress().At, sb.r.Progress().At)
	}
	if w := b.p.Announce(); w != lessonWords {
		t.Errorf("it says %q", w)
	}
	kept := hb.m[storeKey(sb.item.l)]
	sb.foreign, sb.dirty = true, true
	sb.store()
	if hb.m[storeKey(sb.item.l)] != kept {
		t.Error("the other tab's progress was written over")
	}
	b.wait(0.1)
	if w := b.p.Announce(); w != lessonLost {
		t.Errorf("it says %q", w)
	}
}

// TestWaysOutAsk: no way out of a scene loses a running take unasked.
func TestWaysOutAsk(t *testing.T) {
	for _, to := range []string{"tab.lessons", "tab.practice"} {
		h := newChancy()
		b := visitAll(t, h)
		s := b.p.Bench()
		if b.p.Holds() {
			t.Error("the page asks although nothing is recorded")
		}
		b.do("record")
		b.wait(1)
		if !b.p.Holds() {
			t.Error("the page does not ask although a take runs")
		}
		b.do(to)
		b.wait(0.5)
		if s.Mode() != ModeRecord || b.p.Scene().ID() != "tab.gain" || !strings.Contains(b.p.Announce(), "Take 1 is being recorded") {
			t.Fatalf("%s: mode %d, scene %s, it says %q", to, s.Mode(), b.p.Scene().ID(), b.p.Announce())
		}
		b.do("event.laugh") // something else: asked anew
		b.do(to)
		b.wait(0.2)
		if s.Mode() != ModeRecord {
			t.Fatalf("%s: the take has ended", to)
		}
		b.do(to)
		b.wait(0.5)
		if b.p.Scene().ID() != to {
			t.Fatalf("%s: shown is %s", to, b.p.Scene().ID())
		}
		b.do("tab.gain")
		b.wait(0.5)
		if tk := s.Take(); tk == nil || !tk.Done || tk.Number != 1 || tk.Seconds() < 1 {
			t.Fatalf("%s: the take is gone: %+v", to, tk)
		}
		if !strings.Contains(h.m["takes"], `"number":1`) {
			t.Errorf("%s: the take is not kept: %q", to, h.m["takes"])
		}
	}
	// Where the take goes on nothing is asked.
	b := visitAll(t, newChancy())
	b.do("record")
	b.wait(0.5)
	b.do("tab.plan")
	b.wait(0.5)
	if b.p.Scene().ID() != "tab.plan" || b.p.Bench().Mode() != ModeRecord || !b.p.Holds() {
		t.Error("the take does not go on beside another scene")
	}
	if b.p.MayClose() {
		t.Error("the window closes unasked")
	}
	if !b.p.MayClose() {
		t.Error("the window does not close when asked twice")
	}
}

// TestGuestsAreNotLeftUnasked: the same for a conversation, which happens once.
func TestGuestsAreNotLeftUnasked(t *testing.T) {
	b := practiceVisit(t, newChancy())
	b.do("tab.practice")
	s := b.p.Scene().(*practiceScene)
	for i := 0; i == 0 || s.job != nil; i++ {
		if b.wait(0.1); i > 600 {
			t.Fatal("the guest does not come")
		}
	}
	b.do("practice.talk")
	for i := 0; !s.stage.rolling(); i++ {
		if b.wait(0.1); i > 600 {
			t.Fatal("the conversation does not roll")
		}
	}
	b.wait(0.5)
	b.do("tab.gain")
	b.wait(0.1)
	if b.p.Scene().ID() != "tab.practice" || !s.stage.rolling() || !strings.Contains(b.p.Announce(), "once more") {
		t.Fatalf("left unasked; it says %q", b.p.Announce())
	}
	if !b.p.Holds() {
		t.Error("the page does not ask")
	}
	b.do("tab.gain")
	b.wait(0.1)
	if b.p.Scene().ID() != "tab.gain" {
		t.Error("asked twice")
	}
}

// TestNothingWaitsToBeKept: a take that ends, or a knob that was turned, beside another
// scene or just before the page goes, is kept.
func TestNothingWaitsToBeKept(t *testing.T) {
	h := newChancy()
	b := visitAll(t, h)
	b.do("record")
	b.wait(1)
	b.set("B.gain_db", 33)
	b.do("tab.plan")
	b.wait(1)
	b.p.Bench().Stop()
	b.wait(1)
	if !strings.Contains(h.m["takes"], `"number":1`) {
		t.Errorf("the take is not kept: %q", h.m["takes"])
	}
	if !strings.Contains(h.m["setup"], `"gain_db":33`) {
		t.Errorf("the knob is not kept: %q", h.m["setup"])
	}
	b.do("tab.gain")
	b.set("B.gain_db", 27)
	b.p.Leaving()
	if !strings.Contains(h.m["setup"], `"gain_db":27`) {
		t.Errorf("what was turned just before is not kept: %q", h.m["setup"])
	}
}

// TestBenchHandedOn: from practice to a lesson and on, the bench comes back as it was.
func TestBenchHandedOn(t *testing.T) {
	b := visitAll(t, nil)
	b.set("A.gain_db", 13)
	was := b.p.Bench().Setup()
	b.do("tab.practice")
	b.until("the guest sits", func() bool { return strings.HasPrefix(b.p.Announce(), "Guest ") })
	b.do("tab.lessons")
	b.wait(0.3)
	b.do("lesson.begin.what-the-numbers-mean")
	b.wait(0.3)
	if b.p.Bench().Setup() == was {
		t.Error("the lesson has no bench of its own")
	}
	b.do("tab.gain")
	if got := b.p.Bench().Setup(); got != was {
		t.Errorf("%+v, was %+v", got, was)
	}
}
