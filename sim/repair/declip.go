package repair

import (
	"context"
	"fmt"
	"math"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair/restore"
)

// Effort is how much time declipping takes for how much quality: the one control
// it has. The zero value is Best.
type Effort = restore.Effort

// The efforts.
const (
	// Best runs nine estimates of three families and weighs them sample by sample; above
	// 24 kHz it looks a second time, with a memory as long as a period of a voice.
	Best = restore.Best
	// Balanced averages three estimates.
	Balanced = restore.Balanced
	// Fast predicts from what is left of the wave.
	Fast = restore.Fast
)

// ParseEffort reads "fast", "balanced" or "best".
func ParseEffort(s string) (Effort, error) { return restore.ParseEffort(s) }

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
	// Reduction is what becomes of a gain that moved after the clipping.
	Reduction Reduction `json:"gain_reduction" yaml:"gain_reduction"`
	// Clips tells where the take is clipped; nil to find out.
	Clips *Clips `json:"-" yaml:"-"`
}

func (Declip) Name() string { return "declip" }

// Validate checks the settings.
func (d Declip) Validate() error {
	if d.Effort < Best || d.Effort > Fast {
		return &SettingError{"declip", "effort", fmt.Sprintf("%v is not one of fast, balanced, best", d.Effort)}
	}
	if d.Reduction < KeepReduction || d.Reduction > IgnoreReduction {
		return &SettingError{"declip", "gain_reduction", fmt.Sprintf("%v is not one of keep, undo, ignore", d.Reduction)}
	}
	if d.KnownCeiling {
		return within("declip", "ceiling_dbfs", "dBFS", d.CeilingDBFS, -120, 60)
	}
	return nil
}

const ceilingSlackDB = 0.001

// Find marks what Apply takes as clipped in x.
func (d Declip) Find(x []float64) Clips {
	c, _ := d.FindContext(context.Background(), x)
	return c
}

// FindContext is Find; it asks ctx now and then, and gives up with its error.
func (d Declip) FindContext(ctx context.Context, x []float64) (Clips, error) {
	switch {
	case d.Clips != nil:
		return *d.Clips, nil
	case d.KnownCeiling:
		return Known(x, sim.DB(d.CeilingDBFS-ceilingSlackDB).Lin()), nil
	case d.Reduction == IgnoreReduction:
		return Detect(x), nil
	}
	return behindGain(ctx, x, Detect(x))
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
	c, err := d.FindContext(ctx, y)
	if err != nil {
		return nil, rep, err
	}
	if c.Ride != nil && d.Reduction != IgnoreReduction {
		return d.behind(ctx, y, rate, r, &c)
	}
	constant := c.Share == 1 && len(c.Runs) == 1
	stuck := c.dropStuck(rate, len(y))
	q := c.stretch(y)
	out := make([]float64, len(y))
	if hopeless := c.hopeless(constant, stuck); len(q.At) == 0 || hopeless != "" {
		copy(out, y)
		if hopeless == "" {
			rep = Unfilled(c.Kind)
		} else {
			rep.Numbers = []Number{{"clipped_percent", 100 * c.Share}}
			rep.Verdict = Verdict{Outcome: Hopeless, Back: hopeless, Lost: "Nothing was changed."}
		}
		r.progress(1)
		return out, rep, nil
	}
	if err := restore.All(ctx, out, q, rate, d.Effort, r.Cores, r.Progress); err != nil {
		return nil, rep, err
	}
	r.progress(1)
	var totals DeclipTotals
	totals.Count(&c)
	totals.Write(y, out)
	rep.Verdict, rep.Numbers = totals.Verdict(c.Kind), totals.Numbers(rate)
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
	c.Runs = keep
	c.Total(n)
	return stuck
}

// hopeless says why restoring makes no sense, or nothing.
func (c *Clips) hopeless(constant bool, stuck int) string {
	switch {
	case constant:
		return "The take stands at one value from its first sample to its last: that is no clipped wave but a constant."
	case c.Share > 0.8:
		return fmt.Sprintf("%.0f %% of the take is clipped: there is too little left to go by.", 100*c.Share)
	case c.Samples == 0 && stuck > 0:
		return fmt.Sprintf("What stands at the ceiling stands there for more than %.0f ms: that is no clipped wave but a constant.", 1000*stuckS)
	}
	return ""
}

// DeclipTotals is what declipping did to a take, summed up over its stretches and
// channels. The zero value is ready.
type DeclipTotals struct {
	Samples               int64 // of all channels
	Clipped, Runs         int
	Longest               int     // samples in the longest run
	Level                 float64 // the highest clip level, a magnitude
	PeakBefore, PeakAfter float64
	energy, added         float64
}

// Count adds the marks of one channel.
func (d *DeclipTotals) Count(c *Clips) {
	d.Clipped += c.Samples
	d.Runs += len(c.Runs)
	d.Longest = max(d.Longest, c.Longest)
	d.Level = max(d.Level, c.Top, c.Bottom)
}

// Write adds samples before and after.
func (d *DeclipTotals) Write(before, after []float64) {
	d.Samples += int64(len(after))
	for i, v := range after {
		e := v - before[i]
		d.added += e * e
		d.energy += v * v
		d.PeakBefore, d.PeakAfter = max(d.PeakBefore, math.Abs(before[i])), max(d.PeakAfter, math.Abs(v))
	}
}

// SDR estimates the damage from the result, in dB: what the method added is what it
// thinks was missing.
func (d *DeclipTotals) SDR() float64 { return meter.PowerDB(d.energy / d.added) }

// Numbers are the figures of a report.
func (d *DeclipTotals) Numbers(rate int) []Number {
	return []Number{
		{"clipped_percent", 100 * float64(d.Clipped) / float64(max(1, d.Samples))},
		{"runs", float64(d.Runs)},
		{"longest_run_ms", 1000 * float64(d.Longest) / float64(rate)},
		{"clip_level_dbfs", meter.DB(d.Level)},
		{"peak_before_dbfs", meter.DB(d.PeakBefore)},
		{"peak_after_dbfs", meter.DB(d.PeakAfter)},
		{"estimated_input_sdr_db", d.SDR()},
	}
}

// Filled says what was filled in.
func (d *DeclipTotals) Filled() string {
	return fmt.Sprintf("%d clipped passages were filled with a guess; peaks now reach %s dBFS.", d.Runs, plusMinus(meter.DB(d.PeakAfter)))
}

// mostFlat is the share of samples up to which a take is clipped as speech is at that
// estimated SDR: three times what speech has on average (20 dB: 1 %, 10 dB: 6 %, 1 dB:
// half; measured, see tests/repair), in a straight line between.
func mostFlat(sdr float64) float64 {
	at := func(a, b, shareA, shareB float64) float64 { return shareA + (shareB-shareA)*(sdr-a)/(b-a) }
	switch {
	case sdr >= 20:
		return 0.03
	case sdr >= 10:
		return at(10, 20, 0.18, 0.03)
	case sdr >= 1:
		return max(0.18, min(1, at(1, 10, 1.5, 0.18)))
	}
	return 1 // the words for that do not comfort
}

// Verdict says what came back, of tops of that kind.
func (d *DeclipTotals) Verdict(kind Flatness) Verdict {
	v := Verdict{Outcome: Done, Back: d.Filled()}
	// What came back on average in the speech this was measured on, see
	// tests/repair: a tenth of the error power at 10 dB, a third at 1 dB.
	in, share := d.SDR(), float64(d.Clipped)/float64(max(1, d.Samples))
	switch {
	case share > mostFlat(in):
		// The error is reckoned from the guess itself, which fails unseen where so
		// much was flat.
		v.Outcome = Partly
		v.Back += fmt.Sprintf(" With %.0f %% of the samples cut off, no speech that was measured tells how much of the error is left.", 100*share)
		v.Lost = "How near the guess is nobody can say: listen, and do not rely on it."
	case in >= 15:
		v.Usable = true
		v.Back += " In speech clipped this lightly, a tenth or less of the error is left on average."
		v.Lost = "It is still a guess: single peaks may be wrong."
	case in >= 7:
		v.Usable = true
		v.Back += " In speech clipped this much, about a tenth of the error is left on average."
		v.Lost = "Some roughness stays on the loudest sounds."
	case in >= 3:
		v.Outcome = Partly
		v.Back += " In speech clipped this much, about a fifth of the error is left on average."
		v.Lost = "The loud passages stay audibly distorted; use it if there is nothing else."
	default:
		v.Outcome = Partly
		v.Lost = "So much was cut off that the guess is a weak one: words come through, the voice does not come back."
	}
	switch kind {
	case FlatNoisy:
		v.Lost += " The clipped samples carry noise of their own, so which ones they are is an estimate."
	case FlatMoving:
		v.Lost += " The level was changed after the clipping, so the runs' edges may have been missed."
	}
	return v
}

// Unfilled is the report of declipping a take in which nothing was marked, with tops
// of that kind.
func Unfilled(kind Flatness) Report {
	rep := Report{Treatment: Declip{}.Name(), Numbers: []Number{{"clipped_percent", 0}}}
	if kind == Rounded {
		rep.Verdict = Verdict{Outcome: Hopeless, Usable: true,
			Back: "The tops look rounded rather than cut, as an overdriven analogue stage leaves them.",
			Lost: "Nothing says which samples are wrong, so nothing was changed."}
	} else {
		rep.Verdict = Verdict{Outcome: Nothing, Usable: true, Back: "No clipped samples were found; nothing was changed."}
	}
	return rep
}
