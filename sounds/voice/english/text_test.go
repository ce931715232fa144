package english

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
		parts, err := Parse(in)
		if err != nil {
			t.Error(err)
			continue
		}
		var got []string
		for _, p := range parts {
			var w []string
			for _, x := range p.Words {
				w = append(w, x.Text)
			}
			got = append(got, strings.ReplaceAll(strings.Join(w, " "), "-", " ")+string(p.End))
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

func TestNumbersAreSpoken(t *testing.T) {
	for in, want := range map[string]string{
		"7": "seven", "42": "forty two", "1,200": "one thousand two hundred", "1962": "nineteen sixty two",
		"1905": "nineteen oh five", "3.5": "three point five", "0470": "zero four seven zero",
		"2000": "two thousand", "101": "one hundred and one", "1000000": "one million", "999999999": "nine hundred and ninety nine million nine hundred and ninety nine thousand nine hundred and ninety nine",
	} {
		if got := strings.Join(numberWords(in), " "); got != want {
			t.Errorf("%s: %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{"1": "first", "22": "twenty second", "30": "thirtieth", "12": "twelfth"} {
		if got := strings.Join(ordinalWords(in), " "); got != want {
			t.Errorf("%s: %q, want %q", in, got, want)
		}
	}
}

func spoken(w string) string {
	var out []string
	for _, s := range lookup(w) {
		out = append(out, s.Phone)
	}
	return strings.Join(out, " ")
}

func TestWordsAreFound(t *testing.T) {
	for w, want := range map[string]string{
		"ferries": "F EH R IY Z", "carrying": "K AE R IY IH NG", "stopped": "S T AA P T", "wanted": "W AA N T IH D",
		"knives": "N AY V Z", "deckhand": "D EH K HH AE N D", "captain's": "K AE P T AX N Z", "boxes": "B AA K S IH Z",
		"slowly": "S L OW L IY", "unhappy": "AX N HH AE P IY",
		// by the letter rules
		"plank": "P L AE NG K", "shine": "SH AY N", "blister": "B L IH S T ER", "nation": "N EY SH AX N", "splash": "S P L AE SH",
	} {
		if got := spoken(w); got != want {
			t.Errorf("%s: %s, want %s", w, got, want)
		}
	}
}
