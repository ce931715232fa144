package english

import (
	_ "embed"
	"strings"
	"sync"
)

//go:embed lexicon.txt
var lexiconText string

// lexicon maps lower-case words to their sounds.
var lexicon = sync.OnceValue(func() map[string][]Sound {
	m := make(map[string][]Sound, 1024)
	for line := range strings.Lines(lexiconText) {
		word, rest, ok := strings.Cut(strings.TrimSpace(line), " ")
		if !ok {
			continue
		}
		s, err := parseARPA(rest, 1)
		if err != nil {
			panic("english: lexicon: " + word + ": " + err.Error())
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
func lookup(w string) []Sound {
	if s, ok := known(w); ok {
		return s
	}
	return spell(w)
}

func known(w string) ([]Sound, bool) {
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
		out := append([]Sound(nil), a...)
		for _, s := range b {
			if s.Stress == 1 {
				s.Stress = 2
			}
			out = append(out, s)
		}
		return out, true
	}
	return nil, false
}

func ph(s string) []Sound {
	out, err := parseARPA(s, 1)
	if err != nil {
		panic("english: " + err.Error())
	}
	return out
}

// inflected builds a plural, a past tense, and so on from a stem.
func inflected(w string) ([]Sound, bool) {
	for _, by := range []func(string) ([]Sound, bool){contracted, possessive, inS, inED, suffixed, prefixed} {
		if s, ok := by(w); ok {
			return s, true
		}
	}
	return nil, false
}

// stem is the first of the words that the lexicon has.
func stem(words ...string) ([]Sound, bool) {
	for _, n := range words {
		if s, ok := lexicon()[n]; ok && len(n) > 1 {
			return s, true
		}
	}
	return nil, false
}

func join(s []Sound, tail string) []Sound {
	return append(append([]Sound(nil), s...), ph(tail)...)
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
func contracted(w string) ([]Sound, bool) {
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
func plural(s []Sound) []Sound {
	switch last := s[len(s)-1]; last.Phone {
	case "S", "Z", "SH", "ZH", "CH", "JH":
		return join(s, "IH0 Z")
	default:
		if last.Voiced() {
			return join(s, "Z")
		}
		return join(s, "S")
	}
}

func possessive(w string) ([]Sound, bool) {
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
func inS(w string) ([]Sound, bool) {
	b, ok := cutTail(w, "s")
	if !ok || strings.HasSuffix(b, "s") {
		return nil, false
	}
	names := []string{b}
	if e, ok := strings.CutSuffix(b, "e"); ok {
		names = append(names, e, yToI(e))
		if v, ok := strings.CutSuffix(e, "v"); ok { // loaves, knives
			if s, ok := stem(v+"f", v+"fe"); ok && s[len(s)-1].Phone == "F" {
				return append(append([]Sound(nil), s[:len(s)-1]...), ph("V Z")...), true
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
func inED(w string) ([]Sound, bool) {
	b, ok := cutTail(w, "ed")
	if !ok {
		return nil, false
	}
	s, ok := stem(b, b+"e", yToI(b), undouble(b))
	if !ok {
		return nil, false
	}
	switch last := s[len(s)-1]; {
	case last.Phone == "T" || last.Phone == "D":
		return join(s, "IH0 D"), true
	case last.Voiced():
		return join(s, "D"), true
	}
	return join(s, "T"), true
}

// suffixed is a word with an ending: before one that begins with a vowel the stem may
// lose its e or double its last letter.
func suffixed(w string) ([]Sound, bool) {
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
func prefixed(w string) ([]Sound, bool) {
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
