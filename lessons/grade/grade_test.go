package grade_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/xapi"
)

func gradeOne(t testing.TB, l *model.Lesson, res *run.Result, key *keys.Key) *grade.Grade {
	t.Helper()
	g := grade.NewGrader(l)
	g.Bench, g.Key = trial.Bench, key
	out, err := g.Grade(context.Background(), "r.json", res)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// tamperings change one thing in a result.
var tamperings = []struct {
	name string
	do   func(r *run.Result)
	flag string // what grading says when the forger signs again; "" if only the signature shows it
}{
	{"one reading", func(r *run.Result) { stepOf(r, "story").Take.Readings["A"]["headroom_db"] += 0.5 }, "story: the take does not reproduce: A.headroom_db is"},
	{"one count", func(r *run.Result) { stepOf(r, "story").Take.Readings["A"]["overs"] = 0 }, "story: the take does not reproduce: A.overs is 0 in the file"},
	{"a reading removed", func(r *run.Result) { delete(stepOf(r, "story").Take.Readings["A"], "snr_db") }, "story: the take does not reproduce: A.snr_db"},
	{"a reading added", func(r *run.Result) { stepOf(r, "story").Take.Readings["A"]["wonder_db"] = 1 }, "story: the take does not reproduce: A.wonder_db is no reading"},
	{"a strip added", func(r *run.Result) { stepOf(r, "story").Take.Readings["Z"] = names.Measured{} }, "there is no strip Z"},
	{"the seed", func(r *run.Result) { r.Seed++ }, "in the file; seed 2 draws"},
	{"a drawn value", func(r *run.Result) { r.Drawn["talker"] = "captain" }, "talker is captain in the file; seed 1 draws"},
	{"the setting", func(r *run.Result) { stepOf(r, "set").Take.Settings["A.preamp.gain_db"] = 45.0 }, "set: is right in the file; it comes out as wrong"},
	{"a locked setting", func(r *run.Result) { stepOf(r, "set").Take.Settings["A.room.noise_dba"] = 0.0 }, "set: a setting that could not have been made"},
	{"a verdict", func(r *run.Result) { stepOf(r, "guess").Verdict = run.Wrong }, "guess: is wrong in the file; it comes out as right"},
	{"the points of a step", func(r *run.Result) { stepOf(r, "talk").Points = 50 }, "talk: has 50 points in the file"},
	{"the sum", func(r *run.Result) { r.Points = 50 }, "says 50 of 4 points"},
	{"an answer", func(r *run.Result) { stepOf(r, "lower").Answers[0] = "20" }, "lower: is right in the file; it comes out as wrong"},
	{"an answer that cannot be", func(r *run.Result) { stepOf(r, "lower").Answers[0] = "q" }, "lower: an answer that could not have been given"},
	{"a prediction made twice", func(r *run.Result) { stepOf(r, "guess").Answers = []string{"a", "b"} }, "guess: an answer that could not have been given"},
	{"the order of steps", func(r *run.Result) { r.Steps[2], r.Steps[3] = r.Steps[3], r.Steps[2] }, "is not step 3 of the lesson"},
	{"a step left out", func(r *run.Result) { r.Steps = r.Steps[:len(r.Steps)-1] }, "the lesson was not finished"},
	{"another lesson", func(r *run.Result) { r.Lesson.Hash = strings.Repeat("0", 64) }, "is not the one at hand"},
	{"a take left out", func(r *run.Result) { stepOf(r, "set").Take = nil }, "set:"},
	{"a change while rolling", func(r *run.Result) {
		stepOf(r, "set").Take.Changes = []model.Change{{AtS: 0.5, Key: "A.preamp.gain_db", Value: 10.0}}
	}, "set: a take that could not have been recorded"},
	{"the student", func(r *run.Result) { r.Student = "Somebody else" }, ""},
	{"the words", func(r *run.Result) { stepOf(r, "why").Answers[0] = "Other words, written by somebody else." }, ""},
	{"the clock", func(r *run.Result) { r.Started = r.Started.Add(-time.Hour) }, ""},
}

func stepOf(r *run.Result, id string) *run.StepProgress {
	for i := range r.Steps {
		if r.Steps[i].ID == id {
			return &r.Steps[i]
		}
	}
	return nil
}

// One thing altered is flagged: by the signature at least, and, where it can be
// computed again, also when the forger signs again.
func TestTampering(t *testing.T) {
	l := trial.Must(builtin.Load("gain-and-headroom"))
	honest, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
	if g := gradeOne(t, l, play.Reread(t, honest), nil); !g.OK() || !g.Passed {
		t.Fatalf("an honest result is flagged: %v", g.Flags)
	}
	for _, c := range tamperings {
		t.Run(c.name, func(t *testing.T) {
			r := play.Reread(t, honest)
			c.do(r)
			g := gradeOne(t, l, play.Reread(t, r), nil)
			if g.OK() || !strings.Contains(fmt.Sprint(g.Flags), "the signature does not fit") {
				t.Errorf("not flagged by its signature: %v", g.Flags)
			}
			if err := r.Sign(nil); err != nil {
				t.Fatal(err)
			}
			g = gradeOne(t, l, play.Reread(t, r), nil)
			if c.flag == "" {
				if !g.OK() {
					t.Errorf("flagged %v, though nothing can be computed again", g.Flags)
				}
			} else if !strings.Contains(fmt.Sprint(g.Flags), c.flag) {
				t.Errorf("signed again, the flags are %v, want %q", g.Flags, c.flag)
			}
			// Whoever has no key cannot sign again.
			key := trial.Must(keys.Read([]byte("a class's secret")))
			g = gradeOne(t, l, play.Reread(t, r), key)
			if !strings.Contains(fmt.Sprint(g.Flags), "not signed with the key") {
				t.Errorf("accepted without the key: %v", g.Flags)
			}
		})
	}
}

func TestKeys(t *testing.T) {
	l := trial.Lesson(t)
	a := trial.Must(format.ParseAnswers("a", []byte("answers: {guess: a, set: {A.preamp.gain_db: 25}, much: '= A.headroom_db', why: Because.}\n"), l))
	r, err := run.NewRunner(l, run.Options{Seed: 1, Bench: trial.Bench})
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Play(context.Background(), r, a, nil); err != nil {
		t.Fatal(err)
	}
	res, err := r.Result(trial.Must(keys.Read([]byte("the class's secret"))))
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{"the class's secret": "", "another secret": "does not fit", "": "no key was given"} {
		k, _ := keys.Read([]byte(key)) // nil for ""
		g := gradeOne(t, l, play.Reread(t, res), k)
		if (want == "") != g.OK() || !strings.Contains(fmt.Sprint(g.Flags), want) {
			t.Errorf("key %q: %v", key, g.Flags)
		}
	}
	res.Signature.Method = "none"
	if g := gradeOne(t, l, res, nil); g.OK() {
		t.Error("a signature of no kind was accepted")
	}
}

// Results of another platform may differ in the last bits, and no more.
func TestOtherPlatforms(t *testing.T) {
	l := trial.Must(builtin.Load("gain-and-headroom"))
	honest, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
	for d, ok := range map[names.Number]bool{0.001: true, 0.2: false} {
		r := play.Reread(t, honest)
		r.Platform = "js/wasm"
		stepOf(r, "story").Take.Readings["A"]["headroom_db"] += d
		if err := r.Sign(nil); err != nil {
			t.Fatal(err)
		}
		if g := gradeOne(t, l, r, nil); g.OK() != ok {
			t.Errorf("%v dB off: %v", d, g.Flags)
		}
		r.Platform = runtime.GOOS + "/" + runtime.GOARCH
		if err := r.Sign(nil); err != nil {
			t.Fatal(err)
		}
		if g := gradeOne(t, l, r, nil); g.OK() {
			t.Errorf("%v dB off on the same platform was accepted", d)
		}
	}
}

func TestCopies(t *testing.T) {
	l := trial.Must(builtin.Load("gain-and-headroom"))
	a, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
	b := play.Reread(t, a)
	b.Student = "Another"
	if err := b.Sign(nil); err != nil {
		t.Fatal(err)
	}
	c, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 2)
	g := grade.NewGrader(l)
	g.Bench = trial.Bench
	grades, err := g.GradeAll(context.Background(), []string{"a", "b", "c"}, []*run.Result{a, b, c}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !grades[0].OK() || grades[1].OK() || !grades[2].OK() {
		t.Errorf("%v %v %v", grades[0].Flags, grades[1].Flags, grades[2].Flags)
	}
	if !strings.Contains(fmt.Sprint(grades[2].Notes), "the same words as in a") {
		t.Errorf("%v", grades[2].Notes)
	}
}

// manyResults makes results of many students: seeds, gains and answers of their
// own.
func manyResults(t testing.TB, n int) (*model.Lesson, []string, []*run.Result) {
	t.Helper()
	l := trial.Must(builtin.Load("gain-and-headroom"))
	var paths []string
	var all []*run.Result
	for i := range n {
		text := fmt.Sprintf("answers: {talk: '= check.A.talk_peak_dbfs', guess: %s, set: {A.preamp.gain_db: %d}, lower: 1, why: 'Student %d says that laughs are louder than talk.'}\n", model.Letter(i%2), 26+i%9, i)
		a, err := format.ParseAnswers("a", []byte(text), l)
		if err != nil {
			t.Fatal(err)
		}
		r, err := run.NewRunner(l, run.Options{Seed: uint64(i), Bench: trial.Bench, Student: fmt.Sprintf("student %d", i)})
		if err != nil {
			t.Fatal(err)
		}
		if err := run.Play(context.Background(), r, a, nil); err != nil {
			t.Fatal(err)
		}
		res, err := r.Result(nil)
		if err != nil {
			t.Fatal(err)
		}
		paths, all = append(paths, fmt.Sprintf("%d.json", i)), append(all, play.Reread(t, res))
	}
	return l, paths, all
}

// BenchmarkGrade1000 grades a thousand results with nothing cached beforehand.
func BenchmarkGrade1000(b *testing.B) {
	l, paths, all := manyResults(b, 1000)
	for b.Loop() {
		g := grade.NewGrader(l)
		grades, err := g.GradeAll(context.Background(), paths, all, nil)
		if err != nil {
			b.Fatal(err)
		}
		passed := 0
		for _, x := range grades {
			if !x.OK() {
				b.Fatal(x.Flags)
			}
			if x.Passed {
				passed++
			}
		}
		b.ReportMetric(float64(g.Bench.Runs()), "strips-run")
		b.ReportMetric(float64(passed), "passed")
	}
}

func TestGradeAllIsCancelled(t *testing.T) {
	l, paths, all := manyResults(t, 3)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := grade.NewGrader(l).GradeAll(ctx, paths, all, nil); err == nil {
		t.Error("graded though it was cancelled")
	}
}

func FuzzResult(f *testing.F) {
	l := trial.Must(builtin.Load("gain-and-headroom"))
	honest, _ := play.Through(f, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
	b := trial.Must(honest.Marshal())
	f.Add(b)
	f.Add(bytes.Replace(b, []byte(`"at": 10`), []byte(`"at": -1`), 1))
	f.Add([]byte(`{"gainwright_lesson":1}`))
	f.Add([]byte(`{"gainwright_lesson":1,"steps":[{"id":"welcome","kind":"ask","answers":["a"]}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		res, err := run.ParseResult(b)
		if err != nil {
			return
		}
		g := grade.NewGrader(l)
		g.Bench = trial.Bench
		got, err := g.Grade(context.Background(), "f", res)
		if err != nil {
			t.Fatal(err)
		}
		// Only the honest file is accepted.
		x, _ := json.Marshal(res)
		y, _ := json.Marshal(honest)
		if got.OK() && got.Passed && !bytes.Equal(x, y) {
			// Another honest result may exist only with another signature.
			if res.Signature == honest.Signature {
				t.Fatalf("accepted: %s", b)
			}
		}
		xapi.Statements(res, l)
		xapi.Statements(res, nil)
	})
}
