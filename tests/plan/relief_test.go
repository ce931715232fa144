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
// converter with what events of the talkers get from it, kind by kind. The planner's
// figure is that of one burst, and must be typical: half of the talkers' events get as
// much, within a step of the search.
func TestRelief(t *testing.T) {
	ctx := context.Background()
	plain := plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	plain.Chain.Preamp.RailDBu = 60 // so that it does not come between
	if err := plain.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	full := plain.CeilingDB(plain.Chain.Preamp.GainDB)
	for _, attack := range []float64{2, 0.5, 0.1} {
		s := plain
		s.Chain.InputLimiter.On, s.Chain.InputLimiter.AttackMS = true, attack
		if err := s.Prepare(ctx); err != nil {
			t.Fatal(err)
		}
		for _, k := range []plan.Kind{plan.OpenLaugh, plan.Outburst, plan.Cough} {
			var got []float64
			for i, tk := range voice.Talkers() {
				x := perform(t, voice.Script{event(k, i, 0)}, tk.Name, uint64(i+1))
				level, crest := levels(x)
				over := func(db float64) bool {
					g := sim.DB(full - level - crest + db).Lin()
					y := make([]float64, len(x))
					for i := range x {
						y[i] = g * x[i]
					}
					strip, err := sim.NewStrip(voice.Rate, s.Chain, 1)
					if err != nil {
						t.Fatal(err)
					}
					hit := false
					_, err = sim.Run(ctx, &sim.Samples{X: y}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
						for _, d := range b.Demand {
							hit = hit || math.Abs(d) > b.Ceiling
						}
						return nil
					}})
					if err != nil {
						t.Fatal(err)
					}
					return hit
				}
				db := 0.0
				for step := 0.5; db < 25 && !over(db+step); db += step {
					if db >= 4 {
						step = 2
					}
				}
				got = append(got, db)
			}
			slices.Sort(got)
			t.Logf("attack %g ms: %-8s gets %v dB; the planner takes %.2f", attack, k, got, s.Relief(k))
			if s.Relief(k) > got[3]+2 {
				t.Errorf("attack %g ms: the planner takes %.2f dB, half of the %ss get less than %.1f", attack, s.Relief(k), k, got[3])
			}
		}
	}
}
