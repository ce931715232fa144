package voice

import (
	"strings"

	"gainwright/sounds/voice/english"
)

// clauses lays the parts out as clauses with their accents and segments.
func clauses(parts []english.Part) []clause {
	var out []clause
	for i := 0; i < len(parts); {
		k := i
		total := 0
		for ; k < len(parts); k++ {
			total += len(parts[k].Words)
			if parts[k].End != ',' {
				k++
				break
			}
		}
		done := 0
		first := strings.ToLower(parts[i].Words[0].Text)
		wh := strings.HasPrefix(first, "wh") || first == "how"
		for ; i < k; i++ {
			c := newClause(parts[i].Words)
			c.end = parts[i].End
			c.span = [2]float64{float64(done) / float64(total), float64(done+len(parts[i].Words)) / float64(total)}
			c.yesNo = c.end == '?' && !wh
			done += len(parts[i].Words)
			out = append(out, c)
		}
	}
	return out
}

func newClause(words []english.Word) clause {
	var c clause
	accents := 0
	lastStrong := -1
	for i, w := range words {
		if !w.Weak {
			lastStrong = i
		}
	}
	for i, w := range words {
		c.words = append(c.words, w.Text)
		lastV := lastVowel(w.Sounds)
		done := false
		for k, s := range w.Sounds {
			g := seg{p: phones[s.Phone], stress: s.Stress, weak: w.Weak, word: i, first: k == 0, last: k == len(w.Sounds)-1}
			if s.Vowel() && s.Stress == 1 && !w.Weak && !done {
				done = true
				g.accent = accentOf(w, accents == 0 || i == lastStrong)
				accents++
			}
			if !s.Vowel() {
				g.coda = k > lastV || k+1 < len(w.Sounds) && !w.Sounds[k+1].Vowel() && phones[w.Sounds[k+1].Phone].class != glide && k > 0
			}
			c.segs = append(c.segs, g)
		}
	}
	c.colour()
	return c
}

// lastVowel is where the last vowel stands, −1 where there is none.
func lastVowel(sounds []english.Sound) int {
	for k := len(sounds) - 1; k >= 0; k-- {
		if sounds[k].Vowel() {
			return k
		}
	}
	return -1
}

// accentOf is the pitch accent of a word in semitones: higher on the first and the last
// that have one.
func accentOf(w english.Word, outer bool) float64 {
	switch {
	case w.Strong:
		return 6
	case outer:
		return 3.6
	}
	return 2.6
}

// colour applies what American speakers do to sounds in a row: a flap for t or
// d between vowels when the second is unstressed, "the" before a vowel.
func (c *clause) colour() {
	s := c.segs
	for i := range s {
		if i == 0 || i+1 == len(s) || s[i+1].p.class != vowel {
			continue
		}
		switch before := s[i-1].p; s[i].p.name {
		case "T", "D":
			if !s[i].first && !s[i].last && (before.class == vowel || before.name == "R") && s[i+1].stress == 0 {
				s[i].p = phones["DX"]
			}
		case "AX":
			if s[i].last && s[i].weak && before.name == "DH" {
				s[i].p = phones["IY"]
			}
		}
	}
}
