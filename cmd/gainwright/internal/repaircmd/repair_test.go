package repaircmd

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"html"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
	"gainwright/sounds/codec"
)

// mendedJSON runs repair with --json.
func mendedJSON(t *testing.T, dir string, args ...string) *repaired {
	t.Helper()
	var r repaired
	if err := json.Unmarshal([]byte(must(t, dir, append([]string{"repair", "--json"}, args...)...)), &r); err != nil {
		t.Fatal(err)
	}
	return &r
}

func TestRepairDeclip(t *testing.T) {
	for _, rate := range []int{8000, 16000, 48000} {
		dir := t.TempDir()
		x := clitest.VoiceLike(2, rate, 3)
		quality := "best"
		if rate > 16000 {
			quality = "fast" // the quicker test
		}
		clitest.PutWAV(t, filepath.Join(dir, "truth.wav"), rate, codec.Float32, x)
		clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.Float32, clitest.ClipAt(x, 0.8))
		r := mendedJSON(t, dir, "--method", "declip", "--quality", quality, "--truth", "truth.wav", "in.wav", "out.wav")
		in, _ := clitest.GetWAV(t, filepath.Join(dir, "in.wav"))
		out, info := clitest.GetWAV(t, filepath.Join(dir, "out.wav"))
		if info.Encoding != codec.Float32 || len(out[0]) != len(in[0]) {
			t.Fatalf("%+v", info)
		}
		changed, level := 0, float64(float32(0.8))
		for i, v := range in[0] {
			if math.Abs(v) < level {
				if math.Float64bits(v) != math.Float64bits(out[0][i]) {
					t.Fatalf("%d Hz: known sample %d went from %v to %v", rate, i, v, out[0][i])
				}
				continue
			}
			if out[0][i]*v < 0 || math.Abs(out[0][i]) < level {
				t.Fatalf("%d Hz: clipped sample %d became %v", rate, i, out[0][i])
			}
			if out[0][i] != v {
				changed++
			}
		}
		// The program's distance is that of sim/repair over the files.
		truth, _ := clitest.GetWAV(t, filepath.Join(dir, "truth.wav"))
		want := repair.Compare(truth[0], in[0], out[0], false)
		if d := r.Distance; math.Abs(float64(d.BeforeDB)-want.BeforeDB) > 0.01 || math.Abs(float64(d.AfterDB)-want.AfterDB) > 0.01 {
			t.Errorf("%d Hz: says %+v, the files have %+v", rate, d, want)
		}
		if changed == 0 || want.GainDB < 2 {
			t.Errorf("%d Hz: %d samples changed, %.1f dB nearer", rate, changed, want.GainDB)
		}
		t.Logf("%d Hz: %.1f dB, then %.1f dB", rate, want.BeforeDB, want.AfterDB)
	}
}

func TestRepairFormats(t *testing.T) {
	dir := t.TempDir()
	x := clitest.VoiceLike(2, 16000, 5)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), 16000, codec.PCM16, clitest.ClipAt(x, 1))
	in, _ := clitest.GetWAV(t, filepath.Join(dir, "in.wav"))

	if r := mendedJSON(t, dir, "--method", "declip", "in.wav", "a.wav"); r.Format != "float32" || r.FitDB != 0 || r.After.PeakDBFS <= 0 {
		t.Errorf("peaks above full scale: %s, %v dB", r.Format, r.FitDB)
	}
	for _, args := range [][]string{{"--fit"}, {"--format", "pcm24"}, {"--format", "pcm16", "--fit"}} {
		out := filepath.Join(dir, "b.wav")
		r := mendedJSON(t, dir, append(args, "--force", "--method", "declip", "in.wav", "b.wav")...)
		_, info := clitest.GetWAV(t, out)
		if r.FitDB >= 0 || math.Abs(float64(r.After.PeakDBFS)-fitDBFS) > 0.01 || info.Encoding.Float() {
			t.Errorf("%v: %v dB, peak %v, %s", args, r.FitDB, r.After.PeakDBFS, info.Encoding)
		}
		if !strings.Contains(strings.Join(r.Verdict, " "), "Turned down by") {
			t.Errorf("%v: not said: %q", args, r.Verdict)
		}
	}
	// Where nothing exceeds, the format stays, and so does every sample.
	r := mendedJSON(t, dir, "--method", "gain", "in.wav", "c.wav")
	out, info := clitest.GetWAV(t, filepath.Join(dir, "c.wav"))
	if info.Encoding != codec.PCM16 || r.Usable {
		t.Errorf("%s, usable %v though clipped", info.Encoding, r.Usable)
	}
	for i := range in[0] {
		if in[0][i] != out[0][i] {
			t.Fatalf("sample %d: %v became %v", i, in[0][i], out[0][i])
		}
	}
}

// Each treatment on a mono take gives what sim/repair gives.
func TestRepairMethodsAgree(t *testing.T) {
	dir := t.TempDir()
	const rate = 16000
	x := clitest.ClipAt(clitest.Times(clitest.VoiceLike(3, rate, 7), 0.5), 0.6)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.Float32, x)
	clitest.PutWAV(t, filepath.Join(dir, "safety.wav"), rate, codec.Float32, clitest.Times(clitest.VoiceLike(3, rate, 7), 0.1))
	in, _ := clitest.GetWAV(t, filepath.Join(dir, "in.wav"))
	safety, _ := clitest.GetWAV(t, filepath.Join(dir, "safety.wav"))
	limit := repair.DefaultLimit()
	limit.CeilingDBFS = -9
	for _, c := range []struct {
		method string
		t      repair.Treatment
		within float64
	}{
		{"gain:gain_db=-3.5", repair.Gain{GainDB: -3.5}, 0},
		{"turn-down:ceiling_dbfs=-8", repair.TurnDown{CeilingDBFS: -8}, 0},
		{"high-pass", repair.DefaultHighPass(), 0},
		{"high-pass:slope_db=24,frequency_hz=120", repair.HighPass{FrequencyHz: 120, SlopeDB: 24}, 0},
		{"limiter:ceiling_dbfs=-9", limit, 0},
		{"limiter:ceiling_dbfs=-9,look_ahead_ms=0", repair.Limit{CeilingDBFS: -9, AttackMS: 1, ReleaseMS: 100}, 0},
		{"compressor", repair.DefaultCompress(), 0},
		{"compressor:make_up_db=6,ratio=inf", func() repair.Treatment {
			c := repair.DefaultCompress()
			c.MakeUpDB = 6
			c.Ratio.UnmarshalText([]byte("inf"))
			return c
		}(), 0},
		{"declip", repair.Declip{}, 0},
		{"declip:effort=fast,ceiling_dbfs=-4.44", repair.Declip{Effort: repair.Fast, KnownCeiling: true, CeilingDBFS: -4.44}, 0},
		{"splice", repair.DefaultSplice(safety[0]), 0},
		{"delivery", repair.DefaultDeliver(), 1e-7},
		{"delivery:limit_db=8,loudness_lufs=-12", repair.Deliver{LoudnessLUFS: -12, CeilingDBTP: -1, LimitDB: 8}, 0.02},
		// The noise is learnt from a stream there, from the whole here.
		{"noise-reduction:reduction_db=9", repair.Denoise{ReductionDB: 9}, 0.02},
	} {
		args := []string{"--force", "--format", "float32", "--method", c.method, "in.wav", "out.wav"}
		if strings.HasPrefix(c.method, "splice") {
			args = append(args, "--splice", "safety.wav")
		}
		r := mendedJSON(t, dir, args...)
		want, rep, err := c.t.Apply(context.Background(), in[0], rate, repair.Run{})
		if err != nil {
			t.Fatal(err)
		}
		out, _ := clitest.GetWAV(t, filepath.Join(dir, "out.wav"))
		worst := 0.0
		for i, v := range want {
			worst = max(worst, math.Abs(float64(float32(v))-out[0][i]))
		}
		if worst > c.within || r.Steps[0].Outcome != rep.Verdict.Outcome {
			t.Errorf("%s: %g apart, outcome %s, sim/repair has %s (%q, %q)", c.method, worst, r.Steps[0].Outcome, rep.Verdict.Outcome, r.Steps[0].Back, rep.Verdict.Back)
		}
		if r.Steps[0].Back == "" || len(r.Steps[0].Numbers) == 0 && c.method[:4] != "high" {
			t.Errorf("%s: says nothing: %+v", c.method, r.Steps[0])
		}
		for _, n := range rep.Numbers {
			if v, ok := r.Steps[0].Numbers[n.Key]; ok && math.Abs(float64(v)-n.Value) > 0.35 {
				t.Errorf("%s: %s is %v, sim/repair has %v", c.method, n.Key, v, n.Value)
			}
		}
	}
}

// Both channels get one gain from a limiter, and nobody moves to the side.
func TestRepairStereo(t *testing.T) {
	dir := t.TempDir()
	const rate = 16000
	a, b := clitest.Times(clitest.VoiceLike(3, rate, 9), 0.6), clitest.Times(clitest.VoiceLike(3, rate, 10), 0.2)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.Float32, a, b)
	in, _ := clitest.GetWAV(t, filepath.Join(dir, "in.wav"))
	for _, m := range []string{"limiter:ceiling_dbfs=-10", "compressor:threshold_dbfs=-20"} {
		r := mendedJSON(t, dir, "--force", "--method", m, "in.wav", "out.wav")
		out, info := clitest.GetWAV(t, filepath.Join(dir, "out.wav"))
		if info.Channels != 2 || len(out) != 2 {
			t.Fatal(info)
		}
		turned, least := 0, 1.0
		for i := range in[0] {
			if math.Abs(in[0][i]) < 1e-3 || math.Abs(in[1][i]) < 1e-3 {
				continue
			}
			g, h := out[0][i]/in[0][i], out[1][i]/in[1][i]
			if math.Abs(g-h) > 1e-4*g {
				t.Fatalf("%s: sample %d: gains %v and %v", m, i, g, h)
			}
			if g < 0.99 {
				turned++
			}
			least = min(least, g)
		}
		if turned == 0 || math.Abs(float64(r.Steps[0].Numbers["reduction_max_db"])+meter.DB(least)) > 0.5 {
			t.Errorf("%s: %d samples turned, %v dB, said %v", m, turned, -meter.DB(least), r.Steps[0].Numbers)
		}
		if p := float64(r.After.PeakDBFS); strings.HasPrefix(m, "limiter") && p > -10+1e-5 {
			t.Errorf("peak %v", p)
		}
	}
	// A channel that is not clipped is not touched; the other is mended alone.
	a = clitest.VoiceLike(3, rate, 9)
	clitest.PutWAV(t, filepath.Join(dir, "c.wav"), rate, codec.Float32, clitest.ClipAt(a, 0.7), b)
	mendedJSON(t, dir, "--quality", "fast", "--method", "declip", "c.wav", "d.wav")
	in, _ = clitest.GetWAV(t, filepath.Join(dir, "c.wav"))
	out, _ := clitest.GetWAV(t, filepath.Join(dir, "d.wav"))
	want, _, err := repair.Declip{Effort: repair.Fast}.Apply(context.Background(), in[0], rate, repair.Run{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range in[0] {
		if out[1][i] != in[1][i] || out[0][i] != float64(float32(want[i])) {
			t.Fatalf("sample %d: %v %v", i, out[0][i], out[1][i])
		}
	}
	// One loudness counts both channels.
	r := mendedJSON(t, dir, "--force", "--method", "delivery", "in.wav", "out.wav")
	if l := float64(r.After.LoudnessLUFS); l > -15.95 || r.Steps[0].Outcome == repair.Done && l < -16.05 {
		t.Errorf("delivered at %v LUFS", l)
	}
}

func TestRepairNoise(t *testing.T) {
	dir := t.TempDir()
	const rate = 16000
	rng := rand.New(rand.NewPCG(1, 2))
	x := clitest.Times(clitest.VoiceLike(6, rate, 11), 0.3)
	clean := append([]float64(nil), x...)
	for i := range x {
		x[i] += 0.01 * rng.NormFloat64()
	}
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.Float32, x)
	clitest.PutWAV(t, filepath.Join(dir, "clean.wav"), rate, codec.Float32, clean)
	r := mendedJSON(t, dir, "--method", "noise-reduction:reduction_db=12", "--truth", "clean.wav", "in.wav", "out.wav")
	if d := r.Before.NoiseFloorDBFS - r.After.NoiseFloorDBFS; d < 8 || d > 13 {
		t.Errorf("the noise floor fell by %v dB", d)
	}
	if r.Distance.GainDB < 2 {
		t.Errorf("distance %+v", r.Distance)
	}
}

// Long takes go through files and in stretches; short ones in one piece. The
// result must not tell.
func TestRepairLong(t *testing.T) {
	dir := t.TempDir()
	const rate = 8000
	x := clitest.VoiceLike(12, rate, 13)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.Float32, clitest.ClipAt(x, 0.9), clitest.ClipAt(clitest.Times(x, -0.7), 0.5))
	late := make([]float64, len(x))
	copy(late[100:], x)
	clitest.PutWAV(t, filepath.Join(dir, "safety.wav"), rate, codec.Float32, clitest.Times(late, 0.2))
	wholeMem, wholeS := tapeInMemory, stretchS
	defer func() { tapeInMemory, stretchS = wholeMem, wholeS }()
	for _, c := range []struct {
		method string
		within float64
	}{
		{"declip:effort=fast", 0}, {"splice", 1e-5}, {"limiter:ceiling_dbfs=-12", 0}, {"noise-reduction", 0}, {"delivery", 0},
	} {
		args := []string{"--force", "--format", "float32", "--method", c.method, "in.wav"}
		if c.method == "splice" {
			args = append(args, "--splice", "safety.wav")
		}
		tapeInMemory, stretchS = wholeMem, wholeS
		a := mendedJSON(t, dir, append(args, "a.wav")...)
		tapeInMemory, stretchS = 30000, 3
		tmp := t.TempDir()
		t.Setenv("TMPDIR", tmp)
		b := mendedJSON(t, dir, append(args, "b.wav")...)
		if got := clitest.Names(t, tmp); got != "" {
			t.Errorf("%s: left behind %s", c.method, got)
		}
		one, _ := clitest.GetWAV(t, filepath.Join(dir, "a.wav"))
		two, _ := clitest.GetWAV(t, filepath.Join(dir, "b.wav"))
		worst := 0.0
		for ch := range one {
			for i := range one[ch] {
				worst = max(worst, math.Abs(one[ch][i]-two[ch][i]))
			}
		}
		if worst > c.within || a.Steps[0].Outcome != b.Steps[0].Outcome {
			t.Errorf("%s: in stretches %g apart; %+v and %+v", c.method, worst, a.Steps[0], b.Steps[0])
		}
	}
}

func TestRepairSplice(t *testing.T) {
	dir := t.TempDir()
	const rate = 48000
	x := clitest.VoiceLike(2, rate, 17)
	late := make([]float64, len(x))
	copy(late[480:], x)
	clitest.PutWAV(t, filepath.Join(dir, "truth.wav"), rate, codec.Float32, x)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.PCM24, clitest.ClipAt(x, 1))
	clitest.PutWAV(t, filepath.Join(dir, "safety.wav"), rate, codec.PCM24, clitest.Times(late, 0.25))
	r := mendedJSON(t, dir, "--method", "splice", "--splice", "safety.wav", "--truth", "truth.wav", "in.wav", "out.wav")
	n := r.Steps[0].Numbers
	if r.Distance.AfterDB < 60 || math.Abs(float64(n["delay_ms"])-10) > 0.01 || math.Abs(float64(n["gain_db"])-12.04) > 0.01 || !r.Usable {
		t.Errorf("%+v %+v", r.Distance, r.Steps[0])
	}
	// A second track that is something else is refused in words.
	rng := rand.New(rand.NewPCG(4, 4))
	other := make([]float64, 2*rate)
	for i := range other {
		other[i] = 0.1 * rng.NormFloat64()
	}
	clitest.PutWAV(t, filepath.Join(dir, "other.wav"), rate, codec.PCM24, clitest.ClipAt(other, 0.9))
	r = mendedJSON(t, dir, "--method", "splice", "--splice", "other.wav", "in.wav", "out2.wav")
	if r.Usable || r.Outcome != "hopeless" {
		t.Errorf("%+v", r.Steps[0])
	}
}

func TestRepairSameOnAnyCores(t *testing.T) {
	dir := t.TempDir()
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), 16000, codec.PCM16, clitest.ClipAt(clitest.VoiceLike(3, 16000, 19), 0.9))
	var first []byte
	for _, cores := range []int{1, 3} {
		was := runtime.GOMAXPROCS(cores)
		must(t, dir, "repair", "--force", "--quiet", "--method", "declip", "--method", "noise-reduction", "--method", "delivery:limit_db=3", "in.wav", "out.wav")
		runtime.GOMAXPROCS(was)
		b, err := os.ReadFile(filepath.Join(dir, "out.wav"))
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = b
		} else if !bytes.Equal(first, b) {
			t.Error("the result depends on the number of cores")
		}
	}
}

func TestRepairReport(t *testing.T) {
	dir := t.TempDir()
	const rate = 16000
	x := clitest.VoiceLike(3, rate, 23)
	clitest.PutWAV(t, filepath.Join(dir, "truth.wav"), rate, codec.Float32, x)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), rate, codec.PCM16, clitest.ClipAt(x, 1))
	out := must(t, dir, "repair", "--method", "declip", "--method", "high-pass", "--truth", "truth.wav", "--report", "r.html", "in.wav", "out.wav")
	for _, want := range []string{"Mind your ears", "before", "voice over distortion", "Against the truth", "Written: out.wav (float32), r.html", "Peaks exceed full scale", "on purpose", "above what differs"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	b, err := os.ReadFile(filepath.Join(dir, "r.html"))
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	for _, want := range []string{"Mind your ears", "data:image/png;base64,", "data:audio/wav;base64,", "<th scope=\"col\">after</th>", "high-pass"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Contains(page, "http://") || strings.Contains(page, "https://") || strings.Contains(page, "ZgotmplZ") {
		t.Error("the page reaches out, or a part was refused")
	}
	if got := clitest.Names(t, dir); got != "in.wav out.wav r.html truth.wav" {
		t.Errorf("the directory holds %s", got)
	}
	_, img, _ := strings.Cut(page, "data:image/png;base64,")
	img, _, _ = strings.Cut(img, "\"")
	if i, err := png.Decode(base64.NewDecoder(base64.StdEncoding, strings.NewReader(html.UnescapeString(img)))); err != nil || i.Bounds().Dx() < 1000 {
		t.Errorf("picture: %v", err)
	}
	if keep := os.Getenv("REPAIR_KEEP"); keep != "" {
		os.WriteFile(filepath.Join(keep, "r.html"), b, 0o666)
		os.WriteFile(filepath.Join(keep, "out.txt"), []byte(out), 0o666)
	}
}

// The ranges that are shown are those that sim/repair holds.
func TestRepairRanges(t *testing.T) {
	for _, k := range methodKinds {
		m := k.start()
		if err := m.t.Validate(); err != nil {
			t.Errorf("%s: %v", k.Name, err)
		}
		asJSON, err := json.Marshal(m.t)
		if err != nil {
			t.Fatal(err)
		}
		for i := range k.Params {
			p := &k.Params[i]
			if !strings.Contains(string(asJSON), `"`+p.Key+`"`) {
				t.Errorf("%s has no %s", k.Name, p.Key)
			}
			if p.words != nil {
				continue
			}
			try := func(v float64) error {
				m := k.start()
				p.set(&m, v, "")
				return m.t.Validate()
			}
			if err := errors.Join(try(float64(p.Lo)), try(float64(p.Hi))); err != nil {
				t.Errorf("%s: %s: %v", k.Name, p.Key, err)
			}
			if try(float64(p.Lo)-1) == nil || !math.IsInf(float64(p.Hi), 1) && try(float64(p.Hi)+1) == nil {
				t.Errorf("%s: %s: sim/repair takes more than %s", k.Name, p.Key, p.span())
			}
		}
	}
	dir := t.TempDir()
	out := must(t, dir, "repair", "--list")
	for _, k := range methodKinds {
		if !strings.Contains(out, "\n"+k.Name+"\n") {
			t.Errorf("--list lacks %s", k.Name)
		}
	}
	if v := clitest.ReadJSON(t, must(t, dir, "repair", "--list", "--json")); len(v["methods"].([]any)) != len(methodKinds) {
		t.Error("--list --json is not whole")
	}
}

func TestRepairErrors(t *testing.T) {
	dir := t.TempDir()
	x := clitest.ClipAt(clitest.VoiceLike(1, 16000, 29), 1)
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), 16000, codec.PCM16, x)
	clitest.PutWAV(t, filepath.Join(dir, "short.wav"), 16000, codec.PCM16, x[:8000])
	clitest.PutWAV(t, filepath.Join(dir, "other.wav"), 8000, codec.PCM16, x)
	clitest.PutWAV(t, filepath.Join(dir, "two.wav"), 16000, codec.PCM16, x, x)
	clitest.PutWAV(t, filepath.Join(dir, "there.wav"), 16000, codec.PCM16, x)
	os.WriteFile(filepath.Join(dir, "bad.wav"), []byte("not a sound at all, whatever its name"), 0o666)
	before := clitest.Names(t, dir)
	for _, c := range []struct{ args, want string }{
		{"in.wav out.wav", "no --method is given"},
		{"--method declip in.wav", "wants a recording and the name"},
		{"--method declp in.wav out.wav", `there is no treatment "declp": did you mean declip?`},
		{"--method zzzzzzzz in.wav out.wav", "there are declip, splice"},
		{"--method limiter:ceiling=-3 in.wav out.wav", "did you mean ceiling_dbfs?"},
		{"--method limiter:ceiling_dbfs in.wav out.wav", "is not key=value"},
		{"--method limiter: in.wav out.wav", "is not key=value"},
		{"--method limiter:ceiling_dbfs=loud in.wav out.wav", "is not a number"},
		{"--method limiter:ceiling_dbfs=NaN in.wav out.wav", "is not a number"},
		{"--method limiter:ceiling_dbfs=3 in.wav out.wav", "3 dBFS is out of range: -60 to 0 dBFS"},
		{"--method compressor:ratio=0.5 in.wav out.wav", "is out of range: 1 to inf"},
		{"--method gain:gain_db=1,gain_db=2 in.wav out.wav", "gain_db is given twice"},
		{"--method high-pass:slope_db=18 in.wav out.wav", "neither 12 nor 24"},
		{"--method declip:effort=slow in.wav out.wav", `there is no "slow"`},
		{"--method declip --quality bst in.wav out.wav", "did you mean best?"},
		{"--method gain --quality fast in.wav out.wav", "--quality is for declip"},
		{"--method splice in.wav out.wav", "needs the safety track"},
		{"--method gain --splice two.wav in.wav out.wav", "splice is not among the methods"},
		{"--method splice --splice other.wav in.wav out.wav", "it has 8000 Hz"},
		{"--method splice --splice two.wav in.wav out.wav", "it has 2 channels"},
		{"--method gain --truth short.wav in.wav out.wav", "it has 8000 samples, the recording 16000"},
		{"--method gain --format mp3 in.wav out.wav", `there is no "mp3"`},
		{"--method gain in.wav out.mp3", "does not end in .wav"},
		{"--method gain in.wav .wav", "does not end in .wav"},
		{"--method gain --report r.txt in.wav out.wav", "does not end in .html"},
		{"--method gain missing.wav out.wav", "missing.wav"},
		{"--method gain bad.wav out.wav", "bad.wav"},
		{"--method gain in.wav there.wav", "there.wav"},
		{"--method gain --force in.wav in.wav", "is a recording that is read"},
		{"--method gain in.wav no/out.wav", "there is no directory no"},
		{"--list in.wav out.wav", "--list wants no files"},
	} {
		status, out, errs := call(t, dir, append([]string{"repair"}, strings.Fields(c.args)...)...)
		if status != cli.ExitUsage || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: status %d, %q, want %q", c.args, status, errs, c.want)
		}
		if got := clitest.Names(t, dir); got != before {
			t.Fatalf("%s: the directory holds %s", c.args, got)
		}
	}
}

// Odd takes get a clear word, and the file.
func TestRepairOddTakes(t *testing.T) {
	dir := t.TempDir()
	const rate = 16000
	square := make([]float64, rate)
	dc := make([]float64, rate)
	for i := range square {
		square[i] = 0.9
		if i/100%2 == 1 {
			square[i] = -0.9
		}
		dc[i] = 0.5
	}
	for name, x := range map[string][]float64{"silence": make([]float64, rate), "one": {0.3}, "square": square, "dc": dc} {
		clitest.PutWAV(t, filepath.Join(dir, name+".wav"), rate, codec.Float32, x)
		for _, k := range methodKinds {
			args := []string{"--force", "--method", k.Name, name + ".wav", "out.wav"}
			if k.Name == "declip" || k.Name == "gain" {
				args = append(args, "--report", "r.html")
			}
			if k.Name == "splice" {
				args = append(args, "--splice", name+".wav")
			}
			r := mendedJSON(t, dir, args...)
			out, _ := clitest.GetWAV(t, filepath.Join(dir, "out.wav"))
			if len(out[0]) != len(x) || len(r.Verdict) == 0 || r.Steps[0].Back == "" {
				t.Errorf("%s, %s: %d samples, %q", name, k.Name, len(out[0]), r.Verdict)
			}
			for i, v := range out[0] {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s, %s: sample %d is %v", name, k.Name, i, v)
				}
			}
			if name == "silence" && (r.Usable || r.Steps[0].Outcome != repair.EmptyTake) {
				t.Errorf("silence, %s: %+v", k.Name, r.Steps[0])
			}
		}
	}
}

// Whoever stops it finds nothing half written.
func TestRepairStopped(t *testing.T) {
	dir := t.TempDir()
	clitest.PutWAV(t, filepath.Join(dir, "in.wav"), 16000, codec.PCM16, clitest.ClipAt(clitest.VoiceLike(2, 16000, 31), 1))
	t.Chdir(dir)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	root := cli.Program(New())
	root.SetArgs([]string{"repair", "--method", "declip", "--report", "r.html", "in.wav", "out.wav"})
	if err := root.ExecuteContext(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	if got := clitest.Names(t, dir); got != "in.wav" {
		t.Errorf("the directory holds %s", got)
	}
}
