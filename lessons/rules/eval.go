package rules

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"gainwright/lessons/names"
)

// Numerals finds the numbers in an expression.
var Numerals = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`[0-9]+(\.[0-9]+)?`) })

// Values are the variables of expressions by their full names: float64, bool or
// string.
type Values map[string]any

// A Check is one part of a rule, held against a take.
type Check struct {
	Text string `json:"text"` // "A.headroom_db >= 6"
	OK   bool   `json:"ok"`
	Got  string `json:"got"` // "A.headroom_db is 2.3 dB"
	// The same for people, without the names that rules are written with.
	Said    string `json:"said"`     // "headroom of A: at least 6 dB"
	GotSaid string `json:"got_said"` // "headroom of A: 2.3 dB"
}

// Holds evaluates a rule. A value that could not be measured makes its part
// false, whatever is compared with it.
func (e *Expr) Holds(v Values) (bool, []Check) {
	all := true
	var checks []Check
	for _, t := range e.terms {
		ok, got := true, make([]string, 0, len(t.names))
		var said []string
		for _, n := range t.names {
			if f, num := v[n].(float64); num && math.IsNaN(f) {
				ok = false
			}
			got = append(got, n+" is "+beside(n, v[n], t.text))
			said = append(said, names.Words(n)+": "+beside(n, v[n], t.text))
		}
		if ok {
			out, err := exec(t.prog, v)
			ok, _ = out.(bool)
			ok = ok && err == nil
		}
		all = all && ok
		checks = append(checks, Check{t.text, ok, strings.Join(got, ", "), t.said, strings.Join(said, ", ")})
	}
	return all, checks
}

// beside writes the value of a variable next to the comparison it stands in: 5.98 dB
// is not told as 6.0 dB where 6 are asked for.
func beside(name string, v any, text string) string {
	out := names.Show(name, v)
	x, ok := v.(float64)
	for _, w := range Numerals().FindAllString(text, -1) {
		limit, err := strconv.ParseFloat(w, 64)
		if limit = math.Copysign(limit, x); ok && err == nil && x != limit && names.Show(name, limit) == out {
			_, unit, _ := strings.Cut(out, " ")
			return strings.TrimSpace(strings.Replace(strconv.FormatFloat(x, 'f', 3, 64), "-", "−", 1) + " " + unit)
		}
	}
	return out
}

// Number evaluates a numeric expression; NaN if it has no value.
func (e *Expr) Number(v Values) float64 {
	for _, n := range e.Names {
		if v[n] == nil {
			return math.NaN()
		}
	}
	out, err := exec(e.prog, v)
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

// Say evaluates any expression for a sentence.
func (e *Expr) Say(v Values) string {
	for _, n := range e.Names {
		if v[n] == nil {
			return "(not known yet)"
		}
	}
	switch e.kind {
	case names.Numeric:
		return names.Format(e.Number(v), e.Unit)
	case names.Boolean:
		if ok, _ := e.Holds(v); ok {
			return "yes"
		}
		return "no"
	}
	out, err := exec(e.prog, v)
	if err != nil {
		return "(not known yet)"
	}
	return fmt.Sprint(out)
}
