package lesson

import (
	"testing"

	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// TestLessonInTwoTabs: the same for a lesson's progress.
func TestLessonInTwoTabs(t *testing.T) {
	br := &scenetest.Browser{M: map[string]string{}}
	ha, hb := br.Tab(), br.Tab()
	a, b := lessonVisit(t, ha), lessonVisit(t, hb)
	var id string
	for _, x := range []*scenetest.Driver{a, b} {
		x.Do("tab.lessons")
		x.Wait(1)
		id = x.P.Scene().(*Scene).items[0].card.ID
		x.Do(id)
		x.Wait(0.5)
	}
	sa, sb := a.P.Scene().(*Scene), b.P.Scene().(*Scene)
	a.Wait(0.5)
	if sa.r.Progress().At != 0 {
		t.Fatal("the lesson does not begin at its beginning")
	}
	if err := a.P.Apply(ui.Intent{ID: "lesson.next", Do: ui.DoPress}); err != nil {
		t.Fatal(err)
	}
	a.Wait(0.2)
	b.Wait(0.2)
	if sb.r.Progress().At != sa.r.Progress().At || sa.r.Progress().At == 0 {
		t.Errorf("one tab is at step %d, the other at %d", sa.r.Progress().At, sb.r.Progress().At)
	}
	if w := b.P.Announce(); w != lessonWords {
		t.Errorf("it says %q", w)
	}
	kept := hb.M[storeKey(sb.item.l)]
	sb.foreign, sb.dirty = true, true
	sb.store()
	if hb.M[storeKey(sb.item.l)] != kept {
		t.Error("the other tab's progress was written over")
	}
	b.Wait(0.1)
	if w := b.P.Announce(); w != lessonLost {
		t.Errorf("it says %q", w)
	}
}
