package sim_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"gainwright/sim"
)

// Settings that change at given frames give the same samples and the same readings,
// to the last bit, whatever blocks the take is run in, and whoever sets them: an
// Apply from outside or a Turn by the goroutine that processes.
func TestTurnsInAnyBlocks(t *testing.T) {
	const rate, step = 48000, 480
	x := speech(3*rate, 5)
	// A limiter that was switched out begins anew; the line-up moves the threshold
	// of the input limiter.
	turns := map[int]func(c *sim.Chain){
		20:  func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterAfter) },
		40:  func(c *sim.Chain) { c.Preamp.GainDB += 9 },
		41:  func(c *sim.Chain) { c.DistanceM = 0.05 },
		60:  func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterOff) },
		61:  func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterAfter) },
		90:  func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterOff) },
		93:  func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterAfter); c.Limiter.LookAheadMS = 2 },
		130: func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterBefore) },
		140: func(c *sim.Chain) { c.Converter.FullScaleDBu -= 6 },
		200: func(c *sim.Chain) { *c = c.WithPlace(sim.LimiterOff) },
		220: func(c *sim.Chain) { c.DistanceM = 0.2; c.Room.NoiseDBA = 45 },
	}
	run := func(cut func(left int) int, turn bool) ([]float64, sim.Readings, [sim.NumStations]sim.StationLevel) {
		c := sim.Default()
		c.Preamp.GainDB, c.Limiter.LookAheadMS = 44, 1
		c.Converter.DualRangeDB = 0
		s, err := sim.NewStrip(rate, c, 3)
		if err != nil {
			t.Fatal(err)
		}
		ro, err := sim.NewReadout(rate)
		if err != nil {
			t.Fatal(err)
		}
		taps := sim.NewTaps(4096)
		var file []float64
		for at := 0; at < len(x); {
			if f := turns[at/step]; at%step == 0 && f != nil {
				f(&c)
				if turn {
					s.Turn(&c)
				} else if err := s.Apply(c); err != nil {
					t.Fatal(err)
				}
			}
			n := min(cut(step-at%step), step-at%step, len(x)-at)
			s.Process(x[at:at+n], taps)
			ro.Write(taps)
			file = append(file, taps.Wave[sim.AtFile]...)
			at += n
		}
		ro.Settings(c)
		return file, ro.Readings(), ro.Levels()
	}
	want, wantR, wantL := run(func(left int) int { return left }, false)
	if wantR.LimiterReductionMaxDB < 3 {
		t.Fatalf("the limiters have nothing to do: %v dB", wantR.LimiterReductionMaxDB)
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for what, cut := range map[string]func(int) int{
		"steps": func(left int) int { return left }, "samples": func(int) int { return 1 }, "7": func(int) int { return 7 },
		"128": func(int) int { return 128 }, "chance": func(left int) int { return 1 + rnd.IntN(left) },
	} {
		got, gotR, gotL := run(cut, true)
		for i := range want {
			if got[i] != want[i] {
				t.Errorf("blocks of %s: sample %d is %g, not %g", what, i, got[i], want[i])
				break
			}
		}
		if !reflect.DeepEqual(gotR, wantR) {
			t.Errorf("blocks of %s read\n%+v, want\n%+v", what, gotR, wantR)
		}
		if gotL != wantL {
			t.Errorf("blocks of %s: levels\n%v, want\n%v", what, gotL, wantL)
		}
	}
}

// Turning settings costs the block path no memory.
func TestTurnAllocatesNothing(t *testing.T) {
	c := sim.Default()
	s, err := sim.NewStrip(48000, c, 1)
	if err != nil {
		t.Fatal(err)
	}
	x, taps := make([]float64, 480), sim.NewTaps(480)
	if n := testing.AllocsPerRun(50, func() {
		c.Preamp.GainDB++
		s.Turn(&c)
		s.Process(x, taps)
	}); n != 0 {
		t.Errorf("%v allocations a turn", n)
	}
}
