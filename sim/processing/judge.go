package processing

import "fmt"

// Thresholds were set on voices other than those that the figures are given for
// (tests/microphone). In brackets what untouched takes of theirs had.
const (
	nothingShare = .2   // of the quiet time without any noise at all (none)
	underDB      = 15.5 // noise under all words over noise between them (up to 14.5)
	raggedDB     = -2.62
	riseDBs      = 0.9 // noise that grows while nobody speaks (up to 0.3)
	fallDB       = 1.  // noise after words under noise before them (up to 0)
	sunkDB       = -3. // noise under words under noise between them (down to −1.8)
	sameDB       = 4.  // what is loud over talk (from 5)
	alsoRiseDBs  = 0.4 // noise that grows where besides what is loud is hardly so
	cliffDB      = 12. // where treble ends (up to 22 below twelve kilohertz)
	cliffTopHz   = 12000.
	noiseCliffDB = 8.  // what ends the band ends the noise with it (up to 1)
	sheerDB      = 40. // no voice ends like that
	bassDB       = -8. // of talk
	noiseBassDB  = -3. // of the noise: white noise has 0, rooms have more
)

func (c *Card) judge(t Take) {
	f := &c.Features
	add := func(k Kind, means, says string, args ...any) {
		c.Findings = append(c.Findings, Finding{Kind: k, Says: fmt.Sprintf(says, args...), Means: means})
	}
	gated := c.gate(add)
	if !gated {
		c.moves(add)
	}
	if f.Cliff > cliffDB && f.TopHz < min(cliffTopHz, .42*float64(t.Rate)) && (f.NoiseCliff > noiseCliffDB || f.Cliff > sheerDB) {
		add(BandLimits, "Levels of talk change little by it; sibilants and clicks are missing from peaks.",
			"Above %.1f kHz there is nothing: it went through a narrow channel, such as a headset's or a call's.", f.TopHz/1000)
	} else if f.Bass < bassDB && f.NoiseBass < noiseBassDB {
		add(BandLimits, "Levels of low voices, knocks and breath read too low by it.",
			"What lies below some 250 Hz was taken away, from the voice and from the room's noise.")
	}
	if at, is := cut(t); is {
		add(Clipped, "Peaks are gone before anything here begins: turn the microphone's own gain down before you speak into it again.",
			"Tops are cut, best seen %.1f s into the talk.", at)
	}
}

// gate looks for noise that is let through with words only, or subtracted.
func (c *Card) gate(add func(k Kind, means, says string, args ...any)) bool {
	f := &c.Features
	const means = "The noise that is shown is not your room's, and soft words may be cut off."
	switch {
	case f.Nothing > nothingShare:
		add(Gated, means, "While nobody speaks there is no sound at all, which no room is like.")
	case f.UnderAll > underDB:
		add(Gated, means, "Noise is %.0f dB louder under words than between them: something shuts when you stop.", f.UnderAll)
	case f.Ragged < raggedDB:
		add(Gated, means, "The noise is in tatters, as noise is when something subtracts it.")
	default:
		return false
	}
	return true
}

// moves looks for a gain that follows the voice.
func (c *Card) moves(add func(k Kind, means, says string, args ...any)) {
	f := &c.Features
	const means = "What is loud and what is soft come out alike: the distance between your talk and your laugh reads too small, and headroom can't be learnt from it."
	switch {
	case f.Rise > riseDBs, f.Rise > alsoRiseDBs && c.LoudDB < sameDB:
		add(GainMoves, means, "The noise grows by %.1f dB a second while nobody speaks: the gain is being turned up.", f.Rise)
	case f.Fall > fallDB:
		add(GainMoves, means, "The room is %.0f dB quieter after your words than before them: the gain was turned down.", f.Fall)
	case f.Under < sunkDB:
		add(GainMoves, means, "The room's noise sinks by %.0f dB under your words: the gain goes down with them.", -f.Under)
	case c.LoudDB < sameDB:
		add(Alike, "If you laughed as you would among friends, a gain on the way evens it out; if you were polite, laugh once more as you would there.",
			"What was meant to be loud lies %s.", over(c.LoudDB))
	}
}

func over(db float64) string {
	if db < .5 {
		return "no higher than your talk"
	}
	return fmt.Sprintf("only %.0f dB over your talk", db)
}
