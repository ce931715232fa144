//go:build !js

package markup

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"gainwright/lessons/glossary"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/text"
)

var md = goldmark.New(goldmark.WithExtensions(extension.Table))

// HTML gives Markdown as HTML. Raw HTML in it is left out. A link to a term goes to
// the element "term-" and its ID.
func HTML(markdown string) string {
	src := []byte(markdown)
	doc := md.Parser().Parse(text.NewReader(src))
	_ = ast.Walk(doc, func(n ast.Node, in bool) (ast.WalkStatus, error) {
		if l, ok := n.(*ast.Link); ok && in {
			if id, ok := strings.CutPrefix(string(l.Destination), glossary.Scheme); ok {
				l.Destination = []byte("#term-" + id)
			}
		}
		return ast.WalkContinue, nil
	})
	var b bytes.Buffer
	if err := md.Renderer().Render(&b, src, doc); err != nil {
		return ""
	}
	return b.String()
}

// Slips finds what a lesson's text may not hold: HTML, pictures, and
// links to anything but the web.
func Slips(s string) []Slip {
	var out []Slip
	src := []byte(s)
	doc := md.Parser().Parse(text.NewReader(src))
	_ = ast.Walk(doc, func(n ast.Node, in bool) (ast.WalkStatus, error) {
		if !in {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.RawHTML:
			near := ""
			if n.Segments.Len() > 0 {
				seg := n.Segments.At(0)
				near = string(seg.Value(src))
			}
			out = append(out, Slip{near, 0, "HTML is not used in a lesson: write Markdown"})
		case *ast.HTMLBlock:
			near := ""
			if n.Lines().Len() > 0 {
				seg := n.Lines().At(0)
				near = strings.TrimSpace(string(seg.Value(src)))
			}
			out = append(out, Slip{near, 0, "HTML is not used in a lesson: write Markdown"})
		case *ast.Image:
			out = append(out, Slip{"![", 0, "pictures are not part of a lesson: it is one text file"})
		case *ast.Link:
			if msg := badLink(string(n.Destination)); msg != "" {
				out = append(out, Slip{string(n.Destination), 0, msg})
			}
		}
		return ast.WalkContinue, nil
	})
	return out
}

// Plain gives Markdown as text for a terminal, wrapped at width characters.
func Plain(markdown string, width int) string {
	src := []byte(markdown)
	doc := md.Parser().Parse(text.NewReader(src))
	p := &plainer{src: src, width: max(width, 20)}
	p.blocks(doc, "", "")
	return strings.TrimRight(strings.Join(p.lines, "\n"), "\n")
}

type plainer struct {
	src   []byte
	width int
	lines []string
}

func (p *plainer) blocks(n ast.Node, first, rest string) {
	lead := first
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		switch c := c.(type) {
		case *ast.Heading:
			p.para(strings.ToUpper(p.inline(c)), lead, rest)
			p.gap()
		case *ast.Paragraph:
			p.para(p.inline(c), lead, rest)
			p.gap()
		case *ast.TextBlock:
			p.para(p.inline(c), lead, rest)
		case *ast.List:
			i := c.Start
			for it := c.FirstChild(); it != nil; it = it.NextSibling() {
				mark := "- "
				if c.IsOrdered() {
					mark = fmt.Sprintf("%d. ", i)
					i++
				}
				p.blocks(it, lead+mark, rest+strings.Repeat(" ", len(mark)))
				lead = rest
			}
			p.gap()
		case *ast.Blockquote:
			p.blocks(c, lead+"| ", rest+"| ")
		case *ast.FencedCodeBlock, *ast.CodeBlock:
			l := c.Lines()
			for i := range l.Len() {
				seg := l.At(i)
				p.lines = append(p.lines, rest+"    "+strings.TrimRight(string(seg.Value(p.src)), "\n"))
			}
			p.gap()
		case *ast.ThematicBreak:
			p.lines = append(p.lines, strings.Repeat("-", min(p.width, 20)))
			p.gap()
		case *east.Table:
			p.table(c, rest)
			p.gap()
		}
		lead = rest
	}
}

func (p *plainer) gap() {
	if k := len(p.lines); k > 0 && p.lines[k-1] != "" {
		p.lines = append(p.lines, "")
	}
}

func (p *plainer) table(t *east.Table, lead string) {
	var rows [][]string
	var widths []int
	for r := t.FirstChild(); r != nil; r = r.NextSibling() {
		var row []string
		for c := r.FirstChild(); c != nil; c = c.NextSibling() {
			row = append(row, strings.TrimSpace(p.inline(c)))
			if len(row) > len(widths) {
				widths = append(widths, 0)
			}
			widths[len(row)-1] = max(widths[len(row)-1], utf8.RuneCountInString(row[len(row)-1]))
		}
		rows = append(rows, row)
	}
	for _, row := range rows {
		var b strings.Builder
		b.WriteString(lead)
		for i, c := range row {
			b.WriteString(c + strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c)+2))
		}
		p.lines = append(p.lines, strings.TrimRight(b.String(), " "))
	}
}

func (p *plainer) inline(n ast.Node) string {
	var b strings.Builder
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		switch c := c.(type) {
		case *ast.Text:
			v := c.Segment.Value(p.src)
			if !c.IsRaw() {
				v = unescape(v)
			}
			b.Write(v)
			switch {
			case c.HardLineBreak():
				b.WriteString("\v")
			case c.SoftLineBreak():
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(c.Value)
		case *ast.Emphasis:
			mark := "*"
			if c.Level == 1 {
				mark = "_"
			}
			b.WriteString(mark + p.inline(c) + mark)
		case *ast.Link:
			b.WriteString(p.inline(c))
			if d := string(c.Destination); !strings.HasPrefix(d, glossary.Scheme) {
				b.WriteString(" <" + d + ">")
			}
		case *ast.AutoLink:
			b.Write(c.URL(p.src))
		default:
			b.WriteString(p.inline(c))
		}
	}
	return b.String()
}

// unescape takes the backslashes from before punctuation.
func unescape(v []byte) []byte {
	out := make([]byte, 0, len(v))
	for i := 0; i < len(v); i++ {
		if v[i] == '\\' && i+1 < len(v) && strings.IndexByte("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~", v[i+1]) >= 0 {
			i++
		}
		out = append(out, v[i])
	}
	return out
}

func (p *plainer) para(s, first, rest string) {
	lead := first
	for _, part := range strings.Split(s, "\v") {
		line, n := lead, utf8.RuneCountInString(lead)
		empty := true
		for _, w := range strings.Fields(part) {
			k := utf8.RuneCountInString(w)
			if !empty && n+1+k > p.width {
				p.lines = append(p.lines, line)
				line, n, empty = rest, utf8.RuneCountInString(rest), true
			}
			if !empty {
				line += " "
				n++
			}
			line += w
			n += k
			empty = false
		}
		p.lines = append(p.lines, line)
		lead = rest
	}
}
