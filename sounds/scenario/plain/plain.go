// Package plain reads files that people write by hand in the plain part of YAML:
// mappings, lists, texts and numbers, without anchors, tags or a second document.
// What is wrong is said with its place and in words; scenarios and lessons are read
// with it.
package plain

import (
	"errors"
	"fmt"
	"gainwright/sounds"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// A Fault is one thing that is wrong in a file.
type Fault struct {
	Name         string // the file, as the caller named it, or "--set"
	Line, Column int    // from 1; 0 if there is no place
	Key          string // path of the setting, "" if it is not about one
	Msg          string
}

func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(sounds.Shown(f.Name))
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", f.Line, f.Column)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if f.Key != "" {
		b.WriteString(f.Key + ": ")
	}
	b.WriteString(f.Msg)
	return b.String()
}

// An Error holds every fault of a file, in the order of the file: at least one.
// Its text has one line for each.
type Error struct{ Faults []Fault }

func (e *Error) Error() string {
	lines := make([]string, len(e.Faults))
	for i, f := range e.Faults {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Gather makes an *Error of the faults of the file with that name, each once and in
// the order of the file; of more than most only so many, and how many more there
// are. Without faults it gives nil.
func Gather(name string, faults []Fault, most int) error {
	if len(faults) == 0 {
		return nil
	}
	f := slices.Clone(faults)
	slices.SortStableFunc(f, func(a, b Fault) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	f = slices.Compact(f)
	if len(f) > most {
		f = append(f[:most:most], Fault{Name: name, Msg: fmt.Sprintf("and %d more", len(f)-most)})
	}
	return &Error{f}
}

const (
	// maxNesting is how deep brackets and indented blocks may go; the deepest setting
	// lies at about 6. The parser's time grows with the square of the depth.
	maxNesting = 24
	// maxListColumn is how far right an entry of a list may begin, for the same
	// reason.
	maxListColumn = 80
)

// Text is the text of a file as Parse takes it: without a byte order mark, lines
// ending with \n.
func Text(data []byte) string {
	return strings.ReplaceAll(strings.TrimPrefix(string(data), "\ufeff"), "\r\n", "\n")
}

// Parse gives the tree of the one document in text, which is a what ("lesson") and
// has at most the given number of bytes; see Text. What hinders it goes to
// fault, with the token it begins at or nil; then the tree is nil.
func Parse(text, what string, most int, fault func(t *token.Token, format string, args ...any)) ast.Node {
	if len(text) > most {
		fault(nil, "too long for %s: %d bytes, the most is %d", a(what), len(text), most)
		return nil
	}
	valid := utf8.ValidString(text)
	n := 0
	for line := range strings.Lines(text) {
		n++
		if !valid && !utf8.ValidString(line) {
			fault(place(n, 1), "holds bytes that are not UTF-8 text")
			return nil
		}
		// Tabs as indentation are YAML's most common stumbling block.
		if t := strings.TrimLeft(line, " "); strings.HasPrefix(t, "\t") && strings.TrimSpace(t) != "" {
			fault(place(n, len(line)-len(t)+1), "a tab at the start of a line: YAML is indented with spaces")
			return nil
		}
	}
	tokens := lexer.Tokenize(text)
	depth := 0
	for _, t := range tokens {
		switch t.Type {
		case token.MappingStartType, token.SequenceStartType:
			depth++
		case token.MappingEndType, token.SequenceEndType:
			depth--
		case token.AnchorType, token.AliasType, token.TagType, token.MergeKeyType, token.MappingKeyType, token.DirectiveType:
			fault(t, "%s: anchors, aliases, tags, directives and merged or composite keys are not used in %s; a text that begins so is put in quotes", Shorten(t.Value), a(what))
			return nil
		case token.SequenceEntryType:
			if t.Position.Column > maxListColumn {
				fault(t, "lists go too deep")
				return nil
			}
		}
		if depth > maxNesting {
			fault(t, "brackets go more than %d deep", maxNesting)
			return nil
		}
	}
	f, err := parser.Parse(tokens, 0)
	if err != nil {
		var se yaml.Error
		if errors.As(err, &se) {
			at, why := stumble(tokens, strings.Split(text, "\n"), se)
			fault(at, "%s", why)
		} else {
			fault(nil, "%s", OneLine(err.Error()))
		}
		return nil
	}
	var body ast.Node
	for _, doc := range f.Docs {
		if doc.Body == nil {
			continue
		}
		if body != nil {
			fault(doc.Body.GetToken(), "a second document: %s is one", a(what))
			return nil
		}
		body = doc.Body
	}
	if body == nil {
		fault(nil, "is empty")
	}
	return body
}

// stumble says what the parser stumbled over, where the slip itself is rather than where it
// was noticed.
func stumble(tokens token.Tokens, lines []string, se yaml.Error) (at *token.Token, why string) {
	at, why = se.GetToken(), OneLine(se.GetMessage())
	if at == nil || at.Position == nil {
		return at, why
	}
	line := at.Position.Line
	for _, t := range tokens {
		if t.Type != token.DoubleQuoteType && t.Type != token.SingleQuoteType || t.Position.Line >= line {
			continue
		}
		if end := t.Position.Line + strings.Count(strings.Trim(t.Origin, "\n"), "\n"); end >= line && end > t.Position.Line {
			return t, fmt.Sprintf("a quote begins here and ends only in line %d: is its end missing?", end)
		}
	}
	if n := strings.Count(strings.Trim(at.Origin, "\n"), "\n"); at.Type == token.StringType && n > 0 && line+n <= len(lines) {
		// What was taken for one text over several lines is a key further in than it should be.
		l := lines[line+n-1]
		at = place(line+n, len(l)-len(strings.TrimLeft(l, " "))+1)
		line += n
		why += ": is this line indented as what it belongs with?"
	}
	if line <= len(lines) && strings.ContainsAny(lines[line-1], "“”„‘’«»") {
		return at, why + " (curly quotes do not quote: a text is put in \" or ')"
	}
	if strings.Contains(why, "not allowed") && !strings.Contains(why, "indented") {
		return at, why + " (is the line indented as what it belongs with? a text that holds \": \" or \" #\", or begins with a bracket, is put in quotes)"
	}
	return at, why + " (a text that holds \": \" or \" #\", or begins with a bracket, is put in quotes)"
}

// Cut finds texts without quotes that a comment on their line cuts off: where each begins,
// as line and column, and the comment. A text that holds " #" is cut so.
func Cut(text string) map[[2]int]string {
	out, lines := map[[2]int]string{}, strings.Split(text, "\n")
	tokens := lexer.Tokenize(text)
	for i, t := range tokens {
		if i == 0 || t.Type != token.CommentType || t.Position.Line > len(lines) {
			continue
		}
		l, p := lines[t.Position.Line-1], tokens[i-1]
		if k := strings.IndexByte(l, '#'); p.Type == token.StringType && k > 0 && strings.TrimSpace(l[:k]) != "" {
			k = max(k, strings.LastIndex(l, "#"+t.Value))
			out[[2]int{p.Position.Line, p.Position.Column}] = strings.TrimSpace(l[k:])
		}
	}
	return out
}

func place(line, column int) *token.Token {
	return &token.Token{Position: &token.Position{Line: line, Column: column}}
}

// Scalar is a word, a text or a number as it was written, without its quotes; false
// for anything else, null included.
func Scalar(n ast.Node) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.LiteralNode:
		if n.Value != nil {
			return n.Value.Value, true
		}
		return "", true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}

// Kind names what a node is, for people.
func Kind(n ast.Node) string {
	switch n := n.(type) {
	case *ast.NullNode:
		return "nothing"
	case *ast.IntegerNode, *ast.FloatNode, *ast.InfinityNode, *ast.NanNode, *ast.BoolNode:
		return n.GetToken().Value
	case *ast.StringNode:
		return Quote(n.Value)
	case *ast.LiteralNode:
		return "a text"
	case ast.MapNode:
		return "a group of settings"
	case *ast.SequenceNode:
		return "a list"
	}
	return "that"
}

func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// Quote shortens and quotes what someone wrote.
func Quote(s string) string { return strconv.Quote(short(s)) }

// Shorten shortens what someone wrote, and quotes what is not a plain word.
func Shorten(s string) string {
	s = short(s)
	if s == "" || strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) || unicode.IsSpace(r) }) >= 0 {
		return strconv.Quote(s)
	}
	return s
}

// OneLine folds white space.
func OneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// Join is the path of a key within the one at at.
func Join(at, key string) string {
	if at == "" {
		return key
	}
	return at + "." + key
}

// Listed joins names for a sentence: "a, b and c"; "none" without any.
func Listed(names []string, and string) string {
	switch len(names) {
	case 0:
		return "none"
	case 1:
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " " + and + " " + names[len(names)-1]
}

// Count is a number with its noun: "1 take", "3 takes".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// a is a noun with its article.
func a(noun string) string {
	if noun != "" && strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}
