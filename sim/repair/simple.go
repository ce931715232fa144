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

// Name is "gain".
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
func (gainProcessor) Reset()       {}

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
	y = append([]float64(nil), y...)
	gainProcessor(sim.DB(g.GainDB).Lin()).Process(y)
	r.progress(1)
	return y, Report{g.Name(), Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("The level was changed by %+.1f dB.", g.GainDB)},
		[]Number{{"gain_db", g.GainDB}, {"peak_after_dbfs", meter.DB(peakOf(y))}}}, nil
}

// TurnDown brings peaks beyond a ceiling down to it by a constant gain, and leaves
// a take that has none alone: what restored peaks need before they fit into an
// integer file.
type TurnDown struct {
	CeilingDBFS float64 `json:"ceiling_dbfs" yaml:"ceiling_dbfs"`
}

// Name is "turn down".
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
	c := sim.DB(d.CeilingDBFS).Lin()
	p := peakOf(y)
	rep := Report{Treatment: d.Name()}
	r.progress(1)
	if p <= c {
		rep.Numbers = []Number{{"gain_db", 0}}
		rep.Verdict = Verdict{Outcome: Nothing, Usable: true, Back: "No peak passes the ceiling; nothing was changed."}
		if p == 0 {
			rep.Verdict = silent
		}
		return y, rep, nil
	}
	g := c / p
	for i := range y {
		y[i] = min(max(y[i]*g, -c), c) // only rounding is held here
	}
	rep.Numbers = []Number{{"gain_db", meter.DB(g)}}
	rep.Verdict = Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("The take was turned down by %.1f dB so that its highest peak fits.", -meter.DB(g))}
	return y, rep, nil
}

// HighPass takes away what lies below a voice: a Butterworth filter of 12 or 24 dB
// an octave, by the bilinear transform. Its 3 dB point is at FrequencyHz.
type HighPass struct {
	FrequencyHz float64 `json:"frequency_hz" yaml:"frequency_hz"`
	SlopeDB     int     `json:"slope_db" yaml:"slope_db"` // per octave, 12 or 24
}

// DefaultHighPass is 80 Hz, 12 dB an octave.
func DefaultHighPass() HighPass { return HighPass{FrequencyHz: 80, SlopeDB: 12} }

// Name is "high-pass".
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
	before, after := meter.MeanSquare(y), meter.MeanSquare(out)
	rep := Report{h.Name(), Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("What lies below %.0f Hz was taken away.", h.FrequencyHz)},
		[]Number{{"level_change_db", meter.PowerDB(after / before)}}}
	if before == 0 {
		rep.Verdict, rep.Numbers = silent, nil
	}
	return out, rep, nil
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

// Name is "delivery".
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
	rep := Report{Treatment: d.Name()}
	loud := loudnessOf(y, rate)
	if math.IsInf(loud, -1) {
		rep.Verdict = Verdict{Outcome: Hopeless, Back: "The take has no loudness: it is silent, or shorter than 0.4 s.",
			Lost: "No gain was chosen."}
		if peakOf(y) == 0 {
			rep.Verdict = silent
		}
		r.progress(1)
		return append([]float64(nil), y...), rep, nil
	}
	r.progress(0.3)
	tp := truePeakOf(y, rate)
	r.progress(0.5)
	gain := d.LoudnessLUFS - loud
	over := tp + gain - d.CeilingDBTP
	out := make([]float64, len(y))
	scale := func(db float64) {
		g := sim.DB(db).Lin()
		for i, v := range y {
			out[i] = v * g
		}
	}
	reduction := 0.0
	switch {
	case over <= 0:
		scale(gain)
		rep.Verdict = Verdict{Outcome: Done, Usable: true,
			Back: fmt.Sprintf("The take is at %.1f LUFS after %+.1f dB; its peaks stay under the ceiling.", d.LoudnessLUFS, gain)}
	case d.LimitDB == 0:
		gain -= over
		scale(gain)
		rep.Verdict = Verdict{Outcome: Partly, Usable: true,
			Back: fmt.Sprintf("The take is at %.1f LUFS after %+.1f dB.", loud+gain, gain),
			Lost: fmt.Sprintf("Its peaks reach the ceiling before the loudness is reached; it is %.1f LU quieter than asked for.", over)}
	default:
		// Limiting lowers the loudness a little, and the waveform between limited
		// samples may still pass the ceiling: both are measured and corrected.
		short := max(0, over-d.LimitDB)
		gain -= short
		margin := 0.0
		var got float64
		for range 6 {
			if err := ctx.Err(); err != nil {
				return nil, rep, err
			}
			scale(gain)
			p, err := Limit{CeilingDBFS: max(d.CeilingDBTP-margin, -60), LookAheadMS: 3, ReleaseMS: 120}.Processor(rate)
			if err != nil {
				return nil, rep, err
			}
			if out, err = stream(ctx, p, out, Run{}); err != nil {
				return nil, rep, err
			}
			reduction = p.(*limitProcessor).reduction()
			peak := truePeakOf(out, rate) - d.CeilingDBTP
			got = loudnessOf(out, rate)
			missing := min(d.LoudnessLUFS-got, d.LimitDB-reduction)
			if peak <= 0 && (missing < 0.05 || short > 0) {
				break
			}
			if peak > 0 {
				margin += peak + 0.02
			} else {
				gain += missing
			}
		}
		if peak := truePeakOf(out, rate) - d.CeilingDBTP; peak > 0 {
			g := sim.DB(-peak - 0.001).Lin()
			for i := range out {
				out[i] *= g
			}
			got -= peak
		}
		rep.Verdict = Verdict{Outcome: Done, Usable: true,
			Back: fmt.Sprintf("The take is at %.1f LUFS; peaks were limited by up to %.1f dB.", got, reduction)}
		if got < d.LoudnessLUFS-0.15 {
			rep.Verdict.Outcome = Partly
			rep.Verdict.Lost = fmt.Sprintf("More limiting than %.1f dB would be needed; it is %.1f LU quieter than asked for.", d.LimitDB, d.LoudnessLUFS-got)
		}
	}
	r.progress(0.8)
	rep.Numbers = []Number{
		{"gain_db", gain},
		{"loudness_before_lufs", loud},
		{"loudness_after_lufs", loudnessOf(out, rate)},
		{"true_peak_after_dbtp", truePeakOf(out, rate)},
		{"reduction_max_db", reduction},
	}
	r.progress(1)
	return out, rep, nil
}
