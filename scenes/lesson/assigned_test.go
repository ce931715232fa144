package lesson

import (
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// school is a host that has the user take one lesson.
type school struct {
	scenetest.Memory
	as   *kit.Assignment
	told []kit.Standing
	left int
}

func (h *school) Assigned() *kit.Assignment { return h.as }
func (h *school) Stands(st kit.Standing)    { h.told = append(h.told, st) }
func (h *school) Leave()                    { h.left++ }

const twoQuestions = `title: Two questions
for: testers
minutes: 1
scenario: captain-laughs
steps:
  - {ask: One?, id: one, choices: [{say: "yes", right: true}, {say: "no"}]}
  - {ask: Two?, id: two, choices: [{say: "yes", right: true}, {say: "no"}]}
`

func visitSchool(t *testing.T, h *school) (*scenetest.Driver, *Scene) {
	t.Helper()
	b := lessonVisit(t, h)
	b.Wait(0.5)
	s, ok := b.P.Scene().(*Scene)
	if !ok {
		t.Fatalf("the visit begins in %T", b.P.Scene())
	}
	return b, s
}

// TestAssigned: a lesson that a learning system has opened begins by itself, is told of at
// each step, goes on at the next visit where it was, and nothing of it is kept here.
func TestAssigned(t *testing.T) {
	l, err := format.Parse("two.yaml", []byte(twoQuestions))
	if err != nil {
		t.Fatal(err)
	}
	h := &school{Memory: scenetest.Memory{M: map[string]string{}}, as: &kit.Assignment{Lesson: l, Student: "Rørp, Ida", Records: true, Once: true}}
	b, s := visitSchool(t, h)
	if s.item == nil || s.item.l != l || len(s.items) != 1 || len(h.told) != 1 || h.told[0].Progress.At != 0 || h.told[0].Result != nil {
		t.Fatalf("it has not begun by itself: %d lessons, told %d times", len(s.items), len(h.told))
	}
	if got := h.told[0].Progress.Student; got != "Rørp, Ida" {
		t.Errorf("the student is %q", got)
	}
	b.Do("lesson.answer.a")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	last := h.told[len(h.told)-1]
	if last.Progress.At != 1 || last.Progress.Steps[0].Verdict != run.Right || len(last.Saved) == 0 {
		t.Errorf("after a step it is told %+v", last.Progress)
	}
	for k, v := range h.M {
		if strings.HasPrefix(k, stored) || strings.Contains(v, "two.yaml") || k == "student" {
			t.Errorf("kept here: %s = %.60q", k, v)
		}
	}
	if n := b.Node("lesson.list"); !strings.Contains(n.Name, "Leave") {
		t.Errorf("the way out is called %q", n.Name)
	}
	b.Do("lesson.list")
	if h.left != 1 || s.item == nil {
		t.Errorf("left %d times", h.left)
	}

	// The next visit.
	next := &school{Memory: scenetest.Memory{M: map[string]string{}}, as: &kit.Assignment{Lesson: l, Saved: last.Saved, Records: true, Once: true, Notice: "You are told this."}}
	b, s = visitSchool(t, next)
	if s.r.Progress().At != 1 || s.r.Progress().Attempt != last.Progress.Attempt {
		t.Fatalf("it goes on at step %d of another attempt", s.r.Progress().At+1)
	}
	if w := b.P.Announce(); w != "You are told this." {
		t.Errorf("it says %q", w)
	}
	b.Do("lesson.answer.a")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	last = next.told[len(next.told)-1]
	if last.Result == nil || !last.Result.Passed || last.Result.Points != 2 {
		t.Errorf("finished, it is told %+v", last.Result)
	}
	if n := b.Node("lesson.anew"); !n.Disabled {
		t.Error("a second attempt is offered in the same visit")
	}
	if err := b.P.Apply(ui.Intent{ID: "lesson.anew", Do: ui.DoPress}); err == nil && s.v.State != run.Finished {
		t.Error("a second attempt was begun in the same visit")
	}

	// A visit after that begins at the end, and may begin anew.
	after := &school{Memory: scenetest.Memory{M: map[string]string{}}, as: &kit.Assignment{Lesson: l, Saved: last.Saved, Records: true, Once: true}}
	b, s = visitSchool(t, after)
	if s.v.State != run.Finished || after.told[0].Result == nil {
		t.Fatal("it does not begin at the end")
	}
	if w := s.given.handIn(); !strings.Contains(w, "has been told") {
		t.Errorf("it says %q", w)
	}
	after.as.Passed = true
	if w := s.given.handIn(); !strings.Contains(w, "stands in your course") {
		t.Errorf("passed before, it says %q", w)
	}
	b.Do("lesson.anew")
	if s.v.State != run.Answering || after.told[len(after.told)-1].Progress.Attempt == last.Progress.Attempt {
		t.Error("it was not begun anew")
	}
}

// A file dropped in has no place there.
func TestAssignedTakesNoOther(t *testing.T) {
	l, err := format.Parse("two.yaml", []byte(twoQuestions))
	if err != nil {
		t.Fatal(err)
	}
	h := &school{Memory: scenetest.Memory{M: map[string]string{}}, as: &kit.Assignment{Lesson: l}}
	b, s := visitSchool(t, h)
	s.Update(&ui.Input{Drops: []ui.Drop{{Name: "other.yaml", Data: []byte(strings.Replace(twoQuestions, "Two questions", "Others", 1))}}})
	if len(s.items) != 1 || s.item == nil || !strings.Contains(b.P.Announce(), "the lesson of your course") {
		t.Errorf("%d lessons; it says %q", len(s.items), b.P.Announce())
	}
}
