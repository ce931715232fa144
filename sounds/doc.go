// Package sounds holds what lies between a file or a loudspeaker and the
// simulated chain: opening audio files and making files appear, changing the
// sample rate, giving a recording a sound pressure level, and the stages and
// clocks that play a signal. What stands in an audio file is the matter of
// package sounds/codec.
//
// # Reading
//
// [Open] reads WAV, FLAC, Ogg Vorbis and MP3, in blocks, one slice a channel
// ("planar"), as float64 with full scale at 1. What cannot be read is an
// [*InputError]: one line, lower case, naming the file and the place in it in
// seconds.
//
//	r, err := sounds.Open("ferry.wav")
//	if err != nil { … }
//	defer r.Close()
//	buf := sounds.NewBlock(r.Info().Channels, 4096)
//	for {
//		n, err := r.Read(buf)
//		… buf[ch][:n] …
//		if err == io.EOF { break }
//	}
//
// # Writing
//
// [WriteFile] and [Outputs] make a file, or a set of files, appear whole or not
// at all; [codec.NewWAVWriter] fills it.
//
// # Playing
//
// The signal path of playback is
//
//	Player or any streamer → Monitor → Pull → Output
//
// [Monitor] is the only stage between the product's signal and the device, and
// the only one that changes it. [Pull] guarantees that exactly one clock (the
// device, a tick when there is none, a loop in tests) advances the signal.
// Package sounds/speaker is the one [Output] that makes sound.
//
// No type here starts a goroutine. The stages of playback neither allocate nor
// wait while they run; their settings are immutable snapshots behind an atomic
// pointer and may be changed from any goroutine.
package sounds
