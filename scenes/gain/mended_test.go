package gain

import (
	"math"
	"strings"
	"testing"
	"time"

	"gainwright/scenes/bench"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/repair"
)

// mends waits until the take's mended version can be heard, or nothing is worked on.
func mends(b *scenetest.Driver) {
	b.Helper()
	g := gainOf(b.P)
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		b.Wait(1.0 / 60)
		if g.mend.take == g.Bench.Take() && g.mend.take != nil && g.mend.job == nil {
			return
		}
		time.Sleep(time.Millisecond)
	}
	b.Fatal("nothing was mended")
}

// trueWave is what there was to be recorded of a take, full scale 1.
func trueWave(t *bench.Take, strip int) []float64 {
	n := t.Frames()
	var e bench.Envelope
	t.Columns(&e, strip, 0, n, int(n))
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(e.Hi[bench.TapTruth][i]) // of one sample each
	}
	return x
}

// TestMended: the clipped strip of a take is mended beside the screen, nearer to the
// truth than it was, and heard in step and equally loud; both on a thread of its own
// and in slices.
func TestMended(t *testing.T) {
	defer func(was bool) { work.Sliced = was }(work.Sliced)
	for _, sliced := range []bool{false, true} {
		work.Sliced = sliced
		b := gainBench(t)
		s, g := b.P.Bench(), gainOf(b.P)
		b.Do("A.limiter.off")
		b.Set("A.gain_db", 58)
		b.Set("B.gain_db", 25)
		if n := b.Node("listen.mended"); !n.Disabled || n.Why == "" {
			t.Errorf("before any take: %+v", n)
		}
		if err := b.P.Apply(ui.Intent{ID: "listen.mended", Do: "press"}); err == nil {
			t.Error("nothing was mended, and it is heard")
		}
		b.Do("record")
		b.Wait(2)
		b.Do("event.laugh")
		b.Wait(3)
		b.Do("record")
		b.Wait(1.0 / 60)
		mends(b)
		if !s.HasMended() {
			t.Fatalf("sliced %v: %s", sliced, b.Node("listen.mended").Why)
		}
		if !strings.Contains(b.P.Announce(), "strip A") || !strings.Contains(b.P.Announce(), "can be heard mended") {
			t.Errorf("announced %q", b.P.Announce())
		}
		take := s.Take()
		// Other scenes borrow the bench; it comes back with everything that was there.
		said := b.P.Announce()
		for _, tab := range []string{"tab.practice", "tab.lessons", "tab.gain"} {
			b.Do(tab)
			b.Wait(3.0 / 60)
		}
		if s.Take() != take || !s.HasMended() || b.P.Announce() != said {
			t.Errorf("sliced %v: after a visit to other scenes mended %v, announced %q", sliced, s.HasMended(), b.P.Announce())
		}
		truth := trueWave(take, 0)
		was, now := make([]float64, len(truth)), make([]float64, len(truth))
		touched := 0
		_, mended, lufs := s.Mended()
		for i := range truth {
			was[i], now[i] = float64(take.File[0][i]), float64(mended[i])
			if was[i] != now[i] {
				touched++
				if math.Abs(was[i]) < 0.99 {
					t.Fatalf("sample %d was %v, not cut off, and is %v now", i, was[i], now[i])
				}
			}
		}
		d0, d1 := repair.SDR(truth, was, false), repair.SDR(truth, now, false)
		t.Logf("sliced %v: %d of %d samples mended, SDR %.1f dB, %.1f dB before", sliced, touched, len(now), d1, d0)
		if touched == 0 || d1 < d0+3 {
			t.Errorf("mended %.1f dB from the truth, as recorded %.1f dB", d1, d0)
		}
		// In step, and as loud.
		b.Do("listen.B")
		b.Do("play")
		b.Wait(0.5)
		at := s.Place()
		b.Key("9")
		b.Wait(0.25)
		if s.Listening() != bench.ListenMended || !s.Playing() {
			t.Fatalf("key 9: %v is heard, playing %v", s.Listening(), s.Playing())
		}
		if got := s.Place() - at; math.Abs(got-0.25) > 0.05 {
			t.Errorf("a quarter of a second later it is %v s on", got)
		}
		if l := work.LoudnessLUFS(now); math.Abs(l-lufs) > 0.1 {
			t.Errorf("matched as %.2f LUFS, is %.2f", lufs, l)
		}
		// It can be compared blind.
		b.Do("blind.start")
		for g.blind.Pair[1] != bench.ListenMended {
			b.Do("blind.second")
		}
		b.Do("blind.stop")
		// Of a strip that is not clipped there is nothing to mend; A's stays.
		b.Do("listen.B")
		b.Wait(0.1)
		if n := b.Node("listen.mended"); n.Disabled || n.Name != "Listen to strip A mended" {
			t.Errorf("%+v", n)
		}
		// The next take takes it away.
		b.Do("listen.mended")
		b.Do("check")
		b.Set("A.gain_db", 20)
		b.Do("record")
		b.Wait(1)
		b.Do("record")
		mends(b)
		if n := b.Node("listen.mended"); s.HasMended() || !n.Disabled || !strings.Contains(n.Why, "nothing was cut off") || s.Listening() == bench.ListenMended {
			t.Errorf("after a clean take: %+v, listening to %v", n, s.Listening())
		}
	}
}

// TestMendedFollows: with two clipped strips the one shown is mended, and what was
// mended before is not worked out again.
func TestMendedFollows(t *testing.T) {
	b := gainBench(t)
	s, g := b.P.Bench(), gainOf(b.P)
	b.Set("A.gain_db", 62)
	b.Set("B.gain_db", 60)
	b.Do("show.A")
	b.Do("record")
	b.Wait(1.5)
	b.Do("record")
	mends(b)
	strip, a, _ := s.Mended()
	if strip != 0 || a == nil {
		t.Fatalf("strip %d, %s", strip, g.mend.none)
	}
	b.Do("listen.mended")
	b.Do("show.B")
	mends(b)
	if k, x, _ := s.Mended(); k != 1 || s.Listening() == bench.ListenMended && x == nil {
		t.Errorf("strip %d is mended, %v is heard", k, s.Listening())
	}
	b.Do("show.A")
	b.Wait(1.0 / 60)
	if _, x, _ := s.Mended(); g.mend.job != nil || &x[0] != &a[0] {
		t.Error("strip A is mended once more")
	}
	// A lesson borrows the bench and gives it back.
	b.Do("tab.practice")
	b.Wait(0.1)
	b.Do("tab.gain")
	mends(b)
	if !s.HasMended() || s.Take() != g.mend.take {
		t.Error("nothing is mended any more")
	}
}
