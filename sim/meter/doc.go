// Package meter holds what meters read: loudness, true and sample peak,
// programme meters, overs, noise, distortion and spectra.
//
// Everything here is fed samples and asked for readings. Nothing reads a file,
// a clock or a sound card, so the same meter serves a live strip, a lesson and
// the command line.
//
// # Conventions
//
// Samples are float64, full scale is ±1. Two decibel scales meet in this trade
// and each function says which one it uses:
//
//   - dBFS in the sense of AES17: the rms of a sine whose peak just reaches
//     full scale is 0 dBFS;
//   - dB re square full scale: an rms of 1.0 is 0 dB. It lies 3.01 dB below
//     the other for the same signal. BS.1770 uses this one inside.
//
// A peak level is 20·log10 of a magnitude, 0 dB at 1.0, for both.
//
// # Streaming
//
// The streaming meters ([Loudness], [TruePeak], [SamplePeak], [PPM], [VU],
// [Overs], [Stats], [ActiveLevel], [KWeight], [Weighting], [Spectrum]) take
// blocks of any length, allocate nothing after construction, and give readings
// that depend on the samples alone, never on how they were cut into blocks.
// Ballistics live in sample time. Reset leaves a meter as new. None of them is
// safe for use by several goroutines at once.
//
// A sample that is not a number, is infinite, or has a magnitude of 2^128 or
// more (no 32-bit float file can hold one) counts as zero. Each meter tells how
// many it met with Invalid: a damaged file must not turn a reading into NaN,
// and must not pass unnoticed either.
//
// Programmer errors (a rate out of range, channels of unequal length) panic;
// what a user can cause is an error. [CheckRate] tells them apart.
package meter
