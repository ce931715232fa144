package lessons

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Load reads the lesson at path. What cannot be read is a *sounds.InputError,
// what is wrong in it an *Error.
func Load(path string) (*Lesson, error) {
	st, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil, &sounds.InputError{Path: path, Msg: "no such file", Err: err}
	case err != nil:
		return nil, &sounds.InputError{Path: path, Msg: "cannot be read", Err: err}
	case st.IsDir():
		return nil, &sounds.InputError{Path: path, Msg: "is a directory; a lesson is a YAML file"}
	case st.Size() > MaxBytes:
		return nil, &sounds.InputError{Path: path, Msg: fmt.Sprintf("is too long for a lesson: %d bytes, the most is %d", st.Size(), MaxBytes)}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: "cannot be read: " + plain.OneLine(err.Error()), Err: err}
	}
	return Parse(path, data)
}

// Parse reads a lesson. name stands in errors, which are *Error.
func Parse(name string, data []byte) (*Lesson, error) {
	text := plain.Text(data)
	d := &decoder{name: name, lines: strings.Split(text, "\n"), l: &Lesson{Pass: 0.7, takes: map[string]voice.Script{}, text: []byte(text)}}
	if root := d.parse(text); root != nil {
		d.lesson(root)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return d.l, nil
}

const (
	maxFaults = 60
	maxExprs  = 2000
)

// decoder walks the syntax tree and collects faults.
type decoder struct {
	name   string
	lines  []string
	l      *Lesson
	faults []Fault
	// What the whole lesson has to agree on, gathered before the steps are read.
	ids      []string
	takeIDs  []string       // of take steps, in order
	takeAt   map[string]int // their place among the steps
	failed   bool           // the scenario could not be read: rules cannot be checked
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
	d.faults = append(d.faults, Fault{Name: d.name, Line: line, Column: col, Key: key, Msg: fmt.Sprintf(format, args...)})
}

func (d *decoder) note(t *token.Token, key, format string, args ...any) {
	f := Fault{Name: d.name, Key: key, Msg: fmt.Sprintf(format, args...)}
	if t != nil && t.Position != nil {
		f.Line, f.Column = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	d.l.Notes = append(d.l.Notes, f)
}

// parse gives the tree of the one document in text, or nil.
func (d *decoder) parse(text string) ast.Node {
	return plain.Parse(text, "lesson", MaxBytes, func(t *token.Token, format string, args ...any) { d.fault(t, "", format, args...) })
}

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
			o.d.fault(p.at, plain.Join(o.at, plain.Shorten(p.key)), "unknown key%s", didYouMean(p.key, sortedKeys(o.taken)))
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
	return s
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
		d.fault(n.GetToken(), at, "want a number, %v to %v%s, not %s", lo, hi, gap(unit), plain.Kind(n))
		return 0, false
	}
	if !(v >= lo && v <= hi) {
		d.fault(n.GetToken(), at, "%v%s is out of range: %v to %v%s", v, gap(unit), lo, hi, gap(unit))
		return 0, false
	}
	return v, true
}

func gap(unit string) string {
	if unit == "" || unit == ":1" {
		return unit
	}
	return " " + unit
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

// expr reads an expression.
func (d *decoder) expr(n ast.Node, at string, sc *scope, w want) *Expr {
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
	e, bad := compile(s, sc, w)
	for _, b := range bad {
		line, col := d.locate(n, s)
		d.faultAt(line, col+b.col, at, "%s", b.msg)
	}
	return e
}

// mark reads Markdown with places for values.
func (d *decoder) mark(n ast.Node, at string, sc *scope) *Text {
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
	for _, b := range markdownFaults(s) {
		line, col := d.locate(n, b.near)
		d.faultAt(line, col, at, "%s", b.msg)
	}
	if d.failed || !d.room(n, at, strings.Count(s, "{{")) {
		return &Text{raw: s, parts: []textPart{{plain: s}}}
	}
	t, bad := compileText(s, sc)
	for _, b := range bad {
		line, col := d.locate(n, b.near)
		d.faultAt(line, col+b.col, at, "%s", b.msg)
	}
	return t
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

func (d *decoder) adopt(err error, at string) {
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

var idPattern = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// stepID is usable as a name in rules.
var stepID = regexp.MustCompile(`^[a-z][a-z0-9_]{0,31}$`)

// reserved words of the rules.
var reserved = []string{"drawn", "answers", "abs", "min", "max", "between", "true", "false", "nil", "in", "not", "and", "or", "let", "if", "else", "matches", "contains", "startsWith", "endsWith", Spoken}

func (d *decoder) lesson(root ast.Node) {
	o := d.object(root, "", "keys, as in \"title: …\"")
	if o == nil {
		return
	}
	l := d.l
	need := func(key, what string) (pair, bool) {
		p, ok := o.get(key)
		if !ok {
			d.fault(o.start, key, "is missing: want %s", what)
		}
		return p, ok
	}
	if p, ok := o.get("id"); ok {
		l.ID = d.line(p.node, "id", 60)
		if !idPattern.MatchString(l.ID) {
			d.fault(p.node.GetToken(), "id", "%s: want lower-case words joined by \"-\", as in gain-and-headroom", plain.Quote(l.ID))
		}
	} else {
		l.ID = idFrom(d.name)
	}
	if p, ok := need("title", "a line that names the lesson"); ok {
		if l.Title = d.line(p.node, "title", 100); l.Title == "" {
			d.fault(p.node.GetToken(), "title", "is empty")
		}
	}
	if p, ok := need("for", "for whom the lesson is, as in \"for: hosts who set the gain themselves\""); ok {
		l.For = d.line(p.node, "for", 200)
	}
	if p, ok := need("minutes", "how long it takes"); ok {
		l.Minutes, _ = d.number(p.node, "minutes", "min", 1, 240)
	}
	if p, ok := o.get("about"); ok {
		l.About = d.mark(p.node, "about", &scope{}).Raw()
	}
	if p, ok := o.get("pass"); ok {
		l.Pass, _ = d.number(p.node, "pass", "", 0, 1)
	}
	if p, ok := o.get("locked"); ok {
		l.locked = d.line(p.node, "locked", 200)
	}
	named := ""
	if p, ok := need("scenario", "the bench: a built-in scenario's name, or settings"); ok {
		named = d.scenario(p)
	} else {
		d.failed = true
	}
	if p, ok := o.get("takes"); ok {
		d.scripts(p)
	}
	if p, ok := o.get("vary"); ok && l.base != nil {
		d.vary(p)
	}
	d.checkStrips(o)
	if p, ok := need("steps", "the list of steps"); ok {
		d.steps(p.node)
	}
	if p, ok := o.get("sources"); ok {
		d.sources(p)
	}
	o.rest()
	if l.base != nil && len(d.faults) == 0 {
		d.lengths(o)
	}
	h := sha256.New()
	fmt.Fprintf(h, "lesson 1\n%s\n%s", l.text, named)
	l.Hash = hex.EncodeToString(h.Sum(nil))
}

// idFrom makes an id of a file's name.
func idFrom(name string) string {
	base := strings.ToLower(strings.TrimSuffix(strings.TrimSuffix(filepath.Base(name), ".yaml"), ".yml"))
	id := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(base, "-"), "-")
	if !idPattern.MatchString(id) {
		return "lesson"
	}
	return id
}

// scenario reads the bench; for a built-in one it returns its settings in full,
// which belong to what the lesson says.
func (d *decoder) scenario(p pair) string {
	if name, ok := plain.Scalar(p.node); ok {
		s, err := scenario.LoadBuiltin(name)
		if err != nil {
			d.failed = true
			d.fault(p.node.GetToken(), "scenario", "%s", plain.OneLine(err.Error()))
			return ""
		}
		d.l.base = s
		full, _ := s.Marshal()
		return string(full)
	}
	if _, ok := p.node.(ast.MapNode); !ok {
		d.failed = true
		d.fault(p.node.GetToken(), "scenario", "want a built-in scenario's name, or settings, not %s", plain.Kind(p.node))
		return ""
	}
	s, err := scenario.Parse(d.name, []byte(strings.Join(d.blanked(p.node), "\n")))
	if err != nil {
		d.failed = true
		d.adopt(err, "scenario")
		return ""
	}
	if s.Source.File != "" {
		d.failed = true
		d.fault(p.at, "scenario.source.file", "a lesson's source is a talker, not a file: anyone has to be able to run it again")
		return ""
	}
	d.l.base = s
	return ""
}

// script reads a take's script with the scenario's own reader, at its place.
func (d *decoder) script(n ast.Node, at string) voice.Script {
	if _, ok := n.(*ast.SequenceNode); !ok {
		d.fault(n.GetToken(), at, "want a list of events, as in \"- {do: laugh, effort: loud}\", not %s", plain.Kind(n))
		return nil
	}
	lines := d.blanked(n)
	if n.GetToken().Position.Line < 3 {
		d.fault(n.GetToken(), at, "a script stands below the title: move it down")
		return nil
	}
	lines[0], lines[1] = "source:", " script:"
	s, err := scenario.Parse(d.name, []byte(strings.Join(lines, "\n")))
	if err != nil {
		before := len(d.faults)
		d.adopt(err, "")
		for i := range d.faults[before:] {
			f := &d.faults[before+i]
			f.Key = at + strings.TrimPrefix(f.Key, "source.script")
		}
		return nil
	}
	return s.Source.Script
}

func (d *decoder) scripts(p pair) {
	o := d.object(p.node, "takes", "named scripts, as in \"takes: {check: […]}\"")
	if o == nil {
		return
	}
	for _, q := range o.pairs {
		o.taken[q.key] = true
		at := plain.Join("takes", plain.Shorten(q.key))
		if !stepID.MatchString(q.key) {
			d.fault(q.at, at, "want a lower-case word (letters, digits, _)")
		}
		if _, twice := d.l.takes[q.key]; twice {
			d.fault(q.at, at, "stands twice")
		}
		d.l.takes[q.key] = d.script(q.node, at)
	}
}

// checkStrips sees to it that rules can name the strips.
func (d *decoder) checkStrips(o *object) {
	if d.l.base == nil {
		return
	}
	p, _ := o.get("scenario")
	for _, n := range d.l.base.StripNames() {
		if strings.Contains(n, "-") || slices.Contains(reserved, n) || n[0] >= '0' && n[0] <= '9' {
			d.fault(p.at, "scenario.strips."+n, "a rule cannot name this strip: want letters, digits and _, beginning with a letter, and not a word of the rules")
		}
	}
}

// drawKeys are what "vary" may name beside settings.
var drawKeys = []string{drawTalker, drawPerformance, drawEffort, drawLevel}

const (
	maxDrawn     = 20
	drawnDefault = 5
)

func (d *decoder) vary(p pair) {
	o := d.object(p.node, "vary", "quantities, as in \"distance_m: {from: 0.05, to: 0.2}\"")
	if o == nil {
		return
	}
	for _, q := range o.pairs {
		o.taken[q.key] = true
		at := plain.Join("vary", plain.Shorten(q.key))
		dr := Draw{Key: q.key}
		before := len(d.faults)
		d.unread = append(d.unread, q.key) // until it is read
		switch q.key {
		case drawTalker, drawPerformance:
		case drawEffort:
		case drawLevel:
			dr.Unit = "dB"
		default:
			key := q.key
			if strip, rest, ok := strings.Cut(key, "."); ok && d.l.base.Strip(strip) != nil {
				key = rest
			} else if !sharedSetting(key) {
				known := slices.Concat(drawKeys, d.settingKeys())
				d.fault(q.at, at, "there is nothing of that name to draw%s", didYouMean(q.key, known))
				continue
			}
			n, ok := settingByKey[key]
			if !ok {
				d.fault(q.at, at, "there is no such setting%s", didYouMean(q.key, d.settingKeys()))
				continue
			}
			dr.Unit = n.Unit
		}
		dr.Values = d.drawn(q, at)
		if len(d.faults) > before {
			continue
		}
		for _, v := range dr.Values {
			s := cloneScenario(d.l.base)
			if err := applyDraw(s, nil, q.key, v); err != nil {
				d.fault(q.node.GetToken(), at, "%s", faultText(err))
				break
			}
		}
		if len(d.faults) == before {
			d.unread = d.unread[:len(d.unread)-1]
		}
		d.l.Vary = append(d.l.Vary, dr)
	}
}

// faultText is the message of an error without its place.
func faultText(err error) string {
	var se *scenario.Error
	if errors.As(err, &se) && len(se.Faults) > 0 {
		return se.Faults[0].Msg
	}
	return plain.OneLine(err.Error())
}

// drawn lists the values of one quantity: a list, a number of performances, or a
// range in steps.
func (d *decoder) drawn(q pair, at string) []any {
	if n, ok := q.node.(*ast.IntegerNode); ok && q.key == drawPerformance {
		k := d.whole(n, at, 1, maxDrawn)
		var out []any
		for i := range k {
			out = append(out, float64(i+1))
		}
		return out
	}
	if seq, ok := q.node.(*ast.SequenceNode); ok {
		var out []any
		for _, v := range d.list(seq, at, "values to draw from") {
			if x, ok := d.plainValue(v, at); ok {
				out = append(out, x)
			}
		}
		if len(out) > maxDrawn {
			d.fault(q.node.GetToken(), at, "%d values, the most is %d", len(out), maxDrawn)
		}
		for _, v := range out[min(1, len(out)):] {
			if fmt.Sprintf("%T", v) != fmt.Sprintf("%T", out[0]) {
				d.fault(q.node.GetToken(), at, "numbers and words are mixed")
				break
			}
		}
		return out
	}
	o := d.object(q.node, at, "a list of values, or a range as in {from: 0.05, to: 0.2, steps: 4}")
	if o == nil {
		return nil
	}
	var lo, hi float64
	ok := true
	for _, e := range []struct {
		key string
		v   *float64
	}{{"from", &lo}, {"to", &hi}} {
		p, is := o.get(e.key)
		if !is {
			d.fault(o.start, plain.Join(at, e.key), "is missing: a range has from and to")
			ok = false
			continue
		}
		v, good := d.number(p.node, plain.Join(at, e.key), "", -1e6, 1e6)
		*e.v, ok = v, ok && good
	}
	steps := drawnDefault
	if p, is := o.get("steps"); is {
		steps = d.whole(p.node, plain.Join(at, "steps"), 2, maxDrawn)
	}
	o.rest()
	if !ok {
		return nil
	}
	if lo >= hi {
		d.fault(o.start, at, "from %v to %v is no range: from is the smaller one", lo, hi)
		return nil
	}
	geometric := strings.HasSuffix(q.key, "distance_m") && lo > 0
	var out []any
	for i := range max(steps, 2) {
		t := float64(i) / float64(max(steps, 2)-1)
		v := lo + (hi-lo)*t
		if geometric { // equal steps in level
			v = lo * math.Pow(hi/lo, t)
		}
		if q.key == drawPerformance {
			v = math.Round(v)
		}
		out = append(out, math.Round(v*1000)/1000)
	}
	return slices.Compact(out)
}

func (d *decoder) settingKeys() []string {
	var out []string
	for _, n := range settingNames {
		if sharedSetting(n.Key) {
			out = append(out, n.Key)
		}
		for _, s := range d.l.base.StripNames() {
			out = append(out, s+"."+n.Key)
		}
	}
	return out
}

func (d *decoder) drawnNames() map[string]Name {
	out := map[string]Name{}
	for _, v := range d.l.Vary {
		n := Name{Key: v.Key, Unit: v.Unit}
		if len(v.Values) > 0 {
			if _, ok := v.Values[0].(string); ok {
				n.kind = word
				for _, x := range v.Values {
					n.words = append(n.words, fmt.Sprint(x))
				}
			}
		}
		out[v.Key] = n
		if v.Key == drawTalker {
			out[talkerName] = Name{Key: talkerName, kind: word}
		}
	}
	return out
}

func (d *decoder) steps(n ast.Node) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok || len(seq.Values) == 0 {
		d.fault(n.GetToken(), "steps", "want a list of steps, as in \"- say: …\", not %s", plain.Kind(n))
		return
	}
	if len(seq.Values) > MaxSteps {
		d.fault(n.GetToken(), "steps", "%d steps, the most is %d", len(seq.Values), MaxSteps)
		return
	}
	objs := make([]*object, len(seq.Values))
	d.takeAt = map[string]int{}
	d.usedTake = map[string]bool{}
	seen := map[string]int{}
	// First the names, so that a prediction can speak of a take that comes later.
	for i, v := range seq.Values {
		at := fmt.Sprintf("step %d", i+1)
		o := d.object(v, at, "a step, as in \"say: …\"")
		objs[i] = o
		id := fmt.Sprintf("step_%d", i+1)
		if o == nil {
			d.ids = append(d.ids, id)
			continue
		}
		if p, ok := o.get("id"); ok {
			w := d.line(p.node, at+".id", 64)
			switch {
			case !stepID.MatchString(w):
				d.fault(p.node.GetToken(), at+".id", "%s: want a lower-case word (letters, digits, _, at most 32)", plain.Quote(w))
			case slices.Contains(reserved, w) || d.l.base != nil && d.l.base.Strip(w) != nil:
				d.fault(p.node.GetToken(), at+".id", "%s means something else in rules: choose another", plain.Quote(w))
			case seen[w] > 0:
				d.fault(p.node.GetToken(), at+".id", "%s is step %d already", plain.Quote(w), seen[w])
			default:
				id = w
			}
		}
		seen[id] = i + 1
		d.ids = append(d.ids, id)
		for _, k := range []string{"do", "record"} {
			if _, ok := o.get(k); ok {
				d.takeIDs = append(d.takeIDs, id)
				d.takeAt[id] = i
			}
		}
		o.taken = map[string]bool{"id": true}
	}
	predicted := false
	for i, o := range objs {
		s := &Step{ID: d.ids[i]}
		d.l.Steps = append(d.l.Steps, s)
		if o == nil {
			continue
		}
		d.step(o, s, i)
		predicted = predicted || s.Kind == Predict
		// Whoever listens blind guesses anyway.
		if s.Kind == Listen && !predicted && s.Trials == 0 {
			d.note(o.start, o.at, "listen comes before any prediction: a student who guessed first hears more")
		}
	}
	for i, o := range objs {
		s := d.l.Steps[i]
		if o == nil || s.Question == nil {
			continue
		}
		if s.Kind == Predict {
			d.decided(o, i)
		}
		if len(d.faults) == 0 {
			d.unclear(o, s)
		}
	}
	for name := range d.l.takes {
		if !d.usedTake[name] {
			d.note(n.GetToken(), "takes."+name, "no step records this take")
		}
	}
}

// before is what a rule at step i may name; own tells whether the step's own take
// counts.
func (d *decoder) before(i int, own bool) *scope {
	sc := &scope{drawn: d.drawnNames(), unread: d.unread}
	if d.l.base != nil {
		sc.strips = d.l.base.StripNames()
	}
	for _, id := range d.takeIDs {
		if d.takeAt[id] < i || own && d.takeAt[id] == i {
			sc.takes = append(sc.takes, id)
			sc.latest = true
		}
	}
	for k := range min(i, len(d.l.Steps)) {
		if s := d.l.Steps[k]; s.Question != nil {
			sc.answers = append(sc.answers, s.ID)
		}
	}
	return sc
}

// after is what a prediction at step i may name: all takes, as long as one comes.
func (d *decoder) after(i int) *scope {
	sc := d.before(i, false)
	sc.takes, sc.latest, sc.later = nil, false, true
	for _, id := range d.takeIDs {
		sc.takes = append(sc.takes, id)
		sc.latest = sc.latest || d.takeAt[id] > i
	}
	return sc
}

func (d *decoder) step(o *object, s *Step, i int) {
	s.Line = o.start.Position.Line
	var text *pair
	for _, k := range kinds {
		p, ok := o.get(k)
		if !ok {
			continue
		}
		if text != nil {
			d.fault(p.at, o.at, "is %s and %s at once: a step is one of them", s.Kind, k)
			continue
		}
		s.Kind, text = Kind(k), &p
	}
	if text == nil {
		near := ""
		for _, p := range o.pairs {
			if n := plain.Nearest(p.key, kinds); n != "" && p.key != "id" {
				near = fmt.Sprintf(": is %s meant to be %s?", plain.Quote(p.key), n)
				o.taken[p.key] = true
				break
			}
		}
		d.fault(o.start, o.at, "does not say what is to be done: want one of %s%s", plain.Listed(kinds, "or"), near)
		return
	}
	o.at = fmt.Sprintf("step %d (%s)", i+1, s.ID)
	sc := d.before(i, false)
	s.Text = d.mark(text.node, o.at+"."+string(s.Kind), sc)
	switch s.Kind {
	case Do:
		s.Points, s.Must = 1, true
	case Ask:
		s.Points = 1
	}
	if p, ok := o.get("points"); ok {
		s.Points, _ = d.number(p.node, o.at+".points", "", 0, 100)
	}
	if p, ok := o.get("must"); ok {
		s.Must = d.flag(p.node, o.at+".must")
	}
	if p, ok := o.get("set"); ok && d.l.base != nil {
		d.set(p, o.at+".set", s)
	}
	switch s.Kind {
	case Predict:
		d.question(o, s, d.after(i), false)
	case Ask:
		d.question(o, s, sc, true)
	case Explain:
		s.Least = 1
		if p, ok := o.get("least"); ok {
			s.Least = d.whole(p.node, o.at+".least", 1, 2000)
		}
	case Do, Record:
		d.take(o, s, i)
	case Listen:
		d.listen(o, s, i)
	case Reveal:
		if p, ok := o.get("of"); ok {
			for _, v := range d.list(p.node, o.at+".of", "the ids of predictions") {
				w, _ := plain.Scalar(v)
				k := slices.IndexFunc(d.l.Steps[:i], func(x *Step) bool { return x.ID == w && x.Kind == Predict })
				if k < 0 {
					var known []string
					for _, x := range d.l.Steps[:i] {
						if x.Kind == Predict {
							known = append(known, x.ID)
						}
					}
					d.fault(v.GetToken(), o.at+".of", "no prediction %s comes before%s", plain.Quote(w), didYouMean(w, known))
					continue
				}
				s.Of = append(s.Of, w)
			}
		}
	}
	if p, given := o.get("points"); given && s.Points > 0 && !s.scored() {
		d.fault(p.at, o.at+".points", "nothing here can be right or wrong: points are for do, for ask, and for predictions with a right answer")
	}
	if p, given := o.get("must"); given && s.Must && !s.scored() {
		d.fault(p.at, o.at+".must", "nothing here can be right or wrong")
	}
	o.stepRest(s.Kind)
}

// stepKeys are the keys of a step beside those that every step may have.
var stepKeys = map[Kind][]string{
	Predict: {"choices", "number", "text", "because"},
	Ask:     {"choices", "number", "text", "because", "tries"},
	Explain: {"least"},
	Do:      {"rule", "controls", "hints", "take", "attempts", "riding", "locked"},
	Record:  {"controls", "take", "attempts", "riding", "locked"},
	Listen:  {"strips", "matched", "blind"},
	Reveal:  {"of"},
}

// answerKeys stand one level deeper, under the way a question is answered.
var answerKeys = map[string]string{"answer": "number", "tolerance": "number", "unit": "number", "accept": "text", "right": "choices", "when": "choices"}

// otherWords are what people write for a key, where no letter gives it away.
var otherWords = map[string]string{
	"trials": "blind", "sounds": "strips", "tracks": "strips", "options": "choices", "answers": "choices",
	"settings": "controls", "unlock": "controls", "goal": "rule", "condition": "rule", "script": "take", "predictions": "of", "explanation": "because",
}

// stepRest reports the keys of a step that its kind does not have, and names those
// that it has.
func (o *object) stepRest(kind Kind) {
	own := append(slices.Clone(stepKeys[kind]), "id", "set")
	if kind == Do || kind == Ask || kind == Predict {
		own = append(own, "points", "must")
	}
	for _, p := range o.pairs {
		if o.taken[p.key] {
			continue
		}
		article := "a"
		if strings.ContainsAny(string(kind[:1]), "aeiou") {
			article = "an"
		}
		hint := fmt.Sprintf("; %s %s step has %s", article, kind, plain.Listed(own, "and"))
		if in := answerKeys[p.key]; slices.Contains(own, in) {
			hint = fmt.Sprintf(": it belongs under %s, as in %s: %s", in, in, map[string]string{
				"number": "{answer: A.headroom_db, tolerance: 1}", "text": "{accept: [clipping, clipped]}", "choices": `[{say: "yes", right: true}, "no"]`}[in])
		} else if near := plain.Nearest(p.key, own); near != "" {
			hint = ": did you mean " + near + "?"
		} else if w := otherWords[p.key]; slices.Contains(own, w) {
			hint = ": did you mean " + w + "?"
		} else if of := kindsWith(p.key); len(of) > 0 {
			hint = fmt.Sprintf(": %s belongs to %s%s", p.key, plain.Listed(of, "and"), hint)
		}
		o.d.fault(p.at, plain.Join(o.at, plain.Shorten(p.key)), "unknown key%s", hint)
	}
}

// kindsWith lists the kinds of steps that have a key.
func kindsWith(key string) []string {
	var out []string
	for _, k := range kinds {
		if slices.Contains(stepKeys[Kind(k)], key) {
			out = append(out, k)
		}
	}
	return out
}

// decided finds the take that decides the prediction at step i, and looks whether
// it can be decided, and fairly.
func (d *decoder) decided(o *object, i int) {
	s := d.l.Steps[i]
	if !s.Question.gradable() || len(d.faults) > 0 {
		return
	}
	// The first take after it shows what "A" names; a take named by its step shows
	// itself.
	at := slices.IndexFunc(d.l.Steps[i+1:], func(x *Step) bool { return x.IsTake() })
	if at < 0 {
		d.fault(o.start, o.at, "nothing decides this prediction: no \"record\" or \"do\" step comes after it; a question about what was recorded is an ask step")
		return
	}
	at += i + 1
	latest, own := -1, len(s.Question.names()) == 0
	for _, n := range s.Question.names() {
		head, _, _ := strings.Cut(n, ".")
		if k, named := d.takeAt[head]; named {
			latest = max(latest, k)
		} else if d.l.base.Strip(head) != nil {
			latest, own = max(latest, at), true
		}
	}
	if latest >= 0 && latest < i {
		d.note(o.start, o.at, "what this prediction is about was recorded before it, in step %d (%s): make it an ask step, or ask it earlier", latest+1, d.ids[latest])
	}
	// A rule that names the task's own take means it.
	if x := d.l.Steps[at]; own && x.Kind == Do && len(x.Controls) > 0 {
		d.note(o.start, o.at, "is decided by the student's own take in step %d (%s): put a record step between, so that the bench decides as it stands", at+1, x.ID)
	}
}

// unclear notes outcomes for which no choice or more than one is right, as far as
// the rules alone tell: those over one variable are tried around every number they
// hold. (What several variables can be together, only the takes tell.)
func (d *decoder) unclear(o *object, s *Step) {
	names := slices.Compact(slices.Sorted(slices.Values(s.Question.names())))
	p, ok := o.get("choices")
	if !ok || len(names) == 0 {
		return
	}
	always := slices.IndexFunc(s.Question.Choices, func(c Choice) bool { return c.Right })
	if len(names) > 1 {
		if always >= 0 {
			d.note(p.at, o.at+".choices", "%s is right whatever comes, and others are right by a rule: two can be right at once", Letter(always))
		}
		return
	}
	numbers := map[float64]bool{0: true}
	for _, c := range s.Question.Choices {
		if c.When != nil {
			for _, w := range numberIn.FindAllString(c.When.Text, -1) {
				if v, err := strconv.ParseFloat(w, 64); err == nil {
					numbers[v], numbers[-v] = true, true
				}
			}
		}
	}
	if len(numbers) > 64 {
		return // nobody wrote that by hand
	}
	none, both := "", ""
	for _, v := range d.tryValues(names[0], slices.Sorted(maps.Keys(numbers))) {
		right := s.Question.right(values{names[0]: v})
		switch {
		case len(right) == 0 && none == "":
			none = fmt.Sprintf("no choice is right when %s is %s", names[0], show(names[0], v))
		case len(right) > 1 && both == "":
			both = fmt.Sprintf("%s are right at once when %s is %s", plain.Listed(right, "and"), names[0], show(names[0], v))
		}
	}
	for _, msg := range []string{none, both} {
		if msg != "" {
			d.note(p.at, o.at+".choices", "%s", msg)
		}
	}
}

var numberIn = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// tryValues are values of a variable on both sides of every number given.
func (d *decoder) tryValues(name string, around []float64) []any {
	if key, ok := strings.CutPrefix(name, "drawn."); ok {
		for _, v := range d.l.Vary {
			if v.Key == key {
				return v.Values
			}
		}
		return nil
	}
	lo, hi, whole := math.Inf(-1), math.Inf(1), false
	for key := name; ; {
		if i := slices.IndexFunc(readingNames, func(n Name) bool { return n.Key == key }); i >= 0 {
			switch u := readingNames[i].Unit; u {
			case "":
				lo, whole = 0, true
			case "ms", "%":
				lo = 0
			}
			break
		}
		if n, ok := settingByKey[key]; ok {
			if n.kind != numeric {
				var out []any
				for _, w := range n.words {
					out = append(out, w)
				}
				if n.kind == boolean {
					out = []any{false, true}
				}
				return out
			}
			f, _ := sim.SettingByKey(key)
			lo, hi, whole = f.Min, f.Max, f.Whole
			break
		}
		_, rest, more := strings.Cut(key, ".")
		if !more {
			return nil // an answer: what it may be is the other step's matter
		}
		key = rest
	}
	var out []any
	add := func(v float64) {
		if v >= lo && v <= hi && (!whole || v == math.Trunc(v)) {
			out = append(out, v)
		}
	}
	for i, v := range around {
		side := 0.1
		if whole {
			side = 1
			add(v)
		}
		add(v - side)
		add(v + side)
		if i > 0 {
			add((v + around[i-1]) / 2)
		}
	}
	return out
}

// names are the variables that decide what is right.
func (q *Question) names() []string {
	var out []string
	for _, c := range q.Choices {
		if c.When != nil {
			out = append(out, c.When.names...)
		}
	}
	if q.Number != nil && q.Number.Answer != nil {
		out = append(out, q.Number.Answer.names...)
	}
	return out
}

// scored tells whether a step can be right or wrong.
func (s *Step) scored() bool {
	switch s.Kind {
	case Do:
		return true
	case Ask, Predict:
		return s.Question == nil || s.Question.gradable()
	}
	return false
}

func (q *Question) gradable() bool {
	if q.Number != nil {
		return q.Number.Answer != nil
	}
	if q.IsText {
		return len(q.Accept) > 0
	}
	for _, c := range q.Choices {
		if c.Right || c.When != nil {
			return true
		}
	}
	return false
}

func (d *decoder) set(p pair, at string, s *Step) {
	o := d.object(p.node, at, "settings, as in {A.preamp.gain_db: 46}")
	if o == nil {
		return
	}
	trial := cloneScenario(d.l.base)
	for _, q := range o.pairs {
		o.taken[q.key] = true
		v, ok := d.plainValue(q.node, plain.Join(at, q.key))
		if !ok || !d.settable(q, plain.Join(at, q.key)) {
			continue
		}
		if err := put(trial, q.key, v); err != nil {
			d.fault(q.node.GetToken(), plain.Join(at, q.key), "%s", faultText(err))
			continue
		}
		s.Set = append(s.Set, Setting{q.key, v})
	}
}

// settable reports a key that names no setting.
func (d *decoder) settable(q pair, at string) bool {
	strip, rest, ok := strings.Cut(q.key, ".")
	if ok && d.l.base.Strip(strip) != nil {
		if _, known := settingByKey[rest]; known {
			return true
		}
	} else if _, known := settingByKey[q.key]; known && sharedSetting(q.key) {
		return true
	}
	msg := didYouMean(q.key, d.settingKeys())
	if _, known := settingByKey[q.key]; known {
		msg = fmt.Sprintf(": write %s.%s, it belongs to a strip", d.l.base.StripNames()[0], q.key)
	}
	d.fault(q.at, at, "there is no such setting%s", msg)
	return false
}

func (d *decoder) question(o *object, s *Step, sc *scope, needRight bool) {
	q := &Question{Tries: 1}
	s.Question = q
	if p, ok := o.get("tries"); ok {
		if q.Tries = d.whole(p.node, o.at+".tries", 1, 10); s.Kind == Predict && q.Tries > 1 {
			d.fault(p.at, o.at+".tries", "a prediction is made once: it cannot be changed afterwards")
		}
	}
	n := 0
	var first *token.Token
	for _, k := range []string{"choices", "number", "text"} {
		p, ok := o.get(k)
		if !ok {
			continue
		}
		if n++; n > 1 {
			d.fault(p.at, o.at, "is answered in two ways: want one of choices, number and text")
			return
		}
		first = p.at
		switch k {
		case "choices":
			d.choices(p, o.at+".choices", q, sc)
		case "number":
			d.numberAnswer(p, o.at+".number", q, sc, needRight)
		case "text":
			d.textAnswer(p, o.at+".text", q)
		}
	}
	if n == 0 {
		d.fault(o.start, o.at, "does not say how it is answered: want choices, number or text")
		return
	}
	if p, ok := o.get("because"); ok {
		q.Because = d.mark(p.node, o.at+".because", sc)
	}
	if needRight && !q.gradable() && len(d.faults) == 0 {
		d.fault(first, o.at, "has no right answer: mark a choice with \"right: true\" or \"when: …\", list the texts under \"accept\", or make it a predict or an explain step")
	}
}

func (d *decoder) choices(p pair, at string, q *Question, sc *scope) {
	seen := map[string]bool{}
	for i, v := range d.list(p.node, at, "two or more choices") {
		c := Choice{}
		at := fmt.Sprintf("%s[%s]", at, Letter(i))
		if _, ok := v.(ast.MapNode); ok {
			o := d.object(v, at, "a choice")
			if t, ok := o.get("say"); ok {
				c.Text = d.line(t.node, at+".say", 300)
			} else {
				d.fault(o.start, at+".say", "is missing: want the choice's text")
			}
			right, isRight := o.get("right")
			if isRight {
				c.Right = d.flag(right.node, at+".right")
			}
			if w, ok := o.get("when"); ok {
				if isRight {
					d.fault(w.at, at, "is right always or by a rule, not both")
				}
				c.When = d.expr(w.node, at+".when", sc, wantBool)
				if c.When == nil {
					c.Right = true // a fault was reported: no second one
				}
			}
			if b, ok := o.get("because"); ok {
				c.Because = d.mark(b.node, at+".because", sc)
			}
			o.rest()
		} else {
			c.Text = d.line(v, at, 300)
		}
		if low := strings.ToLower(c.Text); c.Text != "" && seen[low] {
			d.fault(v.GetToken(), at, "the same choice twice")
		} else {
			seen[low] = true
		}
		q.Choices = append(q.Choices, c)
	}
	if k := len(q.Choices); k == 1 || k > 10 {
		d.fault(p.node.GetToken(), at, "want 2 to 10 choices, not %d", k)
	}
}

// answerUnits are what a question may be answered in.
var answerUnits = []string{"dB", "dBFS", "dBTP", "LUFS", "LU", "dBu", "dBA", "dB SPL", "ms", "s", "%", "m", "Hz", "min", "h"}

func (d *decoder) numberAnswer(p pair, at string, q *Question, sc *scope, needRight bool) {
	na := &NumberAnswer{}
	q.Number = na
	o := d.object(p.node, at, "answer, unit and tolerance, as in {answer: A.headroom_db, tolerance: 1}")
	if o == nil {
		return
	}
	if a, ok := o.get("answer"); ok {
		na.Answer = d.expr(a.node, at+".answer", sc, wantNumber)
		if na.Answer != nil {
			na.Unit = na.Answer.Unit
		} else {
			na.Answer = &Expr{} // a fault was reported
		}
	} else if needRight {
		d.fault(o.start, at+".answer", "is missing: want a number or a reading")
		na.Answer = &Expr{}
	}
	if u, ok := o.get("unit"); ok {
		w := d.line(u.node, at+".unit", 20)
		switch {
		case !slices.Contains(answerUnits, w):
			d.fault(u.node.GetToken(), at+".unit", "there is no unit %s%s", plain.Quote(w), didYouMean(w, answerUnits))
		case na.Unit != "" && unitOf(na.Unit).dim != unitOf(w).dim:
			d.fault(u.node.GetToken(), at+".unit", "the answer is in %s, not in %s", na.Unit, w)
		default:
			na.Unit = w
		}
	}
	if t, ok := o.get("tolerance"); ok {
		na.Tolerance, _ = d.number(t.node, at+".tolerance", na.Unit, 0, 1e6)
		if na.Answer != nil && len(na.Answer.names) > 0 && na.Tolerance == 0 && unitOf(na.Unit).dim != "" {
			d.fault(t.node.GetToken(), at+".tolerance", "nobody reads a meter exactly: want more than 0%s", gap(na.Unit))
		}
	} else if na.Answer != nil && unitOf(na.Unit).dim != "" {
		d.fault(o.start, at+".tolerance", "is missing: how far off is still right, in %s?", na.Unit)
	}
	o.rest()
}

func (d *decoder) textAnswer(p pair, at string, q *Question) {
	q.IsText = true
	if b, ok := p.node.(*ast.BoolNode); ok && b.Value {
		return
	}
	o := d.object(p.node, at, "the texts that are right, as in {accept: [clipping, clipped]}, or true for any")
	if o == nil {
		return
	}
	if a, ok := o.get("accept"); ok {
		for _, v := range d.list(a.node, at+".accept", "texts") {
			if s := d.line(v, at+".accept", 100); s != "" {
				q.Accept = append(q.Accept, s)
			}
		}
	}
	o.rest()
}

func (d *decoder) take(o *object, s *Step, i int) {
	own := d.before(i, true)
	if p, ok := o.get("take"); ok {
		s.Take = d.line(p.node, o.at+".take", 40)
		if _, known := d.l.takes[s.Take]; !known {
			d.fault(p.node.GetToken(), o.at+".take", "there is no script %s under \"takes\"%s", plain.Quote(s.Take), didYouMean(s.Take, sortedKeys(d.l.takes)))
		}
		d.usedTake[s.Take] = true
	}
	if p, ok := o.get("controls"); ok && d.l.base != nil {
		d.controls(p, o.at+".controls", s)
	}
	if p, ok := o.get("locked"); ok {
		s.Locked = d.line(p.node, o.at+".locked", 200)
	}
	if p, ok := o.get("attempts"); ok {
		s.Attempts = d.whole(p.node, o.at+".attempts", 1, 50)
	}
	if p, ok := o.get("riding"); ok {
		s.Riding = d.flag(p.node, o.at+".riding")
	}
	if s.Kind != Do {
		return
	}
	if p, ok := o.get("rule"); ok {
		s.Rule = d.expr(p.node, o.at+".rule", own, wantBool)
	} else {
		d.fault(o.start, o.at+".rule", "is missing: what must hold of the take, as in \"A.overs == 0\"; a take without a rule is a record step")
	}
	if p, ok := o.get("hints"); ok {
		for k, v := range d.list(p.node, o.at+".hints", "hints, as in {when: A.overs > 0, say: …}") {
			at := fmt.Sprintf("%s.hints[%d]", o.at, k+1)
			h := Hint{}
			if _, isMap := v.(ast.MapNode); !isMap {
				h.Text = d.mark(v, at, own)
				s.Hints = append(s.Hints, h)
				continue
			}
			ho := d.object(v, at, "a hint")
			if w, ok := ho.get("when"); ok {
				h.When = d.expr(w.node, at+".when", own, wantBool)
			}
			if w, ok := ho.get("after"); ok {
				h.After = d.whole(w.node, at+".after", 1, 50)
			}
			if w, ok := ho.get("say"); ok {
				h.Text = d.mark(w.node, at+".say", own)
			} else {
				d.fault(ho.start, at+".say", "is missing: want what the hint says")
			}
			ho.rest()
			s.Hints = append(s.Hints, h)
		}
	}
	if len(s.Controls) == 0 && !hasKey(o, "controls") {
		d.note(o.start, o.at, "no control is unlocked: the student can only record")
	}
}

func hasKey(o *object, key string) bool {
	return slices.ContainsFunc(o.pairs, func(p pair) bool { return p.key == key })
}

// controls reads what a step unlocks: a list of keys, or keys with ranges.
func (d *decoder) controls(p pair, at string, s *Step) {
	var all []pair
	if m, ok := p.node.(ast.MapNode); ok {
		_ = m
		o := d.object(p.node, at, "controls")
		all = o.pairs
	} else {
		for _, v := range d.list(p.node, at, "controls, as in [A.preamp.gain_db]") {
			w, ok := plain.Scalar(v)
			if !ok {
				d.fault(v.GetToken(), at, "want a setting's name, not %s", plain.Kind(v))
				continue
			}
			all = append(all, pair{w, v.GetToken(), nil})
		}
	}
	for _, q := range all {
		at := plain.Join(at, plain.Shorten(q.key))
		if !d.settable(q, at) {
			continue
		}
		if slices.ContainsFunc(s.Controls, func(c Control) bool { return c.Key == q.key }) {
			d.fault(q.at, at, "stands twice")
			continue
		}
		c := controlFor(d.l.base, q.key)
		if q.node != nil {
			d.controlRange(q, at, &c)
		}
		s.Controls = append(s.Controls, c)
	}
}

func (d *decoder) controlRange(q pair, at string, c *Control) {
	if _, null := q.node.(*ast.NullNode); null {
		return
	}
	if c.Choices != nil {
		var words []string
		for _, v := range d.list(q.node, at, "the words to choose from") {
			w, _ := plain.Scalar(v)
			if !slices.Contains(c.Choices, w) {
				d.fault(v.GetToken(), at, "there is no %s%s", plain.Quote(w), didYouMean(w, c.Choices))
				continue
			}
			words = append(words, w)
		}
		c.Choices = words
		return
	}
	if c.Switch {
		d.fault(q.node.GetToken(), at, "is a switch and has no range")
		return
	}
	o := d.object(q.node, at, "a range, as in {from: 20, to: 60, step: 1}")
	if o == nil {
		return
	}
	lo, hi := c.Min, c.Max
	if f, ok := o.get("from"); ok {
		if v, ok := d.number(f.node, at+".from", c.Unit, lo, hi); ok {
			c.Min = v
		}
	}
	if f, ok := o.get("to"); ok {
		if v, ok := d.number(f.node, at+".to", c.Unit, lo, hi); ok {
			c.Max = v
		}
	}
	if c.Min >= c.Max {
		d.fault(o.start, at, "from %v to %v%s is no range", c.Min, c.Max, gap(c.Unit))
	}
	if f, ok := o.get("step"); ok {
		if v, ok := d.number(f.node, at+".step", c.Unit, 0.001, 1000); ok {
			c.Step = v
		}
	}
	o.rest()
}

// controlFor describes a setting as a control.
func controlFor(s *scenario.Scenario, key string) Control {
	c := Control{Key: key}
	strip, rest, ok := strings.Cut(key, ".")
	if !ok || s.Strip(strip) == nil {
		strip, rest = "", key
	}
	n := settingByKey[rest]
	c.Label, c.Unit, c.Choices, c.Switch = n.Label, n.Unit, slices.Clone(n.words), n.kind == boolean
	if strip != "" {
		c.Label += " of " + strip
	}
	if f, ok := sim.SettingByKey(rest); ok && f.Kind == sim.Number {
		c.Min, c.Max, c.Step = f.Min, f.Max, f.Step
	}
	return c
}

func (d *decoder) listen(o *object, s *Step, i int) {
	sc := d.before(i, false)
	if !sc.latest {
		d.fault(o.start, o.at, "there is nothing to listen to: a \"do\" or \"record\" step has to come first")
	}
	p, given := o.get("strips")
	if !given {
		if d.l.base != nil {
			s.Strips = d.l.base.StripNames()
		}
	} else {
		known := append(slices.Clone(sc.strips), Spoken)
		for _, v := range d.list(p.node, o.at+".strips", "strips") {
			w, _ := plain.Scalar(v)
			if !d.failed && !slices.Contains(known, w) {
				d.fault(v.GetToken(), o.at+".strips", "there is no strip %s%s", plain.Quote(w), didYouMean(w, known))
				continue
			}
			if slices.Contains(s.Strips, w) {
				d.fault(v.GetToken(), o.at+".strips", "%s stands twice", plain.Quote(w))
				continue
			}
			s.Strips = append(s.Strips, w)
		}
	}
	s.Matched = true
	if p, ok := o.get("matched"); ok {
		s.Matched = d.flag(p.node, o.at+".matched")
	}
	if p, ok := o.get("blind"); ok {
		s.Trials = d.whole(p.node, o.at+".blind", 1, 50)
		if len(s.Strips) < 2 {
			d.fault(p.at, o.at+".blind", "blind listening compares two: name two strips")
		} else if len(s.Strips) > 2 {
			d.fault(p.at, o.at+".blind", "blind listening compares two, not %d: name two under \"strips\"", len(s.Strips))
		}
		if !s.Matched {
			d.fault(p.at, o.at+".blind", "the louder one would be known at once: blind listening is matched")
		}
	}
}

func (d *decoder) sources(p pair) {
	sc := d.before(len(d.l.Steps), false)
	for i, v := range d.list(p.node, "sources", "values with their sources, as in {says: …, source: …}") {
		at := fmt.Sprintf("sources[%d]", i+1)
		o := d.object(v, at, "a value with its source")
		if o == nil {
			continue
		}
		var s Source
		for _, k := range []struct {
			key string
			dst *string
		}{{"says", &s.Says}, {"source", &s.Source}} {
			if q, ok := o.get(k.key); ok {
				*k.dst = d.line(q.node, plain.Join(at, k.key), 400)
			} else {
				d.fault(o.start, plain.Join(at, k.key), "is missing")
			}
		}
		if q, ok := o.get("holds"); ok {
			s.Holds = d.expr(q.node, at+".holds", sc, wantBool)
		}
		o.rest()
		d.l.Sources = append(d.l.Sources, s)
	}
}

// lengths plans every take once, to see that it can be performed and is short.
func (d *decoder) lengths(o *object) {
	check := func(name string, script voice.Script) {
		key := "scenario.source.script"
		p, _ := o.get("scenario")
		if name != "" {
			key = "takes." + name
			p, _ = o.get("takes")
		}
		v, err := voice.New(script, d.l.base.Source.Talker, 1)
		switch {
		case err != nil:
			d.fault(p.at, key, "%s", plain.OneLine(err.Error()))
		case v.Seconds() > MaxTakeSeconds:
			d.fault(p.at, key, "lasts %.0f s, the most is %d s: a student waits for it and a trainer's computer runs it again", v.Seconds(), MaxTakeSeconds)
		}
	}
	if slices.ContainsFunc(d.l.Steps, func(s *Step) bool { return s.IsTake() && s.Take == "" }) {
		check("", d.l.base.Source.Script)
	}
	for _, name := range sortedKeys(d.l.takes) {
		check(name, d.l.takes[name])
	}
}
