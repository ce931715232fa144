package plan

import (
	"context"
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/plan"
)

// withStrips is this scene and the one with the strips.
func withStrips(sh kit.Shell) []kit.Scene { return scenetest.Amid(gain.New(sh), New(sh)) }

func planBench(t testing.TB) (*scenetest.Driver, *Scene) {
	planFine = 10_000
	return scenetest.Open[*Scene](t, nil, kit.IDTabPlan, withStrips)
}

// settle waits until nothing is worked out any more, or until done holds.
func settle(b *scenetest.Driver, s *Scene, done func() bool) {
	b.Helper()
	b.Settle(func() string { return s.doing }, func() bool { return s.job == nil || done != nil && done() })
}

func coarse(s *Scene) func() bool {
	return func() bool { return s.known[planHelps] && s.res != nil && !s.stale }
}

// TestPlanNumbers: what the scene shows is what the planner computes, with work in
// slices or on a thread of its own.
func TestPlanNumbers(t *testing.T) {
	defer func(was bool) { work.Sliced = was }(work.Sliced)
	want, err := plan.Simulate(context.Background(), plan.Conversation{Model: plan.Default(), DistanceM: sim.Default().DistanceM}, planCoarse, planSeed, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, sliced := range []bool{false, true} {
		work.Sliced = sliced
		b, s := planBench(t)
		settle(b, s, func() bool { return s.res != nil })
		got := s.coarse
		if len(got.PeakDB) != len(want.PeakDB) || got.By != want.By {
			t.Fatalf("sliced %v: %d sessions, %v; want %d, %v", sliced, len(got.PeakDB), got.By, len(want.PeakDB), want.By)
		}
		for i := range want.PeakDB {
			if got.PeakDB[i] != want.PeakDB[i] {
				t.Fatalf("sliced %v: session %d peaks at %v, want %v", sliced, i, got.PeakDB[i], want.PeakDB[i])
			}
		}
		if w := s.setup.Window(want); s.win != w {
			t.Errorf("sliced %v: window %+v, want %+v", sliced, s.win, w)
		}
	}
}

// TestPlanFollows: equipment and place show at once, the conversation after new
// sessions.
func TestPlanFollows(t *testing.T) {
	b, s := planBench(t)
	settle(b, s, coarse(s))
	high, low := s.win.HighDB, s.win.LowDB
	b.Set("plan.distance_m", 16)
	if !s.stale {
		t.Error("moving about is in centimetres, but the sessions count as they were")
	}
	settle(b, s, coarse(s))
	if d := s.win.HighDB - high; d < 6.5 || d > 9 { // 6.02 by distance, the rest by moving about
		t.Errorf("twice the distance moves the upper end by %.2f dB", d)
	}
	b.Set("plan.distance_m", 8)
	settle(b, s, coarse(s))
	if s.win.HighDB != high || s.win.LowDB != low {
		t.Errorf("back at 8 cm the window is %+v", s.win)
	}
	b.Set("plan.laughs_per_hour", 0)
	b.Set("plan.outbursts_per_hour", 0)
	if !s.stale {
		t.Error("another conversation, but the sessions count as they were")
	}
	settle(b, s, coarse(s))
	if s.win.HighDB < high+1 {
		t.Errorf("without laughs and outbursts the upper end is %.1f dB, was %.1f", s.win.HighDB, high)
	}
	was := s.win.HighDB
	b.Do("plan.microphone.condenser")
	// 12 mV/Pa against 1.8 is 16.48 dB.
	if d := s.win.HighDB - was; math.Abs(d+16.48) > 0.05 {
		t.Errorf("a condenser moves the upper end by %.2f dB, want −16.48", d)
	}
	b.Do("plan.limiter.before")
	if s.ready {
		t.Error("the limiter counts before it was measured")
	}
	settle(b, s, coarse(s))
	ref := s.setup
	if err := ref.Prepare(context.Background()); err != nil {
		t.Fatal(err)
	}
	relief := s.setup.Relief(plan.OpenLaugh)
	if relief != ref.Relief(plan.OpenLaugh) {
		t.Errorf("the limiter gives %v dB, the planner says %v", relief, ref.Relief(plan.OpenLaugh))
	}
	b.Do("plan.limiter.off")
	if s.setup.Relief(plan.OpenLaugh) != 0 {
		t.Error("the limiter is off and gives something")
	}
	b.Do("plan.limiter.before")
	if s.setup.Relief(plan.OpenLaugh) != relief {
		t.Errorf("the limiter gives %v dB, was %v", s.setup.Relief(plan.OpenLaugh), relief)
	}
	b.Do("plan.reset")
	settle(b, s, coarse(s))
	if s.win.HighDB != high {
		t.Errorf("after the reset the upper end is %v, was %v", s.win.HighDB, high)
	}
}

// TestPlanRefines: many sessions while nothing changes, then what matters most.
func TestPlanRefines(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := planBench(t)
	settle(b, s, func() bool { return s.known[planSpread] })
	if n := len(s.res.PeakDB); n != planFine {
		t.Errorf("%d sessions, want %d", n, planFine)
	}
	if len(s.swings) < 10 || s.swings[0].SpanDB() < s.swings[1].SpanDB() || s.swings[0].SpanDB() < 1 {
		t.Errorf("swings: %+v", s.swings)
	}
	ref, err := s.setup.Sensitivity(context.Background(), s.setup.Chain.Preamp.GainDB, func(c plan.Conversation) (*plan.Result, error) {
		return plan.Simulate(context.Background(), c, planSwings, planSeed, nil)
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(ref) != len(s.swings) {
		t.Fatalf("%d swings, the planner has %d", len(s.swings), len(ref))
	}
	for i := range ref {
		if ref[i] != s.swings[i] {
			t.Errorf("swing %d is %+v, the planner has %+v", i, s.swings[i], ref[i])
		}
	}
}

// TestPlanTakesOver: the gain found goes to the bench.
func TestPlanTakesOver(t *testing.T) {
	b, s := planBench(t)
	settle(b, s, coarse(s))
	b.Do("plan.microphone.condenser")
	settle(b, s, coarse(s))
	b.Set("plan.gain_db", 21.5)
	b.Do("plan.use")
	if b.P.Scene().ID() != "tab.gain" {
		t.Errorf("shows %q", b.P.Scene().Title())
	}
	for i, want := range []float64{21.5, 9.5} {
		c := b.P.Bench().Chain(i)
		if c.Preamp.GainDB != want || c.Microphone != plan.Microphones()[1].Microphone {
			t.Errorf("strip %s: %v dB with %+v", bench.StripNames[i], c.Preamp.GainDB, c.Microphone)
		}
	}
}

// TestPlanRefuses: a bad value changes nothing.
func TestPlanRefuses(t *testing.T) {
	b, s := planBench(t)
	was := s.setup
	for _, it := range []ui.Intent{
		{ID: "plan.distance_m", Do: "set", Value: 1}, {ID: "plan.distance_m", Do: "set", Text: "near"}, {ID: "plan.risk", Do: "set", Value: 100},
		{ID: "plan.open_laugh.level_db", Do: "set", Value: math.NaN()}, {ID: "plan.gain_db", Do: "set", Value: 71}, {ID: "plan.nothing", Do: "press"},
		{ID: "record", Do: "press"},
	} {
		if err := b.P.Apply(it); err == nil {
			t.Errorf("%+v was accepted", it)
		}
	}
	if s.setup.Model != was.Model || s.setup.Chain != was.Chain || s.setup.Limits != was.Limits {
		t.Error("something changed")
	}
}

// TestPlanKeyboard: every assumption can be reached and changed with keys alone.
func TestPlanKeyboard(t *testing.T) {
	b, s := planBench(t)
	b.Do("plan.view.assumptions")
	seen := map[string]bool{}
	key := func(k ui.Key) {
		b.Now += 1.0 / 60
		b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Keys: []ui.KeyPress{{Key: k}}})
	}
	for range 80 {
		key("Tab")
		seen[b.P.Focused()] = true
		if f := b.P.Focused(); f != "" {
			n := b.Node(f)
			if n.Bounds.W < 2 || n.Bounds.H < 2 {
				t.Errorf("%s has the focus and cannot be seen: %v", f, n.Bounds)
			}
		}
	}
	for _, p := range s.params() {
		if !seen["plan."+p.Key] {
			t.Errorf("plan.%s cannot be reached", p.Key)
		}
	}
	if err := b.P.Apply(ui.Intent{ID: "plan.open_laugh.level_db", Do: "focus"}); err != nil {
		t.Fatal(err)
	}
	for _, k := range []ui.Key{"1", "2", ".", "5", "Enter"} {
		key(k)
	}
	if s.setup.Model.Open.LevelDB != 12.5 {
		t.Errorf("typed 12.5, the open laugh is %v dB over talk", s.setup.Model.Open.LevelDB)
	}
}

func TestPlanLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := planBench(t)
	look := func(state string) {
		t.Helper()
		scenetest.LookAll(t, b, state, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			moved := false
			for _, p := range []*kit.Scroller{&s.page, &s.left, &s.list} {
				moved = p.By(dy) || moved
			}
			s.Layout(b.P.Theme(), s.area)
			return moved
		})
	}
	look("at the start")
	settle(b, s, func() bool { return s.known[planHelps] })
	look("remedies")
	b.Do("plan.view.assumptions")
	look("assumptions")
	b.Set("plan.distance_m", 100)
	b.Set("plan.room.noise_dba", 50)
	b.Do("plan.view.remedies")
	settle(b, s, func() bool { return s.known[planHelps] })
	if !s.win.Empty() || len(s.needs) == 0 {
		t.Fatalf("a meter away in a kitchen: window %+v, needs %v", s.win, s.needs)
	}
	look("no window")
	b.Do("plan.reset")
	settle(b, s, func() bool { return s.known[planSpread] })
	b.Do("plan.view.matters")
	look("what matters")
}

func TestPlanShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	b, s := planBench(t)
	sh := scenetest.Shotter{Driver: b, Dir: dir}
	sh.Shot("plan-start", 1280, 720)
	settle(b, s, func() bool { return s.known[planHelps] })
	sh.Shots("plan")
	b.Do("plan.view.assumptions")
	sh.Shots("plan-assumptions")
	b.Do("text_size")
	b.Do("text_size")
	sh.Shot("plan-text150", 1440, 900)
	sh.Shot("plan-text150", 1280, 720)
	b.Do("text_size")
	b.Do("text_size")
	b.Do("text_size")
	b.Do("theme")
	b.Set("plan.distance_m", 100)
	b.Set("plan.room.noise_dba", 50)
	b.Do("plan.view.remedies")
	settle(b, s, func() bool { return s.known[planHelps] })
	sh.Shot("plan-none", 1280, 720)
	b.Do("plan.reset")
	settle(b, s, func() bool { return s.known[planSpread] })
	b.Do("plan.view.matters")
	sh.Shots("plan-matters")
}

// TestTold: the sentence, the ruler and the laughs say the same; a kind of guest moves all
// of them, and a louder laugh in the check asks for less gain.
func TestTold(t *testing.T) {
	b, s := planBench(t)
	sure := func() bool { return s.known[planSure] && s.res != nil && !s.stale }
	told := func() bool { return s.res != nil && !s.stale && len(s.res.PeakDB) == planFine }
	settle(b, s, told)
	gains := map[string]float64{}
	for _, kind := range []string{"ordinary", "calm", "lively"} {
		b.Do("plan.guest." + kind)
		likely, until := "", told // how sure it is takes long: one guest will do
		if kind == "lively" {
			likely, until = ", likely ", sure
		}
		settle(b, s, until)
		b.Wait(0.1)
		g := s.told.GainDB
		gains[kind] = g
		for id, want := range map[string]string{
			kit.IDStatus: fmt.Sprintf("near %.0f", g),
			kit.IDRuler:  fmt.Sprintf("For the hour: %.0f dB, talk's held peak −%.0f dBFS", g, -s.told.HeldDBFS) + likely,
		} {
			if n := b.Node(id); !strings.Contains(n.Value, want) {
				t.Errorf("%s: %s says %q, not %q", kind, id, n.Value, want)
			}
		}
		if sp := s.told.spread; likely != "" && !(sp.LowDBFS <= s.told.HeldDBFS && s.told.HeldDBFS <= sp.HighDBFS) {
			t.Errorf("%s: talk's held peak at %v dBFS is not within %+v", kind, s.told.HeldDBFS, sp)
		}
	}
	if !(gains["calm"] > gains["ordinary"] && gains["ordinary"] > gains["lively"]) {
		t.Errorf("gains by guest: %v", gains)
	}
	b.Do("plan.view.laughs")
	b.Wait(0.1)
	l := s.told.laughs
	if len(l) < 3 || l[0].GainDB <= l[len(l)-1].GainDB {
		t.Errorf("laughs: %+v", l)
	}
	if n := b.Node("plan.laugh.1"); !strings.Contains(n.Value, fmt.Sprintf("set %.0f", l[0].GainDB)) {
		t.Errorf("the first laugh: %+v", n)
	}
}

// TestPlanOnOwnRecorder: where the bench knows the user's recorder, the plan says its mark.
func TestPlanOnOwnRecorder(t *testing.T) {
	b, s := planBench(t)
	settle(b, s, coarse(s))
	if v := s.told.sentence(); strings.Contains(v, "your recorder") {
		t.Error(v)
	}
	file := "recorder: {marks: [{mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 124}}, {mark: 10, gain_db: {value: 32}, full_scale_db_spl: {value: 92}}]}"
	if err := b.P.Bench().OpenScenario("mine.yaml", []byte(file)); err != nil {
		t.Fatal(err)
	}
	b.Wait(0.1)
	if !b.Node(idOwn).Checked || s.setup.Chain.Preamp.EINDBu == 0 || b.Node(idRecorder+"handheld").Checked {
		t.Error("the plan does not follow the bench to the user's recorder")
	}
	b.Set("plan.distance_m", 9)
	settle(b, s, coarse(s))
	if v := s.told.sentence(); !regexp.MustCompile(`which is mark [0-9½]+ of your recorder\.`).MatchString(v) {
		t.Error(v)
	}
	if err := b.P.Bench().KnowRecorder(nil); err != nil {
		t.Fatal(err)
	}
	b.Wait(0.1)
	if b.Has(idOwn) || !s.recs[0].Checked {
		t.Error("the plan stays with a recorder that is used no more")
	}
}
