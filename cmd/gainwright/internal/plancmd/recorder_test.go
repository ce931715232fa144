package plancmd

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/cmd/gainwright/internal/recordercmd"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/codec"
)

// withRecorder runs plan and recorder, since one writes what the other reads.
var _, mustWith = clitest.For(func() *cobra.Command { return cli.Program(New(), recordercmd.New()) })

// device is a microphone with a recorder of this test: x = F·(G·(S·p + n_in) + n_out).
type device struct {
	micMV, fullDBu float64 // the microphone's mV/Pa, full scale
	lowDB, spanDB  float64 // gain at mark 0, and up to mark 10
	bend           float64 // of the knob's law
	inDBu, outDBFS float64 // noise at the input, microphone's and preamp's together; after the gain
	r              *rand.Rand
}

func newDevice(seed uint64) *device {
	r := rand.New(rand.NewPCG(seed, 3))
	in := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	d := &device{micMV: math.Exp(in(math.Log(1.2), math.Log(15))), fullDBu: in(-6, 14), spanDB: in(30, 48), bend: in(-0.35, 0.35), r: r}
	// Full scale at the lowest mark at 116 to 130 dB SPL; 12 to 24 dB SPL of noise at the input.
	d.lowDB = d.fullDBu - d.dbu(in(116, 130))
	d.inDBu = d.dbu(in(12, 24))
	d.outDBFS = in(-98, -82)
	return d
}

// dbu is what a level at the microphone gives, 94 dB SPL being 1 Pa.
func (d *device) dbu(spl float64) float64 {
	return spl - 93.979 + 20*math.Log10(d.micMV/1000/0.774597)
}

// gain at a mark, a smooth law.
func (d *device) gain(mark float64) float64 {
	t := mark / 10
	return d.lowDB + d.spanDB*(t+d.bend*t*(1-t))
}

// record is what its file holds of pressure p, Pa, at a mark.
func (d *device) record(p []float64, mark float64) []float64 {
	full := 0.774597 * math.Pow(10, d.fullDBu/20) * math.Sqrt2
	g := math.Pow(10, d.gain(mark)/20) / full
	in := 0.774597 * math.Pow(10, d.inDBu/20) * math.Sqrt(24000.0/20000)
	out := math.Pow(10, d.outDBFS/20) / math.Sqrt2
	y := make([]float64, len(p)+9000)
	for i := range y {
		v := in * d.r.NormFloat64()
		if k := i - 5000; k >= 0 && k < len(p) {
			v += p[k] * d.micMV / 1000
		}
		y[i] = min(max(g*v+out*d.r.NormFloat64(), -1), 1)
	}
	return y
}

// chain is the device as the planner would be told by somebody who knows all of it.
func (d *device) chain() sim.Chain {
	c := sim.Default()
	c.Microphone = sim.Microphone{SensitivityMVPerPa: d.micMV, SourceOhm: 1, MaxSPLDB: 160}
	c.Preamp.EINDBu = d.inDBu
	c.Preamp.OutputNoiseDBu = d.outDBFS + d.fullDBu - 10*math.Log10(24.0/20)
	c.Preamp.RailDBu = d.fullDBu + 10
	c.Converter.FullScaleDBu, c.Converter.DynamicRangeDBA = d.fullDBu, 200
	return c
}

// learn plays the series to the device, reads the level on a meter, and writes mine.yaml.
func (d *device) learn(t *testing.T, dir string) {
	t.Helper()
	const loud = 0.2 // Pa of a full-scale sample of the loudspeaker
	var args []string
	list, err := filepath.Glob(filepath.Join(dir, "series", "*.wav"))
	if err != nil || len(list) == 0 {
		t.Fatal(list, err)
	}
	tone := 0.0
	for _, path := range list {
		step, m, _ := strings.Cut(strings.TrimSuffix(filepath.Base(path), ".wav"), "-")
		if step != "steps" && step != "quiet" {
			continue
		}
		var mark float64
		if _, err := fmt.Sscan(strings.Replace(m, "_", ".", 1), &mark); err != nil {
			t.Fatal(path, err)
		}
		x, _ := clitest.GetWAV(t, path)
		// The knob is turned up after the sound was made softer, as a user does.
		if step == "steps" {
			tone = 20 * math.Log10(0.25*loud/math.Sqrt2/20e-6)
		}
		p := clitest.Times(x[0], loud)
		to := filepath.Join(dir, fmt.Sprintf("%s-%s-rec.wav", step, m))
		clitest.PutWAV(t, to, 48000, codec.PCM24, d.record(p, mark))
		args = append(args, filepath.Base(to))
	}
	// A sound level meter: whole decibels, and half a decibel off as often as not.
	read := math.Round(tone + 0.5*d.r.NormFloat64())
	mustWith(t, dir, append([]string{"recorder", "learn", "--quiet", "--force", "--out", "mine.yaml", "--anchor", fmt.Sprintf("meter=%g,A", read)}, args...)...)
}

// planned is what of plan --json this test reads.
type plannedJSON struct {
	Suggested struct {
		Knob     *cli.KnobAt `json:"knob"`
		KnobLow  *cli.KnobAt `json:"knob_low"`
		KnobHigh *cli.KnobAt `json:"knob_high"`
	}
	Window struct {
		LowDB  float64 `json:"low_db"`
		HighDB float64 `json:"high_db"`
	}
	Settings sim.Chain
	Recorder cli.Recorder
}

// holdPlan plans with the learnt file, and with the true device, for the same guests.
func holdPlan(t *testing.T, dir string, seed uint64) (low, high float64) {
	t.Helper()
	d := newDevice(seed)
	d.learn(t, dir)
	var got plannedJSON
	if err := json.Unmarshal([]byte(mustWith(t, dir, "plan", "--recorder", "mine.yaml", "--sessions", "2000", "--quiet", "--json")), &got); err != nil {
		t.Fatal(err)
	}
	s := plan.Setup{Chain: d.chain(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(context.Background()); err != nil {
		t.Fatal(err)
	}
	r, err := plan.Simulate(context.Background(), s.Conversation(), 2000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	w := s.Window(r)
	// Both as the level of a sine at the microphone that reaches full scale: that, not a
	// gain in dB, is what a setting of a whole recorder is.
	full := func(c sim.Chain, gain float64) float64 {
		return c.Converter.FullScaleDBu - gain + 93.979 - 20*math.Log10(c.Microphone.SensitivityMVPerPa/1000/0.774597)
	}
	low = full(d.chain(), w.LowDB) - full(got.Settings, got.Window.LowDB)
	high = full(d.chain(), w.HighDB) - full(got.Settings, got.Window.HighDB)
	if math.IsNaN(low) && math.IsInf(w.LowDB, 0) && w.LowDB == got.Window.LowDB {
		low = 0
	}
	// And so is the mark, on the true knob, of the upper end.
	if k := got.Suggested.KnobHigh; k != nil && k.Beyond == 0 {
		off := d.gain(k.Mark) - w.HighDB
		t.Logf("device %d: the upper end's mark is %+.2f dB off", seed, off)
		if math.Abs(off) > 1.5 {
			t.Errorf("device %d: the window ends at mark %.2f, which is %.2f dB off", seed, k.Mark, off)
		}
		if k.Low > k.Mark || k.High < k.Mark || k.Low == k.High {
			t.Errorf("device %d: %+v", seed, k)
		}
	}
	return low, high
}

// TestPlanOnALearntRecorder: a window that is planned with a file learnt of an emulated
// recorder, anchored by a meter, ends within 1.5 dB of where it ends with the true device.
func TestPlanOnALearntRecorder(t *testing.T) {
	dir := t.TempDir()
	mustWith(t, dir, "recorder", "sheet", "--out", "series", "--marks", "0,5,10")
	for seed := uint64(1); seed <= learntDevices; seed++ {
		low, high := holdPlan(t, dir, seed)
		t.Logf("device %d: lower end %+.2f dB, upper end %+.2f dB", seed, low, high)
		if !(math.Abs(low) <= 1.5 && math.Abs(high) <= 1.5) {
			t.Errorf("device %d: ends are %.2f and %.2f dB off", seed, low, high)
		}
	}
}

func TestPlanTells(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(ferryRecorder), 0o666); err != nil {
		t.Fatal(err)
	}
	text := mustWith(t, dir, "plan", "--recorder", "mine.yaml", "--sessions", "1000", "--quiet=false", "--out", "p")
	for _, want := range []string{"set the knob near mark 1 ", "in nine\ncases of ten the mark lies from ", "Assumed: the microphone itself", "your own recorder"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	if card, err := os.ReadFile(filepath.Join(dir, "p", "card.html")); err != nil || !strings.Contains(string(card), "mark 1") || !strings.Contains(string(card), "Assumed of your recorder") {
		t.Error("card:", err)
	}
	// A level that nobody knows makes no mark.
	loose := strings.NewReplacer(", full_scale_db_spl: {value: 124, low: 122, high: 126}", "", ", full_scale_db_spl: {value: 108, low: 106, high: 110}", "", ", full_scale_db_spl: {value: 92, low: 90, high: 94}", "").Replace(ferryRecorder)
	if err := os.WriteFile(filepath.Join(dir, "loose.yaml"), []byte(loose), 0o666); err != nil {
		t.Fatal(err)
	}
	text = mustWith(t, dir, "plan", "--recorder", "loose.yaml", "--sessions", "1000")
	if !strings.Contains(text, "knows no level in dB SPL") || strings.Contains(text, "mark 1") {
		t.Error(text)
	}
	// Flags override what the file fills in.
	var j plannedJSON
	if err := json.Unmarshal([]byte(mustWith(t, dir, "plan", "--recorder", "mine.yaml", "--limiter", "off", "--mark", "5", "--sessions", "1000", "--json")), &j); err != nil {
		t.Fatal(err)
	}
	if j.Settings.Limiter.On || math.Abs(j.Settings.Preamp.GainDB-(124-16)) > 200 || len(j.Recorder.Departs) != 1 || j.Recorder.Knob["A"].Mark != 5 {
		t.Errorf("%+v", j.Recorder)
	}
	for _, c := range []struct{ args, want string }{
		{"--recorder none.yaml", "none.yaml: no such file"},
		{"--recorder portabel", "or your own"},
		{"--recorder mine.yaml --mark 11", "--mark: mark 11 is not on the knob: the equipment file knows marks 0 to 10"},
		{"--mark 3", "--mark: a mark belongs to a recorder"},
		{"--recorder mine.yaml --mark 3 --gain 40", "either of them"},
		{"--recorder mine.yaml --mark loud", "is no mark"},
	} {
		status, out, errs := call(t, dir, append([]string{"plan"}, strings.Fields(c.args)...)...)
		if status != cli.ExitUsage || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: status %d, %q, want %q", c.args, status, errs, c.want)
		}
	}
}

const ferryRecorder = `recorder:
  learnt: 2026-11-29
  marks:
  - {mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 124, low: 122, high: 126}}
  - {mark: 5, gain_db: {value: 16, low: 15.8, high: 16.2}, full_scale_db_spl: {value: 108, low: 106, high: 110}}
  - {mark: 10, gain_db: {value: 32, low: 31.8, high: 32.2}, full_scale_db_spl: {value: 92, low: 90, high: 94}}
  noise: {input_dbfs_at_lowest_mark: {value: -100, low: -101, high: -99}, output_dbfs: {value: -92, low: -93, high: -91}}
  clip: {level_dbfs: {value: 0, low: 0, high: 0}, shape: hard, one_sided: false}
  limiter: {place: after_converter, stretches: 30, threshold_dbfs: {value: -9, low: -10, high: -8}}
  word_length_bits: 16
`
