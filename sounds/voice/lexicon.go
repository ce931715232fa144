package voice

import (
	_ "embed"
	"strings"
	"sync"
)

//go:embed lexicon.txt
var lexiconText string

// sound is one phone of a word with its stress digit.
type sound struct {
	p      *phone
	stress int
}

// lexicon maps lower-case words to their sounds.
var lexicon = sync.OnceValue(func() map[string][]sound {
	m := make(map[string][]sound, 1024)
	for line := range strings.Lines(lexiconText) {
		word, rest, ok := strings.Cut(strings.TrimSpace(line), " ")
		if !ok {
			continue
		}
		s, err := parseARPA(rest, 1)
		if err != nil {
			panic("voice: lexicon: " + word + ": " + err.Error())
		}
		m[word] = s
	}
	return m
})

// weakWords carry no accent, and their vowels are reduced.
var weakWords = map[string]string{
	"a": "AH0", "an": "AH0 N", "the": "DH AH0", "of": "AH0 V", "to": "T AH0", "and": "AH0 N D",
	"in": "IH0 N", "on": "", "at": "AE0 T", "for": "F ER0", "from": "F R AH0 M", "by": "", "with": "W IH0 DH",
	"is": "IH0 Z", "was": "W AH0 Z", "were": "W ER0", "are": "", "am": "AE0 M", "be": "", "been": "B IH0 N",
	"he": "", "she": "", "it": "IH0 T", "we": "", "you": "", "they": "", "i": "", "me": "", "him": "HH IH0 M",
	"her": "HH ER0", "us": "AH0 S", "them": "DH AH0 M", "my": "", "your": "Y ER0", "his": "HH IH0 Z", "its": "IH0 T S",
	"our": "", "their": "", "as": "AH0 Z", "but": "B AH0 T", "or": "ER0", "if": "IH0 F", "than": "DH AH0 N",
	"that": "DH AH0 T", "had": "HH AE0 D", "has": "HH AH0 Z", "have": "HH AH0 V", "can": "K AH0 N", "could": "K UH0 D",
	"would": "W UH0 D", "will": "W IH0 L", "should": "SH UH0 D", "do": "", "does": "D AH0 Z", "did": "D IH0 D",
	"so": "", "into": "IH0 N T AH0", "it's": "IH0 T S", "he's": "", "she's": "", "i'm": "", "i'd": "", "we'd": "",
	"some": "S AH0 M", "there": "", "this": "", "just": "JH AH0 S T", "he'd": "", "you'd": "", "they'd": "", "must": "M AH0 S T",
}

// lookup gives the sounds of a lower-case word: from the lexicon, as an
// inflection or a compound of words in it, or by the letter rules.
func lookup(w string) []sound {
	if s, ok := known(w); ok {
		return s
	}
	return spell(w)
}

func known(w string) ([]sound, bool) {
	lex := lexicon()
	if s, ok := lex[w]; ok {
		return s, true
	}
	if s, ok := inflected(w); ok {
		return s, true
	}
	// compounds: deckhand, riverbank
	for cut := 3; cut <= len(w)-3; cut++ {
		a, ok := lex[w[:cut]]
		if !ok {
			continue
		}
		b, ok := lex[w[cut:]]
		if !ok {
			if b, ok = inflected(w[cut:]); !ok {
				continue
			}
		}
		out := append([]sound(nil), a...)
		for _, s := range b {
			if s.stress == 1 {
				s.stress = 2
			}
			out = append(out, s)
		}
		return out, true
	}
	return nil, false
}

func ph(s string) []sound {
	out, err := parseARPA(s, 1)
	if err != nil {
		panic("voice: " + err.Error())
	}
	return out
}

// inflected builds a plural, a past tense, and so on from a stem.
func inflected(w string) ([]sound, bool) {
	for _, by := range []func(string) ([]sound, bool){contracted, possessive, inS, inED, suffixed, prefixed} {
		if s, ok := by(w); ok {
			return s, true
		}
	}
	return nil, false
}

// stem is the first of the words that the lexicon has.
func stem(words ...string) ([]sound, bool) {
	for _, n := range words {
		if s, ok := lexicon()[n]; ok && len(n) > 1 {
			return s, true
		}
	}
	return nil, false
}

func join(s []sound, tail string) []sound {
	return append(append([]sound(nil), s...), ph(tail)...)
}

func undouble(b string) string {
	if n := len(b); n > 2 && b[n-1] == b[n-2] {
		return b[:n-1]
	}
	return b
}

// cutTail takes an ending off a word of which two letters and more remain.
func cutTail(w, tail string) (string, bool) {
	b, ok := strings.CutSuffix(w, tail)
	return b, ok && len(b) > 1
}

func yToI(b string) string {
	if strings.HasSuffix(b, "i") {
		return b[:len(b)-1] + "y"
	}
	return b
}

// contracted is a word with n't, 'll, 've, 're or 'd.
func contracted(w string) ([]sound, bool) {
	if b, ok := cutTail(w, "n't"); ok {
		if s, ok := stem(b); ok {
			return join(s, "AH0 N T"), true
		}
	}
	for _, c := range [][2]string{{"'ll", "AH0 L"}, {"'ve", "AH0 V"}, {"'re", "ER0"}, {"'d", "D"}} {
		if b, ok := cutTail(w, c[0]); ok {
			if s, ok := known(b); ok {
				return join(s, c[1]), true
			}
		}
	}
	return nil, false
}

// plural adds the sound of s.
func plural(s []sound) []sound {
	switch last := s[len(s)-1].p; last.name {
	case "S", "Z", "SH", "ZH", "CH", "JH":
		return join(s, "IH0 Z")
	default:
		if last.voiced {
			return join(s, "Z")
		}
		return join(s, "S")
	}
}

func possessive(w string) ([]sound, bool) {
	if b, ok := cutTail(w, "'s"); ok {
		if s, ok := known(b); ok {
			return plural(s), true
		}
	}
	if b, ok := cutTail(w, "s'"); ok {
		if s, ok := stem(b); ok {
			return plural(s), true
		}
	}
	return nil, false
}

// inS is a plural, or a verb's third person.
func inS(w string) ([]sound, bool) {
	b, ok := cutTail(w, "s")
	if !ok || strings.HasSuffix(b, "s") {
		return nil, false
	}
	names := []string{b}
	if e, ok := strings.CutSuffix(b, "e"); ok {
		names = append(names, e, yToI(e))
		if v, ok := strings.CutSuffix(e, "v"); ok { // loaves, knives
			if s, ok := stem(v+"f", v+"fe"); ok && s[len(s)-1].p.name == "F" {
				return append(append([]sound(nil), s[:len(s)-1]...), ph("V Z")...), true
			}
		}
	}
	for _, n := range names {
		if s, ok := stem(n); ok {
			return plural(s), true
		}
		if s, ok := inflected(n); ok && n != w && (strings.HasSuffix(n, "er") || strings.HasSuffix(n, "ing")) {
			return plural(s), true
		}
	}
	return nil, false
}

// inED is a past tense.
func inED(w string) ([]sound, bool) {
	b, ok := cutTail(w, "ed")
	if !ok {
		return nil, false
	}
	s, ok := stem(b, b+"e", yToI(b), undouble(b))
	if !ok {
		return nil, false
	}
	switch last := s[len(s)-1].p; {
	case last.name == "T" || last.name == "D":
		return join(s, "IH0 D"), true
	case last.voiced:
		return join(s, "D"), true
	}
	return join(s, "T"), true
}

// suffixed is a word with an ending: before one that begins with a vowel the stem may
// lose its e or double its last letter.
func suffixed(w string) ([]sound, bool) {
	for _, c := range [][2]string{{"ing", "IH0 NG"}, {"er", "ER0"}, {"est", "AH0 S T"}, {"y", "IY0"}, {"en", "AH0 N"}} {
		if b, ok := cutTail(w, c[0]); ok {
			if s, ok := stem(b, b+"e", yToI(b), undouble(b)); ok {
				return join(s, c[1]), true
			}
		}
	}
	for _, c := range [][2]string{{"ly", "L IY0"}, {"ness", "N AH0 S"}, {"less", "L AH0 S"}, {"ful", "F AH0 L"}, {"ment", "M AH0 N T"}, {"man", "M AH0 N"}, {"men", "M IH0 N"}, {"ship", "SH IH2 P"}} {
		if b, ok := cutTail(w, c[0]); ok {
			if s, ok := stem(b, yToI(b)); ok {
				return join(s, c[1]), true
			}
		}
	}
	return nil, false
}

// prefixed is a word with un-.
func prefixed(w string) ([]sound, bool) {
	b, ok := strings.CutPrefix(w, "un")
	if !ok || len(b) <= 2 {
		return nil, false
	}
	s, ok := stem(b)
	if !ok {
		s, ok = inflected(b)
	}
	if !ok {
		return nil, false
	}
	return append(ph("AH0 N"), s...), true
}
