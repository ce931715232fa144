// Package codec reads audio files of several formats behind one type, and writes
// WAV. It knows bytes and samples; paths, pipes and what becomes of a file are
// the matter of package sounds.
//
// [Open] reads WAV, FLAC, Ogg Vorbis and MP3, told apart by what they begin with,
// in blocks, one slice a channel ("planar"), as float64 with full scale at 1. An
// n-bit integer code c becomes c/2^(n-1), so +1 itself is never reached and −1 is.
// Floating-point values beyond ±1 are kept. What is wrong with a file is a [Fault]:
// one line, lower case, naming the place in seconds.
//
// A format is a function from a file to its [Info] and a decoder, a type with one
// method; one that can go to a frame has a second. A new one gets a row in
// beginnings and a case in [File.Rewind].
//
// [NewWAVWriter] writes WAV.
package codec
