package kit

import (
	"strings"

	"gainwright/lessons/glossary"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// span is a stretch of text in one look.
type span struct {
	s          string
	bold, code bool
	em         bool // set off by its colour and a plate
}

// spans reads the inline marks of Markdown: **strong**, *emphasised*, `code`,
// [text](address) and backslashes.
func spans(s string) []span {
	var out []span
	var b strings.Builder
	var now span
	flush := func() {
		if b.Len() > 0 {
			now.s = b.String()
			out = append(out, now)
			b.Reset()
		}
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c == '\\' && i+1 < len(s) && strings.IndexByte("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~", s[i+1]) >= 0:
			i++
			b.WriteByte(s[i])
		case c == '`':
			if k := strings.IndexByte(s[i+1:], '`'); k >= 0 {
				flush()
				out = append(out, span{s: s[i+1 : i+1+k], code: true, bold: now.bold})
				i += k + 1
				continue
			}
			b.WriteByte(c)
		case (c == '*' || c == '_') && i+1 < len(s) && s[i+1] == c && (now.bold || strings.Contains(s[i+2:], s[i:i+2])):
			flush()
			now.bold = !now.bold
			i++
		case c == '*' && (now.em || emphasis(s, i)), c == '_' && (now.em && (i+1 == len(s) || !WordByte(s[i+1])) || !now.em && (i == 0 || !WordByte(s[i-1])) && emphasis(s, i)):
			flush()
			now.em = !now.em
		case c == '[':
			text, rest, ok := strings.Cut(s[i+1:], "](")
			addr, _, closed := strings.Cut(rest, ")")
			if ok && closed && !strings.Contains(text, "[") {
				i += len(text) + len(addr) + 3
				if strings.HasPrefix(addr, glossary.Scheme) {
					// What it means stands below the text.
					flush()
					out = append(out, span{s: text, bold: now.bold, em: true})
					continue
				}
				b.WriteString(text + " (" + addr + ")")
				continue
			}
			b.WriteByte(c)
		default:
			b.WriteByte(c)
		}
	}
	flush()
	return out
}

// emphasis reports whether the mark at i begins something that ends.
func emphasis(s string, i int) bool {
	return i+2 < len(s) && s[i+1] != ' ' && strings.IndexByte(s[i+1:], s[i]) > 0
}

// WordByte reports whether b is part of a word.
func WordByte(c byte) bool {
	return c >= '0' && c <= '9' || c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80
}

// atom is a piece of a word; glued atoms belong to the word before.
type atom struct {
	s     string
	st    ink.Style
	em    bool
	glued bool
}

// Rich sets one paragraph with its inline marks.
func (f *Flow) Rich(s string, size ui.Size, c ink.Color) {
	var atoms []atom
	glue := false
	for _, sp := range spans(s) {
		st := f.th.Style(size, ink.Regular, ink.Left, c)
		switch {
		case sp.code:
			st.Font = ink.Mono
		case sp.bold:
			st.Font = ink.Bold
		case sp.em:
			st.Color = f.th.SaySignal
		}
		rest := sp.s
		for rest != "" {
			if rest[0] == ' ' || rest[0] == '\n' {
				rest = strings.TrimLeft(rest, " \n")
				glue = false
				continue
			}
			end := strings.IndexAny(rest, " \n")
			if end < 0 {
				end = len(rest)
			}
			atoms = append(atoms, atom{rest[:end], st, sp.em && !sp.code && !sp.bold, glue})
			glue = true
			rest = rest[end:]
		}
	}
	row := f.th.Row(size)
	blank := ink.Measure("n n", f.th.Style(size, ink.Regular, ink.Left, c)) - ink.Measure("nn", f.th.Style(size, ink.Regular, ink.Left, c))
	x := f.X
	first := true
	for i := 0; i < len(atoms); {
		j, w := i+1, ink.Measure(atoms[i].s, atoms[i].st)
		for j < len(atoms) && atoms[j].glued {
			w += ink.Measure(atoms[j].s, atoms[j].st)
			j++
		}
		if !first {
			if x+blank+w > f.X+f.Width+0.01 {
				x = f.X
				f.Y += row
			} else {
				x += blank
			}
		}
		first = false
		for _, a := range atoms[i:j] {
			aw := ink.Measure(a.s, a.st)
			// One piece of what is alike on a line, so that there are few.
			if k := len(f.Pieces) - 1; k >= 0 && f.Pieces[k].merge && f.Pieces[k].St == a.st && f.Pieces[k].plate == a.em && f.Pieces[k].Box.Y == f.Y {
				p := &f.Pieces[k]
				gap := ""
				if x-(p.Box.X+p.need) > blank/2 {
					gap = " "
				}
				p.S += gap + a.s
				p.need = x + aw - p.Box.X
				p.Box.W = max(p.need, ink.Measure(p.S, a.st)) + 0.5
			} else {
				f.Pieces = append(f.Pieces, Piece{Box: ink.Rect{X: x, Y: f.Y, W: aw + 0.5, H: row}, S: a.s, St: a.st, plate: a.em, merge: true, need: aw})
			}
			x += aw
		}
		i = j
	}
	f.Y += row
	for k := len(f.Pieces) - 1; k >= 0 && f.Pieces[k].merge; k-- {
		f.Pieces[k].merge = false
	}
}

// Markdown sets a text with its blocks: paragraphs, headings, lists, tables. Below it
// stands what the terms mean that it links to.
func (f *Flow) Markdown(s string) {
	f.blocks(s)
	for _, t := range glossary.Linked(s) {
		f.Rich("**"+t.Name+"**: "+t.Say, ui.Small, f.th.SayDim)
		f.Gap(f.th.Row(ui.Body) * 0.25)
	}
}

func (f *Flow) blocks(s string) {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	air := f.th.Row(ui.Body) * 0.45
	for i := 0; i < len(lines); {
		line := strings.TrimSpace(lines[i])
		switch {
		case line == "":
			i++
		case strings.HasPrefix(line, "#"):
			f.Head(strings.TrimSpace(strings.TrimLeft(line, "#")))
			i++
			f.Gap(air)
		case strings.HasPrefix(line, "|"):
			j := i
			for j < len(lines) && strings.HasPrefix(strings.TrimSpace(lines[j]), "|") {
				j++
			}
			f.table(lines[i:j])
			f.Gap(air)
			i = j
		case bullet(line) > 0:
			for i < len(lines) && bullet(strings.TrimSpace(lines[i])) > 0 {
				l := strings.TrimSpace(lines[i])
				n := bullet(l)
				mark := strings.TrimSpace(l[:n])
				if len(mark) == 1 {
					mark = "•"
				}
				item := l[n:]
				for i++; i < len(lines) && strings.HasPrefix(lines[i], " ") && strings.TrimSpace(lines[i]) != "" && bullet(strings.TrimSpace(lines[i])) == 0; i++ {
					item += " " + strings.TrimSpace(lines[i])
				}
				st := f.th.Style(ui.Body, ink.Regular, ink.Left, f.th.SayDim)
				indent := max(ink.Measure(mark, st), f.th.Px(9)) + 8
				f.Pieces = append(f.Pieces, Piece{Box: ink.Rect{X: f.X, Y: f.Y, W: indent, H: f.th.Row(ui.Body)}, S: mark, St: st})
				f.X += indent
				f.Width -= indent
				f.Rich(item, ui.Body, f.th.Say)
				f.X -= indent
				f.Width += indent
			}
			f.Gap(air)
		default:
			para := line
			for i++; i < len(lines); i++ {
				l := strings.TrimSpace(lines[i])
				if l == "" || strings.HasPrefix(l, "#") || strings.HasPrefix(l, "|") || bullet(l) > 0 {
					break
				}
				para += " " + l
			}
			f.Rich(para, ui.Body, f.th.Say)
			f.Gap(air)
		}
	}
}

// bullet is how long the mark of a list's item is, 0 for none.
func bullet(s string) int {
	if strings.HasPrefix(s, "- ") || strings.HasPrefix(s, "* ") {
		return 2
	}
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	if n > 0 && n < 3 && strings.HasPrefix(s[n:], ". ") {
		return n + 2
	}
	return 0
}

// table sets rows of cells, each column as wide as a share of what it needs.
func (f *Flow) table(lines []string) {
	var rows [][]string
	for _, l := range lines {
		l = strings.Trim(strings.TrimSpace(l), "|")
		if strings.Trim(l, "|-: ") == "" {
			continue
		}
		cells := strings.Split(l, "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		rows = append(rows, cells)
	}
	n := 0
	for _, r := range rows {
		n = max(n, len(r))
	}
	if n == 0 {
		return
	}
	st := f.th.Style(ui.Small, ink.Bold, ink.Left, f.th.Say)
	need := make([]float32, n)
	sum := float32(0)
	for k := range need {
		for _, r := range rows {
			if k < len(r) {
				need[k] = max(need[k], ink.Measure(PlainSpans(r[k]), st)+12)
			}
		}
		need[k] = min(need[k], f.Width*0.6)
		sum += need[k]
	}
	scale := min(1, f.Width/max(sum, 1))
	x0, w0 := f.X, f.Width
	for i, r := range rows {
		top, bottom := f.Y, f.Y
		x := x0
		for k, c := range r {
			w := need[k] * scale
			f.X, f.Width, f.Y = x, w-10, top
			if i == 0 {
				c = "**" + c + "**"
			}
			f.Rich(c, ui.Small, f.th.Say)
			bottom = max(bottom, f.Y)
			x += w
		}
		f.X, f.Width, f.Y = x0, w0, bottom+3
	}
}

// PlainSpans is a text without its inline marks.
func PlainSpans(s string) string {
	var b strings.Builder
	for _, sp := range spans(s) {
		b.WriteString(sp.s)
	}
	return b.String()
}

// PlainWords is Markdown as words to be spoken.
func PlainWords(md string) string {
	var out []string
	for _, l := range strings.Split(md, "\n") {
		l = strings.TrimSpace(strings.TrimLeft(strings.TrimSpace(l), "#"))
		if strings.Trim(l, "|-: ") == "" {
			continue
		}
		out = append(out, PlainSpans(strings.ReplaceAll(strings.Trim(l, "| "), "|", ",")))
	}
	for _, t := range glossary.Linked(md) {
		out = append(out, t.Name+": "+t.Say)
	}
	return strings.Join(out, " ")
}
