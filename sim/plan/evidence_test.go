package plan_test

import (
	"fmt"
	"math"
	"testing"

	"gainwright/sim/plan"
	"gainwright/tests/trust"
)

// TestUpdating: conjugate updating by its closed forms, written out anew.
func TestUpdating(t *testing.T) {
	m := plan.Default()
	c := plan.Conversation{Model: m, DistanceM: 0.1}
	exact := func(what string, want, got float64) {
		t.Helper()
		trust.Record(t, trust.Check{Area: "planning", What: what, Source: "conjugate updating, closed form", Expected: want, Got: got, Tolerance: 1e-9, Unit: "dB"})
	}
	peak := func(over float64) float64 { return 60 + over + m.LaughCrest.MeanDB - m.LaughAwayDB } // of a laugh, talk at 60
	for _, n := range []int{1, 3, 10} {
		for _, over := range []float64{4, 8, 11, 14, 18} {
			g := c.Learn(plan.Heard{Utterances: 1_000_000, LevelDB: 60, Laughs: n, LaughPeakDB: peak(over)})
			w := 1 / (1/(3.5*3.5) + float64(n)/16)
			exact(fmt.Sprintf("open laugh of a guest after %d laughs of %+g dB", n, over), 11+w*float64(n)/16*(over-11), g.LaughDB)
			exact(fmt.Sprintf("how well it is known after %d laughs", n), math.Sqrt(w), g.LaughSDDB)
		}
	}
	for n, want := range map[int]float64{1: 2.6, 3: 1.9, 10: 1.2} {
		g := c.Learn(plan.Heard{Utterances: 8, LevelDB: 60, Laughs: n, LaughPeakDB: peak(11)})
		trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("spread of a guest's open laugh after %d laughs", n), Source: independent, Expected: want, Got: g.LaughSDDB, Tolerance: 0.06, Unit: "dB"})
	}
	g := c.Learn(plan.Heard{Utterances: 9, LevelDB: 66, Asked: 1, AskedPeakDB: peak(11 + 6)})
	w := 1 / (1/(4.2*4.2) + 9/(2.9*2.9))
	exact("talk after nine utterances 6 dB over the expected", 60+6*w*9/(2.9*2.9), g.TalkDB)
	exact("how well talk is known after nine utterances", math.Sqrt(w), g.TalkSDDB)
	exact("the session around it", 2, g.SessionSDDB)
	w = 1 / (1/(3.5*3.5) + 1/(5.7*5.7))
	exact("open laugh after one on request", 11+w/(5.7*5.7)*0, g.LaughDB) // 17 over 60 is 11 over the 66 that were heard
	exact("how well it is known after one on request", math.Sqrt(w), g.LaughSDDB)
	// Laughs an hour: Gamma(2, 4 min) for the ordinary guest, then one more laugh each and
	// the time that was listened to.
	g = c.Learn(plan.Heard{Minutes: 10, Counted: 12})
	if g.RateShape != 14 || math.Abs(g.RateHours*60-14) > 1e-9 {
		t.Errorf("rate: shape %v, %v min", g.RateShape, g.RateHours*60)
	}
	if g.How != plan.ByMeter || g.TalkDB != 60 {
		t.Errorf("nobody heard talk, and it is %+v", g)
	}
	// In a take the session itself is heard: no spread around the check is left.
	a := c.Learn(plan.Heard{Utterances: 9, LevelDB: 60})
	c.Guest = a
	b := c.LearnInTake(plan.Heard{Utterances: 1000, LevelDB: 63})
	if b.SessionSDDB != 0 || b.TalkSDDB > 0.1 || math.Abs(b.TalkDB-63) > 0.01 {
		t.Errorf("heard in a take: %+v", b)
	}
	// Evidence in two parts is evidence in one.
	c.Guest = plan.Guest{}
	one := c.Learn(plan.Heard{Utterances: 10, LevelDB: 63, Laughs: 2, LaughPeakDB: peak(16)})
	c.Guest = c.Learn(plan.Heard{Utterances: 4, LevelDB: 63, Laughs: 1, LaughPeakDB: peak(16)})
	two := c.Learn(plan.Heard{Utterances: 6, LevelDB: 63, Laughs: 1, LaughPeakDB: peak(16)})
	for _, d := range []float64{one.TalkDB - two.TalkDB, one.TalkSDDB - two.TalkSDDB, one.LaughDB - two.LaughDB, one.LaughSDDB - two.LaughSDDB} {
		if math.Abs(d) > 1e-9 {
			t.Errorf("at once %+v, in two parts %+v", one, two)
		}
	}
}

// TestNeedWithEvidence: what 5 % of hours need over the peak of a typical second, as an
// independent model found it.
func TestNeedWithEvidence(t *testing.T) {
	s := plain(t, "ordinary")
	s.Model.BurstPerHour, s.Model.CoughPerHour = 0, 0
	c := plan.Conversation{Model: s.Model, DistanceM: s.Chain.DistanceM}
	laughs := func(n int, over float64) plan.Guest {
		m := &c.Model
		return c.Learn(plan.Heard{Utterances: 1, LevelDB: m.TalkLevelDB, Laughs: n, LaughPeakDB: m.TalkLevelDB + over + m.LaughCrest.MeanDB})
	}
	need := func(g plan.Guest, sd float64) float64 {
		g.How, g.TalkDB, g.TalkSDDB, g.SessionSDDB = plan.ByCheck, c.TalkLevelDB, 0, sd
		q := c
		q.Guest = g
		return run(t, q, 10_000).Quantile(0.95) - c.TalkLevelDB - c.TalkMeterDB
	}
	hold := func(what string, want, got float64) {
		trust.Record(t, trust.Check{Area: "planning", What: "what 5 % of hours need over a typical second, " + what, Source: independent, Expected: want, Got: got, Tolerance: 1, Unit: "dB"})
	}
	prior := c.Model.Prior()
	hold("guest unknown", 29.3, need(prior, 4.5))
	hold("talk heard", 27.0, need(prior, 2))
	for over, want := range map[float64]float64{4: 23.2, 8: 24.6, 11: 26.0, 14: 27.4, 18: 29.0} {
		hold(fmt.Sprintf("one laugh of %+g dB heard", over), want, need(laughs(1, over), 2))
	}
	hold("three laughs of +11 dB heard", 25.0, need(laughs(3, 11), 1.5))
}
