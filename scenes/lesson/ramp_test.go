package lesson

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/model"
	"gainwright/lessons/review"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
)

// pass goes through a lesson offline with what is right.
func pass(b *scenetest.Driver, s *Scene) {
	b.Helper()
	for s.v.State != run.Finished {
		quiet(b, s)
		rightly(b, s)
		b.Do("lesson.next")
	}
}

// rightly does what the step asks.
func rightly(b *scenetest.Driver, s *Scene) {
	b.Helper()
	for s.v.State == run.Answering {
		for i, c := range s.v.Step.Question.Choices {
			if c.Right || i == 0 {
				b.Do("lesson.answer." + model.Letter(i))
			}
		}
		b.Do("lesson.commit")
	}
}

// The list says what is passed, what comes next and what leads where; a day after a lesson
// a task of it is due, which stands alone, moves its day as it is answered, is kept over a
// reload, makes no result, and is forgotten with the rest.
func TestMixedReview(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	lesson := func(n, needs string) string {
		return "title: Lesson " + n + "\nid: " + n + "\nfor: us\nminutes: 1\n" + needs + "scenario: captain-laughs\nsteps:\n  - ask: Which?\n    id: which\n    choices:\n      - that\n      - {say: this, right: true}\n"
	}
	if b.Has("lesson.review") || b.Has("lesson.standing") {
		t.Error("there is a review of nothing")
	}
	openOwn(b, s, lesson("one", ""))
	pass(b, s)
	b.Do("lesson.list")
	b.Wait(1)
	if n := b.Node("lesson.standing"); n.Value != fmt.Sprintf("1 of %d passed. Next: What the numbers mean.", 1+len(builtin.Names())) {
		t.Errorf("it says %q", n.Value)
	}
	n := b.Node("lesson.begin.gain-and-headroom")
	for _, w := range []string{"Builds on: What the numbers mean.", "Leads to: Why the limiter came too late; Noise: the price of headroom; Blind listening."} {
		if !strings.Contains(n.Hint, w) {
			t.Errorf("%q is not in %q", w, n.Hint)
		}
	}
	if n := b.Node("lesson.begin.what-the-numbers-mean"); !strings.HasPrefix(n.Value, "next: about") {
		t.Errorf("the next one says %q", n.Value)
	}
	if n := b.Node("lesson.review"); !n.Disabled || !strings.HasPrefix(n.Why, "nothing is due before 20") {
		t.Errorf("on the same day: %+v", n)
	}
	later := time.Now().AddDate(0, 0, 3)
	s.way.today = func() time.Time { return later }
	b.Wait(0.1)
	s.shell.Relayout()
	b.Wait(0.1)
	shoot := func(name string) {
		if dir := os.Getenv("GAINWRIGHT_SHOTS"); dir != "" {
			for _, size := range []ink.Point{{X: 390, Y: 844}, {X: 1280, Y: 720}} {
				scenetest.Shotter{Driver: b, Dir: dir}.Shot(name, int(size.X), int(size.Y))
			}
		}
	}
	shoot("lessons-standing")
	b.Do("lesson.review")
	b.Wait(0.1)
	if n := b.Node("lesson.where"); !strings.Contains(n.Name, "Mixed review: Lesson one") {
		t.Errorf("it is %q", n.Name)
	}
	rightly(b, s)
	b.Do("lesson.next")
	b.Wait(0.1)
	shoot("lessons-reviewed")
	if b.Has("lesson.save") && !b.Node("lesson.save").Disabled || !strings.Contains(b.P.Announce(), "Right. A task of this lesson comes again on "+later.AddDate(0, 0, 2).Format(review.Day)) {
		t.Errorf("it says %q", b.P.Announce())
	}
	for key := range k.M {
		if strings.Contains(key, "review-") {
			t.Errorf("%s is kept", key)
		}
	}
	b.Do("lesson.list")
	b, s = lessonBench(t, k)
	later = later.AddDate(0, 0, 5)
	s.way.today = func() time.Time { return later }
	s.shell.Relayout()
	b.Wait(1)
	if n := b.Node("lesson.review"); n.Disabled || !strings.Contains(n.Name, "1 due") {
		t.Errorf("after a reload: %+v", n)
	}
	b.Do("lesson.review")
	b.Do("lesson.answer.a")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	if !strings.Contains(b.P.Announce(), "Not right yet. A task of this lesson comes again on "+later.AddDate(0, 0, 1).Format(review.Day)) {
		t.Errorf("it says %q", b.P.Announce())
	}
	b.Do("lesson.list")
	b.Do(s.items[0].card.ID)
	b.Wait(0.1)
	b.Do("lesson.forget")
	b.Do("lesson.forget")
	b.Wait(0.5)
	if k.M[reviewKept] != "" && strings.Contains(k.M[reviewKept], "which") {
		t.Errorf("it is kept: %s", k.M[reviewKept])
	}
}

// Several are due: one after another, until none is.
func TestReviewGoesOn(t *testing.T) {
	st, _ := review.Read(nil)
	for _, id := range []string{"what-the-numbers-mean", "reading-meters", "mending"} {
		st.Taken(id, time.Now().AddDate(0, 0, -9))
	}
	text, err := st.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{reviewKept: string(text)}})
	b.Wait(1)
	seen := map[string]bool{}
	for i := range 3 {
		b.Do("lesson.review")
		b.Wait(0.1)
		seen[s.item.asked.id] = true
		for s.v.State != run.Finished {
			quiet(b, s)
			if s.v.State == run.Recording {
				b.Do("lesson.give_up")
				continue
			}
			rightly(b, s)
			b.Do("lesson.next")
		}
		b.Wait(0.1)
		if left := s.way.due; left != 2-i || b.Has("lesson.review") != (left > 0) {
			t.Fatalf("%d are due after %d", left, i+1)
		}
	}
	if len(seen) != 3 {
		t.Errorf("asked: %v", seen)
	}
}
