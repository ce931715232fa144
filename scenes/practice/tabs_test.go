package practice

import (
	"strings"
	"testing"

	"gainwright/scenes/scenetest"
)

// TestPracticeInTwoTabs: a history that has grown elsewhere is taken over and not
// written over.
func TestPracticeInTwoTabs(t *testing.T) {
	br := &scenetest.Browser{M: map[string]string{}}
	ha, hb := br.Tab(), br.Tab()
	a, b := practiceVisit(t, ha), practiceVisit(t, hb)
	// idle waits until the practice works nothing out.
	idle := func(b *scenetest.Driver) {
		t.Helper()
		s := b.P.SceneOf("tab.practice").(*Scene)
		for i := 0; i == 0 || s.job != nil; i++ {
			if b.Wait(0.1); i > 600 {
				t.Fatal(s.doing)
			}
		}
	}
	for _, x := range []*scenetest.Driver{a, b} {
		x.Do("tab.practice")
		idle(x)
	}
	grown := `{"seed":5,"history":{"level":3,"played":[{"number":1,"level":1,"score":90},{"number":2,"level":2,"score":88}]}}`
	ha.Store("practice", grown)
	b.Wait(0.1)
	if w := b.P.Announce(); w != practiceWords {
		t.Errorf("it says %q", w)
	}
	idle(b)
	s := b.P.Scene().(*Scene)
	if s.seed != 5 || len(s.hist.Played) != 2 {
		t.Errorf("seed %d, %d conversations", s.seed, len(s.hist.Played))
	}
	// What ends here while it has grown there is not entered, and that is said.
	s.foreign = true
	s.store()
	b.Wait(0.1)
	if ha.M["practice"] != grown {
		t.Error("the history was written over")
	}
	if w := b.P.Announce(); w != practiceLost {
		t.Errorf("it says %q", w)
	}
}

// TestGuestsAreNotLeftUnasked: the same for a conversation, which happens once.
func TestGuestsAreNotLeftUnasked(t *testing.T) {
	b := practiceVisit(t, scenetest.NewChancy())
	b.Do("tab.practice")
	s := b.P.Scene().(*Scene)
	for i := 0; i == 0 || s.job != nil; i++ {
		if b.Wait(0.1); i > 600 {
			t.Fatal("the guest does not come")
		}
	}
	b.Do("practice.talk")
	for i := 0; !s.stage.Rolling(); i++ {
		if b.Wait(0.1); i > 600 {
			t.Fatal("the conversation does not roll")
		}
	}
	b.Wait(0.5)
	b.Do("tab.gain")
	b.Wait(0.1)
	if b.P.Scene().ID() != "tab.practice" || !s.stage.Rolling() || !strings.Contains(b.P.Announce(), "once more") {
		t.Fatalf("left unasked; it says %q", b.P.Announce())
	}
	if !b.P.Holds() {
		t.Error("the page does not ask")
	}
	b.Do("tab.gain")
	b.Wait(0.1)
	if b.P.Scene().ID() != "tab.gain" {
		t.Error("asked twice")
	}
}
