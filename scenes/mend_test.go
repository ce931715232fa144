package scenes

import (
	"math"
	"strings"
	"testing"

	"gainwright/sim"
	"gainwright/sounds"
)

func (s *mendScene) settled() bool {
	return s.take != nil && s.job == nil && s.load == nil && s.res != nil && s.res.order.key(len(s.res.order.steps())) == s.active().key(len(s.active().steps()))
}

// newMendBench drives a program of this scene and the one with the strips.
func newMendBench(t testing.TB) *bench {
	return drive(t, build(t, nil, func(sh Shell) []Scene { return amid(newGainScene(sh), newMendScene(sh)) }))
}

func mendBench(t testing.TB) (*bench, *mendScene) {
	b := newMendBench(t)
	b.do("tab.mend")
	s, ok := b.p.Scene().(*mendScene)
	if !ok {
		t.Fatalf("at %q", b.p.Scene().Title())
	}
	b.until("the built-in take is mended", s.settled)
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
	if v := b.node("mend.verdict").Value; !strings.Contains(v, "nearer to the truth") || !strings.Contains(v, "better than the mended one") {
		t.Errorf("verdict: %q", v)
	}
	// A limiter brings nothing back.
	b.do("mend.declip")
	b.do("mend.limit")
	b.until("limited", s.settled)
	if d := s.figs[mendMended].sdr - rec.sdr; d > 0.5 {
		t.Errorf("a limiter brought %.1f dB back", d)
	}
	if v := b.node("status").Value; strings.Contains(v, "nearer") {
		t.Errorf("status: %q", v)
	}
	// The safety track does.
	b.do("mend.limit")
	b.do("mend.splice")
	b.until("spliced", s.settled)
	if d := s.figs[mendMended].sdr; d < rec.sdr+10 {
		t.Errorf("spliced: %.1f dB from %.1f dB", d, rec.sdr)
	}
	// Nothing on is the take itself.
	b.do("mend.splice")
	b.until("nothing", s.settled)
	for i, v := range s.res.y {
		if v != s.take.x[i] {
			t.Fatal("nothing on, and the take changed")
		}
	}
}

// TestMendOrder: the order counts, and what has been done once is not done again.
func TestMendOrder(t *testing.T) {
	b, s := mendBench(t)
	b.do("mend.declip")
	b.do("mend.compress")
	b.do("mend.limit")
	b.until("compressed, limited", s.settled)
	one := s.figs[mendMended].peak
	b.do("mend.limit.up")
	b.until("limited, compressed", s.settled)
	if s.place(6) != 6 || s.place(5) != 4 || s.place(4) != 5 {
		t.Errorf("order %v", s.order.kinds)
	}
	if two := s.figs[mendMended].peak; math.Abs(one-two) < 0.05 {
		t.Errorf("the order does not count: %.2f and %.2f dBTP", one, two)
	}
	b.do("mend.limit.down")
	b.until("back", s.settled)
	if s.figs[mendMended].peak != one {
		t.Errorf("%.4f dBTP, before %.4f", s.figs[mendMended].peak, one)
	}
	if len(s.res.reports) != 0 {
		t.Error("done again though it was known")
	}
	if err := b.p.Apply(Intent{ID: "mend.declip.up", Do: "press"}); err == nil {
		t.Error("the first can be moved up")
	}
}

// TestMendTake: a take of the bench, with somebody leaning in and a gain turned.
func TestMendTake(t *testing.T) {
	b := newMendBench(t)
	b.set("A.gain_db", 58)
	b.set("B.gain_db", 40)
	b.do("A.limiter.off")
	b.wait(0.5)
	b.do("record")
	b.wait(1)
	b.do("event.lean_in")
	b.wait(1)
	b.set("A.gain_db", 55)
	b.wait(1)
	b.do("record")
	b.wait(0.2)
	b.do("tab.mend")
	s := b.p.Scene().(*mendScene)
	b.until("mended", s.settled)
	if s.from != "mend.source.A" || !strings.Contains(s.take.title, "take 1, strip A") {
		t.Errorf("mends %q, %q", s.from, s.take.title)
	}
	if len(s.take.x) != int(b.p.Bench().Take().Frames()) || s.take.safety == nil {
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
	b.do("mend.source.B")
	b.until("the other strip", s.settled)
	// Nothing was cut there, and nothing may be taken for it.
	if s.take.over != 0 || s.take.clips.Samples != 0 || s.figs[mendRecorded].sdr < 20 {
		t.Errorf("strip B: %d samples over, %d taken for clipped, %.1f dB", s.take.over, s.take.clips.Samples, s.figs[mendRecorded].sdr)
	}
	if err := b.p.Apply(Intent{ID: "mend.splice", Do: "press"}); err == nil {
		t.Error("a splice without a safety track")
	}
}

// TestMendFile: of a file brought along nobody knows the truth.
func TestMendFile(t *testing.T) {
	b, s := mendBench(t)
	x := make([]float64, 3*Rate)
	for i := range x {
		x[i] = min(max(2*math.Sin(float64(i)*0.03)*math.Sin(float64(i)*0.0003), -0.8), 0.8)
	}
	wav, err := sounds.WAVBytes(Rate, [][]float64{x}, sounds.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	b.p.Frame(Input{Size: b.size, Seconds: b.now, Drops: []Drop{{Name: "wheelhouse.wav", Data: wav}}})
	b.until("mended", func() bool { return s.settled() && s.from == "file" })
	if !math.IsNaN(s.figs[mendMended].sdr) || s.take.truth != nil {
		t.Error("it claims to know the truth")
	}
	if p := s.figs[mendMended].peak; p < sim1dB(0.85) {
		t.Errorf("peaks at %.1f dBTP", p)
	}
	for _, id := range []string{"mend.listen.spoken", "mend.listen.lower", "mend.splice"} {
		if err := b.p.Apply(Intent{ID: id, Do: "press"}); err == nil {
			t.Errorf("%s is no error", id)
		}
	}
	if !strings.Contains(b.node("mend.verdict").Value, "not known") {
		t.Errorf("verdict: %q", b.node("mend.verdict").Value)
	}
	b.do("mend.save")
	name, data, ok := b.p.NextSave()
	if !ok || name != "gainwright-mended.wav" || len(data) < 4*len(x) {
		t.Errorf("saved %q, %d bytes", name, len(data))
	}
	b.p.Frame(Input{Size: b.size, Seconds: b.now, Drops: []Drop{{Name: "letter.txt", Data: []byte("Dear ferry")}}})
	if _, failed := b.p.Said(); !failed || s.from != "file" {
		t.Error("a letter is no recording")
	}
}

func sim1dB(v float64) float64 { return float64(sim.ToDB(v)) }

// TestMendListening: all in step and equally loud, clipped ones announced.
func TestMendListening(t *testing.T) {
	b, s := mendBench(t)
	b.do("play")
	b.wait(0.5)
	at := s.d.player.Position()
	b.do("mend.listen.lower")
	b.wait(0.2)
	if p := s.d.player.Position(); !s.d.playing() || p <= at || p > at+Rate/2 {
		t.Errorf("from %d to %d", at, p)
	}
	for i, tr := range s.d.tracks {
		if l := loudnessLUFS(tr.x) + tr.gainDB; math.Abs(l-ListenLUFS) > 0.1 {
			t.Errorf("%s is played at %.1f LUFS", s.listen[i].Label, l)
		}
	}
	b.do("mend.listen.mended")
	b.wait(0.1)
	if s.d.playing() || !strings.Contains(b.p.Announce(), "clipped") {
		t.Errorf("plays unannounced: %q", b.p.Announce())
	}
	b.do("caution.play")
	b.do("listen.matched")
	b.wait(0.2)
	if !s.d.playing() || s.d.tracks[mendRecorded].gainDB != 0 || s.d.tracks[mendLower].gainDB != -mendLowerDB {
		t.Error("not as they are")
	}
}

// TestMendCancel: work is given up and begun again; also in slices, where it
// comes to the same but for the cuts.
func TestMendCancel(t *testing.T) {
	_, whole := mendBench(t)
	sliceWork = true
	defer func() { sliceWork = false }()
	b := newMendBench(t)
	b.do("tab.mend")
	s := b.p.Scene().(*mendScene)
	b.wait(2.0 / 60)
	if s.job == nil {
		t.Fatal("no work")
	}
	b.do("mend.cancel")
	b.wait(0.1)
	if s.job != nil || s.take != nil {
		t.Error("it goes on")
	}
	b.do("mend.cancel") // begins again
	b.until("mended", s.settled)
	b.do("mend.effort.balanced")
	b.do("mend.denoise.up")
	b.p.Frame(Input{Size: b.size, Seconds: b.now})
	if s.job == nil {
		t.Fatal("no work on another effort")
	}
	b.do("mend.cancel")
	b.wait(0.1)
	if s.settled() || s.job != nil {
		t.Error("not cancelled")
	}
	b.do("mend.cancel")
	b.until("mended again", s.settled)
	if a, c := whole.figs[mendMended].sdr, s.figs[mendMended].sdr; math.Abs(a-c) > 1.5 {
		t.Errorf("in pieces %.1f dB, as a whole %.1f dB", c, a)
	}
}

// TestMendShots writes pictures where GAINWRIGHT_SHOTS says; it is not a check.
func TestMendShots(t *testing.T) {
	b := newShooter(t, newMendBench)
	b.do("tab.mend")
	b.wait(0.05)
	b.shot("mend-work", 1280, 720)
	s := b.p.Scene().(*mendScene)
	b.until("mended", s.settled)
	for _, z := range [][2]int{{1024, 640}, {1280, 720}, {1440, 900}, {820, 1180}} {
		b.shot("mend", z[0], z[1])
	}
	b.do("mend.listen.recorded")
	b.do("play")
	b.do("mend.declip")
	b.do("mend.limit")
	b.until("limited", s.settled)
	b.do("theme")
	b.shot("mend-limit-light", 1280, 720)
	b.do("theme")
	b.do("caution.cancel")
	b.do("text_size")
	b.do("text_size")
	b.shot("mend-text150", 1440, 900)
	b.shot("mend-text150", 1024, 640)
	b.shot("mend-text150", 820, 1180)
}

func TestMendLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b, s := mendBench(t)
	checkScene(t, b, "mended", &s.l.pane)
	b.do("mend.listen.recorded")
	b.do("play")
	b.do("mend.limit")
	b.do("mend.denoise.up")
	b.until("limited", s.settled)
	b.do("mend.effort.best")
	b.wait(1.0 / 60)
	b.do("mend.cancel")
	checkScene(t, b, "caution, cancelled", &s.l.pane)
	b.do("caution.cancel")
	s.verdict = [2]string{mendLongVerdict, mendLongLower}
	checkScene(t, b, "long words", &s.l.pane)
	// All lines of the longest words have room.
	for _, size := range testSizes {
		b.size = size
		b.wait(1.0 / 60)
		if h := s.wordsHeight(b.p.Theme(), s.l.words.W); h > s.l.words.H+1 {
			t.Errorf("%v: words need %.0f of %.0f", size, h, s.l.words.H)
		}
	}
}
