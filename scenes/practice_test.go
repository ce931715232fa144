package scenes

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/practice"
	"gainwright/scenes/ink"
)

func practiceScenes(sh Shell) []Scene {
	g := newGainScene(sh)
	return amid(g, newPracticeScene(sh, g))
}

func practiceVisit(t testing.TB, h Host) *bench { return drive(t, build(t, h, practiceScenes)) }

func practiceBench(t testing.TB, host Host) (*bench, *practiceScene) {
	t.Helper()
	var s *practiceScene
	b := drive(t, build(t, host, func(sh Shell) []Scene {
		g := newGainScene(sh)
		s = newPracticeScene(sh, g)
		s.draw = func() uint64 { return 11 }
		return amid(g, s)
	}))
	b.do("tab.practice")
	if b.p.Scene() != Scene(s) {
		t.Fatalf("the tab shows %q", b.p.Scene().Title())
	}
	stills(b, s)
	return b, s
}

// stills waits until no work is under way and nothing rolls.
func stills(b *bench, s *practiceScene) {
	b.Helper()
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); {
		b.wait(1.0 / 60)
		if s.pr != nil && s.job == nil && !s.stage.rolling() && s.stage.now == nil {
			return
		}
		if s.job != nil {
			time.Sleep(time.Millisecond)
		}
	}
	b.Fatalf("still %q", s.doing)
}

// TestPractice: a round with a fitting gain and one with far too much; the score is
// that of package lessons, and the history stays.
func TestPractice(t *testing.T) {
	k := keeper{m: map[string]string{}}
	b, s := practiceBench(t, k)
	ref, err := practice.New(11, practice.History{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.guest != ref.Guest() {
		t.Fatalf("%+v sits there, want %+v", s.guest, ref.Guest())
	}
	// The check is live: what the meter reads is what package lessons reads.
	b.wait(float64(len(s.check.X))/Rate + 2)
	m, err := ref.Check(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	live := b.p.Bench().View().Strip[0].Readings
	// The noise is that of another moment.
	if d := float64(live.PeakDBFS) - float64(m["peak_dbfs"]); math.Abs(d) > 0.3 {
		t.Errorf("the check peaks at %v dBFS, want %v", live.PeakDBFS, m["peak_dbfs"])
	}
	for _, id := range []string{"talker.pip", "A.preamp.pad_db", "A.mic.condenser", "distance_m", "strips.add", "event.laugh", "file.open"} {
		if b.p.Apply(Intent{ID: id, Do: "press"}) == nil {
			t.Errorf("%s was allowed", id)
		}
	}
	b.set("A.gain_db", 60)
	if got := s.pr.Bench().Strips[0].Chain.Preamp.GainDB; got != 60 {
		t.Errorf("the practice stands at %v dB", got)
	}
	b.do("record")
	stills(b, s)
	if s.out == nil {
		t.Fatal("no outcome")
	}
	if err := ref.Apply("preamp.gain_db", 60.0); err != nil {
		t.Fatal(err)
	}
	want, err := ref.Talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if s.out.Score != want.Score || s.out.Advice != want.Advice {
		t.Errorf("%v, %q; want %v, %q", s.out.Score, s.out.Advice, want.Score, want.Advice)
	}
	take := b.p.Bench().Take()
	peak := 0.0
	for _, x := range take.File[0] {
		peak = max(peak, math.Abs(float64(x)))
	}
	if w := float64(want.Readings["peak_dbfs"]); math.Abs(decibel(peak)-w) > 0.05 {
		t.Errorf("the take on the bench peaks at %v dBFS, want %v", decibel(peak), w)
	}
	if n := b.node("A.gain_db"); !n.Disabled {
		t.Error("the gain can be set after the conversation")
	}
	if b.p.Apply(Intent{ID: "practice.talk", Do: "press"}) == nil {
		t.Error("the guest says it twice")
	}
	fit := want.FittingGainDB
	b.do("practice.next")
	stills(b, s)
	if s.guest.Number != 2 || s.out != nil {
		t.Errorf("%+v", s.guest)
	}
	b.set("practice.gain_db", fit)
	b.do("practice.talk")
	rolls(b, s.stage.rolling)
	// Two turns close together are one change.
	b.set("practice.gain_db", fit-1)
	b.set("practice.gain_db", fit-2)
	stills(b, s)
	if h := s.hist.Played; len(h) != 2 || h[1].Changes != 1 || h[1].GainDB != fit {
		t.Errorf("%+v", h)
	}
	if len(s.stage.changes) != 1 || s.stage.changes[0].Value != fit-2 || s.stage.changes[0].AtS < 0.5 {
		t.Errorf("%+v", s.stage.changes)
	}
	// Another visit.
	b, s = practiceBench(t, k)
	if s.guest.Number != 3 || len(s.hist.Played) != 2 {
		t.Errorf("guest %d with %d before", s.guest.Number, len(s.hist.Played))
	}
	b.do("practice.forget")
	if len(s.hist.Played) != 2 {
		t.Error("forgotten at once")
	}
	b.do("practice.forget")
	stills(b, s)
	if s.guest.Number != 1 || len(s.hist.Played) != 0 || k.m["practice"] != "" {
		t.Errorf("guest %d with %d before", s.guest.Number, len(s.hist.Played))
	}
}

// TestPracticeLeaves: the bench comes back, and a conversation that was left counts.
func TestPracticeLeaves(t *testing.T) {
	k := keeper{m: map[string]string{}}
	b, s := practiceBench(t, k)
	b.do("tab.gain")
	if n := b.p.Bench().N(); n != MinStrips || b.p.Bench().File() != nil {
		t.Errorf("%d strips, file %v", n, b.p.Bench().File())
	}
	b.set("A.gain_db", 13)
	b.do("tab.practice")
	stills(b, s)
	if b.p.Bench().N() != 1 || b.p.Bench().File() == nil {
		t.Error("no sound check after coming back")
	}
	b.do("practice.talk")
	rolls(b, s.stage.rolling)
	b.do("tab.gain") // asks first
	b.do("tab.gain")
	if c := b.p.Bench().Chain(0); c.Preamp.GainDB != 13 || b.p.Bench().Mode() == ModeRecord {
		t.Errorf("%v dB, mode %v", c.Preamp.GainDB, b.p.Bench().Mode())
	}
	b.do("tab.practice")
	stills(b, s)
	if s.out == nil || len(s.hist.Played) != 1 {
		t.Error("the conversation that was left does not count")
	}
	b.do("practice.next")
	stills(b, s)
	b.do("tab.gain")
	if c := b.p.Bench().Chain(0); c.Preamp.GainDB != 13 || b.p.Bench().N() != MinStrips {
		t.Errorf("%v dB, %d strips", c.Preamp.GainDB, b.p.Bench().N())
	}
}

func TestPracticeLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	k := keeper{m: map[string]string{"practice": playedHistory(t)}}
	b, s := practiceBench(t, k)
	look := func(state string) {
		t.Helper()
		lookAll(t, b, state, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			moved := s.pane.by(dy)
			s.Layout(b.p.Theme(), s.area)
			return moved
		})
	}
	look("sound check")
	b.do("practice.half.bench")
	look("sound check, the bench")
	b.do("practice.half.panel")
	b.set("practice.gain_db", 62)
	b.do("practice.talk")
	stills(b, s)
	look("outcome")
}

func TestPracticeShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	k := keeper{m: map[string]string{"practice": playedHistory(t)}}
	b, s := practiceBench(t, k)
	sh := shotter{b, dir}
	b.wait(6)
	sh.shots("practice-check")
	b.set("practice.gain_db", 30)
	b.do("practice.talk")
	rolls(b, s.stage.rolling)
	b.wait(6)
	sh.shot("practice-rolling", 1280, 720)
	stills(b, s)
	sh.shots("practice-outcome")
	b.do("text_size")
	b.do("text_size")
	sh.shot("practice-text150", 1280, 720)
	b.do("text_size")
	b.do("text_size")
	b.do("text_size")
	b.do("theme")
	b.do("practice.next")
	stills(b, s)
	b.wait(3)
	sh.shot("practice-light", 1440, 900)
	if !strings.Contains(b.p.Announce(), "Guest") {
		t.Error(b.p.Announce())
	}
}
