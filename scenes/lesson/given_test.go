package lesson

import (
	"regexp"
	"strings"
	"testing"

	"gainwright/lessons/grade"
	"gainwright/lessons/run"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// openOwn opens a lesson of one's own, and begins it.
func openOwn(b *scenetest.Driver, s *Scene, text string) {
	b.Helper()
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "own.yaml", Data: []byte(text)}}})
	if len(s.faults) > 0 {
		b.Fatal(s.faults)
	}
	b.Do(s.items[0].card.ID)
}

const oneTake = "title: Once\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n" +
	"      - {text: \"Hold on to the rope, and do not let go of it.\"}\n      - {text: \"Now let go!\", effort: loud}\n" +
	"  strips:\n    A: {preamp: {gain_db: 60}}\n" +
	"steps:\n  - do: One take.\n    id: one\n    attempts: 1\n    controls: {A.preamp.gain_db: {from: 0, to: 60}}\n    rule: A.overs == 0\n"

// TestOneTakeIsOneTake: where there is one take, one that was given up after a second, or
// left by a reload, is that one: it goes to its end as it was set, and the result tells of it.
func TestOneTakeIsOneTake(t *testing.T) {
	for _, reload := range []bool{false, true} {
		k := scenetest.Keeper{M: map[string]string{}}
		b, s := lessonBench(t, k)
		openOwn(b, s, oneTake)
		b.Do("record")
		scenetest.Rolls(b, s.stage.Rolling)
		for s.stage.Rolling() && s.stage.Now.Seconds() < 1.5 {
			b.Wait(0.1)
		}
		if reload {
			b, s = lessonBench(t, k)
			b.Do(s.items[0].card.ID)
		} else {
			b.Do("record")
			if !strings.Contains(b.P.Announce(), run.OwedWords) {
				t.Errorf("it says %q", b.P.Announce())
			}
		}
		quiet(b, s)
		b.Wait(0.1)
		if err := b.P.Apply(ui.Intent{ID: "A.gain_db", Do: ui.DoSet, Value: 20}); err == nil {
			t.Fatal("reload:", reload, "the gain can be set after the take was heard")
		}
		b.Do("record")
		quiet(b, s)
		if sp := s.here(); sp.Takes != 1 || len(sp.Dropped) != 1 || s.v.Met {
			t.Errorf("%+v", sp)
		}
		b.Do("lesson.next")
		res, err := s.r.Result(nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := grade.NewGrader(s.item.l).Grade(t.Context(), "", res)
		if err != nil {
			t.Fatal(err)
		}
		if !g.OK() || g.Passed || len(g.Notes) == 0 || !strings.Contains(g.Notes[len(g.Notes)-1].String(), "one: 1 take given up, after 1.") {
			t.Errorf("flags %v, notes %v", g.Flags, g.Notes)
		}
		res.Steps[0].Dropped = append(res.Steps[0].Dropped, 2)
		if g, _ := grade.NewGrader(s.item.l).Grade(t.Context(), "", res); !strings.Contains(strings.Join(flagWords(g), " "), "the lesson allows 1") {
			t.Errorf("one more given up than there are is not flagged: %v", g.Flags)
		}
	}
}

func flagWords(g *grade.Grade) (out []string) {
	for _, f := range g.Flags {
		out = append(out, f.String())
	}
	return out
}

// TestBenchDoesNotTell: from the first take on until nothing is left to find out, neither
// ruler nor meters nor what is said of a take, in picture or mirror, tells how the gain was
// set or what would have been better; the readings stand there.
func TestBenchDoesNotTell(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	openOwn(b, s, strings.Replace(oneTake, "steps:\n", "steps:\n  - record: A check.\n  - say: Well.\n", 1)+"  - say: Done.\n")
	tells := func() (out []string) {
		said := b.ShownWords(nil)
		for _, n := range b.P.Semantics() {
			said = append(said, n.ID+": "+n.Name)
		}
		for _, said := range said {
			said = strings.ToLower(said)
			for _, w := range []string{"too hot", "well set", "very low", "needed at most", "for the hour: ", "belongs between", "the hour: at most"} {
				if strings.Contains(said, w) {
					out = append(out, said)
				}
			}
		}
		return out
	}
	for s.v.State != run.Finished && s.v.Number < 4 {
		if s.v.State == run.Recording {
			b.Do("record")
			quiet(b, s)
			b.Wait(0.1)
			if n := b.Node("A.result"); !strings.Contains(n.Value, "dB of gain") {
				t.Errorf("step %d: the readings are %q", s.v.Number, n.Value)
			}
		}
		b.Wait(1)
		if w := tells(); len(w) > 0 {
			t.Errorf("step %d: %q", s.v.Number, w)
		}
		b.Do("lesson.next")
		b.Wait(0.1)
	}
	if w := tells(); len(w) == 0 {
		t.Error("nothing is told when nothing is left to find out")
	}
}

// TestTrialsAreHeard: a blind trial is answered when it has sounded for a second, and the
// caution before clipped sound comes before whichever of the two it is.
func TestTrialsAreHeard(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	openOwn(b, s, "title: Blind\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n      - {text: \"Now let go of the rope!\", effort: loud}\n"+
		"  strips:\n    A: {preamp: {gain_db: 70}}\n    B: {preamp: {gain_db: 20}}\n"+
		"steps:\n  - record: Once.\n  - listen: Which is it?\n    id: ears\n    strips: [A, B]\n    blind: 8\n")
	b.Do("record")
	quiet(b, s)
	b.Do("lesson.next")
	quiet(b, s)
	cautions := 0
	for s.v.Step.Trials > len(s.here().Answers) {
		b.Do("lesson.hear.trial")
		b.Wait(0.1)
		if !b.Node("lesson.trial.A").Disabled || b.P.Apply(ui.Intent{ID: "lesson.trial.A", Do: ui.DoPress}) == nil {
			t.Fatalf("trial %d is answered unheard", len(s.here().Answers)+1)
		}
		s.deck.Warned = false
		b.Do("lesson.play")
		if s.deck.Caution {
			cautions++
		}
		b.Do("lesson.caution.play")
		b.Wait(heardSeconds + 0.1)
		b.Do("lesson.trial.A")
	}
	if hits := s.here().Hits; cautions != 8 || hits == 0 || hits == 8 {
		t.Errorf("%d cautions before 8 trials, of which %d were the clipped one", cautions, hits)
	}
	if f := strings.Join(s.v.Feedback, " "); !strings.Contains(f, " of 8 right.") {
		t.Errorf("it says %q", f)
	}
	b.Do("lesson.next")
	b.Wait(0.1)
	if said := strings.Join(b.ShownWords(nil), "\n"); !strings.Contains(said, " of 8 right.") {
		t.Error("at the end the hits are not told")
	}
}

// TestStudentsReadWords: no step, rule, reading or hint, in picture or mirror, is told by the
// names that lesson files are written with; what a question asks to be read is not printed
// beside it, but found by its name among all readings.
func TestStudentsReadWords(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	openOwn(b, s, "title: Words\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n      - {text: \"Now let go!\", effort: loud}\n"+
		"  strips:\n    A: {preamp: {gain_db: 40}}\n"+
		"steps:\n  - record: Look at **loudness_lufs**.\n    id: one\n  - ask: Read **loudness_lufs** of A.\n    number: {answer: A.loudness_lufs, tolerance: 1}\n"+
		"  - ask: Which one?\n    choices:\n      - {say: true_peak_dbtp, right: true}\n      - overs\n"+
		"  - do: Keep it.\n    controls: {A.preamp.gain_db: {from: 0, to: 60}}\n    rule: A.headroom_db >= 99 && between(A.talk_peak_dbfs, -40, -20)\n")
	keys := regexp.MustCompile(`[a-z]_(db|dbfs|dbtp|lufs|lu|ms|percent|overs|samples)\b`)
	look := func() {
		t.Helper()
		b.Wait(0.1)
		said := b.ShownWords(func(w string) bool { return !keys.MatchString(w) })
		for _, n := range b.P.Semantics() {
			if keys.MatchString(n.Name) {
				said = append(said, n.Name)
			}
		}
		for _, w := range said {
			if id, rest, ok := strings.Cut(w, ": "); !ok || keys.MatchString(rest) || !strings.Contains(id, ".") {
				t.Errorf("step %d: %q", s.v.Number, w)
			}
		}
	}
	look()
	b.Do("record")
	quiet(b, s)
	look()
	if n := b.Node("lesson.reading.loudness_lufs"); n.Name != "Loudness" || !strings.Contains(n.Value, "LUFS") {
		t.Errorf("%+v", n)
	}
	b.Do("lesson.next")
	look()
	if b.Has("lesson.reading.loudness_lufs") {
		t.Error("the answer is printed beside the question")
	}
	b.Do("lesson.readings")
	look()
	if !b.Has("lesson.reading.loudness_lufs") {
		t.Error("the answer cannot be read anywhere")
	}
	b.Write("lesson.text", "3")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	look()
	b.Do("lesson.answer.b")
	b.Do("lesson.commit")
	look()
	b.Do("lesson.next")
	b.Do("record")
	quiet(b, s)
	look()
	if n := b.Node("lesson.check.1"); n.Name != "headroom of A: at least 99 dB" || !strings.Contains(n.Value, "not met: headroom of A: ") {
		t.Errorf("%+v", n)
	}
}

// TestForgetMe: at the end, pressed twice, neither the name nor the progress of any lesson is
// kept, at once and after a reload; lessons of one's own and what is no lesson's stay.
func TestForgetMe(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := lessonBench(t, k)
	b.Write("lesson.name", "Ada of the Landing")
	b.Do("lesson.begin.reading-meters")
	b.Do("lesson.next")
	b.Do("lesson.list")
	openOwn(b, s, oneTake)
	if b.Has("lesson.forget") {
		t.Error("a lesson under way can be forgotten")
	}
	b.Do("record")
	quiet(b, s)
	b.Do("lesson.next")
	b.Wait(0.1)
	b.Do("lesson.forget")
	if s.item == nil {
		t.Fatal("forgotten by one press")
	}
	b.Do("lesson.forget")
	b.Wait(3)
	for key, v := range k.M {
		if v != "" && (strings.Contains(v, "Ada") || strings.Contains(v, "\"gainwright_lesson\"")) {
			t.Errorf("%s keeps %.80q", key, v)
		}
	}
	if s.item != nil || s.name.Text() != "" || k.M["lesson.own"] == "" {
		t.Errorf("the name is %q, own lessons %.40q", s.name.Text(), k.M["lesson.own"])
	}
	b, s = lessonBench(t, k)
	if n := b.Node("lesson.begin.reading-meters"); strings.HasPrefix(n.Value, "at step") || s.name.Text() != "" {
		t.Errorf("afterwards the list says %q, the name is %q", n.Value, s.name.Text())
	}
}
