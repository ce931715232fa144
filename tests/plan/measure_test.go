//go:build full

package plan_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/voice"
)

// TestMeasureTalkers measures what plan.Default states about single events on all
// talkers, prints the table from which its values are taken, and holds the two
// together.
func TestMeasureTalkers(t *testing.T) {
	const per = 60 // of each kind, of each talker
	for i, k := range []plan.Kind{plan.Talk, plan.OpenLaugh, plan.Outburst, plan.Cough} {
		var level, crest, means, within, lmeans, lvar, pvar []float64
		for _, tk := range voice.Talkers() {
			var l, c []float64
			for n := range per {
				a, b := levels(perform(t, voice.Script{event(k, 7*n, 0)}, tk.Name, uint64(1000+n)))
				l, c = append(l, a), append(c, b)
			}
			lm, ls := stat.MeanStdDev(l, nil)
			cm, cs := stat.MeanStdDev(c, nil)
			peak := make([]float64, per)
			for i := range peak {
				peak[i] = l[i] + c[i]
			}
			ps := stat.StdDev(peak, nil)
			lvar, pvar = append(lvar, ls*ls), append(pvar, ps*ps)
			t.Logf("%-8s %-6s level %6.2f sd %.2f   crest %5.2f sd %.2f   peak sd %.2f", k, tk.Name, lm, ls, cm, cs, ps)
			level, crest = append(level, l...), append(crest, c...)
			means, within, lmeans = append(means, cm), append(within, cs*cs), append(lmeans, lm)
		}
		lm, ls := stat.MeanStdDev(level, nil)
		cm, cs := stat.MeanStdDev(crest, nil)
		m := plan.Default()
		stated := []plan.Crest{m.TalkCrest, m.LaughCrest, m.BurstCrest, m.CoughCrest}[i]
		slices.Sort(crest)
		// A louder event has a lower crest: what the peak adds to the level's own spread,
		// within one talker, and between them.
		added := stat.Mean(pvar, nil) - stat.Mean(lvar, nil)
		between := stat.StdDev(means, nil)
		t.Logf("%-8s all    one talker's level sd %.2f, peak sd %.2f; the peak adds sd %.2f, with talkers' own crests %.2f", k,
			math.Sqrt(stat.Mean(lvar, nil)), math.Sqrt(stat.Mean(pvar, nil)), math.Sqrt(max(added, 0)), math.Sqrt(max(added+between*between, 0)))
		if sd := math.Sqrt(max(added+between*between, 0)); math.Abs(cm-stated.MeanDB) > 0.6 || math.Abs(sd-stated.SDDB) > 0.5 {
			t.Errorf("%s: crest %.1f dB, sd %.1f; plan.Default states %.1f and %.1f: the talkers have changed, and it has to follow", k, cm, sd, stated.MeanDB, stated.SDDB)
		}
		t.Logf("%-8s all    level %6.2f (%+.2f over talk) sd %.2f (between talkers %.2f)   crest %5.2f sd %.2f (within one talker %.2f, between %.2f)  skew %.2f  1 %% %.2f, 99 %% %.2f",
			k, lm, lm-voice.Normal.SPL(), ls, stat.StdDev(lmeans, nil), cm, cs, math.Sqrt(stat.Mean(within, nil)), stat.StdDev(means, nil), stat.Skew(crest, nil),
			stat.Quantile(0.01, stat.Empirical, crest, nil), stat.Quantile(0.99, stat.Empirical, crest, nil))
	}
	// What a meter shows while one talks: the reading of the engine, whose file is
	// quieter than its full scale by as much as the gain says.
	var read []float64
	for _, tk := range voice.Talkers() {
		var s voice.Script
		for _, text := range voice.Ordinary()[:25] {
			s = append(s, voice.Event{Text: text, Effort: voice.Normal})
		}
		c := sim.Default()
		c.Room.NoiseDBA = -100
		strip, err := sim.NewStrip(voice.Rate, c, 1)
		if err != nil {
			t.Fatal(err)
		}
		r, err := sim.NewReadout(voice.Rate)
		if err != nil {
			t.Fatal(err)
		}
		_, err = sim.Run(context.Background(), &sim.Samples{X: perform(t, s, tk.Name, 5)}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
			r.Write(b)
			return nil
		}})
		if err != nil {
			t.Fatal(err)
		}
		setup := plan.Setup{Chain: c, Model: plan.Default(), Limits: plan.DefaultLimits()}
		full := setup.CeilingDB(c.Preamp.GainDB) // dB SPL at 1 m that just fills the converter
		read = append(read, float64(r.Readings().TalkPeakDBFS)+full-voice.Normal.SPL())
		t.Logf("talk     %-6s a second's peak reads %.2f dB over the level", tk.Name, read[len(read)-1])
	}
	m, sd := stat.MeanStdDev(read, nil)
	if d := m - plan.Default().TalkMeterDB; math.Abs(d) > 0.6 {
		t.Errorf("a second's peak lies %.1f dB over the level; plan.Default states %.1f: the talkers have changed, and it has to follow", m, plan.Default().TalkMeterDB)
	}
	t.Logf("talk     all    a second's peak reads %.2f dB over the level, sd %.2f", m, sd)
}
