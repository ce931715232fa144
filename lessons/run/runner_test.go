package run

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/take"
)

// clock is a time of our own.
type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func newRunner(t testing.TB, l *model.Lesson, c *clock) *Runner {
	t.Helper()
	o := Options{Seed: 3, Bench: trial.Bench, Student: "Tester"}
	if c != nil {
		o.Now = c.now
	}
	r, err := NewRunner(l, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func next(t testing.TB, r *Runner) {
	t.Helper()
	if err := r.Next(); err != nil {
		t.Fatal(err)
	}
}

// One way through a lesson by hand: what is refused, what stands, what is locked
// and why, what the hints say.
func TestRunnerByHand(t *testing.T) {
	ctx := context.Background()
	c := &clock{time.Date(2030, 5, 1, 10, 0, 0, 0, time.UTC)}
	r := newRunner(t, trial.Lesson(t, `{text: "Well.", effort: normal}`, `{text: "Well.", effort: shout}`), c)
	if r.State() != Reading || !strings.Contains(r.View().Text, ", ") {
		t.Fatalf("%v %q", r.State(), r.View().Text)
	}
	if err := r.Record(ctx, nil); err == nil {
		t.Error("recorded in a step that is for reading")
	}
	if _, err := r.Answer("a"); err == nil {
		t.Error("answered where nothing was asked")
	}
	c.t = c.t.Add(20 * time.Second)
	next(t, r)

	// A prediction: it has to be made, and it stands.
	if r.State() != Answering || r.Next() == nil {
		t.Error("went on without predicting")
	}
	var ae *model.AnswerError
	if _, err := r.Answer("z"); !errors.As(err, &ae) {
		t.Errorf("got %v", err)
	}
	if _, err := r.Answer(" B "); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Answer("a"); !errors.Is(err, ErrCommitted) {
		t.Errorf("a prediction was changed: %v", err)
	}
	if got := r.Progress().Steps[1]; len(got.Answers) != 1 || got.Answers[0] != "b" {
		t.Errorf("%+v", got)
	}
	next(t, r)

	// A take that is the same for everybody.
	if why, locked := r.Locked("A.preamp.gain_db"); !locked || why == "" {
		t.Error("the gain is not locked")
	}
	var le *model.LockedError
	if err := r.Apply("A.preamp.gain_db", 10.0); !errors.As(err, &le) || le.Why == "" {
		t.Errorf("got %v", err)
	}
	if r.Blocked() == "" {
		t.Error("went on without a take")
	}
	if err := r.Record(ctx, nil, model.Change{AtS: 0.1, Key: "A.preamp.gain_db", Value: 30.0}); err == nil {
		t.Error("a setting was turned while a take rolled that does not allow it")
	}
	if err := r.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	if m := r.View().Take["A"]; len(m) != len(names.Readings()) || m["gain_db"] != 40 {
		t.Errorf("%v", m)
	}
	next(t, r)

	// What came of the prediction.
	p := r.View().Predictions
	if len(p) != 1 || p[0].Answer != "something" || p[0].Truth == "" || p[0].Verdict == Open {
		t.Errorf("%+v", p)
	}
	next(t, r)

	// The task.
	if _, locked := r.Locked("A.preamp.gain_db"); locked {
		t.Error("the gain is locked")
	}
	if why, locked := r.Locked("B.preamp.gain_db"); !locked || !strings.Contains(why, "preamp gain of A") {
		t.Errorf("%v %q", locked, why)
	}
	for key, v := range map[string]any{"A.preamp.gain_db": 100.0, "A.preamp.gian_db": 30.0, "A.preamp": 30.0, "": 1.0} {
		if err := r.Apply(key, v); err == nil {
			t.Errorf("%s = %v was accepted", key, v)
		}
	}
	if err := r.Apply("A.preamp.gain_db", "loud"); err == nil {
		t.Error("a gain of \"loud\" was accepted")
	}
	if err := r.Apply("A.preamp.gain_db", 60.0); err != nil {
		t.Fatal(err)
	}
	if err := r.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	v := r.View()
	if v.Met || v.Blocked == "" || len(v.Feedback) == 0 || !strings.Contains(v.Feedback[0], "Still") || len(v.Checks) != 2 {
		t.Errorf("%+v", v)
	}
	if err := r.Apply("A.preamp.gain_db", 20.0); err != nil {
		t.Fatal(err)
	}
	if err := r.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	if v := r.View(); !v.Met || v.Blocked != "" || len(v.Feedback) != 0 {
		t.Errorf("%+v", v)
	}
	// A knob turned after the take does not count.
	if err := r.Apply("A.preamp.gain_db", 55.0); err != nil {
		t.Fatal(err)
	}
	next(t, r)
	if g := r.Bench().Strip("A").Chain.Preamp.GainDB; g != 20 {
		t.Errorf("the bench goes on at %v dB, the take had 20", g)
	}

	// Listening: cautions, sounds, one loudness.
	if v := r.View(); len(v.Cautions) == 0 || v.Cautions[0] != take.EarCaution {
		t.Errorf("%v", v.Cautions)
	}
	waves, err := r.Sounds(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(waves) != 2 || waves[0].Name != "A" || waves[1].Name != model.Spoken || len(waves[0].File) != len(waves[1].File) {
		t.Fatalf("%d waves", len(waves))
	}
	var loud [2]float64
	for i, w := range waves {
		l, err := take.Loudness(w)
		if err != nil {
			t.Fatal(err)
		}
		loud[i] = l + w.GainDB
		for _, x := range w.File {
			if math.Abs(float64(x))*math.Pow(10, w.GainDB/20) > 0.708 {
				t.Fatal("above the ceiling of −3 dBFS")
			}
		}
	}
	if math.Abs(loud[0]-loud[1]) > 0.1 {
		t.Errorf("compared at %v LUFS", loud)
	}
	next(t, r)

	// A number, with its unit and a decimal comma.
	if _, err := r.Answer("6 ms"); !errors.As(err, &ae) {
		t.Errorf("got %v", err)
	}
	h := float64(r.Progress().Steps[4].Take.Readings["A"]["headroom_db"])
	reply, err := r.Answer(strings.Replace(names.ValueText(names.Round(h, 1)), ".", ",", 1) + " dB")
	if err != nil || r.Progress().Steps[6].Verdict != Right {
		t.Errorf("%v %q %+v", err, reply, r.Progress().Steps[6])
	}
	next(t, r)
	if _, err := r.Answer("  "); !errors.As(err, &ae) {
		t.Errorf("an empty explanation: %v", err)
	}
	if _, err := r.Answer("Because."); err != nil {
		t.Fatal(err)
	}
	c.t = c.t.Add(10 * time.Second)
	next(t, r)
	if r.State() != Finished || r.Next() == nil {
		t.Error("not finished")
	}
	res, err := r.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	if !res.Passed || res.Points != 2 || res.Steps[0].Seconds != 20 || res.Steps[7].Seconds != 10 || res.Steps[4].Takes != 2 {
		t.Errorf("%+v", res)
	}
}

// A lesson that is saved and resumed at every step, in between too, ends with the
// same result as one that is not.
func TestSaveAndResume(t *testing.T) {
	ctx := context.Background()
	l := trial.Lesson(t)
	c := &clock{time.Date(2030, 5, 1, 10, 0, 0, 0, time.UTC)}
	act := func(r *Runner) {
		t.Helper()
		switch r.State() {
		case Answering:
			a := map[string]string{"guess": "a", "much": "12", "why": "Because of it."}[r.View().Step.ID]
			if _, err := r.Answer(a); err != nil {
				t.Fatal(err)
			}
		case Recording:
			if r.View().Step.ID == "set" {
				if err := r.Apply("A.preamp.gain_db", 25.0); err != nil {
					t.Fatal(err)
				}
			}
			if err := r.Record(ctx, nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	again := func(r *Runner) *Runner {
		t.Helper()
		b, err := r.Save()
		if err != nil {
			t.Fatal(err)
		}
		r2, err := Resume(l, b, Options{Bench: trial.Bench, Now: c.now})
		if err != nil {
			t.Fatal(err)
		}
		v1, v2 := r.View(), r2.View()
		v1.Feedback, v2.Feedback = nil, nil                                 // what was said is said
		if a, b := fmt.Sprintf("%+v", v1), fmt.Sprintf("%+v", v2); a != b { // NaN is not equal to itself
			t.Fatalf("before\n%s\nafter\n%s", a, b)
		}
		if !reflect.DeepEqual(r.Bench(), r2.Bench()) {
			t.Fatalf("the bench was\n%+v\nand is\n%+v", r.Bench().Strips, r2.Bench().Strips)
		}
		return r2
	}
	a, b := newRunner(t, l, c), newRunner(t, l, c)
	b.p.Attempt = a.p.Attempt
	for a.State() != Finished {
		act(a)
		next(t, a)
		b = again(b)
		act(b)
		b = again(b)
		next(t, b)
	}
	b = again(b)
	x, err := a.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	y, err := b.Result(nil)
	if err != nil {
		t.Fatal(err)
	}
	jx, _ := x.Marshal()
	jy, _ := y.Marshal()
	if string(jx) != string(jy) {
		t.Errorf("straight:\n%s\nresumed:\n%s", jx, jy)
	}

	saved, _ := b.Save()
	if _, err := Resume(trial.Lesson(t, "minutes: 3", "minutes: 4"), saved, Options{}); err == nil {
		t.Error("went on with another lesson")
	}
	for _, bad := range []string{"", "{}", "[]", `{"gainwright_lesson":2}`, string(saved) + "x", strings.Replace(string(saved), `"at":8`, `"at":99`, 1)} {
		if _, err := Resume(l, []byte(bad), Options{}); err == nil {
			t.Errorf("resumed from %.40q", bad)
		}
	}
}

func TestAttemptsAndGivingUp(t *testing.T) {
	ctx := context.Background()
	l := trial.Lesson(t, "    rule: A.headroom_db >= 6", "    attempts: 2\n    rule: A.headroom_db >= 60", "scenario:\n  seed: 1", "scenario:\n  seed: 1")
	r := newRunner(t, l, nil)
	for r.View().Step.ID != "set" {
		if r.State() == Answering {
			if _, err := r.Answer("a"); err != nil {
				t.Fatal(err)
			}
		}
		if r.State() == Recording {
			if err := r.Record(ctx, nil); err != nil {
				t.Fatal(err)
			}
		}
		next(t, r)
	}
	if v := r.View(); v.TakesLeft != 2 {
		t.Errorf("%d takes left", v.TakesLeft)
	}
	for range 2 {
		if err := r.Record(ctx, nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.Record(ctx, nil); err == nil {
		t.Error("a third take of two")
	}
	if _, locked := r.Locked("A.preamp.gain_db"); !locked {
		t.Error("settings are open though nothing can be recorded")
	}
	if v := r.View(); v.TakesLeft != 0 || v.Blocked != "" {
		t.Errorf("%+v", v)
	}
	next(t, r)
	if got := r.Progress().Steps[4]; got.Verdict != Wrong || got.Points != 0 {
		t.Errorf("%+v", got)
	}

	r2 := newRunner(t, trial.Lesson(t), nil)
	for r2.View().Step.ID != "set" {
		if r2.State() == Answering {
			r2.Answer("a")
		}
		if r2.State() == Recording {
			r2.Record(ctx, nil)
		}
		next(t, r2)
	}
	if err := r2.GiveUp(); err != nil {
		t.Fatal(err)
	}
	if got := r2.Progress().Steps[4]; got.Verdict != Skipped || got.Take != nil {
		t.Errorf("%+v", got)
	}
}

// Blind trials: the order is hidden, differs between students, and hits count.
func TestBlindTrials(t *testing.T) {
	l := trial.Must(builtin.Load("blind-listening"))
	a := trial.Must(format.ParseAnswers("a", trial.Must(builtin.ModelAnswers("blind-listening")), l))
	orders := map[string]bool{}
	ones := 0
	for seed := range uint64(40) {
		r, err := NewRunner(l, Options{Seed: seed, Bench: trial.Bench})
		if err != nil {
			t.Fatal(err)
		}
		s := l.Step("trials")
		k := ""
		for i := range s.Trials {
			k += r.trial(s, i)
		}
		orders[k] = true
		ones += strings.Count(k, "A")
	}
	if len(orders) < 30 || ones < 120 || ones > 200 {
		t.Errorf("%d orders, A in %d of 320 trials", len(orders), ones)
	}
	// Who knows the order gets them all; the result says what guessing gives.
	r, _ := NewRunner(l, Options{Seed: 7, Bench: trial.Bench})
	for r.View().Step.ID != "trials" {
		step := r.View().Step
		switch r.State() {
		case Answering:
			x, err := r.formula(a.Steps[step.ID].Texts[0])
			if err != nil {
				t.Fatal(err)
			}
			if _, err := r.Answer(x); err != nil {
				t.Fatal(err)
			}
			for r.State() == Answering {
				r.Answer(x)
			}
		case Recording:
			if err := r.Record(context.Background(), nil); err != nil {
				t.Fatal(err)
			}
		}
		next(t, r)
	}
	last := ""
	for i := 0; ; i++ {
		if (r.Blocked() == "") != (i == 8) {
			t.Fatalf("trial %d: blocked %q", i, r.Blocked())
		}
		n, ok := r.Trial()
		if !ok {
			break
		}
		var err error
		if last, err = r.Answer(n); err != nil {
			t.Fatal(err)
		}
	}
	if r.here().Hits != 8 || !strings.Contains(last, "8 of 8 right") || !strings.Contains(last, "0.00391") {
		t.Errorf("%d hits, %q", r.here().Hits, last)
	}
	if _, err := r.Answer("A"); !errors.Is(err, ErrCommitted) {
		t.Error(err)
	}
}

// Whatever a question or a rule of a built-in lesson names is shown after the take
// it is read from, and less than everything is.
func TestFewReadings(t *testing.T) {
	total, steps := 0, 0
	for _, l := range builtin.All() {
		r, err := NewRunner(l, Options{Bench: trial.Bench})
		if err != nil {
			t.Fatal(err)
		}
		few := map[string][]names.Name{} // by take
		for i, s := range l.Steps {
			if s.IsTake() {
				r.p.At = i
				few[s.ID] = r.Few()
				total, steps = total+len(few[s.ID]), steps+1
			}
		}
		last := ""
		for _, s := range l.Steps {
			if s.IsTake() {
				last = s.ID
			}
			for _, n := range s.Names() {
				head, _, _ := strings.Cut(n, ".")
				key := n[strings.LastIndexByte(n, '.')+1:]
				if _, is := names.Reading(key); s.Kind == model.Predict || head == "drawn" || !is {
					continue
				}
				take := last
				if few[head] != nil {
					take = head
				}
				if !slices.ContainsFunc(few[take], func(x names.Name) bool { return x.Key == key }) {
					t.Errorf("%s: step %s names %s, which step %s does not show: %v", l.ID, s.ID, n, take, few[take])
				}
			}
		}
	}
	if mean := float64(total) / float64(steps); mean > 8 {
		t.Errorf("%.1f readings are shown after a take", mean)
	}
	t.Logf("%.1f readings after a take, of %d", float64(total)/float64(steps), len(names.Readings()))
}

// A setting comes as a number or as people write one, and what it is refused for is
// the true reason.
func TestSettingsAsWritten(t *testing.T) {
	l := trial.Lesson(t, "controls: {A.preamp.gain_db: {from: 20, to: 60}}", "controls: [A.preamp.gain_db, A.limiter.ratio, A.limiter_place, distance_m]")
	r := newRunner(t, l, &clock{})
	r.p.At = 4
	for _, c := range []struct {
		key  string
		v    any
		want any // a string: the refusal
	}{
		{"A.preamp.gain_db", "40 dB", 40.0},
		{"A.preamp.gain_db", "40", 40.0},
		{"A.preamp.gain_db", "−3,5 db", -3.5},
		{"distance_m", "0.1 m", 0.1},
		{"A.limiter.ratio", "inf", "inf"},
		{"A.limiter.ratio", math.Inf(1), "inf"},
		{"A.limiter.ratio", 4.0, 4.0},
		{"A.preamp.gain_db", "forty", `! A.preamp.gain_db: "forty" is not a number: write it as in 12 dB`},
		{"A.preamp.gain_db", "40 m", "! A.preamp.gain_db: counts in dB, not in m"},
		{"A.preamp.gain_db", "99 dB", "! A.preamp.gain_db: 99 dB is out of range: -20 to 80 dB"},
		{"A.preamp.gain_db", math.NaN(), "! A.preamp.gain_db: NaN dB is out of range: -20 to 80 dB"},
		{"A.preamp.gain_db", true, "! A.preamp.gain_db: want a number, not true"},
		{"preamp.gain_db", 40.0, "! there is no setting preamp.gain_db: it belongs to a strip: did you mean A.preamp.gain_db?"},
		{"limiter.threshold_dbfs", 40.0, "! there is no setting limiter.threshold_dbfs: it belongs to a strip: did you mean A.limiter.threshold_dbfs?"},
		{"room.noise_dba", 40.0, "! room.noise_dba is locked: only preamp gain of A"},
	} {
		err := r.Apply(c.key, c.v)
		if why, refused := c.want.(string); refused && strings.HasPrefix(why, "! ") {
			if err == nil || !strings.HasPrefix("! "+err.Error(), why) {
				t.Errorf("%s = %v gives %v, want %s", c.key, c.v, err, why)
			}
			continue
		}
		if err != nil || r.here().Settings[c.key] != c.want {
			t.Errorf("%s = %v is %v, %v", c.key, c.v, r.here().Settings[c.key], err)
		}
	}
	// What scenarios call infinite is kept, and read again.
	if err := r.Apply("A.limiter.ratio", "inf"); err != nil {
		t.Fatal(err)
	}
	if err := r.Record(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	b, err := r.Save()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Resume(l, b, Options{Bench: trial.Bench})
	if err != nil || again.valueOf("A.limiter.ratio") != "inf" {
		t.Errorf("%v", err)
	}
}

// A take that was heard for a second counts, whether it is given up, left, or gone on from
// what was saved; the last one is then owed as it was set, and no other.
func TestTakesGivenUp(t *testing.T) {
	ctx := context.Background()
	l := trial.Lesson(t, "    rule: A.headroom_db >= 6", "    attempts: 2\n    rule: A.headroom_db >= 6")
	to := func() *Runner {
		r := newRunner(t, l, nil)
		for r.View().Step.ID != "set" {
			if r.State() == Answering {
				r.Answer("a")
			}
			if r.State() == Recording {
				if err := r.Record(ctx, nil); err != nil {
					t.Fatal(err)
				}
			}
			next(t, r)
		}
		return r
	}
	r := to()
	if r.Heard(0.9) || r.Drop() || r.View().TakesLeft != 2 {
		t.Errorf("a take of less than a second counts: %+v", r.View())
	}
	if !r.Heard(1) || r.Heard(3.21) {
		t.Error("a take counts once, from its first second")
	}
	if err := r.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	if sp := r.Progress().Steps[4]; len(sp.Dropped) != 0 || sp.Takes != 1 {
		t.Errorf("a take that was recorded is given up as well: %+v", sp)
	}
	r = to()
	if r.Heard(1); !r.Drop() {
		t.Error("a take that was heard does not count")
	}
	if v := r.View(); v.TakesLeft != 1 || v.Owed {
		t.Errorf("%+v", v)
	}
	if err := r.Apply("A.preamp.gain_db", 25.0); err != nil {
		t.Fatal(err)
	}
	r.Heard(4.04)
	if _, locked := r.Locked("A.preamp.gain_db"); locked {
		t.Error("the last take, under way, locks its settings")
	}
	saved := trial.Must(r.Save()) // as it rolls, and never comes to its end
	r = trial.Must(Resume(l, saved, Options{Bench: trial.Bench}))
	if v := r.View(); !v.Owed || v.TakesLeft != 1 || !strings.Contains(v.Blocked, OwedWords) {
		t.Errorf("%+v", v)
	}
	if err := r.Apply("A.preamp.gain_db", 20.0); err == nil {
		t.Error("what was heard can be set otherwise")
	}
	if r.Heard(2) {
		t.Error("the take that is owed counts once more")
	}
	if err := r.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	sp := r.Progress().Steps[4]
	if sp.Takes != 1 || !slices.Equal(sp.Dropped, []float64{1, 4}) || sp.Take.Settings["A.preamp.gain_db"] != 25.0 {
		t.Errorf("%+v", sp)
	}
	if err := r.Record(ctx, nil); err == nil {
		t.Error("a take more than there are")
	}
}

// A picture is of the step's own take if it records, of the bench before that, and else of
// the last take.
func TestStill(t *testing.T) {
	l := trial.Lesson(t, "    id: hello\n", "    id: hello\n    show: B.diagram\n", "    take: loud\n", "    take: loud\n    show: waves\n", "    id: much\n", "    id: much\n    show: B.waves\n",
		"    id: set\n", "    id: set\n    show: diagram\n")
	r, err := NewRunner(l, Options{Seed: 1, Bench: trial.Bench})
	if err != nil {
		t.Fatal(err)
	}
	still := func() *take.Still { t.Helper(); return trial.Must(r.Still(context.Background())) }
	do := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	if x := still(); x == nil || x.Strip != "B" || x.Take || x.Chain.Preamp.GainDB != 30 {
		t.Fatalf("before any take: %+v", x)
	}
	do(r.Next())
	trial.Must(r.Answer("a"))
	do(r.Next())
	if x := still(); x != nil {
		t.Errorf("waves before the take: %+v", x)
	}
	do(r.Record(context.Background(), nil))
	loud := still()
	if loud == nil || !loud.Take || loud.Strip != "A" || loud.Chain.Preamp.GainDB != 40 {
		t.Fatalf("after the take: %+v", loud)
	}
	do(r.Next())
	if x := still(); x != nil {
		t.Errorf("a step without a picture has one: %+v", x)
	}
	do(r.Next())
	do(r.Apply("A.preamp.gain_db", 25.0))
	if x := still(); x.Take || x.Chain.Preamp.GainDB != 25 {
		t.Errorf("a task before its take: %+v", x)
	}
	do(r.Record(context.Background(), nil))
	if x := still(); !x.Take || x.Chain.Preamp.GainDB != 25 || x.Loudest >= loud.Loudest {
		t.Errorf("a task after its take: loudest %v, before %v", x.Loudest, loud.Loudest)
	}
	do(r.Next())
	do(r.Next())
	if x := still(); x.Strip != "B" || !x.Take {
		t.Errorf("of the last take: %+v", x)
	}
}
