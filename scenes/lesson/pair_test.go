package lesson

import (
	"strings"
	"testing"

	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
)

func limitedRecorder(place string) *equipment.Recorder {
	return &equipment.Recorder{Learnt: "2026-05-02", Limiter: &equipment.Limiter{Place: place, Odds: 500, Stretches: 40, Threshold: equipment.Of(-9, -10, -8),
		Ratio: equipment.Of(20, 12, 100), Attack: equipment.Of(3, 2, 4), Release: equipment.Of(200, 150, 260)}}
}

// TestLessonOnOwnLimiter: the limiter of a pair of one's own, handed over by another scene
// or dropped as an equipment file, stands in the lesson on its place; it is there at the
// next visit and goes on; the result comes with the file that it is graded with; a limiter
// whose place is not known is refused, and forgetting me forgets it.
func TestLessonOnOwnLimiter(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	text, err := limitedRecorder("after_converter").Write()
	if err != nil {
		t.Fatal(err)
	}
	if err := b.P.Go(kit.IDTabLessons, ui.Intent{ID: kit.IDLessonPair, Do: ui.DoSet, Text: string(text)}); err != nil {
		t.Fatal(err)
	}
	quiet(b, s)
	on := s.scn.Strip("on").Chain
	if s.item == nil || s.item.l.ID != pairLesson || !on.Limiter.On || on.Limiter.ThresholdDBFS != -9 || on.InputLimiter.On {
		t.Fatalf("%+v, limiter %+v, input limiter %+v", s.item, on.Limiter, on.InputLimiter)
	}
	b.Do(idNext)
	s.store()

	b, s = lessonBench(t, k) // another visit
	id := idBegin + "own." + pairLesson
	if c := b.Node(id); !strings.Contains(s.items[0].card.Under, "your own recorder") || c.Disabled {
		t.Fatalf("%+v, %q", c, s.items[0].card.Under)
	}
	b.Do(id)
	quiet(b, s)
	if s.v.Number != 2 || s.scn.Strip("on").Chain.Limiter.ThresholdDBFS != -9 {
		t.Errorf("at step %d with %+v", s.v.Number, s.scn.Strip("on").Chain.Limiter)
	}
	if w, err := s.item.saveRecorder(s.shell, "a-result.json", ""); err != nil || !strings.Contains(w, "a-result-recorder.yaml") {
		t.Error(err, w)
	}

	// By file, and another limiter: it takes the place of the first.
	text, _ = limitedRecorder("before_converter").Write()
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "mine.yaml", Data: text}}})
	quiet(b, s)
	on = s.scn.Strip("on").Chain
	if on.Limiter.On || !on.InputLimiter.On || s.v.Number != 1 {
		t.Errorf("limiter %+v, input limiter %+v, step %d", on.Limiter, on.InputLimiter, s.v.Number)
	}
	own := 0
	for _, x := range s.items {
		if x.on != nil {
			own++
		}
	}
	if own != 1 {
		t.Errorf("%d lessons on the limiter", own)
	}

	text, _ = limitedRecorder("unknown").Write()
	if err := b.P.Go(kit.IDTabLessons, ui.Intent{ID: kit.IDLessonPair, Do: ui.DoSet, Text: string(text)}); err == nil {
		t.Error("an unknown place passes")
	}
	if err := b.P.Go(kit.IDTabLessons, ui.Intent{ID: kit.IDLessonPair, Do: ui.DoSet, Text: "recorder: {"}); err == nil {
		t.Error("a torn file passes")
	}
}
