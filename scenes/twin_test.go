package scenes

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// newTwinBench drives a program of this scene and the one with the strips.
func newTwinBench(t testing.TB) *bench {
	return drive(t, build(t, nil, func(sh Shell) []Scene { return amid(newGainScene(sh), newTwinScene(sh)) }))
}

func twinBench(t testing.TB) (*bench, *twinScene) {
	b := newTwinBench(t)
	b.do("tab.twin")
	s, ok := b.p.Scene().(*twinScene)
	if !ok {
		t.Fatalf("at %q", b.p.Scene().Title())
	}
	b.until("the pair is made", s.upToDate)
	return b, s
}

// TestTwin is what the scene is for: the files are equal and stay so under any
// treatment; with less gain they differ.
func TestTwin(t *testing.T) {
	b, s := twinBench(t)
	if !s.st.same() || s.st.differing != 0 {
		t.Fatalf("%d samples differ", s.st.differing)
	}
	if w := b.node("twin.files").Value; !strings.Contains(w, "equal to the last bit") {
		t.Errorf("files: %q", w)
	}
	if s.st.pair.Free < 500 || math.Abs(s.st.pair.LevelDB) < 5 {
		t.Errorf("%d free samples, %.1f dB apart: nobody would hear a difference", s.st.pair.Free, s.st.pair.LevelDB)
	}
	if !strings.HasPrefix(b.node("status").Value, "Two performances, one file") {
		t.Errorf("status: %q", b.node("status").Value)
	}
	plain := s.st.sum[0]
	for i, c := range s.treats {
		b.do("twin.treat." + c.id)
		b.until(c.name, s.upToDate)
		if !s.st.same() {
			t.Errorf("%s: the results differ in %d samples", c.name, s.st.differing)
		}
		if changed := s.st.sum[0] != plain; changed != (i != 0) {
			t.Errorf("%s: changed the file: %v", c.name, changed)
		}
	}
	b.do("twin.treat.none")
	// Nothing that is heard or told in equal files depends on the draw.
	b.until("untreated", s.upToDate)
	// Drawn afresh each time: that 24 draws fall all on one side happens once in
	// eight million runs.
	const trials = 24
	for range trials {
		b.do("twin.listen.unknown")
		got := s.d.tracks[twinUnknown]
		for i, v := range got.x {
			if v != s.st.out[0][i] || v != s.st.out[1][i] {
				t.Fatal("the recording is none of the files")
			}
		}
		if got.gainDB != s.d.tracks[twinFirstFile].gainDB || got.gainDB != s.d.tracks[twinSecondFile].gainDB {
			t.Fatal("the recording's gain gives the draw away")
		}
		b.do("twin.answer.first")
	}
	if y := s.tally[0]; y.n != trials || y.right == 0 || y.right == trials {
		t.Errorf("always the same answer was right %d of %d times", y.right, y.n)
	}
	if w := b.node("twin.score").Value; !strings.Contains(w, fmt.Sprintf("equal files: %d of %d right", s.tally[0].right, trials)) {
		t.Errorf("score: %q", w)
	}
	for _, gain := range []float64{26, 38, 49} {
		b.set("twin.gain_db", gain)
		b.until("recorded again", s.upToDate)
		if s.st.same() || s.st.differing == 0 {
			t.Errorf("at %g dB the files are equal", gain)
		}
		if d := float64(s.st.rec[0].over); gain == 26 && d != 0 {
			t.Errorf("at %g dB %g samples went over", gain, d)
		}
		if d := s.st.apartDB; !(d > -60 && d < 3) {
			t.Errorf("at %g dB the files are %g dB apart", gain, d)
		}
	}
	// One who hears which it is.
	b.set("twin.gain_db", 26)
	b.until("recorded again", s.upToDate)
	for range 6 {
		b.do("twin.answer." + ordinals[s.drawn])
	}
	if y := s.tally[1]; y.right != 6 || math.Abs(y.p()-1.0/64) > 1e-12 {
		t.Errorf("%d of %d, p %g", y.right, y.n, y.p())
	}
	b.do("twin.score.reset")
	if s.tally != [2]tally{} || b.p.Apply(Intent{ID: "twin.score.reset", Do: "press"}) == nil {
		b.wait(0.1)
		if err := b.p.Apply(Intent{ID: "twin.score.reset", Do: "press"}); err == nil {
			t.Error("an empty score can be reset")
		}
	}
}

// TestTwinListening: clipped sound is announced, the bench is silent meanwhile
// and goes on afterwards, the shortcut and the place work.
func TestTwinListening(t *testing.T) {
	b, s := twinBench(t)
	b.do("play")
	b.wait(0.3)
	if !s.d.playing() || s.d.player.Position() < Rate/5 {
		t.Errorf("the first performance does not play: %d", s.d.player.Position())
	}
	frame := b.p.Bench().View().Frame
	b.do("twin.listen.first_file")
	b.wait(0.1)
	if s.d.playing() || !strings.Contains(b.p.Announce(), "clipped") {
		t.Errorf("clipped sound plays unannounced: %q", b.p.Announce())
	}
	b.do("caution.cancel")
	b.wait(0.1)
	if s.d.playing() {
		t.Error("it plays all the same")
	}
	b.p.Frame(Input{Size: b.size, Seconds: b.now, Keys: []KeyPress{{Key: "p"}}})
	b.wait(0.1)
	b.do("caution.play")
	b.wait(0.3)
	if !s.d.playing() || !s.d.warned {
		t.Error("does not play after the caution")
	}
	b.do("twin.listen.second_file")
	b.wait(0.1)
	if !s.d.playing() {
		t.Error("asks again")
	}
	b.set("take.at_s", 1)
	b.wait(0.1)
	if p := s.d.player.Position(); p < Rate || p > Rate*12/10 {
		t.Errorf("at %d", p)
	}
	if now := b.p.Bench().View().Frame; now != frame {
		t.Errorf("the bench went on by %d frames", now-frame)
	}
	if err := b.p.Apply(Intent{ID: "record", Do: "press"}); err == nil {
		t.Error("records here")
	}
	b.do("tab.gain")
	b.wait(0.2)
	if s.d.playing() || b.p.Bench().View().Frame == frame {
		t.Error("the bench does not come back")
	}
	b.do("tab.twin")
	b.wait(0.2)
	if s.d.playing() {
		t.Error("plays by itself on coming back")
	}
}

// TestTwinRefuses: out of range and unknown are errors and change nothing.
func TestTwinRefuses(t *testing.T) {
	b, s := twinBench(t)
	for _, it := range []Intent{
		{ID: "twin.gain_db", Do: "set", Value: 60}, {ID: "twin.gain_db", Do: "set", Value: math.NaN()}, {ID: "twin.gain_db", Do: "press"},
		{ID: "twin.treat.miracle", Do: "press"}, {ID: "take.at_s", Do: "set", Value: 99}, {ID: "scope.at_ms", Do: "set", Value: -1},
		{ID: "caution.play", Do: "press"}, {ID: "A.gain_db", Do: "set", Value: 1},
	} {
		if err := b.p.Apply(it); err == nil {
			t.Errorf("%+v is no error", it)
		}
	}
	if !s.upToDate() || s.want.gain != twinGain {
		t.Error("something changed")
	}
}

// TestSlicedWork: where all share one thread the picture gets its turn, and the
// result is the same.
func TestSlicedWork(t *testing.T) {
	b, s := twinBench(t)
	want := s.st.sum[0]
	sliceWork = true
	defer func() { sliceWork = false }()
	c, u := twinBench(t)
	if u.st.sum[0] != want {
		t.Error("in slices another file comes out")
	}
	c.do("twin.treat.declip")
	c.until("declipped", u.upToDate)
	if !u.st.same() {
		t.Error("declipped in pieces the files differ")
	}
	// Changing one's mind gives the work up.
	c.set("twin.gain_db", 30)
	c.wait(1.0 / 60)
	first := u.job
	c.set("twin.gain_db", 29)
	c.until("recorded", u.upToDate)
	if u.st.gain != 29 || first == u.job {
		t.Error("the old gain was recorded")
	}
	_ = b
}

// TestTwinShots writes pictures where GAINWRIGHT_SHOTS says; it is not a check.
func TestTwinShots(t *testing.T) {
	b := newShooter(t, newTwinBench)
	b.do("tab.twin")
	b.wait(0.05)
	b.shot("twin-work", 1280, 720)
	s := b.p.Scene().(*twinScene)
	b.until("made", s.upToDate)
	for _, z := range [][2]int{{1024, 640}, {1280, 720}, {1440, 900}, {820, 1180}} {
		b.shot("twin", z[0], z[1])
	}
	b.do("twin.listen.second_file")
	b.do("play")
	b.do("twin.answer.first")
	b.shot("twin-caution", 1280, 720)
	b.do("caution.cancel")
	b.do("twin.treat.declip")
	b.until("declipped", s.upToDate)
	b.shot("twin-declip", 1440, 900)
	b.do("twin.treat.none")
	b.set("twin.gain_db", 40)
	b.until("recorded", s.upToDate)
	b.do("theme")
	b.shot("twin-low-light", 1280, 720)
	b.do("theme")
	b.do("text_size")
	b.do("text_size")
	b.shot("twin-text150", 1440, 900)
	b.shot("twin-text150", 1024, 640)
	b.shot("twin-text150", 820, 1180)
}

func TestTwinLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b := newTwinBench(t)
	b.do("tab.twin")
	s := b.p.Scene().(*twinScene)
	b.until("made", s.upToDate)
	checkScene(t, b, "equal", &s.l.pane)
	b.do("twin.listen.first_file")
	b.do("play")
	b.do("twin.answer.second")
	b.do("twin.treat.denoise")
	b.until("treated", s.upToDate)
	checkScene(t, b, "caution, treated", &s.l.pane)
	b.do("caution.cancel")
	b.set("twin.gain_db", 41.5)
	b.until("recorded", s.upToDate)
	b.do("twin.answer.second")
	checkScene(t, b, "different", &s.l.pane)
}
