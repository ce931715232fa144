package take_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"testing"

	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/take"
	"gainwright/sim"
	"gainwright/sounds/scenario"
)

// The bench records what the engine records: one engine.
func TestBenchIsTheEngine(t *testing.T) {
	s := trial.Must(scenario.LoadBuiltin("lean-in"))
	perf, err := s.Open(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	strips, err := s.NewStrips(perf.Rate)
	if err != nil {
		t.Fatal(err)
	}
	var ro []*sim.Readout
	for i := range strips {
		x, err := sim.NewReadout(perf.Rate)
		if err != nil {
			t.Fatal(err)
		}
		x.Settings(s.Strips[i].Chain)
		ro = append(ro, x)
	}
	if _, err := sim.Run(context.Background(), perf, strips, sim.RunOptions{Moves: perf.Moves, Sink: func(i int, t *sim.Taps) error { ro[i].Write(t); return nil }}); err != nil {
		t.Fatal(err)
	}
	b := take.NewBench()
	p := &take.Performed{Talker: s.Source.Talker, Script: s.Source.Script, Seed: s.Seed, Strips: s.Strips}
	got, err := b.Record(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, st := range s.Strips {
		want := names.Measure(ro[i].Readings())
		a, _ := json.Marshal(want)
		g, _ := json.Marshal(got[st.Name])
		if string(a) != string(g) {
			t.Errorf("strip %s: the engine gives\n%s\nthe bench\n%s", st.Name, a, g)
		}
	}
	if _, err := b.Record(context.Background(), p, nil); err != nil || b.Runs() != 2 {
		t.Errorf("%v; a repeated take ran again: %d runs", err, b.Runs())
	}
}

// A gain turned while the take rolls is heard from then on, moves included.
func TestChangesWhileRolling(t *testing.T) {
	s := trial.Must(scenario.LoadBuiltin("lean-in"))
	s.Strips[0].Chain.Preamp.GainDB = 20 // nothing is clipped, with or without
	p := &take.Performed{Talker: s.Source.Talker, Script: s.Source.Script, Seed: s.Seed, Strips: s.Strips[:1]}
	b := trial.Bench
	plain, err := b.Listen(context.Background(), p, "A")
	if err != nil {
		t.Fatal(err)
	}
	q := *p
	q.Changes = []model.Change{{AtS: 2, Key: "A.preamp.gain_db", Value: s.Strips[0].Chain.Preamp.GainDB - 12}, {AtS: 2, Key: "B.preamp.gain_db", Value: 0.0}}
	q.Strips = s.Strips
	ridden, err := b.Listen(context.Background(), &q, "A")
	if err != nil {
		t.Fatal(err)
	}
	if ridden.Measured["gain_db"] != names.Number(s.Strips[0].Chain.Preamp.GainDB-12) {
		t.Errorf("ended at %v dB", ridden.Measured["gain_db"])
	}
	energy := func(x []float32) float64 {
		e := 0.0
		for _, v := range x {
			e += float64(v) * float64(v)
		}
		return e
	}
	n := 2 * 48000
	if d := 10 * math.Log10(energy(ridden.File[:n])/energy(plain.File[:n])); math.Abs(d) > 0.1 {
		t.Errorf("before the change the levels differ by %v dB", d)
	}
	n += 4800 // the change is a ramp
	if d := 10 * math.Log10(energy(ridden.File[n:])/energy(plain.File[n:])); math.Abs(d+12) > 0.1 {
		t.Errorf("after the change, by 12 dB, the levels differ by %v dB", d)
	}
	if d := float64(ridden.Measured["headroom_db"] - plain.Measured["headroom_db"]); math.Abs(d-12) > 0.5 {
		t.Errorf("headroom rose by %v dB", d)
	}
}

func TestRecordIsCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	b := take.NewBench()
	s := trial.Must(scenario.LoadBuiltin("lean-in"))
	p := &take.Performed{Talker: s.Source.Talker, Script: s.Source.Script, Seed: 99, Strips: s.Strips}
	if _, err := b.Record(ctx, p, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	// And can be done afterwards: nothing half made was kept.
	if _, err := b.Record(context.Background(), p, nil); err != nil {
		t.Error(err)
	}
}

// A picture shows the take that counts: the levels that the engine reads, and around the
// loudest moment the very samples that the file holds there.
func TestStillIsTheTake(t *testing.T) {
	s := trial.Must(scenario.LoadBuiltin("captain-laughs"))
	b := take.NewBench()
	p := &take.Performed{Talker: s.Source.Talker, Script: s.Source.Script, Seed: s.Seed, Strips: s.Strips}
	m := trial.Must(b.Record(context.Background(), p, nil))
	for _, st := range s.Strips {
		x := trial.Must(b.Still(context.Background(), p, st.Name))
		w := trial.Must(b.Listen(context.Background(), p, st.Name))
		n := take.StillMS * x.Rate / 1000
		if len(x.True) != n || len(x.File) != n || !x.Take || x.Chain != st.Chain {
			t.Fatalf("strip %s: %d samples of %d", st.Name, len(x.True), n)
		}
		at := int(math.Round(x.AtS * float64(x.Rate)))
		loudest, file := 0.0, 0.0
		for i := range x.True {
			loudest = max(loudest, math.Abs(x.True[i]))
			if k := at + i; k >= 0 && k < len(w.File) && float32(x.File[i]) != w.File[k] {
				t.Fatalf("strip %s: sample %d is %v, in the file %v", st.Name, i, x.File[i], w.File[k])
			}
		}
		for _, v := range w.File {
			file = max(file, math.Abs(float64(v)))
		}
		if loudest != x.Loudest || loudest == 0 {
			t.Errorf("strip %s: %v at most in the moment, %v in the take", st.Name, loudest, x.Loudest)
		}
		over := 0
		for _, d := range x.Demand {
			if math.Abs(d) > x.Ceiling {
				over++
			}
		}
		if got := m[st.Name]["overs"] > 0; got != (over > 0) {
			t.Errorf("strip %s: %d samples over in the moment, %v overs in the take", st.Name, over, m[st.Name]["overs"])
		}
		if got := x.Levels[sim.AtFile].Peak; math.Abs(got-file) > 1e-6 && over > 0 {
			t.Errorf("strip %s: the file's peak is %v, in the file %v", st.Name, got, file)
		}
	}
	if _, err := b.Still(context.Background(), p, "Z"); err == nil {
		t.Error("a picture of no strip")
	}
}
