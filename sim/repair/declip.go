package repair

import (
	"context"
	"fmt"

	"gainwright/sim"
	"gainwright/sim/repair/restore"
)

// Effort is how much time declipping takes for how much quality: the one control
// it has. The zero value is Best.
type Effort = restore.Effort

// The efforts.
const (
	// Best runs nine estimates of three families and weighs them sample by sample. Above
	// 24 kHz it looks a second time, with a memory as long as a period of a voice, and
	// weighs all that anew.
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
	// Watch is told what the caution saw, for fitting it; nil for none.
	Watch *restore.Watch `json:"-" yaml:"-"`
}

func (Declip) Name() string { return declipName }

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
	told, err := restore.All(ctx, out, q, rate, d.Effort, r.Cores, r.Progress, d.Watch)
	if err != nil {
		return nil, rep, err
	}
	r.progress(1)
	totals := DeclipTotals{doubt: doubt{told, d.Effort, rate, true}}
	totals.Count(&c)
	totals.Write(y, out)
	rep = totals.Report(c.Kind, rate)
	if d.Reduction == UndoReduction {
		rep.Verdict.Back += " " + Unridden
	}
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

// Count adds the marks of one channel.
func (d *DeclipTotals) Count(c *Clips) {
	d.Clipped += c.Samples
	d.Runs += len(c.Runs)
	d.Longest = max(d.Longest, c.Longest)
	d.Level = max(d.Level, c.Top, c.Bottom)
}
