package rules

import (
	"gainwright/lessons/names"

	"github.com/expr-lang/expr/ast"
)

var (
	pure  = names.Unit{}
	unitD = names.Unit{Name: "dB", Dim: "dB"}
)

// agree gives the common unit of two numbers; a literal takes the other's.
func agree(l, r value) (names.Unit, bool) {
	switch {
	case l.literal:
		return r.unit, true
	case r.literal:
		return l.unit, true
	}
	return l.unit, l.unit.Dim == r.unit.Dim
}

// arithmetic checks a sum, a difference, a product or a quotient.
func (c *checker) arithmetic(n *ast.BinaryNode, l, r value) value {
	if l.kind != names.Numeric || r.kind != names.Numeric {
		return c.fault(n, "%q is for numbers: this is %s and %s", n.Operator, l.describe(), r.describe())
	}
	switch n.Operator {
	case "*":
		return c.product(n, l, r)
	case "/":
		return c.quotient(n, l, r)
	}
	return c.sum(n, l, r)
}

// isLevel tells whether a value counts from a reference; a literal takes the unit of
// its neighbour.
func (v value) isLevel() bool { return v.unit.Level && !v.literal }

// sum is for + and −: levels and numbers of dB go together in some ways only.
func (c *checker) sum(n *ast.BinaryNode, l, r value) value {
	u, ok := agree(l, r)
	switch {
	case l.literal && r.literal:
		return value{literal: true, num: fold(n.Operator, l.num, r.num)}
	case l.isLevel() && r.isLevel():
		if n.Operator == "+" {
			return c.fault(n, "two levels (%s, %s) cannot be added; one level and a number of dB can", l.unit.Name, r.unit.Name)
		}
		if ok {
			return value{unit: unitD}
		}
	case l.isLevel():
		if r.literal || r.unit.Dim == "dB" {
			return value{unit: l.unit}
		}
	case r.isLevel():
		if n.Operator == "-" && l.literal { // a stated level: "-19 - A.loudness_lufs"
			return value{unit: unitD}
		}
		if n.Operator == "+" && (l.literal || l.unit.Dim == "dB") {
			return value{unit: r.unit}
		}
	case ok:
		return value{unit: u}
	}
	return c.fault(n, "%s and %s cannot be put together with %q", l.unit.Say(), r.unit.Say(), n.Operator)
}

func (c *checker) product(n *ast.BinaryNode, l, r value) value {
	switch {
	case l.literal && r.literal:
		return value{literal: true, num: l.num * r.num}
	case l.isLevel() || r.isLevel():
		return c.fault(n, "a level (%s) times something is not a level; take the difference of two levels first", or(l.unit, r.unit).Name)
	case l.unit.Dim == "":
		return value{unit: r.unit}
	case r.unit.Dim == "":
		return value{unit: l.unit}
	}
	return c.fault(n, "%s times %s has no meaning here", l.unit.Say(), r.unit.Say())
}

func (c *checker) quotient(n *ast.BinaryNode, l, r value) value {
	switch {
	case r.literal && r.num == 0:
		return c.fault(n, "divides by zero")
	case l.literal && r.literal:
		return value{literal: true, num: l.num / r.num}
	case l.isLevel() || r.isLevel():
		return c.fault(n, "a level (%s) cannot be divided; take the difference of two levels first", or(l.unit, r.unit).Name)
	case r.unit.Dim == "" || r.literal:
		return value{unit: l.unit}
	case l.unit.Dim == r.unit.Dim:
		return value{unit: pure}
	}
	return c.fault(n, "%s through %s has no meaning here", l.unit.Say(), r.unit.Say())
}

func or(a, b names.Unit) names.Unit {
	if a.Level {
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
