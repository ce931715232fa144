package voice

import (
	"gainwright/sounds/voice/english"
	"testing"
)

// laid is a text as one clause with its times.
func laid(t *testing.T, text string) *clause {
	t.Helper()
	parts, err := english.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	c := clauses(parts)[0]
	c.arrange(&talkers[0], .5, newRNG(1))
	return &c
}

// What follows a vowel lengthens or shortens it: most of all a voiced fricative, then
// a voiced stop, a nasal, and least a voiceless stop (Klatt 1976, J. Acoust. Soc. Am.
// 59, 1208; the order is from memory).
func TestVowelsBeforeConsonants(t *testing.T) {
	last := 1 << 30
	for _, text := range []string{"/B IY1 Z/", "/B IY1 D/", "/B IY1 N/", "/B IY1 T/"} {
		n := laid(t, text).segs[1].ticks
		if n >= last {
			t.Errorf("the vowel of %s lasts %d ticks, no less than the one before", text, n)
		}
		last = n
	}
}

// A voiceless stop before a stressed vowel is aspirated; after s it is not: its voice
// comes within 30 ms, and earlier by 15 ms and more (Lisker & Abramson 1964, Word 20,
// 384; the limits are from memory).
func TestVoiceOnset(t *testing.T) {
	onset := func(text string, i int) float64 {
		c := laid(t, text)
		return c.onset(i, &c.segs[i], &c.segs[max(0, i-1)], &c.segs[i+1])
	}
	for _, p := range []string{"P", "T", "K"} {
		alone, after := onset("/"+p+" IH1 N/", 0), onset("/S "+p+" IH1 N/", 1)
		if after > 30 || alone-after < 15 {
			t.Errorf("%s: %v ms, after s %v ms", p, alone, after)
		}
	}
}

// The burst of a stop is weaker before another stop than before a vowel (common
// practice, no source).
func TestBurstsBeforeStops(t *testing.T) {
	burst := func(text string) float64 {
		c := laid(t, text)
		b := &tracks{c: c, t: &talkers[0], noise: 1}
		db, _ := b.burst(1, c.segs[1].p, &c.segs[0], &c.segs[2])
		return db
	}
	if d := burst("/AE1 K T/") - burst("/AE1 K IY0/"); d > -3 {
		t.Errorf("before a stop a burst is %v dB re before a vowel", d)
	}
}

// A k at a word's end is released where the tongue of the vowel before it is: high after
// a front vowel, low after a back one (Stevens 1998, ch. 7, from memory), and the voice
// dies away within its closure, not at once (20 to 30 ms there, from memory).
func TestFinalVelars(t *testing.T) {
	burst := func(text string) float64 {
		c := laid(t, text)
		b := &tracks{c: c, t: &talkers[0], noise: 1}
		_, bands := b.burst(1, c.segs[1].p, &c.segs[0], nil)
		return bands[0].f
	}
	if front, back := burst("/IY1 K/"), burst("/AO1 K/"); front < 2300 || back > 1500 {
		t.Errorf("the burst of a final k is about %.0f Hz after a front vowel, %.0f Hz after a back one", front, back)
	}
	c := laid(t, "/AE1 K T/")
	sp := c.build(&talkers[0], shapeOf(&talkers[0], .25), 1, 1, newRNG(1))
	k := c.segs[1]
	at := func(ms float64) float64 { return sp.controls[k.start+int(ms/2)].av }
	if last := float64(k.ticks) * 2; at(8) < .05 || at(8) > at(2) || at(.7*last) > .01 {
		t.Errorf("voicing in the closure of a k: %.3f after 2 ms, %.3f after 8, %.3f late", at(2), at(8), at(.7*last))
	}
}
