package recordercmd

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sounds/codec"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// device is a recorder of this test: what it makes of a sound at its microphone.
type device struct {
	gainDB      map[float64]float64
	in, out     float64 // noise, rms, dBFS at 0 dB of gain
	limitBefore bool
	r           *rand.Rand
}

func (d *device) record(t *testing.T, path string, x []float64, gainDB float64, limiter bool) {
	t.Helper()
	g, a, b := math.Pow(10, gainDB/20), math.Pow(10, d.in/20), math.Pow(10, d.out/20)
	y := make([]float64, len(x)+20000)
	for i := range y {
		if k := i - 7000; k >= 0 && k < len(x) {
			y[i] = x[k]
		}
		y[i] = g*(y[i]+a*d.r.NormFloat64()) + b*d.r.NormFloat64()
	}
	limit := func() {
		down := 0.0
		for i, v := range y {
			want := max(0, 20*math.Log10(math.Abs(v)+1e-9)+8)
			if want > down {
				down += 0.01 * (want - down) // 2.1 ms
			} else {
				down += 0.0001389 * (want - down) // 150 ms
			}
			y[i] = v * math.Pow(10, -down/20)
		}
	}
	if limiter && d.limitBefore {
		limit()
	}
	for i, v := range y {
		y[i] = min(max(v, -1), 1)
	}
	if limiter && !d.limitBefore {
		limit()
	}
	clitest.PutWAV(t, path, series.SoundRate, codec.PCM24, y)
}

// TestRecorder: the sheet's sounds, played to an emulated recorder in any order under any
// name, tell its gains, noises, ceiling and limiter; the file that is written reads back.
func TestRecorder(t *testing.T) {
	dir := t.TempDir()
	must(t, dir, "recorder", "sheet", "--out", "series", "--marks", "0,4.5,10")
	if page, err := os.ReadFile(filepath.Join(dir, "series", "sheet.html")); err != nil || strings.Index(string(page), "Turn the loudspeaker down") > strings.Index(string(page), "<audio") {
		t.Error("no caution before the first sound", err)
	}
	gains := map[float64]float64{0: 0, 4.5: 13.7, 10: 31.2}
	d := &device{gainDB: gains, in: -100, out: -88, limitBefore: false, r: rand.New(rand.NewPCG(5, 5))}
	sounds, err := filepath.Glob(filepath.Join(dir, "series", "*.wav"))
	if err != nil || len(sounds) != 9 {
		t.Fatal(sounds, err)
	}
	args := []string{"recorder", "learn", "--json", "--anchor", "meter=72,A", "--out", "mine.yaml", "--report", "mine.html"}
	for i := range sounds {
		k := (i*4 + 3) % len(sounds) // any order
		x, _ := clitest.GetWAV(t, sounds[k])
		name := filepath.Base(sounds[k])
		step, m, _ := strings.Cut(strings.TrimSuffix(name, ".wav"), "-")
		gain := gains[map[string]float64{"0": 0, "4_5": 4.5, "10": 10}[m]]
		y := clitest.Times(x[0], 0.01)
		if step == "loud" || step == "off" || step == "on" {
			gain = 46
		}
		path := filepath.Join(dir, string(rune('a'+i))+".wav")
		d.record(t, path, y, gain, step == "on")
		args = append(args, filepath.Base(path))
	}
	clitest.PutWAV(t, filepath.Join(dir, "silent.wav"), 48000, codec.PCM24, make([]float64, 96000))
	if err := os.WriteFile(filepath.Join(dir, "broken.wav"), []byte("RIFF"), 0o666); err != nil {
		t.Fatal(err)
	}
	args = append(args, "silent.wav", "broken.wav")
	var got learntJSON
	if err := json.Unmarshal([]byte(must(t, dir, args...)), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Marks) != 3 || got.Noise == nil || got.Clip == nil || got.Limiter == nil {
		t.Fatalf("%+v", got.Notes)
	}
	near := func(what string, v, lo, hi, truth, by float64) {
		t.Helper()
		if !(math.Abs(v-truth) <= by) || lo > truth || hi < truth {
			t.Errorf("%s: %.2f (%.2f to %.2f), not %.2f", what, v, lo, hi, truth)
		}
	}
	const sine = 3.01 // rms against a full-scale sine's
	tone := 20 * math.Log10(0.25*0.01)
	for _, m := range got.Marks {
		near("gain", float64(m.Gain), float64(m.Low), float64(m.High)+1e-9, gains[m.Mark], 0.3)
		near("full scale", float64(m.Full), float64(m.FullLo), float64(m.FullHi), 72-tone-gains[m.Mark], 0.3)
	}
	n := got.Noise
	near("noise in", float64(n.In), float64(n.InLo), float64(n.InHi), d.in+sine, 1)
	near("noise out", float64(n.Out), float64(n.OutLo), float64(n.OutHi), d.out+sine, 1)
	near("clip", float64(got.Clip.Level), float64(got.Clip.Low), float64(got.Clip.High), 0, 0.1)
	if got.Clip.Shape != "hard" || got.WordLength != 24 {
		t.Errorf("%+v, %d bit", got.Clip, got.WordLength)
	}
	l := got.Limiter
	if l.Place != "after_converter" || math.Abs(float64(l.ThresholdDB)+8) > 1.5 || l.Ratio < 10 || math.Abs(math.Log(float64(l.ReleaseMS)/150)) > math.Log(1.5) {
		t.Errorf("%+v", l)
	}
	if s := strings.Join(got.Notes, "\n"); !strings.Contains(s, "silent.wav: is silent") || !strings.Contains(s, "broken.wav") {
		t.Error(s)
	}
	data, err := os.ReadFile(filepath.Join(dir, "mine.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	r, err := equipment.Read("mine.yaml", data)
	if err != nil || len(r.Marks) != 3 || r.Limiter == nil || r.Limiter.Place != "after_converter" || len(r.Measured) != 9 {
		t.Errorf("%v\n%s", err, data)
	}
	if page, err := os.ReadFile(filepath.Join(dir, "mine.html")); err != nil || strings.Count(string(page), "<svg") != 3 || strings.Contains(string(page), "NaN") {
		t.Error("report:", err)
	}
	if text := must(t, dir, append([]string{"recorder", "learn"}, args[9:12]...)...); !strings.Contains(text, "Assumed") || strings.Contains(text, "NaN") {
		t.Error(text)
	}
}

// TestNothingToWrite: where no more than the word length is known, no equipment file is written,
// and what is missing is said; was written. Once something is known, what stands in the file and
// what does not is said, and a file of the one and of the other differ as told.
func TestNothingToWrite(t *testing.T) {
	dir := t.TempDir()
	r := rand.New(rand.NewPCG(2, 2))
	quiet := make([]float64, 4*48000)
	for i := range quiet {
		quiet[i] = 1e-4 * r.NormFloat64()
	}
	clitest.PutWAV(t, filepath.Join(dir, "q.wav"), 48000, codec.PCM24, quiet)
	status, out, errs := call(t, dir, "recorder", "learn", "q.wav", "--is", "q.wav=quiet,5", "--out", "mine.yaml")
	if status != cli.ExitUsage || !strings.Contains(out, "word length: 24 bit") || !strings.Contains(errs, "mine.yaml is not written: only the word length is known") ||
		!strings.Contains(errs, "the gain between marks, a level in dB SPL, noise, where it clips and the limiter") {
		t.Errorf("status %d\n%s\n%s", status, out, errs)
	}
	if _, err := os.Stat(filepath.Join(dir, "mine.yaml")); err == nil {
		t.Error("a file that changes nothing is written")
	}
	var got learntJSON
	if _, out, _ := call(t, dir, "recorder", "learn", "q.wav", "--is", "q.wav=quiet,5", "--out", "mine.yaml", "--json"); json.Unmarshal([]byte(out), &got) != nil || got.WordLength != 24 {
		t.Error(out)
	}
	clitest.PutWAV(t, filepath.Join(dir, "l.wav"), 48000, codec.PCM24, clip(clitest.Times(clitest.VoiceLike(3, 48000, 1), 4)))
	text := must(t, dir, "recorder", "learn", "q.wav", "l.wav", "--is", "q.wav=quiet,5", "--is", "l.wav=loud,5", "--out", "mine.yaml")
	if flat := strings.Join(strings.Fields(text), " "); !strings.Contains(flat, "It tells where it clips and the word length. Not in it") || !strings.Contains(flat, "the gain between marks, a level in dB SPL, noise and the limiter.") {
		t.Error(text)
	}
}

func clip(x []float64) []float64 {
	for i, v := range x {
		x[i] = min(max(v, -1), 1)
	}
	return x
}

// TestRecorderFaults: wrong use and files that tell nothing are one clear sentence each.
func TestRecorderFaults(t *testing.T) {
	dir := t.TempDir()
	clitest.PutWAV(t, filepath.Join(dir, "talk.wav"), 16000, codec.PCM24, clitest.VoiceLike(3, 16000, 1))
	clitest.PutWAV(t, filepath.Join(dir, "silent.wav"), 16000, codec.PCM24, make([]float64, 32000))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"learn", "talk.wav"}, "no slate is heard"},
		{[]string{"learn", "silent.wav"}, "is silent"},
		{[]string{"learn", "none.wav"}, "none.wav"},
		{[]string{"learn", "-"}, "standard input"},
		{[]string{"learn", "talk.wav", "--is", "talk.wav"}, "FILE=STEP,MARK"},
		{[]string{"learn", "talk.wav", "--is", "talk.wav=hiss,3"}, "no step"},
		{[]string{"learn", "talk.wav", "--is", "talk.wav=quiet,3.25"}, "at most one decimal"},
		{[]string{"learn", "talk.wav", "--is", "other.wav=quiet,3"}, "none of the files"},
		{[]string{"learn", "talk.wav", "--is", "talk.wav=pair,3"}, "has one channel"},
		{[]string{"learn", "talk.wav", "--anchor", "meter=loud"}, "no level"},
		{[]string{"learn", "talk.wav", "--anchor", "meter=72,B"}, "weighting"},
		{[]string{"learn", "talk.wav", "--anchor", "ruler"}, "wants calibrator"},
		{[]string{"learn", "talk.wav", "--report", "x.txt"}, ".html"},
		{[]string{"sheet"}, "--out DIR is missing"},
		{[]string{"sheet", "--out", "s", "--marks", "3,2"}, "ascend"},
		{[]string{"sheet", "--out", "s", "--marks", "low"}, "no mark"},
	} {
		status, out, errs := call(t, dir, append([]string{"recorder"}, c.args...)...)
		if status != cli.ExitUsage || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: status %d, %q, want %q", c.args, status, errs, c.want)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "s")); err == nil {
		t.Error("a directory is left by a sheet that failed")
	}
}
