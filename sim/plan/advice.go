package plan

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"gainwright/sim"
)

// The gains that preamps offer (common practice, no source).
const (
	KnobLowDB  = 0.0
	KnobHighDB = 70.0
)

// A Knob is the gains that a recorder offers, dB.
type Knob struct{ LowDB, HighDB float64 }

func (k Knob) ends() (lo, hi float64) {
	if k == (Knob{}) {
		return KnobLowDB, KnobHighDB
	}
	return k.LowDB, k.HighDB
}

// PadDB is the usual pad (common practice, no source).
const PadDB = 20.0

// Advice is what a host is told: one setting, what the meter then holds, and what it
// risks and costs.
type Advice struct {
	// Point is the setting: the highest whole decibel of gain within what is acceptable
	// and within what knobs offer. Its figures are that setting's own.
	Point
	// HeldDBFS is the peak, in whole dBFS, that the meter should hold in a minute of
	// talk. The meter goes before the knob.
	HeldDBFS float64
	// PadDB is a pad to switch in for GainDB to be meant with; 0 if none is needed.
	PadDB float64
	// NoKnob tells that the recorder has no gain to set: GainDB is the chain's own.
	NoKnob bool
	// TooQuiet tells that the knob ends before the noise is low enough, AtMost that it
	// ends before the risk is reached.
	TooQuiet, AtMost bool
	// Less3 and Less6 are 3 and 6 dB more headroom.
	Less3, Less6 Point
}

// NoKnob tells that a recorder has no gain worth setting: two ranges into a float file
// hold whatever the preamp lets through.
func NoKnob(c sim.Chain) bool {
	return c.Converter.DualRangeDB > 0 && c.File.Format == sim.Float32
}

// Advise tells what to set. It is false if the window is empty, or no gain is safe.
func (s *Setup) Advise(r *Result) (Advice, bool) {
	w := s.Window(r)
	var a Advice
	lowDB, highDB := s.Knob.ends()
	switch {
	case NoKnob(s.Chain):
		a.NoKnob = true
		a.Point = s.At(s.Chain.Preamp.GainDB, r)
		a.HeldDBFS = math.Round(a.HeldPeakDBFS)
	case w.Empty() || math.IsInf(w.HighDB, -1):
		return Advice{}, false
	case w.HighDB < lowDB && s.Chain.Preamp.PadDB == 0:
		t := *s
		t.Chain.Preamp.PadDB = PadDB
		a, ok := t.Advise(r)
		a.PadDB = PadDB
		return a, ok
	case w.HighDB < lowDB:
		return Advice{}, false
	default:
		g := math.Floor(w.HighDB)
		if g < w.LowDB { // a window of less than a decibel
			g = w.HighDB
		}
		a.AtMost = g > highDB
		g = max(min(g, highDB), lowDB)
		a.TooQuiet = g < w.LowDB
		a.Point = s.At(g, r)
		a.HeldDBFS = math.Round(a.HeldPeakDBFS)
	}
	a.Less3, a.Less6 = s.At(a.GainDB-3, r), s.At(a.GainDB-6, r)
	return a, true
}

// A Ruler is the gain axis of a strip: below LowDB it is too noisy, above HighDB too
// risky, and between them lies the window; ends as in Window. What the meter holds of
// talk at both ends is the band where it belongs.
type Ruler struct {
	Window
	SuggestDB   float64 // the gain of Advice; NaN if there is none
	SuggestHeld float64 // its HeldDBFS
	NoKnob      bool
}

// Ruler returns the zones of gain of the prepared set-up. For one take instead of the
// session, take ForMinutes of it.
func (s *Setup) Ruler(r *Result) Ruler {
	out := Ruler{Window: s.Window(r), SuggestDB: math.NaN(), SuggestHeld: math.NaN(), NoKnob: NoKnob(s.Chain)}
	if a, ok := s.Advise(r); ok {
		out.SuggestDB, out.SuggestHeld = a.GainDB, a.HeldDBFS
	}
	return out
}

// RuleOfThumb is a published rule for where talk should peak.
type RuleOfThumb struct {
	LowDBFS, HighDBFS float64
	Source            string
}

// Rules lists published rules of thumb and common ones.
func Rules() []RuleOfThumb {
	return []RuleOfThumb{
		{-12, -6, "Oral History in the Digital Age, Michigan State University, 2012"},
		{-20, -18, "broadcast practice: common practice, no source"},
	}
}

// Mostly returns the gain that a take needed at most: the one at which it would just
// not have gone over, from what is left of the headroom (negative: missing) at a gain.
func Mostly(gainDB, headroomDB float64) float64 { return gainDB + headroomDB }

// OneLaugh is why what a take would have borne and what an hour allows differ, for a
// sentence.
const OneLaugh = "one laugh is not an hour of them"

// A Spread is how sure a setting is: the peak that the meter should hold, in whole
// dBFS, in one of ten plans lower than LowDBFS and in one of ten higher than HighDBFS,
// when every assumption is drawn from what is plausible.
type Spread struct {
	LowDBFS, HighDBFS float64
}

// How many draws of all assumptions settle a Spread, and how many sessions each.
const (
	SpreadDraws    = 160
	SpreadSessions = 400
)

// Spread draws all assumptions at once, draws times, each from a triangle over its
// plausible range with the top at its value, and finds by sessions sessions what the
// meter should hold. It runs on the calling goroutine and asks ctx.Err every few
// sessions. Where nothing can go over, both ends are infinite.
func (s *Setup) Spread(ctx context.Context, draws, sessions int, seed uint64, progress func(share float64)) (Spread, error) {
	rnd := rand.New(rand.NewPCG(seed, streamSpread))
	var held []float64
	for i := range draws {
		t := *s
		for _, p := range s.Model.Params() {
			if u := rnd.Float64(); p.High > p.Low {
				// The table's keys and ranges are its own.
				_ = t.Model.Set(p.Key, triangle(u, p.Low, min(max(p.Value, p.Low), p.High), p.High))
			}
		}
		if err := t.Prepare(ctx); err != nil {
			return Spread{}, err
		}
		r, err := InSlices(ctx, t.conv, sessions, seed, nil)
		if err != nil {
			return Spread{}, err
		}
		high, _, _ := t.highest(r, 0)
		held = append(held, t.HeldDBFS(high))
		if progress != nil {
			progress(float64(i+1) / float64(draws))
		}
	}
	slices.Sort(held)
	return Spread{math.Round(quantile(held, 0.1)), math.Round(quantile(held, 0.9))}, nil
}

// triangle is the quantile u of the triangular distribution.
func triangle(u, low, mode, high float64) float64 {
	if c := (mode - low) / (high - low); u < c {
		return low + math.Sqrt(u*(high-low)*(mode-low))
	}
	return high - math.Sqrt((1-u)*(high-low)*(high-mode))
}
