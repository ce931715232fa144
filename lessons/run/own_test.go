package run

import (
	"context"
	"errors"
	"strings"
	"testing"

	"gainwright/lessons/internal/trial"
	"gainwright/lessons/take"
	"gainwright/sounds/own"
)

// A voice of one's own is chosen where the lesson allows it, until a second of a take has
// sounded; then who talks stays the same, also over saving, and nothing is performed before the
// voice is there again.
func TestOwnVoice(t *testing.T) {
	ctx := context.Background()
	l := trial.Lesson(t, "minutes: 3\n", "minutes: 3\nown_voice: allowed\n",
		`    - {text: "Well!", effort: loud}`, "    - {text: \"Well!\", effort: loud}\n    - {do: laugh}")
	mine := trial.Voice(t, "Ada", "maren")
	made := func() *Runner {
		r, err := NewRunner(l, Options{Seed: 1, Bench: take.NewBench()})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if r, err := NewRunner(trial.Lesson(t), Options{Bench: trial.Bench}); err != nil || r.Lend(mine) == nil || r.MayLend() == "" {
		t.Errorf("lent where it is not allowed, %v", err)
	}
	r := made()
	if err := r.Lend(trial.Voice(t, "Bo", "joss", own.Laugh)); !errors.Is(err, own.ErrNoOwnLaugh) || r.Voice() != nil {
		t.Errorf("a voice that does not laugh: %v", err)
	}
	if err := r.Lend(mine); err != nil {
		t.Fatal(err)
	}
	if text := r.View().Text; !strings.Contains(text, "Your own voice") {
		t.Errorf("%q names somebody else", text)
	}
	if err := r.Lend(nil); err != nil || r.Voice() != nil || strings.Contains(r.View().Text, "Your own voice") {
		t.Errorf("the talker does not come back: %v", err)
	}
	if err := r.Lend(mine); err != nil {
		t.Fatal(err)
	}
	next(t, r)
	if _, err := r.Answer("b"); err != nil {
		t.Fatal(err)
	}
	next(t, r)
	if r.Heard(.5); r.MayLend() != "" {
		t.Error("half a second counts")
	}
	r.Heard(1.5)
	for _, g := range []*own.Guest{nil, trial.Voice(t, "Ada", "joss")} {
		if err := r.Lend(g); err == nil || r.Voice().Sum != mine.Sum {
			t.Errorf("changed after a take has sounded: %v", err)
		}
	}
	saved, err := r.Save()
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	marks, err := r.Marks()
	sp, err2 := r.Speech(ctx)
	if err != nil || err2 != nil || len(marks) != 3 || marks[0].Kind != "shout" || marks[2].Kind != "laugh" || len(sp.Marks) != 3 {
		t.Errorf("marks %+v, %v, %v", marks, err, err2)
	}
	want := r.View().Take["A"]

	back, err := Resume(l, saved, Options{Bench: take.NewBench()})
	if err != nil {
		t.Fatal(err)
	}
	if back.Lacks() != "Ada" {
		t.Errorf("it lacks %q", back.Lacks())
	}
	if err := back.Record(ctx, nil); !errors.Is(err, take.ErrNoVoice) {
		t.Errorf("recorded without the voice: %v", err)
	}
	if _, err := back.Speech(ctx); !errors.Is(err, take.ErrNoVoice) {
		t.Errorf("spoken without the voice: %v", err)
	}
	if err := back.Lend(trial.Voice(t, "Ada", "maren")); err != nil || back.Lacks() != "" {
		t.Fatal(err)
	}
	if err := back.Record(ctx, nil); err != nil {
		t.Fatal(err)
	}
	for k, v := range want {
		if got := back.View().Take["A"][k]; got != v && v == v {
			t.Errorf("%s is %v, before it was saved %v", k, got, v)
		}
	}
	shut := *l
	shut.OwnVoice = false
	if _, err := Resume(&shut, saved, Options{}); err == nil {
		t.Error("goes on with a voice where none is allowed")
	}
}
