// Package microphone lends the learner's own voice to the program. [Input] takes what a
// sound input brings, at its own rate and by its own clock, and gives it at the session's
// 48 kHz: whole to who reads ([Input.Read]), and paced by who pulls ([Input.Pull]). It knows
// no device. In a browser Ask opens one; elsewhere the program's libraries have none.
//
// # Clocks
//
// The input has a clock of its own, and what pulls has another: one may be some 200 ppm
// ahead. Pull absorbs that by the ratio of its resampler, which follows how much is in
// store, over some 20 s, by at most [MostPPM] and at most [MostGlide] a second. That is a
// pitch wrong by at most 0.87 cent (1200·log2(1.0005)), where three or more are needed to
// be heard (common practice, no source), and it glides by less than a twentieth of a cent a
// second. Read changes nothing: its samples are those of the input's clock.
//
// # How the sound comes in a browser
//
// Where the browser gives the blocks of a track themselves (MediaStreamTrackProcessor, which
// Chromium has for sound, too) they are taken as they come: it queues them for StoreS while the
// page is busy, so a recording is whole on a machine that does too much
// (TestMicrophoneHearsAFile), the input's own clock is seen, and no thread of a sound context
// has to keep up.
//
// Elsewhere, as in Firefox and Safari, the input gets a context of its own, opened when the
// device is there and at the device's rate, and not that of package speaker: it then works
// where the sound output is off, has failed or has no worklet; no resampler but ours stands
// between; Firefox joins no input to a context of another rate; and closing it lets everything
// go. Both contexts' clocks are those of sound devices, so nothing is gained by sharing one but
// what Pull absorbs anyhow. Between the device and any context a browser has a queue of its
// own, which it may cut or leave empty where the two clocks differ or a processor is too busy:
// the holes that it leaves, and that a context stood still, are found and counted (see
// [Input.Push]). What it drops for its clocks' sake alone, 0.1 s in eight minutes at 200 ppm,
// cannot be told.
package microphone
