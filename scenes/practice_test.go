package scenes

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/practice"
	"gainwright/scenes/ink"
)

func practiceBench(t testing.TB, host Host) (*bench, *practiceScene) {
	t.Helper()
	p, err := NewProgram(host)
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{t, p, 0, ink.Point{X: 1280, Y: 720}}
	b.wait(0.1)
	for _, sc := range p.scenes {
		if s, ok := sc.(*practiceScene); ok {
			s.draw = func() uint64 { return 11 }
		}
	}
	b.do("tab.practice")
	s, ok := p.Scene().(*practiceScene)
	if !ok {
		t.Fatalf("the tab shows %q", p.Scene().Title())
	}
	b.still(s)
	return b, s
}

// still waits until no work is under way and nothing rolls.
func (b *bench) still(s *practiceScene) {
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

// rolls waits until a take rolls, and then a little.
func (b *bench) rolls(st *stage) {
	b.Helper()
	for end := time.Now().Add(time.Minute); !st.rolling(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			b.Fatal("no take rolls")
		}
		b.wait(1.0 / 60)
	}
	b.wait(1)
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
	b.still(s)
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
	b.still(s)
	if s.guest.Number != 2 || s.out != nil {
		t.Errorf("%+v", s.guest)
	}
	b.set("practice.gain_db", fit)
	b.do("practice.talk")
	b.rolls(s.stage)
	// Two turns close together are one change.
	b.set("practice.gain_db", fit-1)
	b.set("practice.gain_db", fit-2)
	b.still(s)
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
	b.still(s)
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
	b.still(s)
	if b.p.Bench().N() != 1 || b.p.Bench().File() == nil {
		t.Error("no sound check after coming back")
	}
	b.do("practice.talk")
	b.rolls(s.stage)
	b.do("tab.gain") // asks first
	b.do("tab.gain")
	if c := b.p.Bench().Chain(0); c.Preamp.GainDB != 13 || b.p.Bench().Mode() == ModeRecord {
		t.Errorf("%v dB, mode %v", c.Preamp.GainDB, b.p.Bench().Mode())
	}
	b.do("tab.practice")
	b.still(s)
	if s.out == nil || len(s.hist.Played) != 1 {
		t.Error("the conversation that was left does not count")
	}
	b.do("practice.next")
	b.still(s)
	b.do("tab.lessons")
	b.wait(0.3)
	b.do("lesson.begin.what-the-numbers-mean")
	b.wait(0.3)
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
			s.Layout(&b.p.th, s.area)
			return moved
		})
	}
	look("sound check")
	b.do("practice.half.bench")
	look("sound check, the bench")
	b.do("practice.half.panel")
	b.set("practice.gain_db", 62)
	b.do("practice.talk")
	b.still(s)
	look("outcome")
}

// playedHistory is a history with ups and downs.
func playedHistory(t testing.TB) string {
	h := storedPractice{Seed: 11, History: practice.History{Level: 4}}
	for i, x := range []float64{22, 41.5, 38, 64, 71, 55, 82, 90, 66, 88, 93.5, 74} {
		h.History.Played = append(h.History.Played, practice.Played{Number: i + 1, Level: 1 + i/3, Talker: "joss", Score: x, Overs: int(100-x) / 20, GainDB: 30})
	}
	j, err := json.Marshal(h)
	if err != nil {
		t.Fatal(err)
	}
	return string(j)
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
	b.rolls(s.stage)
	b.wait(6)
	sh.shot("practice-rolling", 1280, 720)
	b.still(s)
	sh.shots("practice-outcome")
	b.do("text_size")
	b.do("text_size")
	sh.shot("practice-text150", 1280, 720)
	b.do("text_size")
	b.do("text_size")
	b.do("text_size")
	b.do("theme")
	b.do("practice.next")
	b.still(s)
	b.wait(3)
	sh.shot("practice-light", 1440, 900)
	if !strings.Contains(b.p.Announce(), "Guest") {
		t.Error(b.p.Announce())
	}
}
