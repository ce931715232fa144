package lesson

import (
	"math"
	"os"
	"strings"
	"testing"

	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

func lessonScenes(sh kit.Shell) []kit.Scene {
	g := gain.New(sh)
	return scenetest.Amid(g, New(sh, g))
}

func lessonVisit(t testing.TB, h kit.Host) *scenetest.Driver {
	return scenetest.Drive(t, scenetest.Build(t, h, lessonScenes))
}

func lessonBench(t testing.TB, host kit.Host) (*scenetest.Driver, *Scene) {
	t.Helper()
	b, s := scenetest.Open[*Scene](t, host, kit.IDTabLessons, lessonScenes)
	s.draw = func() uint64 { return 7 }
	b.Wait(0.5)
	return b, s
}

// quiet waits until no work is under way and no take rolls.
func quiet(b *scenetest.Driver, s *Scene) {
	b.Helper()
	b.Settle(func() string { return s.doing }, func() bool {
		return s.job == nil && !s.stage.Rolling() && s.stage.Now == nil && (s.v.State != run.Listening || len(s.waves) > 0)
	})
}

// answerHeard answers what a listen step asks.
func answerHeard(b *scenetest.Driver, s *Scene) {
	b.Helper()
	for s.v.Asked {
		b.Do("lesson.answer.a")
		b.Do("lesson.commit")
	}
}

// hearTrial plays the present trial for long enough to answer it.
func hearTrial(b *scenetest.Driver, s *Scene) {
	b.Helper()
	b.Do("lesson.hear.trial")
	if !s.deck.Playing() {
		b.Do("lesson.play")
	}
	if s.deck.Caution {
		b.Do("lesson.caution.play")
	}
	b.Wait(heardSeconds + 0.1)
}

// walk takes a lesson to its end with wrong predictions and answers, and with what
// a step's own rule needs where gains can find it.
func walk(b *scenetest.Driver, s *Scene) (steps int) {
	b.Helper()
	for steps = 0; s.v.State != run.Finished && steps < 100; steps++ {
		quiet(b, s)
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
			continue
		case run.Recording:
			b.Do("lesson.record")
			quiet(b, s)
			if s.here().Take == nil {
				b.Fatalf("step %s: nothing was recorded: %s", s.v.Step.ID, b.P.Announce())
			}
			if s.v.Blocked != "" {
				b.Do("lesson.give_up")
				continue
			}
		case run.Listening:
			answerHeard(b, s)
			if s.v.Step.Kind == model.Mend && (len(s.v.Feedback) == 0 || !strings.Contains(s.v.Feedback[len(s.v.Feedback)-1], "| guessed |") || s.v.Blocked != "" && s.v.Step.Trials == 0) {
				b.Fatalf("step %s tells %q of what was mended, and is blocked: %s", s.v.Step.ID, s.v.Feedback, s.v.Blocked)
			}
			for s.v.Step.Trials > len(s.here().Answers) {
				hearTrial(b, s)
				b.Do("lesson.trial." + s.v.Step.Strips[0])
			}
		}
		b.Wait(1.0 / 60)
		b.Do("lesson.next")
	}
	return steps
}

// TestLessonWalks takes two lessons from the first step to the result.
func TestLessonWalks(t *testing.T) {
	for _, name := range []string{"gain-and-headroom", "blind-listening", "three-ways"} {
		b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
		b.Do("lesson.begin." + name)
		walk(b, s)
		if s.v.State != run.Finished {
			t.Fatalf("%s: stands at %s", name, s.v.Step.ID)
		}
		b.Do("lesson.save")
		file, data, ok := b.P.NextSave()
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
		reproduces(t, s.item.l, res)
	}
}

// reproduces wants a result, whose takes were performed live, to come out the same
// offline, to the last bit of every reading.
func reproduces(t *testing.T, l *model.Lesson, res *run.Result) {
	t.Helper()
	g, err := grade.NewGrader(l).Grade(t.Context(), "", res)
	if err != nil {
		t.Fatal(err)
	}
	if !g.OK() {
		t.Errorf("%s: the result does not reproduce: %v", l.ID, g.Flags)
	}
}

// Whom a result is from is asked where it is saved, remembered, and stands in the file
// and in its name; a name is what people write, and no path.
func TestResultsAreNamed(t *testing.T) {
	h := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, h)
	b.Do("lesson.begin.what-the-numbers-mean")
	if !s.name.Hidden {
		t.Error("a name is asked for in the middle of a lesson")
	}
	walk(b, s)
	b.Wait(2.0 / 60)
	if s.name.Hidden || !strings.Contains(b.Node("lesson.name").Hint, "in its file's name") {
		t.Errorf("no name is asked for, or not what for: %+v", b.Node("lesson.name"))
	}
	saved := func() (string, *run.Result) {
		t.Helper()
		b.Do("lesson.save")
		file, data, ok := b.P.NextSave()
		if !ok {
			t.Fatal("nothing was saved")
		}
		res, err := run.ParseResult(data)
		if err != nil {
			t.Fatal(err)
		}
		if why := res.Verify(nil); why != "" {
			t.Error(why)
		}
		return file, res
	}
	if file, res := saved(); file != "what-the-numbers-mean-result.json" || !strings.HasPrefix(res.Student, run.RandomName) {
		t.Errorf("without a name: %q, %q", file, res.Student)
	}
	b.Write("lesson.name", " Änne ../B. ")
	if file, res := saved(); file != "what-the-numbers-mean-Änne-B-result.json" || res.Student != "Änne ../B." {
		t.Errorf("with a name: %q, %q", file, res.Student)
	}
	if !strings.Contains(h.M["student"], "Änne") {
		t.Errorf("remembered is %q", h.M["student"])
	}
}

// TestLessonRides: in a lesson of one's own the gain is turned while the take rolls.
// What the take read live counts, comes out again offline, and the next take begins
// where this one began. A strip that the bench has no room for is heard offline.
func TestLessonRides(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	own := "title: Ride\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n" +
		"      - {text: \"Hold on to the rope, and do not let go of it.\"}\n      - {do: lean, distance_m: 0.06, over_s: 0.5}\n      - {text: \"Now let go!\", effort: loud}\n" +
		"  strips:\n    A: {preamp: {gain_db: 40}}\n    B: {}\n    C: {}\n    D: {}\n    E: {preamp: {gain_db: 50}}\n" +
		"steps:\n  - do: Ride it.\n    riding: true\n    controls: {A.preamp.gain_db: {from: 10, to: 60}}\n    rule: between(A.gain_db, 29.5, 30.5) && between(E.gain_db, 49, 51)\n"
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "ride.yaml", Data: []byte(own)}}})
	if len(s.faults) > 0 {
		t.Fatal(s.faults)
	}
	b.Do(s.items[0].card.ID)
	b.Do("record")
	scenetest.Rolls(b, s.stage.Rolling)
	b.Set("A.gain_db", 30)
	if n := b.Node("A.gain_db"); n.Now != 30 {
		t.Errorf("turned to 30 dB, the knob shows %v", n.Now)
	}
	if got := b.P.Bench().Chain(0).Preamp.GainDB; got != 30 {
		t.Errorf("turned to 30 dB, the bench stands at %v dB", got)
	}
	quiet(b, s)
	sp, tk := s.here(), b.P.Bench().Take()
	if sp.Take == nil || !s.v.Met {
		t.Fatalf("%+v: %s", sp, b.P.Announce())
	}
	for i, n := range s.onBench {
		want := names.Measure(tk.Readings[i])
		for key, got := range sp.Take.Readings[n] {
			if got != want[key] && !(math.IsNaN(float64(got)) && math.IsNaN(float64(want[key]))) {
				t.Errorf("%s.%s: %v counts, the take reads %v", n, key, got, want[key])
			}
		}
	}
	if c := sp.Take.Changes; len(c) != 1 || c[0].Value != 30.0 || c[0].AtS < 0.4 || sp.Take.Settings["A.preamp.gain_db"] != 40.0 {
		t.Errorf("%+v, %+v", c, sp.Take.Settings)
	}
	if got := b.P.Bench().Chain(0).Preamp.GainDB; got != 40 {
		t.Errorf("the next take begins at %v dB", got)
	}
	b.Do("lesson.next")
	res, err := s.r.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	if !res.Passed {
		t.Errorf("not passed: %+v", res)
	}
	reproduces(t, s.item.l, res)
}

// TestLessonTake: the take that is performed on the bench, sample for sample, reads
// what counts; settings that the step does not unlock are refused with the reason.
func TestLessonTake(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	b.Do("lesson.begin.gain-and-headroom")
	for s.v.Step.Kind != model.Do {
		quiet(b, s)
		switch s.v.State {
		case run.Answering:
			if len(s.answers) > 0 {
				b.Do("lesson.answer.a")
			} else {
				b.Write("lesson.text", "−12,5 dBFS")
			}
			b.Do("lesson.commit")
			if s.v.State == run.Answering {
				continue
			}
		case run.Recording:
			err := b.P.Apply(ui.Intent{ID: "A.gain_db", Do: "set", Value: 30})
			if err == nil {
				t.Errorf("step %s: the gain could be set", s.v.Step.ID)
			}
			b.Do("record")
			quiet(b, s)
		}
		b.Do("lesson.next")
	}
	b.Wait(1.0 / 60)
	key := s.v.Step.Controls[0].Key
	if n := b.Node("A.gain_db"); n.Disabled {
		t.Fatalf("the step unlocks %s, but the knob is dimmed: %s", key, n.Why)
	}
	if b.Has("talker.captain") || b.Has("lesson.set."+key) {
		t.Error("what cannot be changed, or is turned on the strip, stands there")
	}
	for _, id := range []string{"A.limiter.before", "A.preamp.pad_db", "distance_m", "talker.pip", "surprises", "strips.add", "undo", "A.mic.condenser", "event.laugh"} {
		if err := b.P.Apply(ui.Intent{ID: id, Do: "press"}); err == nil {
			t.Errorf("%s was allowed", id)
		} else if err.Error() == "" || s.shell.Bench().Talker() != s.scn.Source.Talker {
			t.Errorf("%s: %v", id, err)
		}
	}
	if err := b.P.Apply(ui.Intent{ID: "A.gain_db", Do: "set", Value: 200}); err == nil {
		t.Error("200 dB were accepted")
	}
	b.Set("A.gain_db", 33)
	if got := s.valueOf(key); got != 33.0 {
		t.Errorf("%s is %v, want 33", key, got)
	}
	b.Set("lesson.set."+key, 32)
	if got := b.P.Bench().Chain(0).Preamp.GainDB; got != 32 {
		t.Errorf("the bench stands at %v dB", got)
	}
	b.Do("record")
	scenetest.Rolls(b, s.stage.Rolling)
	if err := b.P.Apply(ui.Intent{ID: "A.gain_db", Do: "set", Value: 40}); err == nil {
		t.Error("the gain could be turned while the take rolls")
	}
	quiet(b, s)
	take := b.P.Bench().Take()
	for i, n := range s.onBench {
		peak := 0.0
		for _, x := range take.File[i] {
			peak = max(peak, math.Abs(float64(x)))
		}
		want := float64(s.readings[n]["peak_dbfs"])
		if math.Abs(kit.Decibel(peak)-want) > 1e-5 { // the file's samples are short floats
			t.Errorf("%s: the take on the bench peaks at %v dBFS, the one that counts at %v", n, kit.Decibel(peak), want)
		}
	}
}

// TestLessonGivesBack: the bench is afterwards as it was.
func TestLessonGivesBack(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	b.Do("tab.gain")
	b.Set("A.gain_db", 21)
	b.Do("talker.maren")
	b.Do("record")
	b.Wait(1)
	b.Do("record")
	b.Wait(1)
	was, take, stored := b.P.Bench().Setup(), b.P.Bench().Take(), k.M["setup"]
	n := len(b.P.Bench().Recipes())
	check := func(when string) {
		t.Helper()
		b.Wait(2)
		if got := b.P.Bench().Setup(); got != was {
			t.Errorf("%s the bench is %+v, was %+v", when, got, was)
		}
		if b.P.Bench().Take() != take || len(b.P.Bench().Recipes()) != n || k.M["setup"] != stored {
			t.Errorf("%s take or memory are not as they were", when)
		}
		if n := b.Node("A.gain_db"); n.Disabled || n.Now != 21 {
			t.Errorf("%s the knob is %+v", when, n)
		}
	}
	b.Do("tab.lessons")
	b.Do("lesson.begin.before-or-after")
	b.Wait(0.2)
	if b.P.Bench().N() != 3 || b.P.Bench().Talker() == "maren" && s.scn.Source.Talker != "maren" {
		t.Errorf("%d strips, %s talks", b.P.Bench().N(), b.P.Bench().Talker())
	}
	b.Do("tab.gain")
	check("with the lesson left open")
	b.Do("play")
	b.Wait(0.5)
	b.Do("tab.lessons")
	b.Wait(0.2)
	if b.P.Bench().N() != 3 {
		t.Error("the lesson does not go on where it was")
	}
	b.Do("lesson.list")
	b.Do("tab.gain")
	check("after the lesson")
}

// TestLessonReload: the progress survives the program.
func TestLessonReload(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	b.Write("lesson.name", "Ada of the Landing")
	b.Do("lesson.begin.reading-meters")
	for range 3 {
		quiet(b, s)
		switch s.v.State {
		case run.Answering:
			if len(s.answers) > 0 {
				b.Do("lesson.answer.b")
			} else {
				b.Write("lesson.text", "3")
			}
			b.Do("lesson.commit")
			continue
		case run.Recording:
			b.Do("lesson.record")
			quiet(b, s)
		}
		b.Do("lesson.next")
	}
	want, step := s.r.Progress(), s.v.Number
	b.Wait(3)
	b, s = lessonBench(t, k)
	if n := b.Node("lesson.begin.reading-meters"); !strings.HasPrefix(n.Value, "at step") {
		t.Errorf("the list says %q", n.Value)
	}
	b.Do("lesson.begin.reading-meters")
	got := s.r.Progress()
	if s.v.Number != step || got.Student != "Ada of the Landing" || got.Attempt != want.Attempt || got.Seed != want.Seed {
		t.Errorf("at step %d as %q, want %d: %+v", s.v.Number, got.Student, step, got)
	}
}

// TestLessonOwn: a lesson file is added, a faulty one told with its places.
func TestLessonOwn(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	drop := func(name, text string) {
		b.Now += 1.0 / 60
		b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: name, Data: []byte(text)}}})
	}
	b.Do("lesson.open")
	if a, _, ok := b.P.WantsFile(); !ok || a != ".yaml,.yml" {
		t.Errorf("asks for %q, %v", a, ok)
	}
	drop("bell.yaml", "title: Bell\nfor: us\nminutes: x\nsteps:\n  - sey: hello\n")
	if len(s.faults) < 2 || !strings.HasPrefix(s.faults[0], "bell.yaml:1:1") || !strings.Contains(b.P.Announce(), "faults") {
		t.Errorf("%q, %q", s.faults, b.P.Announce())
	}
	if n := b.Node("lesson.fault.2"); !strings.Contains(n.Value, "bell.yaml:3:") {
		t.Errorf("%+v", n)
	}
	good := "title: The bell\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n      - {text: \"Hold on.\"}\nsteps:\n  - say: Ring it.\n  - record: Once.\n"
	drop("bell.yaml", good)
	if len(s.faults) != 0 || !s.items[0].own || s.items[0].l.Title != "The bell" {
		t.Fatalf("%q: %+v", s.faults, s.items[0])
	}
	drop("song.txt", "la")
	if !strings.Contains(b.P.Announce(), ".yaml") {
		t.Errorf("a text file: %q", b.P.Announce())
	}
	b, s = lessonBench(t, k)
	if !s.items[0].own {
		t.Error("one's own lesson was not kept")
	}
	b.Do(s.items[0].card.ID)
	walk(b, s)
}

// TestLessonKeyboard: a step with a choice and one with a text, without a pointer.
func TestLessonKeyboard(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	key := func(ks ...ui.Key) {
		for _, k := range ks {
			b.Now += 1.0 / 60
			b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Keys: []ui.KeyPress{{Key: k}}})
		}
	}
	to := func(id string) {
		t.Helper()
		for range 150 {
			if b.P.Focused() == id {
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
	if s.chosen != 2 || b.P.Focused() != "lesson.answer.c" {
		t.Errorf("answer %d is chosen, %s has the focus", s.chosen, b.P.Focused())
	}
	to("lesson.commit")
	key("Enter")
	if s.here().Answers[0] != "c" {
		t.Errorf("committed %v", s.here().Answers)
	}
	b.Do("lesson.list")
	to("lesson.name")
	key("A", "d", "a", " ", "r", "Backspace", "R", "Home", "Delete", "I", "End", "!", "r", "p")
	if got := s.name.Text(); got != "Ida R!rp" {
		t.Errorf("typed %q", got)
	}
	if b.P.Bench().Mode() == bench.ModeRecord {
		t.Error("typing an r recorded")
	}
}

func TestLessonLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	look := func(state string) {
		t.Helper()
		scenetest.LookAll(t, b, state, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			moved := s.list.By(dy)
			moved = s.step.By(dy) || moved
			s.Layout(b.P.Theme(), s.area)
			return moved
		})
	}
	look("the list")
	seen := map[model.Kind]bool{}
	for _, name := range []string{"before-or-after", "three-ways"} {
		b.Do("lesson.begin." + name)
		for n := 0; s.v.State != run.Finished && n < 40; n++ {
			quiet(b, s)
			if k := s.v.Step.Kind; !seen[k] || k == model.Listen {
				seen[k] = true
				look(name + ", " + s.v.Step.ID)
			}
			switch s.v.State {
			case run.Answering:
				if len(s.answers) > 0 {
					b.Do("lesson.answer.b")
				} else {
					b.Write("lesson.text", "7 because it was the loudest word that anybody has ever said on this landing")
					if s.v.Step.Question != nil {
						b.Write("lesson.text", "7")
					}
				}
				b.Do("lesson.commit")
				continue
			case run.Recording:
				b.Do("lesson.record")
				quiet(b, s)
				if s.v.Step.Kind == model.Do {
					look(name + ", " + s.v.Step.ID + " recorded")
					b.Do("lesson.readings")
					look(name + ", " + s.v.Step.ID + ", all readings")
					b.Do("lesson.pictures")
					look(name + ", " + s.v.Step.ID + ", the pictures")
					b.Do("lesson.pictures")
				}
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
		look(name + ", the end")
		b.Do("lesson.list")
	}
}

func TestLessonShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	sh := scenetest.Shotter{Driver: b, Dir: dir}
	sh.Shots("lessons")
	b.Do("lesson.begin.before-or-after")
	b.Wait(3)
	sh.Shots("lesson-say")
	b.Do("lesson.next")
	b.Do("lesson.answer.c")
	sh.Shot("lesson-predict", 1280, 720)
	b.Do("lesson.commit")
	b.Do("lesson.next")
	b.Do("lesson.answer.a")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	sh.Shot("lesson-record", 1280, 720)
	b.Do("lesson.record")
	scenetest.Rolls(b, s.stage.Rolling)
	b.Wait(2)
	sh.Shot("lesson-rolling", 1280, 720)
	quiet(b, s)
	sh.Shots("lesson-recorded")
	b.Do("lesson.next")
	sh.Shot("lesson-reveal", 1280, 720)
	for s.v.Step.Kind != model.Do {
		if s.v.State == run.Answering {
			b.Do("lesson.answer.a")
			b.Do("lesson.commit")
			sh.Shot("lesson-ask", 1280, 720)
		}
		b.Do("lesson.next")
	}
	b.Do("lesson.record")
	quiet(b, s)
	sh.Shots("lesson-do")
	b.Do("text_size")
	b.Do("text_size")
	sh.Shot("lesson-text150", 1280, 720)
	sh.Shot("lesson-text150", 1440, 900)
	b.Do("text_size")
	b.Do("text_size")
	b.Do("text_size")
	b.Do("theme")
	for s.v.Step.Kind != model.Listen {
		if s.v.Step.Kind == model.Do {
			b.Do("lesson.give_up")
			continue
		}
		if s.v.State == run.Answering {
			b.Do("lesson.answer.a")
			b.Do("lesson.commit")
		}
		b.Do("lesson.next")
	}
	quiet(b, s)
	sh.Shot("lesson-listen", 1280, 720)
	b.Do("lesson.play")
	sh.Shot("lesson-listen-caution", 1440, 900)
	walk(b, s)
	sh.Shots("lesson-end")
	b.Do("lesson.list")
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "mine.yaml", Data: []byte("title: Mine\nfor: us\nminutes: x\nsteps:\n  - sey: hello\n")}}})
	sh.Shot("lessons-faults", 1280, 720)
}

// BenchmarkTakeCounts is how long it takes from the last sample of a take, two strips of
// a lesson, until its readings stand there.
func BenchmarkTakeCounts(bm *testing.B) {
	b, s := lessonBench(bm, scenetest.Keeper{M: map[string]string{}})
	b.Do("lesson.begin.gain-and-headroom")
	frames, seconds, seed := 0, 0.0, uint64(7)
	s.draw = func() uint64 { seed++; return seed }
	for bm.Loop() {
		bm.StopTimer()
		for s.v.State != run.Recording {
			if s.v.State == run.Answering {
				b.Do("lesson.answer.a")
				b.Do("lesson.commit")
			}
			b.Do("lesson.next")
		}
		b.Do("lesson.record")
		scenetest.Rolls(b, s.stage.Rolling)
		for s.stage.Rolling() {
			b.Wait(1.0 / 60)
		}
		bm.StartTimer()
		for s.here().Take == nil || s.job != nil {
			b.Wait(1.0 / 60)
			frames++
		}
		bm.StopTimer()
		seconds += s.shell.Bench().Take().Seconds()
		// Another guest: nothing is there already.
		if err := s.begin(s.item, true); err != nil {
			bm.Fatal(err)
		}
		bm.StartTimer()
	}
	bm.ReportMetric(float64(frames)/float64(bm.N), "frames/op")
	bm.ReportMetric(seconds/float64(bm.N), "s-of-take")
}
