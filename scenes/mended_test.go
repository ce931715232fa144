package scenes

import (
	"math"
	"strings"
	"testing"
	"time"

	"gainwright/sim/repair"
)

// mends waits until the take's mended version can be heard, or nothing is worked on.
func mends(b *bench) {
	b.Helper()
	g := gainOf(b.p)
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		b.wait(1.0 / 60)
		if g.mend.take == g.s.Take() && g.mend.take != nil && g.mend.job == nil {
			return
		}
		time.Sleep(time.Millisecond)
	}
	b.Fatal("nothing was mended")
}

// trueWave is what there was to be recorded of a take, full scale 1.
func trueWave(t *Take, strip int) []float64 {
	n := t.Frames()
	var e envelope
	t.Columns(&e, strip, 0, n, int(n))
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(e.hi[tapTruth][i]) // of one sample each
	}
	return x
}

// TestMended: the clipped strip of a take is mended beside the screen, nearer to the
// truth than it was, and heard in step and equally loud; both on a thread of its own
// and in slices.
func TestMended(t *testing.T) {
	defer func(was bool) { sliceWork = was }(sliceWork)
	for _, sliced := range []bool{false, true} {
		sliceWork = sliced
		b := gainBench(t)
		s, g := b.p.Bench(), gainOf(b.p)
		b.do("A.limiter.off")
		b.set("A.gain_db", 58)
		b.set("B.gain_db", 25)
		if n := b.node("listen.mended"); !n.Disabled || n.Why == "" {
			t.Errorf("before any take: %+v", n)
		}
		if err := b.p.Apply(Intent{ID: "listen.mended", Do: "press"}); err == nil {
			t.Error("nothing was mended, and it is heard")
		}
		b.do("record")
		b.wait(2)
		b.do("event.laugh")
		b.wait(3)
		b.do("record")
		b.wait(1.0 / 60)
		mends(b)
		if !s.HasMended() {
			t.Fatalf("sliced %v: %s", sliced, b.node("listen.mended").Why)
		}
		if !strings.Contains(b.p.Announce(), "strip A") || !strings.Contains(b.p.Announce(), "can be heard mended") {
			t.Errorf("announced %q", b.p.Announce())
		}
		take := s.Take()
		// Other scenes borrow the bench; it comes back with everything that was there.
		said := b.p.Announce()
		for _, tab := range []string{"tab.practice", "tab.lessons", "tab.gain"} {
			b.do(tab)
			b.wait(3.0 / 60)
		}
		if s.Take() != take || !s.HasMended() || b.p.Announce() != said {
			t.Errorf("sliced %v: after a visit to other scenes mended %v, announced %q", sliced, s.HasMended(), b.p.Announce())
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
		b.do("listen.B")
		b.do("play")
		b.wait(0.5)
		at := s.Place()
		b.key("9")
		b.wait(0.25)
		if s.Listening() != ListenMended || !s.Playing() {
			t.Fatalf("key 9: %v is heard, playing %v", s.Listening(), s.Playing())
		}
		if got := s.Place() - at; math.Abs(got-0.25) > 0.05 {
			t.Errorf("a quarter of a second later it is %v s on", got)
		}
		if l := loudnessLUFS(now); math.Abs(l-lufs) > 0.1 {
			t.Errorf("matched as %.2f LUFS, is %.2f", lufs, l)
		}
		// It can be compared blind.
		b.do("blind.start")
		for g.blind.pair[1] != ListenMended {
			b.do("blind.second")
		}
		b.do("blind.stop")
		// Of a strip that is not clipped there is nothing to mend; A's stays.
		b.do("listen.B")
		b.wait(0.1)
		if n := b.node("listen.mended"); n.Disabled || n.Name != "Listen to strip A mended" {
			t.Errorf("%+v", n)
		}
		// The next take takes it away.
		b.do("listen.mended")
		b.do("check")
		b.set("A.gain_db", 20)
		b.do("record")
		b.wait(1)
		b.do("record")
		mends(b)
		if n := b.node("listen.mended"); s.HasMended() || !n.Disabled || !strings.Contains(n.Why, "nothing was cut off") || s.Listening() == ListenMended {
			t.Errorf("after a clean take: %+v, listening to %v", n, s.Listening())
		}
	}
}

// TestMendedFollows: with two clipped strips the one shown is mended, and what was
// mended before is not worked out again.
func TestMendedFollows(t *testing.T) {
	b := gainBench(t)
	s, g := b.p.Bench(), gainOf(b.p)
	b.set("A.gain_db", 62)
	b.set("B.gain_db", 60)
	b.do("show.A")
	b.do("record")
	b.wait(1.5)
	b.do("record")
	mends(b)
	strip, a, _ := s.Mended()
	if strip != 0 || a == nil {
		t.Fatalf("strip %d, %s", strip, g.mend.none)
	}
	b.do("listen.mended")
	b.do("show.B")
	mends(b)
	if k, x, _ := s.Mended(); k != 1 || s.Listening() == ListenMended && x == nil {
		t.Errorf("strip %d is mended, %v is heard", k, s.Listening())
	}
	b.do("show.A")
	b.wait(1.0 / 60)
	if _, x, _ := s.Mended(); g.mend.job != nil || &x[0] != &a[0] {
		t.Error("strip A is mended once more")
	}
	// A lesson borrows the bench and gives it back.
	b.do("tab.practice")
	b.wait(0.1)
	b.do("tab.gain")
	mends(b)
	if !s.HasMended() || s.Take() != g.mend.take {
		t.Error("nothing is mended any more")
	}
}
