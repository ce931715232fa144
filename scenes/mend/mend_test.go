package mend

import (
	"math"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sounds/codec"
)

func (s *Scene) settled() bool {
	return s.take != nil && s.job == nil && s.load == nil && s.res != nil && s.res.order.key(len(s.res.order.steps())) == s.active().key(len(s.active().steps()))
}

// withStrips is this scene and the one with the strips.
func withStrips(sh kit.Shell) []kit.Scene { return scenetest.Amid(gain.New(sh), New(sh)) }

func visit(t testing.TB) *scenetest.Driver {
	return scenetest.Drive(t, scenetest.Build(t, nil, withStrips))
}

func mendBench(t testing.TB) (*scenetest.Driver, *Scene) {
	b, s := scenetest.Open[*Scene](t, nil, kit.IDTabMend, withStrips)
	b.Until("the built-in take is mended", s.settled)
	return b, s
}

// TestMend: what the treatments can do and what they cannot, in numbers.
func TestMend(t *testing.T) {
	b, s := mendBench(t)
	rec, mended, lower := s.figs[mendRecorded], s.figs[mendMended], s.figs[mendLower]
	if s.take.clips.Samples == 0 || !(rec.sdr < 15) {
		t.Fatalf("the built-in take is hardly clipped: %d samples, error %.1f dB below", s.take.clips.Samples, rec.sdr)
	}
	if !(mended.sdr > rec.sdr+3) {
		t.Errorf("declipping: from %.1f to %.1f dB", rec.sdr, mended.sdr)
	}
	if !(lower.sdr > mended.sdr+3) {
		t.Errorf("12 dB less gain: %.1f dB, mended %.1f dB", lower.sdr, mended.sdr)
	}
	if v := b.Node("mend.verdict").Value; !strings.Contains(v, "nearer to the truth") || !strings.Contains(v, "better than the mended one") {
		t.Errorf("verdict: %q", v)
	}
	// The safety track has twice the 12 dB less gain: what is left of the true wave in it.
	cross, own := 0.0, 0.0
	for i, v := range s.take.truth {
		cross, own = cross+v*s.take.safety[i], own+v*v
	}
	if got := 20 * math.Log10(cross/own); math.Abs(got+24) > 0.2 {
		t.Errorf("the safety track lies %.2f dB below the take, want 24", -got)
	}
	// A limiter brings nothing back.
	b.Do("mend.declip")
	b.Do("mend.limit")
	b.Until("limited", s.settled)
	if d := s.figs[mendMended].sdr - rec.sdr; d > 0.5 {
		t.Errorf("a limiter brought %.1f dB back", d)
	}
	if v := b.Node("status").Value; strings.Contains(v, "nearer") {
		t.Errorf("status: %q", v)
	}
	// The safety track does.
	b.Do("mend.limit")
	b.Do("mend.splice")
	b.Until("spliced", s.settled)
	if d := s.figs[mendMended].sdr; d < rec.sdr+10 {
		t.Errorf("spliced: %.1f dB from %.1f dB", d, rec.sdr)
	}
	// Nothing on is the take itself.
	b.Do("mend.splice")
	b.Until("nothing", s.settled)
	for i, v := range s.res.y {
		if v != s.take.x[i] {
			t.Fatal("nothing on, and the take changed")
		}
	}
}

// TestMendOrder: the order counts, and what has been done once is not done again.
func TestMendOrder(t *testing.T) {
	b, s := mendBench(t)
	b.Do("mend.declip")
	b.Do("mend.compress")
	b.Do("mend.limit")
	b.Until("compressed, limited", s.settled)
	one := s.figs[mendMended].peak
	b.Do("mend.limit.up")
	b.Until("limited, compressed", s.settled)
	if s.place(6) != 6 || s.place(5) != 4 || s.place(4) != 5 {
		t.Errorf("order %v", s.order.kinds)
	}
	if two := s.figs[mendMended].peak; math.Abs(one-two) < 0.05 {
		t.Errorf("the order does not count: %.2f and %.2f dBTP", one, two)
	}
	b.Do("mend.limit.down")
	b.Until("back", s.settled)
	if s.figs[mendMended].peak != one {
		t.Errorf("%.4f dBTP, before %.4f", s.figs[mendMended].peak, one)
	}
	if len(s.res.reports) != 0 {
		t.Error("done again though it was known")
	}
	if err := b.P.Apply(ui.Intent{ID: "mend.declip.up", Do: "press"}); err == nil {
		t.Error("the first can be moved up")
	}
}

// TestMendTake: a take of the bench, with somebody leaning in and a gain turned.
func TestMendTake(t *testing.T) {
	b := scenetest.Drive(t, scenetest.Build(t, nil, withStrips))
	b.Set("A.gain_db", 58)
	b.Set("B.gain_db", 40)
	b.Do("A.limiter.off")
	b.Wait(0.5)
	b.Do("record")
	b.Wait(1)
	b.Do("event.lean_in")
	b.Wait(1)
	b.Set("A.gain_db", 55)
	b.Wait(1)
	b.Do("record")
	b.Wait(0.2)
	b.Do("tab.mend")
	s := b.P.Scene().(*Scene)
	b.Until("mended", s.settled)
	if s.from != "mend.source.A" || !strings.Contains(s.take.title, "take 1, strip A") {
		t.Errorf("mends %q, %q", s.from, s.take.title)
	}
	if len(s.take.x) != int(b.P.Bench().Take().Frames()) || s.take.safety == nil {
		t.Errorf("%d samples, safety %v", len(s.take.x), s.take.safety != nil)
	}
	// Where nothing was clipped the file is the truth but for noise, also after the
	// turn and while leaning: so scale and alignment are right.
	var e, x float64
	for i, v := range s.take.truth {
		if math.Abs(v) < 0.9 {
			d := v - s.take.x[i]
			e += d * d
			x += v * v
		}
	}
	if got := 10 * math.Log10(x/e); got < 25 {
		t.Errorf("the truth lies %.1f dB from the unclipped part of the file", got)
	}
	if l := s.figs[mendLower].sdr; l < s.figs[mendRecorded].sdr {
		t.Errorf("12 dB less gain is worse: %.1f and %.1f dB", l, s.figs[mendRecorded].sdr)
	}
	b.Do("mend.source.B")
	b.Until("the other strip", s.settled)
	// Nothing was cut there, and nothing may be taken for it.
	if s.take.over != 0 || s.take.clips.Samples != 0 || s.figs[mendRecorded].sdr < 20 {
		t.Errorf("strip B: %d samples over, %d taken for clipped, %.1f dB", s.take.over, s.take.clips.Samples, s.figs[mendRecorded].sdr)
	}
	if err := b.P.Apply(ui.Intent{ID: "mend.splice", Do: "press"}); err == nil {
		t.Error("a splice without a safety track")
	}
}

// limitedTake is a take of the bench, hot, with the limiter behind the converter.
func limitedTake(t *testing.T) (*scenetest.Driver, *Scene) {
	b := scenetest.Drive(t, scenetest.Build(t, nil, withStrips))
	b.Set("A.gain_db", 58)
	b.Do("A.limiter.after")
	b.Wait(0.5)
	b.Do("record")
	b.Do("event.laugh")
	b.Wait(3)
	b.Do("record")
	b.Wait(0.2)
	b.Do("tab.mend")
	s := b.P.Scene().(*Scene)
	b.Until("mended", s.settled)
	return b, s
}

// TestMendLimited: where a limiter came after the clipping its gain is told, and can be
// left out; in slices as in one piece.
func TestMendLimited(t *testing.T) {
	b, s := limitedTake(t)
	db := s.take.clips.ReductionDB()
	if s.unlimit.Hidden || s.unlimit.On || !(db > 2) || !strings.Contains(s.unlimit.Label, ui.Decimal(db, 1)) {
		t.Fatalf("a limiter's gain of %.1f dB, %q: %v, %d over, place %v", db, s.unlimit.Label, s.take.clips, s.take.over, b.P.Bench().Take().End[0].Limiter)
	}
	rec, kept := s.figs[mendRecorded].sdr, s.figs[mendMended].sdr
	if !strings.Contains(b.Node("mend.verdict").Value, "still on it") {
		t.Errorf("verdict: %q", b.Node("mend.verdict").Value)
	}
	b.Do("mend.undo_limiter")
	b.Until("undone", s.settled)
	undone := s.figs[mendMended].sdr
	t.Logf("recorded %.1f dB, limiter kept %.1f, undone %.1f", rec, kept, undone)
	if undone < kept+3 || kept < rec {
		t.Errorf("recorded %.1f dB, limiter kept %.1f, undone %.1f", rec, kept, undone)
	}
	if !strings.Contains(b.Node("mend.verdict").Value, "is undone") {
		t.Errorf("verdict: %q", b.Node("mend.verdict").Value)
	}
	b.Do("mend.declip")
	b.Until("not declipped", s.settled)
	if err := b.P.Apply(ui.Intent{ID: "mend.undo_limiter", Do: "press"}); err == nil {
		t.Error("the limiter is undone without declip")
	}
	work.Sliced = true
	defer func() { work.Sliced = false }()
	b.Do("mend.declip")
	clear(s.cache)
	b.Until("in slices", s.settled)
	if d := s.figs[mendMended].sdr; math.Abs(d-undone) > 3 { // it sees less at a time, and is cautious by what it sees
		t.Errorf("in slices %.1f dB, in one piece %.1f dB", d, undone)
	}
	// What has no such past has no such row.
	b.Do("mend.source.builtin")
	b.Until("another take", s.settled)
	if err := b.P.Apply(ui.Intent{ID: "mend.undo_limiter", Do: "press"}); err == nil || !s.unlimit.Hidden {
		t.Error("a limiter is undone that was none")
	}
}

// TestMendFile: of a file brought along nobody knows the truth.
func TestMendFile(t *testing.T) {
	b, s := mendBench(t)
	x := make([]float64, 3*bench.Rate)
	for i := range x {
		x[i] = min(max(2*math.Sin(float64(i)*0.03)*math.Sin(float64(i)*0.0003), -0.8), 0.8)
	}
	wav, err := codec.WAVBytes(bench.Rate, [][]float64{x}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "wheelhouse.wav", Data: wav}}})
	b.Until("mended", func() bool { return s.settled() && s.from == "file" })
	if !math.IsNaN(s.figs[mendMended].sdr) || s.take.truth != nil {
		t.Error("it claims to know the truth")
	}
	if p := s.figs[mendMended].peak; p < sim1dB(0.85) {
		t.Errorf("peaks at %.1f dBTP", p)
	}
	for _, id := range []string{"mend.listen.spoken", "mend.listen.lower", "mend.splice"} {
		if err := b.P.Apply(ui.Intent{ID: id, Do: "press"}); err == nil {
			t.Errorf("%s is no error", id)
		}
	}
	if !strings.Contains(b.Node("mend.verdict").Value, "not known") {
		t.Errorf("verdict: %q", b.Node("mend.verdict").Value)
	}
	b.Do("mend.save")
	name, data, ok := b.P.NextSave()
	if !ok || name != "gainwright-mended.wav" || len(data) < 4*len(x) {
		t.Errorf("saved %q, %d bytes", name, len(data))
	}
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "letter.txt", Data: []byte("Dear ferry")}}})
	if _, failed := b.P.Said(); !failed || s.from != "file" {
		t.Error("a letter is no recording")
	}
}

func sim1dB(v float64) float64 { return float64(sim.ToDB(v)) }

// TestMendListening: all in step and equally loud, clipped ones announced.
func TestMendListening(t *testing.T) {
	b, s := mendBench(t)
	b.Do("play")
	b.Wait(0.5)
	at := s.d.Player.Position()
	b.Do("mend.listen.lower")
	b.Wait(0.2)
	if p := s.d.Player.Position(); !s.d.Playing() || p <= at || p > at+bench.Rate/2 {
		t.Errorf("from %d to %d", at, p)
	}
	for i, tr := range s.d.Tracks {
		if l := work.LoudnessLUFS(tr.X) + tr.GainDB; math.Abs(l-bench.ListenLUFS) > 0.1 {
			t.Errorf("%s is played at %.1f LUFS", s.listen[i].Label, l)
		}
	}
	b.Do("mend.listen.mended")
	b.Wait(0.1)
	if s.d.Playing() || !strings.Contains(b.P.Announce(), "clipped") {
		t.Errorf("plays unannounced: %q", b.P.Announce())
	}
	b.Do("caution.play")
	b.Do("listen.matched")
	b.Wait(0.2)
	if !s.d.Playing() || s.d.Tracks[mendRecorded].GainDB != 0 || s.d.Tracks[mendLower].GainDB != -mendLowerDB {
		t.Error("not as they are")
	}
}

// TestMendCancel: work is given up and begun again; also in slices, where it
// comes to the same but for the cuts.
func TestMendCancel(t *testing.T) {
	_, whole := mendBench(t)
	work.Sliced = true
	defer func() { work.Sliced = false }()
	b := scenetest.Drive(t, scenetest.Build(t, nil, withStrips))
	b.Do("tab.mend")
	s := b.P.Scene().(*Scene)
	b.Wait(2.0 / 60)
	if s.job == nil {
		t.Fatal("no work")
	}
	b.Do("mend.cancel")
	b.Wait(0.1)
	if s.job != nil || s.take != nil {
		t.Error("it goes on")
	}
	b.Do("mend.cancel") // begins again
	b.Until("mended", s.settled)
	b.Do("mend.effort.balanced")
	b.Do("mend.denoise.up")
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now})
	if s.job == nil {
		t.Fatal("no work on another effort")
	}
	b.Do("mend.cancel")
	b.Wait(0.1)
	if s.settled() || s.job != nil {
		t.Error("not cancelled")
	}
	b.Do("mend.cancel")
	b.Until("mended again", s.settled)
	if a, c := whole.figs[mendMended].sdr, s.figs[mendMended].sdr; math.Abs(a-c) > 1.5 {
		t.Errorf("in pieces %.1f dB, as a whole %.1f dB", c, a)
	}
}

// TestMendShots writes pictures where GAINWRIGHT_SHOTS says; it is not a check.
func TestMendShots(t *testing.T) {
	b := scenetest.NewShooter(t, visit)
	b.Do("tab.mend")
	b.Wait(0.05)
	b.Shot("mend-work", 1280, 720)
	s := b.P.Scene().(*Scene)
	b.Until("mended", s.settled)
	for _, z := range [][2]int{{1024, 640}, {1280, 720}, {1440, 900}, {820, 1180}} {
		b.Shot("mend", z[0], z[1])
	}
	b.Do("mend.listen.recorded")
	b.Do("play")
	b.Do("mend.declip")
	b.Do("mend.limit")
	b.Until("limited", s.settled)
	b.Do("theme")
	b.Shot("mend-limit-light", 1280, 720)
	b.Do("theme")
	b.Do("caution.cancel")
	b.Do("text_size")
	b.Do("text_size")
	b.Shot("mend-text150", 1440, 900)
	b.Shot("mend-text150", 1024, 640)
	b.Shot("mend-text150", 820, 1180)
}

func TestMendLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := mendBench(t)
	scenetest.CheckScene(t, b, "mended", &s.l.Pane)
	b.Do("mend.listen.recorded")
	b.Do("play")
	b.Do("mend.limit")
	b.Do("mend.denoise.up")
	b.Until("limited", s.settled)
	b.Do("mend.effort.best")
	b.Wait(1.0 / 60)
	b.Do("mend.cancel")
	scenetest.CheckScene(t, b, "caution, cancelled", &s.l.Pane)
	b.Do("caution.cancel")
	s.verdict = [2]string{mendLongVerdict, mendLongLower}
	scenetest.CheckScene(t, b, "long words", &s.l.Pane)
	roomForWords(t, b, s)
	if b, s = limitedTake(t); !s.ridden() {
		t.Fatal("no limiter is told")
	}
	s.verdict = [2]string{mendLongVerdict + limitedWords, mendLongLower}
	scenetest.CheckScene(t, b, "limited", &s.l.Pane)
	roomForWords(t, b, s)
}

// roomForWords: all lines of the longest words have room.
func roomForWords(t *testing.T, b *scenetest.Driver, s *Scene) {
	t.Helper()
	for _, size := range scenetest.TestSizes {
		b.Size = size
		b.Wait(1.0 / 60)
		if h := s.wordsHeight(b.P.Theme(), s.l.words.W); h > s.l.words.H+1 {
			t.Errorf("%v: words need %.0f of %.0f", size, h, s.l.words.H)
		}
	}
}
