package lesson

import (
	"os"
	"strings"
	"testing"

	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
)

// shownLesson has a picture of the bench before a take, of its waves, and of the levels.
const shownLesson = "title: Shown\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n      - {text: \"Now let go!\", effort: loud}\n" +
	"  strips:\n    A: {preamp: {gain_db: 60}}\n    B: {preamp: {gain_db: 20}}\n" +
	"steps:\n  - say: This is the bench.\n    show: B.diagram\n  - record: Record it.\n    show: waves\n  - say: Look at B, too.\n    show: B.waves\n  - say: And along the chain.\n    show: diagram\n" +
	"  - do: Turn it down.\n    id: set\n    controls: {A.preamp.gain_db: {from: 0, to: 60}}\n    rule: A.overs == 0\n    show: diagram\n"

// A step's picture is of the bench before its take, then of the take, in words for those
// who do not see it, and it is there where a lesson goes on after a reload.
func TestShown(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	dir := os.Getenv("GAINWRIGHT_SHOTS") // to look at, if wanted
	openOwn(b, s, shownLesson)
	looks := func(shot, title string, words ...string) {
		t.Helper()
		quiet(b, s)
		b.Wait(0.1)
		quiet(b, s)
		b.Wait(0.1)
		n := b.Node("lesson.shown")
		if !strings.Contains(n.Name, title) {
			t.Errorf("%s: the picture is %q", shot, n.Name)
		}
		for _, w := range words {
			if !strings.Contains(n.Value, w) {
				t.Errorf("%s: %q is not in %q", shot, w, n.Value)
			}
		}
		if dir != "" {
			sh := scenetest.Shotter{Driver: b, Dir: dir}
			was := b.Size
			sh.Shot("lesson-shown-"+shot, int(was.X), int(was.Y))
		}
	}
	looks("bench", "Strip B: what its stations can take", "preamp gain 20.0 dB", "full at 0.0 dB")
	b.Do("lesson.next")
	b.Wait(0.2)
	if b.Has("lesson.shown") {
		t.Error("waves before the take")
	}
	b.Do("record")
	quiet(b, s)
	looks("waves", "Strip A: the loudest 12 ms", "% of samples flat: lost", "In the file: peak")
	b.Do("lesson.next")
	looks("whole", "Strip B", "nothing cut off")
	b, s = lessonBench(t, k)
	b.Do(s.items[0].card.ID)
	looks("again", "Strip B", "nothing cut off")
	b.Do("lesson.next")
	looks("levels", "levels along the chain", "lost for good")
	quiet(b, s)
	b.Do("lesson.next")
	looks("task", "Strip A: what its stations can take", "preamp gain 60.0 dB")
	if err := s.set("A.preamp.gain_db", 25.0); err != nil {
		t.Fatal(err)
	}
	looks("turned", "what its stations can take", "preamp gain 25.0 dB")
	// On a phone it stands in the column, too.
	b.Size = ink.Point{X: 390, Y: 844}
	looks("phone", "what its stations can take")
	if w := s.shown.box.W; w < 250 || w > 390 {
		t.Errorf("it is %v dp wide on a phone", w)
	}
	if s.v.State != run.Recording {
		t.Error("the lesson has gone on")
	}
}
