package scorm_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/lessons/scorm"
	"gainwright/tests/trust"
)

// played takes a runner through a lesson with its model answers, and calls each after
// every step.
func played(t *testing.T, l *model.Lesson, each func(r *run.Runner)) *run.Runner {
	t.Helper()
	a, err := format.ParseAnswers("a", trial.Must(builtin.ModelAnswers(l.ID)), l)
	if err != nil {
		t.Fatal(err)
	}
	r := trial.Must(run.NewRunner(l, run.Options{Seed: 1, Bench: trial.Bench}))
	if err := run.Play(t.Context(), r, a, func(run.View) { each(r) }); err != nil {
		t.Fatal(err)
	}
	return r
}

// TestSuspendDataFits: the progress of every built-in lesson fits the 4,096 characters,
// whole, at each of its steps, and the lesson goes on from it.
func TestSuspendDataFits(t *testing.T) {
	longest, of := 0, ""
	for _, l := range builtin.All() {
		check := func(r *run.Runner) {
			data, ok := scorm.Pack(r.Progress())
			if !ok || len(data) > 4096 || regexp.MustCompile(`[^\x20-\x7e]`).MatchString(data) {
				t.Fatalf("%s: %d characters, %v", l.ID, len(data), ok)
			}
			if len(data) > longest {
				longest, of = len(data), l.ID
			}
			saved, err := scorm.Unpack(data)
			if err != nil {
				t.Fatal(err)
			}
			again, err := run.Resume(l, saved, run.Options{Bench: trial.Bench})
			if err != nil {
				t.Fatal(err)
			}
			if a, b := r.Progress(), again.Progress(); !reflect.DeepEqual(a, b) && string(trial.Must(json.Marshal(a))) != string(trial.Must(json.Marshal(b))) {
				t.Errorf("%s, step %d: another progress", l.ID, a.At)
			}
		}
		check(played(t, l, check))
	}
	trust.Record(t, trust.Check{
		Area: "learning systems", What: "the longest progress of a built-in lesson (" + of + "), as cmi.suspend_data", Source: "from memory: SCORM 1.2 Run-Time Environment, data type CMIString4096",
		Got: float64(longest), Expected: 4096, Op: "<=", Unit: "characters",
	})
}

// TestSuspendDataOfTalkers: a student who writes 5,000 characters wherever words are asked
// for, on top of the whole session. What cannot be kept is cut at its end; all else
// stays, and the lesson goes on.
func TestSuspendDataOfTalkers(t *testing.T) {
	l := trial.Must(builtin.Load("whole-session"))
	r := played(t, l, func(*run.Runner) {})
	p := r.Progress()
	rnd := rand.New(rand.NewPCG(1, 2))
	at := -1
	for i := range p.Steps {
		if p.Steps[i].Kind == model.Explain {
			var b strings.Builder
			for b.Len() < 4990 {
				fmt.Fprintf(&b, "%x ", rnd.Uint64())
			}
			p.Steps[i].Answers, at = []string{b.String()}, i
		}
	}
	if at < 0 {
		t.Fatal("nothing is explained in it")
	}
	was := p.Steps[at].Answers[0]
	data, ok := scorm.Pack(p)
	if !ok || len(data) > scorm.Most || len(data) < 3000 {
		t.Fatalf("%d characters, %v", len(data), ok)
	}
	if p.Steps[at].Answers[0] != was {
		t.Error("packing has changed the progress itself")
	}
	again, err := run.Resume(l, trial.Must(scorm.Unpack(data)), run.Options{Bench: trial.Bench})
	if err != nil {
		t.Fatal(err)
	}
	got := again.Progress()
	kept, whole := strings.CutSuffix(got.Steps[at].Answers[0], " …")
	if !whole || !strings.HasPrefix(was, kept) || len(kept) < 500 {
		t.Errorf("of the words is kept: %.40q … (%d)", kept, len(kept))
	}
	res, was2 := trial.Must(again.Result(nil)), trial.Must(r.Result(nil))
	if res.Points != was2.Points || res.Passed != was2.Passed {
		t.Errorf("%v points, were %v", res.Points, was2.Points)
	}
	for i := range got.Steps {
		if a, b := got.Steps[i].Take, p.Steps[i].Take; a != nil {
			for strip, m := range b.Readings {
				for k, v := range m {
					if d := float64(a.Readings[strip][k] - v); d > 1e-6 || d < -1e-6 {
						t.Errorf("%s of %s is %v, was %v", k, strip, a.Readings[strip][k], v)
					}
				}
			}
		}
	}
}

func FuzzUnpack(f *testing.F) {
	l := trial.Must(builtin.Load("blind-listening"))
	data, _ := scorm.Pack(trial.Must(run.NewRunner(l, run.Options{Seed: 1, Bench: trial.Bench})).Progress())
	for _, s := range []string{data, "", "1", "2" + data, data[:len(data)/2], "1AAAA", strings.ToUpper(data)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if b, err := scorm.Unpack(s); err == nil {
			run.Resume(l, b, run.Options{Bench: trial.Bench}) // refuses or goes on
		}
	})
}

const quiz = `title: Two questions
for: testers
minutes: 1
pass: 0.7
scenario: captain-laughs
steps:
  - {ask: One?, id: one, points: 3, choices: [{say: "yes", right: true}, {say: "no"}]}
  - {ask: Two?, id: two, points: 2, choices: [{say: "yes", right: true}, {say: "no"}]}
  - {ask: Three?, id: three, points: 4, choices: [{say: "yes", right: true}, {say: "no"}]}
`

// visit plays letters and gives what was set at each step, the first before any.
func visit(t *testing.T, l *model.Lesson, at scorm.Launch, letters string) (r *run.Runner, news []map[string]string) {
	t.Helper()
	now := time.Date(2026, 11, 3, 10, 0, 0, 0, time.UTC)
	s := scorm.NewSession(l, at, func() time.Time { return now })
	o := run.Options{Seed: 1, Bench: trial.Bench}
	var err error
	if saved := s.Saved(); saved != nil {
		r, err = run.Resume(l, saved, o)
	} else {
		r, err = run.NewRunner(l, o)
	}
	if err != nil {
		t.Fatal(err)
	}
	note := func(n scorm.News) {
		m := map[string]string{}
		for _, set := range n.Set {
			m[set[0]] = set[1]
		}
		news = append(news, m)
	}
	stands := func() {
		var res *run.Result
		if r.State() == run.Finished {
			res = trial.Must(r.Result(nil))
		}
		note(s.Stands(r.Progress(), res))
	}
	stands()
	for _, c := range letters {
		now = now.Add(61*time.Minute + 1500*time.Millisecond)
		if _, err := r.Answer(string(c)); err != nil {
			t.Fatal(err)
		}
		if err := r.Next(); err != nil {
			t.Fatal(err)
		}
		stands()
	}
	note(s.End())
	note(s.End())
	return r, news
}

// TestSession: what is set at each step; formats are those of the run-time environment's
// data types, from memory (CMITimespan, CMIDecimal, vocabulary of lesson_status).
func TestSession(t *testing.T) {
	l, err := format.Parse("quiz.yaml", []byte(quiz))
	if err != nil {
		t.Fatal(err)
	}
	_, n := visit(t, l, scorm.Launch{Status: "not attempted", Mode: "normal"}, "a")
	if n[0]["cmi.core.lesson_status"] != "incomplete" || n[0]["cmi.core.exit"] != "suspend" || n[0]["cmi.suspend_data"] == "" {
		t.Errorf("at the start: %v", n[0])
	}
	if n[1]["cmi.core.session_time"] != "0001:01:01.50" || n[1]["cmi.core.score.raw"] != "" {
		t.Errorf("after a step: %v", n[1])
	}
	if n[2]["cmi.core.exit"] != "suspend" || n[2]["cmi.core.session_time"] == "" || len(n[3]) != 0 {
		t.Errorf("at the end: %v, and again: %v", n[2], n[3])
	}
	// On from there.
	r, m := visit(t, l, scorm.Launch{Status: "incomplete", Mode: "normal", Suspend: n[1]["cmi.suspend_data"]}, "ba")
	if r.Progress().Steps[0].Answers[0] != "a" {
		t.Error("the first answer is gone")
	}
	end := m[2]
	if end["cmi.core.score.raw"] != "77.77" || end["cmi.core.score.min"] != "0" || end["cmi.core.score.max"] != "100" || end["cmi.core.lesson_status"] != "passed" {
		t.Errorf("finished: %v", end)
	}
	_, m = visit(t, l, scorm.Launch{Status: "incomplete"}, "bba")
	if end := m[3]; end["cmi.core.score.raw"] != "44.44" || end["cmi.core.lesson_status"] != "failed" {
		t.Errorf("failed: %v", end)
	}
	// Who has passed stays so, with that score.
	_, m = visit(t, l, scorm.Launch{Status: "passed"}, "bbb")
	for _, set := range m {
		if set["cmi.core.lesson_status"] != "" || set["cmi.core.score.raw"] != "" {
			t.Errorf("after passing: %v", set)
		}
	}
	for mode, want := range map[string]string{"browse": "browsed", "review": ""} {
		r, m = visit(t, l, scorm.Launch{Status: "not attempted", Mode: mode}, "aaa")
		if m[0]["cmi.core.lesson_status"] != want || slices.ContainsFunc(m, func(s map[string]string) bool { return s["cmi.suspend_data"]+s["cmi.core.score.raw"] != "" }) {
			t.Errorf("%s sets %v", mode, m)
		}
	}
	// Nothing to judge.
	read, err := format.Parse("read.yaml", []byte("title: To read\nfor: testers\nminutes: 1\nscenario: captain-laughs\nsteps:\n  - {say: Read this., id: one}\n  - {explain: Why?, id: two}\n"))
	if err != nil {
		t.Fatal(err)
	}
	s := scorm.NewSession(read, scorm.Launch{}, time.Now)
	rr := trial.Must(run.NewRunner(read, run.Options{Bench: trial.Bench}))
	rr.Next()
	rr.Answer("because")
	rr.Next()
	n2 := s.Stands(rr.Progress(), trial.Must(rr.Result(nil)))
	if !slices.Contains(n2.Set, [2]string{"cmi.core.lesson_status", "completed"}) || strings.Contains(fmt.Sprint(n2.Set), "score") {
		t.Errorf("nothing to judge: %v", n2.Set)
	}
}

// TestManifest: the mastery score stands only where the points alone decide; that the
// manifest fits the published schema is checked in tests/browser.
func TestManifest(t *testing.T) {
	with := 0
	for _, l := range builtin.All() {
		b, err := scorm.Manifest(l, []string{"index.html", "scene.wasm.gz"})
		if err != nil {
			t.Fatal(err)
		}
		must := slices.ContainsFunc(l.Steps, func(s *model.Step) bool { return s.Must })
		has := bytes.Contains(b, fmt.Appendf(nil, "<adlcp:masteryscore>%v<", 100*l.Pass))
		if has == must {
			t.Errorf("%s: mastery score %v, tasks that must be met %v", l.ID, has, must)
		}
		if has {
			with++
		}
		if !bytes.Contains(b, []byte(`adlcp:scormtype="sco" href="index.html"`)) || !bytes.Contains(b, []byte(`<file href="scene.wasm.gz">`)) {
			t.Errorf("%s", b)
		}
	}
	if with == 0 {
		t.Error("no lesson is judged by its points alone")
	}
}
