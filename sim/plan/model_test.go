package plan_test

import (
	"math"
	"reflect"
	"testing"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/tests/trust"
)

// TestModel: each assumption does what its name says.
func TestModel(t *testing.T) {
	m := plan.Default()
	m.GuestSDDB, m.SessionSDDB, m.UtteranceSD, m.BurstSDDB, m.CoughSDDB, m.MoveSDCM, m.LeanShare = 0, 0, 0, 0, 0, 0, 0
	m.Unvoiced.SDDB, m.Social.SDDB, m.Open.SDDB, m.OpenGuestSD = 0, 0, 0, 0
	m.LaughPerHour, m.BurstPerHour, m.CoughPerHour = 240, 120, 120
	c := plan.Conversation{Model: m, DistanceM: 0.08}
	s := c.Session(3, 5)
	if s.CheckDB != 60 || s.LevelDB != 60 || s.OpenLaughDB != 11 {
		t.Errorf("guest %+v", s)
	}
	last := 0.0
	for _, e := range s.Events {
		at := e.AtS / 3600
		want := 60 + map[plan.Kind]float64{plan.Talk: 3 * at, plan.UnvoicedLaugh: -4 + 1.5*at - 2, plan.SocialLaugh: 3 + 1.5*at - 2, plan.OpenLaugh: 11 + 1.5*at - 2, plan.Outburst: 12.5, plan.Cough: 6.8}[e.Kind]
		if math.Abs(e.LevelDB-want) > 1e-9 || e.NearDB != 0 || e.AtS < last || e.AtS > 3600 {
			t.Fatalf("%v at %.0f s: %.2f dB, want %.2f, nearer by %.2f", e.Kind, e.AtS, e.LevelDB, want, e.NearDB)
		}
		last = e.AtS
	}
	// The classes have their shares, and leaning in its share of the time; nobody is
	// louder than the loudest.
	m = plan.Default()
	m.LoudestDB, m.MoveSDCM, m.LeanShare, m.LaughPerHour = 70, 0, 0.25, 300
	c.Model = m
	count := map[plan.Kind]float64{}
	n, leaning := 0.0, 0.0
	_, lean := c.MoveDB()
	if want := 20 * math.Log10(8.0/3); math.Abs(lean-want) > 1e-9 {
		t.Errorf("leaning in from 8 cm by 5 is %.2f dB, want %.2f", lean, want)
	}
	for k := range 60 {
		for _, e := range c.Session(1, k).Events {
			count[e.Kind]++
			n++
			if e.NearDB != 0 {
				leaning++
				if math.Abs(e.NearDB-lean) > 1e-9 {
					t.Fatalf("nearer by %v", e.NearDB)
				}
			}
			if e.LevelDB > 70 {
				t.Fatalf("%+v", e)
			}
		}
	}
	if share := leaning / n; math.Abs(share-0.25) > 0.03 {
		t.Errorf("%.3f of all events lean in", share)
	}
	laughs := count[plan.UnvoicedLaugh] + count[plan.SocialLaugh] + count[plan.OpenLaugh]
	for k, want := range map[plan.Kind]float64{plan.UnvoicedLaugh: 0.35, plan.SocialLaugh: 0.5, plan.OpenLaugh: 0.15} {
		if got := count[k] / laughs; math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/laughs) {
			t.Errorf("%v: %.3f of all laughs", k, got)
		}
	}
	if want := 60.0 * 300; math.Abs(laughs-want) > 4*math.Sqrt(want) {
		t.Errorf("%v laughs, expected about %v", laughs, want)
	}
	// A change of one kind leaves the others as they are.
	a, b := plan.Default(), plan.Default()
	b.TalkPerMin = 20
	pick := func(m plan.Model) (out []plan.Event) {
		for _, e := range (plan.Conversation{Model: m, DistanceM: 0.08}).Session(9, 9).Events {
			if e.Kind == plan.SocialLaugh {
				out = append(out, e)
			}
		}
		return out
	}
	if x, y := pick(a), pick(b); !reflect.DeepEqual(x, y) || len(x) == 0 {
		t.Error("more talk changes the laughs")
	}
}

// TestMovement: moving about is in centimetres, so that its decibels go with the
// distance, and nobody comes nearer than 2 cm.
func TestMovement(t *testing.T) {
	m := plan.Default()
	for cm, want := range map[float64]float64{4: 5.4, 8: 2.7, 15: 1.45, 30: 0.7} {
		sd, _ := plan.Conversation{Model: m, DistanceM: cm / 100}.MoveDB()
		trust.Record(t, trust.Check{Area: "planning", What: "what moving about by 2.5 cm makes at a distance of " + plural(cm), Source: "8.686·σ/d", Expected: want, Got: sd, Tolerance: 0.05, Unit: "dB"})
	}
	m.MoveSDCM, m.LeanShare = 10, 0.5
	most := 20 * math.Log10(8.0/2)
	for _, e := range (plan.Conversation{Model: m, DistanceM: 0.08}).Session(1, 1).Events {
		if e.NearDB > most+1e-9 {
			t.Fatalf("nearer by %.2f dB, 2 cm are %.2f", e.NearDB, most)
		}
	}
}

func plural(cm float64) string {
	return map[float64]string{4: "4 cm", 8: "8 cm", 15: "15 cm", 30: "30 cm"}[cm]
}

func TestPresets(t *testing.T) {
	for _, name := range plan.PresetNames() {
		m := plan.Default()
		if err := m.SetPreset(name); err != nil || m.Validate() != nil {
			t.Errorf("%s: %v, %v", name, err, m.Validate())
		}
		if p, ok := m.Preset(); !ok || p.Name != name {
			t.Errorf("%s is taken for %q", name, p.Name)
		}
		m.LaughPerHour++
		if p, ok := m.Preset(); ok {
			t.Errorf("with a figure of its own %s is taken for %q", name, p.Name)
		}
	}
	m := plan.Default()
	if p, ok := m.Preset(); !ok || p.Name != "ordinary" {
		t.Errorf("the default is %q", p.Name)
	}
	if err := m.SetPreset("shy"); err == nil || m != plan.Default() {
		t.Error("an unknown preset passes")
	}
	m.Unvoiced.Share, m.Open.Share = 0.8, 0.4
	if m.Validate() == nil {
		t.Error("more than all laughs pass")
	}
}

func TestRemedies(t *testing.T) {
	s := setup(t)
	by := remedies(t, &s)
	w := s.Window(must(t)(rerun(s.Conversation())))
	same := func(name string) {
		t.Helper()
		if x, ok := by[name]; !ok || x.GainDB != 0 {
			t.Errorf("%s widens the window by %.2f dB, listed: %v", name, x.GainDB, ok)
		}
	}
	// What sits behind the converter cannot bring back what it lost; neither can a
	// file that holds more than the converter gives.
	same("a limiter after the converter")
	same("a float file, the same converter")
	// A safety track shifts the upper end by what it is lower.
	if d := by["a safety track 12 dB lower"].GainDB; math.Abs(d-12) > 0.02 {
		t.Errorf("a safety track widens the window by %.2f dB", d)
	}
	// With the second range the rail comes first, 14 dB above the old full scale.
	if d := by["a dual-range float recorder"].Window.HighDB - w.HighDB; math.Abs(d-14) > 0.02 {
		t.Errorf("a second range raises the upper end by %.2f dB", d)
	}
	// Half the distance is 6 dB more voice, and people who move count for more.
	if d := by["half the distance (4 cm)"].Window.HighDB - w.HighDB; d > -6.02 || d < -8 {
		t.Errorf("half the distance moves the upper end by %.2f dB", d)
	}
	if d := by["twice the distance (16 cm)"].Window.HighDB - w.HighDB; d < 6.02 {
		t.Errorf("twice the distance moves the upper end by %.2f dB", d)
	}
	if d := by["half the session"].GainDB; d <= 0 || d > 3 {
		t.Errorf("half the session: %.2f dB", d)
	}
	if d := by["a sound check in which the guest laughs 3 times, as loud as most do"].GainDB; d <= 0 {
		t.Errorf("three laughs heard: %.2f dB", d)
	}
	if d := by["no sound check: the knob set without listening"].GainDB; d >= 0 {
		t.Errorf("without a sound check: %.2f dB", d)
	}
	if d := by["an analogue limiter before the converter (−14 dBFS, attack 2 ms)"].GainDB; d < 5 {
		t.Errorf("an analogue limiter at its best threshold: %.2f dB (of %v)", d, by)
	}
	if _, ok := by["a dynamic vocal microphone"]; ok {
		t.Error("a change that changes nothing is listed")
	}
}

// TestLimiterRelief: by how much louder a laugh and a cough may be with an analogue
// limiter, as it was measured independently of the planner.
func TestLimiterRelief(t *testing.T) {
	s := setup(t)
	s.Chain.InputLimiter.On = true
	for _, x := range []struct{ threshold, laugh, cough float64 }{{-6, 0.5, 0}, {-10, 3.25, 0.75}, {-15, 11.25, 10}, {-20, 19.25, 20.25}} {
		s.Chain.InputLimiter.ThresholdDBFS = x.threshold
		if err := s.Prepare(ctx); err != nil {
			t.Fatal(err)
		}
		for k, want := range map[plan.Kind]float64{plan.OpenLaugh: x.laugh, plan.Cough: x.cough} {
			if got := s.Relief(k); math.Abs(got-want) > 0.26 { // a step of the search
				t.Errorf("threshold %g dBFS: a %v may be %.2f dB louder, want %.2f", x.threshold, k, got, want)
			}
		}
	}
	var relief [3]float64
	s.Chain.InputLimiter.ThresholdDBFS = -6
	for i, ms := range []float64{2, 0.5, 0.1} {
		s.Chain.InputLimiter.AttackMS = ms
		if err := s.Prepare(ctx); err != nil {
			t.Fatal(err)
		}
		relief[i] = s.Relief(plan.OpenLaugh)
	}
	if !(relief[0] <= relief[1] && relief[1] < relief[2] && relief[2] > 10) {
		t.Errorf("a faster limiter does not help more: %.2f", relief)
	}
	// Weighed by what made the loudest moments it lies between those of the kinds.
	r := prepared(t, &s, 1000)
	if d := s.ReliefDB(r); d < min(s.Relief(plan.Cough), s.Relief(plan.OpenLaugh)) || d > max(s.Relief(plan.Cough), s.Relief(plan.OpenLaugh)) {
		t.Errorf("on the whole %.2f dB", d)
	}
	s.Chain.InputLimiter.On = false
	if err := s.Prepare(ctx); err != nil || s.Relief(plan.OpenLaugh) != 0 {
		t.Errorf("no limiter: %v, %v", s.Relief(plan.OpenLaugh), err)
	}
}

// TestAdvice: the setting is the highest whole decibel within what was asked, its risk
// is its own, and it keeps to what knobs offer.
func TestAdvice(t *testing.T) {
	s := setup(t)
	r := prepared(t, &s, 20_000)
	a, ok := s.Advise(r)
	if !ok || a.GainDB != math.Floor(a.GainDB) || a.Risk > s.Limits.Risk || s.At(a.GainDB+1, r).Risk <= s.Limits.Risk {
		t.Errorf("%+v", a)
	}
	if p := s.At(a.GainDB, r); p != a.Point || a.Less3 != s.At(a.GainDB-3, r) || a.Less6 != s.At(a.GainDB-6, r) || a.HeldDBFS != math.Round(p.HeldPeakDBFS) {
		t.Errorf("%+v, at its gain %+v", a, p)
	}
	if a.HeldDBFS != -22 {
		t.Errorf("for an ordinary guest the meter should hold %g dBFS", a.HeldDBFS)
	}
	ru := s.Ruler(r)
	if ru.SuggestDB != a.GainDB || ru.SuggestHeld != a.HeldDBFS || ru.Window != s.Window(r) {
		t.Errorf("the ruler has %+v", ru)
	}
	// The reading is what the engine's scale makes of it, whatever the chain.
	hot := s
	hot.Chain.Microphone.SensitivityMVPerPa = 150
	hot.Chain.DistanceM = 0.04
	hr := prepared(t, &hot, 2000)
	if a, ok := hot.Advise(hr); !ok || a.PadDB != plan.PadDB || a.GainDB < plan.KnobLowDB {
		t.Errorf("a hot microphone: %+v", a)
	}
	fixed := s
	for _, rec := range plan.Recorders() {
		if rec.Name == "float" {
			fixed.Chain = rec.On(fixed.Chain)
		}
	}
	if a, ok := fixed.Advise(prepared(t, &fixed, 2000)); !ok || !a.NoKnob || a.GainDB != fixed.Chain.Preamp.GainDB {
		t.Errorf("no knob: %+v", a)
	}
	// A take is a short session.
	take := s.ForMinutes(1)
	if h := take.Window(prepared(t, &take, 4000)).HighDB; h < s.Window(r).HighDB+2 {
		t.Errorf("for a minute up to %.1f dB, for the hour %.1f", h, s.Window(r).HighDB)
	}
}

// TestSpread: with every assumption drawn the setting lies about where it lies, and
// with none there is nothing to be unsure of but chance.
func TestSpread(t *testing.T) {
	s := setup(t)
	a, _ := s.Advise(prepared(t, &s, 4000))
	sp, err := s.Spread(ctx, 60, 200, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	if sp.LowDBFS != math.Round(sp.LowDBFS) || sp.HighDBFS != math.Round(sp.HighDBFS) || sp.LowDBFS > a.HeldDBFS || sp.HighDBFS < a.HeldDBFS-1 || sp.HighDBFS-sp.LowDBFS < 2 || sp.HighDBFS-sp.LowDBFS > 12 {
		t.Errorf("%+v around %g", sp, a.HeldDBFS)
	}
	if again, _ := s.Spread(ctx, 60, 200, 1, nil); again != sp {
		t.Errorf("%+v, again %+v", sp, again)
	}
}

// TestScore: the gain that was set beside the fixed rules, by arithmetic.
func TestScore(t *testing.T) {
	s := setup(t)
	list := s.Score(36, 2, -22) // 2 dB of headroom were left
	if len(list) != 4 || list[0].OverDB != -2 || list[0].Loss != 0 {
		t.Fatalf("%+v", list)
	}
	for i, want := range []float64{8, 2, 0} { // 10, 4 and 2 dB more gain
		if x := list[1+i]; math.Abs(x.OverDB-want) > 1e-9 || (x.Loss >= plan.OverLoss) != (want > 0) {
			t.Errorf("%+v, want over by %g dB", x, want)
		}
	}
	if l := s.Limits.Loss(false, s.Limits.NoiseLUFS+4); math.Abs(l-0.2) > 1e-9 {
		t.Errorf("4 dB of noise cost %v", l)
	}
}

func TestEquipment(t *testing.T) {
	by := map[string]plan.Recorder{}
	for _, r := range plan.Recorders() {
		by[r.Name] = r
	}
	d := sim.Default()
	if r := by["portable"]; r.On(d) != d || r.Preamp.EINDBu != -127 || r.Converter.DynamicRangeDBA != 112 {
		t.Errorf("a good portable recorder: %+v", r)
	}
	if r := by["handheld"]; r.Preamp.EINDBu != -122 || r.Converter.DynamicRangeDBA != 100 {
		t.Errorf("a handheld recorder: %+v", r)
	}
	if th := by["limiter"].On(d).InputLimiter; !th.On || th.ThresholdDBFS > -12 || th.ThresholdDBFS < -16 {
		t.Errorf("analogue limiters: %+v", th)
	}
	for _, m := range plan.Microphones() {
		if m.Name == "clip-on" && m.WornM != 0.2 {
			t.Errorf("%+v", m)
		}
	}
}
