package lessons

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

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
	kind  kind
	names []string // the variables it uses, each once
	prog  *vm.Program
	terms []term // the parts that "and" joins, for telling which one failed
}

type term struct {
	text  string
	names []string
	prog  *vm.Program
}

// scope is what an expression may name.
type scope struct {
	strips  []string
	takes   []string        // ids of take steps before this one: "loud.A.overs"
	latest  bool            // a take was recorded before, so that "A.overs" means something
	drawn   map[string]Name // "drawn.distance_m"
	answers []string        // ids of questions before: "answers.guess"
	later   bool            // of a prediction: the take that decides it comes afterwards
	// unread are drawn quantities whose entry under "vary" is faulty: what names one
	// is not a second fault.
	unread []string
}

// A ruleFault is what is wrong in an expression, and where: a column counted in
// characters from 0.
type ruleFault struct {
	col int
	msg string
}

func (e *ruleFault) Error() string { return e.msg }

// want is what an expression has to give.
type want uint8

const (
	wantBool want = iota
	wantNumber
	wantAny
)

// compile checks an expression and readies it. Every error is a *ruleFault; all
// that can be found are returned.
func compile(text string, sc *scope, w want) (*Expr, []*ruleFault) {
	fail := func(col int, format string, args ...any) []*ruleFault {
		return []*ruleFault{{col, fmt.Sprintf(format, args...)}}
	}
	if strings.TrimSpace(text) == "" {
		return nil, fail(0, "is empty")
	}
	if len(text) > maxExprBytes {
		return nil, fail(0, "too long: %d bytes, the most is %d", len(text), maxExprBytes)
	}
	depth := 0
	for i, r := range []rune(text) {
		switch r {
		case '(', '[', '{':
			depth++
		case ')', ']', '}':
			depth--
		case '#', ';':
			return nil, fail(i, "%q is not used in rules", r)
		}
		if depth > maxExprDepth {
			return nil, fail(i, "brackets go more than %d deep", maxExprDepth)
		}
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
	case w == wantBool && got.kind != boolean:
		return nil, fail(0, "gives %s, not true or false: compare it with something, as in \"… >= 6\"", got.describe())
	case w == wantNumber && got.kind != numeric:
		return nil, fail(0, "gives %s, not a number", got.describe())
	case w == wantBool && len(c.names) == 0:
		return nil, fail(0, "names no reading or setting: it would always give the same")
	}
	e := &Expr{Text: strings.TrimSpace(text), Unit: got.unit.name, kind: got.kind}
	e.names = sortedKeys(c.names)
	if e.prog, err = build(text, c.names); err != nil {
		return nil, fail(0, "%s", plain.OneLine(err.Error()))
	}
	if e.kind == boolean {
		for _, n := range conjuncts(tree.Node) {
			t := term{text: tidyText(n.String())}
			sub := &checker{text: text, sc: sc}
			sub.check(n)
			t.names = sortedKeys(sub.names)
			if t.prog, err = build(n.String(), sub.names); err != nil {
				return nil, fail(0, "%s", plain.OneLine(err.Error()))
			}
			e.terms = append(e.terms, t)
		}
	}
	return e, nil
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
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
	// A unit after a number is the likeliest slip.
	rest := []rune(text)
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

var functionArgs = map[string][2]int{"abs": {1, 1}, "min": {2, 8}, "max": {2, 8}, "between": {3, 3}}

// value is what the checker knows of a part of an expression.
type value struct {
	kind    kind
	unit    unit
	literal bool // a number of no unit, which takes that of its neighbour
	num     float64
	words   []string // what a word may be, nil for anything
	word    string
	bad     bool // a fault was reported below
}

func (v value) zero() any {
	switch v.kind {
	case boolean:
		return false
	case word:
		return ""
	}
	return float64(0)
}

func (v value) describe() string {
	switch {
	case v.kind == boolean:
		return "true or false"
	case v.kind == word:
		return "a word"
	case v.unit.name != "":
		return "a number in " + v.unit.name
	}
	return "a plain number"
}

// path reads a chain of members: "A.preamp.gain_db", and where it begins.
func path(n ast.Node) (string, int, bool) {
	switch n := n.(type) {
	case *ast.IdentifierNode:
		return n.Value, n.Location().From, true
	case *ast.MemberNode:
		p, ok := n.Property.(*ast.StringNode)
		if !ok || n.Optional || n.Method {
			return "", 0, false
		}
		base, at, ok := path(n.Node)
		return base + "." + p.Value, at, ok
	case *ast.ChainNode:
		return "", 0, false
	}
	return "", 0, false
}

// begin is where a part of an expression starts.
func begin(n ast.Node) int {
	switch n := n.(type) {
	case *ast.BinaryNode:
		return begin(n.Left)
	case *ast.MemberNode:
		return begin(n.Node)
	case *ast.CallNode:
		return begin(n.Callee)
	case nil:
		return 0
	}
	return n.Location().From
}

type checker struct {
	text   string
	sc     *scope
	names  map[string]value
	faults []*ruleFault
}

func (c *checker) fault(n ast.Node, format string, args ...any) value {
	c.faults = append(c.faults, &ruleFault{begin(n), fmt.Sprintf(format, args...)})
	return value{bad: true}
}

func (c *checker) check(n ast.Node) value {
	switch n := n.(type) {
	case *ast.IntegerNode:
		return value{literal: true, num: float64(n.Value)}
	case *ast.FloatNode:
		return value{literal: true, num: n.Value}
	case *ast.BoolNode:
		return value{kind: boolean, literal: true}
	case *ast.StringNode:
		return value{kind: word, literal: true, word: n.Value}
	case *ast.IdentifierNode, *ast.MemberNode:
		p, at, ok := path(n)
		if !ok {
			return c.fault(n, "is not how a reading is named: write strip, point, name, as in A.headroom_db")
		}
		return c.name(p, at)
	case *ast.UnaryNode:
		return c.unary(n)
	case *ast.BinaryNode:
		return c.binary(n)
	case *ast.CallNode:
		return c.call(n)
	case *ast.BuiltinNode:
		return c.fault(n, "there is no function %s: there are abs, min, max and between", plain.Shorten(n.Name))
	}
	return c.fault(n, "is not used in rules: they have comparisons, + - * /, and, or, not, abs, min, max and between")
}

func (c *checker) unary(n *ast.UnaryNode) value {
	v := c.check(n.Node)
	if v.bad {
		return v
	}
	switch n.Operator {
	case "!", "not":
		if v.kind != boolean {
			return c.fault(n, "%q is for true or false, not for %s", n.Operator, v.describe())
		}
		return value{kind: boolean}
	case "-", "+":
		if v.kind != numeric {
			return c.fault(n, "%q is for numbers, not for %s", n.Operator, v.describe())
		}
		if !v.literal && v.unit.level && n.Operator == "-" {
			return c.fault(n, "the negative of a level (%s) is not a level: compare it the other way round", v.unit.name)
		}
		if n.Operator == "-" {
			v.num = -v.num
		}
		return v
	}
	return c.fault(n, "%q is not used in rules", n.Operator)
}

func (c *checker) binary(n *ast.BinaryNode) value {
	l, r := c.check(n.Left), c.check(n.Right)
	if l.bad || r.bad {
		return value{bad: true}
	}
	switch n.Operator {
	case "&&", "and", "||", "or":
		if l.kind != boolean || r.kind != boolean {
			wrong, at := l, n.Left
			if l.kind == boolean {
				wrong, at = r, n.Right
			}
			return c.fault(at, "%q joins comparisons; this is %s", n.Operator, wrong.describe())
		}
		return value{kind: boolean}
	case "==", "!=", "<", "<=", ">", ">=":
		return c.compare(n, l, r)
	case "+", "-", "*", "/":
		return c.arithmetic(n, l, r)
	}
	return c.fault(n, "%q is not used in rules: they have comparisons, + - * /, and, or, not, abs, min, max and between", n.Operator)
}

func (c *checker) compare(n *ast.BinaryNode, l, r value) value {
	if l.kind != r.kind {
		return c.fault(n, "compares %s with %s", l.describe(), r.describe())
	}
	equality := n.Operator == "==" || n.Operator == "!="
	if l.kind != numeric && !equality {
		return c.fault(n, "%q is for numbers; %s is only equal or not", n.Operator, l.describe())
	}
	if l.kind == word {
		for _, p := range [][2]value{{l, r}, {r, l}} {
			if p[0].words != nil && p[1].literal && !slices.Contains(p[0].words, p[1].word) {
				return c.fault(n, "it is never %s%s", plain.Quote(p[1].word), didYouMean(p[1].word, p[0].words))
			}
		}
	}
	if l.kind == numeric {
		if u, ok := agree(l, r); !ok {
			return c.fault(n, "compares %s with %s", l.unit.say(), r.unit.say())
		} else if equality && u.dim != "" && u.dim != "bit" && !(l.literal && r.literal) {
			return c.fault(n, "a measured value in %s is hardly ever exactly equal: use between(…), >= or <=", u.say())
		}
	}
	return value{kind: boolean}
}

func (u unit) say() string {
	if u.name == "" {
		return "a plain number"
	}
	return u.name
}

// agree gives the common unit of two numbers; a literal takes the other's.
func agree(l, r value) (unit, bool) {
	switch {
	case l.literal:
		return r.unit, true
	case r.literal:
		return l.unit, true
	}
	return l.unit, l.unit.dim == r.unit.dim
}

func (c *checker) arithmetic(n *ast.BinaryNode, l, r value) value {
	if l.kind != numeric || r.kind != numeric {
		return c.fault(n, "%q is for numbers: this is %s and %s", n.Operator, l.describe(), r.describe())
	}
	lit := l.literal && r.literal
	switch n.Operator {
	case "+", "-":
		u, ok := agree(l, r)
		if lit {
			return value{literal: true, num: fold(n.Operator, l.num, r.num)}
		}
		ll, rl := l.unit.level && !l.literal, r.unit.level && !r.literal
		switch {
		case ll && rl && n.Operator == "+":
			return c.fault(n, "two levels (%s, %s) cannot be added; one level and a number of dB can", l.unit.name, r.unit.name)
		case ll && rl && ok:
			return value{unit: unitD}
		case ll && (r.literal || r.unit.dim == "dB"):
			return value{unit: l.unit}
		case rl && n.Operator == "-" && l.literal: // a stated level: "-19 - A.loudness_lufs"
			return value{unit: unitD}
		case rl && n.Operator == "+" && (l.literal || l.unit.dim == "dB"):
			return value{unit: r.unit}
		case ll || rl || !ok:
			return c.fault(n, "%s and %s cannot be put together with %q", l.unit.say(), r.unit.say(), n.Operator)
		}
		return value{unit: u}
	case "*":
		switch {
		case lit:
			return value{literal: true, num: l.num * r.num}
		case l.unit.level && !l.literal || r.unit.level && !r.literal:
			return c.fault(n, "a level (%s) times something is not a level; take the difference of two levels first", or(l.unit, r.unit).name)
		case l.unit.dim == "":
			return value{unit: r.unit}
		case r.unit.dim == "":
			return value{unit: l.unit}
		}
		return c.fault(n, "%s times %s has no meaning here", l.unit.say(), r.unit.say())
	}
	// "/"
	switch {
	case r.literal && r.num == 0:
		return c.fault(n, "divides by zero")
	case lit:
		return value{literal: true, num: l.num / r.num}
	case l.unit.level && !l.literal || r.unit.level && !r.literal:
		return c.fault(n, "a level (%s) cannot be divided; take the difference of two levels first", or(l.unit, r.unit).name)
	case r.unit.dim == "" || r.literal:
		return value{unit: l.unit}
	case l.unit.dim == r.unit.dim:
		return value{unit: pure}
	}
	return c.fault(n, "%s through %s has no meaning here", l.unit.say(), r.unit.say())
}

func or(a, b unit) unit {
	if a.level {
		return a
	}
	return b
}

func fold(op string, a, b float64) float64 {
	if op == "+" {
		return a + b
	}
	return a - b
}

func (c *checker) call(n *ast.CallNode) value {
	id, ok := n.Callee.(*ast.IdentifierNode)
	if !ok {
		return c.fault(n, "is not used in rules: there are the functions abs, min, max and between")
	}
	args, ok := functionArgs[id.Value]
	if !ok {
		known := []string{"abs", "min", "max", "between"}
		return c.fault(n, "there is no function %s%s", plain.Shorten(id.Value), didYouMean(id.Value, known))
	}
	if k := len(n.Arguments); k < args[0] || k > args[1] {
		if args[0] == args[1] {
			return c.fault(n, "%s takes %s, not %d", id.Value, plural(args[0], "value", "values"), k)
		}
		return c.fault(n, "%s takes %d to %d values, not %d", id.Value, args[0], args[1], k)
	}
	var all []value
	for _, a := range n.Arguments {
		v := c.check(a)
		if v.bad {
			return v
		}
		if v.kind != numeric {
			return c.fault(a, "%s is for numbers; this is %s", id.Value, v.describe())
		}
		all = append(all, v)
	}
	u := value{literal: true}
	for i, v := range all {
		if v.literal {
			continue
		}
		if !u.literal && u.unit.dim != v.unit.dim {
			return c.fault(n.Arguments[i], "%s compares %s with %s", id.Value, u.unit.say(), v.unit.say())
		}
		if u.literal {
			u = value{unit: v.unit}
		}
	}
	switch id.Value {
	case "abs":
		if u.unit.level {
			return c.fault(n, "the size of a level (%s) has no meaning; take the difference of two first", u.unit.name)
		}
	case "between":
		if lo, hi := all[1], all[2]; lo.literal && hi.literal && lo.num > hi.num {
			return c.fault(n.Arguments[1], "nothing lies between %v and %v: the lower one comes first", lo.num, hi.num)
		}
		return value{kind: boolean}
	}
	return u
}

// name looks a variable up.
func (c *checker) name(p string, at int) value {
	fault := func(format string, args ...any) value {
		c.faults = append(c.faults, &ruleFault{at, plain.Shorten(p) + ": " + fmt.Sprintf(format, args...)})
		return value{bad: true}
	}
	keep := func(v value) value {
		if c.names == nil {
			c.names = map[string]value{}
		}
		c.names[p] = v
		return v
	}
	head, rest, more := strings.Cut(p, ".")
	tops := slices.Concat(c.sc.strips, c.sc.takes, []string{"drawn"})
	switch {
	case head == "drawn":
		n, ok := c.sc.drawn[rest]
		if !ok {
			if slices.ContainsFunc(c.sc.unread, func(u string) bool {
				return u == rest || plain.Nearest(rest, []string{u}) != "" || plain.Nearest(u, []string{rest}) != ""
			}) {
				return value{bad: true}
			}
			if len(c.sc.drawn) == 0 {
				return fault("nothing is drawn in this lesson (it has no \"vary\")")
			}
			return fault("no such quantity is drawn%s", didYouMean(rest, sortedKeys(c.sc.drawn)))
		}
		return keep(value{kind: n.kind, unit: n.unit(), words: n.words})
	case head == "answers" && more:
		if !slices.Contains(c.sc.answers, rest) {
			return fault("no question of that name comes before%s", didYouMean(rest, c.sc.answers))
		}
		return keep(value{kind: word})
	case slices.Contains(c.sc.strips, head):
		if !c.sc.latest && c.sc.later {
			return fault("no take comes after this prediction: a \"record\" or \"do\" step has to follow it")
		}
		if !c.sc.latest {
			return fault("no take has been recorded before this step: a \"do\" or \"record\" step has to come first")
		}
		if !more {
			return fault("a reading of the strip is missing, as in %s.headroom_db", head)
		}
		return c.below(p, rest, keep, fault)
	case slices.Contains(c.sc.takes, head):
		strip, below, more := strings.Cut(rest, ".")
		if !slices.Contains(c.sc.strips, strip) || !more {
			return fault("a step's take is followed by strip and reading, as in %s.%s.headroom_db", head, c.sc.strips[0])
		}
		return c.below(p, below, keep, fault)
	case isDrawn(c.sc.drawn, p):
		return fault("is drawn: write drawn.%s", p)
	case !more && isReading(head):
		return fault("is a reading of a strip: write %s.%s", c.sc.strips[0], head)
	}
	return fault("there is no strip or earlier take of that name%s", didYouMean(head, tops))
}

func isDrawn(all map[string]Name, key string) bool { _, ok := all[key]; return ok }

func isReading(key string) bool { _, ok := readingField[key]; return ok }

func (c *checker) below(p, key string, keep func(value) value, fault func(string, ...any) value) value {
	if i := slices.IndexFunc(readingNames, func(n Name) bool { return n.Key == key }); i >= 0 {
		return keep(value{unit: readingNames[i].unit()})
	}
	if n, ok := settingByKey[key]; ok {
		return keep(value{kind: n.kind, unit: n.unit(), words: n.words})
	}
	var all []string
	for _, n := range readingNames {
		all = append(all, n.Key)
	}
	for _, n := range settingNames {
		all = append(all, n.Key)
	}
	near := plain.Nearest(key, all)
	if near == "" {
		last := key[strings.LastIndexByte(key, '.')+1:]
		for _, k := range all {
			if k[strings.LastIndexByte(k, '.')+1:] == last {
				near = k
			}
		}
	}
	if near != "" {
		return fault("there is no reading or setting of that name: did you mean %s?", near)
	}
	return fault("there is no reading or setting of that name (gainwright lesson check --names lists them)")
}

// values are the variables of expressions by their full names: float64, bool or
// string.
type values map[string]any

// A Check is one part of a rule, held against a take.
type Check struct {
	Text string `json:"text"` // "A.headroom_db >= 6"
	OK   bool   `json:"ok"`
	Got  string `json:"got"` // "A.headroom_db is 2.3 dB"
}

// Holds evaluates a rule. A value that could not be measured makes its part
// false, whatever is compared with it.
func (e *Expr) holds(v values) (bool, []Check) {
	all := true
	var checks []Check
	for _, t := range e.terms {
		ok, got := true, make([]string, 0, len(t.names))
		for _, n := range t.names {
			if f, num := v[n].(float64); num && math.IsNaN(f) {
				ok = false
			}
			got = append(got, n+" is "+beside(n, v[n], t.text))
		}
		if ok {
			out, err := run(t.prog, v)
			ok, _ = out.(bool)
			ok = ok && err == nil
		}
		all = all && ok
		checks = append(checks, Check{t.text, ok, strings.Join(got, ", ")})
	}
	return all, checks
}

// beside writes the value of a variable next to the comparison it stands in: 5.98 dB
// is not told as 6.0 dB where 6 are asked for.
func beside(name string, v any, text string) string {
	out := show(name, v)
	x, ok := v.(float64)
	for _, w := range numberIn.FindAllString(text, -1) {
		limit, err := strconv.ParseFloat(w, 64)
		if limit = math.Copysign(limit, x); ok && err == nil && x != limit && show(name, limit) == out {
			_, unit, _ := strings.Cut(out, " ")
			return strings.TrimSpace(strings.Replace(strconv.FormatFloat(x, 'f', 3, 64), "-", "−", 1) + " " + unit)
		}
	}
	return out
}

// number evaluates a numeric expression; NaN if it has no value.
func (e *Expr) number(v values) float64 {
	for _, n := range e.names {
		if v[n] == nil {
			return math.NaN()
		}
	}
	out, err := run(e.prog, v)
	if err != nil {
		return math.NaN()
	}
	switch x := out.(type) {
	case float64:
		return x
	case int:
		return float64(x)
	}
	return math.NaN()
}

// text evaluates any expression for a sentence.
func (e *Expr) text(v values) string {
	for _, n := range e.names {
		if v[n] == nil {
			return "(not known yet)"
		}
	}
	switch e.kind {
	case numeric:
		return format(e.number(v), e.Unit)
	case boolean:
		if ok, _ := e.holds(v); ok {
			return "yes"
		}
		return "no"
	}
	out, err := run(e.prog, v)
	if err != nil {
		return "(not known yet)"
	}
	return fmt.Sprint(out)
}

func run(p *vm.Program, v values) (any, error) {
	m := vm.VM{MemoryBudget: 1000}
	return m.Run(p, map[string]any(v))
}

// show writes the value of a variable with its unit.
func show(name string, v any) string {
	f, ok := v.(float64)
	if !ok {
		if v == nil {
			return "not known yet"
		}
		return fmt.Sprint(v)
	}
	key := name
	for {
		if i := slices.IndexFunc(readingNames, func(n Name) bool { return n.Key == key }); i >= 0 {
			return format(f, readingNames[i].Unit)
		}
		if n, ok := settingByKey[key]; ok {
			return format(f, n.Unit)
		}
		_, rest, more := strings.Cut(key, ".")
		if !more {
			return format(f, "")
		}
		key = rest
	}
}
