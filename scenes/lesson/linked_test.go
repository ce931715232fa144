package lesson

import (
	"strings"
	"testing"

	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
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

// A link's key signs the result of its name and seed, over a reload, too; under another name
// it does not, and that is told. Whoever is forgotten leaves no key, and a link cut short is
// told.
func TestLinkSigns(t *testing.T) {
	class := keys.New()
	own, err := class.For("Ilse B", 41)
	if err != nil {
		t.Fatal(err)
	}
	seed := uint64(41)
	link := model.Link{Lesson: "mine", Seed: &seed, Name: "Ilse B", Key: own.Code()}
	quick := "title: Quick\nfor: us\nminutes: 1\nscenario: captain-laughs\nsteps:\n  - say: Look at the ferry.\n"
	h := &scenetest.Memory{M: map[string]string{}, Link: link.String(), Stock: []kit.LessonFile{{Name: "mine.yaml", Text: quick}}}
	b := lessonVisit(t, h)
	b.Wait(0.2)
	b.Do("lesson.next")
	h.Link = "" // what is kept is enough
	b, _ = lessonBench(t, h)
	b.Do("lesson.begin.mine")
	b.Wait(0.1)
	saved := func() *run.Result {
		t.Helper()
		b.Do("lesson.save")
		_, data, ok := b.P.NextSave()
		res, err := run.ParseResult(data)
		if !ok || err != nil {
			t.Fatal(ok, err)
		}
		return res
	}
	if res := saved(); res.Verify(class) != "" || res.Signature.Method != keys.Student || !strings.Contains(b.Node("lesson.save").Hint, "key of your link") {
		t.Errorf("signed with %+v: %s; it says %q", res.Signature, res.Verify(class), b.Node("lesson.save").Hint)
	}
	b.Write("lesson.name", "Bo")
	b.Wait(0.1)
	if res := saved(); res.Verify(nil) != "" || !strings.Contains(b.Node("lesson.save").Hint, "for the name Ilse B") {
		t.Errorf("under another name: %s; it says %q", res.Verify(nil), b.Node("lesson.save").Hint)
	}
	b.Do("lesson.forget")
	b.Do("lesson.forget")
	for k, v := range h.M {
		if strings.Contains(v, own.Code()) {
			t.Errorf("%s keeps the key", k)
		}
	}
	link.Key = link.Key[:30]
	b = lessonVisit(t, &scenetest.Memory{M: map[string]string{}, Link: link.String(), Stock: h.Stock})
	b.Wait(0.2)
	if !strings.Contains(b.P.Announce(), "the link is not whole") {
		t.Errorf("it says %q", b.P.Announce())
	}
}
