package practice

import (
	"context"
	"errors"
	"math"
	"testing"

	"gainwright/lessons/internal/trial"
	"gainwright/lessons/names"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// The user sits down in the guest's place: the talk is as loud as in the recording, the laugh
// lies as far above, the call comes; it is judged as everybody is, told apart, and changes
// no level.
func TestOwnGuest(t *testing.T) {
	ctx := context.Background()
	h := History{Level: 4, Played: []Played{{Number: 8, Level: 4, Score: 60}}}
	p, err := New(5, h, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	stranger := p.Guest()
	if err := p.Lend(trial.Voice(t, "Bo", "joss", own.Laugh)); !errors.Is(err, own.ErrNoOwnLaugh) || p.Guest() != stranger {
		t.Errorf("a voice without a laugh: %v, %+v", err, p.Guest())
	}
	mine := trial.Voice(t, "Ada", "maren")
	if err := p.Lend(mine); err != nil {
		t.Fatal(err)
	}
	g := p.Guest()
	if g.Own != "Ada" || g.DistanceM != stranger.DistanceM || g.RoomDBA != stranger.RoomDBA || g.Number != stranger.Number || g.Condenser != stranger.Condenser {
		t.Errorf("%+v in the place of %+v", g, stranger)
	}
	check, err := p.Speech(ctx, false)
	if err != nil {
		t.Fatal(err)
	}
	a := meter.NewActiveLevel(own.Rate)
	a.Write(check.X)
	if got := a.Level() - 20*math.Log10(sounds.RefPressure); math.Abs(got-own.OrdinaryDBSPL) > 1 {
		t.Errorf("the sound check lies at %.2f dB SPL", got)
	}
	if s := float64(len(check.X)) / own.Rate; s < 12 || s > 35 || len(check.Moves) != 0 {
		t.Errorf("the sound check lasts %.1f s, with %d moves", s, len(check.Moves))
	}
	talk, err := p.Speech(ctx, true)
	if err != nil {
		t.Fatal(err)
	}
	if s := float64(len(talk.X)) / own.Rate; s < 10 || s > 60 {
		t.Errorf("the conversation lasts %.1f s", s)
	}
	kinds := map[string]bool{}
	for _, m := range talk.Marks {
		kinds[m.Kind] = true
	}
	if !kinds["laugh"] || !kinds["shout"] || !kinds["lean"] {
		t.Errorf("what happens: %v", kinds)
	}
	if err := p.Apply("preamp.gain_db", 12.0); err != nil {
		t.Fatal(err)
	}
	m, err := p.Check(ctx)
	if err != nil {
		t.Fatal(err)
	}
	o, err := p.Talk(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if lower := float64(m["headroom_db"] - o.Readings["headroom_db"]); lower < mine.Look.LaughOverTalkDB-1 {
		t.Errorf("the conversation peaks %.1f dB over the check, the laugh lies %.1f dB over the talk", lower, mine.Look.LaughOverTalkDB)
	}
	if o.Level != 4 || o.Score < 0 || o.Score > 100 || math.IsNaN(o.HourGainDB) {
		t.Errorf("%+v", o)
	}
	back := p.History()
	last := back.Played[len(back.Played)-1]
	if last.Own != "Ada" || back.Level != 4 || back.Strangers() != 1 || back.Mean(10) != 60 {
		t.Errorf("%+v, mean %v", last, back.Mean(10))
	}
	if err := p.Lend(nil); !errors.Is(err, ErrTalked) {
		t.Errorf("another guest in a conversation that has happened: %v", err)
	}
	if err := p.Next(); err != nil || p.Guest().Own != "Ada" {
		t.Errorf("next is %+v, %v", p.Guest(), err)
	}
	if err := p.Lend(nil); err != nil || p.Guest().Own != "" {
		t.Errorf("a stranger is %+v, %v", p.Guest(), err)
	}
}

// Live is offline with one's own voice, too: what the conversation's speech reads is what Talk
// reads of it.
func TestOwnGuestLive(t *testing.T) {
	ctx := context.Background()
	p, err := New(2, History{}, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Lend(trial.Voice(t, "Ada", "ilse")); err != nil {
		t.Fatal(err)
	}
	sp, err := p.Speech(ctx, true)
	if err != nil {
		t.Fatal(err)
	}
	got := through(t, p, sp)
	o, err := p.Talk(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range names.Measure(got) {
		if w := o.Readings[k]; w != v && v == v {
			t.Errorf("%s is %v live, %v offline", k, v, w)
		}
	}
}
