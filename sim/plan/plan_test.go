package plan_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"testing"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/plan"
	"gainwright/tests/trust"
)

var ctx = context.Background()

func simulate(t testing.TB, m plan.Model, n int) *plan.Result {
	t.Helper()
	return run(t, plan.Conversation{Model: m, DistanceM: 0.08}, n)
}

func run(t testing.TB, c plan.Conversation, n int) *plan.Result {
	t.Helper()
	r, err := plan.Simulate(ctx, c, n, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestClosedForms: stand-ins whose chance to pass a level is known. With a
// Poisson number of independent events of mean λ, the chance that one of them
// passes is 1 − exp(−λ·p).
func TestClosedForms(t *testing.T) {
	const sessions = 100_000
	for _, g := range []struct {
		shape string
		p     map[float64]float64 // dB over rms → P(|x| beyond)
	}{
		{"gaussian", map[float64]float64{0: 0.317311, 3: 0.157792, 6: 0.0460143, 9: 0.00482662, 12: 6.86052e-5}},
		{"laplacian", map[float64]float64{0: 0.243117, 3: 0.135656, 6: 0.0595031, 9: 0.0185777, 12: 0.00358827, 15: 3.51709e-4}},
	} {
		for over, p := range g.p {
			m := plan.Model{Minutes: 60, TalkLevelDB: 70, LoudestDB: 140}
			m.TalkCrest.Shape = g.shape
			lambda := min(20, max(0.5, 0.7/p))
			m.TalkPerMin = lambda / 60
			r := simulate(t, m, sessions)
			want := 1 - math.Exp(-lambda*p)
			got, _, _ := r.Over(70 + over)
			tol := 4 * math.Sqrt(want*(1-want)/sessions)
			trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("chance of an over, %s events, ceiling %g dB over rms", g.shape, over),
				Source: "erfc(c/√2), exp(−√2·c) with Poisson counts; four standard errors", Expected: want, Got: got, Tolerance: tol, Unit: "1"})
		}
	}
}

func golden() sim.Chain {
	c := sim.Default()
	c.Room.NoiseDBA = -100
	c.Microphone.SourceOhm = 150
	c.Microphone.SensitivityMVPerPa = 2
	c.Preamp.EINDBu, c.Preamp.OutputNoiseDBu, c.Preamp.RailDBu = -128, -200, 40
	c.Converter = sim.Converter{FullScaleDBu: 18, Bits: 24, DynamicRangeDBA: 112.05, Dither: sim.NoDither}
	return c
}

func TestNoiseAgainstGain(t *testing.T) {
	s := plan.Setup{Chain: golden(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	r := simulate(t, s.Model, 100)
	for i, p := range s.Curve(r, 0, 70, 10) {
		want := []float64{-110.00, -109.99, -109.89, -109.03, -104.54, -95.83, -85.98, -76.00}[i]
		trust.Record(t, trust.Check{Area: "planning", What: fmt.Sprintf("noise floor at %g dB of gain", p.GainDB),
			Source: "power sum of EIN −128 dBu and a 110 dB converter at +18 dBu", Expected: want, Got: p.NoiseFloorDBFS, Tolerance: 0.1, Unit: "dBFS"})
	}
}

// TestNoiseIsTheEngines: the planner's noise after delivery against a silent
// run of the engine, K-weighted by the meter.
func TestNoiseIsTheEngines(t *testing.T) {
	const rate = 48000
	for _, gain := range []float64{10, 30, 50} {
		s := plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
		s.Chain.Preamp.GainDB = gain
		if err := s.Prepare(ctx); err != nil {
			t.Fatal(err)
		}
		strip, err := sim.NewStrip(rate, s.Chain, 3)
		if err != nil {
			t.Fatal(err)
		}
		k := meter.NewKWeight(rate)
		var sum float64
		n := 0
		buf := make([]float64, 4096)
		_, err = sim.Run(ctx, &sim.Samples{X: make([]float64, 10*rate)}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
			y := buf[:b.Len()]
			k.Process(y, b.Wave[sim.AtFile])
			for _, v := range y {
				sum += v * v
			}
			n += len(y)
			return nil
		}})
		if err != nil {
			t.Fatal(err)
		}
		engine := -0.691 + 10*math.Log10(sum/float64(n))
		p := s.At(gain, simulate(t, s.Model, 100))
		// Undo the delivery: what the planner says the file's noise is.
		rms := p.TalkPeakDBFS - s.Model.TalkMeterDB + s.Model.RiseDB/2
		planner := p.NoiseLUFS - s.Limits.DeliveryLUFS + rms - 0.36
		if math.Abs(engine-planner) > 0.3 {
			t.Errorf("gain %g: engine %.2f LUFS, planner %.2f", gain, engine, planner)
		}
	}
}

func TestDeterministic(t *testing.T) {
	m := plan.Default()
	a, b := simulate(t, m, 1000), simulate(t, m, 1000)
	conv := plan.Conversation{Model: m, DistanceM: 0.08}
	steps, err := plan.NewRun(conv, 1000, 1)
	if err != nil {
		t.Fatal(err)
	}
	for !steps.Step(97) {
	}
	c := steps.Result()
	for i := range a.PeakDB {
		if a.PeakDB[i] != b.PeakDB[i] || a.PeakDB[i] != c.PeakDB[i] {
			t.Fatalf("session %d: %v, %v, %v", i, a.PeakDB[i], b.PeakDB[i], c.PeakDB[i])
		}
	}
	if a.By != c.By {
		t.Errorf("%v, %v", a.By, c.By)
	}
	// A session listed is the session simulated.
	for _, how := range []plan.How{plan.ByMeter, plan.ByKnob, plan.ByCheck} {
		conv.Guest.How = how
		one, _ := plan.NewRun(conv, 1, 1)
		one.Step(1)
		top, ses := math.Inf(-1), conv.Session(1, 0)
		for _, e := range ses.Events {
			top = max(top, e.PeakDB())
		}
		if how == plan.ByMeter { // as if the meter had held what it holds of an ordinary guest
			over, _ := conv.HeldOver()
			top += m.TalkLevelDB + over - ses.HeldDB
		}
		if got := one.Result().PeakDB[0]; math.Abs(got-top) > 1e-4 {
			t.Errorf("%d: session 0 peaks at %v, its events at %v", how, got, top)
		}
	}
}

func setup(t testing.TB) plan.Setup {
	t.Helper()
	s := plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	return s
}

// prepared prepares s and simulates its conversation.
func prepared(t testing.TB, s *plan.Setup, n int) *plan.Result {
	t.Helper()
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	return run(t, s.Conversation(), n)
}

func must(t testing.TB) func(*plan.Result, error) *plan.Result {
	return func(r *plan.Result, err error) *plan.Result {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
}

func rerun(c plan.Conversation) (*plan.Result, error) { return plan.Simulate(ctx, c, 4000, 1, nil) }

func remedies(t testing.TB, s *plan.Setup) map[string]plan.Remedy {
	t.Helper()
	r, err := rerun(s.Conversation())
	if err != nil {
		t.Fatal(err)
	}
	list, err := s.Remedies(ctx, r, rerun)
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]plan.Remedy{}
	for i, x := range list {
		by[x.Name] = x
		if i > 0 && x.GainDB > list[i-1].GainDB+0.011 {
			t.Error("remedies are not in order")
		}
		t.Logf("%+6.1f dB  %5.1f to %5.1f  %s", x.GainDB, x.Window.LowDB, x.Window.HighDB, x.Name)
		if math.IsNaN(x.GainDB) {
			t.Errorf("%s: not a number", x.Name)
		}
	}
	return by
}

func TestWindowEnds(t *testing.T) {
	s := setup(t)
	s.Chain.DistanceM = 0.15
	r := prepared(t, &s, 4000)
	w := s.Window(r)
	if p := s.At(w.HighDB-0.05, r).Risk; p > s.Limits.Risk {
		t.Errorf("inside, the risk is %.4f", p)
	}
	if p := s.At(w.HighDB+0.05, r).Risk; p <= s.Limits.Risk {
		t.Errorf("outside, the risk is %.4f", p)
	}
	if n := s.At(w.LowDB+0.05, r).NoiseLUFS; n > s.Limits.NoiseLUFS {
		t.Errorf("inside, the noise is %.2f LUFS", n)
	}
	if n := s.At(w.LowDB-0.05, r).NoiseLUFS; n <= s.Limits.NoiseLUFS {
		t.Errorf("outside, the noise is %.2f LUFS", n)
	}
	if !(w.HighFromDB <= w.HighDB && w.HighDB <= w.HighToDB && w.HighToDB-w.HighFromDB < 2) {
		t.Errorf("interval %.2f to %.2f around %.2f", w.HighFromDB, w.HighToDB, w.HighDB)
	}
	// Nothing happens: nothing goes over, and there is still a word for it.
	still := plan.Model{Minutes: 60, TalkLevelDB: 60, LoudestDB: 95}
	quiet := s
	quiet.Model = still
	quiet.Chain.DistanceM = 0.05
	none := prepared(t, &quiet, 10)
	if w := quiet.Window(none); !math.IsInf(w.HighDB, 1) || w.Empty() || math.IsNaN(w.MiddleDB()) {
		t.Errorf("an hour of silence: %+v", w)
	}
	// A microphone that every laugh overloads: no gain is safe.
	weak := s
	weak.Chain.Microphone.MaxSPLDB = 90
	if w := weak.Window(r); !math.IsInf(w.HighDB, -1) || !w.Empty() {
		t.Errorf("a weak microphone: %+v", w)
	}
	if _, at := weak.Ceiling(20); at != sim.AtMicrophone {
		t.Errorf("station %v gives way first", at)
	}
	// A room that no gain makes quiet.
	loud := s
	loud.Chain.Room.NoiseDBA = 80
	if w := loud.Window(r); !math.IsInf(w.LowDB, 1) || !w.Empty() {
		t.Errorf("a loud room: %+v", w)
	}
	for _, w := range []plan.Window{quiet.Window(none), weak.Window(r), loud.Window(r)} {
		if _, err := json.Marshal(w); err != nil {
			t.Error(err)
		}
	}
}

// TestCeiling: which station gives way first, by arithmetic of its own.
func TestCeiling(t *testing.T) {
	c := sim.Default()
	s := plan.Setup{Chain: c}
	// Peak voltage of full scale over the volts that a pascal at 1 m becomes.
	per := c.Microphone.SensitivityMVPerPa / 1000 / c.DistanceM * math.Pow(10, 40.0/20)
	want := 20 * math.Log10(math.Sqrt(0.6)*math.Pow(10, c.Converter.FullScaleDBu/20)*math.Sqrt2/per/20e-6)
	if got, at := s.Ceiling(40); math.Abs(got-want) > 1e-9 || at != sim.AtConverter {
		t.Errorf("converter: %.3f at %v, want %.3f", got, at, want)
	}
	s.Chain.Preamp.RailDBu = c.Converter.FullScaleDBu - 3
	if got, at := s.Ceiling(40); math.Abs(got-want+3) > 1e-9 || at != sim.AtPreamp {
		t.Errorf("rail: %.3f at %v, want %.3f", got, at, want-3)
	}
	s.Chain.Preamp.RailDBu = 60
	s.Chain.Converter.DualRangeDB = 24
	if got, at := s.Ceiling(40); math.Abs(got-want) > 1e-9 || at != sim.AtFile {
		t.Errorf("two ranges into integers: %.3f at %v, want %.3f", got, at, want)
	}
	s.Chain.File.Format = sim.Float32
	if got, at := s.Ceiling(40); math.Abs(got-want-24) > 1e-9 || at != sim.AtConverter {
		t.Errorf("two ranges: %.3f at %v, want %.3f", got, at, want+24)
	}
}

// TestNeeds: what is proposed for an empty window opens it, and a little less
// would not.
func TestNeeds(t *testing.T) {
	s := setup(t)
	s.Chain.DistanceM, s.Chain.Room.NoiseDBA = 0.8, 38
	r := prepared(t, &s, 4000)
	if w := s.Window(r); !w.Empty() {
		t.Fatalf("window %+v", w)
	}
	needs, err := s.Needs(ctx, r, rerun)
	if err != nil {
		t.Fatal(err)
	}
	if len(needs) == 0 {
		t.Fatal("nothing helps")
	}
	for _, n := range needs {
		t.Logf("%s: %.3f to %.3f %s", n.Name, n.From, n.To, n.Unit)
		for _, part := range []struct {
			to   float64
			open bool
		}{{n.To, true}, {n.From + 0.9*(n.To-n.From), false}} {
			q := s
			switch n.Key {
			case "plan.noise_lufs":
				q.Limits.NoiseLUFS = part.to
			case "plan.risk":
				q.Limits.Risk = part.to
			default:
				f, ok := sim.SettingByKey(n.Key)
				if !ok {
					t.Fatalf("no setting %s", n.Key)
				}
				f.Set(&q.Chain, part.to)
			}
			if got := !q.Window(prepared(t, &q, 4000)).Empty(); got != part.open {
				t.Errorf("%s to %.3f: open %v", n.Key, part.to, got)
			}
		}
	}
	s.Chain.DistanceM, s.Chain.Room.NoiseDBA = 0.08, 32
	if n, err := s.Needs(ctx, prepared(t, &s, 4000), rerun); n != nil || err != nil {
		t.Errorf("an open window needs %v, %v", n, err)
	}
}

// TestSensitivity: what moves the knob alone does not move the reading; what does is
// ranked by how much.
func TestSensitivity(t *testing.T) {
	s := setup(t)
	s.Model.LoudestDB = 140 // a ceiling on voices would come between
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	sw, err := s.Sensitivity(ctx, 30, func(c plan.Conversation) (*plan.Result, error) { return plan.Simulate(ctx, c, 1000, 1, nil) }, nil)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, p := range s.Model.Params() {
		if p.Low < p.High {
			n++
		}
	}
	if len(sw) != n {
		t.Fatalf("%d swings of %d assumptions", len(sw), n)
	}
	for i, x := range sw {
		if x.Param.Key == "talk_level_db" && x.SpanDB() > 0.03 {
			t.Errorf("how loud a guest talks moves the reading by %.2f dB", x.SpanDB())
		}
		if x.Param.Key == "open_laugh.level_db" && (x.SpanDB() < 2 || !(x.HighRisk > x.LowRisk) || !(x.HighDBFS < x.LowDBFS)) {
			t.Errorf("louder laughs: %+v", x)
		}
		if i < 8 {
			t.Logf("%-40s %.1f dB", x.Param.Name, x.SpanDB())
		}
		if i > 0 && x.SpanDB() > sw[i-1].SpanDB() {
			t.Error("swings are not in order")
		}
	}
}

func TestParams(t *testing.T) {
	m := plan.Default()
	if err := m.Validate(); err != nil {
		t.Fatal(err)
	}
	for _, p := range m.Params() {
		if p.Source == "" || p.Low > p.High || p.Value < p.Min || p.Value > p.Max || p.Low < p.Min || p.High > p.Max {
			t.Errorf("%+v", p)
		}
		for _, v := range []float64{p.Min - 1, p.Max + 1, math.NaN()} {
			if err := m.Set(p.Key, v); err == nil {
				t.Errorf("%s = %v passes", p.Key, v)
			}
		}
	}
	if err := m.Set("nonsense", 1); err == nil {
		t.Error("an unknown assumption passes")
	}
	if _, err := plan.Simulate(ctx, plan.Conversation{Model: plan.Model{Minutes: -1}}, 1, 1, nil); err == nil {
		t.Error("a session of −1 minutes passes")
	}
	for _, n := range []int{-1, plan.MaxSessions + 1} {
		if _, err := plan.NewRun(plan.Conversation{Model: m, DistanceM: 0.08}, n, 1); err == nil {
			t.Errorf("%d sessions pass", n)
		}
	}
	l := plan.DefaultLimits()
	for _, p := range l.Params() {
		if p.Source == "" || p.Value < p.Min || p.Value > p.Max {
			t.Errorf("%+v", p)
		}
		for _, v := range []float64{p.Min - 1, p.Max + 1, math.NaN()} {
			if err := l.Set(p.Key, v); err == nil {
				t.Errorf("%s = %v passes", p.Key, v)
			}
		}
		if err := l.Set(p.Key, p.Max); err != nil {
			t.Error(err)
		}
	}
	stopped, stop := context.WithCancel(ctx)
	stop()
	if _, err := plan.Simulate(stopped, plan.Conversation{Model: m, DistanceM: 0.08}, 100_000, 1, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

func FuzzModel(f *testing.F) {
	f.Add(60.0, 20.0, 3.0, uint16(20))
	f.Fuzz(func(t *testing.T, minutes, laughs, sd float64, n uint16) {
		m := plan.Default()
		m.Minutes, m.LaughPerHour, m.GuestSDDB = minutes, laughs, sd
		r, err := plan.Simulate(ctx, plan.Conversation{Model: m, DistanceM: 0.08}, int(n%50), 1, nil)
		if err != nil {
			return
		}
		for i, p := range r.PeakDB {
			if math.IsNaN(p) || i > 0 && p < r.PeakDB[i-1] {
				t.Fatalf("peak %d is %v", i, p)
			}
		}
	})
}

// BenchmarkSlice is what a place that draws in between waits for: 50 hours.
func BenchmarkSlice(b *testing.B) {
	for range b.N {
		r, err := plan.NewRun(plan.Conversation{Model: plan.Default(), DistanceM: 0.08}, 50, 1)
		if err != nil {
			b.Fatal(err)
		}
		r.Step(50)
	}
}

func BenchmarkHundredThousandHours(b *testing.B) {
	for range b.N {
		if _, err := plan.Simulate(ctx, plan.Conversation{Model: plan.Default(), DistanceM: 0.08}, 100_000, 1, nil); err != nil {
			b.Fatal(err)
		}
	}
}
