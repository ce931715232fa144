package equipment

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gainwright/sim"
)

// measuredRecorder is a file as learn writes it.
func measuredRecorder(anchored bool) *Recorder {
	r := &Recorder{
		Learnt: "2026-11-29", WordLength: 24,
		Noise:    &Noise{Of(-95, -96, -94), Of(-88, -89, -87)},
		Clip:     &Clip{Of(0, -0.05, 0.05), "hard", false},
		Limiter:  &Limiter{Place: "before_converter", Stretches: 40, Threshold: Of(-8, -9, -7), Ratio: Of(100, 20, 100), Attack: Of(2, 1, 3), Release: Of(150, 100, 200)},
		Measured: []Measured{{What: "plugged, mark 0"}},
	}
	for i, g := range []float64{0, 9, 21, 34} {
		m := Mark{Mark: float64(i) * 3, Gain: Of(g, g-0.2, g+0.2)}
		if i == 0 {
			m.Gain = Of(0, 0, 0)
		}
		if anchored {
			m.FullScale = Of(124-g, 122-g, 126-g)
		}
		r.Marks = append(r.Marks, m)
	}
	if anchored {
		r.Anchor = &Anchor{"meter", 72, 0}
	}
	return r
}

// chains are what a file may have to fit to.
func chains() map[string]sim.Chain {
	cond, loud := sim.Default(), sim.Default()
	cond.Microphone.SensitivityMVPerPa, cond.Microphone.SelfNoiseDBA, cond.Microphone.SourceOhm = 12, 16, 150
	loud.Converter.FullScaleDBu, loud.Preamp.PadDB, loud.Limiter.On = -4, 20, true
	return map[string]sim.Chain{"typical": sim.Default(), "condenser": cond, "another": loud}
}

// TestFit: the chain does what the file says, whatever it was fitted to: a sine of the
// level at full scale reaches it, at every mark, and quiet is n² = in²·G² + out².
func TestFit(t *testing.T) {
	r := measuredRecorder(true)
	for name, c := range chains() {
		f, err := r.On(c)
		if err != nil {
			t.Fatal(name, err)
		}
		for _, m := range r.Marks {
			q := f.Chain
			if q.Preamp.GainDB, err = f.Knob.Gain(q, m.Mark); err != nil {
				t.Fatal(err)
			}
			// Pressure of the sine's peak through the chain, by its stations.
			q.DistanceM = 1
			peak := float64(sim.DBSPL(*m.FullScale.Value).Pascal()) * math.Sqrt2 * sim.ToFullScale(q)[sim.AtMicrophone]
			if d := 20 * math.Log10(peak); math.Abs(d) > 0.01 {
				t.Errorf("%s, mark %g: a sine at full scale is at %.2f dBFS", name, m.Mark, d)
			}
			q.Room.NoiseDBA = -100
			n := 0.0
			for _, p := range sim.NoiseParts(q) {
				if p.Name == "room" || p.Name == "microphone" {
					continue // the plug had neither
				}
				n += p.RMS * p.RMS
			}
			// The plug's own share, 150 Ω; all over 20 kHz, where the file holds 24.
			th := float64(sim.ThermalNoise(150, sim.RoomKelvin, sim.NoiseBandHz)) / (float64(sim.DBu(q.Converter.FullScaleDBu).Volt()) * math.Sqrt2) * math.Pow(10, q.Preamp.GainDB/20)
			got := 10*math.Log10(2*(n+th*th)) + 10*math.Log10(24.0/20)
			want := 10 * math.Log10(math.Pow(10, (-95+*m.Gain.Value)/10)+math.Pow(10, -88.0/10))
			if math.Abs(got-want) > 0.2 {
				t.Errorf("%s, mark %g: noise %.2f dBFS, the file says %.2f", name, m.Mark, got, want)
			}
			s := f.Knob.Find(q)
			if math.Abs(s.Mark-m.Mark) > 0.01 || s.Beyond != 0 || s.Low > m.Mark || s.High < m.Mark {
				t.Errorf("%s: mark %g is found at %+v", name, m.Mark, s)
			}
		}
		l := f.Chain.InputLimiter
		if !l.On || f.Chain.Limiter.On || l.ThresholdDBFS != -8 || !math.IsInf(float64(l.Ratio), 1) || l.AttackMS != 2 || l.ReleaseMS != 150 {
			t.Errorf("%s: %+v", name, l)
		}
		if d := f.Departs(f.Chain); d != nil {
			t.Error(d)
		}
		other := f.Chain
		other.Preamp.EINDBu++
		if d := f.Departs(other); len(d) != 1 || d[0] != "preamp.ein_dbu" {
			t.Error(d)
		}
	}
}

// TestKnob: a level that is 2 dB unsure is a stretch of marks; ends and texts.
func TestKnob(t *testing.T) {
	f, err := measuredRecorder(true).On(sim.Default())
	if err != nil {
		t.Fatal(err)
	}
	k, c := f.Knob, f.Chain
	c.Preamp.GainDB, _ = k.Gain(c, 3)
	s := k.Find(c)
	// Two decibels where three marks are 9 dB below and 12 dB above.
	if !(s.Low > 2 && s.Low < 2.6 && s.High > 3.3 && s.High < 3.7) {
		t.Errorf("%+v", s)
	}
	lo, hi := k.Range(c)
	if c.Preamp.GainDB = hi + 7; math.Abs(k.Find(c).Beyond-7) > 0.01 || k.Find(c).Mark != 9 {
		t.Errorf("%+v", k.Find(c))
	}
	if c.Preamp.GainDB = lo - 4; math.Abs(k.Find(c).Beyond+4) > 0.01 || k.Find(c).Mark != 0 {
		t.Errorf("%+v", k.Find(c))
	}
	if _, err := k.Gain(c, 9.5); err == nil || !strings.Contains(err.Error(), "marks 0 to 9") {
		t.Error(err)
	}
	for v, want := range map[float64]string{4.5: "4½", 0.5: "½", 0: "0", 3: "3", 2.3: "2.3", 12: "12"} {
		if got := MarkText(v); got != want {
			t.Errorf("%g: %s", v, got)
		}
	}
	if v := k.Near(4.62); v != 4.5 {
		t.Error(v)
	}
}

// TestAssumed: what a file does not tell is named, and nothing is hoped of a limiter whose
// place is not known.
func TestAssumed(t *testing.T) {
	with := func(change func(*Recorder)) *Fit {
		r := measuredRecorder(true)
		change(r)
		f, err := r.On(sim.Default())
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	says := func(f *Fit, want string) {
		t.Helper()
		if s := strings.Join(f.Assumed, "\n"); !strings.Contains(s, want) {
			t.Errorf("%q is not among\n%s", want, s)
		}
	}
	f, err := measuredRecorder(false).On(sim.Default())
	if err != nil || f.Knob.Anchored {
		t.Fatal(err, f.Knob.Anchored)
	}
	says(f, "no level in dB SPL")
	says(with(func(r *Recorder) { r.Marks = nil }), "marks are not known")
	says(with(func(r *Recorder) { r.Noise = nil }), "noise as of a typical")
	says(with(func(r *Recorder) { r.Noise.Output = Of(math.NaN(), math.Inf(-1), -90) }), "only a bound")
	says(with(func(r *Recorder) { r.Measured = nil }), "a room that was heard")
	says(with(func(r *Recorder) { r.Limiter = nil }), "none was measured")
	says(with(func(r *Recorder) { r.Limiter.Attack = nil }), "attack is a typical one")
	f = with(func(r *Recorder) { r.Limiter.Place = "unknown" })
	says(f, "nothing is hoped")
	if f.Chain.InputLimiter.On || f.Chain.Limiter.On {
		t.Error("a limiter that may be anywhere protects")
	}
	f = with(func(r *Recorder) { r.Clip = &Clip{Of(-3, -3.1, -2.9), "round", true} })
	says(f, "both sides alike")
	if p := f.Chain.Preamp; p.RailDBu != f.Chain.Converter.FullScaleDBu-3 || p.RailKnee != sim.RoundKnee {
		t.Errorf("%+v", p)
	}
	f = with(func(r *Recorder) { r.Clip = &Clip{Of(12, 11.9, 12.1), "hard", false}; r.WordLength = 0 })
	if f.Chain.Converter.DualRangeDB != 12 || f.Chain.File.Format != sim.Float32 {
		t.Errorf("%+v %+v", f.Chain.Converter, f.Chain.File)
	}
	f = with(func(r *Recorder) { r.WordLength = 16; r.Noise.Output = Of(-96, -97, -95) })
	if f.Chain.File.Format != sim.PCM16 || f.Chain.Converter.Bits != 16 || f.Chain.Converter.Dither != sim.NoDither {
		t.Errorf("%+v", f.Chain.Converter)
	}
}

// FuzzOn: what can be read either fits a chain that can be, or is refused in one sentence.
func FuzzOn(f *testing.F) {
	for _, r := range []*Recorder{measuredRecorder(true), measuredRecorder(false), example(), {}} {
		data, _ := r.Write()
		f.Add(data)
	}
	f.Add([]byte("recorder: {marks: [{mark: 1, gain_db: {value: 0}, full_scale_db_spl: {value: 249}}], clip: {level_dbfs: {value: 99}, shape: round}, limiter: {place: both, threshold_dbfs: {value: 39}}}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := Read("f.yaml", data)
		if err != nil {
			return
		}
		for _, c := range chains() {
			fit, err := r.On(c)
			if err != nil {
				if s := err.Error(); s == "" || strings.Contains(s, "\n") {
					t.Fatalf("%q", s)
				}
				continue
			}
			if err := fit.Chain.Validate(); err != nil {
				t.Fatal(err)
			}
			if fit.Knob != nil {
				if s := fmt.Sprint(fit.Knob.Find(fit.Chain)); strings.Contains(s, "NaN") {
					t.Fatal(s)
				}
			}
		}
	})
}

// TestTimesInDB: the times of a limiter that smooths a level, as the gain takes them, are
// those that its envelope shows, sample by sample, after a step to 10 dB over the threshold
// and back.
func TestTimesInDB(t *testing.T) {
	for name, p := range map[string]float64{"amplitude": 1, "power": 2} {
		l := &Limiter{Attack: Of(5, 4, 6), Release: Of(100, 80, 120), Smooths: name}
		attack, release := l.inDB()
		took := func(from, to, ms, part float64) float64 {
			const rate = 48000
			a, b := math.Pow(10, p*from/20), math.Pow(10, p*to/20)
			for i := 1; ; i++ {
				a += (b - a) * (1 - math.Exp(-1000/ms/rate))
				over := max(0, 20/p*math.Log10(a))
				if to > from && over >= part*to || to < from && over <= (1-part)*from {
					return 1000 * float64(i) / rate
				}
			}
		}
		const part = 1 - 1/math.E
		if want := took(-200, 10, 5, part); math.Abs(*attack.Value/want-1) > 0.02 {
			t.Errorf("%s: attack %.3f ms, not %.3f", name, *attack.Value, want)
		}
		if want := took(10, -200, 100, part); math.Abs(*release.Value/want-1) > 0.02 {
			t.Errorf("%s: release %.2f ms, not %.2f", name, *release.Value, want)
		}
	}
	if a, r := (&Limiter{}).inDB(); a != nil || r != nil {
		t.Error("times of nothing")
	}
}
