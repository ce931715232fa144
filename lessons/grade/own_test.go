package grade_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/sim"
	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

const ownAnswers = "answers: {guess: b, set: {A.preamp.gain_db: 25}, much: '= A.headroom_db', why: Because.}\n"

// ownLesson allows voices of one's own; somebody laughs in it.
func ownLesson(t testing.TB) *model.Lesson {
	t.Helper()
	return trial.Lesson(t, "minutes: 3\n", "minutes: 3\nown_voice: allowed\n",
		`    - {text: "Well!", effort: loud}`, "    - {text: \"Well!\", effort: loud}\n    - {do: laugh}")
}

func ownRunner(t testing.TB, l *model.Lesson, g *own.Guest) *run.Runner {
	t.Helper()
	r, err := run.NewRunner(l, run.Options{Seed: 3, Student: "Tester", Bench: take.NewBench()})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Lend(g); err != nil {
		t.Fatal(err)
	}
	return r
}

// performLive performs the present take as the scene does, in the steps of the engine, and
// gives what the strips read of it.
func performLive(t testing.TB, r *run.Runner) map[string]names.Measured {
	t.Helper()
	ctx := context.Background()
	sp, err := r.Speech(ctx)
	if err != nil {
		t.Fatal(err)
	}
	live := map[string]names.Measured{}
	for _, st := range r.Bench().Strips {
		strip, err := sim.NewStrip(voice.Rate, st.Chain, sp.Seed)
		if err != nil {
			t.Fatal(err)
		}
		ro, err := sim.NewReadout(voice.Rate)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := sim.Run(ctx, &sim.Samples{X: sp.X}, []*sim.Strip{strip}, sim.RunOptions{Moves: sp.Moves,
			Sink: func(_ int, x *sim.Taps) error { ro.Write(x); return nil }}); err != nil {
			t.Fatal(err)
		}
		ro.Settings(st.Chain)
		live[st.Name] = names.Measure(ro.Readings())
	}
	return live
}

// takeOwn takes the lesson, live, with a voice.
func takeOwn(t testing.TB, l *model.Lesson, g *own.Guest) *run.Result {
	t.Helper()
	ctx := context.Background()
	r := ownRunner(t, l, g)
	a := trial.Must(format.ParseAnswers("a", []byte(ownAnswers), l))
	for r.State() != run.Finished {
		if s := r.View().Step; s.IsTake() {
			if s.ID == "set" {
				if err := r.Apply("A.preamp.gain_db", 25.0); err != nil {
					t.Fatal(err)
				}
			}
			if err := r.Performed(ctx, performLive(t, r), nil); err != nil {
				t.Fatal(err)
			}
			if err := r.Next(); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := r.PlayStep(ctx, a); err != nil {
			t.Fatal(err)
		}
		if err := r.Advance(); err != nil {
			t.Fatal(err)
		}
	}
	res, err := r.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	return play.Reread(t, res)
}

func gradeOwn(t testing.TB, l *model.Lesson, res *run.Result, voices ...*own.Guest) (*grade.Grader, *grade.Grade) {
	t.Helper()
	g := grade.NewGrader(l)
	for i, v := range voices {
		g.Voices = append(g.Voices, grade.Voice{Path: fmt.Sprintf("voice-%d.wav", i+1), Guest: v})
	}
	out, err := g.Grade(context.Background(), "r.json", res)
	if err != nil {
		t.Fatal(err)
	}
	return g, out
}

// A result taken live with the student's own voice is verified offline with that voice's
// file, to what the file of results keeps of the readings, and with no other; without it,
// and with another, it is told in a sentence why it cannot be.
func TestOwnVoice(t *testing.T) {
	l := ownLesson(t)
	mine, other := trial.Voice(t, "Ada", "maren"), trial.Voice(t, "Ada", "joss")
	res := takeOwn(t, l, mine)
	if res.Voice == nil || res.Voice.Name != "Ada" || res.Voice.Sum != mine.Sum {
		t.Fatalf("the result names the voice %+v", res.Voice)
	}
	again := trial.Voice(t, "As it is called elsewhere", "maren") // the same recording
	for _, v := range [][]*own.Guest{{mine}, {other, again}} {
		g, out := gradeOwn(t, l, res, v...)
		if !out.OK() || out.OwnVoice == nil || !strings.Contains(fmt.Sprint(out.Notes), "own voice \"Ada\"") {
			t.Errorf("flags %v, notes %v", out.Flags, out.Notes)
		}
		if n := len(g.Unused([]*grade.Grade{out})); n != len(v)-1 {
			t.Errorf("%d of %d voices are told to be of no use", n, len(v))
		}
	}
	for _, c := range []struct {
		with []*own.Guest
		says string
	}{
		{nil, "file is needed: without it the result cannot be verified"},
		{[]*own.Guest{other}, "voice-1.wav holds another recording or another level"},
		{[]*own.Guest{other, trial.Voice(t, "Bo", "pip")}, "none of the 2 voices given is that recording"},
	} {
		_, out := gradeOwn(t, l, res, c.with...)
		if len(out.Flags) != 1 || !strings.Contains(out.Flags[0].String(), c.says) || out.Points != 0 || out.Passed {
			t.Errorf("with %d voices: %v, %v points", len(c.with), out.Flags, out.Points)
		}
	}
	// Whoever signs again what was altered is found out by the takes.
	closed := *l
	closed.OwnVoice = false
	for name, c := range map[string]struct {
		do   func(r *run.Result)
		with *own.Guest
		l    *model.Lesson
		says string
	}{
		"another checksum, its file": {func(r *run.Result) { r.Voice.Sum = other.Sum }, other, l, "the take does not reproduce"},
		"a checksum of nothing":      {func(r *run.Result) { r.Voice.Sum = "é\x00" }, mine, l, "holds another recording"},
		"no voice at all":            {func(r *run.Result) { r.Voice = nil }, mine, l, "the take does not reproduce"},
		"one reading":                {func(r *run.Result) { stepOf(r, "set").Take.Readings["A"]["headroom_db"] += .2 }, mine, l, "set: the take does not reproduce"},
		"where it is not allowed":    {func(*run.Result) {}, mine, &closed, "which this lesson does not allow"},
	} {
		r := play.Reread(t, res)
		c.do(r)
		if err := r.Sign(nil); err != nil {
			t.Fatal(err)
		}
		if _, out := gradeOwn(t, c.l, r, c.with); !strings.Contains(fmt.Sprint(out.Flags), c.says) {
			t.Errorf("%s: %v, want %q", name, out.Flags, c.says)
		}
	}
	if err := res.Sign(nil); err != nil || res.Verify(nil) != "" {
		t.Error("the honest one does not stand")
	}
	res.Voice.Name = "Eve"
	if !strings.Contains(res.Verify(nil), "does not fit") {
		t.Error("the voice's name is not signed")
	}
}

// The readings are the voice's: one that talks louder leaves less headroom by as much, dB
// for dB.
func TestOwnVoiceCounts(t *testing.T) {
	l := ownLesson(t)
	head := func(louder float64) float64 {
		g := trial.Voice(t, "Ada", "maren")
		p := *g.Perf
		p.LouderDB = louder
		r := ownRunner(t, l, trial.Must(own.NewGuest(context.Background(), &p, nil)))
		if err := r.Next(); err != nil { // what is to be read
			t.Fatal(err)
		}
		if _, err := r.Answer("b"); err != nil {
			t.Fatal(err)
		}
		if err := r.Next(); err != nil {
			t.Fatal(err)
		}
		if err := r.Record(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
		return float64(r.View().Take["B"]["headroom_db"])
	}
	if a, b := head(-6), head(0); a-b < 5.8 || a-b > 6.2 {
		t.Errorf("6 dB quieter leaves %.2f dB more", a-b)
	}
}
