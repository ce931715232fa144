package scenes

import (
	"math"
	"strings"
	"testing"
	"time"

	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

// dropped drops a file and waits until it was looked at.
func dropped(b *bench, name string, data []byte) {
	b.Helper()
	b.now += 1.0 / 60
	b.p.Frame(Input{Size: b.size, Scale: 1, Seconds: b.now, Drops: []Drop{{Name: name, Data: data}}})
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(time.Millisecond) {
		b.wait(1.0 / 60)
		if g := gainOf(b.p); g.file.job == nil && g.load == nil {
			return
		}
	}
	b.Fatal("the file is still looked at")
}

// TestFileFindings: a recording that was brought along tells what happened to it,
// with how sure that is, where, what to do and how much less gain next time; on a
// thread of its own and in slices.
func TestFileFindings(t *testing.T) {
	defer func(was bool) { sliceWork = was }(sliceWork)
	for _, sliced := range []bool{false, true} {
		sliceWork = sliced
		b := gainBench(t)
		s, g := b.p.Bench(), gainOf(b.p)
		if n := b.p.Apply(Intent{ID: "view.file", Do: "press"}); n == nil {
			t.Error("a file is shown that is not there")
		}
		b.do("A.limiter.off")
		b.set("B.gain_db", 34)
		b.set("A.gain_db", 56)
		b.do("record")
		b.wait(6)
		b.do("event.laugh")
		b.wait(3)
		b.do("record")
		b.wait(0.1)
		// The take's own file, brought along.
		take := s.Take()
		x := make([]float64, take.Frames())
		for i := range x {
			x[i] = float64(take.File[0][i])
		}
		wav, err := sounds.WAVBytes(Rate, [][]float64{x}, sounds.PCM16)
		if err != nil {
			t.Fatal(err)
		}
		need := -float64(take.Readings[0].HeadroomDB)
		dropped(b, "guest.wav", wav)
		f := g.file.found
		if len(f) == 0 || f[0].Kind != diagnose.FlatFull || f[0].Next == nil {
			t.Fatalf("found %+v", f)
		}
		t.Logf("sliced %v: %s; %.1f dB were missing, %.1f ± %.1f are advised", sliced, b.p.Announce(), need, f[0].Next.LowerDB, f[0].Next.SpreadDB)
		if d := math.Abs(f[0].Next.LowerDB - need); d > 3*f[0].Next.SpreadDB+1 {
			t.Errorf("%.1f dB less are advised, %.1f dB were missing", f[0].Next.LowerDB, need)
		}
		if !strings.Contains(b.p.Announce(), "guest.wav: ") || !strings.Contains(b.p.Announce(), f[0].Next.Words()+" less gain") {
			t.Errorf("announced %q", b.p.Announce())
		}
		n := b.node("file.finding.1")
		for _, w := range []string{"confidence", "Where: ", "Means: ", "Now: ", "Next time: "} {
			if !strings.Contains(n.Name+n.Value, w) {
				t.Errorf("%q is missing in %q: %q", w, n.Name, n.Value)
			}
		}
		if g.look != viewFile || !b.node("view.file").Checked {
			t.Error("it is not shown")
		}
		// On to mending it.
		b.do("file.mend")
		if b.p.Scene().ID() != "tab.mend" {
			t.Fatalf("at %q", b.p.Scene().Title())
		}
		b.until("the file mended", func() bool { return strings.HasPrefix(b.p.Announce(), "Treated: ") })
		if w := strings.Join(b.shownWords(nil), "\n"); !strings.Contains(w, "guest.wav") {
			t.Errorf("mended is something else than guest.wav:\n%s", w)
		}
		b.do("tab.gain")
		// What is whole is said to be.
		for i := range x {
			x[i] = float64(take.File[1][i])
		}
		wav, _ = sounds.WAVBytes(Rate, [][]float64{x}, sounds.PCM24)
		dropped(b, "bell.wav", wav)
		if a := b.p.Announce(); !strings.HasPrefix(a, "bell.wav: nothing speaks of clipping") {
			t.Errorf("announced %q", a)
		}
		// Another take does not bring the file back; nonsense is told.
		b.now += 1.0 / 60
		b.p.Frame(Input{Size: b.size, Seconds: b.now, Drops: []Drop{{Name: "x.wav", Data: []byte("RIFF")}}})
		if !strings.Contains(b.p.Announce(), "x.wav") || g.file.drop.Name != "bell.wav" {
			t.Errorf("%q; looked at %q", b.p.Announce(), g.file.drop.Name)
		}
	}
}
