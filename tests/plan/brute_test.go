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

// own is what events of one kind by one talker have by themselves, when they are asked
// for at no other level: the mean of their level at 1 m and the spread that the words
// and the voice make.
type own struct{ level, sd float64 }

// measureOwn finds it for every talker.
func measureOwn(t *testing.T, per int) map[string][4]own {
	out := map[string][4]own{}
	for _, tk := range voice.Talkers() {
		var o [4]own
		for k := range o {
			var l []float64
			for n := range per {
				a, _ := levels(perform(t, voice.Script{event(plan.Kind(k), n, 0)}, tk.Name, uint64(7000+n)))
				l = append(l, a)
			}
			o[k].level, o[k].sd = stat.MeanStdDev(l, nil)
		}
		out[tk.Name] = o
	}
	return out
}

// ask turns an event of the plan into the level, over its ordinary one, that the voice
// is asked for. The voice adds a spread of its own, so that of the plan is asked for
// only as far as both together make it. session is how far this guest lies from the
// plan's ordinary talk.
func ask(m plan.Model, e plan.Event, o own, session float64) float64 {
	over, sd := 0.0, m.UtteranceSD
	switch e.Kind {
	case plan.Talk:
		over = m.DriftDB * e.AtS / (60 * m.Minutes)
	case plan.Laugh:
		over, sd = m.LaughDB, m.LaughSDDB
	case plan.Outburst:
		over, sd = m.BurstDB, m.BurstSDDB
	case plan.Cough:
		over, sd = m.CoughDB, m.CoughSDDB
	}
	mean := m.TalkLevelDB + session + over
	keep := math.Sqrt(max(0, 1-o.sd*o.sd/(sd*sd)))
	return mean + keep*(e.LevelDB-mean) - o.level
}

// topCrest is more than any event's peak was ever seen to lie over the level it was
// asked for: the crest and the voice's own spread of level together. The test holds
// it against everything that it renders.
const topCrest = 25.0

// TestAgainstBruteForce synthesises 400 sessions of the plan's own lists of events,
// records them through the engine, and compares the distribution of the highest
// peak with the plan's.
//
// A session has some five hundred events, of which all but a few lie far below its
// loudest moment. Events are rendered from the loudest asked-for down, until no event
// that is left can pass the highest peak so far even with topCrest; what is left out
// therefore cannot matter. The rendered ones are recorded in one pass, at the distance
// each has, with silence between them, and the converter's demand tells the peak.
func TestAgainstBruteForce(t *testing.T) {
	const sessions, seed = 400, 5
	m := plan.Default()
	talkers := voice.Talkers()
	chain := sim.Default()
	chain.DistanceM = 0.3 // beyond the reach of breath, with room to lean in
	chain.Preamp.GainDB = 30
	setup := plan.Setup{Chain: chain, Model: m, Limits: plan.DefaultLimits()}
	full := setup.CeilingDB(chain.Preamp.GainDB)
	owns := measureOwn(t, 30)
	brute, listed := make([]float64, sessions), make([]float64, sessions)
	var mu sync.Mutex
	rendered, left, widest := 0, 0, 0.0
	var next atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for n := int(next.Add(1)) - 1; n < sessions; n = int(next.Add(1)) - 1 {
				talker := talkers[n%len(talkers)].Name
				es := m.Session(seed, n)
				// The guest's own level is in every event; without the spread of utterances it
				// stands alone.
				still := m
				still.UtteranceSD, still.DriftDB = 0, 0
				session := 0.0
				for _, e := range still.Session(seed, n) {
					if e.Kind == plan.Talk {
						session = e.LevelDB - m.TalkLevelDB
						break
					}
				}
				type want struct {
					plan.Event
					ask, at float64 // dB over the ordinary level; level then, at the distance it has
				}
				var ws []want
				top := math.Inf(-1)
				for _, e := range es {
					o := owns[talker][e.Kind]
					a := ask(m, e, o, session)
					ws = append(ws, want{e, a, o.level + a + e.NearDB})
					top = max(top, e.PeakDB())
				}
				listed[n] = top
				slices.SortFunc(ws, func(a, b want) int { return cmp.Compare(b.at, a.at) })
				var x []float64
				var moves []sim.Move
				peak, most, done := math.Inf(-1), 0.0, len(ws)
				for i, w := range ws {
					if w.at+topCrest < peak {
						done = i
						break
					}
					y := perform(t, voice.Script{event(w.Kind, n*31+i, w.ask)}, talker, uint64(100_000+1000*n+i))
					a, c := levels(y)
					most = max(most, a+c+w.NearDB-w.at)
					peak = max(peak, a+c+w.NearDB)
					moves = append(moves, sim.Move{AtS: float64(len(x)) / voice.Rate, DistanceM: chain.DistanceM * math.Pow(10, -w.NearDB/20)})
					// Silence first, for the move to be over.
					x = append(append(x, make([]float64, voice.Rate/10)...), y...)
				}
				strip, err := sim.NewStrip(voice.Rate, chain, uint64(n))
				if err != nil {
					t.Error(err)
					return
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
					return
				}
				brute[n] = full + 20*math.Log10(demand)
				if d := brute[n] - peak; math.Abs(d) > 0.3 {
					t.Errorf("session %d: the engine has %.2f dB, the samples %.2f", n, brute[n], peak)
				}
				mu.Lock()
				rendered += done
				left += len(ws) - done
				widest = max(widest, most)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	var diff []float64
	for n := range brute {
		diff = append(diff, brute[n]-listed[n])
	}
	dm, ds := stat.MeanStdDev(diff, nil)
	t.Logf("session by session, brute force less the model: mean %+.2f dB, sd %.2f; spread %.2f and %.2f", dm, ds, stat.StdDev(brute, nil), stat.StdDev(listed, nil))
	t.Logf("%d events rendered, %d left out; a peak lay at most %.2f dB over the level asked for", rendered, left, widest)
	if widest > topCrest-1 {
		t.Fatalf("topCrest is too low: what was left out may matter")
	}

	model, err := plan.Simulate(context.Background(), m, 200_000, 77, nil)
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(brute)
	slices.Sort(listed)
	d := stat.KolmogorovSmirnov(brute, nil, model.PeakDB, nil)
	p := kolmogorov(d, sessions, len(model.PeakDB))
	t.Logf("Kolmogorov–Smirnov distance %.4f, p = %.3f", d, p)
	trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("highest peak of a session: the model against %d sessions synthesised and recorded, Kolmogorov–Smirnov p", sessions),
		Source: "brute force through the engine", Expected: 0.01, Got: p, Op: ">="})
	for _, q := range []float64{0.5, 0.9, 0.99} {
		// The same sessions as the model lists them: their talkers and levels are
		// shared, so that what is compared is how events become peaks, not luck.
		got := stat.Quantile(q, stat.LinInterp, brute, nil)
		lists := stat.Quantile(q, stat.LinInterp, listed, nil)
		lo, hi := pinned(brute, q)
		t.Logf("%2.0f %%: brute force %.2f dB (95 %% interval %.2f to %.2f), the model on the same lists %.2f, on 200 000 sessions %.2f",
			100*q, got, lo, hi, lists, model.Quantile(q))
		trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("highest peak of a session, %g %% quantile of the same %d sessions", 100*q, sessions),
			Source: "brute force through the engine", Expected: got, Got: lists, Tolerance: 1, Unit: "dB"})
		if v := model.Quantile(q); v < lo || v > hi {
			t.Errorf("%g %%: the model's %.2f dB lies outside what %d sessions allow", 100*q, v, sessions)
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
