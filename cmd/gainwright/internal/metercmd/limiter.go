package metercmd

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim"
	"gainwright/sim/identify"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// Limiter is what a pair of recordings tells of a limiter, as JSON.
type Limiter struct {
	Place       identify.Place `json:"place"`
	Odds        sim.Level      `json:"odds"`             // of the place against the next likely one; null where stretches do not decide
	Behind      string         `json:"behind,omitempty"` // not_seen: of two limiters the one behind the converter would not show, and the odds are of one before it
	Stretches   int            `json:"stretches"`
	ThresholdDB sim.Level      `json:"threshold_dbfs"`
	ThresholdLo sim.Level      `json:"threshold_dbfs_low"`
	ThresholdHi sim.Level      `json:"threshold_dbfs_high"`
	Ratio       sim.Level      `json:"ratio"`
	RatioLo     sim.Level      `json:"ratio_low"`
	RatioHi     sim.Level      `json:"ratio_high"`
	AttackMS    sim.Level      `json:"attack_ms"`
	AttackLo    sim.Level      `json:"attack_ms_low"`
	AttackHi    sim.Level      `json:"attack_ms_high"`
	ReleaseMS   sim.Level      `json:"release_ms"`
	ReleaseLo   sim.Level      `json:"release_ms_low"`
	ReleaseHi   sim.Level      `json:"release_ms_high"`
	Smooths     string         `json:"smooths"` // what the times are of: gain, gain_fed_back, gain_held, amplitude, power; empty where unknown
	Why         string         `json:"why"`
}

// NewLimiter carries an estimate over.
func NewLimiter(l *identify.Limiter) *Limiter {
	out := &Limiter{Place: l.Place, Odds: sim.Level(l.Odds), Stretches: l.Stretches, Smooths: string(l.Smooths), Why: l.Why}
	if l.BehindUnseen {
		out.Behind = equipment.NotSeen
	}
	if l.Odds == 0 {
		out.Odds = sim.Level(math.NaN())
	}
	set := func(e identify.Estimate, v, lo, hi *sim.Level) {
		*v, *lo, *hi = sim.Level(e.Value), sim.Level(e.Low), sim.Level(e.High)
	}
	set(l.Threshold, &out.ThresholdDB, &out.ThresholdLo, &out.ThresholdHi)
	set(l.Ratio, &out.Ratio, &out.RatioLo, &out.RatioHi)
	set(l.AttackMS, &out.AttackMS, &out.AttackLo, &out.AttackHi)
	set(l.ReleaseMS, &out.ReleaseMS, &out.ReleaseLo, &out.ReleaseHi)
	return out
}

// pairJSON is what meter --pair prints.
type pairJSON struct {
	First   string    `json:"off"` // limiter off
	Second  string    `json:"on"`
	Limiter *Limiter  `json:"limiter"`
	DelayMS sim.Level `json:"delay_ms"` // of the second
	Drift   sim.Level `json:"clock_drift_ppm"`
	Inverse bool      `json:"polarity_inverted"`
	GainDB  sim.Level `json:"gain_db"` // of the second, below the threshold
	Clip    sim.Level `json:"clip_dbfs"`
}

// openPair opens two files, or the two channels of one, and looks at them.
func openPair(ctx context.Context, files []string, w *cli.Watch) (c [2]*series.Channel, s [2]*identify.Survey, err error) {
	defer func() {
		if err != nil {
			closeAll(c)
		}
	}()
	for i := range c {
		if c[i], err = series.OpenChannel(ctx, series.Path(files[min(i, len(files)-1)]), 0, w); err != nil {
			return c, s, err
		}
		if len(files) == 1 {
			if n := c[i].Channels(); n != 2 {
				return c, s, &sounds.InputError{Path: files[0], Msg: "has one channel: --pair wants two files, or one with the limiter off on the left and on on the right"}
			}
			c[i].Take(i)
			s[i], err = c[i].Survey()
		} else {
			s[i], err = c[i].Louder()
		}
		if err != nil {
			return c, s, err
		}
	}
	return c, s, nil
}

func closeAll(c [2]*series.Channel) {
	for _, x := range c {
		if x != nil {
			x.Close()
		}
	}
}

// runPair is meter --pair.
func runPair(ctx context.Context, out io.Writer, files []string, asJSON bool, w *cli.Watch) error {
	if len(files) > 2 {
		return cli.Usagef("--pair wants two recordings, the limiter off in the first, not %d", len(files))
	}
	if len(files) == 2 && files[0] == "-" && files[1] == "-" {
		return cli.Usagef("the standard input can be one of the two recordings only")
	}
	if len(files) == 1 && files[0] == "-" {
		return cli.Usagef("--pair reads a recording with two channels twice at once: it wants a file, not the standard input")
	}
	c, s, err := openPair(ctx, files, w)
	if err != nil {
		w.Done()
		return err
	}
	defer closeAll(c)
	w.Begin(fmt.Sprintf("comparing %s with %s", c[0].Name, c[1].Name))
	l, err := series.PairOf([2]string{c[0].Name, c[1].Name}, c[0], c[1], s[0], s[1])
	w.Done()
	if err != nil {
		return err
	}
	name := func(i int) string {
		if len(files) == 1 {
			return fmt.Sprintf("%s, channel %d", files[0], i+1)
		}
		return files[i]
	}
	if asJSON {
		j := pairJSON{First: name(0), Second: name(1), Limiter: NewLimiter(l), DelayMS: sim.Level(1000 * l.Alignment.Delay / float64(s[0].Rate)),
			Drift: sim.Level(1e6 * l.Alignment.Drift), Inverse: l.Alignment.Inverted, GainDB: sim.Level(l.GainDB), Clip: sim.Level(math.NaN())}
		if l.Ceiling.Found() {
			j.Clip = sim.Level(20 * math.Log10(l.Ceiling.Level))
		}
		return cli.WriteJSON(out, j)
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s: limiter off\n%s: limiter on\n\n", sounds.Shown(name(0)), sounds.Shown(name(1)))
	for _, line := range PairLines(l) {
		fmt.Fprintln(&b, line)
	}
	_, err = out.Write(b.Bytes())
	return err
}

// PairLines are the lines that tell of a limiter.
func PairLines(l *identify.Limiter) []string {
	t := series.TellLimiter(l)
	out := []string{t.Title, cli.Wrap(t.Why, 78), ""}
	for _, r := range append(t.Law, t.Pair...) {
		out = append(out, fmt.Sprintf("%-22s%s", r.Name, r.Value))
	}
	if t.Advice != "" {
		out = append(out, "", cli.Wrap(t.Advice, 78))
	}
	return out
}
