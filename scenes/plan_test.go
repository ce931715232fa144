package scenes

import (
	"context"
	"math"
	"os"
	"testing"
	"time"

	"gainwright/scenes/ink"
	"gainwright/sim/plan"
)

// newPlanBench drives a program of this scene and the one with the strips.
func newPlanBench(t testing.TB) *bench {
	return drive(t, build(t, nil, func(sh Shell) []Scene { return amid(newGainScene(sh), newPlanScene(sh)) }))
}

func planBench(t testing.TB) (*bench, *planScene) {
	t.Helper()
	b := newPlanBench(t)
	b.do("tab.plan")
	s, ok := b.p.Scene().(*planScene)
	if !ok {
		t.Fatalf("the tab shows %q", b.p.Scene().Title())
	}
	return b, s
}

// settle waits until nothing is worked out any more, or until done holds.
func settle(b *bench, s *planScene, done func() bool) {
	b.Helper()
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); {
		b.wait(1.0 / 60)
		if s.job == nil || done != nil && done() {
			return
		}
		time.Sleep(time.Millisecond)
	}
	b.Fatalf("still %s", s.doing)
}

func coarse(s *planScene) func() bool {
	return func() bool { return s.known[planHelps] && s.res != nil && !s.stale }
}

// TestPlanNumbers: what the scene shows is what the planner computes, with work in
// slices or on a thread of its own.
func TestPlanNumbers(t *testing.T) {
	defer func(was bool) { sliceWork = was }(sliceWork)
	want, err := plan.Simulate(context.Background(), plan.Default(), planCoarse, planSeed, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, sliced := range []bool{false, true} {
		sliceWork = sliced
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
	b.set("plan.distance_m", 16)
	if d := s.win.HighDB - high; math.Abs(d-6.02) > 0.05 {
		t.Errorf("twice the distance moves the upper end by %.2f dB, want 6.02", d)
	}
	b.set("plan.distance_m", 8)
	if s.win.HighDB != high || s.win.LowDB != low {
		t.Errorf("back at 8 cm the window is %+v", s.win)
	}
	b.set("plan.laughs_per_hour", 0)
	b.set("plan.outbursts_per_hour", 0)
	if !s.stale {
		t.Error("another conversation, but the sessions count as they were")
	}
	settle(b, s, coarse(s))
	if s.win.HighDB < high+1 {
		t.Errorf("without laughs and outbursts the upper end is %.1f dB, was %.1f", s.win.HighDB, high)
	}
	was := s.win.HighDB
	b.do("plan.microphone.condenser")
	// 12 mV/Pa against 1.8 is 16.48 dB.
	if d := s.win.HighDB - was; math.Abs(d+16.48) > 0.05 {
		t.Errorf("a condenser moves the upper end by %.2f dB, want −16.48", d)
	}
	b.do("plan.limiter.before")
	if s.ready {
		t.Error("the limiter counts before it was measured")
	}
	settle(b, s, coarse(s))
	ref := s.setup
	if err := ref.Prepare(context.Background()); err != nil {
		t.Fatal(err)
	}
	relief := s.setup.ReliefDB()
	if relief != ref.ReliefDB() {
		t.Errorf("the limiter gives %v dB, the planner says %v", relief, ref.ReliefDB())
	}
	b.do("plan.limiter.off")
	if s.setup.ReliefDB() != 0 {
		t.Error("the limiter is off and gives something")
	}
	b.do("plan.limiter.before")
	if s.setup.ReliefDB() != relief {
		t.Errorf("the limiter gives %v dB, was %v", s.setup.ReliefDB(), relief)
	}
	b.do("plan.reset")
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
	ref, err := s.setup.Sensitivity(context.Background(), s.setup.Chain.Preamp.GainDB, planSwings, planSeed, nil)
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
	b.do("plan.microphone.condenser")
	settle(b, s, coarse(s))
	b.set("plan.gain_db", 21.5)
	b.do("plan.use")
	if b.p.Scene().ID() != "tab.gain" {
		t.Errorf("shows %q", b.p.Scene().Title())
	}
	for i, want := range []float64{21.5, 9.5} {
		c := b.p.Bench().Chain(i)
		if c.Preamp.GainDB != want || c.Microphone != plan.Microphones()[1].Microphone {
			t.Errorf("strip %s: %v dB with %+v", stripNames[i], c.Preamp.GainDB, c.Microphone)
		}
	}
}

// TestPlanRefuses: a bad value changes nothing.
func TestPlanRefuses(t *testing.T) {
	b, s := planBench(t)
	was := s.setup
	for _, it := range []Intent{
		{ID: "plan.distance_m", Do: "set", Value: 1}, {ID: "plan.distance_m", Do: "set", Text: "near"}, {ID: "plan.risk", Do: "set", Value: 100},
		{ID: "plan.laugh_db", Do: "set", Value: math.NaN()}, {ID: "plan.gain_db", Do: "set", Value: 71}, {ID: "plan.nothing", Do: "press"},
		{ID: "record", Do: "press"},
	} {
		if err := b.p.Apply(it); err == nil {
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
	b.do("plan.view.assumptions")
	seen := map[string]bool{}
	key := func(k Key) {
		b.now += 1.0 / 60
		b.p.Frame(Input{Size: b.size, Scale: 1, Seconds: b.now, Keys: []KeyPress{{Key: k}}})
	}
	for range 80 {
		key("Tab")
		seen[b.p.Focused()] = true
		if f := b.p.Focused(); f != "" {
			n := b.node(f)
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
	if err := b.p.Apply(Intent{ID: "plan.laugh_db", Do: "focus"}); err != nil {
		t.Fatal(err)
	}
	for _, k := range []Key{"1", "1", ".", "5", "Enter"} {
		key(k)
	}
	if s.setup.Model.LaughDB != 11.5 {
		t.Errorf("typed 11.5, the laugh is %v dB over talk", s.setup.Model.LaughDB)
	}
}

func TestPlanLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := planBench(t)
	look := func(state string) {
		t.Helper()
		lookAll(t, b, state, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			moved := false
			for _, p := range []*scroller{&s.page, &s.left, &s.list} {
				moved = p.by(dy) || moved
			}
			s.Layout(b.p.Theme(), s.area)
			return moved
		})
	}
	look("at the start")
	settle(b, s, func() bool { return s.known[planHelps] })
	look("remedies")
	b.do("plan.view.assumptions")
	look("assumptions")
	b.set("plan.distance_m", 100)
	b.set("plan.room.noise_dba", 50)
	b.do("plan.view.remedies")
	settle(b, s, func() bool { return s.known[planHelps] })
	if !s.win.Empty() || len(s.needs) == 0 {
		t.Fatalf("a meter away in a kitchen: window %+v, needs %v", s.win, s.needs)
	}
	look("no window")
	b.do("plan.reset")
	settle(b, s, func() bool { return s.known[planSpread] })
	b.do("plan.view.matters")
	look("what matters")
}

func TestPlanShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	b, s := planBench(t)
	sh := shotter{b, dir}
	sh.shot("plan-start", 1280, 720)
	settle(b, s, func() bool { return s.known[planHelps] })
	sh.shots("plan")
	b.do("plan.view.assumptions")
	sh.shots("plan-assumptions")
	b.do("text_size")
	b.do("text_size")
	sh.shot("plan-text150", 1440, 900)
	sh.shot("plan-text150", 1280, 720)
	b.do("text_size")
	b.do("text_size")
	b.do("text_size")
	b.do("theme")
	b.set("plan.distance_m", 100)
	b.set("plan.room.noise_dba", 50)
	b.do("plan.view.remedies")
	settle(b, s, func() bool { return s.known[planHelps] })
	sh.shot("plan-none", 1280, 720)
	b.do("plan.reset")
	settle(b, s, func() bool { return s.known[planSpread] })
	b.do("plan.view.matters")
	sh.shots("plan-matters")
}
