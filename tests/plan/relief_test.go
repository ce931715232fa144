//go:build full

package plan_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/voice"
)

// TestRelief compares what the planner takes for the help of a limiter before the
// converter with what events of the talkers get from it.
func TestRelief(t *testing.T) {
	c := sim.Default().WithPlace(sim.LimiterBefore)
	s := plan.Setup{Chain: c, Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(context.Background()); err != nil {
		t.Fatal(err)
	}
	off := s
	off.Chain = sim.Default()
	full := off.CeilingDB(c.Preamp.GainDB)
	for k := plan.Talk; k <= plan.Cough; k++ {
		var got []float64
		for _, tk := range voice.Talkers() {
			for n := range 4 {
				x := perform(t, voice.Script{event(k, 5*n, 0)}, tk.Name, uint64(n+1))
				level, crest := levels(x)
				over := func(db float64) bool {
					g := sim.DB(full - level - crest + db).Lin()
					y := make([]float64, len(x))
					for i := range x {
						y[i] = g * x[i]
					}
					strip, err := sim.NewStrip(voice.Rate, c, 1)
					if err != nil {
						t.Fatal(err)
					}
					r, err := sim.NewReadout(voice.Rate)
					if err != nil {
						t.Fatal(err)
					}
					_, err = sim.Run(context.Background(), &sim.Samples{X: y}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
						r.Write(b)
						return nil
					}})
					if err != nil {
						t.Fatal(err)
					}
					return r.OverCount() > 0
				}
				lo, hi := -1.0, 30.0
				for hi-lo > 0.5 {
					if mid := (lo + hi) / 2; over(mid) {
						hi = mid
					} else {
						lo = mid
					}
				}
				got = append(got, lo)
			}
		}
		slices.Sort(got)
		sum := 0.0
		for _, v := range got {
			sum += v
		}
		mean := sum / float64(len(got))
		t.Logf("%-8s relief from %.1f to %.1f dB, median %.1f, mean %.1f; the planner takes %.1f", k, got[0], got[len(got)-1], got[len(got)/2], mean, s.ReliefDB())
		_ = math.Abs
	}
}
