// Package sim is the signal chain: from the pressure a talker makes to the
// samples of a file, in physical units, block by block.
//
// The path, in order, with the unit of each station:
//
//	talker          Pa at 1 m
//	at the mic      Pa; 1/r spreading, plus the room's noise
//	microphone out  V; sensitivity, soft overload, self noise
//	preamp out      V; pad, input noise, gain, output noise, rail
//	input limiter   V; analogue, before the converter
//	converter       full scale = 1; hard ceiling, noise, dither, word length
//	limiter         full scale = 1; digital, after the converter
//	file            full scale = 1; 16 or 24 bit, or 32-bit float
//
// A Chain is the settings of one strip, plain values. A Strip is a chain
// running: blocks of pressure in, Taps out, nothing allocated, no clock, no
// lock. A Readout turns taps into the readings that the scene, the command
// line and the lessons share. Run pulls a whole performance through several
// strips at once.
//
// Conventions: SPL re 20 µPa; dBu re √0.6 V; dBFS of a waveform's peak counts
// |1.0| as 0 dBFS; an rms level in dBFS follows AES17, in which a full-scale
// sine has 0 dBFS, that is 20·log10(rms·√2). Loudness is BS.1770.
package sim
