package repair

import (
	"context"
	"fmt"
	"math"

	"gainwright/sim"
	"gainwright/sim/meter"
)

// Effort is how much time declipping takes for how much quality: the one control
// it has. The zero value is Best.
type Effort int

// The efforts.
const (
	// Best runs nine estimates of three families and weighs them sample by sample.
	Best Effort = iota
	// Balanced averages three estimates.
	Balanced
	// Fast predicts from what is left of the wave.
	Fast
)

// String gives the effort's name, as ParseEffort reads it.
func (e Effort) String() string {
	switch e {
	case Best:
		return "best"
	case Balanced:
		return "balanced"
	case Fast:
		return "fast"
	}
	return fmt.Sprintf("effort %d", int(e))
}

// ParseEffort reads "fast", "balanced" or "best".
func ParseEffort(s string) (Effort, error) {
	for _, e := range []Effort{Best, Balanced, Fast} {
		if e.String() == s {
			return e, nil
		}
	}
	return 0, fmt.Errorf("%q is not one of fast, balanced, best", s)
}

// MarshalText writes the name.
func (e Effort) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// UnmarshalText reads the name.
func (e *Effort) UnmarshalText(b []byte) error {
	v, err := ParseEffort(string(b))
	if err == nil {
		*e = v
	}
	return err
}

// Declip guesses what a ceiling cut off. The known samples stay as they are, to
// the last bit; restored ones lie at or beyond the clip level, on the side they
// were on, and beyond full scale if that is where they belong: the result is
// floating point, and TurnDown makes it fit.
type Declip struct {
	Effort Effort `json:"effort" yaml:"effort"`
	// With KnownCeiling every sample at CeilingDBFS (less 0.001 dB: the top code of 16
	// bits lies a little below full scale) or beyond counts as clipped;
	// otherwise Detect looks for them.
	KnownCeiling bool    `json:"known_ceiling" yaml:"known_ceiling"`
	CeilingDBFS  float64 `json:"ceiling_dbfs" yaml:"ceiling_dbfs"`
	// Clips tells where the take is clipped; nil to find out.
	Clips *Clips `json:"-" yaml:"-"`
}

// Name is "declip".
func (Declip) Name() string { return "declip" }

// Validate checks the settings.
func (d Declip) Validate() error {
	if d.Effort < Best || d.Effort > Fast {
		return &SettingError{"declip", "effort", fmt.Sprintf("%v is not one of fast, balanced, best", d.Effort)}
	}
	if d.KnownCeiling {
		return within("declip", "ceiling_dbfs", "dBFS", d.CeilingDBFS, -120, 60)
	}
	return nil
}

const ceilingSlackDB = 0.001

// clips finds what is clipped in x by d's settings.
func (d Declip) clips(x []float64) Clips {
	switch {
	case d.Clips != nil:
		return *d.Clips
	case d.KnownCeiling:
		return Known(x, sim.DB(d.CeilingDBFS-ceilingSlackDB).Lin())
	}
	return Detect(x)
}

// Apply declips x.
func (d Declip) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, d, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	rep := Report{Treatment: d.Name()}
	if peakOf(y) == 0 {
		rep.Verdict = silent
		r.progress(1)
		return append([]float64(nil), y...), rep, nil
	}
	c := d.clips(y)
	stuck := c.dropStuck(rate, len(y))
	q := c.stretch(y)
	out := make([]float64, len(y))
	if hopeless := c.hopeless(stuck); len(q.at) == 0 || hopeless != "" {
		copy(out, y)
		rep.Numbers = []Number{{"clipped_percent", 100 * c.Share}}
		switch {
		case hopeless != "":
			rep.Verdict = Verdict{Outcome: Hopeless, Back: hopeless, Lost: "Nothing was changed."}
		case c.Kind == Rounded:
			rep.Verdict = Verdict{Outcome: Hopeless, Usable: true,
				Back: "The tops look rounded rather than cut, as an overdriven analogue stage leaves them.",
				Lost: "Nothing says which samples are wrong, so nothing was changed."}
		default:
			rep.Verdict = Verdict{Outcome: Nothing, Usable: true, Back: "No clipped samples were found; nothing was changed."}
		}
		r.progress(1)
		return out, rep, nil
	}
	if err := mendAll(ctx, out, q, rate, d.Effort, r.Cores, r.Progress); err != nil {
		return nil, rep, err
	}
	r.progress(1)
	rep.Verdict, rep.Numbers = c.verdict(y, out, rate)
	if stuck > 0 {
		rep.Verdict.Outcome = Partly
		rep.Verdict.Lost += fmt.Sprintf(" %d stretches stay at the ceiling for more than %.0f ms; they were left as they are.", stuck, 1000*stuckS)
	}
	return out, rep, nil
}

// A run longer than this is no clipped wave: half a period of 10 Hz.
const stuckS = 0.05

// dropStuck takes runs out that are too long to be tops of waves, and returns how
// many there were.
func (c *Clips) dropStuck(rate, n int) int {
	most := int(stuckS * float64(rate))
	if c.Longest <= most {
		return 0
	}
	var keep []ClipRun
	for _, r := range c.Runs {
		if r.End-r.Start <= most {
			keep = append(keep, r)
		}
	}
	stuck := len(c.Runs) - len(keep)
	c.Runs, c.Samples, c.Longest = keep, 0, 0
	c.sum(n)
	return stuck
}

// hopeless says why restoring makes no sense, or nothing.
func (c *Clips) hopeless(stuck int) string {
	switch {
	case c.Share > 0.8:
		return fmt.Sprintf("%.0f %% of the take is clipped: there is too little left to go by.", 100*c.Share)
	case c.Samples == 0 && stuck > 0:
		return fmt.Sprintf("What stands at the ceiling stands there for more than %.0f ms: that is no clipped wave but a constant.", 1000*stuckS)
	}
	return ""
}

// verdict says what declipping did. The damage is estimated from the result: what
// the method added is what it thinks was missing.
func (c *Clips) verdict(y, out []float64, rate int) (Verdict, []Number) {
	var e, s float64
	for i, v := range out {
		d := v - y[i]
		e += d * d
		s += v * v
	}
	in := meter.PowerDB(s / e)
	peak := meter.DB(peakOf(out))
	longest := 1000 * float64(c.Longest) / float64(rate)
	nums := []Number{
		{"clipped_percent", 100 * c.Share},
		{"runs", float64(len(c.Runs))},
		{"longest_run_ms", longest},
		{"clip_level_dbfs", meter.DB(max(c.Top, c.Bottom))},
		{"peak_before_dbfs", meter.DB(peakOf(y))},
		{"peak_after_dbfs", peak},
		{"estimated_input_sdr_db", in},
	}
	v := Verdict{Outcome: Done}
	back := fmt.Sprintf("%d clipped passages were filled with a guess; peaks now reach %+.1f dBFS.", len(c.Runs), peak)
	// What came back on average in the speech this was measured on, see
	// tests/repair: a tenth of the error power at 10 dB, a third at 1 dB.
	switch {
	case in >= 15:
		v.Usable = true
		v.Back = back + " In speech clipped this lightly, a tenth or less of the error is left on average."
		v.Lost = "It is still a guess: single peaks may be wrong."
	case in >= 7:
		v.Usable = true
		v.Back = back + " In speech clipped this much, about a tenth of the error is left on average."
		v.Lost = "Some roughness stays on the loudest sounds."
	case in >= 3:
		v.Outcome = Partly
		v.Back = back + " In speech clipped this much, about a fifth of the error is left on average."
		v.Lost = "The loud passages stay audibly distorted; use it if there is nothing else."
	default:
		v.Outcome = Partly
		v.Back = back
		v.Lost = "So much was cut off that the guess is a weak one: words come through, the voice does not come back."
	}
	switch c.Kind {
	case FlatNoisy:
		v.Lost += " The clipped samples carry noise of their own, so which ones they are is an estimate."
	case FlatMoving:
		v.Lost += " The level was changed after the clipping, so the runs' edges may have been missed."
	}
	return v, nums
}

// A Mender declips a stream whose ceiling is known, with bounded memory: about
// seven seconds of signal. Its output is that of Declip on the whole, on one core.
type Mender struct {
	bench   *bench
	level   float64
	rate    int
	reach   int
	longest int
	in      []float64 // from base on
	base    int       // index of in[0] in the stream
	done    int       // samples given out
	at      []int     // clipped samples not yet restored
	end     int       // samples fed
	fixed   map[int]float64
	out     []float64
}

// NewMender starts a stream clipped at ±ceiling, a magnitude above 0.
func NewMender(rate int, e Effort, ceiling float64) (*Mender, error) {
	if err := firstOf(Declip{Effort: e}.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	if !(ceiling > 0) || math.IsInf(ceiling, 0) {
		return nil, &SettingError{"declip", "ceiling", fmt.Sprintf("%v is not a positive level", ceiling)}
	}
	b := newBench(rate, e, &tables{fft: map[int]*realFFT{}})
	return &Mender{bench: b, level: ceiling, rate: rate, reach: b.reach(), longest: 3 * rate, fixed: map[int]float64{}}, nil
}

// Write takes the next samples and returns those that are finished, valid until
// the next call.
func (m *Mender) Write(x []float64) []float64 { return m.advance(x, false) }

// Flush ends the stream and returns the rest.
func (m *Mender) Flush() []float64 { return m.advance(nil, true) }

func (m *Mender) advance(x []float64, last bool) []float64 {
	for _, v := range x {
		if !valid(v) {
			v = 0
		}
		if math.Abs(v) >= m.level {
			m.at = append(m.at, m.end)
		}
		m.in = append(m.in, v)
		m.end++
	}
	ready := m.end
	for len(m.at) > 0 {
		// The same cuts as islands makes.
		j := 1
		for j < len(m.at) && m.at[j]-m.at[j-1] <= m.reach && m.at[j]-m.at[0] < m.longest {
			j++
		}
		to := m.at[j-1] + 1
		open := j == len(m.at) && m.at[j-1]-m.at[0] < m.longest && m.end-m.at[j-1] <= m.reach
		if !last && (open || m.end < to+m.reach) {
			ready = m.at[0]
			break
		}
		start, end := max(0, m.at[0]-m.reach), min(m.end, to+m.reach)
		part := m.in[start-m.base : end-m.base]
		c := Known(part, m.level)
		q := c.stretch(part)
		out := make([]float64, len(part))
		m.bench.mend(out, q)
		for _, p := range m.at[:j] {
			m.fixed[p] = out[p-start]
		}
		m.at = append(m.at[:0], m.at[j:]...)
	}
	m.out = m.out[:0]
	for ; m.done < ready; m.done++ {
		v := m.in[m.done-m.base]
		if f, ok := m.fixed[m.done]; ok {
			v = f
			delete(m.fixed, m.done)
		}
		m.out = append(m.out, v)
	}
	// What later islands may still look back at.
	if keep := m.done - m.reach; keep > m.base+m.rate {
		m.in = append(m.in[:0], m.in[keep-m.base:]...)
		m.base = keep
	}
	return m.out
}
