package voice

import (
	"strings"
	"testing"
)

// Numbers with several points are said point by point; they once fell over.
func TestNumbersWithPoints(t *testing.T) {
	for in, want := range map[string]string{
		"1.2.3": "one point two point three", "3.5": "three point five", ".5": "point five", "1,204": "one thousand two hundred and four",
		"2.50": "two point five zero", "1962": "nineteen sixty two",
	} {
		if got := strings.ReplaceAll(strings.Join(numberWords(in), " "), "-", " "); got != want {
			t.Errorf("%s is said %q, want %q", in, got, want)
		}
	}
}

// The letters of an ordinal belong to its number, and what follows is read on.
func TestWordsOfAText(t *testing.T) {
	for in, want := range map[string]string{
		"the 22nd boat":     "the twenty second boat.",
		"a 3rd, a 4th":      "a third, a fourth.",
		"well-known - no":   "well known, no.",
		"no -- go":          "no, go.",
		"in- and outbound":  "in and outbound.",
		"3.5th of 1.2.3":    "three point five th of one point two point three.",
		"‘tis the dogs’ 5%": "tis the dogs' five per cent.",
	} {
		parts, err := parseText(in)
		if err != nil {
			t.Error(err)
			continue
		}
		var got []string
		for _, p := range parts {
			var w []string
			for _, x := range p.words {
				w = append(w, x.text)
			}
			got = append(got, strings.ReplaceAll(strings.Join(w, " "), "-", " ")+string(p.end))
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("%q is said %q, want %q", in, s, want)
		}
	}
}

// An ordinal leaves the words it is made of alone: after "3rd", three is still three.
func TestOrdinalsLeaveNumbersAlone(t *testing.T) {
	for range 2 {
		for in, want := range map[string]string{"3": "three", "1": "one", "20": "twenty", "12": "twelve"} {
			ordinalWords(in)
			if got := strings.Join(numberWords(in), " "); got != want {
				t.Errorf("%s is said %q, want %q", in, got, want)
			}
		}
	}
}

// laid is a text as one clause with its times.
func laid(t *testing.T, text string) *clause {
	t.Helper()
	parts, err := parseText(text)
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
		db, _ := b.burst(1, c.segs[1].p, &c.segs[2])
		return db
	}
	if d := burst("/AE1 K T/") - burst("/AE1 K IY0/"); d > -3 {
		t.Errorf("before a stop a burst is %v dB re before a vowel", d)
	}
}
