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
	"gainwright/sim/say"
	"gainwright/sounds"
)

// Limiter is what a pair of recordings tells of a limiter, as JSON.
type Limiter struct {
	Place       identify.Place `json:"place"`
	Odds        sim.Level      `json:"odds"` // of the place against the next likely one; null where stretches do not decide
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
	Why         string         `json:"why"`
}

// NewLimiter carries an estimate over.
func NewLimiter(l *identify.Limiter) *Limiter {
	out := &Limiter{Place: l.Place, Odds: sim.Level(l.Odds), Stretches: l.Stretches, Why: l.Why}
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

// PairOf compares two recordings of one sound, from the files paths, the first with the
// limiter off and the second with it on. What is wrong with them names both files.
func PairOf(paths [2]string, first, second identify.Recording, a, b *identify.Survey) (*identify.Limiter, error) {
	l, err := identify.Identify(first, second, a, b)
	if identify.AsFault(err) {
		return nil, &sounds.InputError{Path: sounds.Shown(paths[0]) + ", " + sounds.Shown(paths[1]), Msg: err.Error(), Err: err}
	}
	return l, err
}

// openPair opens two files, or the two channels of one, and looks at them.
func openPair(ctx context.Context, files []string, w *cli.Watch) (c [2]*Channel, s [2]*identify.Survey, err error) {
	defer func() {
		if err != nil {
			closeAll(c)
		}
	}()
	for i := range c {
		if c[i], err = OpenChannel(ctx, files[min(i, len(files)-1)], 0, w); err != nil {
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

func closeAll(c [2]*Channel) {
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
	w.Begin(fmt.Sprintf("comparing %s with %s", c[0].Path, c[1].Path))
	l, err := PairOf([2]string{c[0].Path, c[1].Path}, c[0], c[1], s[0], s[1])
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
	for _, line := range PairLines(l, s[0].Rate) {
		fmt.Fprintln(&b, line)
	}
	_, err = out.Write(b.Bytes())
	return err
}

// placeTitle says where a limiter acts.
var placeTitle = map[identify.Place]string{
	identify.None:      "No limiter acts",
	identify.Before:    "The limiter acts before the converter",
	identify.After:     "The limiter acts after the converter",
	identify.Both:      "A limiter acts on both sides of the converter",
	identify.Automatic: "An automatic level control, not a limiter",
	identify.Undecided: "Where a limiter acts cannot be told",
}

// PairLines are the lines that tell of a limiter.
func PairLines(l *identify.Limiter, rate int) []string {
	title := placeTitle[l.Place]
	if l.Odds > 0 {
		title += fmt.Sprintf(" (odds %s to 1)", odds(l.Odds))
	}
	out := []string{title + ".", cli.Wrap(cli.Capital(l.Why)+".", 78), ""}
	row := func(name, value string) { out = append(out, fmt.Sprintf("%-22s%s", name, value)) }
	if l.Threshold.Known() {
		row("threshold", Between(l.Threshold, "%.1f", "dBFS"))
		row("ratio", ratio(l.Ratio))
		row("attack", Between(l.AttackMS, "%.2g", "ms"))
		row("release", Between(l.ReleaseMS, "%.0f", "ms"))
		row("deepest reduction", say.Number("%.1f", l.ReductionDB)+" dB")
	}
	if l.Ceiling.Found() {
		row("clips at", say.Number("%.2f", 20*math.Log10(l.Ceiling.Level))+" dBFS")
	}
	a := l.Alignment
	row("second file later by", say.Number("%.2f", 1000*a.Delay/float64(rate))+" ms")
	if !a.SameTime {
		row("its clock differs by", say.Number("%.0f", 1e6*a.Drift)+" ppm")
	}
	if a.Inverted {
		row("its polarity", "is inverted")
	}
	row("its gain", cli.SignedDB(l.GainDB))
	if l.Place == identify.After || l.Place == identify.Undecided {
		out = append(out, "", cli.Wrap("Until you know better, set the gain as if there were no limiter: one that sits after the converter only turns the flattened wave down.", 78))
	}
	return out
}

func odds(v float64) string {
	if v >= 1e5 {
		return "over 100 000"
	}
	return fmt.Sprintf("%.0f", v)
}

// Between shows an estimate with its interval.
func Between(e identify.Estimate, format, unit string) string {
	return fmt.Sprintf("%s %s (%s to %s)", say.Number(format, e.Value), unit, say.Number(format, e.Low), say.Number(format, e.High))
}

func ratio(e identify.Estimate) string {
	one := func(v float64) string {
		if v >= 20 {
			return "20:1 or more"
		}
		return say.Number("%.1f", v) + ":1"
	}
	if one(e.Low) == one(e.High) {
		return one(e.Value)
	}
	return fmt.Sprintf("%s (%s to %s)", one(e.Value), one(e.Low), one(e.High))
}
