// Package speaker is the sound card, as a sounds.Device, over beep's speaker. It
// is built for the browser and, with -tags window, for the desktop (on Linux
// that needs the ALSA headers); elsewhere it is empty, so that a bare Go
// installation can build and test everything else.
//
// In a browser an audio worklet of our own plays, fed from the same streamers:
// measured on the same machine, 53 ms pass from a setting to the sound output,
// where beep's way took 91 ms and broke off, or 163 ms with a buffer that did not.
// beep's speaker stands in where a browser has no worklets.
//
// beep's speaker clamps samples at ±1 and truncates them to 16 bits. Hand it
// nothing but a sounds.Monitor behind a sounds.Pull.
//
// There is one sound card a process. It is opened once and never closed: the
// library under beep allows one context only, and its Close can hang while a
// write waits. Close here means silence.
package speaker
