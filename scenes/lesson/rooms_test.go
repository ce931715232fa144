package lesson

import (
	"fmt"
	"os"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
)

// steps goes through a lesson, its takes made offline, and calls look at every step, and
// once more where an answer or a take has been judged.
func steps(b *scenetest.Driver, s *Scene, look func(when string)) {
	b.Helper()
	for n := 0; s.v.State != run.Finished && n < 100; n++ {
		quiet(b, s)
		look("")
		switch s.v.State {
		case run.Answering:
			switch {
			case len(s.answers) > 0:
				b.Do("lesson.answer.a")
			case s.v.Step.Kind == model.Explain:
				b.Write("lesson.text", "It was the laugh, and nobody could have known before that it would be so loud.")
			default:
				b.Write("lesson.text", "1")
			}
			b.Do("lesson.commit")
			if s.v.State != run.Answering {
				look("answered")
			}
			continue
		case run.Recording:
			if err := s.r.Record(b.Context(), nil); err != nil {
				b.Fatal(err)
			}
			s.view()
			s.tocome = true
			b.Wait(1.0 / 60)
			look("recorded")
			if s.v.Blocked != "" {
				b.Do("lesson.give_up")
				continue
			}
		case run.Listening:
			answerHeard(b, s)
			for s.v.Step.Trials > len(s.here().Answers) {
				hearTrial(b, s)
				b.Do("lesson.trial." + s.v.Step.Strips[0])
			}
		}
		b.Do("lesson.next")
	}
}

// TestStepsOnAPhone: in every built-in lesson every kind of step has what it asks, the
// answers, the knob that it has turned and the main button on one page, nothing scrolled
// and nothing switched; what became of an answer or a take comes into view by itself. On
// the smallest screens the beginning of what is asked will do. Every third lesson; all of
// them with GAINWRIGHT_LONG.
func TestStepsOnAPhone(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	for i, name := range builtin.Names() {
		if i%3 > 0 && os.Getenv("GAINWRIGHT_LONG") == "" {
			continue
		}
		b.Until("the lesson is read", func() bool { return b.Has("lesson.begin." + name) })
		b.Do("lesson.begin." + name)
		seen := map[string]bool{}
		steps(b, s, func(when string) {
			key := string(s.v.Step.Kind) + when
			if seen[key] && s.v.Step.Kind != model.Do {
				return
			}
			seen[key] = true
			for _, size := range scenetest.PhoneSizes {
				b.Size = size
				s.step.Scroll = 0
				b.P.Relayout()
				b.Wait(2.0 / 60)
				onOnePage(t, b, s, name+", "+s.v.Step.ID+" "+when, when != "")
			}
		})
		if len(seen) < 3 {
			t.Errorf("%s: only %v were seen", name, seen)
		}
		b.Do("lesson.list")
		b.Wait(1.0 / 60)
	}
}

func onOnePage(t *testing.T, b *scenetest.Driver, s *Scene, name string, judged bool) {
	t.Helper()
	var ids []string
	switch {
	case s.v.Asked:
		ids = append(ids, idCommit)
	case s.v.State == run.Recording:
		ids = append(ids, idRecord)
	default:
		ids = append(ids, idNext)
	}
	for _, tr := range s.trials {
		ids = append(ids, tr.ID)
	}
	roomy := b.Size == scenetest.PhoneSizes[0]
	for _, a := range s.answers {
		if roomy && !judged {
			ids = append(ids, a.ID)
		}
	}
	view := s.step.View
	if inUse(&s.v) && !judged {
		turned := false
		for i := range s.sets {
			if k := s.sets[i].c.Key; s.turnedOnStrip(k) {
				turned = true
			} else if roomy {
				switch set := &s.sets[i]; {
				case set.field != nil:
					ids = append(ids, set.field.ID)
				case set.check != nil:
					ids = append(ids, set.check.ID)
				}
			}
		}
		if turned {
			n := "ABCD"[s.g.Shown : s.g.Shown+1]
			ids = append(ids, n+"."+kit.IDStripGain, n+"."+kit.IDStripMeter)
		}
	}
	scenetest.CheckInView(t, name, b, ids...)
	least := b.P.Theme().Least
	for _, c := range b.P.Controls() {
		if c := c.Common(); !c.Hidden && (c.Bounds.W < least-0.01 || c.Bounds.H < least-0.01) {
			t.Errorf("%s, %v: %s is only %.1f by %.1f dp", name, b.Size, c.ID, c.Bounds.W, c.Bounds.H)
		}
	}
	var l ink.List
	b.P.Draw(&l)
	scenetest.CheckTexts(t, fmt.Sprint(name, b.Size), &l, b.Size, ink.Rect{W: b.Size.X, H: b.Size.Y})
	switch {
	case judged:
	case roomy && (s.asked.Y < view.Y || s.asked.Bottom() > view.Bottom()+1):
		t.Errorf("%s: what is asked at %v is not in view in %v", name, s.asked, view)
	case s.asked.Y+min(60, s.asked.H) > view.Bottom()+1:
		t.Errorf("%s, %v: of what is asked at %v hardly anything is in view in %v", name, b.Size, s.asked, view)
	}
}

// TestLessonsFillTheDesk: in no step of a lesson is a wide part of a desk's window empty,
// or full of what cannot be used.
func TestLessonsFillTheDesk(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	for _, name := range []string{"gain-and-headroom", "before-or-after"} {
		b.Until("the lesson is read", func() bool { return b.Has("lesson.begin." + name) })
		b.Do("lesson.begin." + name)
		steps(b, s, func(when string) {
			for _, b.Size = range scenetest.DeskSizes {
				scenetest.CheckFilled(t, name+", "+s.v.Step.ID+" "+when, b)
			}
		})
		b.Do("lesson.list")
		b.Wait(1.0 / 60)
	}
}
