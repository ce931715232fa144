package scenes

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
)

func lessonScenes(sh Shell) []Scene {
	g := newGainScene(sh)
	return amid(g, newLessonScene(sh, g))
}

func lessonVisit(t testing.TB, h Host) *bench { return drive(t, build(t, h, lessonScenes)) }

func lessonBench(t testing.TB, host Host) (*bench, *lessonScene) {
	t.Helper()
	b := drive(t, build(t, host, lessonScenes))
	b.do("tab.lessons")
	s, ok := b.p.Scene().(*lessonScene)
	if !ok {
		t.Fatalf("the tab shows %q", b.p.Scene().Title())
	}
	s.draw = func() uint64 { return 7 }
	b.wait(0.5)
	return b, s
}

// quiet waits until no work is under way and no take rolls.
func quiet(b *bench, s *lessonScene) {
	b.Helper()
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); {
		b.wait(1.0 / 60)
		if s.job == nil && !s.stage.rolling() && s.stage.now == nil && (s.v.State != run.Listening || len(s.waves) > 0) {
			return
		}
		if s.job != nil {
			time.Sleep(time.Millisecond)
		}
	}
	b.Fatalf("still %q", s.doing)
}

// walk takes a lesson to its end with wrong predictions and answers, and with what
// a step's own rule needs where gains can find it.
func walk(b *bench, s *lessonScene) (steps int) {
	b.Helper()
	for steps = 0; s.v.State != run.Finished && steps < 100; steps++ {
		quiet(b, s)
		switch s.v.State {
		case run.Answering:
			switch {
			case len(s.answers) > 0:
				b.do("lesson.answer.a")
			case s.v.Step.Kind == model.Explain:
				b.write("lesson.text", "It was the laugh, and nobody could have known before that it would be so loud.")
			default:
				b.write("lesson.text", "1")
			}
			b.do("lesson.commit")
			continue
		case run.Recording:
			b.do("lesson.record")
			quiet(b, s)
			if s.here().Take == nil {
				b.Fatalf("step %s: nothing was recorded: %s", s.v.Step.ID, b.p.Announce())
			}
			if s.v.Blocked != "" {
				b.do("lesson.give_up")
				continue
			}
		case run.Listening:
			for s.v.Step.Trials > len(s.here().Answers) {
				b.do("lesson.hear.trial")
				b.do("lesson.trial." + s.v.Step.Strips[0])
			}
		}
		b.wait(1.0 / 60)
		b.do("lesson.next")
	}
	return steps
}

// TestLessonWalks takes two lessons from the first step to the result.
func TestLessonWalks(t *testing.T) {
	for _, name := range []string{"gain-and-headroom", "blind-listening"} {
		b, s := lessonBench(t, keeper{m: map[string]string{}})
		b.do("lesson.begin." + name)
		walk(b, s)
		if s.v.State != run.Finished {
			t.Fatalf("%s: stands at %s", name, s.v.Step.ID)
		}
		b.do("lesson.save")
		file, data, ok := b.p.NextSave()
		if !ok || file != name+"-result.json" {
			t.Fatalf("%s: %q, %v", name, file, ok)
		}
		res, err := run.ParseResult(data)
		if err != nil {
			t.Fatal(err)
		}
		if res.Passed || res.Lesson.ID != name {
			t.Errorf("%s: %+v", name, res)
		}
	}
}

// TestLessonTake: the take that is performed on the bench, sample for sample, reads
// what counts; settings that the step does not unlock are refused with the reason.
func TestLessonTake(t *testing.T) {
	b, s := lessonBench(t, keeper{m: map[string]string{}})
	b.do("lesson.begin.gain-and-headroom")
	for s.v.Step.Kind != model.Do {
		quiet(b, s)
		switch s.v.State {
		case run.Answering:
			if len(s.answers) > 0 {
				b.do("lesson.answer.a")
			} else {
				b.write("lesson.text", "−12,5 dBFS")
			}
			b.do("lesson.commit")
			if s.v.State == run.Answering {
				continue
			}
		case run.Recording:
			err := b.p.Apply(Intent{ID: "A.gain_db", Do: "set", Value: 30})
			if err == nil {
				t.Errorf("step %s: the gain could be set", s.v.Step.ID)
			}
			b.do("record")
			quiet(b, s)
		}
		b.do("lesson.next")
	}
	key := s.v.Step.Controls[0].Key
	if n := b.node("A.gain_db"); n.Disabled {
		t.Fatalf("the step unlocks %s, but the knob is dimmed: %s", key, n.Why)
	}
	if n := b.node("talker.captain"); !n.Disabled || n.Why == "" {
		t.Errorf("the talker can be changed: %+v", n)
	}
	for _, id := range []string{"A.limiter.before", "A.preamp.pad_db", "distance_m", "talker.pip", "surprises", "strips.add", "undo", "A.mic.condenser", "event.laugh"} {
		if err := b.p.Apply(Intent{ID: id, Do: "press"}); err == nil {
			t.Errorf("%s was allowed", id)
		} else if err.Error() == "" || s.p.Bench().Talker() != s.scn.Source.Talker {
			t.Errorf("%s: %v", id, err)
		}
	}
	if err := b.p.Apply(Intent{ID: "A.gain_db", Do: "set", Value: 200}); err == nil {
		t.Error("200 dB were accepted")
	}
	b.set("A.gain_db", 33)
	if got := s.valueOf(key); got != 33.0 {
		t.Errorf("%s is %v, want 33", key, got)
	}
	if n := b.node("lesson.set." + key); n.Now != 33 {
		t.Errorf("the step shows %v", n.Now)
	}
	b.set("lesson.set."+key, 32)
	if got := b.p.Bench().Chain(0).Preamp.GainDB; got != 32 {
		t.Errorf("the bench stands at %v dB", got)
	}
	b.do("record")
	rolls(b, s.stage.rolling)
	if err := b.p.Apply(Intent{ID: "A.gain_db", Do: "set", Value: 40}); err == nil {
		t.Error("the gain could be turned while the take rolls")
	}
	quiet(b, s)
	take := b.p.Bench().Take()
	for i, n := range s.onBench {
		// Not what agree put there: the file itself.
		peak := 0.0
		for _, x := range take.File[i] {
			peak = max(peak, math.Abs(float64(x)))
		}
		want := float64(s.readings[n]["peak_dbfs"])
		if math.Abs(decibel(peak)-want) > 1e-3 {
			t.Errorf("%s: the take on the bench peaks at %v dBFS, the one that counts at %v", n, decibel(peak), want)
		}
	}
}

// TestLessonGivesBack: the bench is afterwards as it was.
func TestLessonGivesBack(t *testing.T) {
	k := keeper{m: map[string]string{}}
	b, s := lessonBench(t, k)
	b.do("tab.gain")
	b.set("A.gain_db", 21)
	b.do("talker.maren")
	b.do("record")
	b.wait(1)
	b.do("record")
	b.wait(1)
	was, take, stored := b.p.Bench().Setup(), b.p.Bench().Take(), k.m["setup"]
	n := len(b.p.Bench().Recipes())
	check := func(when string) {
		t.Helper()
		b.wait(2)
		if got := b.p.Bench().Setup(); got != was {
			t.Errorf("%s the bench is %+v, was %+v", when, got, was)
		}
		if b.p.Bench().Take() != take || len(b.p.Bench().Recipes()) != n || k.m["setup"] != stored {
			t.Errorf("%s take or memory are not as they were", when)
		}
		if n := b.node("A.gain_db"); n.Disabled || n.Now != 21 {
			t.Errorf("%s the knob is %+v", when, n)
		}
	}
	b.do("tab.lessons")
	b.do("lesson.begin.before-or-after")
	b.wait(0.2)
	if b.p.Bench().N() != 3 || b.p.Bench().Talker() == "maren" && s.scn.Source.Talker != "maren" {
		t.Errorf("%d strips, %s talks", b.p.Bench().N(), b.p.Bench().Talker())
	}
	b.do("tab.gain")
	check("with the lesson left open")
	b.do("play")
	b.wait(0.5)
	b.do("tab.lessons")
	b.wait(0.2)
	if b.p.Bench().N() != 3 {
		t.Error("the lesson does not go on where it was")
	}
	b.do("lesson.list")
	b.do("tab.gain")
	check("after the lesson")
}

// TestLessonReload: the progress survives the program.
func TestLessonReload(t *testing.T) {
	k := keeper{m: map[string]string{}}
	b, s := lessonBench(t, k)
	b.write("lesson.name", "Ada of the Landing")
	b.do("lesson.begin.reading-meters")
	for range 3 {
		quiet(b, s)
		switch s.v.State {
		case run.Answering:
			if len(s.answers) > 0 {
				b.do("lesson.answer.b")
			} else {
				b.write("lesson.text", "3")
			}
			b.do("lesson.commit")
			continue
		case run.Recording:
			b.do("lesson.record")
			quiet(b, s)
		}
		b.do("lesson.next")
	}
	want, step := s.r.Progress(), s.v.Number
	b.wait(3)
	b, s = lessonBench(t, k)
	if n := b.node("lesson.begin.reading-meters"); !strings.HasPrefix(n.Value, "at step") {
		t.Errorf("the list says %q", n.Value)
	}
	b.do("lesson.begin.reading-meters")
	got := s.r.Progress()
	if s.v.Number != step || got.Student != "Ada of the Landing" || got.Attempt != want.Attempt || got.Seed != want.Seed {
		t.Errorf("at step %d as %q, want %d: %+v", s.v.Number, got.Student, step, got)
	}
}

// TestLessonOwn: a lesson file is added, a faulty one told with its places.
func TestLessonOwn(t *testing.T) {
	k := keeper{m: map[string]string{}}
	b, s := lessonBench(t, k)
	drop := func(name, text string) {
		b.now += 1.0 / 60
		b.p.Frame(Input{Size: b.size, Seconds: b.now, Drops: []Drop{{Name: name, Data: []byte(text)}}})
	}
	b.do("lesson.open")
	if a, ok := b.p.WantsFile(); !ok || a != ".yaml,.yml" {
		t.Errorf("asks for %q, %v", a, ok)
	}
	drop("bell.yaml", "title: Bell\nfor: us\nminutes: x\nsteps:\n  - sey: hello\n")
	if len(s.faults) < 2 || !strings.HasPrefix(s.faults[0], "bell.yaml:1:1") || !strings.Contains(b.p.Announce(), "faults") {
		t.Errorf("%q, %q", s.faults, b.p.Announce())
	}
	if n := b.node("lesson.fault.2"); !strings.Contains(n.Value, "bell.yaml:3:") {
		t.Errorf("%+v", n)
	}
	good := "title: The bell\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n      - {text: \"Hold on.\"}\nsteps:\n  - say: Ring it.\n  - record: Once.\n"
	drop("bell.yaml", good)
	if len(s.faults) != 0 || !s.items[0].own || s.items[0].l.Title != "The bell" {
		t.Fatalf("%q: %+v", s.faults, s.items[0])
	}
	drop("song.txt", "la")
	if !strings.Contains(b.p.Announce(), ".yaml") {
		t.Errorf("a text file: %q", b.p.Announce())
	}
	b, s = lessonBench(t, k)
	if !s.items[0].own {
		t.Error("one's own lesson was not kept")
	}
	b.do(s.items[0].card.ID)
	walk(b, s)
}

// TestLessonKeyboard: a step with a choice and one with a text, without a pointer.
func TestLessonKeyboard(t *testing.T) {
	b, s := lessonBench(t, keeper{m: map[string]string{}})
	key := func(ks ...Key) {
		for _, k := range ks {
			b.now += 1.0 / 60
			b.p.Frame(Input{Size: b.size, Scale: 1, Seconds: b.now, Keys: []KeyPress{{Key: k}}})
		}
	}
	to := func(id string) {
		t.Helper()
		for range 150 {
			if b.p.Focused() == id {
				return
			}
			key("Tab")
		}
		t.Fatalf("%s cannot be reached", id)
	}
	to("lesson.begin.before-or-after")
	key("Enter")
	to("lesson.next")
	key("Enter")
	to("lesson.answer.a")
	key(" ", "ArrowDown", "ArrowDown")
	if s.chosen != 2 || b.p.Focused() != "lesson.answer.c" {
		t.Errorf("answer %d is chosen, %s has the focus", s.chosen, b.p.Focused())
	}
	to("lesson.commit")
	key("Enter")
	if s.here().Answers[0] != "c" {
		t.Errorf("committed %v", s.here().Answers)
	}
	b.do("lesson.list")
	to("lesson.name")
	key("A", "d", "a", " ", "r", "Backspace", "R", "Home", "Delete", "I", "End", "!", "r", "p")
	if got := s.name.Text(); got != "Ida R!rp" {
		t.Errorf("typed %q", got)
	}
	if b.p.Bench().Mode() == ModeRecord {
		t.Error("typing an r recorded")
	}
}

func TestLessonLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := lessonBench(t, keeper{m: map[string]string{}})
	look := func(state string) {
		t.Helper()
		lookAll(t, b, state, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			moved := s.list.by(dy)
			moved = s.step.by(dy) || moved
			s.Layout(b.p.Theme(), s.area)
			return moved
		})
	}
	look("the list")
	seen := map[model.Kind]bool{}
	for _, name := range []string{"before-or-after", "blind-listening"} {
		b.do("lesson.begin." + name)
		for n := 0; s.v.State != run.Finished && n < 40; n++ {
			quiet(b, s)
			if k := s.v.Step.Kind; !seen[k] || k == model.Listen {
				seen[k] = true
				look(name + ", " + s.v.Step.ID)
			}
			switch s.v.State {
			case run.Answering:
				if len(s.answers) > 0 {
					b.do("lesson.answer.b")
				} else {
					b.write("lesson.text", "7 because it was the loudest word that anybody has ever said on this landing")
					if s.v.Step.Question != nil {
						b.write("lesson.text", "7")
					}
				}
				b.do("lesson.commit")
				continue
			case run.Recording:
				b.do("lesson.record")
				quiet(b, s)
				if s.v.Step.Kind == model.Do {
					look(name + ", " + s.v.Step.ID + " recorded")
					b.do("lesson.readings")
					look(name + ", " + s.v.Step.ID + ", all readings")
					b.do("lesson.half.bench")
					look(name + ", " + s.v.Step.ID + ", the bench")
					b.do("lesson.half.step")
				}
				if s.v.Blocked != "" {
					b.do("lesson.give_up")
					continue
				}
			case run.Listening:
				for s.v.Step.Trials > len(s.here().Answers) {
					b.do("lesson.hear.trial")
					b.do("lesson.trial." + s.v.Step.Strips[0])
				}
			}
			b.do("lesson.next")
		}
		look(name + ", the end")
		b.do("lesson.list")
	}
}

func TestLessonShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	b, s := lessonBench(t, keeper{m: map[string]string{}})
	sh := shotter{b, dir}
	sh.shots("lessons")
	b.do("lesson.begin.before-or-after")
	b.wait(3)
	sh.shots("lesson-say")
	b.do("lesson.next")
	b.do("lesson.answer.c")
	sh.shot("lesson-predict", 1280, 720)
	b.do("lesson.commit")
	b.do("lesson.next")
	b.do("lesson.answer.a")
	b.do("lesson.commit")
	b.do("lesson.next")
	sh.shot("lesson-record", 1280, 720)
	b.do("lesson.record")
	rolls(b, s.stage.rolling)
	b.wait(2)
	sh.shot("lesson-rolling", 1280, 720)
	quiet(b, s)
	sh.shots("lesson-recorded")
	b.do("lesson.next")
	sh.shot("lesson-reveal", 1280, 720)
	for s.v.Step.Kind != model.Do {
		if s.v.State == run.Answering {
			b.do("lesson.answer.a")
			b.do("lesson.commit")
			sh.shot("lesson-ask", 1280, 720)
		}
		b.do("lesson.next")
	}
	b.do("lesson.record")
	quiet(b, s)
	sh.shots("lesson-do")
	b.do("text_size")
	b.do("text_size")
	sh.shot("lesson-text150", 1280, 720)
	sh.shot("lesson-text150", 1440, 900)
	b.do("text_size")
	b.do("text_size")
	b.do("text_size")
	b.do("theme")
	for s.v.Step.Kind != model.Listen {
		if s.v.Step.Kind == model.Do {
			b.do("lesson.give_up")
			continue
		}
		if s.v.State == run.Answering {
			b.do("lesson.answer.a")
			b.do("lesson.commit")
		}
		b.do("lesson.next")
	}
	quiet(b, s)
	sh.shot("lesson-listen", 1280, 720)
	b.do("lesson.play")
	sh.shot("lesson-listen-caution", 1440, 900)
	walk(b, s)
	sh.shots("lesson-end")
	b.do("lesson.list")
	b.p.Frame(Input{Size: b.size, Seconds: b.now, Drops: []Drop{{Name: "mine.yaml", Data: []byte("title: Mine\nfor: us\nminutes: x\nsteps:\n  - sey: hello\n")}}})
	sh.shot("lessons-faults", 1280, 720)
}
