package format

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// pair is one entry of a mapping.
type pair struct {
	key  string
	at   *token.Token
	node ast.Node
}

// object is a mapping whose keys are taken one by one; what is left at the end is
// unknown.
type object struct {
	d     *decoder
	at    string
	start *token.Token
	pairs []pair
	taken map[string]bool
}

func (d *decoder) object(n ast.Node, at, what string) *object {
	m, ok := n.(ast.MapNode)
	if !ok {
		d.fault(n.GetToken(), at, "want %s, not %s", what, plain.Kind(n))
		return nil
	}
	o := &object{d: d, at: at, start: n.GetToken(), taken: map[string]bool{}}
	for it := m.MapRange(); it.Next(); {
		k := it.Key()
		w, ok := plain.Scalar(k)
		if !ok {
			d.fault(k.GetToken(), at, "a key is a plain word here, not %s", plain.Kind(k))
			continue
		}
		o.pairs = append(o.pairs, pair{w, k.GetToken(), it.Value()})
	}
	if len(o.pairs) > 0 {
		o.start = o.pairs[0].at
	}
	return o
}

func (o *object) get(key string) (pair, bool) {
	o.taken[key] = true
	for _, p := range o.pairs {
		if p.key == key {
			return p, true
		}
	}
	return pair{}, false
}

// rest reports the keys nobody asked for.
func (o *object) rest() {
	for _, p := range o.pairs {
		if !o.taken[p.key] {
			o.d.fault(p.at, plain.Join(o.at, plain.Shorten(p.key)), "unknown key%s", plain.DidYouMean(p.key, slices.Sorted(maps.Keys(o.taken))))
		}
	}
}

// line reads a text for people on one line.
func (d *decoder) line(n ast.Node, at string, most int) string {
	s, ok := plain.Scalar(n)
	if !ok {
		d.fault(n.GetToken(), at, "want a text, not %s", plain.Kind(n))
		return ""
	}
	s = plain.OneLine(s)
	d.printable(n, at, s, most)
	d.cutOff(n, at)
	return s
}

// cutOff notes a text that a comment cuts.
func (d *decoder) cutOff(n ast.Node, at string) {
	t := n.GetToken()
	if c, is := d.cut[[2]int{t.Position.Line, t.Position.Column}]; is {
		d.note(t, at, "%s is a comment, and no part of the text: if it belongs to it, put the text in quotes", plain.Quote(c))
	}
}

func (d *decoder) printable(n ast.Node, at, s string, most int) {
	if c := utf8.RuneCountInString(s); c > most {
		d.fault(n.GetToken(), at, "%d characters, the most is %d", c, most)
	}
	for _, r := range s {
		if !unicode.IsPrint(r) && r != '\n' {
			d.fault(n.GetToken(), at, "holds a character that cannot be printed")
			return
		}
	}
}

func (d *decoder) number(n ast.Node, at, unit string, lo, hi float64) (float64, bool) {
	var v float64
	switch n := n.(type) {
	case *ast.IntegerNode:
		switch i := n.Value.(type) {
		case uint64:
			v = float64(i)
		case int64:
			v = float64(i)
		}
	case *ast.FloatNode:
		v = n.Value
	default:
		d.fault(n.GetToken(), at, "want a number, %v to %v%s, not %s", lo, hi, names.Gap(unit), plain.Kind(n))
		return 0, false
	}
	if !(v >= lo && v <= hi) {
		d.fault(n.GetToken(), at, "%v%s is out of range: %v to %v%s", v, names.Gap(unit), lo, hi, names.Gap(unit))
		return 0, false
	}
	return v, true
}

func (d *decoder) whole(n ast.Node, at string, lo, hi int) int {
	v, ok := d.number(n, at, "", float64(lo), float64(hi))
	if ok && v != math.Trunc(v) {
		d.fault(n.GetToken(), at, "want a whole number, %d to %d", lo, hi)
	}
	return int(v)
}

func (d *decoder) flag(n ast.Node, at string) bool {
	if b, ok := n.(*ast.BoolNode); ok {
		return b.Value
	}
	d.fault(n.GetToken(), at, "want true or false, not %s", plain.Kind(n))
	return false
}

// list gives the entries of a list; a single entry may stand alone.
func (d *decoder) list(n ast.Node, at, what string) []ast.Node {
	switch n := n.(type) {
	case *ast.SequenceNode:
		if len(n.Values) == 0 {
			d.fault(n.GetToken(), at, "is empty: want %s", what)
		}
		return n.Values
	case *ast.NullNode:
		d.fault(n.GetToken(), at, "is empty: want %s", what)
		return nil
	}
	return []ast.Node{n}
}

// plainValue is a value as scenarios take it.
func (d *decoder) plainValue(n ast.Node, at string) (any, bool) {
	switch n := n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		v, ok := d.number(n, at, "", -1e9, 1e9)
		return v, ok
	case *ast.BoolNode:
		return n.Value, true
	case *ast.InfinityNode:
		return n.Value, true
	}
	if s, ok := plain.Scalar(n); ok {
		return s, true
	}
	d.fault(n.GetToken(), at, "want a number or a word, not %s", plain.Kind(n))
	return nil, false
}

// expr reads an expression.
func (d *decoder) expr(n ast.Node, at string, sc *rules.Scope, w rules.Want) *rules.Expr {
	s, ok := plain.Scalar(n)
	if !ok {
		d.fault(n.GetToken(), at, "want a rule, as in \"A.headroom_db >= 6 && A.overs == 0\", not %s", plain.Kind(n))
		return nil
	}
	if d.failed {
		return nil
	}
	if !d.room(n, at, 1) {
		return nil
	}
	s = strings.TrimSpace(s)
	e, bad := rules.Compile(s, sc, w)
	for _, b := range bad {
		line, col := d.locate(n, s)
		d.faultAt(line, col+b.Col, at, "%s", b.Msg)
	}
	return e
}

// mark reads Markdown with places for values.
func (d *decoder) mark(n ast.Node, at string, sc *rules.Scope) *rules.Text {
	s, ok := plain.Scalar(n)
	if !ok {
		d.fault(n.GetToken(), at, "want a text, not %s", plain.Kind(n))
		return nil
	}
	if strings.TrimSpace(s) == "" {
		d.fault(n.GetToken(), at, "is empty: want a text")
		return nil
	}
	d.printable(n, at, s, 8000)
	d.cutOff(n, at)
	for _, b := range markup.Slips(s) {
		line, col := d.locate(n, b.Near)
		d.faultAt(line, col, at, "%s", b.Msg)
	}
	if d.failed || !d.room(n, at, strings.Count(s, "{{")) {
		return rules.Verbatim(s)
	}
	t, bad := rules.CompileText(s, sc)
	for _, b := range bad {
		line, col := d.locate(n, b.Near)
		d.faultAt(line, col+b.Col, at, "%s", b.Msg)
	}
	return t
}

func hasKey(o *object, key string) bool {
	return slices.ContainsFunc(o.pairs, func(p pair) bool { return p.key == key })
}

const (
	maxFaults = 60
	maxExprs  = 2000
)

// decoder walks the syntax tree and collects faults.
type decoder struct {
	recorder *equipment.Recorder // of the user, or nil

	name   string
	lines  []string
	l      *model.Lesson
	faults []model.Fault
	// What the whole lesson has to agree on, gathered before the steps are read.
	ids      []string
	takeIDs  []string       // of take steps, in order
	takeAt   map[string]int // their place among the steps
	blindAt  map[string]int // that of blind comparisons
	workAt   map[string]int // that of mend, plan and twin steps
	worked   map[string]rules.Worked
	cut      map[[2]int]string // comments that cut texts, by where these begin
	failed   bool              // the scenario could not be read: rules cannot be checked
	usedTake map[string]bool
	unread   []string // quantities under "vary" that could not be read
	exprs    int
}

// room counts expressions and reports, once, when there are too many.
func (d *decoder) room(n ast.Node, at string, more int) bool {
	before := d.exprs
	d.exprs += more
	if d.exprs <= maxExprs {
		return true
	}
	if before <= maxExprs {
		d.fault(n.GetToken(), at, "more than %d rules and places for values in one lesson", maxExprs)
	}
	return false
}

func (d *decoder) err() error { return plain.Gather(d.name, d.faults, maxFaults) }

func (d *decoder) fault(t *token.Token, key, format string, args ...any) {
	line, col := 1, 1
	if t != nil && t.Position != nil {
		line, col = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	d.faultAt(line, col, key, format, args...)
}

func (d *decoder) faultAt(line, col int, key, format string, args ...any) {
	d.faults = append(d.faults, model.Fault{Name: d.name, Line: line, Column: col, Key: key, Msg: fmt.Sprintf(format, args...)})
}

func (d *decoder) note(t *token.Token, key, format string, args ...any) {
	f := model.Fault{Name: d.name, Key: key, Msg: fmt.Sprintf(format, args...)}
	if t != nil && t.Position != nil {
		f.Line, f.Column = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	d.l.Notes = append(d.l.Notes, f)
}

// parse gives the tree of the one document in text, or nil.
func (d *decoder) parse(text string) ast.Node {
	return plain.Parse(text, "lesson", model.MaxBytes, func(t *token.Token, format string, args ...any) { d.fault(t, "", format, args...) })
}
