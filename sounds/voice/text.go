package voice

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// TextError says what in a text cannot be spoken, and where.
type TextError struct {
	Column int    // 1-based, in characters
	Bad    string // what stands there
	Want   string
}

func (e *TextError) Error() string {
	return fmt.Sprintf("column %d: %q: %s", e.Column, e.Bad, e.Want)
}

// maxText keeps one entry to some ten minutes of speech.
const maxText = 10000

// word is one spoken word.
type word struct {
	text   string
	sounds []sound
	weak   bool
	strong bool // written in capitals
}

// sentence is what lies between two full stops, in clauses.
type sentencePart struct {
	words []word
	end   rune
}

// parseARPA reads ARPAbet symbols with stress digits on the vowels
// ("F EH1 R IY0"); column is where the text starts.
func parseARPA(s string, column int) ([]sound, error) {
	var out []sound
	at := column
	for len(s) > 0 {
		if s[0] == ' ' || s[0] == '\t' {
			s, at = s[1:], at+1
			continue
		}
		n := strings.IndexAny(s, " \t")
		if n < 0 {
			n = len(s)
		}
		tok := s[:n]
		s = s[n:]
		name, stress := strings.ToUpper(tok), -1
		if k := len(name) - 1; k > 0 && name[k] >= '0' && name[k] <= '2' {
			name, stress = name[:k], int(name[k]-'0')
		}
		if name == "AH" && stress == 0 {
			name = "AX"
		}
		p := phones[name]
		switch {
		case p == nil:
			return nil, &TextError{at, tok, "not an ARPAbet symbol"}
		case p.class != vowel && stress >= 0:
			return nil, &TextError{at, tok, "a stress digit belongs on vowels only"}
		}
		if p.class == vowel && stress < 0 {
			stress = 1
			if name == "AX" {
				stress = 0
			}
		}
		out = append(out, sound{p, max(stress, 0)})
		at += utf8.RuneCountInString(tok)
	}
	return out, nil
}

// parseText turns plain English, with ARPAbet between slashes, into parts to
// be said in one breath each.
func parseText(text string) ([]sentencePart, error) {
	if len(text) > maxText {
		return nil, fmt.Errorf("the text is %d bytes long; the most is %d", len(text), maxText)
	}
	p := textParser{rs: []rune(text)}
	for p.at < len(p.rs) {
		if err := p.step(); err != nil {
			return nil, err
		}
	}
	p.finish('.')
	if len(p.parts) == 0 {
		return nil, fmt.Errorf("there is nothing to say in %q", text)
	}
	return p.parts, nil
}

// textParser goes through a text from left to right.
type textParser struct {
	rs    []rune
	at    int
	cur   sentencePart
	parts []sentencePart
}

// finish ends the part at a mark: , . ? or !
func (p *textParser) finish(end rune) {
	if len(p.cur.words) > 0 {
		p.cur.end = end
		p.parts = append(p.parts, p.cur)
		p.cur = sentencePart{}
	} else if len(p.parts) > 0 && end != ',' {
		last := &p.parts[len(p.parts)-1]
		if last.end == ',' || end == '?' || end == '!' && last.end == '.' {
			last.end = end
		}
	}
}

func (p *textParser) add(names ...string) {
	for _, n := range names {
		p.cur.words = append(p.cur.words, makeWord(n))
	}
}

func (p *textParser) isDigit(i int) bool {
	return i >= 0 && i < len(p.rs) && p.rs[i] >= '0' && p.rs[i] <= '9'
}

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }

// straight is the rune with curly apostrophes made straight.
func straight(r rune) rune {
	if r == '‘' || r == '’' {
		return '\''
	}
	return r
}

// signs are said as words.
var signs = map[rune][]string{'&': {"and"}, '%': {"per", "cent"}, '+': {"plus"}, '=': {"equals"}}

// step reads what begins at p.at.
func (p *textParser) step() error {
	r := straight(p.rs[p.at])
	switch {
	case isLetter(r) || r == '\'' && p.at+1 < len(p.rs) && isLetter(p.rs[p.at+1]):
		p.word()
	case p.isDigit(p.at) || r == '.' && p.isDigit(p.at+1) && !p.isDigit(p.at-1):
		p.number()
	case r == '/':
		return p.phones()
	case signs[r] != nil:
		p.add(signs[r]...)
		p.at++
	case !p.mark(r):
		return &TextError{p.at + 1, string(r), "this cannot be spoken; use English letters, digits, punctuation, or ARPAbet between slashes"}
	default:
		p.at++
	}
	return nil
}

// mark reads punctuation and space; false if r is neither.
func (p *textParser) mark(r rune) bool {
	switch r {
	case '.', '!', '?':
		p.finish(r)
	case '…':
		p.finish('.')
	case ',', ';', ':', '—', '–', '(', ')':
		p.finish(',')
	case '-':
		if p.isDash() {
			p.finish(',')
		}
	case ' ', '\t', '\n', '\r', '"', '“', '”', '\'':
	default:
		return false
	}
	return true
}

// isDash tells whether the hyphen at p.at parts a sentence: two of them do, and one
// with space on both sides.
func (p *textParser) isDash() bool {
	if p.at == 0 {
		return false
	}
	before := p.rs[p.at-1]
	if before == '-' {
		return true
	}
	return before == ' ' && p.at+1 < len(p.rs) && (p.rs[p.at+1] == ' ' || p.rs[p.at+1] == '-')
}

// word reads letters and apostrophes.
func (p *textParser) word() {
	var b []byte
	for ; p.at < len(p.rs); p.at++ {
		c := straight(p.rs[p.at])
		if !isLetter(c) && c != '\'' {
			break
		}
		b = append(b, byte(c))
	}
	if w := strings.Trim(string(b), "'"); w != "" {
		if strings.HasSuffix(string(b), "s'") {
			w += "'"
		}
		p.add(w)
	}
}

// number reads digits with points and commas, and the letters of an ordinal.
func (p *textParser) number() {
	k := p.at
	for k < len(p.rs) && (p.isDigit(k) || (p.rs[k] == ',' || p.rs[k] == '.') && p.isDigit(k+1)) {
		k++
	}
	num := string(p.rs[p.at:k])
	tail := ""
	for m := k; m < len(p.rs) && isLetter(p.rs[m]) && m < k+3; m++ {
		tail += strings.ToLower(string(p.rs[m]))
	}
	p.at = k
	switch tail {
	case "st", "nd", "rd", "th":
		if !strings.Contains(num, ".") {
			p.add(ordinalWords(num)...)
			p.at += 2
			return
		}
	}
	p.add(numberWords(num)...)
}

// phones reads ARPAbet between slashes.
func (p *textParser) phones() error {
	i, k := p.at, p.at+1
	for k < len(p.rs) && p.rs[k] != '/' {
		k++
	}
	if k == len(p.rs) {
		return &TextError{i + 1, "/", "phones between slashes need a closing slash"}
	}
	s, err := parseARPA(string(p.rs[i+1:k]), i+2)
	if err != nil {
		return err
	}
	if len(s) == 0 {
		return &TextError{i + 1, "//", "no phones between the slashes"}
	}
	p.cur.words = append(p.cur.words, word{text: string(p.rs[i : k+1]), sounds: s})
	p.at = k + 1
	return nil
}

func makeWord(text string) word {
	low := strings.ToLower(text)
	w := word{text: text}
	caps := len(text) > 1 && text == strings.ToUpper(text)
	if weak, ok := weakWords[low]; ok && !caps {
		w.weak = true
		if weak != "" {
			w.sounds = ph(weak)
			return w
		}
	}
	s, ok := known(low)
	switch {
	case ok:
		w.sounds, w.strong = s, caps
	case caps && len(text) <= 4: // initials
		for i := range len(low) {
			if n, ok := letterNames[low[i]]; ok {
				w.sounds = append(w.sounds, ph(n)...)
			}
		}
	default:
		w.sounds = spell(low)
	}
	if len(w.sounds) == 0 {
		w.sounds = ph("AH1")
	}
	return w
}

// clauses lays the parts out as clauses with their accents and segments.
func clauses(parts []sentencePart) []clause {
	var out []clause
	for i := 0; i < len(parts); {
		k := i
		total := 0
		for ; k < len(parts); k++ {
			total += len(parts[k].words)
			if parts[k].end != ',' {
				k++
				break
			}
		}
		done := 0
		first := strings.ToLower(parts[i].words[0].text)
		wh := strings.HasPrefix(first, "wh") || first == "how"
		for ; i < k; i++ {
			c := newClause(parts[i].words)
			c.end = parts[i].end
			c.span = [2]float64{float64(done) / float64(total), float64(done+len(parts[i].words)) / float64(total)}
			c.yesNo = c.end == '?' && !wh
			done += len(parts[i].words)
			out = append(out, c)
		}
	}
	return out
}

func newClause(words []word) clause {
	var c clause
	accents := 0
	lastStrong := -1
	for i, w := range words {
		if !w.weak {
			lastStrong = i
		}
	}
	for i, w := range words {
		c.words = append(c.words, w.text)
		lastV := -1
		for k, s := range w.sounds {
			if s.p.class == vowel {
				lastV = k
			}
		}
		done := false
		for k, s := range w.sounds {
			g := seg{p: s.p, stress: s.stress, weak: w.weak, word: i, first: k == 0, last: k == len(w.sounds)-1}
			if s.p.class == vowel && s.stress == 1 && !w.weak && !done {
				done = true
				switch {
				case w.strong:
					g.accent = 6
				case accents == 0 || i == lastStrong:
					g.accent = 3.6
				default:
					g.accent = 2.6
				}
				accents++
			}
			if s.p.class != vowel {
				g.coda = k > lastV || k+1 < len(w.sounds) && w.sounds[k+1].p.class != vowel && w.sounds[k+1].p.class != glide && k > 0
			}
			c.segs = append(c.segs, g)
		}
	}
	c.colour()
	return c
}

// colour applies what American speakers do to sounds in a row: a flap for t or
// d between vowels when the second is unstressed, "the" before a vowel.
func (c *clause) colour() {
	s := c.segs
	for i := range s {
		if i > 0 && i+1 < len(s) && (s[i].p.name == "T" || s[i].p.name == "D") && !s[i].first && !s[i].last &&
			(s[i-1].p.class == vowel || s[i-1].p.name == "R") && s[i+1].p.class == vowel && s[i+1].stress == 0 {
			s[i].p = phones["DX"]
		}
		if i > 0 && i+1 < len(s) && s[i].last && s[i].p.name == "AX" && s[i-1].p.name == "DH" && s[i].weak && s[i+1].p.class == vowel {
			s[i].p = phones["IY"]
		}
	}
}

// Pronounce gives the ARPAbet phones, without stress, in which a text is
// spoken: "ferry" gives F EH R IY.
func Pronounce(text string) ([]string, error) {
	parts, err := parseText(text)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, p := range parts {
		for _, w := range p.words {
			for _, s := range w.sounds {
				n := s.p.name
				if n == "AX" {
					n = "AH"
				}
				out = append(out, n)
			}
		}
	}
	return out, nil
}

// ARPAbet writes a text as it is spoken: each word in ARPAbet between slashes,
// with stress digits on the vowels, and the marks that make pauses. It can be
// said in place of the text, after a correction perhaps; function words then
// keep the length and weight of any other word.
func ARPAbet(text string) (string, error) {
	parts, err := parseText(text)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	for _, p := range parts {
		for i, w := range p.words {
			if i > 0 || b.Len() > 0 {
				b.WriteByte(' ')
			}
			b.WriteByte('/')
			for k, s := range w.sounds {
				if k > 0 {
					b.WriteByte(' ')
				}
				switch {
				case s.p.name == "AX" && s.stress == 0:
					b.WriteString("AH0")
				case s.p.class == vowel:
					fmt.Fprintf(&b, "%s%d", s.p.name, s.stress)
				default:
					b.WriteString(s.p.name)
				}
			}
			b.WriteByte('/')
		}
		b.WriteRune(p.end)
	}
	return b.String(), nil
}
