package english

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

// Word is one spoken word.
type Word struct {
	Text   string
	Sounds []Sound
	Weak   bool // a function word that carries no accent
	Strong bool // written in capitals
}

// Part is what stands between two marks.
type Part struct {
	Words []Word // one or more
	End   rune   // the mark after it: , . ? or !
}

// parseARPA reads ARPAbet symbols with stress digits on the vowels
// ("F EH1 R IY0"); column is where the text starts.
func parseARPA(s string, column int) ([]Sound, error) {
	var out []Sound
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
		p, known := sounds[name]
		switch {
		case !known:
			return nil, &TextError{at, tok, "not an ARPAbet symbol"}
		case !p.vowel && stress >= 0:
			return nil, &TextError{at, tok, "a stress digit belongs on vowels only"}
		}
		if p.vowel && stress < 0 {
			stress = 1
			if name == "AX" {
				stress = 0
			}
		}
		out = append(out, Sound{name, max(stress, 0)})
		at += utf8.RuneCountInString(tok)
	}
	return out, nil
}

// Parse turns plain English, with ARPAbet between slashes, into parts to
// be said in one breath each.
func Parse(text string) ([]Part, error) {
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
	cur   Part
	parts []Part
}

// finish ends the part at a mark: , . ? or !
func (p *textParser) finish(end rune) {
	if len(p.cur.Words) > 0 {
		p.cur.End = end
		p.parts = append(p.parts, p.cur)
		p.cur = Part{}
	} else if len(p.parts) > 0 && end != ',' {
		last := &p.parts[len(p.parts)-1]
		if last.End == ',' || end == '?' || end == '!' && last.End == '.' {
			last.End = end
		}
	}
}

func (p *textParser) add(names ...string) {
	for _, n := range names {
		p.cur.Words = append(p.cur.Words, makeWord(n))
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
	p.cur.Words = append(p.cur.Words, Word{Text: string(p.rs[i : k+1]), Sounds: s})
	p.at = k + 1
	return nil
}

func makeWord(text string) Word {
	low := strings.ToLower(text)
	w := Word{Text: text}
	caps := len(text) > 1 && text == strings.ToUpper(text)
	if weak, ok := weakWords[low]; ok && !caps {
		w.Weak = true
		if weak != "" {
			w.Sounds = ph(weak)
			return w
		}
	}
	s, ok := known(low)
	switch {
	case ok:
		w.Sounds, w.Strong = s, caps
	case caps && len(text) <= 4: // initials
		for i := range len(low) {
			if n, ok := letterNames[low[i]]; ok {
				w.Sounds = append(w.Sounds, ph(n)...)
			}
		}
	default:
		w.Sounds = spell(low)
	}
	if len(w.Sounds) == 0 {
		w.Sounds = ph("AH1")
	}
	return w
}

// Pronounce gives the ARPAbet phones, without stress, in which a text is
// spoken: "ferry" gives F EH R IY.
func Pronounce(text string) ([]string, error) {
	parts, err := Parse(text)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, p := range parts {
		for _, w := range p.Words {
			for _, s := range w.Sounds {
				n := s.Phone
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
	parts, err := Parse(text)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	for _, p := range parts {
		for i, w := range p.Words {
			if i > 0 || b.Len() > 0 {
				b.WriteByte(' ')
			}
			b.WriteByte('/')
			for k, s := range w.Sounds {
				if k > 0 {
					b.WriteByte(' ')
				}
				switch {
				case s.Phone == "AX" && s.Stress == 0:
					b.WriteString("AH0")
				case s.Vowel():
					fmt.Fprintf(&b, "%s%d", s.Phone, s.Stress)
				default:
					b.WriteString(s.Phone)
				}
			}
			b.WriteByte('/')
		}
		b.WriteRune(p.End)
	}
	return b.String(), nil
}
