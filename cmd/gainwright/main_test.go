package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// call runs the program in the given directory.
func call(t *testing.T, dir string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	t.Chdir(dir)
	var out, errs bytes.Buffer
	status = run(args, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

// must runs the program and wants success.
func must(t *testing.T, dir string, args ...string) string {
	t.Helper()
	status, out, errs := call(t, dir, args...)
	if status != exitOK || errs != "" {
		t.Fatalf("%v: status %d, stderr %q", args, status, errs)
	}
	return out
}

func readJSON(t *testing.T, text string) map[string]any {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(text))
	var v map[string]any
	if err := d.Decode(&v); err != nil {
		t.Fatalf("%v in %.200q", err, text)
	}
	if _, err := d.Token(); err != io.EOF {
		t.Fatalf("something follows the object: %v", err)
	}
	return v
}

func names(t *testing.T, dir string) string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range list {
		out = append(out, e.Name())
	}
	return strings.Join(out, " ")
}

// A short scenario keeps the tests quick.
const short = `title: A short one
seed: 4
source: {talker: joss, script: [{text: "Mind the rope.", effort: loud}]}
strips:
  A: {preamp: {gain_db: 50}, limiter: {on: true}}
  B: {preamp: {gain_db: 38}}
`

func shortFile(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "s.yaml"), []byte(short), 0o666); err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestTake(t *testing.T) {
	dir := shortFile(t)
	out := must(t, dir, "take", "--scenario", "s.yaml", "--strip", "B", "--gain", "40", "--format", "pcm16")
	if got := names(t, dir); got != "s.yaml take-1" {
		t.Fatalf("directory holds %s", got)
	}
	if got := names(t, filepath.Join(dir, "take-1")); got != "B.json B.png B.wav" {
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
	if i := r.Info(); i.Rate != 48000 || i.Channels != 1 || i.Encoding != sounds.PCM16 || i.Seconds < 0.5 {
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
	if got := names(t, filepath.Join(dir, "take-2")); got != "A.json A.svg A.wav" {
		t.Errorf("take-2 holds %s", got)
	}
}

// Every key that the contract of the JSON names.
var readingKeys = strings.Fields(`gain_db talk_peak_dbfs peak_dbfs true_peak_dbtp headroom_db loudness_lufs
	loudness_range_lu short_term_max_lufs momentary_max_lufs noise_floor_dbfs snr_db overs longest_over_ms
	clipped_percent rail_overs mic_overload_samples limiter_reduction_max_db sdr_db lost_energy_db
	delivered_gain_db delivered_noise_lufs meter_overs`)

func TestJSON(t *testing.T) {
	dir := shortFile(t)
	v := readJSON(t, must(t, dir, "take", "--scenario", "s.yaml", "--json", "--out", "o"))
	a := v["strips"].(map[string]any)["A"].(map[string]any)
	for _, k := range readingKeys {
		if _, ok := a[k]; !ok {
			t.Errorf("no %s", k)
		}
	}
	for name, path := range v["files"].(map[string]any) {
		if st, err := os.Stat(filepath.Join(dir, path.(string))); err != nil || st.Size() == 0 || filepath.Base(path.(string)) != name {
			t.Errorf("%s: %v", name, path)
		}
	}
	v = readJSON(t, must(t, dir, "compare", "s.yaml", "--json", "--out", "c"))
	if len(v["strips"].(map[string]any)) != 2 || len(v["files"].(map[string]any)) != 6 {
		t.Errorf("compare: %v", v)
	}
	v = readJSON(t, must(t, dir, "meter", "--json", "o/A.wav", "c/B.wav"))
	files := v["files"].([]any)
	if len(files) != 2 {
		t.Fatalf("%d files", len(files))
	}
	m := files[0].(map[string]any)
	for _, k := range []string{"path", "rate_hz", "channels", "seconds", "peak_dbfs", "loudness_lufs", "true_peak_dbtp", "meter_overs", "flat_tops", "noise_floor_dbfs", "verdict", "advice"} {
		if _, ok := m[k]; !ok {
			t.Errorf("meter: no %s", k)
		}
	}
	readJSON(t, must(t, dir, "version", "--json"))
}

// The same scenario and seed give the same bytes; another seed does not.
func TestDeterminism(t *testing.T) {
	dir := shortFile(t)
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

// What the built-in comparison is there to teach.
func TestCompareDefault(t *testing.T) {
	dir := t.TempDir()
	out := must(t, dir, "compare")
	text, err := os.ReadFile(filepath.Join(dir, "compare-1", "readings.json"))
	if err != nil {
		t.Fatal(err)
	}
	var res struct {
		Strips map[string]sim.Readings
		Gain   map[string]float64 `json:"matched_gain_db"`
		LUFS   float64            `json:"matched_lufs"`
	}
	if err := json.Unmarshal(text, &res); err != nil {
		t.Fatal(err)
	}
	a, b := res.Strips["A"], res.Strips["B"]
	if a.Overs < 10 || b.Overs != 0 {
		t.Errorf("A %d overs, B %d", a.Overs, b.Overs)
	}
	// The limiter after the converter hides the clipping from a plain meter and
	// mends nothing.
	if a.MeterOvers != 0 || a.PeakDBFS > -1 || a.LimiterReductionMaxDB < 3 || a.LostEnergyDB < 0.1 {
		t.Errorf("A: %+v", a)
	}
	if a.GainDB-b.GainDB != 12 {
		t.Errorf("gains %v and %v", a.GainDB, b.GainDB)
	}
	// The copies are equally loud, and none clips.
	for _, name := range []string{"A", "B"} {
		m, err := measure(t.Context(), filepath.Join(dir, "compare-1", name+"-matched.wav"), false, newWatch(io.Discard, true))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(m.LoudnessLUFS)-res.LUFS) > 0.02 || m.TruePeakDBTP > matchTopDBTP+0.02 {
			t.Errorf("%s: %v LUFS, want %v; %v dBTP", name, m.LoudnessLUFS, res.LUFS, m.TruePeakDBTP)
		}
	}
	page, err := os.ReadFile(filepath.Join(dir, "compare-1", "report.html"))
	if err != nil {
		t.Fatal(err)
	}
	html := string(page)
	if n := strings.Count(html, "<audio "); n != 4 {
		t.Errorf("%d players", n)
	}
	if n := strings.Count(html, `src="data:image/png;base64,`); n != 2 {
		t.Errorf("%d pictures", n)
	}
	// Nothing but the sounds beside it is fetched.
	for _, m := range regexp.MustCompile(`(?:src|href)="([^"]{0,60})`).FindAllStringSubmatch(html, -1) {
		if !strings.HasPrefix(m[1], "data:") && !regexp.MustCompile(`^[AB](-matched)?\.wav$`).MatchString(m[1]) {
			t.Errorf("the report wants %s", m[1])
		}
	}
	for where, s := range map[string]string{"report": html, "output": out} {
		ears, file := strings.Index(s, "Mind your ears: strip A is clipped"), strings.Index(s, "A.wav")
		if ears < 0 || file < ears {
			t.Errorf("%s: the caution stands at %d, the file at %d", where, ears, file)
		}
	}
}

func TestBuiltinScenarios(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	dir := t.TempDir()
	for _, n := range scenario.BuiltinNames()[1:] {
		var res struct{ Strips map[string]sim.Readings }
		if err := json.Unmarshal([]byte(must(t, dir, "compare", n, "--json", "--out", n)), &res); err != nil {
			t.Fatal(err)
		}
		s := res.Strips
		switch n {
		case "limiter-first":
			if s["off"].Overs == 0 || s["after"].Overs != s["off"].Overs || s["before"].Overs > s["off"].Overs/10 {
				t.Errorf("%s: overs %d, %d, %d", n, s["off"].Overs, s["after"].Overs, s["before"].Overs)
			}
		case "two-ranges":
			if s["fixed"].Overs == 0 || s["float"].Overs != 0 || s["float"].PeakDBFS < 0 {
				t.Errorf("%s: %+v", n, s)
			}
		case "engine-room":
			if s["close"].SNRDB < s["far"].SNRDB+10 || math.Abs(float64(s["far"].SNRDB-s["far_more_gain"].SNRDB)) > 0.5 {
				t.Errorf("%s: SNR far %v, with more gain %v, close %v", n, s["far"].SNRDB, s["far_more_gain"].SNRDB, s["close"].SNRDB)
			}
		case "quiet-guest":
			if s["low"].DeliveredNoiseLUFS < s["fair"].DeliveredNoiseLUFS+3 || s["fair"].Overs != 0 {
				t.Errorf("%s: noise %v and %v", n, s["low"].DeliveredNoiseLUFS, s["fair"].DeliveredNoiseLUFS)
			}
		case "lean-in":
			if s["A"].Overs == 0 || s["B"].Overs != 0 {
				t.Errorf("%s: overs %d and %d", n, s["A"].Overs, s["B"].Overs)
			}
		}
	}
}

// A recording of one's own: its rate stays, the level and the gain count.
func TestRecording(t *testing.T) {
	dir := t.TempDir()
	x := make([]float64, 44100*2)
	for i := range x {
		x[i] = 0.1 * math.Sin(2*math.Pi*500*float64(i)/44100)
	}
	data, err := sounds.WAVBytes(44100, [][]float64{x, x}, sounds.PCM16)
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
		return res.Strips["A"], readJSON(t, text)
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
	if got := names(t, filepath.Join(dir, "c")); got != "A-matched.wav A.wav B-matched.wav B.wav readings.json report.html" {
		t.Errorf("compare wrote %s", got)
	}
}

func TestMeterVerdicts(t *testing.T) {
	dir := t.TempDir()
	sine := func(a, top float64) []float64 {
		x := make([]float64, 48000*2)
		for i := range x {
			x[i] = max(-top, min(top, a*math.Sin(2*math.Pi*300*float64(i)/48000)))
		}
		return x
	}
	scale := func(x []float64, g float64) []float64 {
		for i := range x {
			x[i] *= g
		}
		return x
	}
	for _, c := range []struct {
		name string
		x    []float64
		enc  sounds.Encoding
		want string
	}{
		{"whole", sine(0.2, 1), sounds.PCM16, "Whole: no clipping found"},
		{"clipped", sine(2, 2), sounds.PCM16, "clipped: 1200 runs"},
		{"turned down", scale(sine(2, 1), 0.3), sounds.PCM24, "Clipped earlier and turned down since: 120"},
		{"silent", make([]float64, 48000), sounds.PCM16, "Silent"},
		{"low", sine(0.001, 1), sounds.PCM24, "Whole, but very low"},
		{"close", sine(0.95, 1), sounds.PCM24, "no room to spare"},
		{"float", sine(3, 9), sounds.Float32, "above full scale by 9.5 dB"},
	} {
		data, err := sounds.WAVBytes(48000, [][]float64{c.x}, c.enc)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, c.name+".wav")
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if out := must(t, dir, "meter", path); !strings.Contains(out, c.want) {
			t.Errorf("%s: want %q in\n%s", c.name, c.want, out)
		}
	}
}

func TestBadUse(t *testing.T) {
	dir := shortFile(t)
	if err := os.WriteFile(filepath.Join(dir, "bad.yaml"), []byte("strips:\n  A:\n    preamp: {gian_db: 40}\n    limiter: {ratio: 0}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	must(t, dir, "take", "--scenario", "s.yaml", "--out", "there", "--quiet")
	before := names(t, dir)
	for _, c := range []struct {
		args []string
		want string // on the standard error; lines are told apart by |
	}{
		{[]string{"tkae"}, `there is no command "tkae": did you mean take?`},
		{[]string{"wombat"}, `there is no command "wombat"; see gainwright --help`},
		{[]string{"take", "--gian", "3"}, "unknown flag: --gian; see gainwright take --help"},
		{[]string{"take", "a.wav", "b.wav"}, "gainwright take: takes one recording at most"},
		{[]string{"take", "--gain", "900"}, "--gain: 900 dB is out of range: -20 to 80 dB"},
		{[]string{"take", "--gain", "high"}, `--gain: want a number, -20 to 80 dB, not "high"`},
		{[]string{"take", "--limiter", "behind"}, `--limiter: there is no "behind": there are off, before and after`},
		{[]string{"take", "--talker", "captian"}, `--talker: there is no "captian": did you mean captain?`},
		{[]string{"take", "--distance", "3"}, "--distance: 3 m is out of range: 0.02 to 2 m"},
		{[]string{"take", "--level", "70"}, "--level is for a recording"},
		{[]string{"take", "--seed", "-1"}, "--seed: -1 is out of range"},
		{[]string{"take", "--format", "mp3"}, `--format: there is no "mp3"`},
		{[]string{"take", "--picture", "gif"}, `--picture: there is no "gif": there are png and svg`},
		{[]string{"take", "--set", "preamp.gian_db=3"}, "--set preamp.gian_db: there is no such setting: did you mean preamp.gain_db?"},
		{[]string{"take", "--set", "preamp"}, "--set preamp: want PATH=VALUE"},
		{[]string{"take", "--set", "strips.Q.preamp.gain_db=3"}, `there is no strip "Q": there are A`},
		{[]string{"take", "--set", "preamp.gain_db=99", "--distance", "9"}, "--set preamp.gain_db: 99 dB is out of range|--distance: 9 m"},
		{[]string{"take", "--scenario", "s.yaml", "--strip", "C"}, `there is no strip "C": there are A, B`},
		{[]string{"take", "--scenario", "none"}, `there is no built-in scenario "none"`},
		{[]string{"take", "--scenario", "none.yaml"}, "none.yaml: no such file"},
		{[]string{"take", "--scenario", "bad.yaml"}, "bad.yaml:3:14: strips.A.preamp.gian_db: unknown key: did you mean gain_db?|bad.yaml:4:22: strips.A.limiter.ratio: 0:1 is out of range"},
		{[]string{"take", "none.wav"}, "none.wav: "},
		{[]string{"take", "s.yaml"}, "s.yaml: "},
		{[]string{"take", "none.wav", "--talker", "ilse"}, "--talker ilse: none.wav is a recording"},
		{[]string{"take", "--scenario", "s.yaml", "--out", "there"}, "already exists, and is not replaced unless forced"},
		{[]string{"take", "--out", "no/such/place"}, "there is no directory no/such"},
		{[]string{"take", "--out", "s.yaml"}, "s.yaml: is a file: a directory is needed"},
		{[]string{"compare", "a", "b"}, "takes one scenario at most"},
		{[]string{"compare", "captain-laugh"}, "did you mean captain-laughs?"},
		{[]string{"meter"}, "gainwright meter: wants one or more recordings"},
		{[]string{"meter", "none.wav", "none2.wav"}, "none.wav: |none2.wav: "},
	} {
		status, out, errs := call(t, dir, c.args...)
		wants := strings.Split(c.want, "|")
		lines := strings.Split(strings.TrimSuffix(errs, "\n"), "\n")
		if len(lines) != len(wants) {
			t.Errorf("%v: want %d lines, got %q", c.args, len(wants), errs)
			continue
		}
		for i, w := range wants {
			if !strings.HasPrefix(lines[i], "gainwright: ") || !strings.Contains(lines[i], w) {
				t.Errorf("%v:\n got %s\nwant %s", c.args, lines[i], w)
			}
		}
		wantStatus := exitUsage
		if strings.Contains(c.want, "a directory is needed") {
			wantStatus = exitFailure
		}
		if status != wantStatus || out != "" {
			t.Errorf("%v: status %d, stdout %q", c.args, status, out)
		}
		if got := names(t, dir); got != before {
			t.Errorf("%v left %s", c.args, got)
		}
	}
}

// One bad file among several does not hide the others.
func TestMeterGoesOn(t *testing.T) {
	dir := shortFile(t)
	must(t, dir, "take", "--scenario", "s.yaml", "--out", "o", "--quiet")
	status, out, errs := call(t, dir, "meter", "none.wav", "o/A.wav", "--json")
	if status != exitUsage || !strings.Contains(errs, "none.wav") || len(readJSON(t, out)["files"].([]any)) != 1 {
		t.Errorf("status %d, %s, %s", status, out, errs)
	}
}

func TestHelp(t *testing.T) {
	for _, c := range [][]string{{"--help"}, {"take", "--help"}, {"compare", "--help"}, {"meter", "--help"}, {"version", "--help"}, {"open", "--help"}} {
		out := must(t, t.TempDir(), c...)
		if !strings.Contains(out, "Examples:") || !strings.Contains(out, "gainwright") {
			t.Errorf("%v: no examples", c)
		}
		for _, line := range strings.Split(out, "\n") {
			if n := runes(line); n > 110 {
				t.Errorf("%v: a line of %d characters: %s", c, n, line)
			}
		}
	}
}

func TestPrintScenario(t *testing.T) {
	dir := t.TempDir()
	text := must(t, dir, "compare", "--print", "limiter-first", "--set", "seed=3")
	s, err := scenario.Parse("printed", []byte(text))
	if err != nil || s.Seed != 3 || len(s.Strips) != 3 {
		t.Errorf("%v\n%s", err, text)
	}
	if got := names(t, dir); got != "" {
		t.Errorf("wrote %s", got)
	}
}

func TestWatch(t *testing.T) {
	var b bytes.Buffer
	w := &watch{w: &b, live: true}
	w.begin("recording")
	w.began = w.began.Add(-3e9)
	w.at(0.25)
	w.done()
	if got := b.String(); !strings.HasPrefix(got, "\rrecording: 25 %, 0:09 left") || !strings.HasSuffix(got, "\r") {
		t.Errorf("showed %q", got)
	}
	b.Reset()
	w = newWatch(&b, false) // no terminal
	w.begin("recording")
	w.began = w.began.Add(-3e9)
	w.at(0.5)
	w.done()
	if b.Len() > 0 {
		t.Errorf("showed %q on no terminal", b.String())
	}
}

// Three files: one even, one whose burst sets how loud all may be, with a passage that
// the gate of BS.1770 lets pass or not as the gain wants it, and a silent one.
func TestMatchKeepsHeadroom(t *testing.T) {
	const rate = 48000
	tone := func(x []float64, dbfs float64) {
		for i := range x {
			x[i] = math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*997*float64(i)/rate)
		}
	}
	even, burst, silent := make([]float64, 6*rate), make([]float64, 6*rate), make([]float64, 6*rate)
	tone(even, -17)
	tone(burst, -37)
	tone(burst[2*rate:4*rate], -68)
	tone(burst[rate:rate+rate/50], -10)
	s := &session{rate: rate}
	dir := t.TempDir()
	for name, x := range map[string][]float64{"A": even, "B": burst, "C": silent} {
		r := &recorded{name: name, staged: filepath.Join(dir, name+".wav")}
		f, err := os.Create(r.staged)
		if err != nil {
			t.Fatal(err)
		}
		wav, err := sounds.NewWAVWriter(f, rate, 1, sounds.PCM24)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(wav.Write([][]float64{x}), wav.Close(), f.Close()); err != nil {
			t.Fatal(err)
		}
		m, err := measure(t.Context(), r.staged, false, newWatch(io.Discard, true))
		if err != nil {
			t.Fatal(err)
		}
		r.readings = sim.Readings{LoudnessLUFS: m.LoudnessLUFS, TruePeakDBTP: m.TruePeakDBTP}
		s.strips = append(s.strips, r)
	}
	slices.SortFunc(s.strips, func(a, b *recorded) int { return strings.Compare(a.name, b.name) })
	m, err := s.match(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range s.strips[:2] {
		l, err := meter.NewLoudness(rate, 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.amplified(t.Context(), m.gainDB[i], func(x []float64) error { l.WriteMono(x); return nil }); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.2f LUFS as it is, gain %.2f dB, then %.2f LUFS", r.name, r.readings.LoudnessLUFS, m.gainDB[i], l.Integrated())
		if d := l.Integrated() - m.LUFS; math.Abs(d) > 0.005 {
			t.Errorf("%s has %.3f LUFS, want %.3f", r.name, l.Integrated(), m.LUFS)
		}
	}
	if top := float64(s.strips[1].readings.TruePeakDBTP) + m.gainDB[1]; math.Abs(top-matchTopDBTP) > 0.01 {
		t.Errorf("B's highest peak is %.2f dBTP", top)
	}
	if m.gainDB[2] != 0 {
		t.Errorf("silence gets %v dB", m.gainDB[2])
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
	data, err := sounds.WAVBytes(p.Rate, [][]float64{x}, sounds.PCM24)
	if err != nil {
		b.Fatal(err)
	}
	wav := filepath.Join(dir, "minute.wav")
	if err := os.WriteFile(wav, data, 0o666); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if run([]string{"take", wav, "--out", filepath.Join(dir, "o"), "--force", "--quiet"}, nil, io.Discard, os.Stderr) != 0 {
			b.Fatal("failed")
		}
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "x_real_time")
}
