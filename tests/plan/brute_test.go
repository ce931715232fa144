//go:build full

package plan_test

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/voice"
	"gainwright/tests/trust"
)

// kinds are those of which the voice has a way of its own; all laughs have one.
var kinds = []plan.Kind{plan.Talk, plan.OpenLaugh, plan.Outburst, plan.Cough}

// voiced is the one of kinds that speaks for k.
func voiced(k plan.Kind) plan.Kind {
	if k.Laughs() {
		return plan.OpenLaugh
	}
	return k
}

// own is what events of one kind by one talker have by themselves, when they are asked
// for at no other level: the mean of their level at 1 m and the spread that the words
// and the voice make.
type own struct{ level, sd float64 }

// measureOwn finds it for every talker.
func measureOwn(t *testing.T, per int) map[string]map[plan.Kind]own {
	out := map[string]map[plan.Kind]own{}
	for _, tk := range voice.Talkers() {
		o := map[plan.Kind]own{}
		for _, k := range kinds {
			var l []float64
			for n := range per {
				a, _ := levels(perform(t, voice.Script{event(k, n, 0)}, tk.Name, uint64(7000+n)))
				l = append(l, a)
			}
			mean, sd := stat.MeanStdDev(l, nil)
			o[k] = own{mean, sd}
		}
		out[tk.Name] = o
	}
	return out
}

// ask turns an event of the plan into the level, over its ordinary one, that the voice
// is asked for. The voice adds a spread of its own, so that of the plan is asked for
// only as far as both together make it.
func ask(m plan.Model, s *plan.Session, e plan.Event, o own) float64 {
	mean, sd := s.LevelDB, m.UtteranceSD
	rise := m.RiseDB * e.AtS / (60 * m.Minutes)
	switch e.Kind {
	case plan.Talk:
		mean += rise
	case plan.UnvoicedLaugh, plan.SocialLaugh, plan.OpenLaugh:
		mean += rise*m.LaughRiseShare - m.LaughAwayDB
		c := map[plan.Kind]plan.LaughClass{plan.UnvoicedLaugh: m.Unvoiced, plan.SocialLaugh: m.Social, plan.OpenLaugh: {LevelDB: s.OpenLaughDB, SDDB: m.Open.SDDB}}[e.Kind]
		mean, sd = mean+c.LevelDB, c.SDDB
	case plan.Outburst:
		mean, sd = mean+m.BurstDB, m.BurstSDDB
	case plan.Cough:
		mean, sd = mean+m.CoughDB, m.CoughSDDB
	}
	keep := math.Sqrt(max(0, 1-o.sd*o.sd/(sd*sd)))
	return mean + keep*(e.LevelDB-mean) - o.level
}

// topCrest is more than any event's peak was ever seen to lie over the level it was
// asked for: the crest and the voice's own spread of level together. The test holds
// it against everything that it renders.
func topCrest(k plan.Kind) float64 {
	if k == plan.Talk {
		return 21
	}
	return 24
}

// bruteSession is one session as it was synthesised and recorded.
type bruteSession struct {
	top, held      float64 // of the session and of the minute before it, dB SPL re 1 m
	rendered, left int
	margin         float64 // by how much topCrest was more than what was seen, at least
}

// bruteForce is what all sessions share.
type bruteForce struct {
	setup plan.Setup
	owns  map[string]map[plan.Kind]own
	full  float64
}

// record renders events from the loudest asked-for down, until no event that is left
// can pass the highest peak so far even with topCrest; what is left out therefore
// cannot matter. The rendered ones are recorded in one pass, at the distance each has,
// with silence between them, and the converter's demand tells the peak.
func (b *bruteForce) record(t *testing.T, s *plan.Session, es []plan.Event, level float64, talker string, n int, seed uint64, out *bruteSession) float64 {
	type want struct {
		plan.Event
		ask, at float64 // dB over the ordinary level; level then, at the distance it has
	}
	at := *s
	at.LevelDB = level
	var ws []want
	for _, e := range es {
		o := b.owns[talker][voiced(e.Kind)]
		a := ask(b.setup.Model, &at, e, o)
		ws = append(ws, want{e, a, o.level + a + e.NearDB})
	}
	slices.SortFunc(ws, func(a, b want) int { return cmp.Compare(b.at+topCrest(b.Kind), a.at+topCrest(a.Kind)) })
	var x []float64
	var moves []sim.Move
	peak, done := math.Inf(-1), len(ws)
	for i, w := range ws {
		if w.at+topCrest(w.Kind) < peak {
			done = i
			break
		}
		y := perform(t, voice.Script{event(w.Kind, n*31+i, w.ask)}, talker, seed+uint64(i))
		a, c := levels(y)
		out.margin = min(out.margin, w.at+topCrest(w.Kind)-(a+c+w.NearDB))
		peak = max(peak, a+c+w.NearDB)
		moves = append(moves, sim.Move{AtS: float64(len(x)) / voice.Rate, DistanceM: b.setup.Chain.DistanceM * math.Pow(10, -w.NearDB/20)})
		// Silence first, for the move to be over.
		x = append(append(x, make([]float64, voice.Rate/10)...), y...)
	}
	out.rendered, out.left = out.rendered+done, out.left+len(ws)-done
	strip, err := sim.NewStrip(voice.Rate, b.setup.Chain, uint64(n))
	if err != nil {
		t.Error(err)
		return math.NaN()
	}
	demand := 0.0
	_, err = sim.Run(context.Background(), &sim.Samples{X: x}, []*sim.Strip{strip}, sim.RunOptions{Moves: moves, Sink: func(_ int, b *sim.Taps) error {
		for _, d := range b.Demand {
			demand = max(demand, d, -d)
		}
		return nil
	}})
	if err != nil {
		t.Error(err)
	}
	got := b.full + 20*math.Log10(demand)
	if d := got - peak; math.Abs(d) > 0.3 {
		t.Errorf("session %d: the engine has %.2f dB, the samples %.2f", n, got, peak)
	}
	return got
}

// TestAgainstBruteForce synthesises 400 sessions of the plan's own lists of events and
// the minute of talk before each, records them through the engine, and compares the
// distribution of what counts with the plan's: how far a session's highest peak lies
// over the peak that a meter held in that minute.
func TestAgainstBruteForce(t *testing.T) {
	const sessions, seed = 400, 5
	b := bruteForce{setup: plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}, owns: measureOwn(t, 30)}
	b.setup.Chain.DistanceM = 0.3 // beyond the reach of breath, with room to lean in
	b.setup.Chain.Preamp.GainDB = 30
	if err := b.setup.Prepare(context.Background()); err != nil {
		t.Fatal(err)
	}
	b.full = b.setup.CeilingDB(b.setup.Chain.Preamp.GainDB)
	conv := b.setup.Conversation()
	talkers := voice.Talkers()
	all := make([]bruteSession, sessions)
	listed := make([]float64, sessions)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for n := int(next.Add(1)) - 1; n < sessions; n = int(next.Add(1)) - 1 {
				talker := talkers[n%len(talkers)].Name
				s, out := conv.Session(seed, n), &all[n]
				out.margin = math.Inf(1)
				out.held = b.record(t, &s, s.Check, s.CheckDB, talker, n, uint64(100_000_000+1000*n), out)
				out.top = b.record(t, &s, s.Events, s.LevelDB, talker, n, uint64(100_000+1000*n), out)
				top := math.Inf(-1)
				for _, e := range s.Events {
					top = max(top, e.PeakDB())
				}
				listed[n] = top - s.HeldDB
			}
		})
	}
	wg.Wait()
	brute := make([]float64, sessions)
	var diff []float64
	rendered, left, margin := 0, 0, math.Inf(1)
	for n, s := range all {
		brute[n] = s.top - s.held
		diff = append(diff, brute[n]-listed[n])
		rendered, left, margin = rendered+s.rendered, left+s.left, min(margin, s.margin)
	}
	dm, ds := stat.MeanStdDev(diff, nil)
	t.Logf("session by session, brute force less the model: mean %+.2f dB, sd %.2f; spread %.2f and %.2f", dm, ds, stat.StdDev(brute, nil), stat.StdDev(listed, nil))
	t.Logf("%d events rendered, %d left out; no peak came nearer than %.2f dB to what was reckoned with", rendered, left, margin)
	if margin < 0 {
		t.Fatalf("topCrest is too low: what was left out may matter")
	}

	r, err := plan.Simulate(context.Background(), conv, 200_000, 77, nil)
	if err != nil {
		t.Fatal(err)
	}
	// The model tells it as of an ordinary guest.
	over, _ := conv.HeldOver()
	model := make([]float64, len(r.PeakDB))
	for i, p := range r.PeakDB {
		model[i] = p - conv.TalkLevelDB - over
	}
	slices.Sort(brute)
	slices.Sort(listed)
	d := stat.KolmogorovSmirnov(brute, nil, model, nil)
	p := kolmogorov(d, sessions, len(model))
	t.Logf("Kolmogorov–Smirnov distance %.4f, p = %.3f", d, p)
	trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("highest peak of a session over the peak held in its check: the model against %d sessions synthesised and recorded, Kolmogorov–Smirnov p", sessions),
		Source: "brute force through the engine", Expected: 0.01, Got: p, Op: ">="})
	for _, q := range []float64{0.5, 0.9, 0.99} {
		// The same sessions as the model lists them: their talkers and levels are
		// shared, so that what is compared is how events become peaks, not luck.
		got := stat.Quantile(q, stat.LinInterp, brute, nil)
		lists := stat.Quantile(q, stat.LinInterp, listed, nil)
		lo, hi := pinned(brute, q)
		ours := stat.Quantile(q, stat.LinInterp, model, nil)
		t.Logf("%2.0f %%: brute force %.2f dB (95 %% interval %.2f to %.2f), the model on the same lists %.2f, on 200 000 sessions %.2f",
			100*q, got, lo, hi, lists, ours)
		trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("highest peak of a session over the peak held in its check, %g %% quantile of the same %d sessions", 100*q, sessions),
			Source: "brute force through the engine", Expected: got, Got: lists, Tolerance: 1, Unit: "dB"})
		if ours < lo || ours > hi {
			t.Errorf("%g %%: the model's %.2f dB lies outside what %d sessions allow", 100*q, ours, sessions)
		}
	}
}

// pinned is the 95 % interval that the order statistics of sorted x give for its
// quantile q (binomial counts; no distribution assumed). Ends beyond the sample are
// infinite.
func pinned(x []float64, q float64) (lo, hi float64) {
	b := distuv.Binomial{N: float64(len(x)), P: q}
	at := func(k int) float64 {
		switch {
		case k < 0:
			return math.Inf(-1)
		case k >= len(x):
			return math.Inf(1)
		}
		return x[k]
	}
	i := 0
	for b.CDF(float64(i)) < 0.025 {
		i++
	}
	j := i
	for j < len(x) && b.CDF(float64(j)) < 0.975 {
		j++
	}
	return at(i - 1), at(j)
}

// kolmogorov is the asymptotic p-value of a two-sample distance (Kolmogorov 1933,
// with the correction of Stephens, JRSS B 32, 1970).
func kolmogorov(d float64, n, m int) float64 {
	e := math.Sqrt(float64(n) * float64(m) / float64(n+m))
	l := (e + 0.12 + 0.11/e) * d
	sum := 0.0
	for j := 1; j <= 100; j++ {
		sum += 2 * math.Pow(-1, float64(j-1)) * math.Exp(-2*float64(j*j)*l*l)
	}
	return min(max(sum, 0), 1)
}
