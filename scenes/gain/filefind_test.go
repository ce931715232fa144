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
	"gainwright/sim/diagnose"
	"gainwright/sounds/codec"
)

// dropped drops a file and waits until it was looked at.
func dropped(b *scenetest.Driver, name string, data []byte) {
	b.Helper()
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Drops: []ui.Drop{{Name: name, Data: data}}})
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(time.Millisecond) {
		b.Wait(1.0 / 60)
		if g := gainOf(b.P); g.file.Job == nil && g.load == nil {
			return
		}
	}
	b.Fatal("the file is still looked at")
}

// TestFileFindings: a recording that was brought along tells what happened to it,
// with how sure that is, where, what to do and how much less gain next time; on a
// thread of its own and in slices.
func TestFileFindings(t *testing.T) {
	defer func(was bool) { work.Sliced = was }(work.Sliced)
	for _, sliced := range []bool{false, true} {
		work.Sliced = sliced
		b := gainBench(t)
		s, g := b.P.Bench(), gainOf(b.P)
		if n := b.P.Apply(ui.Intent{ID: "view.file", Do: "press"}); n == nil {
			t.Error("a file is shown that is not there")
		}
		b.Do("A.limiter.off")
		b.Set("B.gain_db", 34)
		b.Set("A.gain_db", 56)
		b.Do("record")
		b.Wait(6)
		b.Do("event.laugh")
		b.Wait(3)
		b.Do("record")
		b.Wait(0.1)
		// The take's own file, brought along.
		take := s.Take()
		x := make([]float64, take.Frames())
		for i := range x {
			x[i] = float64(take.File[0][i])
		}
		wav, err := codec.WAVBytes(bench.Rate, [][]float64{x}, codec.PCM16)
		if err != nil {
			t.Fatal(err)
		}
		need := -float64(take.Readings[0].HeadroomDB)
		dropped(b, "guest.wav", wav)
		f := g.file.Found
		if len(f) == 0 || f[0].Kind != diagnose.FlatFull || f[0].Next == nil {
			t.Fatalf("found %+v", f)
		}
		t.Logf("sliced %v: %s; %.1f dB were missing, %.1f ± %.1f are advised", sliced, b.P.Announce(), need, f[0].Next.LowerDB, f[0].Next.SpreadDB)
		if d := math.Abs(f[0].Next.LowerDB - need); d > 3*f[0].Next.SpreadDB+1 {
			t.Errorf("%.1f dB less are advised, %.1f dB were missing", f[0].Next.LowerDB, need)
		}
		if !strings.Contains(b.P.Announce(), "guest.wav: ") || !strings.Contains(b.P.Announce(), f[0].Next.Words()+" less gain") {
			t.Errorf("announced %q", b.P.Announce())
		}
		n := b.Node("file.finding.1")
		for _, w := range []string{"confidence", "Where: ", "Means: ", "Now: ", "Next time: "} {
			if !strings.Contains(n.Name+n.Value, w) {
				t.Errorf("%q is missing in %q: %q", w, n.Name, n.Value)
			}
		}
		if g.look != viewFile || !b.Node("view.file").Checked {
			t.Error("it is not shown")
		}
		// On to mending it.
		b.Do("file.mend")
		if b.P.Scene().ID() != "tab.mend" {
			t.Fatalf("at %q", b.P.Scene().Title())
		}
		b.Until("the file mended", func() bool { return strings.HasPrefix(b.P.Announce(), "Treated: ") })
		if w := strings.Join(b.ShownWords(nil), "\n"); !strings.Contains(w, "guest.wav") {
			t.Errorf("mended is something else than guest.wav:\n%s", w)
		}
		b.Do("tab.gain")
		// What is whole is said to be.
		for i := range x {
			x[i] = float64(take.File[1][i])
		}
		wav, _ = codec.WAVBytes(bench.Rate, [][]float64{x}, codec.PCM24)
		dropped(b, "bell.wav", wav)
		if a := b.P.Announce(); !strings.HasPrefix(a, "bell.wav: nothing speaks of clipping") {
			t.Errorf("announced %q", a)
		}
		// Another take does not bring the file back; nonsense is told.
		b.Now += 1.0 / 60
		b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "x.wav", Data: []byte("RIFF")}}})
		if !strings.Contains(b.P.Announce(), "x.wav") || g.file.Drop.Name != "bell.wav" {
			t.Errorf("%q; looked at %q", b.P.Announce(), g.file.Drop.Name)
		}
	}
}
