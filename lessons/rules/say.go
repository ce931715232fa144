package rules

import (
	"strings"

	"gainwright/lessons/names"

	"github.com/expr-lang/expr/ast"
)

// How closely parts of an expression belong together; looser parts stand in brackets.
const (
	loosest = iota
	compared
	summed
	multiplied
	single
)

// joint is how an operator is said, and how closely it binds.
type joint struct {
	words string
	binds int
}

var joints = map[string]joint{
	"or": {" or ", loosest}, "||": {" or ", loosest}, "and": {" and ", loosest}, "&&": {" and ", loosest},
	">=": {": at least ", compared}, "<=": {": at most ", compared}, ">": {": more than ", compared},
	"<": {": less than ", compared}, "==": {": ", compared}, "!=": {": not ", compared},
	"+": {" + ", summed}, "-": {" − ", summed}, "*": {" × ", multiplied}, "/": {" / ", multiplied},
}

// turned is a comparison read from its other side.
var turned = map[string]string{">=": "<=", "<=": ">=", ">": "<", "<": ">", "==": "==", "!=": "!="}

// say writes part of an expression for people: readings and settings as they are called,
// comparisons in words, numbers with the unit of what they are compared with. within is how
// closely what it stands in binds.
func (c *checker) say(n ast.Node, unit string, within int) string {
	if p, _, ok := path(n); ok {
		return names.Words(p)
	}
	switch n := n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		return strings.Replace(names.ValueText(c.check(n).num), "-", "−", 1) + names.Gap(unit)
	case *ast.StringNode:
		return n.Value
	case *ast.BoolNode:
		return map[bool]string{true: "on", false: "off"}[n.Value]
	case *ast.UnaryNode:
		switch n.Operator {
		case "-":
			return "−" + c.say(n.Node, unit, single)
		case "not", "!":
			return "not (" + c.say(n.Node, "", loosest) + ")"
		}
		return c.say(n.Node, unit, within)
	case *ast.BinaryNode:
		return c.sayBinary(n, unit, within)
	case *ast.CallNode:
		return c.sayCall(n, unit)
	}
	return names.InWords(n.String())
}

func (c *checker) sayBinary(n *ast.BinaryNode, unit string, within int) string {
	left, right := n.Left, n.Right
	j, ok := joints[n.Operator]
	if !ok {
		return names.InWords(n.String())
	}
	if j.binds == compared {
		if c.check(left).literal && !c.check(right).literal {
			left, right, j = right, left, joints[turned[n.Operator]]
		}
		unit = c.check(left).unit.Name
	}
	out := c.say(left, unit, j.binds) + j.words + c.say(right, unit, j.binds+1)
	if j.binds < within {
		return "(" + out + ")"
	}
	return out
}

// sayCall says one of the four functions.
func (c *checker) sayCall(n *ast.CallNode, unit string) string {
	name := n.Callee.String()
	if name == "between" && len(n.Arguments) == 3 {
		a := n.Arguments
		u := c.check(a[0]).unit.Name
		return c.say(a[0], u, summed) + ": between " + c.say(a[1], "", summed) + " and " + c.say(a[2], u, summed)
	}
	var args []string
	for _, a := range n.Arguments {
		args = append(args, c.say(a, unit, summed))
	}
	of := strings.Join(args, " and ")
	switch name {
	case "abs":
		return "size of (" + of + ")"
	case "min":
		return "lowest of (" + of + ")"
	case "max":
		return "highest of (" + of + ")"
	}
	return names.InWords(n.String())
}
