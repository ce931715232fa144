// Package lightly declips takes whose truth is known and tells what came of each, and of
// all of them.
package lightly

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"gainwright/sim/repair"
	"gainwright/sim/repair/restore"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/repair/stoi"
)

// A Result is what came of a take.
type Result struct {
	Case      speechset.LightCase
	Rate      int // Hz
	Seconds   float64
	GainDB    float64 // of SDR
	ESTOI     float64 // by how much it rose; not a number where the take is too short
	Found     bool    // anything clipped
	Sure      bool    // like what the promise is made for
	SDR       float64 // dB, estimated by the treatment, at the input
	Agreement float64 // dB, of its estimates; mostAgreement where there is but one
	Promised  float64 // dB
	Seen      *Seen   // what there is to fit a caution by; nil unless asked for
}

func (r Result) String() string {
	return fmt.Sprintf("%s: %+.2f dB, ESTOI %+.4f, promised %.1f dB, agreement %.1f dB, SDR told %.1f dB", r.Case, r.GainDB, r.ESTOI, r.Promised, r.Agreement, r.SDR)
}

// A Take is a case whose truth is known: X is what was said, Y what is left of it.
type Take struct {
	Case  speechset.LightCase
	X, Y  []float64
	Rate  int
	Clips repair.Clips
}

// Find makes the take of a case. One that was clipped when it was recorded, or before the
// ceiling of now, has no known truth: then another one of the same speaker takes its place.
func Find(c speechset.LightCase) (Take, error) {
	many, err := c.Speaker.Recordings()
	if err != nil {
		return Take{}, err
	}
	for range many { // begins with each of them once
		x, y, rate, err := c.Load()
		if err == nil {
			clips := repair.Detect(y)
			lower := slices.ContainsFunc(clips.Runs, func(r repair.ClipRun) bool { return r.Level < 0.98 })
			var source []float64
			if source, err = c.Source(); err == nil && !lower && len(repair.Detect(source).Runs) == 0 {
				return Take{c, x, y, rate, clips}, nil
			}
		}
		if err != nil && !errors.Is(err, speechset.ErrSilent) {
			return Take{}, err
		}
		c = c.Other()
	}
	return Take{}, fmt.Errorf("%s: silent or clipped before, and so is all of this speaker", c)
}

// Measure declips the take of a case as the command would, finding by itself what is
// clipped.
func Measure(ctx context.Context, c speechset.LightCase, e repair.Effort) (Result, error) {
	return measure(ctx, c, e, nil)
}

// Watch measures and keeps what there is to fit a caution by, too.
func Watch(ctx context.Context, c speechset.LightCase, e repair.Effort) (Result, error) {
	return measure(ctx, c, e, &restore.Watch{})
}

func measure(ctx context.Context, c speechset.LightCase, e repair.Effort, watch *restore.Watch) (Result, error) {
	found, err := Find(c)
	if err != nil {
		return Result{}, err
	}
	c, x, y, rate, clips := found.Case, found.X, found.Y, found.Rate, found.Clips
	out, rep, err := repair.Declip{Effort: e, Clips: &clips, Watch: watch}.Apply(ctx, y, rate, repair.Run{Cores: 1})
	if err != nil {
		return Result{}, err
	}
	r := Result{Case: c, Rate: rate, Seconds: float64(len(x)) / float64(rate), GainDB: speechset.SDR(x, out) - speechset.SDR(x, y), ESTOI: math.NaN(), Found: len(clips.Runs) > 0}
	_, before, err := stoi.Measure(x, y, rate)
	if err == nil {
		var after float64
		_, after, err = stoi.Measure(x, out, rate)
		r.ESTOI = after - before
	}
	if err != nil && !errors.Is(err, stoi.ErrShort) {
		return Result{}, err
	}
	r.Promised, _ = rep.Number("promised_gain_db")
	r.SDR, _ = rep.Number("estimated_input_sdr_db")
	if r.Agreement, r.Sure = rep.Number("estimates_agree_db"); !r.Sure {
		r.Agreement = repair.MostAgreement
	}
	r.Sure = r.Found && r.SDR >= 3
	if watch != nil && r.Found {
		r.Seen = seen(x, y, rate, watch.Tops)
	}
	return r, nil
}

// The least that counts as worse.
const (
	WorseDB    = -0.3
	WorseESTOI = -0.01
)

// A Summary is of several takes.
type Summary struct {
	Takes, Heard int // of all; with speech enough for ESTOI
	Worse        []Result
	Mean, Least  float64 // dB
	MeanESTOI    float64
	Promises     int     // takes of which something was promised
	Kept         int     // of these, where it came true
	MeanPromise  float64 // dB
}

// Sum sums up.
func Sum(list []Result) Summary {
	s := Summary{Takes: len(list), Least: math.Inf(1)}
	for _, r := range list {
		s.Mean += r.GainDB / float64(len(list))
		s.Least = min(s.Least, r.GainDB)
		if r.ESTOI == r.ESTOI {
			s.Heard++
			s.MeanESTOI += r.ESTOI
		}
		if r.GainDB < WorseDB || r.ESTOI < WorseESTOI {
			s.Worse = append(s.Worse, r)
		}
		if r.Promised > 0 {
			s.Promises++
			s.MeanPromise += r.Promised
			if r.GainDB >= r.Promised {
				s.Kept++
			}
		}
	}
	s.MeanESTOI /= float64(max(1, s.Heard))
	s.MeanPromise /= float64(max(1, s.Promises))
	return s
}

// Print writes a summary.
func (s Summary) Print(w io.Writer, title string) {
	fmt.Fprintf(w, "%s: %d takes, mean %.2f dB, least %.2f dB, ESTOI %+.4f (%d takes), %d worse; promised in %d, %.1f dB on average, kept in %d (%.0f %%)\n",
		title, s.Takes, s.Mean, s.Least, s.MeanESTOI, s.Heard, len(s.Worse), s.Promises, s.MeanPromise, s.Kept, 100*float64(s.Kept)/float64(max(1, s.Promises)))
	for _, r := range s.Worse {
		fmt.Fprintf(w, "  worse: %s\n", r)
	}
}
