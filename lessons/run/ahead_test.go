package run_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/sim"
	"gainwright/sounds/equipment"
	"gainwright/sounds/voice"
)

// ahead is a small lesson with a plan by its sound check, and a twin of a clipped take.
var ahead = []string{
	"A: {preamp: {gain_db: 40}}", "A: {preamp: {gain_db: 40, rail_dbu: 40}}",
	"  - listen: Compare.\n    id: ears\n    strips: [A, spoken]", `  - plan: What does an hour ask for?
    id: hour
  - do: Set it so.
    id: so
    controls: {A.preamp.gain_db: {from: 0, to: 60, step: 1}}
    rule: abs(A.gain_db - hour.A.advised_gain_db) <= 1
  - predict: Can anybody tell from the file what was said?
    id: tell
    choices:
      - {say: "yes", when: two.A.differing_samples > 0}
      - {say: "no", when: two.A.differing_samples == 0}
  - record: Again, too hot.
    id: hot
    take: loud
    set: {A.preamp.gain_db: 66}
  - twin: Two wills, one file.
    id: two`,
	"number: {answer: A.headroom_db, tolerance: 1}", "number: {answer: two.A.apart_db, tolerance: 0.5}",
}

const aheadAnswers = "answers: {guess: b, set: {A.preamp.gain_db: 30}, so: {A.preamp.gain_db: = hour.A.advised_gain_db}, tell: b, much: = two.A.apart_db, why: x}"

// at plays a lesson up to a step.
func at(t *testing.T, step string) *run.Runner {
	t.Helper()
	return upTo(t, trial.Lesson(t, ahead...), step)
}

func upTo(t *testing.T, l *model.Lesson, step string) *run.Runner {
	t.Helper()
	r := trial.Must(run.NewRunner(l, run.Options{Seed: 1, Bench: trial.Bench}))
	a := trial.Must(format.ParseAnswers("a", []byte(aheadAnswers), l))
	for r.View().Step.ID != step {
		if err := r.PlayStep(context.Background(), a); err != nil {
			t.Fatal(err)
		}
		if err := r.Advance(); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

// A lesson with a plan and a twin passes by what they tell, is graded to the same, and an
// altered figure is flagged.
func TestPlanAndTwin(t *testing.T) {
	l := trial.Lesson(t, ahead...)
	res, _ := play.Through(t, l, []byte(aheadAnswers), 1)
	if !res.Passed || res.Points != res.Of {
		t.Fatalf("%v of %v, %s", res.Points, res.Of, res.FailedAt)
	}
	g := grade.NewGrader(l)
	g.Bench = trial.Bench
	if got, err := g.Grade(context.Background(), "r", play.Reread(t, res)); err != nil || !got.OK() || !got.Passed {
		t.Errorf("%+v %v", got, err)
	}
	for step, key := range map[string]string{"hour": "risk_percent", "two": "apart_db"} {
		forged := play.Reread(t, res)
		for i := range forged.Steps {
			if forged.Steps[i].ID == step {
				forged.Steps[i].Mended["A"][key] += 3
			}
		}
		forged.Sign(nil)
		if got, err := g.Grade(context.Background(), "r", forged); err != nil || len(got.Flags) != 1 || got.Flags[0].Step != step {
			t.Errorf("%s altered: %+v %v", step, got, err)
		}
	}
}

// A plan holds of the guest and not of the gain that the check happened to have; what it
// says the meter will hold is what a take at the advised gain peaks at.
func TestPlanStep(t *testing.T) {
	r := at(t, "hour")
	if r.State() != run.Reading || r.Blocked() != "the plan is being worked out" || r.Next() == nil {
		t.Fatalf("left before it was planned: %s, %q", r.State(), r.Blocked())
	}
	if err := r.Work(context.Background()); err != nil {
		t.Fatal(err)
	}
	if f := r.View().Feedback; len(f) != 1 || !strings.Contains(f[0], "| gain advised | ") {
		t.Error(f)
	}
	m := r.Progress().Steps[r.Progress().At].Mended["A"]
	if m["advised_gain_db"] < m["low_gain_db"] || m["advised_gain_db"] > m["high_gain_db"] || m["risk_percent"] > 5 {
		t.Errorf("%v", m)
	}
	resumed := trial.Must(run.Resume(r.Lesson(), trial.Must(r.Save()), run.Options{Bench: trial.Bench}))
	if resumed.Owes() || resumed.View().Feedback[0] != r.View().Feedback[0] {
		t.Error("the plan is gone after resuming")
	}
	if err := r.Next(); err != nil {
		t.Fatal(err)
	}
	for _, more := range []float64{0, 12} {
		if err := r.Apply("A.preamp.gain_db", float64(m["advised_gain_db"])+more); err != nil {
			t.Fatal(err)
		}
		if err := r.Record(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
		// One word is not a minute of talk: a guess within 8 dB.
		p := r.Progress()
		got := float64(p.Steps[p.At].Take.Readings["A"]["peak_dbfs"]) - more
		if d := got - float64(m["held_peak_dbfs"]); math.Abs(d) > 8 {
			t.Errorf("the meter would hold %v dBFS, a take peaks %v dB over it", m["held_peak_dbfs"], d)
		}
	}
}

// On a recorder of one's own no gain is advised that its knob does not have: not a louder one
// where it ends too quiet, not a softer one where it begins too loud.
func TestPlanOnOwnKnob(t *testing.T) {
	for _, c := range []struct {
		fullScale [2]float64 // dB SPL that fill the file, at the least and the highest mark
		mark      float64    // what is advised
	}{{[2]float64{160, 140}, 10}, {[2]float64{100, 80}, 0}} {
		own := trial.Must(equipment.Read("mine.yaml", fmt.Appendf(nil,
			"recorder: {marks: [{mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: %g}}, {mark: 10, gain_db: {value: 20}, full_scale_db_spl: {value: %g}}]}", c.fullScale[0], c.fullScale[1])))
		change := append(slices.Clone(ahead), "  - do: Set it.\n", "  - do: Set it.\n    must: false\n")
		l := trial.Must(format.ParseOn(own, "good.yaml", []byte(strings.NewReplacer(change...).Replace(trial.Good))))
		r := upTo(t, l, "hour")
		if err := r.Work(context.Background()); err != nil {
			t.Fatal(err)
		}
		st := r.Bench().Strips[0]
		want := trial.Must(r.Bench().Knob().Gain(st.Chain, c.mark))
		m := r.Progress().Steps[r.Progress().At].Mended["A"]
		if got := float64(m["advised_gain_db"]); math.Abs(got-want) > 1e-6 {
			t.Errorf("the file is full at %v dB SPL: %v dB is advised (%v), mark %v gives %v", c.fullScale, got, m, c.mark, want)
		}
	}
}

// The twin, run through the engine by hand, leaves the strip's file to the last bit, and is as
// far from the first where that was cut off as is told.
func TestTwinStep(t *testing.T) {
	r := at(t, "two")
	if r.State() != run.Listening || r.Blocked() != "the second performance is being worked out" {
		t.Fatalf("%s, %q", r.State(), r.Blocked())
	}
	waves, err := r.Sounds(context.Background())
	if err != nil || len(waves) != 3 || waves[0].Caution == "" || waves[2].Name != "twin" {
		t.Fatal(waves, err)
	}
	p := r.Progress()
	m := p.Steps[p.At].Mended["A"]
	file := waves[0].File
	second := make([]float64, len(waves[2].File))
	for i, v := range waves[2].File {
		second[i] = float64(v)
	}
	if m["differing_samples"] != 0 {
		t.Fatalf("%v", m)
	}
	// The wave is kept in single precision, so that codes beside a step may flip: where it
	// went over, none does, and elsewhere by no more than one.
	strip := trial.Must(sim.NewStrip(voice.Rate, r.Bench().Strips[0].Chain, r.Bench().Seed))
	var again []float64
	if _, err := sim.Run(context.Background(), &sim.Samples{X: second}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, taps *sim.Taps) error {
		again = append(again, taps.Wave[sim.AtFile]...)
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	free, one, two := 0, 0.0, 0.0
	for i := range file {
		if d := math.Abs(again[i] - float64(file[i])); d > 4*math.Pow(2, -23) {
			t.Fatalf("sample %d: %v and %v", i, file[i], again[i])
		}
		if math.Abs(float64(file[i])) > 0.999999 {
			free++
			one += float64(waves[1].File[i]) * float64(waves[1].File[i])
			two += second[i] * second[i]
		}
	}
	if got := 100 * float64(free) / float64(len(file)); free == 0 || math.Abs(got-float64(m["free_percent"])) > 0.2*got {
		t.Errorf("%v %% of the file is at full scale, told are %v", got, m["free_percent"])
	}
	if got := 10 * math.Log10(two/one); math.Abs(got-float64(m["apart_db"])) > 1.5 {
		t.Errorf("the twin is %v dB over the first there, told are %v", got, m["apart_db"])
	}
}

// Where nothing was cut off there is no twin, and that is told instead.
func TestNoTwin(t *testing.T) {
	change := slices.Clone(ahead)
	change[3] = strings.Replace(change[3], "gain_db: 66", "gain_db: 10", 1)
	r := trial.Must(run.NewRunner(trial.Lesson(t, change...), run.Options{Seed: 1, Bench: trial.Bench}))
	a := trial.Must(format.ParseAnswers("a", []byte(aheadAnswers), r.Lesson()))
	for r.View().Step.ID != "two" {
		if err := r.PlayStep(context.Background(), a); err != nil {
			t.Fatal(err)
		}
		if err := r.Advance(); err != nil {
			t.Fatal(err)
		}
	}
	waves, err := r.Sounds(context.Background())
	if err != nil || len(waves) != 2 || r.Blocked() != "" {
		t.Fatalf("%d waves, %v, %q", len(waves), err, r.Blocked())
	}
	if f := r.View().Feedback; len(f) != 2 || !strings.HasPrefix(f[1], "There is no twin: ") {
		t.Error(f)
	}
}

// A listen step may ask what is heard: it is left once that is answered, counts, and comes out
// again when graded.
func TestListenAsks(t *testing.T) {
	asks := []string{"    strips: [A, spoken]", "    strips: [A, spoken]\n    choices: [{say: A, when: A.overs > 0}, {say: neither, when: A.overs == 0}]\n    tries: 2\n    because: It keeps {{A.headroom_db}}."}
	l := trial.Lesson(t, asks...)
	if l.Of() != 3 || !l.Step("ears").Asks() {
		t.Fatalf("%v points", l.Of())
	}
	for answer, points := range map[string]float64{"b": 3, "a": 2, "[a, b]": 3} {
		res, _ := play.Through(t, l, []byte("answers: {guess: b, set: {A.preamp.gain_db: 25}, ears: "+answer+", much: = A.headroom_db, why: x}"), 1)
		if res.Points != points {
			t.Errorf("answered %s: %v points, want %v", answer, res.Points, points)
		}
		g := grade.NewGrader(l)
		g.Bench = trial.Bench
		if got, err := g.Grade(context.Background(), "r", play.Reread(t, res)); err != nil || !got.OK() {
			t.Errorf("%+v %v", got, err)
		}
	}
	r := trial.Must(run.NewRunner(l, run.Options{Seed: 1, Bench: trial.Bench}))
	a := trial.Must(format.ParseAnswers("a", []byte("answers: {guess: b, set: {A.preamp.gain_db: 25}, ears: b, much: 1, why: x}"), l))
	for r.View().Step.ID != "ears" {
		if err := r.PlayStep(context.Background(), a); err != nil {
			t.Fatal(err)
		}
		if err := r.Advance(); err != nil {
			t.Fatal(err)
		}
	}
	if v := r.View(); v.State != run.Listening || !v.Asked || len(v.Choices) != 2 || v.Blocked != "the question is not answered yet" {
		t.Errorf("%+v", v)
	}
	if reply, err := r.Answer("neither"); err != nil || !strings.HasPrefix(reply, "It keeps ") || r.Blocked() != "" || r.View().Asked {
		t.Errorf("%q, %v, blocked %q", reply, err, r.Blocked())
	}
	if _, err := r.Answer("a"); err == nil {
		t.Error("answered again")
	}
	text := strings.NewReplacer(asks...).Replace(trial.Good)
	for change, want := range map[string]string{"    tries: 2": "    blind: 8", "{say: A, when: A.overs > 0}, {say: neither, when: A.overs == 0}": "A, neither"} {
		if _, err := format.Parse("x.yaml", []byte(strings.Replace(text, change, want, 1))); err == nil {
			t.Errorf("%s is taken", want)
		}
	}
}

func TestAheadFaults(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"id: hour\n", "id: hour\n    strip: Q\n", `there is no strip "Q"`},
		{"hour.A.advised_gain_db)", "hour.A.adviced_gain_db)", "did you mean advised_gain_db?"},
		{"hour.A.advised_gain_db)", "hour.B.advised_gain_db)", "what a step works out is followed by of what and a reading, as in hour.A.low_gain_db"},
		{"two.A.apart_db", "two.A.overs", "of what was worked out there are free_percent, differing_samples, apart_db, difference_db and correlation"},
		{"id: two", "id: two\n    blind: 8", "blind"},
		{"id: hot\n", "id: hot\n    controls: [A.preamp.gain_db]\n    riding: true\n", "a twin is made of a take whose settings stay"},
		{"    strips: [A, spoken]", "    strips: [A, twin]", ""},
	} {
		text := strings.NewReplacer(ahead...).Replace(trial.Good)
		if c.want == "" {
			text = trial.Good // a twin is known to its own step alone
			c.want = `there is no strip "twin"`
		}
		_, err := format.Parse("ahead.yaml", []byte(strings.Replace(text, c.from, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.to, err, c.want)
		}
	}
	for _, kind := range []string{"plan", "twin"} {
		if _, err := format.Parse("ahead.yaml", []byte(strings.Replace(trial.Good, "  - predict: What", "  - "+kind+": Now.\n    id: early\n  - predict: What", 1))); err == nil || !strings.Contains(err.Error(), "has to come first") {
			t.Errorf("%s before any take: %v", kind, err)
		}
	}
}
