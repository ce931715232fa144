package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"gainwright/lessons/names"
	"gainwright/sounds/scenario/plain"

	"github.com/expr-lang/expr/ast"
)

var functionArgs = map[string][2]int{"abs": {1, 1}, "min": {2, 8}, "max": {2, 8}, "between": {3, 3}}

// value is what the checker knows of a part of an expression.
type value struct {
	kind    names.Type
	unit    names.Unit
	literal bool // a number of no unit, which takes that of its neighbour
	num     float64
	words   []string // what a word may be, nil for anything
	word    string
	bad     bool // a fault was reported below
}

func (v value) zero() any {
	switch v.kind {
	case names.Boolean:
		return false
	case names.Word:
		return ""
	}
	return float64(0)
}

func (v value) describe() string {
	switch {
	case v.kind == names.Boolean:
		return "true or false"
	case v.kind == names.Word:
		return "a word"
	case v.unit.Name != "":
		return "a number in " + v.unit.Name
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
	sc     *Scope
	names  map[string]value
	faults []*Fault
}

func (c *checker) fault(n ast.Node, format string, args ...any) value {
	c.faults = append(c.faults, &Fault{begin(n), fmt.Sprintf(format, args...)})
	return value{bad: true}
}

func (c *checker) check(n ast.Node) value {
	switch n := n.(type) {
	case *ast.IntegerNode:
		return value{literal: true, num: float64(n.Value)}
	case *ast.FloatNode:
		return value{literal: true, num: n.Value}
	case *ast.BoolNode:
		return value{kind: names.Boolean, literal: true}
	case *ast.StringNode:
		return value{kind: names.Word, literal: true, word: n.Value}
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
		if v.kind != names.Boolean {
			return c.fault(n, "%q is for true or false, not for %s", n.Operator, v.describe())
		}
		return value{kind: names.Boolean}
	case "-", "+":
		if v.kind != names.Numeric {
			return c.fault(n, "%q is for numbers, not for %s", n.Operator, v.describe())
		}
		if !v.literal && v.unit.Level && n.Operator == "-" {
			return c.fault(n, "the negative of a level (%s) is not a level: compare it the other way round", v.unit.Name)
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
		if l.kind != names.Boolean || r.kind != names.Boolean {
			wrong, at := l, n.Left
			if l.kind == names.Boolean {
				wrong, at = r, n.Right
			}
			return c.fault(at, "%q joins comparisons; this is %s", n.Operator, wrong.describe())
		}
		return value{kind: names.Boolean}
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
	if l.kind != names.Numeric && !equality {
		return c.fault(n, "%q is for numbers; %s is only equal or not", n.Operator, l.describe())
	}
	switch l.kind {
	case names.Word:
		return c.compareWords(n, l, r)
	case names.Numeric:
		return c.compareNumbers(n, l, r, equality)
	}
	return value{kind: names.Boolean}
}

func (c *checker) compareWords(n *ast.BinaryNode, l, r value) value {
	for _, p := range [][2]value{{l, r}, {r, l}} {
		if p[0].words != nil && p[1].literal && !slices.Contains(p[0].words, p[1].word) {
			return c.fault(n, "it is never %s%s", plain.Quote(p[1].word), plain.DidYouMean(p[1].word, p[0].words))
		}
	}
	return value{kind: names.Boolean}
}

func (c *checker) compareNumbers(n *ast.BinaryNode, l, r value, equality bool) value {
	u, ok := agree(l, r)
	if !ok {
		return c.fault(n, "compares %s with %s", l.unit.Say(), r.unit.Say())
	}
	if equality && u.Dim != "" && u.Dim != "bit" && !(l.literal && r.literal) {
		return c.fault(n, "a measured value in %s is hardly ever exactly equal: use between(…), >= or <=", u.Say())
	}
	return value{kind: names.Boolean}
}

func (c *checker) call(n *ast.CallNode) value {
	id, ok := n.Callee.(*ast.IdentifierNode)
	if !ok {
		return c.fault(n, "is not used in rules: there are the functions abs, min, max and between")
	}
	args, ok := functionArgs[id.Value]
	if !ok {
		known := []string{"abs", "min", "max", "between"}
		return c.fault(n, "there is no function %s%s", plain.Shorten(id.Value), plain.DidYouMean(id.Value, known))
	}
	if k := len(n.Arguments); k < args[0] || k > args[1] {
		if args[0] == args[1] {
			return c.fault(n, "%s takes %s, not %d", id.Value, plain.Count(args[0], "value", "values"), k)
		}
		return c.fault(n, "%s takes %d to %d values, not %d", id.Value, args[0], args[1], k)
	}
	all, u := c.arguments(id.Value, n.Arguments)
	if u.bad {
		return u
	}
	switch id.Value {
	case "abs":
		if u.unit.Level {
			return c.fault(n, "the size of a level (%s) has no meaning; take the difference of two first", u.unit.Name)
		}
	case "between":
		if lo, hi := all[1], all[2]; lo.literal && hi.literal && lo.num > hi.num {
			return c.fault(n.Arguments[1], "nothing lies between %v and %v: the lower one comes first", lo.num, hi.num)
		}
		return value{kind: names.Boolean}
	}
	return u
}

// arguments checks what a function is given: numbers of one unit, which is that of
// the value returned beside them.
func (c *checker) arguments(function string, nodes []ast.Node) ([]value, value) {
	var all []value
	for _, a := range nodes {
		v := c.check(a)
		if v.bad {
			return nil, v
		}
		if v.kind != names.Numeric {
			return nil, c.fault(a, "%s is for numbers; this is %s", function, v.describe())
		}
		all = append(all, v)
	}
	u := value{literal: true}
	for i, v := range all {
		if v.literal {
			continue
		}
		if !u.literal && u.unit.Dim != v.unit.Dim {
			return nil, c.fault(nodes[i], "%s compares %s with %s", function, u.unit.Say(), v.unit.Say())
		}
		if u.literal {
			u = value{unit: v.unit}
		}
	}
	return all, u
}

// name looks a variable up.
func (c *checker) name(p string, at int) value {
	fault := func(format string, args ...any) value {
		c.faults = append(c.faults, &Fault{at, plain.Shorten(p) + ": " + fmt.Sprintf(format, args...)})
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
	tops := slices.Concat(c.sc.Strips, c.sc.Takes, []string{"drawn"})
	switch {
	case head == "drawn":
		n, ok := c.sc.Drawn[rest]
		if !ok {
			return c.undrawn(rest, fault)
		}
		return keep(value{kind: n.Type, unit: names.UnitOf(n.Unit), words: n.Words})
	case head == "answers" && more:
		if !slices.Contains(c.sc.Answers, rest) {
			return fault("no question of that name comes before%s", plain.DidYouMean(rest, c.sc.Answers))
		}
		return keep(value{kind: names.Word})
	case c.sc.Worked[head].Of != nil && !(rest == Hits && slices.Contains(c.sc.Blind, head)):
		return c.worked(p, rest, keep, fault)
	case slices.Contains(c.sc.Blind, head):
		if rest != Hits {
			return fault("of a blind comparison there is %s.%s: how many trials were right", head, Hits)
		}
		return keep(value{unit: names.UnitOf("")})
	case slices.Contains(c.sc.Strips, head):
		if !c.sc.Latest && c.sc.Later {
			return fault("no take comes after this prediction: a \"record\" or \"do\" step has to follow it")
		}
		if !c.sc.Latest {
			return fault("no take has been recorded before this step: a \"do\" or \"record\" step has to come first")
		}
		if !more {
			return fault("a reading of the strip is missing, as in %s.headroom_db", head)
		}
		return c.below(p, rest, keep, fault)
	case slices.Contains(c.sc.Takes, head):
		strip, below, more := strings.Cut(rest, ".")
		if !slices.Contains(c.sc.Strips, strip) || !more {
			return fault("a step's take is followed by strip and reading, as in %s.%s.headroom_db", head, c.sc.Strips[0])
		}
		return c.below(p, below, keep, fault)
	case isDrawn(c.sc.Drawn, p):
		return fault("is drawn: write drawn.%s", p)
	case !more && isReading(head):
		return fault("is a reading of a strip: write %s.%s", c.sc.Strips[0], head)
	}
	return fault("there is no strip or earlier take of that name%s", plain.DidYouMean(head, tops))
}

// undrawn says that nothing of that name is drawn, unless "vary" has something like
// it that could not be read, which was reported there.
func (c *checker) undrawn(name string, fault func(string, ...any) value) value {
	if slices.ContainsFunc(c.sc.Unread, func(u string) bool {
		return u == name || plain.Nearest(name, []string{u}) != "" || plain.Nearest(u, []string{name}) != ""
	}) {
		return value{bad: true}
	}
	if len(c.sc.Drawn) == 0 {
		return fault("nothing is drawn in this lesson (it has no \"vary\")")
	}
	return fault("no such quantity is drawn%s", plain.DidYouMean(name, slices.Sorted(maps.Keys(c.sc.Drawn))))
}

// worked looks up a reading of what a mend, plan or twin step works out.
func (c *checker) worked(p, rest string, keep func(value) value, fault func(string, ...any) value) value {
	head, _, _ := strings.Cut(p, ".")
	of, key, _ := strings.Cut(rest, ".")
	w := c.sc.Worked[head]
	if !slices.Contains(w.Of, of) {
		return fault("what a step works out is followed by of what and a reading, as in %s.%s.%s%s", head, w.Of[0], w.Readings[0], plain.DidYouMean(of, w.Of))
	}
	if !slices.Contains(w.Readings, key) {
		return fault("of what was worked out there are %s%s", plain.Listed(w.Readings, "and"), plain.DidYouMean(key, w.Readings))
	}
	n, _ := names.Figure(key)
	return keep(value{unit: names.UnitOf(n.Unit)})
}

func isReading(key string) bool { _, ok := names.Reading(key); return ok }

func isDrawn(all map[string]names.Name, key string) bool { _, ok := all[key]; return ok }

func (c *checker) below(p, key string, keep func(value) value, fault func(string, ...any) value) value {
	if n, ok := names.Reading(key); ok {
		return keep(value{unit: names.UnitOf(n.Unit)})
	}
	if n, ok := names.Setting(key); ok {
		return keep(value{kind: n.Type, unit: names.UnitOf(n.Unit), words: n.Words})
	}
	var all []string
	for _, n := range names.Readings() {
		all = append(all, n.Key)
	}
	for _, n := range names.Settings() {
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
