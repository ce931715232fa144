package plan_test

import (
	"context"
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
	r, err := plan.Simulate(ctx, m, n, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestClosedForms: stand-ins whose chance to pass a level is known. With a
// Poisson number of independent events of mean λ, the chance that one of them
// passes is 1 − exp(−λ·p).
func TestClosedForms(t *testing.T) {
	const sessions = 200_000
	for _, g := range []struct {
		shape string
		p     map[float64]float64 // dB over rms → P(|x| beyond)
	}{
		{"gaussian", map[float64]float64{0: 0.317311, 3: 0.157792, 6: 0.0460143, 9: 0.00482662, 12: 6.86052e-5}},
		{"laplacian", map[float64]float64{0: 0.243117, 3: 0.135656, 6: 0.0595031, 9: 0.0185777, 12: 0.00358827, 15: 3.51709e-4}},
	} {
		for over, p := range g.p {
			m := plan.Model{Minutes: 60, TalkLevelDB: 70}
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
		_, err = sim.Run(ctx, &sim.Samples{X: make([]float64, 30*rate)}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
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
		rms := p.TalkPeakDBFS - s.Model.TalkCrest.MeanDB
		planner := p.NoiseLUFS - s.Limits.DeliveryLUFS + rms - 0.36
		if math.Abs(engine-planner) > 0.3 {
			t.Errorf("gain %g: engine %.2f LUFS, planner %.2f", gain, engine, planner)
		}
	}
}

func TestDeterministic(t *testing.T) {
	m := plan.Default()
	a, b := simulate(t, m, 3000), simulate(t, m, 3000)
	run, err := plan.NewRun(m, 3000, 1)
	if err != nil {
		t.Fatal(err)
	}
	for !run.Step(97) {
	}
	c := run.Result()
	for i := range a.PeakDB {
		if a.PeakDB[i] != b.PeakDB[i] || a.PeakDB[i] != c.PeakDB[i] {
			t.Fatalf("session %d: %v, %v, %v", i, a.PeakDB[i], b.PeakDB[i], c.PeakDB[i])
		}
	}
	if a.By != c.By {
		t.Errorf("%v, %v", a.By, c.By)
	}
	// A session listed is the session simulated.
	top := math.Inf(-1)
	for _, e := range m.Session(1, 0) {
		top = max(top, e.PeakDB())
	}
	one, _ := plan.NewRun(m, 1, 1)
	one.Step(1)
	if got := one.Result().PeakDB[0]; got != top {
		t.Errorf("session 0 peaks at %v, its events at %v", got, top)
	}
}

// TestOrdinaryTalker prints what the model finds about two rules of thumb
// (common practice, no source): an ordinary talker at a hand's width from a
// dynamic microphone peaks between −18 and −6 dBFS in the middle of the window,
// and 6 dB less gain costs less than 1 dB of noise while the room rules.
func TestOrdinaryTalker(t *testing.T) {
	s := plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	r := simulate(t, s.Model, 20000)
	w := s.Window(r)
	mid := s.At(w.MiddleDB(), r)
	t.Logf("window %.1f to %.1f dB, middle %.1f: talk peaks at %.1f dBFS, risk %.3f, noise %.1f LUFS",
		w.LowDB, w.HighDB, w.MiddleDB(), mid.TalkPeakDBFS, mid.Risk, mid.NoiseLUFS)
	// What talk peaking at −9 dBFS (between −12 and −6) risks.
	g := w.MiddleDB() + (-9 - mid.TalkPeakDBFS)
	hot := s.At(g, r)
	t.Logf("talk peaking at −9 dBFS: gain %.1f dB, risk %.2f (%.2f to %.2f)", g, hot.Risk, hot.RiskLow, hot.RiskHigh)
	if hot.Risk < s.Limits.Risk {
		t.Errorf("talk peaking at −9 dBFS risks only %.3f", hot.Risk)
	}
	top := s.At(w.HighDB, r)
	lower := s.At(w.HighDB-6, r)
	t.Logf("at the window's upper end talk peaks at %.1f dBFS; 6 dB lower costs %.2f dB of noise", top.TalkPeakDBFS, lower.NoiseLUFS-top.NoiseLUFS)
	if d := lower.NoiseLUFS - top.NoiseLUFS; d > 1 || d < 0 {
		t.Errorf("6 dB less gain costs %.2f dB of delivered noise", d)
	}
	if w.Empty() {
		t.Error("an ordinary set-up has no window")
	}
}

func TestWindowAndRemedies(t *testing.T) {
	s := plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	s.Chain.DistanceM = 1
	s.Chain.Room.NoiseDBA = 50
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	r := simulate(t, s.Model, 5000)
	w := s.Window(r)
	if !w.Empty() {
		t.Errorf("a metre away in a loud room: window %.1f to %.1f", w.LowDB, w.HighDB)
	}
	s.Chain.DistanceM, s.Chain.Room.NoiseDBA = 0.15, 32
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	w = s.Window(r)
	for _, e := range []struct {
		gain float64
		risk bool
	}{{w.HighDB - 0.05, false}, {w.HighDB + 0.05, true}} {
		if p := s.At(e.gain, r).Risk; (p > s.Limits.Risk) != e.risk {
			t.Errorf("at %.2f dB the risk is %.4f", e.gain, p)
		}
	}
	rem, err := s.Remedies(ctx, r, func(m plan.Model) (*plan.Result, error) { return plan.Simulate(ctx, m, 5000, 1, nil) })
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]float64{}
	for i, x := range rem {
		by[x.Name] = x.GainDB
		if i > 0 && x.GainDB > rem[i-1].GainDB {
			t.Error("remedies are not in order")
		}
		t.Logf("%+6.1f dB  %s", x.GainDB, x.Name)
	}
	if by["a limiter after the converter"] != 0 {
		t.Errorf("a limiter after the converter widens the window by %.2f dB", by["a limiter after the converter"])
	}
	if by["a limiter before the converter"] <= 1 {
		t.Errorf("a limiter before the converter widens it by %.2f dB only", by["a limiter before the converter"])
	}
	if by["a dual-range float recorder (24 dB)"] <= 5 {
		t.Error("a second range does not help")
	}
}

func TestSensitivity(t *testing.T) {
	s := plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(ctx); err != nil {
		t.Fatal(err)
	}
	sw, err := s.Sensitivity(ctx, 30, 2000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(sw) != len(s.Model.Params()) {
		t.Fatalf("%d swings", len(sw))
	}
	for i, x := range sw {
		if i < 5 {
			t.Logf("%-30s %.1f dB", x.Param.Name, x.SpanDB())
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
	if _, err := plan.Simulate(ctx, plan.Model{Minutes: -1}, 1, 1, nil); err == nil {
		t.Error("a session of −1 minutes passes")
	}
}

func FuzzModel(f *testing.F) {
	f.Add(60.0, 20.0, 3.0, uint16(20))
	f.Fuzz(func(t *testing.T, minutes, laughs, sd float64, n uint16) {
		m := plan.Default()
		m.Minutes, m.LaughPerHour, m.TalkerSDDB = minutes, laughs, sd
		r, err := plan.Simulate(ctx, m, int(n%50), 1, nil)
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

func BenchmarkHundredThousandHours(b *testing.B) {
	for range b.N {
		if _, err := plan.Simulate(ctx, plan.Default(), 100_000, 1, nil); err != nil {
			b.Fatal(err)
		}
	}
}
