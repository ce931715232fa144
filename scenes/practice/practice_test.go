package practice

import (
	"math"
	"os"
	"strings"
	"testing"

	"gainwright/lessons/practice"
	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
)

func practiceScenes(sh kit.Shell) []kit.Scene {
	g := gain.New(sh)
	return scenetest.Amid(g, New(sh, g))
}

func practiceVisit(t testing.TB, h kit.Host) *scenetest.Driver {
	return scenetest.Drive(t, scenetest.Build(t, h, practiceScenes))
}

func practiceBench(t testing.TB, host kit.Host) (*scenetest.Driver, *Scene) {
	t.Helper()
	b, s := scenetest.Open[*Scene](t, host, kit.IDTabPractice, func(sh kit.Shell) []kit.Scene {
		g := gain.New(sh)
		s := New(sh, g)
		s.draw = func() uint64 { return 11 }
		return scenetest.Amid(g, s)
	})
	stills(b, s)
	return b, s
}

// stills waits until no work is under way and nothing rolls.
func stills(b *scenetest.Driver, s *Scene) {
	b.Helper()
	b.Settle(func() string { return s.doing }, func() bool {
		return s.pr != nil && s.job == nil && !s.stage.Rolling() && s.stage.Now == nil
	})
}

// TestPractice: a round with a fitting gain and one with far too much; the score is
// that of package lessons, and the history stays.
func TestPractice(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := practiceBench(t, k)
	ref, err := practice.New(11, practice.History{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s.guest != ref.Guest() {
		t.Fatalf("%+v sits there, want %+v", s.guest, ref.Guest())
	}
	// The check is live: what the meter reads is what package lessons reads.
	b.Wait(float64(len(s.check.X))/bench.Rate + 2)
	m, err := ref.Check(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	live := b.P.Bench().View().Strip[0].Readings
	// The noise is that of another moment.
	if d := float64(live.PeakDBFS) - float64(m["peak_dbfs"]); math.Abs(d) > 0.3 {
		t.Errorf("the check peaks at %v dBFS, want %v", live.PeakDBFS, m["peak_dbfs"])
	}
	for _, id := range []string{"talker.pip", "A.preamp.pad_db", "A.mic.condenser", "distance_m", "strips.add", "event.laugh", "file.open"} {
		if b.P.Apply(ui.Intent{ID: id, Do: "press"}) == nil {
			t.Errorf("%s was allowed", id)
		}
	}
	b.Set("A.gain_db", 60)
	if got := s.pr.Bench().Strips[0].Chain.Preamp.GainDB; got != 60 {
		t.Errorf("the practice stands at %v dB", got)
	}
	b.Do("record")
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
	for key, w := range want.Readings {
		if got := s.out.Readings[key]; got != w && !(math.IsNaN(float64(got)) && math.IsNaN(float64(w))) {
			t.Errorf("%s: live %v, offline %v", key, got, w)
		}
	}
	if s.out.Score != want.Score || s.out.Advice != want.Advice {
		t.Errorf("%v, %q; want %v, %q", s.out.Score, s.out.Advice, want.Score, want.Advice)
	}
	take := b.P.Bench().Take()
	peak := 0.0
	for _, x := range take.File[0] {
		peak = max(peak, math.Abs(float64(x)))
	}
	if w := float64(want.Readings["peak_dbfs"]); math.Abs(kit.Decibel(peak)-w) > 1e-5 {
		t.Errorf("the take on the bench peaks at %v dBFS, want %v", kit.Decibel(peak), w)
	}
	if n := b.Node("A.gain_db"); !n.Disabled {
		t.Error("the gain can be set after the conversation")
	}
	if b.P.Apply(ui.Intent{ID: "practice.talk", Do: "press"}) == nil {
		t.Error("the guest says it twice")
	}
	fit := want.FittingGainDB
	b.Do("practice.next")
	stills(b, s)
	if s.guest.Number != 2 || s.out != nil {
		t.Errorf("%+v", s.guest)
	}
	b.Set("A.gain_db", fit)
	b.Do("practice.talk")
	scenetest.Rolls(b, s.stage.Rolling)
	// Two turns close together are one change.
	b.Set("A.gain_db", fit-1)
	b.Set("A.gain_db", fit-2)
	stills(b, s)
	if h := s.hist.Played; len(h) != 2 || h[1].Changes != 1 || h[1].GainDB != fit {
		t.Errorf("%+v", h)
	}
	if c := s.stage.Changes(); len(c) == 0 || c[len(c)-1].Value != fit-2 || c[0].AtS < 0.5 {
		t.Errorf("%+v", c)
	}
	// Another visit.
	b, s = practiceBench(t, k)
	if s.guest.Number != 3 || len(s.hist.Played) != 2 {
		t.Errorf("guest %d with %d before", s.guest.Number, len(s.hist.Played))
	}
	b.Do("practice.forget")
	if len(s.hist.Played) != 2 {
		t.Error("forgotten at once")
	}
	b.Do("practice.forget")
	stills(b, s)
	if s.guest.Number != 1 || len(s.hist.Played) != 0 || k.M["practice"] != "" {
		t.Errorf("guest %d with %d before", s.guest.Number, len(s.hist.Played))
	}
}

// TestPracticeLeaves: the bench comes back, and a conversation that was left counts.
func TestPracticeLeaves(t *testing.T) {
	k := scenetest.Keeper{M: map[string]string{}}
	b, s := practiceBench(t, k)
	b.Do("tab.gain")
	if n := b.P.Bench().N(); n != bench.MinStrips || b.P.Bench().File() != nil {
		t.Errorf("%d strips, file %v", n, b.P.Bench().File())
	}
	b.Set("A.gain_db", 13)
	b.Do("tab.practice")
	stills(b, s)
	if b.P.Bench().N() != 1 || b.P.Bench().File() == nil {
		t.Error("no sound check after coming back")
	}
	b.Do("practice.talk")
	scenetest.Rolls(b, s.stage.Rolling)
	b.Do("tab.gain") // asks first
	b.Do("tab.gain")
	if c := b.P.Bench().Chain(0); c.Preamp.GainDB != 13 || b.P.Bench().Mode() == bench.ModeRecord {
		t.Errorf("%v dB, mode %v", c.Preamp.GainDB, b.P.Bench().Mode())
	}
	b.Do("tab.practice")
	stills(b, s)
	if s.out == nil || len(s.hist.Played) != 1 {
		t.Error("the conversation that was left does not count")
	}
	b.Do("practice.next")
	stills(b, s)
	b.Do("tab.gain")
	if c := b.P.Bench().Chain(0); c.Preamp.GainDB != 13 || b.P.Bench().N() != bench.MinStrips {
		t.Errorf("%v dB, %d strips", c.Preamp.GainDB, b.P.Bench().N())
	}
}

func TestPracticeLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	k := scenetest.Keeper{M: map[string]string{"practice": scenetest.PlayedHistory(t)}}
	b, s := practiceBench(t, k)
	look := func(state string) { t.Helper(); lookPractice(t, b, s, state) }
	look("sound check")
	b.Do("practice.pictures")
	look("sound check, the pictures")
	b.Do("practice.pictures")
	b.Set("A.gain_db", 62)
	b.Do("practice.talk")
	stills(b, s)
	look("outcome")
}

func TestPracticeShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	k := scenetest.Keeper{M: map[string]string{"practice": scenetest.PlayedHistory(t)}}
	b, s := practiceBench(t, k)
	sh := scenetest.Shotter{Driver: b, Dir: dir}
	b.Wait(6)
	sh.Shots("practice-check")
	b.Set("A.gain_db", 30)
	b.Do("practice.talk")
	scenetest.Rolls(b, s.stage.Rolling)
	b.Wait(6)
	sh.Shot("practice-rolling", 1280, 720)
	stills(b, s)
	sh.Shots("practice-outcome")
	b.Do("text_size")
	b.Do("text_size")
	sh.Shot("practice-text150", 1280, 720)
	b.Do("text_size")
	b.Do("text_size")
	b.Do("text_size")
	b.Do("theme")
	b.Do("practice.next")
	stills(b, s)
	b.Wait(3)
	sh.Shot("practice-light", 1440, 900)
	if !strings.Contains(b.P.Announce(), "Guest") {
		t.Error(b.P.Announce())
	}
}

// TestPracticeOnOwnRecorder: where the bench knows the user's recorder, guests sit down at
// it, and the knob begins at its lowest mark; a recorder that no chain has is told and left
// out.
func TestPracticeOnOwnRecorder(t *testing.T) {
	b, s := practiceBench(t, nil)
	b.Do("tab.gain")
	r, err := equipment.Read("mine.yaml", []byte("recorder: {marks: [{mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 124}}, {mark: 10, gain_db: {value: 32}, full_scale_db_spl: {value: 92}}]}"))
	if err != nil {
		t.Fatal(err)
	}
	if err := b.P.Bench().KnowRecorder(r); err != nil {
		t.Fatal(err)
	}
	b.Do(kit.IDTabPractice)
	stills(b, s)
	if s.own != r || !strings.Contains(s.introduction(), "your own recorder") {
		t.Errorf("the guest sits elsewhere: %q", s.introduction())
	}
	if m := b.P.Bench().Mark(0); m != "mark 0" {
		t.Errorf("the knob begins at %q", m)
	}
	b.Do("tab.gain")
	if err := b.P.Bench().KnowRecorder(nil); err != nil {
		t.Fatal(err)
	}
	b.Do(kit.IDTabPractice)
	stills(b, s)
	if s.own != nil || b.P.Bench().Mark(0) != "" || strings.Contains(s.introduction(), "your own") {
		t.Errorf("it stays at the recorder: %q", s.introduction())
	}
}
