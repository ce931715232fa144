package repair

import (
	"context"
	"fmt"
	"math"

	"gainwright/sim"
	"gainwright/sim/meter"
)

// Gain turns a take up or down. Nothing is clipped: what goes beyond full scale
// stays there.
type Gain struct {
	GainDB float64 `json:"gain_db" yaml:"gain_db"`
}

func (Gain) Name() string { return "gain" }

// Validate checks the range.
func (g Gain) Validate() error { return within("gain", "gain_db", "dB", g.GainDB, -120, 120) }

type gainProcessor float64

func (p gainProcessor) Process(buf []float64) {
	for i, v := range buf {
		if !valid(v) {
			v = 0
		}
		buf[i] = v * float64(p)
	}
}

func (gainProcessor) Latency() int { return 0 }

func (gainProcessor) Reset() {}

// Processor returns the gain on a stream.
func (g Gain) Processor(rate int) (Processor, error) {
	if err := firstOf(g.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	return gainProcessor(sim.DB(g.GainDB).Lin()), nil
}

// Apply turns x up or down.
func (g Gain) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, g, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	m := Measured{PeakBefore: peakOf(y)}
	y = append([]float64(nil), y...)
	gainProcessor(sim.DB(g.GainDB).Lin()).Process(y)
	m.PeakAfter = peakOf(y)
	r.progress(1)
	return y, ReportOf(g, m), nil
}

// TurnDown brings peaks beyond a ceiling down to it by a constant gain, and leaves
// a take that has none alone: what restored peaks need before they fit into an
// integer file.
type TurnDown struct {
	CeilingDBFS float64 `json:"ceiling_dbfs" yaml:"ceiling_dbfs"`
}

func (TurnDown) Name() string { return "turn down" }

// Validate checks the range.
func (d TurnDown) Validate() error {
	return within("turn down", "ceiling_dbfs", "dBFS", d.CeilingDBFS, -60, 0)
}

// Apply turns x down.
func (d TurnDown) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, d, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	y = append([]float64(nil), y...)
	m := Measured{PeakBefore: peakOf(y)}
	if g, c := d.gain(m.PeakBefore), sim.DB(d.CeilingDBFS).Lin(); g != 1 {
		for i := range y {
			y[i] = min(max(y[i]*g, -c), c) // only rounding is held here
		}
	}
	m.PeakAfter = peakOf(y)
	r.progress(1)
	return y, ReportOf(d, m), nil
}

// gain is the factor for a take of that peak, 1 for one that fits.
func (d TurnDown) gain(peak float64) float64 {
	if c := sim.DB(d.CeilingDBFS).Lin(); peak > c {
		return c / peak
	}
	return 1
}

// HighPass takes away what lies below a voice: a Butterworth filter of 12 or 24 dB
// an octave, by the bilinear transform. Its 3 dB point is at FrequencyHz.
type HighPass struct {
	FrequencyHz float64 `json:"frequency_hz" yaml:"frequency_hz"`
	SlopeDB     int     `json:"slope_db" yaml:"slope_db"` // per octave, 12 or 24
}

// DefaultHighPass is 80 Hz, 12 dB an octave.
func DefaultHighPass() HighPass { return HighPass{FrequencyHz: 80, SlopeDB: 12} }

func (HighPass) Name() string { return "high-pass" }

// Validate checks the ranges.
func (h HighPass) Validate() error {
	if h.SlopeDB != 12 && h.SlopeDB != 24 {
		return &SettingError{"high-pass", "slope_db", fmt.Sprintf("%d dB an octave is neither 12 nor 24", h.SlopeDB)}
	}
	return within("high-pass", "frequency_hz", "Hz", h.FrequencyHz, 10, 1000)
}

type biquad struct{ b0, b1, b2, a1, a2, s1, s2 float64 }

type highPassProcessor []biquad

func (p highPassProcessor) Process(buf []float64) {
	for k := range p {
		f := p[k]
		for i, v := range buf {
			if !valid(v) {
				v = 0
			}
			y := f.b0*v + f.s1
			f.s1 = f.b1*v - f.a1*y + f.s2
			f.s2 = f.b2*v - f.a2*y
			buf[i] = y
		}
		p[k] = f
	}
}

func (highPassProcessor) Latency() int { return 0 }

func (p highPassProcessor) Reset() {
	for k := range p {
		p[k].s1, p[k].s2 = 0, 0
	}
}

// Processor returns the filter on a stream.
func (h HighPass) Processor(rate int) (Processor, error) {
	if err := firstOf(h.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	// Q of the second-order sections: 1/(2·cos of the poles' angles).
	qs := []float64{math.Sqrt2 / 2}
	if h.SlopeDB == 24 {
		qs = []float64{1 / (2 * math.Cos(math.Pi/8)), 1 / (2 * math.Cos(3*math.Pi/8))}
	}
	k := math.Tan(math.Pi * h.FrequencyHz / float64(rate))
	var p highPassProcessor
	for _, q := range qs {
		n := 1 / (1 + k/q + k*k)
		p = append(p, biquad{b0: n, b1: -2 * n, b2: n, a1: 2 * (k*k - 1) * n, a2: (1 - k/q + k*k) * n})
	}
	return p, nil
}

// Apply filters x.
func (h HighPass) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, h, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	p, err := h.Processor(rate)
	if err != nil {
		return nil, Report{}, err
	}
	out, err := stream(ctx, p, y, r)
	if err != nil {
		return nil, Report{}, err
	}
	return out, ReportOf(h, Measured{PeakBefore: peakOf(y), PeakAfter: peakOf(out)}), nil
}

// Deliver brings a take to a loudness under a true-peak ceiling (BS.1770). Where
// the ceiling does not let it get as loud, it either stays quieter and says so, or,
// with LimitDB above 0, limits peaks by up to that much.
type Deliver struct {
	LoudnessLUFS float64 `json:"loudness_lufs" yaml:"loudness_lufs"`
	CeilingDBTP  float64 `json:"ceiling_dbtp" yaml:"ceiling_dbtp"`
	LimitDB      float64 `json:"limit_db" yaml:"limit_db"`
}

// DefaultDeliver is sim's delivery loudness under −1 dBTP, without a limiter.
func DefaultDeliver() Deliver {
	return Deliver{LoudnessLUFS: sim.DeliveryLUFS, CeilingDBTP: -1}
}

func (Deliver) Name() string { return "delivery" }

// Validate checks the ranges.
func (d Deliver) Validate() error {
	return firstOf(
		within("delivery", "loudness_lufs", "LUFS", d.LoudnessLUFS, -50, -5),
		within("delivery", "ceiling_dbtp", "dBTP", d.CeilingDBTP, -20, 0),
		within("delivery", "limit_db", "dB", d.LimitDB, 0, 20))
}

func loudnessOf(x []float64, rate int) float64 {
	l, err := meter.NewLoudness(rate, 1)
	if err != nil {
		return math.Inf(-1)
	}
	l.WriteMono(x)
	return l.Integrated()
}

func truePeakOf(x []float64, rate int) float64 {
	p := meter.NewTruePeak(rate)
	p.Write(x)
	p.Flush()
	return p.DB()
}

// Apply delivers x.
func (d Deliver) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, d, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	if peakOf(y) == 0 {
		r.progress(1)
		return append([]float64(nil), y...), Report{Treatment: d.Name(), Verdict: silent}, nil
	}
	loud := loudnessOf(y, rate)
	r.progress(0.3)
	out := make([]float64, len(y))
	gainInto := func(db float64) {
		g := sim.DB(db).Lin()
		for i, v := range y {
			out[i] = v * g
		}
	}
	plan, rep, err := d.Plan(Loudness{loud, truePeakOf(y, rate)}, func(gainDB, ceilingDBFS float64) (Loudness, float64, error) {
		gainInto(gainDB)
		p, err := deliveryLimit(ceilingDBFS).Processor(rate)
		if err != nil {
			return Loudness{}, 0, err
		}
		if out, err = stream(ctx, p, out, Run{}); err != nil {
			return Loudness{}, 0, err
		}
		return Loudness{loudnessOf(out, rate), truePeakOf(out, rate)}, p.(reducer).reduction(), nil
	})
	if err != nil {
		return nil, rep, err
	}
	if !plan.Limited {
		gainInto(plan.GainDB)
	} else if plan.TrimDB != 0 {
		g := sim.DB(plan.TrimDB).Lin()
		for i := range out {
			out[i] *= g
		}
	}
	r.progress(1)
	return out, rep, nil
}

// Loudness is what delivery reads of a take.
type Loudness struct {
	LUFS float64 // integrated
	DBTP float64 // the highest true peak
}

// A Delivery is how a take gets to where it shall be: by a gain, or by a gain, the
// limiter that Plan tried last, and a trim.
type Delivery struct {
	GainDB  float64
	Limited bool
	TrimDB  float64 // after the limiter, 0 or less
}

func deliveryLimit(ceilingDBFS float64) Limit {
	return Limit{CeilingDBFS: ceilingDBFS, LookAheadMS: 3, ReleaseMS: 120}
}

// DeliveryLimit links the limiter of a delivery over channels.
func DeliveryLimit(ceilingDBFS float64, rate, channels int) (*Linked, error) {
	return NewLinked(deliveryLimit(ceilingDBFS), rate, channels)
}

// Plan finds how to deliver a take of loudness in, and reports it. Where limiting is
// wanted it calls try with a gain and a ceiling until both loudness and true peak are
// right: try applies the gain and the limiter of DeliveryLimit to the take anew, and
// returns what that reads and the deepest reduction in dB.
func (d Deliver) Plan(in Loudness, try func(gainDB, ceilingDBFS float64) (Loudness, float64, error)) (Delivery, Report, error) {
	rep := Report{Treatment: d.Name()}
	if math.IsInf(in.LUFS, -1) {
		rep.Verdict = Verdict{Outcome: Hopeless, Back: "The take has no loudness: it is too low, or shorter than 0.4 s.",
			Lost: "No gain was chosen."}
		return Delivery{}, rep, nil
	}
	plan := Delivery{GainDB: d.LoudnessLUFS - in.LUFS}
	over := in.DBTP + plan.GainDB - d.CeilingDBTP
	got, reduction := Loudness{}, 0.0
	switch {
	case over <= 0 || d.LimitDB == 0:
		plan.GainDB -= max(0, over)
		got = Loudness{in.LUFS + plan.GainDB, in.DBTP + plan.GainDB}
		rep.Verdict = Verdict{Outcome: Done, Usable: true,
			Back: fmt.Sprintf("The take is at %s LUFS after %s dB; its peaks stay under the ceiling.", minus(got.LUFS), plusMinus(plan.GainDB))}
		if over > 0 {
			rep.Verdict = Verdict{Outcome: Partly, Usable: true,
				Back: fmt.Sprintf("The take is at %s LUFS after %s dB.", minus(got.LUFS), plusMinus(plan.GainDB)),
				Lost: fmt.Sprintf("Its peaks reach the ceiling before the loudness is reached; it is %.1f LU quieter than asked for.", over)}
		}
	default:
		// Limiting lowers the loudness a little, and the waveform between limited
		// samples may still pass the ceiling: both are measured and corrected.
		short := max(0, over-d.LimitDB)
		plan.GainDB -= short
		plan.Limited = true
		margin := 0.0
		for round := range 6 {
			var err error
			if got, reduction, err = try(plan.GainDB, max(d.CeilingDBTP-margin, -60)); err != nil {
				return plan, rep, err
			}
			if beyond := got.DBTP - d.CeilingDBTP; beyond > 0 {
				margin += beyond + 0.02
				continue
			}
			missing := min(d.LoudnessLUFS-got.LUFS, d.LimitDB-reduction)
			if missing < 0.05 || short > 0 || round == 5 {
				break
			}
			plan.GainDB += missing
		}
		if beyond := got.DBTP - d.CeilingDBTP; beyond > 0 {
			plan.TrimDB = -beyond - 0.001
			got.LUFS += plan.TrimDB
			got.DBTP += plan.TrimDB
		}
		rep.Verdict = Verdict{Outcome: Done, Usable: true,
			Back: fmt.Sprintf("The take is at %s LUFS; peaks were limited by up to %.1f dB.", minus(got.LUFS), reduction)}
		if got.LUFS < d.LoudnessLUFS-0.15 {
			rep.Verdict.Outcome = Partly
			rep.Verdict.Lost = fmt.Sprintf("More limiting than %.1f dB would be needed; it is %.1f LU quieter than asked for.", d.LimitDB, d.LoudnessLUFS-got.LUFS)
		}
	}
	rep.Numbers = []Number{
		{"gain_db", plan.GainDB},
		{"loudness_before_lufs", in.LUFS},
		{"loudness_after_lufs", got.LUFS},
		{"true_peak_after_dbtp", got.DBTP},
		{"reduction_max_db", reduction},
	}
	return plan, rep, nil
}

func (g Gain) report(m Measured) (Verdict, []Number) {
	return Verdict{Outcome: Done, Usable: true, Back: fmt.Sprintf("The level was changed by %s dB.", plusMinus(g.GainDB))},
		m.peaks(Number{"gain_db", g.GainDB})
}

func (t TurnDown) report(m Measured) (Verdict, []Number) {
	g := t.gain(m.PeakBefore)
	v := Verdict{Outcome: Done, Usable: true, Back: fmt.Sprintf("The take was turned down by %.1f dB so that its highest peak fits.", -meter.DB(g))}
	if g == 1 {
		v.Outcome, v.Back = Nothing, "No peak passes the ceiling; nothing was changed."
	}
	return v, m.peaks(Number{"gain_db", meter.DB(g)})
}

func (h HighPass) report(m Measured) (Verdict, []Number) {
	return Verdict{Outcome: Done, Usable: true, Back: fmt.Sprintf("What lies below %.0f Hz was taken away.", h.FrequencyHz)}, m.peaks()
}
