package twin

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
)

// withStrips is this scene and the one with the strips.
func withStrips(sh kit.Shell) []kit.Scene { return scenetest.Amid(gain.New(sh), New(sh)) }

func visit(t testing.TB) *scenetest.Driver {
	return scenetest.Drive(t, scenetest.Build(t, nil, withStrips))
}

func twinBench(t testing.TB) (*scenetest.Driver, *Scene) {
	b, s := scenetest.Open[*Scene](t, nil, kit.IDTabTwin, withStrips)
	b.Until("the pair is made", s.upToDate)
	return b, s
}

// TestTwin is what the scene is for: the files are equal and stay so under any
// treatment; with less gain they differ.
func TestTwin(t *testing.T) {
	b, s := twinBench(t)
	if !s.st.same() || s.st.differing != 0 {
		t.Fatalf("%d samples differ", s.st.differing)
	}
	if w := b.Node("twin.files").Value; !strings.Contains(w, "equal to the last bit") {
		t.Errorf("files: %q", w)
	}
	if s.st.pair.Free < 500 || math.Abs(s.st.pair.LevelDB) < 5 {
		t.Errorf("%d free samples, %.1f dB apart: nobody would hear a difference", s.st.pair.Free, s.st.pair.LevelDB)
	}
	if !strings.HasPrefix(b.Node("status").Value, "Two performances, one file") {
		t.Errorf("status: %q", b.Node("status").Value)
	}
	plain := s.st.sum[0]
	for i, c := range s.treats {
		b.Do("twin.treat." + c.id)
		b.Until(c.name, s.upToDate)
		if !s.st.same() {
			t.Errorf("%s: the results differ in %d samples", c.name, s.st.differing)
		}
		if changed := s.st.sum[0] != plain; changed != (i != 0) {
			t.Errorf("%s: changed the file: %v", c.name, changed)
		}
	}
	b.Do("twin.treat.none")
	// Nothing that is heard or told in equal files depends on the draw.
	b.Until("untreated", s.upToDate)
	// Drawn afresh each time: that 24 draws fall all on one side happens once in
	// eight million runs.
	const trials = 24
	for range trials {
		b.Do("twin.listen.unknown")
		got := s.d.Tracks[twinUnknown]
		for i, v := range got.X {
			if v != s.st.out[0][i] || v != s.st.out[1][i] {
				t.Fatal("the recording is none of the files")
			}
		}
		if got.GainDB != s.d.Tracks[twinFirstFile].GainDB || got.GainDB != s.d.Tracks[twinSecondFile].GainDB {
			t.Fatal("the recording's gain gives the draw away")
		}
		b.Do("twin.answer.first")
	}
	if y := s.tally[0]; y.n != trials || y.right == 0 || y.right == trials {
		t.Errorf("always the same answer was right %d of %d times", y.right, y.n)
	}
	if w := b.Node("twin.score").Value; !strings.Contains(w, fmt.Sprintf("equal files: %d of %d right", s.tally[0].right, trials)) {
		t.Errorf("score: %q", w)
	}
	for _, gain := range []float64{26, 38, 49} {
		b.Set("twin.gain_db", gain)
		b.Until("recorded again", s.upToDate)
		if s.st.same() || s.st.differing == 0 {
			t.Errorf("at %g dB the files are equal", gain)
		}
		if d := float64(s.st.rec[0].Over); gain == 26 && d != 0 {
			t.Errorf("at %g dB %g samples went over", gain, d)
		}
		if d := s.st.apartDB; !(d > -60 && d < 3) {
			t.Errorf("at %g dB the files are %g dB apart", gain, d)
		}
	}
	// One who hears which it is.
	b.Set("twin.gain_db", 26)
	b.Until("recorded again", s.upToDate)
	for range 6 {
		b.Do("twin.answer." + ordinals[s.drawn])
	}
	if y := s.tally[1]; y.right != 6 || math.Abs(y.p()-1.0/64) > 1e-12 {
		t.Errorf("%d of %d, p %g", y.right, y.n, y.p())
	}
	b.Do("twin.score.reset")
	if s.tally != [2]tally{} || b.P.Apply(ui.Intent{ID: "twin.score.reset", Do: "press"}) == nil {
		b.Wait(0.1)
		if err := b.P.Apply(ui.Intent{ID: "twin.score.reset", Do: "press"}); err == nil {
			t.Error("an empty score can be reset")
		}
	}
}

// TestTwinListening: clipped sound is announced, the bench is silent meanwhile
// and goes on afterwards, the shortcut and the place work.
func TestTwinListening(t *testing.T) {
	b, s := twinBench(t)
	b.Do("play")
	b.Wait(0.3)
	if !s.d.Playing() || s.d.Player.Position() < bench.Rate/5 {
		t.Errorf("the first performance does not play: %d", s.d.Player.Position())
	}
	frame := b.P.Bench().View().Frame
	b.Do("twin.listen.first_file")
	b.Wait(0.1)
	if s.d.Playing() || !strings.Contains(b.P.Announce(), "clipped") {
		t.Errorf("clipped sound plays unannounced: %q", b.P.Announce())
	}
	b.Do("caution.cancel")
	b.Wait(0.1)
	if s.d.Playing() {
		t.Error("it plays all the same")
	}
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Keys: []ui.KeyPress{{Key: "p"}}})
	b.Wait(0.1)
	b.Do("caution.play")
	b.Wait(0.3)
	if !s.d.Playing() || !s.d.Warned {
		t.Error("does not play after the caution")
	}
	b.Do("twin.listen.second_file")
	b.Wait(0.1)
	if !s.d.Playing() {
		t.Error("asks again")
	}
	b.Set("take.at_s", 1)
	b.Wait(0.1)
	if p := s.d.Player.Position(); p < bench.Rate || p > bench.Rate*12/10 {
		t.Errorf("at %d", p)
	}
	if now := b.P.Bench().View().Frame; now != frame {
		t.Errorf("the bench went on by %d frames", now-frame)
	}
	if err := b.P.Apply(ui.Intent{ID: "record", Do: "press"}); err == nil {
		t.Error("records here")
	}
	b.Do("tab.gain")
	b.Wait(0.2)
	if s.d.Playing() || b.P.Bench().View().Frame == frame {
		t.Error("the bench does not come back")
	}
	b.Do("tab.twin")
	b.Wait(0.2)
	if s.d.Playing() {
		t.Error("plays by itself on coming back")
	}
}

// TestTwinRefuses: out of range and unknown are errors and change nothing.
func TestTwinRefuses(t *testing.T) {
	b, s := twinBench(t)
	for _, it := range []ui.Intent{
		{ID: "twin.gain_db", Do: "set", Value: 60}, {ID: "twin.gain_db", Do: "set", Value: math.NaN()}, {ID: "twin.gain_db", Do: "press"},
		{ID: "twin.treat.miracle", Do: "press"}, {ID: "take.at_s", Do: "set", Value: 99}, {ID: "scope.at_ms", Do: "set", Value: -1},
		{ID: "caution.play", Do: "press"}, {ID: "A.gain_db", Do: "set", Value: 1},
	} {
		if err := b.P.Apply(it); err == nil {
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
	work.Sliced = true
	defer func() { work.Sliced = false }()
	c, u := twinBench(t)
	if u.st.sum[0] != want {
		t.Error("in slices another file comes out")
	}
	c.Do("twin.treat.declip")
	c.Until("declipped", u.upToDate)
	if !u.st.same() {
		t.Error("declipped in pieces the files differ")
	}
	// Changing one's mind gives the work up.
	c.Set("twin.gain_db", 30)
	c.Wait(1.0 / 60)
	first := u.job
	c.Set("twin.gain_db", 29)
	c.Until("recorded", u.upToDate)
	if u.st.gain != 29 || first == u.job {
		t.Error("the old gain was recorded")
	}
	_ = b
}

// TestTwinShots writes pictures where GAINWRIGHT_SHOTS says; it is not a check.
func TestTwinShots(t *testing.T) {
	b := scenetest.NewShooter(t, visit)
	b.Do("tab.twin")
	b.Wait(0.05)
	b.Shot("twin-work", 1280, 720)
	s := b.P.Scene().(*Scene)
	b.Until("made", s.upToDate)
	for _, z := range [][2]int{{1024, 640}, {1280, 720}, {1440, 900}, {820, 1180}} {
		b.Shot("twin", z[0], z[1])
	}
	b.Do("twin.listen.second_file")
	b.Do("play")
	b.Do("twin.answer.first")
	b.Shot("twin-caution", 1280, 720)
	b.Do("caution.cancel")
	b.Do("twin.treat.declip")
	b.Until("declipped", s.upToDate)
	b.Shot("twin-declip", 1440, 900)
	b.Do("twin.treat.none")
	b.Set("twin.gain_db", 40)
	b.Until("recorded", s.upToDate)
	b.Do("theme")
	b.Shot("twin-low-light", 1280, 720)
	b.Do("theme")
	b.Do("text_size")
	b.Do("text_size")
	b.Shot("twin-text150", 1440, 900)
	b.Shot("twin-text150", 1024, 640)
	b.Shot("twin-text150", 820, 1180)
}

func TestTwinLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b := scenetest.Drive(t, scenetest.Build(t, nil, withStrips))
	b.Do("tab.twin")
	s := b.P.Scene().(*Scene)
	b.Until("made", s.upToDate)
	scenetest.CheckScene(t, b, "equal", &s.l.Pane)
	b.Do("twin.listen.first_file")
	b.Do("play")
	b.Do("twin.answer.second")
	b.Do("twin.treat.denoise")
	b.Until("treated", s.upToDate)
	scenetest.CheckScene(t, b, "caution, treated", &s.l.Pane)
	b.Do("caution.cancel")
	b.Set("twin.gain_db", 41.5)
	b.Until("recorded", s.upToDate)
	b.Do("twin.answer.second")
	scenetest.CheckScene(t, b, "different", &s.l.Pane)
}
