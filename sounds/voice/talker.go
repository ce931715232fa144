package voice

import (
	"fmt"
	"strings"
)

// Talker is one person: a name, and what makes the voice theirs. All people
// are invented; they belong to an oral-history project about a river ferry.
type Talker struct {
	Name  string // key, lower case: "captain"
	Title string // as shown: "Tobias Harrow, ferry captain"
	About string // one line
	F0Hz  float64
	Child bool

	scale   [3]float64 // formants 1-3 relative to the male table
	high    float64    // formants 4 and up
	rd      float64    // LF shape at the source's neutral effort: 0.8 pressed .. 1.5 breathy
	breath  float64    // aspiration in vowels, dB re the vowel
	rate    float64    // tempo, 1 = the duration rules as they stand
	melody  float64    // size of pitch movements, 1 = the F0 rules as they stand
	jitter  float64    // rms period variation, relative
	shimmer float64    // rms amplitude variation per period, relative
	tint    [2]float64 // own colour of the long-term spectrum: dB at 250 Hz and at 4 kHz
}

// Scale factors follow the ratios of the tables of Hillenbrand et al. 1995
// (women/men about 1.17, 1.16, 1.14; children/men 1.24, 1.28, 1.24) and
// Peterson & Barney 1952; the spread between people of one group is our choice.
var talkers = []Talker{
	{Name: "captain", Title: "Tobias Harrow, ferry captain", About: "eighty-one, worked the crossing for forty years; low, slow and a little rough",
		F0Hz: 88, scale: [3]float64{0.97, 0.96, 0.97}, high: 0.97, rd: 1.0, breath: -34, rate: 0.93, melody: 0.95, jitter: 0.008, shimmer: 0.04, tint: [2]float64{0.5, -0.5}},
	{Name: "joss", Title: "Joss Tarrant, engine man", About: "kept the engine running; a level baritone",
		F0Hz: 112, scale: [3]float64{1, 1, 1}, high: 1, rd: 1.0, breath: -36, rate: 1, melody: 1, jitter: 0.004, shimmer: 0.03},
	{Name: "edwin", Title: "Edwin Quill, schoolmaster", About: "took the school across each morning; a light, exact tenor",
		F0Hz: 138, scale: [3]float64{1.04, 1.03, 1.03}, high: 1.03, rd: 0.9, breath: -38, rate: 1.02, melody: 1.25, jitter: 0.004, shimmer: 0.03, tint: [2]float64{0, 0.3}},
	{Name: "maren", Title: "Maren Osk, ticket clerk", About: "sold the tickets for thirty years; a warm alto",
		F0Hz: 182, scale: [3]float64{1.12, 1.13, 1.11}, high: 1.12, rd: 1.15, breath: -33, rate: 0.98, melody: 1, jitter: 0.004, shimmer: 0.03, tint: [2]float64{0.3, -0.3}},
	{Name: "ilse", Title: "Ilse Vandry, deckhand", About: "the first woman on the crew; bright and quick",
		F0Hz: 212, scale: [3]float64{1.17, 1.17, 1.15}, high: 1.17, rd: 1.25, breath: -33, rate: 1.02, melody: 1.05, jitter: 0.004, shimmer: 0.03, tint: [2]float64{-0.3, 0.3}},
	{Name: "pip", Title: "Pip Tarrant, aged eleven", About: "grandchild of the engine man, crosses every day",
		F0Hz: 240, scale: [3]float64{1.20, 1.21, 1.19}, high: 1.20, rd: 1.3, breath: -32, rate: 0.96, melody: 1.1, jitter: 0.006, shimmer: 0.04, Child: true},
}

// Talkers lists everyone who can talk, in a fixed order.
func Talkers() []Talker { return append([]Talker(nil), talkers...) }

// Find gives the talker of that name.
func Find(name string) (Talker, error) {
	for _, t := range talkers {
		if strings.EqualFold(t.Name, strings.TrimSpace(name)) {
			return t, nil
		}
	}
	names := make([]string, len(talkers))
	for i, t := range talkers {
		names[i] = t.Name
	}
	return Talker{}, fmt.Errorf("talker %q: there is no such talker; there are %s", name, strings.Join(names, ", "))
}
