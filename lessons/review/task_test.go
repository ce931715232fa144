package review

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
)

// Each built-in lesson has a task for the review, which can be begun and answered without
// the steps before it; what a task is to be set to stands on the bench as there.
func TestTasks(t *testing.T) {
	for _, l := range builtin.All() {
		if len(Tasks(l)) == 0 {
			t.Errorf("%s has no task that can be asked alone", l.ID)
		}
		for _, i := range Tasks(l) {
			x := Task(l, i)
			r, err := run.NewRunner(x, run.Options{Seed: 5, Bench: trial.Bench})
			if err != nil {
				t.Fatalf("%s, step %s: %v", l.ID, l.Steps[i].ID, err)
			}
			v := r.View()
			if v.Of != 1 || v.Step.ID != l.Steps[i].ID || x.Hash == l.Hash {
				t.Errorf("%s: %+v", l.ID, v)
			}
			for _, set := range l.Steps[i].Set {
				if got := r.Setting(set.Key); got == "" {
					t.Errorf("%s, step %s: %s is not set", l.ID, l.Steps[i].ID, set.Key)
				}
			}
			if v.State == run.Answering {
				right := slices.IndexFunc(v.Step.Question.Choices, func(c model.Choice) bool { return c.Right })
				text := ""
				if right >= 0 {
					text = model.Letter(right)
				} else {
					text = v.Step.Question.Accept[0]
				}
				if _, err := r.Answer(text); err != nil || r.Progress().Steps[0].Verdict != run.Right {
					t.Errorf("%s, step %s: %s is %s, %v", l.ID, l.Steps[i].ID, text, r.Progress().Steps[0].Verdict, err)
				}
			}
		}
	}
}

// A lesson's model answer meets its task where it stands alone, too.
func TestTaskIsTheLessons(t *testing.T) {
	l := trial.Lesson(t)
	i := slices.IndexFunc(l.Steps, func(s *model.Step) bool { return s.ID == "set" })
	if !slices.Contains(Tasks(l), i) {
		t.Fatal("its task is none of the review")
	}
	x := Task(l, i)
	a := trial.Must(format.ParseAnswers("a", []byte("answers: {set: {A.preamp.gain_db: 25}}\n"), x))
	r := trial.Must(run.NewRunner(x, run.Options{Seed: 1, Bench: trial.Bench}))
	if err := run.Play(context.Background(), r, a, nil); err != nil {
		t.Fatal(err)
	}
	if res := trial.Must(r.Result(nil)); !res.Passed {
		t.Errorf("%+v", res.Steps[0])
	}
}

var monday = time.Date(2026, 3, 2, 23, 30, 0, 0, time.FixedZone("east", 5*3600))

func in(days int) time.Time { return monday.AddDate(0, 0, days) }

// Right answers on their days space a task out to 1, 2, 4, … days and at most 64; a wrong
// one brings it back to a day; one asked before its day moves nothing. The days are worked
// out by hand, over the end of a month.
func TestSpacing(t *testing.T) {
	s := trial.Must(Read(nil))
	draw := rand.New(rand.NewPCG(1, 1))
	s.Taken("a", monday)
	s.Taken("a", in(3)) // only the first time counts
	day, want := 0, []string{"2026-03-03", "2026-03-05", "2026-03-09", "2026-03-17", "2026-04-02", "2026-05-04", "2026-07-07", "2026-09-09"}
	for i, w := range want {
		x := s.Lessons["a"]
		if x.Due != w {
			t.Fatalf("%d: due on %s, want %s", i, x.Due, w)
		}
		due := trial.Must(time.ParseInLocation(Day, x.Due, monday.Location()))
		if day = int(due.Add(30*time.Hour).Sub(monday.Truncate(24*time.Hour)).Hours() / 24); len(s.Due(due.Add(-time.Hour), draw)) != 0 || len(s.Due(due, draw)) != 1 {
			t.Errorf("%d: day %d: due the evening before, or not on the day", i, day)
		}
		s.Answered("a", "set", true, due.Add(-24*time.Hour)) // early
		if s.Lessons["a"].Due != w {
			t.Errorf("%d: asked early, it moves to %s", i, s.Lessons["a"].Due)
		}
		s.Answered("a", "set", true, due)
	}
	if s.Lessons["a"].Days != 64 || s.Lessons["a"].Right != 16 {
		t.Errorf("%+v", s.Lessons["a"])
	}
	s.Answered("a", "set", false, in(400))
	if x := s.Lessons["a"]; x.Days != 1 || x.Due != in(401).Format(Day) || x.Wrong != 1 {
		t.Errorf("after a wrong answer: %+v", x)
	}
	s.Answered("nowhere", "x", true, monday)
	back := trial.Must(Read(trial.Must(s.Marshal())))
	if *back.Lessons["a"] != *s.Lessons["a"] || len(back.Lessons) != 1 {
		t.Errorf("read again: %+v", back.Lessons["a"])
	}
	for _, bad := range []string{"x", "{}", `{"gainwright_review":2}`, `{"gainwright_review":1,"lessons":{"a":null}}`, `{"gainwright_review":1,"lessons":{"a":{"interval_days":0,"due":"2026-03-03","last":"2026-03-03","right":0,"wrong":0}}}`, `{"gainwright_review":1,"lessons":{}}x`} {
		if got, err := Read([]byte(bad)); err == nil && bad != "{}" {
			t.Errorf("%s is read: %+v", bad, got)
		}
	}
}

// A review has one task of each lesson that is due, the longest overdue first, and not the
// one of last time where there is another.
func TestMixed(t *testing.T) {
	s := trial.Must(Read(nil))
	var ids []string
	for i, l := range builtin.All()[:6] {
		s.Taken(l.ID, in(-i/3)) // two days, three lessons each
		ids = append(ids, l.ID)
	}
	orders := map[string]bool{}
	for seed := range uint64(20) {
		draw := rand.New(rand.NewPCG(seed, 0))
		due := s.Due(in(5), draw)
		if len(due) != 6 {
			t.Fatal(due)
		}
		for i, id := range due {
			if old := slices.Index(ids, id) >= 3; old != (i < 3) {
				t.Fatalf("%v: the longest overdue do not come first", due)
			}
		}
		orders[due[0]+due[3]] = true
	}
	if len(orders) < 4 {
		t.Errorf("20 reviews begin in %d ways", len(orders))
	}
	l := trial.Must(builtin.Load("before-or-after"))
	s.Taken(l.ID, monday)
	draw := rand.New(rand.NewPCG(1, 0))
	for range 50 {
		i, ok := s.Pick(l, draw)
		if was := s.Lessons[l.ID].Asked; !ok || l.Steps[i].ID == was {
			t.Fatalf("%s is asked twice in a row", was)
		}
		s.Answered(l.ID, l.Steps[i].ID, true, monday)
	}
	if next := s.Next(); next != in(0).Format(Day) {
		t.Errorf("the next day is %s", next)
	}
}

// The built-in lessons build on one another without a circle, each on lessons that come
// before it and are there; what leads where is that turned round.
func TestRamp(t *testing.T) {
	ls := builtin.All()
	places := Places(ls)
	links := 0
	for i, l := range ls {
		if len(l.Needs) != len(places[l.ID].Needs) {
			t.Errorf("%s needs %v, of which there are %v", l.ID, l.Needs, places[l.ID].Needs)
		}
		for _, n := range l.Needs {
			links++
			if k := slices.IndexFunc(ls, func(o *model.Lesson) bool { return o.ID == n }); k < 0 || k >= i {
				t.Errorf("%s needs %s, which does not come before it", l.ID, n)
			}
			if !slices.Contains(places[n].LeadsTo, l.ID) {
				t.Errorf("%s does not lead to %s", n, l.ID)
			}
		}
	}
	back := 0
	for _, p := range places {
		back += len(p.LeadsTo)
	}
	if links != back || links < len(ls)-1 {
		t.Errorf("%d needs, %d leads, %d lessons", links, back, len(ls))
	}
	passed := map[string]bool{}
	var order []string
	for {
		id := Next(ls, func(id string) bool { return passed[id] })
		if id == "" {
			break
		}
		passed[id] = true
		order = append(order, id)
	}
	if len(order) != len(ls) || order[0] != ls[0].ID || order[len(order)-1] != "whole-session" {
		t.Errorf("taken in turn: %v", order)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"gainwright_review":1,"lessons":{"a":{"interval_days":4,"due":"2026-03-03","last":"2026-03-01","right":1,"wrong":0}}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := Read(b)
		if err != nil {
			return
		}
		for id := range s.Lessons {
			s.Answered(id, "x", true, monday)
		}
		out, err := s.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Read(out); err != nil {
			t.Fatalf("%q became %q: %v", b, out, err)
		}
	})
}
