package lessons

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"
)

func gradeOne(t testing.TB, l *Lesson, res *Result, key []byte) *Grade {
	t.Helper()
	g := NewGrader(l)
	g.Bench, g.Key = sharedBench, key
	out, err := g.Grade(context.Background(), "r.json", res)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// tamperings change one thing in a result.
var tamperings = []struct {
	name string
	do   func(r *Result)
	flag string // what grading says when the forger signs again; "" if only the signature shows it
}{
	{"one reading", func(r *Result) { r.step("story").Take.Readings["A"]["headroom_db"] += 0.5 }, "story: the take does not reproduce: A.headroom_db is"},
	{"one count", func(r *Result) { r.step("story").Take.Readings["A"]["overs"] = 0 }, "story: the take does not reproduce: A.overs is 0 in the file"},
	{"a reading removed", func(r *Result) { delete(r.step("story").Take.Readings["A"], "snr_db") }, "story: the take does not reproduce: A.snr_db"},
	{"a reading added", func(r *Result) { r.step("story").Take.Readings["A"]["wonder_db"] = 1 }, "story: the take does not reproduce: A.wonder_db is no reading"},
	{"a strip added", func(r *Result) { r.step("story").Take.Readings["Z"] = Measured{} }, "there is no strip Z"},
	{"the seed", func(r *Result) { r.Seed++ }, "in the file; seed 2 draws"},
	{"a drawn value", func(r *Result) { r.Drawn["talker"] = "captain" }, "talker is captain in the file; seed 1 draws"},
	{"the setting", func(r *Result) { r.step("set").Take.Settings["A.preamp.gain_db"] = 45.0 }, "set: is right in the file; it comes out as wrong"},
	{"a locked setting", func(r *Result) { r.step("set").Take.Settings["A.room.noise_dba"] = 0.0 }, "set: a setting that could not have been made"},
	{"a verdict", func(r *Result) { r.step("guess").Verdict = Wrong }, "guess: is wrong in the file; it comes out as right"},
	{"the points of a step", func(r *Result) { r.step("talk").Points = 50 }, "talk: has 50 points in the file"},
	{"the sum", func(r *Result) { r.Points = 50 }, "says 50 of 4 points"},
	{"an answer", func(r *Result) { r.step("lower").Answers[0] = "a" }, "lower: is right in the file; it comes out as wrong"},
	{"an answer that cannot be", func(r *Result) { r.step("lower").Answers[0] = "q" }, "lower: an answer that could not have been given"},
	{"a prediction made twice", func(r *Result) { r.step("guess").Answers = []string{"a", "b"} }, "guess: an answer that could not have been given"},
	{"the order of steps", func(r *Result) { r.Steps[2], r.Steps[3] = r.Steps[3], r.Steps[2] }, "is not step 3 of the lesson"},
	{"a step left out", func(r *Result) { r.Steps = r.Steps[:len(r.Steps)-1] }, "the lesson was not finished"},
	{"another lesson", func(r *Result) { r.Lesson.Hash = strings.Repeat("0", 64) }, "is not the one at hand"},
	{"a take left out", func(r *Result) { r.step("set").Take = nil }, "set:"},
	{"a change while rolling", func(r *Result) {
		r.step("set").Take.Changes = []Change{{0.5, "A.preamp.gain_db", 10.0}}
	}, "set: a take that could not have been recorded"},
	{"the student", func(r *Result) { r.Student = "Somebody else" }, ""},
	{"the words", func(r *Result) { r.step("why").Answers[0] = "Other words, written by somebody else." }, ""},
	{"the clock", func(r *Result) { r.Started = r.Started.Add(-time.Hour) }, ""},
}

func (r *Result) step(id string) *StepProgress {
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
	l := must(LoadBuiltin("gain-and-headroom"))
	honest, _ := playThrough(t, l, must(ModelAnswers(l.ID)), 1)
	if g := gradeOne(t, l, reread(t, honest), nil); !g.OK() || !g.Passed {
		t.Fatalf("an honest result is flagged: %v", g.Flags)
	}
	for _, c := range tamperings {
		t.Run(c.name, func(t *testing.T) {
			r := reread(t, honest)
			c.do(r)
			g := gradeOne(t, l, reread(t, r), nil)
			if g.OK() || !strings.Contains(fmt.Sprint(g.Flags), "the signature does not fit") {
				t.Errorf("not flagged by its signature: %v", g.Flags)
			}
			if err := r.sign(nil); err != nil {
				t.Fatal(err)
			}
			g = gradeOne(t, l, reread(t, r), nil)
			if c.flag == "" {
				if !g.OK() {
					t.Errorf("flagged %v, though nothing can be computed again", g.Flags)
				}
			} else if !strings.Contains(fmt.Sprint(g.Flags), c.flag) {
				t.Errorf("signed again, the flags are %v, want %q", g.Flags, c.flag)
			}
			// Whoever has no key cannot sign again.
			key := []byte("a class's secret")
			g = gradeOne(t, l, reread(t, r), key)
			if !strings.Contains(fmt.Sprint(g.Flags), "not signed with the key") {
				t.Errorf("accepted without the key: %v", g.Flags)
			}
		})
	}
}

func TestKeys(t *testing.T) {
	l := goodLesson(t)
	a := must(ParseAnswers("a", []byte("answers: {guess: a, set: {A.preamp.gain_db: 25}, much: '= A.headroom_db', why: Because.}\n"), l))
	r, err := NewRunner(l, Options{Seed: 1, Bench: sharedBench})
	if err != nil {
		t.Fatal(err)
	}
	if err := Play(context.Background(), r, a, nil); err != nil {
		t.Fatal(err)
	}
	res, err := r.Result([]byte("the class's secret"))
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{"the class's secret": "", "another secret": "does not fit", "": "no key was given"} {
		g := gradeOne(t, l, reread(t, res), []byte(key))
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
	l := must(LoadBuiltin("gain-and-headroom"))
	honest, _ := playThrough(t, l, must(ModelAnswers(l.ID)), 1)
	for d, ok := range map[Number]bool{0.001: true, 0.2: false} {
		r := reread(t, honest)
		r.Platform = "js/wasm"
		r.step("story").Take.Readings["A"]["headroom_db"] += d
		if err := r.sign(nil); err != nil {
			t.Fatal(err)
		}
		if g := gradeOne(t, l, r, nil); g.OK() != ok {
			t.Errorf("%v dB off: %v", d, g.Flags)
		}
		r.Platform = runtime.GOOS + "/" + runtime.GOARCH
		if err := r.sign(nil); err != nil {
			t.Fatal(err)
		}
		if g := gradeOne(t, l, r, nil); g.OK() {
			t.Errorf("%v dB off on the same platform was accepted", d)
		}
	}
}

func TestCopies(t *testing.T) {
	l := must(LoadBuiltin("gain-and-headroom"))
	a, _ := playThrough(t, l, must(ModelAnswers(l.ID)), 1)
	b := reread(t, a)
	b.Student = "Another"
	if err := b.sign(nil); err != nil {
		t.Fatal(err)
	}
	c, _ := playThrough(t, l, must(ModelAnswers(l.ID)), 2)
	g := NewGrader(l)
	g.Bench = sharedBench
	grades, err := g.GradeAll(context.Background(), []string{"a", "b", "c"}, []*Result{a, b, c}, nil)
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
func manyResults(t testing.TB, n int) (*Lesson, []string, []*Result) {
	t.Helper()
	l := must(LoadBuiltin("gain-and-headroom"))
	var paths []string
	var all []*Result
	for i := range n {
		text := fmt.Sprintf("answers: {talk: '= check.A.talk_peak_dbfs', guess: %s, set: {A.preamp.gain_db: %d}, lower: b, why: 'Student %d says that laughs are louder than talk.'}\n", Letter(i%2), 26+i%9, i)
		a, err := ParseAnswers("a", []byte(text), l)
		if err != nil {
			t.Fatal(err)
		}
		r, err := NewRunner(l, Options{Seed: uint64(i), Bench: sharedBench, Student: fmt.Sprintf("student %d", i)})
		if err != nil {
			t.Fatal(err)
		}
		if err := Play(context.Background(), r, a, nil); err != nil {
			t.Fatal(err)
		}
		res, err := r.Result(nil)
		if err != nil {
			t.Fatal(err)
		}
		paths, all = append(paths, fmt.Sprintf("%d.json", i)), append(all, reread(t, res))
	}
	return l, paths, all
}

// BenchmarkGrade1000 grades a thousand results with nothing cached beforehand.
func BenchmarkGrade1000(b *testing.B) {
	l, paths, all := manyResults(b, 1000)
	for b.Loop() {
		g := NewGrader(l)
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
	if _, err := NewGrader(l).GradeAll(ctx, paths, all, nil); err == nil {
		t.Error("graded though it was cancelled")
	}
}

func FuzzResult(f *testing.F) {
	l := must(LoadBuiltin("gain-and-headroom"))
	honest, _ := playThrough(f, l, must(ModelAnswers(l.ID)), 1)
	b := must(honest.Marshal())
	f.Add(b)
	f.Add(bytes.Replace(b, []byte(`"at": 10`), []byte(`"at": -1`), 1))
	f.Add([]byte(`{"gainwright_lesson":1}`))
	f.Add([]byte(`{"gainwright_lesson":1,"steps":[{"id":"welcome","kind":"ask","answers":["a"]}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		res, err := ParseResult(b)
		if err != nil {
			return
		}
		g := NewGrader(l)
		g.Bench = sharedBench
		grade, err := g.Grade(context.Background(), "f", res)
		if err != nil {
			t.Fatal(err)
		}
		// Only the honest file is accepted.
		x, _ := json.Marshal(res)
		y, _ := json.Marshal(honest)
		if grade.OK() && grade.Passed && !bytes.Equal(x, y) {
			// Another honest result may exist only with another signature.
			if res.Signature == honest.Signature {
				t.Fatalf("accepted: %s", b)
			}
		}
		res.Statements(l)
		res.Statements(nil)
	})
}
