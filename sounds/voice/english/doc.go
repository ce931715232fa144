// Package english turns English text into the phones in which it is spoken: numbers
// into words, words into sounds by a lexicon, by their endings and parts, and, where
// those do not know them, by letter rules. It knows no durations, melody or samples.
//
// Start with [Parse].
package english
