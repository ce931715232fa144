package repair

import (
	"context"
	"math"

	"gainwright/sim"
	"gainwright/sim/meter"
)

// Limit holds the peaks of a take at a ceiling. With look-ahead no sample passes
// it; without, the attack lets a fast peak through. The gain computer and the
// detectors are those of Giannoulis, Massberg and Reiss (JAES 60(6), 2012), with
// ratio infinity. It can turn a flattened wave down, and no more.
type Limit struct {
	CeilingDBFS float64 `json:"ceiling_dbfs" yaml:"ceiling_dbfs"`
	LookAheadMS float64 `json:"look_ahead_ms" yaml:"look_ahead_ms"`
	AttackMS    float64 `json:"attack_ms" yaml:"attack_ms"` // used only without look-ahead
	ReleaseMS   float64 `json:"release_ms" yaml:"release_ms"`
}

// DefaultLimit holds peaks at −1 dBFS, 2 ms ahead of them.
func DefaultLimit() Limit {
	return Limit{CeilingDBFS: -1, LookAheadMS: 2, AttackMS: 1, ReleaseMS: 100}
}

func (Limit) Name() string { return "limiter" }

// Validate checks the ranges.
func (l Limit) Validate() error {
	return firstOf(
		within("limiter", "ceiling_dbfs", "dBFS", l.CeilingDBFS, -60, 0),
		within("limiter", "look_ahead_ms", "ms", l.LookAheadMS, 0, 20),
		within("limiter", "attack_ms", "ms", l.AttackMS, 0, 500),
		within("limiter", "release_ms", "ms", l.ReleaseMS, 1, 5000))
}

// Processor returns the limiter on a stream.
func (l Limit) Processor(rate int) (Processor, error) {
	if err := firstOf(l.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	p := &limitProcessor{ceiling: sim.DB(l.CeilingDBFS).Lin(), release: pole(l.ReleaseMS, rate)}
	if l.LookAheadMS > 0 {
		p.ahead = max(1, int(math.Round(l.LookAheadMS*float64(rate)/1000)))
		n := p.ahead + 1
		p.delay, p.least = make([]float64, p.ahead), make([]float64, n)
		p.minVal, p.minAt = make([]float64, n+1), make([]int, n+1)
	} else {
		p.dyn = dynamics{threshold: l.CeilingDBFS, ratio: sim.Ratio(math.Inf(1)),
			attack: pole(l.AttackMS, rate), release: p.release}
	}
	p.Reset()
	return p, nil
}

// Apply limits x.
func (l Limit) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	return applyDynamics(ctx, l, x, rate, r)
}

func applyDynamics(ctx context.Context, t Streaming, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, t, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	p, err := t.Processor(rate)
	if err != nil {
		return nil, Report{}, err
	}
	m := Measured{PeakBefore: peakOf(y)}
	if m.PeakBefore == 0 {
		r.progress(1)
		return append([]float64(nil), y...), ReportOf(t, m), nil
	}
	out, err := stream(ctx, p, y, r)
	if err != nil {
		return nil, Report{Treatment: t.Name()}, err
	}
	m.PeakAfter, m.ReductionDB = peakOf(out), p.(reducer).reduction()
	return out, ReportOf(t, m), nil
}

// pole is the smoothing factor of a time constant in ms.
func pole(ms float64, rate int) float64 {
	if ms <= 0 {
		return 0
	}
	return math.Exp(-1000 / (ms * float64(rate)))
}

// dynamics is the feed-forward gain of Giannoulis, Massberg and Reiss: gain
// computer in dB, then a smooth, decoupled peak detector on the reduction.
type dynamics struct {
	threshold, knee float64
	ratio           sim.Ratio
	attack, release float64
	y1, y           float64
}

// next returns the reduction in dB (0 or more) for a sample.
func (d *dynamics) next(v float64) float64 {
	in := 20 * math.Log10(max(math.Abs(v), 1e-6))
	over := in - sim.StaticGain(in, d.threshold, d.knee, d.ratio)
	d.y1 = max(over, d.release*d.y1+(1-d.release)*over)
	d.y = d.attack*d.y + (1-d.attack)*d.y1
	return d.y
}

type limitProcessor struct {
	ceiling, release float64
	ahead            int
	dyn              dynamics // without look-ahead

	delay       []float64
	least       []float64 // gains of the last ahead+1 samples, minimum held
	at          int
	sum, held   float64
	minVal      []float64 // candidates for the minimum, rising
	minAt       []int
	head, count int
	t           int
	most        float64 // largest reduction so far, as the smallest gain
}

func (p *limitProcessor) Latency() int { return p.ahead }

func (p *limitProcessor) reduction() float64 { return -20 * math.Log10(p.most) }

func (p *limitProcessor) Reset() {
	clear(p.delay)
	for i := range p.least {
		p.least[i] = 1
	}
	p.sum, p.held, p.most = float64(len(p.least)), 1, 1
	p.at, p.head, p.count, p.t = 0, 0, 0, 0
	p.dyn.y1, p.dyn.y = 0, 0
}

func (p *limitProcessor) Process(buf []float64) {
	if p.ahead == 0 {
		for i, v := range buf {
			if !valid(v) {
				v = 0
			}
			g := math.Pow(10, -p.dyn.next(v)/20)
			p.most = min(p.most, g)
			buf[i] = v * g
		}
		return
	}
	// The smallest wanted gain over the window, held by the release, then the mean
	// over the same window: every minimum in the mean covers the sample that
	// leaves, so the product stays at or under the ceiling.
	n := len(p.least)
	for i, v := range buf {
		if !valid(v) {
			v = 0
		}
		want := 1.0
		if a := math.Abs(v); a > p.ceiling {
			want = p.ceiling / a
		}
		for p.count > 0 && p.minVal[(p.head+p.count-1)%len(p.minVal)] >= want {
			p.count--
		}
		slot := (p.head + p.count) % len(p.minVal)
		p.minVal[slot], p.minAt[slot] = want, p.t
		p.count++
		if p.minAt[p.head] <= p.t-n {
			p.head = (p.head + 1) % len(p.minVal)
			p.count--
		}
		m := p.minVal[p.head]
		if m > p.held {
			m = p.release*p.held + (1-p.release)*m
		}
		p.held = m
		k := p.t % n
		p.sum += m - p.least[k]
		p.least[k] = m
		if k == n-1 { // rounding must not pile up
			p.sum = 0
			for _, g := range p.least {
				p.sum += g
			}
		}
		p.t++
		g := min(p.sum/float64(n), 1)
		p.most = min(p.most, g)
		old := p.delay[p.at]
		p.delay[p.at] = v
		if p.at++; p.at == p.ahead {
			p.at = 0
		}
		// The mean is over rounded numbers; the ceiling is not to be passed by one.
		buf[i] = min(max(old*g, -p.ceiling), p.ceiling)
	}
}

// Compress narrows the range of levels above a threshold: gain computer and
// smooth, decoupled peak detector of Giannoulis, Massberg and Reiss (JAES 60(6),
// 2012), feed-forward, with a make-up gain.
type Compress struct {
	ThresholdDBFS float64   `json:"threshold_dbfs" yaml:"threshold_dbfs"`
	Ratio         sim.Ratio `json:"ratio" yaml:"ratio"`
	KneeDB        float64   `json:"knee_db" yaml:"knee_db"`
	AttackMS      float64   `json:"attack_ms" yaml:"attack_ms"`
	ReleaseMS     float64   `json:"release_ms" yaml:"release_ms"`
	MakeUpDB      float64   `json:"make_up_db" yaml:"make_up_db"`
}

// DefaultCompress is a mild setting for speech.
func DefaultCompress() Compress {
	return Compress{ThresholdDBFS: -24, Ratio: 3, KneeDB: 6, AttackMS: 5, ReleaseMS: 120}
}

func (Compress) Name() string { return "compressor" }

// Validate checks the ranges.
func (c Compress) Validate() error {
	return firstOf(
		within("compressor", "threshold_dbfs", "dBFS", c.ThresholdDBFS, -80, 0),
		within("compressor", "ratio", ":1", float64(c.Ratio), 1, math.Inf(1)),
		within("compressor", "knee_db", "dB", c.KneeDB, 0, 24),
		within("compressor", "attack_ms", "ms", c.AttackMS, 0, 500),
		within("compressor", "release_ms", "ms", c.ReleaseMS, 1, 5000),
		within("compressor", "make_up_db", "dB", c.MakeUpDB, -24, 48))
}

// Processor returns the compressor on a stream.
func (c Compress) Processor(rate int) (Processor, error) {
	if err := firstOf(c.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	return &compressProcessor{makeUp: sim.DB(c.MakeUpDB).Lin(), most: 1, dyn: dynamics{
		threshold: c.ThresholdDBFS, knee: c.KneeDB, ratio: c.Ratio,
		attack: pole(c.AttackMS, rate), release: pole(c.ReleaseMS, rate)}}, nil
}

// Apply compresses x.
func (c Compress) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	return applyDynamics(ctx, c, x, rate, r)
}

type compressProcessor struct {
	dyn          dynamics
	makeUp, most float64
}

func (p *compressProcessor) Latency() int { return 0 }

func (p *compressProcessor) Reset() { p.dyn.y1, p.dyn.y, p.most = 0, 0, 1 }

func (p *compressProcessor) reduction() float64 { return -20 * math.Log10(p.most) }

func (p *compressProcessor) Process(buf []float64) {
	for i, v := range buf {
		if !valid(v) {
			v = 0
		}
		g := math.Pow(10, -p.dyn.next(v)/20)
		p.most = min(p.most, g)
		buf[i] = v * g * p.makeUp
	}
}

func (Limit) report(m Measured) (Verdict, []Number) { return m.turnedDown() }

func (Compress) report(m Measured) (Verdict, []Number) { return m.turnedDown() }
