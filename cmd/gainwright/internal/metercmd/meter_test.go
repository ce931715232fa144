package metercmd

import (
	"encoding/base64"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sim/diagnose"
	"gainwright/sounds"
	"gainwright/sounds/codec"
	"gainwright/sounds/voice"
)

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
		enc  codec.Encoding
		want string
	}{
		{"whole", sine(0.2, 1), codec.PCM16, "Whole: no clipping found"},
		{"clipped", sine(2, 2), codec.PCM16, "clipped: 1200 runs"},
		{"turned down", scale(sine(2, 1), 0.3), codec.PCM24, "Clipped earlier and turned down since: 120"},
		{"silent", make([]float64, 48000), codec.PCM16, "Silent"},
		{"low", sine(0.001, 1), codec.PCM24, "Whole, but very low"},
		{"close", sine(0.95, 1), codec.PCM24, "no room to spare"},
		{"float", sine(3, 9), codec.Float32, "above full scale by 9.5 dB"},
	} {
		data, err := codec.WAVBytes(48000, [][]float64{c.x}, c.enc)
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

// TestMeterSaysNothingFalse: words that contradicted the figures beside them, of files made
// by other programs: floating point over full scale, the last bit's dither, pauses gated to
// digital silence, a click's length of sound.
func TestMeterSaysNothingFalse(t *testing.T) {
	dir := t.TempDir()
	r := rand.New(rand.NewPCG(5, 5))
	// Syllables of 0.3 s, four a second and a half, with the rest of it at rest.
	talk := func(a, rest float64, seconds float64) []float64 {
		x := make([]float64, int(48000*seconds))
		for i := range x {
			s := float64(i) / 48000
			v := 0.0
			for h := 1; h < 9; h++ {
				v += math.Sin(2*math.Pi*140*float64(h)*s+float64(h*h)) / float64(h)
			}
			x[i] = rest * r.NormFloat64()
			if at := math.Mod(s, 1.5); at < 1.1 {
				x[i] += a * v * (0.15 + math.Pow(math.Sin(math.Pi*at/0.275), 2))
			}
		}
		return x
	}
	p, err := voice.New(voice.Script{{Text: "We left the north bank at six.", Effort: voice.Normal}}, "maren", 4)
	if err != nil {
		t.Fatal(err)
	}
	loud, err := p.Render(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	for _, v := range loud {
		most = max(most, math.Abs(v))
	}
	for i := range loud {
		loud[i] *= 2 / most
	}
	bits := make([]float64, 48000)
	for i := range bits {
		bits[i] = float64(r.IntN(3)-1) / 32768
	}
	for _, c := range []struct {
		name      string
		x         []float64
		enc       codec.Encoding
		want, not string
	}{
		{"float", loud, codec.Float32, "lies 6.0 dB above full scale", "below full scale \\(|decibel or two|nothing was left"},
		{"bits", bits, codec.PCM16, "Near silence: the highest sample lies at −90.3 dBFS", "every sample is zero"},
		{"gated", talk(0.05, 0, 9), codec.PCM24, "of it is digital silence", "come closer to the microphone"},
		{"noisy", talk(0.05, 0.003, 9), codec.PCM24, "come closer to the microphone", "digital silence"},
		{"short", talk(0.2, 0, 0.05), codec.PCM24, "talk, rms ", "∞ dB\n"},
	} {
		data, err := codec.WAVBytes(48000, [][]float64{c.x}, c.enc)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, c.name+".wav")
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		out := must(t, dir, "meter", path)
		if !strings.Contains(out, c.want) || regexp.MustCompile(c.not).MatchString(out) {
			t.Errorf("%s: want %q and no %q in\n%s", c.name, c.want, c.not, out)
		}
		v := clitest.ReadJSON(t, must(t, dir, "meter", "--json", path))["files"].([]any)[0].(map[string]any)
		if talk, ok := v["talk_dbfs"].(float64); c.name == "short" && ok || c.name != "short" && c.name != "bits" && !ok || ok && talk > v["peak_dbfs"].(float64)+3.02 {
			t.Errorf("%s: talk %v, highest sample %v", c.name, v["talk_dbfs"], v["peak_dbfs"])
		}
	}
}

// TestMeterOneSound: two channels that are one sound, but for a noise of either, are
// called that; two that differ, are not.
func TestMeterOneSound(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "two.wav")
	r := rand.New(rand.NewPCG(3, 3))
	for _, c := range []struct {
		gain, noise float64
		want        bool
	}{{1, 0, true}, {1, 1e-3, true}, {0.9, 1e-3, false}, {0, 1e-3, false}} {
		x := [][]float64{make([]float64, 96000), make([]float64, 96000)}
		for i := range x[0] {
			s := float64(i) / 48000
			v := 0.3 * math.Sin(2*math.Pi*210*s) * math.Sin(2*math.Pi*3*s)
			x[0][i], x[1][i] = v+c.noise*r.NormFloat64(), c.gain*v+c.noise*r.NormFloat64()
		}
		data, err := codec.WAVBytes(48000, x, codec.PCM24)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if out := must(t, dir, "meter", path); strings.Contains(out, "its two channels are one sound") != c.want {
			t.Errorf("%+v: want %v in\n%s", c, c.want, out)
		}
	}
}

// shouting is a voice-like wave of two seconds, as loud as asked, cut at full scale
// and turned by a gain since, on the right; on the left it is low and whole.
func shouting(t *testing.T, path string, over, gain float64) {
	t.Helper()
	x, left := make([]float64, 48000*2), make([]float64, 48000*2)
	for i := range x {
		s := float64(i) / 48000
		v := 0.0
		for h := 1; h < 14; h++ {
			v += math.Sin(2*math.Pi*150*float64(h)*s+float64(h*h)) / float64(h)
		}
		v *= 0.5 * math.Pow(math.Sin(math.Pi*1.5*s), 2)
		x[i] = gain * max(-1, min(1, over*v))
		left[i] = 0.2 * v
	}
	data, err := codec.WAVBytes(48000, [][]float64{left, x}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

func TestMeterTells(t *testing.T) {
	dir := t.TempDir()
	shouting(t, filepath.Join(dir, "low.wav"), 1.5, 0.4)
	out := must(t, dir, "meter", "low.wav")
	for _, want := range []string{"Clipped earlier and turned down since", "confidence", "  where ", "  means ", "  now ", "Treatments: splice,", "  next time Set the gain before the ceiling about"} {
		if !strings.Contains(out, want) {
			t.Errorf("want %q in\n%s", want, out)
		}
	}
	var v struct{ Files []Measured }
	if err := json.Unmarshal([]byte(must(t, dir, "meter", "--json", "low.wav")), &v); err != nil {
		t.Fatal(err)
	}
	m := v.Files[0]
	f := m.find(diagnose.FlatLower)
	if f == nil || f.Next == nil || len(f.Where) == 0 || f.Confidence < 0.9 || m.FlatTops < 20 {
		t.Errorf("%+v", m)
	}
}

func TestMeterReport(t *testing.T) {
	dir := t.TempDir()
	shouting(t, filepath.Join(dir, "loud <b>.wav"), 2, 1)
	must(t, dir, "meter", "--report", "page.html", "loud <b>.wav")
	b, err := os.ReadFile(filepath.Join(dir, "page.html"))
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	for _, want := range []string{"loud &lt;b&gt;.wav", "Badly clipped", "Mind your ears", "what it means", "next time", "<audio controls preload=\"none\" src=\"data:audio/wav;base64,", "src=\"data:image/png;base64,"} {
		if !strings.Contains(page, want) {
			t.Errorf("want %q", want)
		}
	}
	// It needs nothing from elsewhere.
	for _, s := range regexp.MustCompile(`(?:src|href)="([^"]{0,12})`).FindAllStringSubmatch(page, -1) {
		if !strings.HasPrefix(s[1], "data:") {
			t.Errorf("refers to %s", s[1])
		}
	}
	if strings.Contains(page, "http:") || strings.Contains(page, "https:") {
		t.Error("a link leads out of the page")
	}
	// The excerpts begin quietly and stay moderate.
	for _, s := range regexp.MustCompile(`data:audio/wav;base64,([^"]+)`).FindAllStringSubmatch(page, -1) {
		raw, err := base64.StdEncoding.DecodeString(strings.ReplaceAll(s[1], "&#43;", "+"))
		if err != nil {
			t.Fatal(err)
		}
		r, err := sounds.OpenBytes("excerpt.wav", raw)
		if err != nil {
			t.Fatal(err)
		}
		x, err := sounds.ReadAll(r, 1)
		if err != nil {
			t.Fatal(err)
		}
		start, top := 0.0, 0.0
		for i, v := range x[0] {
			if i < 480 {
				start = max(start, math.Abs(v))
			}
			top = max(top, math.Abs(v))
		}
		if top > 0.502 || start > 0.05*top || top == 0 {
			t.Errorf("an excerpt starts at %.3f and reaches %.3f", start, top)
		}
	}
	// A page is not replaced, nor written where the file cannot be read.
	if status, _, errs := call(t, dir, "meter", "--report", "page.html", "loud <b>.wav"); status != 2 || !strings.Contains(errs, "page.html") {
		t.Errorf("%d: %s", status, errs)
	}
	must(t, dir, "meter", "--report", "page.html", "--force", "loud <b>.wav")
	if status, _, _ := call(t, dir, "meter", "--report", "none.html", "none.wav"); status != 2 {
		t.Error("a page of no file")
	}
	if status, _, errs := call(t, dir, "meter", "--report", "page.txt", "loud <b>.wav"); status != 2 || !strings.Contains(errs, ".html") {
		t.Errorf("%d: %s", status, errs)
	}
	if got := clitest.Names(t, dir); got != "loud <b>.wav page.html" {
		t.Errorf("left behind: %s", got)
	}
}

// TestMeterOneFigure: how much less gain would have fitted is one figure in the text,
// in the page and in JSON, tenths of a dB, and the channel that was cut is named.
func TestMeterOneFigure(t *testing.T) {
	dir := t.TempDir()
	for _, over := range []float64{1.3, 2, 2.6} {
		shouting(t, filepath.Join(dir, "two.wav"), over, 0.6)
		text := must(t, dir, "meter", "--report", "page.html", "--force", "two.wav")
		var v struct{ Files []Measured }
		if err := json.Unmarshal([]byte(must(t, dir, "meter", "--json", "two.wav")), &v); err != nil {
			t.Fatal(err)
		}
		m := v.Files[0]
		f := m.find(diagnose.FlatLower)
		if f == nil || f.Next == nil {
			t.Fatalf("%+v", m.Findings)
		}
		tenths := func(v float64) float64 { return math.Round(10*v) / 10 }
		if n := f.Next; n.LowerDB != tenths(n.LowerDB) || n.LowerDB < 0.5 || n.SpreadDB != tenths(n.SpreadDB) || n.SpreadDB < 0.1 {
			t.Errorf("%v ± %v dB in JSON", n.LowerDB, n.SpreadDB)
		}
		page, err := os.ReadFile(filepath.Join(dir, "page.html"))
		if err != nil {
			t.Fatal(err)
		}
		flat := regexp.MustCompile(`\s+`)
		for name, in := range map[string]string{"text": text, "page": string(page), "JSON": f.Advice} {
			if w := "about " + f.Next.Words() + " lower"; !strings.Contains(flat.ReplaceAllString(in, " "), w) {
				t.Errorf("%s does not say %q:\n%.2000s", name, w, in)
			}
		}
		if f.Worst != 2 || !slices.Contains(f.Channels, 2) {
			t.Errorf("channels %v, worst %d", f.Channels, f.Worst)
		}
		for name, in := range map[string]string{"text": text, "page": string(page), "verdict": m.Verdict} {
			if !strings.Contains(flat.ReplaceAllString(in, " "), "channel 2 (right)") {
				t.Errorf("%s does not name the channel:\n%.2000s", name, in)
			}
		}
	}
}

// TestMeterNearSilence: a file of noise that nothing stands out of is called that.
func TestMeterNearSilence(t *testing.T) {
	dir := t.TempDir()
	r := rand.New(rand.NewPCG(4, 4))
	x := make([]float64, 48000*3)
	for i := range x {
		x[i] = 1e-4 * r.NormFloat64()
	}
	data, err := codec.WAVBytes(48000, [][]float64{x}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "quiet.wav"), data, 0o666); err != nil {
		t.Fatal(err)
	}
	if out := must(t, dir, "meter", "quiet.wav"); !strings.Contains(out, "Near silence: the highest sample lies at −6") {
		t.Errorf("told\n%s", out)
	}
}

// TestMeterPair: a sound recorded with a limiter off and on, emulated here: before the
// converter, after it, on two channels of one file; and what is no pair.
func TestMeterPair(t *testing.T) {
	dir := t.TempDir()
	const rate = 16000
	voice := clitest.Times(clitest.VoiceLike(12, rate, 3), 1.5) // 7.6 dB over full scale
	limit := func(x []float64) []float64 {
		y := make([]float64, len(x))
		down := 0.0
		for i, v := range x {
			if want := max(0, 20*math.Log10(math.Abs(v)+1e-9)+8); want > down {
				down += 0.05 * (want - down)
			} else {
				down += 0.0005 * (want - down)
			}
			y[i] = v * math.Pow(10, -down/20)
		}
		return y
	}
	clip := func(x []float64) []float64 { return clitest.ClipAt(x, 1) }
	put := func(name string, x ...[]float64) string {
		clitest.PutWAV(t, filepath.Join(dir, name), rate, codec.PCM24, x...)
		return name
	}
	off := put("off.wav", clip(voice))
	before, after := clip(limit(voice)), limit(clip(voice))
	for _, c := range []struct {
		args  []string
		place string
	}{
		{[]string{off, put("before.wav", before)}, "before_converter"},
		{[]string{off, put("after.wav", after)}, "after_converter"},
		{[]string{off, put("after-stereo.wav", clitest.Times(after, 0.01), after)}, "after_converter"},
		{[]string{put("two.wav", clip(voice), before)}, "before_converter"},
		{[]string{off, off}, "none"},
	} {
		var got struct {
			Limiter map[string]any `json:"limiter"`
		}
		if err := json.Unmarshal([]byte(must(t, dir, append([]string{"meter", "--pair", "--json"}, c.args...)...)), &got); err != nil {
			t.Fatal(err)
		}
		if got.Limiter["place"] != c.place {
			t.Errorf("%v: %v, want %s", c.args, got.Limiter, c.place)
		}
		for _, name := range []string{"threshold_dbfs", "ratio", "attack_ms", "release_ms"} {
			for _, end := range []string{"", "_low", "_high"} {
				if v, ok := got.Limiter[name+end]; !ok || (v == nil) != (c.place == "none") {
					t.Errorf("%v: %s%s is %v", c.args, name, end, v)
				}
			}
		}
	}
	if out := must(t, dir, "meter", "--pair", off, "after.wav"); !strings.Contains(out, "acts after the converter (odds") || !strings.Contains(out, "threshold") {
		t.Error(out)
	}
	put("silent.wav", make([]float64, 3*rate))
	put("short.wav", make([]float64, 100))
	put("other.wav", clitest.VoiceLike(12, rate, 4)[:11*rate])
	noise := make([]float64, 12*rate)
	r := rand.New(rand.NewPCG(9, 9))
	for i := range noise {
		noise[i] = 0.1 * r.NormFloat64()
	}
	put("noise.wav", noise)
	clitest.PutWAV(t, filepath.Join(dir, "rate.wav"), 48000, codec.PCM16, voice)
	if err := os.WriteFile(filepath.Join(dir, "broken.wav"), []byte("RIFF and no more"), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{off, "silent.wav"}, "silent.wav: is silent"},
		{[]string{off, "short.wav"}, "at least one second"},
		{[]string{off, "noise.wav"}, "do not hold the same sound"},
		{[]string{off, "rate.wav"}, "16000 and 48000 Hz"},
		{[]string{off, "broken.wav"}, "broken.wav"},
		{[]string{off, "missing.wav"}, "missing.wav"},
		{[]string{off}, "has one channel"},
		{[]string{off, off, off}, "wants two recordings"},
		{[]string{off, off, "--report", "x.html"}, "no --report"},
	} {
		status, out, errs := call(t, dir, append([]string{"meter", "--pair"}, c.args...)...)
		if status != cli.ExitUsage || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: status %d, %q, want %q", c.args, status, errs, c.want)
		}
	}
}

// A recorder that lost power leaves a header that promises more than there is: what is
// there is measured, and it is told.
func TestMeterOfACutFile(t *testing.T) {
	dir := t.TempDir()
	x := make([]float64, 2*48000)
	for i := range x {
		x[i] = 0.2 * math.Sin(2*math.Pi*300*float64(i)/48000)
	}
	data, err := codec.WAVBytes(48000, [][]float64{x}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "lost power.wav")
	if err := os.WriteFile(path, data[:44+96000], 0o666); err != nil {
		t.Fatal(err)
	}
	out := must(t, dir, "meter", path)
	for _, want := range []string{"the data ends at 1.000 s of the 2.000 s", "Whole: no clipping found"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
}
