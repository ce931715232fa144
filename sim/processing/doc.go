// Package processing tells whether what comes from a microphone was processed on its
// way: by a browser, an operating system, a headset. Gated between words, levelled by a
// gain that moves, limited in band, clipped. It looks at a short take with known parts: a
// quiet second or two, a sentence, the same sentence again, something loud.
//
// What it rests on: noise that is added by room and microphone goes on under the words as
// between them, at one level, with a spectrum that wanders from moment to moment as
// chance has it; whoever says a sentence twice says it about as loud; speech has
// something at every frequency from its fundamental to what the sampling rate allows.
// Nothing of this is certain of one person: a card says "looks so", and why.
//
// Noise that was subtracted evenly is not recognised: what is left of it is quieter and
// otherwise like noise (its spectrum's flatness in each octave half, in pauses and in
// quiet, and its fourth moment were looked at). Of that the browser has to tell.
package processing

import (
	"errors"
	"fmt"
	"math"

	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
)

// A Take is what a person was asked for, one channel, full scale ±1.
type Take struct {
	Rate  int
	Quiet []float64 // nobody speaks, a second or more
	Talk  []float64 // a sentence, with a moment before and after it
	Again []float64 // the same sentence
	Loud  []float64 // a loud "ha"
}

// A Kind is a sort of processing.
type Kind string

const (
	Gated      Kind = "gated"        // noise falls away where nobody speaks, or is subtracted
	GainMoves  Kind = "gain_moves"   // an automatic level control
	Alike      Kind = "alike"        // what was meant to be loud is hardly louder: a gain that moves, or a polite person
	BandLimits Kind = "band_limited" // no treble, or no fundamental
	Clipped    Kind = "clipped"      // tops are cut
)

// A Finding is one sort that it looks like.
type Finding struct {
	Kind Kind
	// Says is one sentence for a reader: what was seen.
	Says string
	// Means is one sentence: what that does to setting a gain by it.
	Means string
}

// A Card is what a take told.
type Card struct {
	// NoiseDBFS is the level in the quiet part, TalkDBFS the active level of the two
	// sentences (ITU-T P.56), in the sense of AES17. LoudDB is how far the loud
	// part's active level lies above theirs.
	NoiseDBFS, TalkDBFS, LoudDB float64
	// TopHz is where the band ends, 0 where it goes on to the end of what the rate allows.
	TopHz float64
	// PeakDBFS is the highest sample.
	PeakDBFS float64
	Findings []Finding
	Features Features
}

// Clean tells that nothing was found.
func (c *Card) Clean() bool { return len(c.Findings) == 0 }

// Faults of a take.
var (
	ErrShort  = errors.New("that was too short to be looked at: a quiet second, a sentence of two seconds, the same again, and a loud sound")
	ErrSilent = errors.New("nothing was heard over the noise: is this the right microphone, and is it switched on?")
)

// Look judges a take. Parts must last: half a second of quiet, a second of talk each, a fifth of a
// second of what is loud; talk must lie 6 dB over the quiet part.
func Look(t Take) (*Card, error) {
	if err := meter.CheckRate(t.Rate); err != nil {
		return nil, fmt.Errorf("processing: %w", err)
	}
	s := func(x []float64) float64 { return float64(len(x)) / float64(t.Rate) }
	if s(t.Quiet) < .5 || s(t.Talk) < 1 || s(t.Again) < 1 || s(t.Loud) < .2 {
		return nil, ErrShort
	}
	f := featuresOf(t)
	c := &Card{NoiseDBFS: f.Quiet, TalkDBFS: (f.Talk + f.Again) / 2, TopHz: f.TopHz, PeakDBFS: peak(t), Features: f}
	c.LoudDB = f.Loud - c.TalkDBFS
	if !(c.TalkDBFS > c.NoiseDBFS+6) {
		return nil, ErrSilent
	}
	c.judge(t)
	return c, nil
}

func peak(t Take) float64 {
	m := 0.0
	for _, x := range [][]float64{t.Quiet, t.Talk, t.Again, t.Loud} {
		for _, v := range x {
			m = math.Max(m, math.Abs(v))
		}
	}
	return meter.DB(m)
}

// cut asks package diagnose whether tops are cut, and where it shows best. What it holds for
// cut before a gain moved or a filter smoothed it does not count: in takes so short,
// a gain that moves and recordings that were levelled once look like that, too.
func cut(t Take) (where float64, is bool) {
	ch := diagnose.New(t.Rate, diagnose.Options{FullScale: 1 - 1.0/(1<<15)})
	for _, x := range [][]float64{t.Talk, t.Again, t.Loud} {
		ch.Write(x)
	}
	for _, f := range diagnose.Diagnose([]*diagnose.Channel{ch}) {
		if f.Kind == diagnose.FlatFull || f.Kind == diagnose.FlatLower {
			return f.WorstS, true
		}
	}
	return 0, false
}
