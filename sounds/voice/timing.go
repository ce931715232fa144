package voice

// seg is one phone in its place: what it is, how long it lasts.
type seg struct {
	p      *phone
	stress int     // of a vowel: 0, 1, 2
	accent float64 // pitch accent on a vowel, semitones
	weak   bool    // in an unaccented function word
	word   int     // index of its word in the clause
	first  bool    // first phone of the word
	last   bool    // last phone of the word
	tail   bool    // in the clause-final syllable's rhyme
	coda   bool    // consonant after the last vowel of its word, or before another consonant's syllable
	start  int     // ticks
	ticks  int
}

// clause is what is said in one breath group, between two marks of
// punctuation.
type clause struct {
	segs  []seg
	words []string
	end   rune       // the mark that ends it: , . ? !
	span  [2]float64 // its place in the sentence, 0..1, for the fall of F0
	yesNo bool       // a question that rises at its end
	ticks int
}

// arrange fills in durations by the rules of Klatt (1976, 1979; as printed in
// Allen, Hunnicutt & Klatt 1987, ch. 9), with two departures: vowels inside a
// phrase are shortened to 0.75 and not 0.6, and effort lengthens vowels
// (Traunmüller & Eriksson 2000: vowels lengthen, most consonants do not).
func (c *clause) arrange(t *Talker, effort float64, rnd *rng) {
	stretch := ladder([5]float64{.97, 1, 1.04, 1.10, 1.22}, effort)
	syllables, lastVowel := map[int]int{}, -1
	for i := range c.segs {
		if c.segs[i].p.class == vowel {
			syllables[c.segs[i].word]++
			lastVowel = i
		}
	}
	seen := map[int]int{}
	at := 0
	for i := range c.segs {
		s := &c.segs[i]
		var prev, next *phone
		if i > 0 {
			prev = c.segs[i-1].p
		}
		if i+1 < len(c.segs) {
			next = c.segs[i+1].p
		}
		s.tail = i >= lastVowel && lastVowel >= 0
		var ms float64
		if s.p.class == vowel {
			seen[s.word]++
			ms = s.vowelMS(seen[s.word], syllables[s.word], prev, next) * stretch
			if prev != nil && prev.class == stop && !prev.voiced {
				ms += 25
			}
		} else {
			ms = s.consonantMS(prev, next)
		}
		ms /= t.rate
		ms *= 1 + 0.03*rnd.normal()
		s.ticks = max(8, int(ms/2+0.5))
		s.start = at
		at += s.ticks
	}
	c.ticks = at
}

// vowelMS is how long a vowel lasts that is syllable number nth of so many in its
// word, by its stress and what follows.
func (s *seg) vowelMS(nth, syllables int, prev, next *phone) float64 {
	least, f := s.p.min, 1.0
	if s.tail {
		f *= 1.4
	} else {
		f *= .75
	}
	if nth < syllables {
		f *= .85
	}
	if syllables > 1 {
		f *= .8
	}
	if s.stress == 0 || s.weak {
		least /= 2
		if nth > 1 && nth < syllables {
			f *= .5
		} else {
			f *= .65
		}
	} else if s.accent > 3.2 {
		f *= 1.15
	}
	k := s.before(next)
	if !s.tail {
		k = .7 + .3*k
	}
	f *= k
	if next != nil && next.class == vowel {
		f *= 1.2
	}
	if prev != nil && prev.class == vowel {
		f *= .7
	}
	return (s.p.inh-least)*f + least
}

// before is how the consonant that follows lengthens or shortens a vowel.
func (s *seg) before(next *phone) float64 {
	switch {
	case next == nil || (s.last && next.class != vowel && !s.tail):
		if s.last {
			return 1.2
		}
		return 1
	case next.class == fricative && next.voiced:
		return 1.6
	case next.class == nasal:
		return .85
	case next.class == stop || next.class == affricate:
		if next.voiced {
			return 1.2
		}
		return .7
	}
	return 1
}

// consonantMS is how long a consonant lasts, by its place in word and cluster.
func (s *seg) consonantMS(prev, next *phone) float64 {
	least, f := s.p.min, 1.0
	if s.tail {
		f *= 1.4
	}
	if !s.first {
		f *= .85
	}
	if s.weak || s.stress == 0 && s.p.class == glide && !s.first {
		least /= 2
		f *= .7
	}
	cp := prev != nil && prev.class != vowel
	cn := next != nil && next.class != vowel
	switch {
	case cp && cn:
		f *= .55
	case cp || cn:
		f *= .7
	}
	return (s.p.inh-least)*f + least
}
