package format

import (
	"errors"
	"strings"
	"unicode/utf8"

	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// locate finds a piece of text in the file, from the node's line on.
func (d *decoder) locate(n ast.Node, piece string) (line, col int) {
	t := n.GetToken()
	line, col = max(t.Position.Line, 1), max(t.Position.Column, 1)
	from := line
	if lit, ok := n.(*ast.LiteralNode); ok {
		t = lit.Start
		from = max(t.Position.Line, 1)
		line, col = from, max(t.Position.Column, 1)
	}
	first, _, _ := strings.Cut(piece, "\n")
	for i := from; i <= len(d.lines) && i < from+400; i++ {
		s := d.lines[i-1]
		start := 0
		if i == from {
			start = len(string([]rune(s)[:min(col-1, utf8.RuneCountInString(s))]))
		}
		if k := strings.Index(s[start:], first); k >= 0 {
			return i, utf8.RuneCountInString(s[:start+k]) + 1
		}
	}
	return line, col
}

// blanked is the file with everything but one node replaced by spaces, so that
// lines and columns stay.
func (d *decoder) blanked(n ast.Node) []string {
	first := n.GetToken()
	if m, ok := n.(*ast.MappingNode); ok && m.Start != nil && m.Start.Type != token.MappingStartType && len(m.Values) > 0 {
		first = m.Values[0].Key.GetToken()
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		first = m.Key.GetToken()
	}
	last := first
	ast.Walk(lastToken{&last}, n)
	from := first.Position
	var to *token.Position
	if last.Next != nil {
		to = last.Next.Position
	}
	out := make([]string, len(d.lines))
	for i := range d.lines {
		line := i + 1
		if line < from.Line || to != nil && line > to.Line {
			continue
		}
		r := []rune(d.lines[i])
		if line == from.Line {
			for k := 0; k < min(from.Column-1, len(r)); k++ {
				r[k] = ' '
			}
		}
		if to != nil && line == to.Line {
			r = r[:max(0, min(to.Column-1, len(r)))]
		}
		out[i] = string(r)
	}
	return out
}

type lastToken struct{ t **token.Token }

func (l lastToken) Visit(n ast.Node) ast.Visitor {
	later := func(t *token.Token) {
		if t == nil || t.Position == nil {
			return
		}
		a, b := t.Position, (*l.t).Position
		if a.Line > b.Line || a.Line == b.Line && a.Column > b.Column {
			*l.t = t
		}
	}
	later(n.GetToken())
	switch n := n.(type) {
	case *ast.MappingNode:
		later(n.End)
	case *ast.SequenceNode:
		later(n.End)
	}
	return l
}

func (d *decoder) scenarioFaults(err error, at string) {
	var se *scenario.Error
	if !errors.As(err, &se) {
		d.fault(nil, at, "%s", plain.OneLine(err.Error()))
		return
	}
	for _, f := range se.Faults {
		f.Name = d.name
		if f.Line == 0 {
			f.Line, f.Column = 1, 1
		}
		f.Key = strings.TrimSuffix(plain.Join(at, f.Key), ".")
		d.faults = append(d.faults, f)
	}
}
