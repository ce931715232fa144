// Package voice is people made of equations. They speak, laugh, cough and
// shout at a known sound pressure: everything comes out in pascal, 1 m in
// front of the lips, mono, float64, 48 kHz.
//
// Start with New, which turns a Script (what is said and done, when, with how
// much effort) into a Performance to be read; NewLive gives a talker who never
// stops, for an interactive scene.
//
// The voice is a formant synthesiser after Klatt (1980): a glottal pulse of the
// LF model whose shape follows the vocal effort, aspiration, a cascade of
// twelve resonators with three moving, a nasal pair, noises with spectra of
// their own for fricatives and bursts, durations by Klatt's rules, transitions
// by locus equations, F0 with declination and accents. A third-octave
// equaliser and a gain per talker and effort, measured once (tuning.go), bring
// the long-term spectrum and the level to the published ones.
//
// Everything is deterministic: the same script, talker and seed give the same
// samples whatever the sizes of the reads, on one platform; across platforms
// they agree to rounding.
package voice
