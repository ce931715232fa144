package plan

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gainwright/sim"
)

// Limits say what is acceptable.
type Limits struct {
	// Risk is the largest acceptable chance, 0 to 1, that anything goes over in the
	// session.
	Risk float64 `json:"risk" yaml:"risk"`
	// NoiseLUFS is the largest acceptable K-weighted noise after delivery.
	NoiseLUFS float64 `json:"noise_lufs" yaml:"noise_lufs"`
	// DeliveryLUFS is the loudness that speech is brought to.
	DeliveryLUFS float64 `json:"delivery_lufs" yaml:"delivery_lufs"`
}

// DefaultLimits: one session in twenty may go over; noise 41 LU below speech at
// the loudness of a mono interview (both assumed; yours to set).
func DefaultLimits() Limits {
	return Limits{Risk: 0.05, NoiseLUFS: -60, DeliveryLUFS: sim.DeliveryLUFS}
}

// speechKOffset is what the loudness of speech-shaped sound reads above its rms
// in dB re full scale (rms of 1 = 0 dB), from the K filter and the ANSI S3.5
// spectrum of normal effort: −0.36 LU.
const speechKOffset = -0.36

// A Point is one gain.
type Point struct {
	GainDB         float64 `json:"gain_db"`
	Risk           float64 `json:"risk"`
	RiskLow        float64 `json:"risk_low"` // 95 % interval for the number of sessions
	RiskHigh       float64 `json:"risk_high"`
	NoiseFloorDBFS float64 `json:"noise_floor_dbfs"`     // AES17 rms, 20 Hz to 20 kHz
	NoiseLUFS      float64 `json:"delivered_noise_lufs"` // after delivery
	TalkPeakDBFS   float64 `json:"talk_peak_dbfs"`       // where an ordinary utterance peaks
}

// A Setup is a chain and the conversation before it.
type Setup struct {
	Chain  sim.Chain
	Model  Model
	Limits Limits
	// reliefDB is how much more peak an input limiter takes; measured, see Prepare.
	reliefDB float64
}

// Prepare validates the set-up and, if a limiter sits before the converter,
// measures through the engine how much louder a laugh may get before it goes
// over. It must be called before At.
func (s *Setup) Prepare(ctx context.Context) error {
	if err := s.Chain.Validate(); err != nil {
		return err
	}
	if err := s.Model.Validate(); err != nil {
		return err
	}
	if s.Limits.Risk <= 0 || s.Limits.Risk >= 1 {
		return fmt.Errorf("risk: %v is out of range (above 0, below 1)", s.Limits.Risk)
	}
	s.reliefDB = 0
	if !s.Chain.InputLimiter.On {
		return nil
	}
	relief, err := limiterRelief(ctx, s.Chain)
	s.reliefDB = relief
	return err
}

// ReliefDB is what Prepare measured: 0 without a limiter before the converter.
func (s *Setup) ReliefDB() float64 { return s.reliefDB }

// CeilingDB returns the peak level at 1 m, 20·log10(peak/20 µPa), beyond which
// something goes over at gainDB: the converter's ceiling or the preamp's rail,
// whichever comes first.
func (s *Setup) CeilingDB(gainDB float64) float64 {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	ceil := sim.Ceilings(c)
	fs := float64(sim.DBu(c.Converter.FullScaleDBu).Volt()) * math.Sqrt2
	perPa := c.Microphone.SensitivityMVPerPa / 1000 * sim.DB(gainDB-c.Preamp.PadDB).Lin() / c.DistanceM
	conv := ceil[sim.AtConverter] * fs * sim.DB(s.reliefDB).Lin()
	return 20 * math.Log10(min(conv, ceil[sim.AtPreamp])/perPa/sim.PressureRef)
}

// At returns the two curves' values at one gain.
func (s *Setup) At(gainDB float64, r *Result) Point {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	p := Point{GainDB: gainDB}
	p.Risk, p.RiskLow, p.RiskHigh = r.Over(s.CeilingDB(gainDB))
	var u, k float64
	for _, n := range sim.NoiseParts(c) {
		u += n.RMS * n.RMS
		k += n.KRMS * n.KRMS
	}
	p.NoiseFloorDBFS = float64(sim.RMSToDBFS(math.Sqrt(u)))
	fs := float64(sim.DBu(c.Converter.FullScaleDBu).Volt()) * math.Sqrt2
	level := s.Model.TalkLevelDB + s.Model.DriftDB/2
	rms := float64(sim.DBSPL(level).Pascal()) / c.DistanceM * c.Microphone.SensitivityMVPerPa / 1000 *
		sim.DB(gainDB-c.Preamp.PadDB).Lin() / fs
	speech := 20*math.Log10(rms) + speechKOffset
	p.NoiseLUFS = -0.691 + 10*math.Log10(k) + s.Limits.DeliveryLUFS - speech
	p.TalkPeakDBFS = 20*math.Log10(rms) + s.Model.TalkCrest.MeanDB
	return p
}

// Curve returns At for gains from lo to hi in steps.
func (s *Setup) Curve(r *Result, lo, hi, step float64) []Point {
	var ps []Point
	for i := 0; ; i++ {
		g := lo + float64(i)*step
		if g > hi+1e-9 {
			return ps
		}
		ps = append(ps, s.At(g, r))
	}
}

// A Window is the range of gains that keep both limits; LowDB above HighDB means
// that there is none, by so many dB.
type Window struct {
	LowDB  float64 `json:"low_db"`  // below, the noise is too high
	HighDB float64 `json:"high_db"` // above, the risk is too high
}

// WidthDB is the room between the two; negative if there is none.
func (w Window) WidthDB() float64 { return w.HighDB - w.LowDB }

// Empty tells that no gain keeps both limits.
func (w Window) Empty() bool { return w.WidthDB() < 0 }

// MiddleDB is the gain half way between.
func (w Window) MiddleDB() float64 { return (w.LowDB + w.HighDB) / 2 }

// Window finds the gain window to 0.01 dB. Both ends may lie beyond what a
// preamp offers; a noise limit that no gain reaches gives +Inf for LowDB.
func (s *Setup) Window(r *Result) Window {
	const lo, hi = -80.0, 140.0
	w := Window{LowDB: math.Inf(1)}
	if s.At(hi, r).NoiseLUFS <= s.Limits.NoiseLUFS {
		w.LowDB = bisect(lo, hi, func(g float64) bool { return s.At(g, r).NoiseLUFS <= s.Limits.NoiseLUFS })
	}
	// The highest gain whose risk is small enough: one step before it is not.
	w.HighDB = bisect(lo, hi, func(g float64) bool {
		p, _, _ := r.Over(s.CeilingDB(g))
		return p > s.Limits.Risk
	}) - 0.01
	return w
}

// bisect returns the lowest x to 0.01 at which ok, which is monotonic, holds.
func bisect(lo, hi float64, ok func(float64) bool) float64 {
	for hi-lo > 0.005 {
		mid := (lo + hi) / 2
		if ok(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// A Remedy is a change of the set-up and what it does to the window.
type Remedy struct {
	Name   string  `json:"name"`
	Window Window  `json:"window"`
	GainDB float64 `json:"gain_db"` // how much wider the window gets, dB
}

// Remedies tries the usual changes one at a time and returns them with the most
// helpful first. A change that the set-up already has is left out.
func (s *Setup) Remedies(ctx context.Context, r *Result, rerun func(Model) (*Result, error)) ([]Remedy, error) {
	base := s.Window(r).WidthDB()
	var out []Remedy
	try := func(name string, change func(*Setup)) error {
		t := *s
		change(&t)
		if t.Chain == s.Chain && t.Model == s.Model {
			return nil
		}
		if err := t.Prepare(ctx); err != nil {
			return nil // outside what the chain can be set to: no remedy
		}
		res := r
		if t.Model != s.Model {
			var err error
			if res, err = rerun(t.Model); err != nil {
				return err
			}
		}
		w := t.Window(res)
		out = append(out, Remedy{name, w, w.WidthDB() - base})
		return nil
	}
	for _, c := range []struct {
		name   string
		change func(*Setup)
	}{
		{"half the distance", func(t *Setup) { t.Chain.DistanceM = max(t.Chain.DistanceM/2, 0.03) }},
		{"twice the distance", func(t *Setup) { t.Chain.DistanceM *= 2 }},
		{"a room 10 dB quieter", func(t *Setup) { t.Chain.Room.NoiseDBA -= 10 }},
		{"a condenser microphone (20 mV/Pa, 14 dBA, 135 dB SPL)", func(t *Setup) {
			t.Chain.Microphone.SensitivityMVPerPa, t.Chain.Microphone.SelfNoiseDBA, t.Chain.Microphone.MaxSPLDB = 20, 14, 135
		}},
		{"a recorder with a quieter preamp (EIN −129 dBu)", func(t *Setup) { t.Chain.Preamp.EINDBu = min(t.Chain.Preamp.EINDBu, -129) }},
		{"a dual-range float recorder (24 dB)", func(t *Setup) {
			t.Chain.Converter.DualRangeDB = max(t.Chain.Converter.DualRangeDB, 24)
			t.Chain.File.Format = sim.Float32
		}},
		{"a limiter before the converter", func(t *Setup) { t.Chain = t.Chain.WithPlace(sim.LimiterBefore) }},
		{"a limiter after the converter", func(t *Setup) { t.Chain = t.Chain.WithPlace(sim.LimiterAfter) }},
		{"half the session", func(t *Setup) { t.Model.Minutes /= 2 }},
	} {
		if err := try(c.name, c.change); err != nil {
			return nil, err
		}
	}
	// A second track 12 dB lower (common practice) goes over only where the lower
	// one does, while the noise elsewhere is that of the higher one.
	w := s.Window(r)
	w.HighDB += 12
	out = append(out, Remedy{"a safety track 12 dB lower", w, 12})
	slices.SortStableFunc(out, func(a, b Remedy) int {
		switch {
		case a.GainDB > b.GainDB:
			return -1
		case a.GainDB < b.GainDB:
			return 1
		}
		return 0
	})
	return out, nil
}

// A Swing is how the upper end of the window moves when one assumption goes from
// its low to its high value.
type Swing struct {
	Param      Param   `json:"param"`
	LowHighDB  float64 `json:"high_db_at_low"`  // the window's upper end with the low value
	HighHighDB float64 `json:"high_db_at_high"` // and with the high one
	LowRisk    float64 `json:"risk_at_low"`     // the risk at the gain asked about
	HighRisk   float64 `json:"risk_at_high"`
}

// SpanDB is how much the assumption matters.
func (s Swing) SpanDB() float64 { return math.Abs(s.HighHighDB - s.LowHighDB) }

// Sensitivity varies every assumption over its plausible range, the others held,
// and returns the swings, the largest first. gainDB is the gain for which the
// risks are told; sessions is how many are simulated for each.
func (s *Setup) Sensitivity(ctx context.Context, gainDB float64, sessions int, seed uint64, progress func(share float64)) ([]Swing, error) {
	ps := s.Model.Params()
	var out []Swing
	for i, p := range ps {
		sw := Swing{Param: p}
		for k, v := range []float64{p.Low, p.High} {
			t := *s
			if err := t.Model.Set(p.Key, v); err != nil {
				return nil, err
			}
			r, err := Simulate(ctx, t.Model, sessions, seed, nil)
			if err != nil {
				return nil, err
			}
			risk, _, _ := r.Over(t.CeilingDB(gainDB))
			if high := t.Window(r).HighDB; k == 0 {
				sw.LowHighDB, sw.LowRisk = high, risk
			} else {
				sw.HighHighDB, sw.HighRisk = high, risk
			}
		}
		out = append(out, sw)
		if progress != nil {
			progress(float64(i+1) / float64(len(ps)))
		}
	}
	slices.SortStableFunc(out, func(a, b Swing) int {
		switch {
		case a.SpanDB() > b.SpanDB():
			return -1
		case a.SpanDB() < b.SpanDB():
			return 1
		}
		return 0
	})
	return out, nil
}

// limiterRelief measures how many dB louder a laugh-like burst may be before a
// sample goes over, with the chain's input limiter against without.
func limiterRelief(ctx context.Context, c sim.Chain) (float64, error) {
	const rate = 48000
	// 4.4 calls a second of 0.17 s, as laughs have, on a pitch of 300 Hz with twelve
	// harmonics; the first call comes out of silence, so the attack is met cold.
	x := make([]float64, rate)
	for i := range x {
		t := float64(i) / rate
		in := math.Mod(t, 1/4.4)
		if in > 0.17 {
			continue
		}
		env := math.Sin(math.Pi * min(in/0.03, 1) / 2)
		for h := 1.0; h <= 12; h++ {
			x[i] += env / h * math.Sin(2*math.Pi*300*h*t+h*h)
		}
	}
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	fs := float64(sim.DBu(c.Converter.FullScaleDBu).Volt()) * math.Sqrt2 * c.DistanceM /
		(c.Microphone.SensitivityMVPerPa / 1000 * sim.DB(c.Preamp.GainDB-c.Preamp.PadDB).Lin())
	over := func(db float64) (bool, error) {
		s, err := sim.NewStrip(rate, c, 1)
		if err != nil {
			return false, err
		}
		r, err := sim.NewReadout(rate)
		if err != nil {
			return false, err
		}
		y := make([]float64, len(x))
		for i := range y {
			y[i] = x[i] * fs / peak * sim.DB(db).Lin()
		}
		_, err = sim.Run(ctx, &sim.Samples{X: y}, []*sim.Strip{s}, sim.RunOptions{Sink: func(_ int, t *sim.Taps) error {
			r.Write(t)
			return nil
		}})
		return r.OverCount() > 0, err
	}
	lo, hi := -1.0, 40.0
	for hi-lo > 0.25 {
		mid := (lo + hi) / 2
		o, err := over(mid)
		if err != nil {
			return 0, err
		}
		if o {
			hi = mid
		} else {
			lo = mid
		}
	}
	return max(lo, 0), nil
}
