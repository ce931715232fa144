package run_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/run"
	"gainwright/sim/repair"
)

// mending is a small lesson that clips a word and mends it.
var mending = []string{
	"A: {preamp: {gain_db: 40}}", "A: {preamp: {gain_db: 66, rail_dbu: 40}}",
	"  - listen: Compare.\n    id: ears\n    strips: [A, spoken]", `  - predict: What brings it nearest?
    id: nearest
    choices:
      - {say: limiter, when: ways.held.sdr_db >= ways.guessed.sdr_db}
      - {say: declip, when: ways.guessed.sdr_db > ways.held.sdr_db}
  - record: Again.
    id: hot
    take: loud
    set: {A.preamp.gain_db: 60}
  - mend: Two ways.
    id: ways
    strip: A
    ways: {guessed: declip, held: limiter, both: [declip, limiter]}
    strips: [guessed, held]
    blind: 2`,
	"number: {answer: A.headroom_db, tolerance: 1}", "number: {answer: ways.guessed.sdr_db - hot.A.sdr_db, tolerance: 0.5}",
}

const mendingAnswers = "answers: {guess: b, set: {A.preamp.gain_db: 30}, nearest: b, ways: [guessed, held], much: = ways.guessed.sdr_db - hot.A.sdr_db, why: x}"

// What a mend step tells is what the treatments, applied by hand to the file, give; it decides
// a prediction and a question, can be graded, and is asked for before it is left.
func TestMend(t *testing.T) {
	l := trial.Lesson(t, mending...)
	res, r := play.Through(t, l, []byte(mendingAnswers), 1)
	if !res.Passed || res.Points != res.Of {
		t.Fatalf("%v of %v, %s", res.Points, res.Of, res.FailedAt)
	}
	steps := map[string]run.StepProgress{}
	for _, s := range res.Steps {
		steps[s.ID] = s
	}
	if steps["nearest"].Verdict != run.Right || steps["nearest"].Truth != "declip" {
		t.Errorf("%+v", steps["nearest"])
	}
	m := steps["ways"].Mended
	if m["guessed"]["sdr_db"] < m["held"]["sdr_db"]+2 || m["both"]["peak_dbfs"] > m["guessed"]["peak_dbfs"] || len(m) != 3 {
		t.Errorf("%v", m)
	}
	if got := r.Known()["ways.held.sdr_db"]; got != float64(m["held"]["sdr_db"]) {
		t.Errorf("rules read %v", got)
	}
	// By hand: the file as the runner hands it out for listening.
	again := trial.Must(run.NewRunner(l, run.Options{Seed: 1, Bench: trial.Bench}))
	a := trial.Must(format.ParseAnswers("a", []byte(mendingAnswers), l))
	for again.View().Step.ID != "ways" {
		if err := again.PlayStep(context.Background(), a); err != nil {
			t.Fatal(err)
		}
		if err := again.Advance(); err != nil {
			t.Fatal(err)
		}
	}
	if again.Blocked() != "the treatments are at work" || again.Next() == nil {
		t.Errorf("left before anything was mended: %q", again.Blocked())
	}
	waves, err := again.Sounds(context.Background())
	if err != nil || len(waves) != 2 || waves[0].Name != "guessed" || waves[0].Caution == "" {
		t.Fatal(waves, err)
	}
	if f := again.View().Feedback; len(f) != 1 || !strings.Contains(f[0], "| guessed |") {
		t.Error(f)
	}
	peak := 0.0
	for _, v := range waves[1].File {
		peak = max(peak, math.Abs(float64(v)))
	}
	limit := repair.DefaultLimit()
	if got := 20 * math.Log10(peak); math.Abs(got-float64(m["held"]["peak_dbfs"])) > 1e-6 || got > limit.CeilingDBFS+0.01 {
		t.Errorf("the limited file peaks at %v dBFS, told are %v", got, m["held"]["peak_dbfs"])
	}
	// It comes out again when graded, and an altered figure is flagged.
	g := grade.NewGrader(l)
	g.Bench = trial.Bench
	if got, err := g.Grade(context.Background(), "r", play.Reread(t, res)); err != nil || !got.OK() || !got.Passed {
		t.Errorf("%+v %v", got, err)
	}
	forged := play.Reread(t, res)
	for i := range forged.Steps {
		if forged.Steps[i].ID == "ways" {
			forged.Steps[i].Mended["guessed"]["sdr_db"] += 3
		}
	}
	forged.Sign(nil)
	if got, err := g.Grade(context.Background(), "r", forged); err != nil || len(got.Flags) != 1 || got.Flags[0].Step != "ways" {
		t.Errorf("%+v %v", got, err)
	}
	// Kept and resumed it is not mended again.
	resumed := trial.Must(run.Resume(l, trial.Must(again.Save()), run.Options{Bench: trial.Bench}))
	if resumed.View().Feedback[0] != again.View().Feedback[0] {
		t.Error("the figures are gone after resuming")
	}
}

func TestMendFaults(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"strip: A\n", "strip: Q\n", `there is no strip "Q"`},
		{"guessed: declip, ", "guessed: decip, ", `there is no treatment "decip": did you mean declip?`},
		{"guessed: declip, ", "A: declip, ", "want a lower-case word"},
		{"ways.guessed.sdr_db > ", "ways.gessed.sdr_db > ", "did you mean guessed?"},
		{"ways.guessed.sdr_db > ", "ways.guessed.overs > ", "of what was worked out there are sdr_db, peak_dbfs, true_peak_dbtp and loudness_lufs"},
		{"strips: [guessed, held]", "strips: [guessed, hold]", `there is no strip "hold": did you mean held?`},
		{"    ways: {guessed: declip, held: limiter, both: [declip, limiter]}\n", "", "ways: is missing"},
	} {
		text := strings.NewReplacer(mending...).Replace(trial.Good)
		if !strings.Contains(text, c.from) {
			t.Fatalf("%q is gone", c.from)
		}
		_, err := format.Parse("m.yaml", []byte(strings.Replace(text, c.from, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q gives\n%v\nwant %s", c.to, err, c.want)
		}
	}
}
