package recordcmd

import (
	"bytes"
	"encoding/json"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/codec"
	"gainwright/sounds/scenario"
)

func TestTake(t *testing.T) {
	dir := clitest.ShortFile(t)
	out := must(t, dir, "take", "--scenario", "s.yaml", "--strip", "B", "--gain", "40", "--format", "pcm16")
	if got := clitest.Names(t, dir); got != "s.yaml take-1" {
		t.Fatalf("directory holds %s", got)
	}
	if got := clitest.Names(t, filepath.Join(dir, "take-1")); got != "B.json B.png B.wav" {
		t.Fatalf("take-1 holds %s", got)
	}
	if !strings.Contains(out, "Written to take-1: B.wav, B.json, B.png") || !strings.Contains(out, "40.0 dB") {
		t.Errorf("said %s", out)
	}
	r, err := sounds.Open(filepath.Join(dir, "take-1", "B.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if i := r.Info(); i.Rate != 48000 || i.Channels != 1 || i.Encoding != codec.PCM16 || i.Seconds < 0.5 {
		t.Errorf("file: %+v", i)
	}
	x, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "take-1", "B.json"))
	if err != nil {
		t.Fatal(err)
	}
	var res struct {
		Strips   map[string]sim.Readings
		Settings map[string]sim.Chain
		RateHz   int `json:"rate_hz"`
		Seconds  float64
	}
	if err := json.Unmarshal(text, &res); err != nil {
		t.Fatal(err)
	}
	if res.Settings["B"].Preamp.GainDB != 40 || !math.IsInf(float64(res.Settings["B"].Limiter.Ratio), 1) || res.RateHz != 48000 {
		t.Errorf("settings %+v", res.Settings)
	}
	if want := float64(len(x[0])) / 48000; math.Abs(res.Seconds-want) > 1e-9 {
		t.Errorf("%v s, the file has %v", res.Seconds, want)
	}
	// The readings are those of the file.
	peak := 0.0
	for _, v := range x[0] {
		peak = max(peak, math.Abs(v))
	}
	if d := meter.DB(peak) - float64(res.Strips["B"].PeakDBFS); math.Abs(d) > 1e-6 {
		t.Errorf("peak %v, the file has %v", res.Strips["B"].PeakDBFS, meter.DB(peak))
	}
	l, err := meter.NewLoudness(48000, 1)
	if err != nil {
		t.Fatal(err)
	}
	l.WriteMono(x[0])
	if d := l.Integrated() - float64(res.Strips["B"].LoudnessLUFS); math.Abs(d) > 1e-6 {
		t.Errorf("loudness %v, the file has %v", res.Strips["B"].LoudnessLUFS, l.Integrated())
	}
	f, err := os.Open(filepath.Join(dir, "take-1", "B.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil || img.Bounds().Dx() < 1000 {
		t.Errorf("picture: %v %v", err, img.Bounds())
	}
	// The next one does not touch this one.
	must(t, dir, "take", "--scenario", "s.yaml", "--quiet", "--picture", "svg")
	if got := clitest.Names(t, filepath.Join(dir, "take-2")); got != "A.json A.svg A.wav" {
		t.Errorf("take-2 holds %s", got)
	}
}

// The same scenario and seed give the same bytes; another seed does not.
func TestDeterminism(t *testing.T) {
	dir := clitest.ShortFile(t)
	file := func(args ...string) []byte {
		must(t, dir, append([]string{"take", "--scenario", "s.yaml", "--quiet", "--out", "o", "--force"}, args...)...)
		b, err := os.ReadFile(filepath.Join(dir, "o", "A.wav"))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	a, b, c := file(), file(), file("--seed", "5")
	if !bytes.Equal(a, b) {
		t.Error("two runs differ")
	}
	if bytes.Equal(a, c) {
		t.Error("the seed does nothing")
	}
}

// A recording of one's own: its rate stays, the level and the gain count.
func TestRecording(t *testing.T) {
	dir := t.TempDir()
	x := make([]float64, 44100*2)
	for i := range x {
		x[i] = 0.1 * math.Sin(2*math.Pi*500*float64(i)/44100)
	}
	data, err := codec.WAVBytes(44100, [][]float64{x, x}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "own.wav"), data, 0o666); err != nil {
		t.Fatal(err)
	}
	get := func(args ...string) (sim.Readings, map[string]any) {
		text := must(t, dir, append([]string{"take", "own.wav", "--json", "--out", "o", "--force", "--set", "room.noise_dba=-100"}, args...)...)
		var res struct{ Strips map[string]sim.Readings }
		if err := json.Unmarshal([]byte(text), &res); err != nil {
			t.Fatal(err)
		}
		return res.Strips["A"], clitest.ReadJSON(t, text)
	}
	a, v := get("--gain", "40")
	if v["rate_hz"] != 44100.0 || len(v["notes"].([]any)) != 1 {
		t.Errorf("%v Hz, notes %v", v["rate_hz"], v["notes"])
	}
	// 74.85 dB SPL at 1 m, 8 cm away, 1.8 mV/Pa, 40 dB, full scale +10 dBu: the
	// peak of a sine in dBFS is its rms in dBu minus 10.
	want := 74.85 - 20*math.Log10(0.08) - 93.979 + 20*math.Log10(1.8e-3/math.Sqrt(0.6)) + 40 - 10
	if d := float64(a.PeakDBFS) - want; math.Abs(d) > 0.02 {
		t.Errorf("peak %v dBFS, by hand %.2f", a.PeakDBFS, want)
	}
	b, _ := get("--gain", "46", "--level", "60")
	if d := float64(b.PeakDBFS-a.PeakDBFS) - (6 - 14.85); math.Abs(d) > 0.03 {
		t.Errorf("6 dB more gain and 14.85 dB less level: %v after %v", b.PeakDBFS, a.PeakDBFS)
	}
	must(t, dir, "compare", "--recording", "own.wav", "--out", "c", "--quiet")
	if got := clitest.Names(t, filepath.Join(dir, "c")); got != "A-matched.wav A.wav B-matched.wav B.wav readings.json report.html" {
		t.Errorf("compare wrote %s", got)
	}
}

// BenchmarkTake is take on a recording of a minute, all taps' readings, picture
// and files included; x_real_time counts processor time of one core when run with
// -cpu 1.
func BenchmarkTake(b *testing.B) {
	dir := b.TempDir()
	s := scenario.New()
	p, err := s.Open(b.Context(), nil)
	if err != nil {
		b.Fatal(err)
	}
	x := make([]float64, 60*p.Rate)
	for i := 0; i < len(x); {
		n, err := p.Read(x[i:])
		i += n
		if err == io.EOF {
			copy(x[i:], x[:i])
			break
		}
	}
	for i := range x {
		x[i] /= 20
	}
	data, err := codec.WAVBytes(p.Rate, [][]float64{x}, codec.PCM24)
	if err != nil {
		b.Fatal(err)
	}
	wav := filepath.Join(dir, "minute.wav")
	if err := os.WriteFile(wav, data, 0o666); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if cli.Run(cli.Program(NewTake()), []string{"take", wav, "--out", filepath.Join(dir, "o"), "--force", "--quiet"}, nil, io.Discard, os.Stderr) != 0 {
			b.Fatal("failed")
		}
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "x_real_time")
}
