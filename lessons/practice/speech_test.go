package practice

import (
	"context"
	"math"
	"testing"

	"gainwright/lessons/names"
	"gainwright/lessons/take"
	"gainwright/sim"
	"gainwright/sounds/voice"
)

// TestSpeech: what a live bench performs, run through the strip that stands there,
// reads what Record reads.
func TestSpeech(t *testing.T) {
	ctx := context.Background()
	for seed := uint64(1); seed <= 3; seed++ {
		p, err := New(seed, History{Level: 5}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Apply("preamp.gain_db", 30.0); err != nil {
			t.Fatal(err)
		}
		for _, talk := range []bool{false, true} {
			sp, err := p.Speech(ctx, talk)
			if err != nil {
				t.Fatal(err)
			}
			var want names.Measured
			if talk {
				o, err := p.Talk(ctx)
				if err != nil {
					t.Fatal(err)
				}
				want = o.Readings
			} else if want, err = p.Check(ctx); err != nil {
				t.Fatal(err)
			}
			got := through(t, p, sp)
			if float64(got.HeadroomDB) != float64(want["headroom_db"]) || math.Abs(float64(got.Overs)-float64(want["overs"])) > 0 {
				t.Errorf("seed %d, talk %v: %v dB of headroom and %d overs, Record has %v and %v", seed, talk, got.HeadroomDB, got.Overs, want["headroom_db"], want["overs"])
			}
		}
	}
}

// through runs a speech through the strip that stands there, as a live bench does.
func through(t *testing.T, p *Practice, sp *take.Speech) sim.Readings {
	t.Helper()
	chain := p.Bench().Strips[0].Chain
	strip, err := sim.NewStrip(voice.Rate, chain, sp.Seed)
	if err != nil {
		t.Fatal(err)
	}
	ro, err := sim.NewReadout(voice.Rate)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sim.Run(context.Background(), &sim.Samples{X: sp.X}, []*sim.Strip{strip}, sim.RunOptions{Moves: sp.Moves,
		Sink: func(_ int, x *sim.Taps) error { ro.Write(x); return nil }}); err != nil {
		t.Fatal(err)
	}
	ro.Settings(chain)
	return ro.Readings()
}
