package gain

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/diagnose"
	"gainwright/sounds/codec"
)

// twoPeople is a stereo recording: on the left a soft voice-like wave, on the right
// one that was cut.
func twoPeople(seconds int) (left, right []float64) {
	left, right = make([]float64, seconds*bench.Rate), make([]float64, seconds*bench.Rate)
	for i := range left {
		s := float64(i) / bench.Rate
		v := 0.0
		for h := 1; h < 14; h++ {
			v += math.Sin(2*math.Pi*150*float64(h)*s+float64(h*h)) / float64(h)
		}
		v *= 0.5 * math.Pow(math.Sin(math.Pi*1.5*s), 2)
		left[i], right[i] = 0.2*v, max(-1, min(1, 2*v))
	}
	return left, right
}

// TestFileChannels: of a stereo file it is said which channel was cut and asked which
// is meant; nothing is performed before the answer.
func TestFileChannels(t *testing.T) {
	b := gainBench(t)
	g := gainOf(b.P)
	left, right := twoPeople(3)
	wav, err := codec.WAVBytes(bench.Rate, [][]float64{left, right}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	dropped(b, "two.wav", wav)
	if a := b.P.Announce(); !strings.Contains(a, "channel 2 (right) only") || !strings.Contains(a, "say which is meant") {
		t.Errorf("announced %q", a)
	}
	if b.P.Bench().File() != nil {
		t.Error("performed without being asked which channel is meant")
	}
	peak := func() (p float32) {
		for _, v := range b.P.Bench().File().Samples {
			p = max(p, v, -v)
		}
		return p
	}
	for _, c := range []struct {
		id, word string
		peak     float64
	}{{"file.channel.1", "channel 1 (left)", 0.2}, {"file.channel.2", "channel 2 (right)", 1}, {"file.channel.both", "all channels mixed", 0.6}} {
		b.Do(c.id)
		b.Until("read", func() bool { return g.load == nil })
		// The highest wave of the left one is less than 1 by what the sum of its
		// partials gives.
		if p := float64(peak()); math.Abs(p-c.peak) > 0.2*c.peak || !strings.Contains(b.P.Announce(), c.word) {
			t.Errorf("%s: peak %.2f; %q", c.id, p, b.P.Announce())
		}
		if !b.Node(c.id).Checked {
			t.Errorf("%s is not checked", c.id)
		}
	}
	// Two equal channels are one person.
	wav, _ = codec.WAVBytes(bench.Rate, [][]float64{left, left}, codec.PCM16)
	dropped(b, "same.wav", wav)
	if f := b.P.Bench().File(); f == nil || f.Name != "same.wav" {
		t.Errorf("equal channels: %q", b.P.Announce())
	}
	// And so they are with a coder's noise, unless one of them was cut.
	r := rand.New(rand.NewPCG(4, 4))
	noisy := func(x []float64, top float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = max(-top, min(top, v)) + 1e-3*r.NormFloat64()
		}
		return y
	}
	wav, _ = codec.WAVBytes(bench.Rate, [][]float64{noisy(left, 1), noisy(left, 1)}, codec.PCM16)
	dropped(b, "coded.wav", wav)
	if f := b.P.Bench().File(); f == nil || f.Name != "coded.wav" || !g.file.Which[0].Hidden {
		t.Errorf("coded channels: %q", b.P.Announce())
	}
	wav, _ = codec.WAVBytes(bench.Rate, [][]float64{noisy(left, 1), noisy(left, 0.12)}, codec.PCM16)
	dropped(b, "cut.wav", wav)
	if a := b.P.Announce(); !strings.Contains(a, "say which is meant") {
		t.Errorf("one channel cut: %q", a)
	}
}

// TestFileNearSilence: what is near silence is called that and not brought up.
func TestFileNearSilence(t *testing.T) {
	b := gainBench(t)
	r := rand.New(rand.NewPCG(2, 2))
	x := make([]float64, 3*bench.Rate)
	for i := range x {
		x[i] = 1e-4 * r.NormFloat64()
	}
	wav, err := codec.WAVBytes(bench.Rate, [][]float64{x}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	dropped(b, "nobody.wav", wav)
	if a := b.P.Announce(); !strings.HasPrefix(a, "nobody.wav: Near silence") || !strings.Contains(a, "not performed") || b.P.Bench().File() != nil {
		t.Errorf("announced %q, file %v", a, b.P.Bench().File())
	}
}

// TestFileStaleError: what went wrong with one file does not stand over the next.
func TestFileStaleError(t *testing.T) {
	b := gainBench(t)
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "bad.wav", Data: []byte("RIFF")}}})
	if !strings.Contains(b.P.Announce(), "bad.wav") {
		t.Fatalf("announced %q", b.P.Announce())
	}
	left, _ := twoPeople(2)
	wav, _ := codec.WAVBytes(bench.Rate, [][]float64{left}, codec.PCM16)
	dropped(b, "good.wav", wav)
	if a := b.P.Announce(); !strings.HasPrefix(a, "good.wav: ") {
		t.Errorf("announced %q over a good file", a)
	}
}

// hourWAV is a long file of 48 kHz stereo of 16 bits, made where it is read: quiet, but
// for half a second that is cut. most is the longest piece asked for.
type hourWAV struct {
	frames int64
	cut    int64 // the first frame of that
	head   []byte
	second [bench.Rate]int32
	most   atomic.Int64
}

func newHour(t *testing.T, seconds, cutS int64) *hourWAV {
	t.Helper()
	one, err := codec.WAVBytes(bench.Rate, [][]float64{{0}, {0}}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	i := bytes.Index(one, []byte("data"))
	h := append([]byte(nil), one[:i+8]...)
	n := uint32(seconds * bench.Rate * 4)
	for k := range 4 {
		h[i+4+k] = byte(n >> (8 * k))
		h[4+k] = byte((n + uint32(i)) >> (8 * k))
	}
	w := &hourWAV{frames: seconds * bench.Rate, cut: cutS * bench.Rate, head: h}
	for i := range w.second {
		w.second[i] = int32(600 * math.Sin(float64(i)*(2*math.Pi/480)) * (0.5 + 0.5*math.Sin(float64(i)*(2*math.Pi/48000))))
	}
	return w
}

func (w *hourWAV) size() int64 { return int64(len(w.head)) + w.frames*4 }

func (w *hourWAV) ReadAt(p []byte, off int64) (int, error) {
	w.most.Store(max(w.most.Load(), int64(len(p))))
	for i := range p {
		at := off + int64(i) - int64(len(w.head))
		switch {
		case at < 0:
			p[i] = w.head[off+int64(i)]
		case at >= w.frames*4:
			return i, io.EOF
		default:
			frame := at / 4
			v := w.second[frame%bench.Rate]
			if frame >= w.cut && frame < w.cut+bench.Rate/2 {
				v = max(-32768, min(32767, 150*v))
			}
			p[i] = byte(uint16(int16(v)) >> (8 * (at % 2)))
		}
	}
	return len(p), nil
}

// TestHourFile: a file of twenty minutes, an hour with GAINWRIGHT_LONG, is looked at in a
// stream and ten minutes around its worst place performed; what is held at a time is bounded.
func TestHourFile(t *testing.T) {
	if testing.Short() {
		t.Skip("minutes of sound")
	}
	seconds, cutS, from := int64(1200), int64(700), "6:4" // 6:40, five minutes before the cut
	if os.Getenv("GAINWRIGHT_LONG") != "" {
		seconds, cutS, from = 3600, 2500, "36:4"
	}
	b := gainBench(t)
	g := gainOf(b.P)
	w := newHour(t, seconds, cutS)
	var before, now runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	b.Now += 1.0 / 60
	b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Drops: []ui.Drop{{Name: "hour.wav", Long: w, Size: w.size()}}})
	if g.file.Job == nil {
		t.Fatalf("refused: %q", b.P.Announce())
	}
	// It can be stopped.
	b.Do("file.stop")
	if g.file.Job != nil || !strings.Contains(b.P.Announce(), "stopped") {
		t.Errorf("not stopped: %q", b.P.Announce())
	}
	b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Drops: []ui.Drop{{Name: "hour.wav", Long: w, Size: w.size()}}})
	highest := uint64(0)
	b.Until("looked at", func() bool {
		runtime.ReadMemStats(&now)
		highest = max(highest, now.HeapAlloc)
		return g.file.Job == nil && g.load == nil
	})
	f := b.P.Bench().File()
	if f == nil {
		t.Fatalf("not performed: %q", b.P.Announce())
	}
	t.Logf("%s; pieces of at most %d bytes; heap at most %.0f MB more", b.P.Announce(), w.most.Load(), float64(highest-before.HeapAlloc)/1e6)
	// Ten minutes around the cut, of one channel in 32 bits: 115 MB, and as much again
	// for what the collector leaves. The hour has 691 MB.
	if len(f.Samples) != work.MaxRecordingSeconds*bench.Rate || w.most.Load() > 1<<20 || highest-before.HeapAlloc > 300e6 {
		t.Errorf("%d samples, pieces of %d, heap %d", len(f.Samples), w.most.Load(), highest-before.HeapAlloc)
	}
	if !strings.Contains(b.P.Announce(), from) || len(g.file.Places) == 0 || math.Abs(g.file.Places[0].AtS-float64(cutS)-0.25) > 4 {
		t.Errorf("%q; places %+v", b.P.Announce(), g.file.Places)
	}
	if k := g.file.Found; len(k) == 0 || !k[0].Kind.Clipping() {
		t.Errorf("found %+v", k)
	}
	// Another place.
	b.Do("file.place.2")
	b.Until("read", func() bool { return g.load == nil })
	if at := diagnose.Clock(g.file.Places[1].AtS); b.Node("file.place.2").Name == "" || !strings.Contains(b.Node("file.place.2").Name, at) {
		t.Errorf("place 2 is called %q, not %s", b.Node("file.place.2").Name, at)
	}
}

func TestDropAndSave(t *testing.T) {
	b := gainBench(t)
	x := make([]float64, 3*44100)
	for i := range x {
		x[i] = 0.2 * math.Sin(2*math.Pi*220*float64(i)/44100) * (1 + math.Sin(float64(i)/9000))
	}
	wav, err := codec.WAVBytes(44100, [][]float64{x}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	drop := func(name string, data []byte) {
		b.Now += 1.0 / 60
		b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: name, Data: data}}})
	}
	drop("notes.txt", []byte("not a sound"))
	if !strings.Contains(b.P.Announce(), "notes.txt") {
		t.Errorf("no word about a file that is no sound: %q", b.P.Announce())
	}
	dropped(b, "ferry-bell.wav", wav)
	f := b.P.Bench().File()
	if f == nil || f.Name != "ferry-bell.wav" || math.Abs(float64(len(f.Samples))-3*bench.Rate) > 2 {
		t.Fatalf("file %+v; %s", f, b.P.Announce())
	}
	b.Set("file.level_db", 90)
	b.Do("record")
	b.Wait(2)
	b.Do("record")
	b.Wait(0.2)
	b.Do("take.save")
	name, data, ok := b.P.NextSave()
	if !ok || name != "gainwright-take-1.zip" {
		t.Fatalf("saved %q, %v", name, ok)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		if f.UncompressedSize64 < 200 {
			t.Errorf("%s has %d bytes", f.Name, f.UncompressedSize64)
		}
	}
	if got := fmt.Sprint(names); got != "[A.wav B.wav as-spoken.wav readings.json picture.png]" {
		t.Errorf("archive of %s", got)
	}
	if _, _, ok := b.P.NextSave(); ok {
		t.Error("handed out twice")
	}
	b.Do("file.open")
	if accept, many, ok := b.P.WantsFile(); !ok || many || !strings.Contains(accept, ".flac") {
		t.Errorf("asked for %q", accept)
	}
	if _, _, ok := b.P.WantsFile(); ok {
		t.Error("asked twice")
	}
	b.Do("talker.maren")
	if b.P.Bench().File() != nil || b.P.Bench().Talker() != "maren" {
		t.Error("the recording goes on")
	}
}
