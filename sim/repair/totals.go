package repair

import (
	"fmt"
	"math"

	"gainwright/sim/meter"
)

const declipName = "declip"

// DeclipTotals is what declipping did to a take, summed up over its stretches and
// channels. The zero value is ready.
type DeclipTotals struct {
	Samples               int64 // of all channels
	Clipped, Runs         int
	Longest               int     // samples in the longest run
	Level                 float64 // the highest clip level, a magnitude
	PeakBefore, PeakAfter float64
	filled                int // runs, as far as they changed
	energy, added         float64
	doubt                 doubt
}

// Write adds samples before and after.
func (d *DeclipTotals) Write(before, after []float64) {
	d.Samples += int64(len(after))
	within := false
	for i, v := range after {
		e := v - before[i]
		if e != 0 && !within {
			d.filled++
		}
		within = e != 0
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
	return append([]Number{
		{"clipped_percent", 100 * float64(d.Clipped) / float64(max(1, d.Samples))},
		{"runs", float64(d.Runs)},
		{"longest_run_ms", 1000 * float64(d.Longest) / float64(rate)},
		{"clip_level_dbfs", meter.DB(d.Level)},
		{"peak_before_dbfs", meter.DB(d.PeakBefore)},
		{"peak_after_dbfs", meter.DB(d.PeakAfter)},
		{"estimated_input_sdr_db", d.SDR()},
	}, d.promiseNumbers()...)
}

// Filled says what was filled in.
func (d *DeclipTotals) Filled() string {
	n := min(d.filled, d.Runs) // a block may end within a run
	if n < d.Runs {
		return fmt.Sprintf("%d of %d clipped passages were filled with a guess, the others left as they are; peaks now reach %s dBFS.", n, d.Runs, plusMinus(meter.DB(d.PeakAfter)))
	}
	return fmt.Sprintf("%d clipped passages were filled with a guess; peaks now reach %s dBFS.", n, plusMinus(meter.DB(d.PeakAfter)))
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

// unlike reports whether more is clipped than in any speech that was measured.
func (d *DeclipTotals) unlike() bool {
	in := d.SDR()
	return in < 3 || float64(d.Clipped)/float64(max(1, d.Samples)) > mostFlat(in)
}

// Verdict says what came back, of tops of that kind.
func (d *DeclipTotals) Verdict(kind Flatness) Verdict {
	if d.filled == 0 {
		return Verdict{Outcome: Nothing,
			Back: fmt.Sprintf("The %d clipped passages were left as they are.", d.Runs),
			Lost: "Two ways of reckoning told waves too different to trust either; a wrong guess harms more than light clipping."}
	}
	v := Verdict{Outcome: Done, Back: d.Filled()}
	in, share := d.SDR(), float64(d.Clipped)/float64(max(1, d.Samples))
	switch {
	case share > mostFlat(in):
		// The error is reckoned from the guess itself, which fails unseen where so
		// much was flat.
		v.Outcome = Partly
		v.Back += fmt.Sprintf(" With %.0f %% of the samples cut off, no speech that was measured tells how much of the error is left.", 100*share)
		v.Lost = "How near the guess is nobody can say: listen, and do not rely on it." + d.heldWords()
	case in < 3:
		v.Outcome = Partly
		v.Lost = "So much was cut off that the guess is a weak one: words come through, the voice does not come back."
	default:
		v.Back += d.Promised()
		v.Lost = d.lost(in)
		v.Usable = in >= 7 && d.PromisedGainDB() >= leastPromise
		if !v.Usable {
			v.Outcome = Partly
		}
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
	rep := Report{Treatment: declipName, Numbers: []Number{{"clipped_percent", 0}}}
	if kind == Rounded {
		rep.Verdict = Verdict{Outcome: Hopeless, Usable: true,
			Back: "The tops look rounded rather than cut, as an overdriven analogue stage leaves them.",
			Lost: "Nothing says which samples are wrong, so nothing was changed."}
	} else {
		rep.Verdict = Verdict{Outcome: Nothing, Usable: true, Back: "No clipped samples were found; nothing was changed."}
	}
	return rep
}
