package lesson

import (
	"strings"
	"testing"

	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
)

const given = `title: %T
for: the crew
minutes: 3
scenario: captain-laughs
vary:
  performance: 3
steps:
  - say: Look at the ferry.
  - record: Record it.
`

// A link opens its lesson, of the site or built in, with its seed and name; one that is
// not here is told.
func TestLink(t *testing.T) {
	stock := []kit.LessonFile{{Name: "mine.yaml", Text: strings.Replace(given, "%T", "The bell", 1)}, {Name: "broken.yaml", Text: "title: x"}}
	visit := func(h *scenetest.Memory) (*scenetest.Driver, *Scene) {
		if h.Stock == nil {
			h.Stock = stock
		}
		b := lessonVisit(t, h)
		b.Wait(0.2)
		s, ok := b.P.Scene().(*Scene)
		if !ok {
			t.Fatalf("%s shows %s", h.Link, b.P.Scene().ID())
		}
		return b, s
	}
	h := &scenetest.Memory{M: map[string]string{}, Link: "#lesson=mine&seed=41&name=Ilse%20B"}
	_, s := visit(h)
	if s.item == nil || s.item.l.Title != "The bell" || s.r.Progress().Seed != 41 || s.r.Progress().Student != "Ilse B" || h.M["student"] != "Ilse B" {
		t.Fatalf("the site's lesson is not on: %q, %+v", s.status, s.item)
	}
	if !strings.HasPrefix(s.item.card.Under, "Of this site.") {
		t.Errorf("it says %q", s.item.card.Under)
	}
	// Followed again it goes on; with another seed it begins anew.
	attempt := s.r.Progress().Attempt
	_, s = visit(&scenetest.Memory{M: h.M, Link: "#lesson=mine&seed=41"})
	if got := s.r.Progress(); got.Attempt != attempt {
		t.Error("the same link began anew")
	}
	_, s = visit(&scenetest.Memory{M: h.M, Link: "#lesson=mine&seed=42"})
	if got := s.r.Progress(); got.Attempt == attempt || got.Seed != 42 {
		t.Errorf("another seed: %d", got.Seed)
	}
	// What was begun before is not lost by that: its own link goes on with it.
	if err := s.goOn(s.r.Advance()); err != nil {
		t.Fatal(err)
	}
	other := s.r.Progress().Attempt
	b, s := visit(&scenetest.Memory{M: h.M, Stock: stock[:1], Link: "#lesson=mine&seed=41"})
	if got := s.r.Progress(); got.Attempt != attempt || !strings.Contains(b.P.Announce(), "with the seed 42") {
		t.Errorf("the first link goes on with the seed %d, attempt %s, and says %q", got.Seed, got.Attempt, b.P.Announce())
	}
	_, s = visit(&scenetest.Memory{M: h.M, Link: "#lesson=mine&seed=42"})
	if got := s.r.Progress(); got.Attempt != other || got.At != 1 {
		t.Errorf("the second link goes on at step %d of attempt %s", got.At, got.Attempt)
	}
	// A built-in lesson is meant before one of one's own that has its name.
	_, s = visit(&scenetest.Memory{M: map[string]string{"lesson.own": "gain-and-headroom.yaml\n" + strings.Replace(given, "%T", "My own", 1)}, Link: "#lesson=gain-and-headroom"})
	if s.item == nil || s.item.own {
		t.Error("a lesson of one's own is on")
	}
	_, s = visit(&scenetest.Memory{M: map[string]string{}, Link: "#lesson=gain-and-headroom"})
	if s.item == nil || s.item.l.ID != "gain-and-headroom" || s.item.sites {
		t.Errorf("a built-in lesson is not on: %q", s.status)
	}
	b, s = visit(&scenetest.Memory{M: map[string]string{}, Link: "#lesson=nowhere"})
	if s.item != nil || !strings.Contains(b.P.Announce(), `"nowhere", which is not here`) {
		t.Errorf("a lesson that is not here: %q", b.P.Announce())
	}
	// Without a link the site's lessons stand first, and are no less to be seen than others.
	b, s = visit(&scenetest.Memory{M: map[string]string{}, Link: "#lesson=nowhere"})
	b.Wait(2)
	if s.items[0].l.ID != "mine" || len(s.unread) > 0 || len(s.items) < 10 {
		t.Errorf("%d lessons, %s first", len(s.items), s.items[0].l.ID)
	}
}
