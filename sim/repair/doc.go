// Package repair is what can be done to a clipped take afterwards, each for real:
// turn it down (Gain, Limit, Compress), guess what was cut off (Declip), put in
// what another track has (Splice), take noise away (Denoise, HighPass), and bring
// it to a delivery level (Deliver).
//
// A Treatment works on a whole mono take, full scale 1, and reports what it did
// in numbers and in words. A Stack applies several in order. Those that can work
// on a stream also give a Processor: blocks of any length, bounded memory, nothing
// allocated per block, the same samples as offline.
//
// None of them knows the truth. Where the truth is known, as in a simulated take,
// Compare measures how far a result is from it, and Judge puts that into words.
//
// What a hard ceiling did is not undone by anything here. Turning a flattened wave
// down, by hand, limiter or compressor, leaves it flattened; but the flattened tops
// tell that gain, so that it can be turned back (Reduction). Declipping guesses:
// among the waves that fit the recording it finds a likely one, and how near that
// comes to the truth is a matter of how much is left to go by. Only a second
// track, recorded lower, has what is missing.
package repair
