// Package rules checks and evaluates the expressions of lessons, in rules and in the
// places of texts: comparisons and sums of readings whose units have to agree, with work
// bounded by their length.
package rules

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/names"
	"gainwright/sounds/scenario/plain"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/vm"
)

// Limits of one expression. With no loops, ranges, strings built or functions
// beyond the four below, its work is bounded by its length.
const (
	maxExprBytes = 500
	maxExprNodes = 120
	maxExprDepth = 32
)

// An Expr is a checked expression over readings, settings and drawn quantities.
type Expr struct {
	Text  string
	Unit  string // of a numeric result
	kind  names.Type
	Names []string // the variables it uses, each once
	prog  *vm.Program
	terms []term // the parts that "and" joins, for telling which one failed
}

type term struct {
	text  string
	said  string // for people
	names []string
	prog  *vm.Program
}

// Hits name how many trials of a blind comparison were right.
const Hits = "hits"

// Scope is what an expression may name.
type Scope struct {
	Strips  []string
	Takes   []string              // ids of take steps before this one: "loud.A.overs"
	Latest  bool                  // a take was recorded before, so that "A.overs" means something
	Drawn   map[string]names.Name // "drawn.distance_m"
	Answers []string              // ids of questions before: "answers.guess"
	Blind   []string              // ids of blind comparisons: "trials.hits"
	Worked  map[string]Worked     // by the ids of mend, plan and twin steps: "ways.guessed.sdr_db"
	Later   bool                  // of a prediction: the take that decides it comes afterwards
	// unread are drawn quantities whose entry under "vary" is faulty: what names one
	// is not a second fault.
	Unread []string
}

// Worked is what there is to read of a step that works something out of a take.
type Worked struct {
	Of       []string // the ways of a mend step, else the strip
	Readings []string
}

// AddWorked makes what a step works out known.
func (sc *Scope) AddWorked(step string, w Worked) {
	if sc.Worked == nil {
		sc.Worked = map[string]Worked{}
	}
	sc.Worked[step] = w
}

// What there is to read: of a file that was treated, of the plan of an hour, of the second
// performance that leaves the same file.
var (
	MendedReadings  = []string{"sdr_db", "peak_dbfs", "true_peak_dbtp", "loudness_lufs"}
	PlannedReadings = []string{"low_gain_db", "high_gain_db", "advised_gain_db", "held_peak_dbfs", "risk_percent", "take_risk_percent"}
	TwinReadings    = []string{"free_percent", "differing_samples", "apart_db", "difference_db", "correlation"}
)

// A Fault is what is wrong in an expression, and where: a column counted in
// characters from 0.
type Fault struct {
	Col int
	Msg string
}

func (e *Fault) Error() string { return e.Msg }

// Want is what an expression has to give.
type Want uint8

const (
	Bool Want = iota
	Numerical
	Any
)

// Compile checks an expression and readies it. Every error is a *Fault; all
// that can be found are returned.
func Compile(text string, sc *Scope, w Want) (*Expr, []*Fault) {
	fail := func(col int, format string, args ...any) []*Fault {
		return []*Fault{{col, fmt.Sprintf(format, args...)}}
	}
	if f := unreadable(text); f != nil {
		return nil, []*Fault{f}
	}
	tree, err := parser.ParseWithConfig(text, parseConfig())
	if err != nil {
		var fe *file.Error
		if errors.As(err, &fe) {
			return nil, fail(fe.From, "%s", parseMessage(text, fe))
		}
		return nil, fail(0, "%s", plain.OneLine(err.Error()))
	}
	c := &checker{text: text, sc: sc}
	got := c.check(tree.Node)
	if len(c.faults) > 0 {
		return nil, c.faults
	}
	switch {
	case got.bad:
		return nil, nil // reported where it stands
	case w == Bool && got.kind != names.Boolean:
		return nil, fail(0, "gives %s, not true or false: compare it with something, as in \"… >= 6\"", got.describe())
	case w == Numerical && got.kind != names.Numeric:
		return nil, fail(0, "gives %s, not a number", got.describe())
	case w == Bool && len(c.names) == 0:
		return nil, fail(0, "names no reading or setting: it would always give the same")
	}
	e := &Expr{Text: strings.TrimSpace(text), Unit: got.unit.Name, kind: got.kind}
	e.Names = slices.Sorted(maps.Keys(c.names))
	if e.prog, err = build(text, c.names); err != nil {
		return nil, fail(0, "%s", plain.OneLine(err.Error()))
	}
	if e.kind == names.Boolean {
		if e.terms, err = terms(tree.Node, text, sc); err != nil {
			return nil, fail(0, "%s", plain.OneLine(err.Error()))
		}
	}
	return e, nil
}

// unreadable is what keeps a text from the parser: its length, its depth, or a
// character that the parser knows and rules do not use.
func unreadable(text string) *Fault {
	if strings.TrimSpace(text) == "" {
		return &Fault{0, "is empty"}
	}
	if len(text) > maxExprBytes {
		return &Fault{0, fmt.Sprintf("too long: %d bytes, the most is %d", len(text), maxExprBytes)}
	}
	depth := 0
	for i, r := range []rune(text) {
		switch r {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			depth--
		case '#', ';':
			return &Fault{i, fmt.Sprintf("%q is not used in rules", r)}
		}
		if depth > maxExprDepth {
			return &Fault{i, fmt.Sprintf("brackets go more than %d deep", maxExprDepth)}
		}
	}
	return nil
}

// terms takes a rule apart at its "and"s, so that each can be judged by itself.
func terms(rule ast.Node, text string, sc *Scope) ([]term, error) {
	var out []term
	for _, n := range conjuncts(rule) {
		t := term{text: tidyText(n.String())}
		sub := &checker{text: text, sc: sc}
		sub.check(n)
		t.names = slices.Sorted(maps.Keys(sub.names))
		t.said = sub.say(n, "", loosest)
		var err error
		if t.prog, err = build(n.String(), sub.names); err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	return out, nil
}

func parseConfig() *conf.Config {
	c := conf.CreateNew()
	expr.DisableAllBuiltins()(c)
	for name := range c.Disabled {
		delete(c.Builtins, name)
	}
	c.DisableIfOperator = true
	c.MaxNodes = maxExprNodes
	return c
}

// parseMessage says in our words what the parser stumbled over.
func parseMessage(text string, fe *file.Error) string {
	switch {
	case strings.Contains(fe.Message, "unexpected token EOF"):
		return "ends too early: something is missing after " + plain.Quote(strings.TrimSpace(text))
	case strings.Contains(fe.Message, "maximum allowed nodes"):
		return fmt.Sprintf("too long: more than %d parts", maxExprNodes)
	case strings.Contains(fe.Message, "Operator(\"=\")") || strings.Contains(fe.Message, "\"=\""):
		return "a comparison is written == (or >=, <=), not ="
	}
	rest := []rune(text)
	if fe.From < len(rest) && strings.ContainsRune("“”„‘’«»", rest[fe.From]) {
		return "curly quotes are none in rules: a word is put in \" or '"
	}
	// A unit after a number is the likeliest slip.
	if fe.From <= len(rest) {
		w := strings.ToLower(firstWord(string(rest[fe.From:])))
		for _, u := range []string{"db", "dbfs", "dbtp", "lufs", "lu", "ms", "m", "dbu"} {
			if w == u {
				return "numbers are written without a unit: the reading's own unit counts"
			}
		}
	}
	return "cannot be read here: " + plain.OneLine(fe.Message)
}

func firstWord(s string) string {
	s = strings.TrimSpace(s)
	for i, r := range s {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z') {
			return s[:i]
		}
	}
	return s
}

func tidyText(s string) string {
	if strings.HasPrefix(s, "(") && strings.HasSuffix(s, ")") && strings.Count(s, "(") == 1 {
		s = s[1 : len(s)-1]
	}
	return s
}

// conjuncts are the parts that && joins.
func conjuncts(n ast.Node) []ast.Node {
	if b, ok := n.(*ast.BinaryNode); ok && (b.Operator == "&&" || b.Operator == "and") {
		return append(conjuncts(b.Left), conjuncts(b.Right)...)
	}
	return []ast.Node{n}
}

// flatten replaces "A.preamp.gain_db" by one identifier of that name.
type flatten struct{ known map[string]value }

func (f flatten) Visit(n *ast.Node) {
	if p, _, ok := path(*n); ok {
		if _, known := f.known[p]; known {
			ast.Patch(n, &ast.IdentifierNode{Value: p})
		}
	}
}

func build(text string, names map[string]value) (*vm.Program, error) {
	env := map[string]any{}
	for n, v := range names {
		env[n] = v.zero()
	}
	return expr.Compile(text, append(functions(),
		expr.Env(env), expr.DisableAllBuiltins(), expr.DisableIfOperator(), expr.MaxNodes(2*maxExprNodes),
		expr.Patch(flatten{names}), expr.Optimize(false))...)
}

// functions are all that rules have.
func functions() []expr.Option {
	num := func(v any) float64 {
		switch v := v.(type) {
		case float64:
			return v
		case int:
			return float64(v)
		}
		return math.NaN()
	}
	nums := func(name string, f func(x []float64) any, types ...any) expr.Option {
		return expr.Function(name, func(p ...any) (any, error) {
			x := make([]float64, len(p))
			for i := range p {
				x[i] = num(p[i])
			}
			return f(x), nil
		}, types...)
	}
	return []expr.Option{
		nums("abs", func(x []float64) any { return math.Abs(x[0]) }, new(func(float64) float64)),
		nums("min", func(x []float64) any { return slices.Min(x) }, new(func(float64, ...float64) float64)),
		nums("max", func(x []float64) any { return slices.Max(x) }, new(func(float64, ...float64) float64)),
		nums("between", func(x []float64) any { return x[0] >= x[1] && x[0] <= x[2] }, new(func(float64, float64, float64) bool)),
	}
}

func exec(p *vm.Program, v Values) (any, error) {
	m := vm.VM{MemoryBudget: 1000}
	return m.Run(p, map[string]any(v))
}
