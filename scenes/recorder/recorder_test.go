package recorder

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/identify"
	"gainwright/sounds/codec"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// device is a recorder of this test: gains of its marks, noise before and after the gain,
// a hard ceiling, and a limiter after it.
type device struct {
	gain    map[float64]float64 // dB
	in, out float64             // noise, rms, dBFS at 0 dB of gain
	r       *rand.Rand
}

func newDevice() *device {
	return &device{map[float64]float64{0: 0, 4.5: 13.7, 10: 31.2}, -100, -88, rand.New(rand.NewPCG(5, 5))}
}

// limit is a limiter at −8 dBFS: 2 ms down, 150 ms up.
func limit(y []float64) {
	down := 0.0
	for i, v := range y {
		want := max(0, 20*math.Log10(math.Abs(v)+1e-9)+8)
		if want > down {
			down += 0.01 * (want - down)
		} else {
			down += 0.0001389 * (want - down)
		}
		y[i] = v * math.Pow(10, -down/20)
	}
}

// record is what the device makes of a sound that comes late, as a WAV file.
func (d *device) record(t testing.TB, x []float64, gainDB float64, late int, limited bool) []byte {
	t.Helper()
	g, a, b := math.Pow(10, gainDB/20), math.Pow(10, d.in/20), math.Pow(10, d.out/20)
	y := make([]float64, len(x)+20000)
	for i := range y {
		if k := i - late; k >= 0 && k < len(x) {
			y[i] = 0.01 * x[k]
		}
		y[i] = min(max(g*(y[i]+a*d.r.NormFloat64())+b*d.r.NormFloat64(), -1), 1)
	}
	if limited {
		limit(y)
	}
	data, err := codec.WAVBytes(series.SoundRate, [][]float64{y}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// recorded are the series' recordings by their names, made once for all tests.
var recorded = sync.OnceValue(func() map[string]ui.Drop {
	d, out := newDevice(), map[string]ui.Drop{}
	for _, p := range series.List([]float64{0, 4.5, 10}) {
		x, err := series.Sound(p.Step, p.Mark)
		if err != nil {
			panic(err)
		}
		gain, late := d.gain[p.Mark], 7000
		if p.Step == identify.Loud || p.Step == identify.Off || p.Step == identify.On {
			gain = 46
			x = x[:min(len(x), 22*series.SoundRate)]
		}
		if p.Step == identify.On {
			late = 9123
		}
		name := strings.ReplaceAll(p.File, ".wav", "") + ".wav"
		out[name] = ui.Drop{Name: name, Data: d.record(nilTB{}, x, gain, late, p.Step == identify.On)}
	}
	return out
})

// nilTB stands where no test is: it must not be called but for Helper.
type nilTB struct{ testing.TB }

func (nilTB) Helper() {}

func (nilTB) Fatal(args ...any) { panic(fmt.Sprint(args...)) }

func open(t testing.TB) (*scenetest.Driver, *Scene) {
	b, s := scenetest.Open[*Scene](t, scenetest.Seen(), kit.IDTabRecorder, func(sh kit.Shell) []kit.Scene { return scenetest.Amid(New(sh)) })
	b.Wait(0.05)
	return b, s
}

// drop drops files on the scene, all in one frame.
func drop(b *scenetest.Driver, list ...ui.Drop) {
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Drops: list})
}

// settle waits until nothing goes on.
func (s *Scene) settle(b *scenetest.Driver) {
	b.Helper()
	b.Settle(func() string { w, _ := s.progress(); return w }, func() bool {
		if s.job != nil || s.stale || s.waiting() > 0 {
			return false
		}
		do, _ := s.peek()
		return !do
	})
}

// peek tells whether the pair is still to be made ready.
func (s *Scene) peek() (more, ready bool) {
	h := &s.hear
	if s.found == nil || s.found.Limiter == nil || h.stopped {
		return false, false
	}
	if h.of != s.found.Limiter {
		return true, false
	}
	for side := range h.x {
		for i := range h.x[side] {
			if h.ready() && h.x[side][i] == nil && h.refused[side][i] == "" {
				return true, false
			}
		}
	}
	return false, h.ready()
}

// TestSeries: the series' recordings, dropped at once in any order, are known by their
// slates; what they tell grows, holds the device's true figures, and is handed out as the
// file that the command writes.
func TestSeries(t *testing.T) {
	b, s := open(t)
	if v := b.Node(idPart + "pair").Value; !strings.Contains(v, "Missing") {
		t.Errorf("before anything is recorded the pair is %q", v)
	}
	if b.Has(idTells+"gain") || !b.Node(idSave).Disabled {
		t.Error("something is known before anything is recorded")
	}
	all := recorded()
	drop(b, all["steps-10.wav"], all["steps-0.wav"])
	s.settle(b)
	if v := b.Node(idTells + "gain").Value; !strings.Contains(v, "mark 10, 31.") {
		t.Errorf("after two steps: %q", v)
	}
	if v := b.Node(idPart + "steps").Value; !strings.Contains(v, "Done at 2") || !strings.Contains(v, "could add 2, 4, 6, 8") {
		t.Errorf("steps: %q", v)
	}
	if w := s.Announce(); !strings.Contains(w, "Still open: noise, where it clips, the limiter and a level") {
		t.Errorf("it says %q", w)
	}
	drop(b, all["on-10.wav"], all["quiet-10.wav"], all["off-10.wav"], all["steps-4_5.wav"], all["loud-10.wav"], all["quiet-0.wav"], all["quiet-4_5.wav"])
	s.settle(b)
	f := s.found
	near := func(what string, e identify.Estimate, truth, by float64) {
		t.Helper()
		if !(math.Abs(e.Value-truth) <= by) {
			t.Errorf("%s: %.2f, not %.2f", what, e.Value, truth)
		}
	}
	for i, m := range f.Gains.Marks {
		near("gain", m.Gain, []float64{0, 13.7, 31.2}[i], 0.3)
	}
	const sine = 3.01 // rms against a full-scale sine's
	near("noise in", f.Noises.In, -100+sine, 1)
	near("noise out", f.Noises.Out, -88+sine, 1)
	near("clip", f.Clip.Level, 0, 0.1)
	if f.Limiter == nil || f.Limiter.Place != identify.After {
		t.Fatalf("limiter: %+v", f.Limiter)
	}
	if v := b.Node(idTells + "limiter").Value; !strings.Contains(v, "after the converter") {
		t.Errorf("limiter: %q", v)
	}
	if v := b.Node(idPart + "anchor").Value; !strings.Contains(v, "Missing") {
		t.Errorf("anchor: %q", v)
	}
	// A level that is known comes last.
	b.Do(idAnchor + "meter")
	b.Set(idLevel, 72)
	s.settle(b)
	tone := 20 * math.Log10(0.25*0.01)
	near("full scale", s.found.FullAt, 72-tone, 0.5)
	if w := s.Announce(); !strings.Contains(w, "9 recordings are read. Nothing is missing.") {
		t.Errorf("it says %q", w)
	}
	b.Do(idSave)
	name, data, ok := b.P.NextSave()
	if !ok || name != "my-recorder.yaml" {
		t.Fatal(name, ok)
	}
	r, err := equipment.Read(name, data)
	if err != nil || len(r.Marks) != 3 || r.Limiter == nil || r.Limiter.Place != "after_converter" || len(r.Measured) != 9 || r.Anchor == nil || r.Learnt != time.Now().Format(time.DateOnly) {
		t.Errorf("%v\n%s", err, data)
	}
	// What is taken out no longer counts.
	b.Do(idFile + "3") // on-10
	b.Do(idDrop)
	s.settle(b)
	if s.found.Limiter != nil || len(s.files) != 8 {
		t.Error("the pair counts though half of it was taken out")
	}
	if v := b.Node(idPart + "pair").Value; !strings.Contains(v, "Half") {
		t.Errorf("half a pair: %q", v)
	}
}

// TestByHand: what has no slate is named by hand; what cannot be used says why; the same
// file counts once.
func TestByHand(t *testing.T) {
	b, s := open(t)
	d := newDevice()
	x := make([]float64, 3*series.SoundRate)
	for i := range x {
		x[i] = 0.25 * math.Sin(2*math.Pi*identify.ToneHz*float64(i)/series.SoundRate)
	}
	bare := ui.Drop{Name: "ferry_0001.wav", Data: d.record(t, x, 13.7, 0, false)}
	all := recorded()
	drop(b, bare, ui.Drop{Name: "broken.wav", Data: []byte("RIFF")}, all["steps-0.wav"], ui.Drop{Name: "again.wav", Data: all["steps-0.wav"].Data})
	s.settle(b)
	for i, want := range []string{"No slate is heard", "", "steps, mark 0", "same file as steps-0.wav"} {
		if v := b.Node(fmt.Sprint(idFile, i+1)).Value; want != "" && !strings.Contains(v, want) || v == "" {
			t.Errorf("file %d: %q, want %q", i+1, v, want)
		}
	}
	if w := s.Announce(); !strings.Contains(w, "3 could not be used") {
		t.Errorf("it says %q", w)
	}
	// The first without a slate is opened by itself.
	if s.chosen == nil || s.chosen.drop.Name != bare.Name || !b.Node(idReread).Disabled {
		t.Fatal("the recording without a slate is not asked about")
	}
	b.Do(idIs + "steps")
	b.Write(idIsMark, "4.55")
	if n := b.Node(idReread); !n.Disabled || !strings.Contains(n.Why, "at most one decimal") {
		t.Errorf("mark 4.55: %+v", n)
	}
	b.Write(idIsMark, "4.5")
	b.Do(idReread)
	s.settle(b)
	if m := s.found.Gains.Marks; len(m) != 2 || math.Abs(m[1].Gain.Value-13.7) > 0.3 {
		t.Errorf("gains: %+v", m)
	}
	// Taken out, the original leaves its place to the copy.
	b.Do(idFile + "3")
	b.Do(idDrop)
	s.settle(b)
	if v := b.Node(idFile + "4").Value; !strings.Contains(v, "steps, mark 0") {
		t.Errorf("the copy: %q", v)
	}
	b.Do(idForget)
	if len(s.files) != 3 {
		t.Error("all is taken out at the first press")
	}
	b.Do(idForget)
	s.settle(b)
	if len(s.files) != 0 || s.known() {
		t.Error("not all is taken out at the second press")
	}
}

// TestSheetArchive: page and sounds are handed out together; the page warns before its
// first sound and names every file; wrong marks are told.
func TestSheetArchive(t *testing.T) {
	b, s := open(t)
	b.Write(idMarks, "3, 2")
	if err := b.P.Apply(ui.Intent{ID: idSheet, Do: ui.DoPress}); err == nil || !strings.Contains(err.Error(), "ascend") {
		t.Errorf("marks 3, 2: %v", err)
	}
	b.Write(idMarks, "1, 5")
	b.Do(idSheet)
	s.settle(b)
	name, data, ok := b.P.NextSave()
	if !ok || name != "recorder-series.zip" {
		t.Fatal(name, ok)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	page := ""
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == "sheet.html" {
			page = string(b)
		} else if !strings.Contains(page, `src="`+f.Name+`"`) {
			t.Errorf("the page does not play %s", f.Name)
		}
	}
	if len(z.File) != 1+2+2+3 || strings.Index(page, "Turn the loudspeaker down") > strings.Index(page, "<audio") || strings.Contains(page, "%!") {
		t.Errorf("%d files; %.200s", len(z.File), page)
	}
}

// TestPair: the pair is heard in step, sample by sample, matched in loudness; treatments
// come after it; a page with all of it is handed out.
func TestPair(t *testing.T) {
	b, s := open(t)
	all := recorded()
	drop(b, all["off-10.wav"], all["on-10.wav"])
	s.settle(b)
	h := &s.hear
	if !h.ready() {
		t.Fatalf("no pair to hear: %q", s.Announce())
	}
	// What the pair told goes to the lesson on the limiter's place.
	if n := b.Node(idLesson); n.Disabled {
		t.Errorf("no lesson on %s: %s", s.found.Limiter.Place, s.found.Limiter.Why)
	}
	if r := s.found.LimiterAlone(time.Now()); r == nil || !r.PlaceKnown() || len(r.Marks) > 0 || len(r.Measured) != 2 {
		t.Errorf("the limiter alone: %+v", r)
	} else if text, err := r.Write(); err != nil {
		t.Error(err)
	} else if _, err := equipment.Read("", text); err != nil {
		t.Error("its file: ", err)
	}
	// In step: where the limiter rests the two differ by noise alone.
	off, on := h.x[0][0], h.x[1][0]
	var best, at float64
	for lag := -3; lag <= 3; lag++ {
		c := 0.0
		for i := 1000; i < len(off)-1000; i++ {
			c += off[i] * on[i+lag]
		}
		if c > best {
			best, at = c, float64(lag)
		}
	}
	if at != 0 {
		t.Errorf("the second is %v frames late", at)
	}
	for side := range h.x {
		for i := range h.x[side] {
			if h.x[side][i] == nil {
				t.Fatalf("%d, %d is not made: %q", side, i, h.refused[side][i])
			}
			if l := h.lufs[side][i] + h.deck.Tracks[side*len(treatments)+i].GainDB; math.Abs(l+23) > 0.1 {
				t.Errorf("side %d, treatment %d plays at %.2f LUFS", side, i, l)
			}
		}
	}
	b.Do(kit.IDPlay) // clipped: asks first
	if !h.deck.Caution || h.deck.Playing() {
		t.Error("clipped sound plays without its caution")
	}
	b.Do(kit.IDCautionPlay)
	b.Do(idSide + "on")
	b.Do(idAfter + "declip")
	if h.deck.At != len(treatments)+3 || !b.Node(idAfter+"declip").Checked {
		t.Errorf("track %d is heard", h.deck.At)
	}
	b.Do(kit.IDMatched)
	if g := h.deck.Tracks[0].GainDB; g != 0 {
		t.Errorf("not matched, the first plays at %v dB", g)
	}
	b.Do(idPage)
	name, data, ok := b.P.NextSave()
	if !ok || name != "limiter-off-and-on.html" || bytes.Count(data, []byte("<audio ")) != 8 || bytes.Contains(data, []byte("src=\"http")) || bytes.Index(data, []byte(`class="caution"`)) > bytes.Index(data, []byte("<audio ")) {
		t.Errorf("%s, %d players", name, bytes.Count(data, []byte("<audio ")))
	}
}

// TestReadingGivesWay: what is read beside the screen asks often whether to go on.
func TestReadingGivesWay(t *testing.T) {
	was := work.Sliced
	work.Sliced = true
	defer func() { work.Sliced = was }()
	b, s := open(t)
	all := recorded()
	drop(b, all["off-10.wav"], all["steps-10.wav"])
	if s.job == nil { // the first slice after a pause is a long one, and may read all of one recording
		b.Wait(1.0 / 60)
	}
	if s.job == nil || s.reading == nil {
		t.Fatal("22 s of sound are read in one slice")
	}
	b.Do(idStop)
	if s.job != nil || s.waiting() > 0 || !strings.Contains(s.Announce(), "Stopped") {
		t.Errorf("stopped, it says %q", s.Announce())
	}
	b.Do(idFile + "2")
	b.Do(idIs + "steps")
	b.Write(idIsMark, "10")
	b.Do(idReread)
	s.settle(b)
	if s.files[1].reading == nil {
		t.Errorf("read again: %q", s.files[1].why)
	}
}

// counting counts how often it is asked, and the longest time between.
type counting struct {
	context.Context
	asked   int
	last    time.Time
	longest time.Duration
}

func (c *counting) Err() error {
	now := time.Now()
	if !c.last.IsZero() {
		c.longest = max(c.longest, now.Sub(c.last))
	}
	c.asked, c.last = c.asked+1, now
	return nil
}

type quietly struct{}

func (quietly) Begin(string) {}
func (quietly) At(float64)   {}

// BenchmarkPairGivesWay tells the longest stretch of work between two places to stop.
func BenchmarkPairGivesWay(b *testing.B) {
	all := recorded()
	for b.Loop() {
		c := &counting{Context: context.Background()}
		var list []*series.Reading
		for _, n := range []string{"off-10.wav", "on-10.wav"} {
			r, err := series.Read(c, fileOf(all[n]), n, nil, quietly{})
			if err != nil {
				b.Fatal(err)
			}
			list = append(list, r)
		}
		var p series.Pairs
		if _, err := p.Sum(c, list, series.Anchor{}, quietly{}); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(c.longest.Microseconds())/1000, "ms-longest")
		b.ReportMetric(float64(c.asked), "asked")
	}
}

// TestLook: at every size, text and theme no word is cut, nothing overlaps.
func TestLook(t *testing.T) {
	b, s := open(t)
	view := func() ink.Rect { return ink.Rect{W: 1} }
	sizes := scenetest.TestSizes
	defer func() { scenetest.TestSizes = sizes }()
	scenetest.TestSizes = []ink.Point{{X: 1024, Y: 768}, {X: 1440, Y: 900}, {X: 820, Y: 1180}}
	scroll := func(dy float32) bool {
		before := s.pane
		s.Scroll(dy)
		return s.pane.page.Scroll != before.page.Scroll || s.pane.list.Scroll != before.list.Scroll
	}
	scenetest.LookAll(t, b, "empty", view, scroll)
	all := recorded()
	list := []ui.Drop{{Name: strings.Repeat("long-name-", 20) + ".wav", Data: []byte("RIFF")}}
	for _, n := range []string{"steps-0", "steps-10", "quiet-0", "quiet-10", "off-10", "on-10"} {
		list = append(list, all[n+".wav"])
	}
	drop(b, list...)
	s.settle(b)
	b.Do(idFile + "1")
	b.Do(idAnchor + "calibrator")
	s.settle(b)
	b.Do(idUse)
	scenetest.TestSizes = []ink.Point{{X: 1280, Y: 720}, {X: 390, Y: 844}}
	scenetest.LookAll(t, b, "known", view, scroll)
}

// TestShots writes pictures for people to look at.
func TestShots(t *testing.T) {
	b := scenetest.NewShooter(t, func(t testing.TB) *scenetest.Driver { b, _ := open(t); return b })
	s := b.P.Scene().(*Scene)
	shots := func(name string) {
		for _, z := range [][2]int{{1280, 720}, {1440, 900}, {1024, 768}, {820, 1180}, {390, 844}} {
			b.Shot("recorder-"+name, z[0], z[1])
		}
	}
	shots("empty")
	var list []ui.Drop
	for _, d := range recorded() {
		list = append(list, d)
	}
	drop(b.Driver, append(list, ui.Drop{Name: "note.wav", Data: []byte("RIFF")})...)
	b.Wait(0.5)
	b.Shot("recorder-reading", 1280, 720)
	b.Size = ink.Point{X: 1280, Y: 720}
	s.settle(b.Driver)
	b.Do(idAnchor + "meter")
	s.settle(b.Driver)
	shots("known")
	for range 3 {
		b.Size = ink.Point{X: 1280, Y: 720}
		b.Wait(0.1)
		s.Scroll(400)
		b.Shot("recorder-known-scrolled-"+fmt.Sprint(int(s.pane.list.Scroll)), 1280, 720)
	}
	b.Do("theme")
	b.Shot("recorder-light", 1440, 900)
}

// TestUseEverywhere: what was found is put to use on the bench, whose knobs then say its
// marks, and is there at the next visit; an equipment file that is dropped is put to use,
// too; it can be used no more.
func TestUseEverywhere(t *testing.T) {
	h := scenetest.Seen()
	b, s := scenetest.Open[*Scene](t, h, kit.IDTabRecorder, func(sh kit.Shell) []kit.Scene { return scenetest.Amid(New(sh)) })
	b.Wait(0.05)
	if !b.Node(idUse).Disabled || b.Has(idUnuse) {
		t.Error("something can be used before anything is known")
	}
	all := recorded()
	drop(b, all["steps-0.wav"], all["steps-10.wav"])
	b.Do(idAnchor + "meter")
	s.settle(b)
	b.Do(idUse)
	r := b.P.Bench().Recorder()
	if r == nil || len(r.Marks) != 2 || s.fit == nil || len(s.fit.Assumed) == 0 || !strings.Contains(s.Announce(), "run on this recorder") {
		t.Fatalf("%+v, it says %q", r, s.Announce())
	}
	if m := b.P.Bench().Mark(0); !strings.HasPrefix(m, "mark ") {
		t.Errorf("strip A stands at %q", m)
	}
	b.Do(idUnuse)
	if b.P.Bench().Recorder() != nil || b.P.Bench().Mark(0) != "" {
		t.Error("it is still used")
	}
	data, err := r.Write()
	if err != nil {
		t.Fatal(err)
	}
	drop(b, ui.Drop{Name: "mine.yaml", Data: data})
	if got := b.P.Bench().Recorder(); got == nil || len(got.Marks) != 2 {
		t.Error("an equipment file that is dropped is not used")
	}
	drop(b, ui.Drop{Name: "torn.yaml", Data: []byte("recorder: {")})
	if w := b.P.Announce(); !strings.Contains(w, "torn.yaml") {
		t.Errorf("a torn file: %q", w)
	}
}
