package format

import (
	"fmt"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

func (d *decoder) question(o *object, s *model.Step, sc *rules.Scope, needRight bool) {
	q := &model.Question{Tries: 1}
	s.Question = q
	if p, ok := o.get("tries"); ok {
		if q.Tries = d.whole(p.node, o.at+".tries", 1, 10); s.Kind == model.Predict && q.Tries > 1 {
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
	if needRight && !q.Gradable() && len(d.faults) == 0 {
		d.fault(first, o.at, "has no right answer: mark a choice with \"right: true\" or \"when: …\", list the texts under \"accept\", or make it a predict or an explain step")
	}
}

func (d *decoder) choices(p pair, at string, q *model.Question, sc *rules.Scope) {
	seen := map[string]bool{}
	for i, v := range d.list(p.node, at, "two or more choices") {
		c := model.Choice{}
		at := fmt.Sprintf("%s[%s]", at, model.Letter(i))
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
				c.When = d.expr(w.node, at+".when", sc, rules.Bool)
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

func (d *decoder) numberAnswer(p pair, at string, q *model.Question, sc *rules.Scope, needRight bool) {
	na := &model.NumberAnswer{}
	q.Number = na
	o := d.object(p.node, at, "answer, unit and tolerance, as in {answer: A.headroom_db, tolerance: 1}")
	if o == nil {
		return
	}
	if a, ok := o.get("answer"); ok {
		na.Answer = d.expr(a.node, at+".answer", sc, rules.Numerical)
		if na.Answer != nil {
			na.Unit = na.Answer.Unit
		} else {
			na.Answer = &rules.Expr{} // a fault was reported
		}
	} else if needRight {
		d.fault(o.start, at+".answer", "is missing: want a number or a reading")
		na.Answer = &rules.Expr{}
	}
	if u, ok := o.get("unit"); ok {
		na.Unit = d.answerUnit(u, at+".unit", na.Unit)
	}
	if t, ok := o.get("tolerance"); ok {
		na.Tolerance, _ = d.number(t.node, at+".tolerance", na.Unit, 0, 1e6)
		if na.Answer != nil && len(na.Answer.Names) > 0 && na.Tolerance == 0 && names.UnitOf(na.Unit).Dim != "" {
			d.fault(t.node.GetToken(), at+".tolerance", "nobody reads a meter exactly: want more than 0%s", names.Gap(na.Unit))
		}
	} else if na.Answer != nil && names.UnitOf(na.Unit).Dim != "" {
		d.fault(o.start, at+".tolerance", "is missing: how far off is still right, in %s?", na.Unit)
	}
	o.rest()
}

// answerUnit reads the unit of an answer whose own is have, which it keeps where
// the two are not of one kind.
func (d *decoder) answerUnit(u pair, at, have string) string {
	w := d.line(u.node, at, 20)
	switch {
	case !slices.Contains(answerUnits, w):
		d.fault(u.node.GetToken(), at, "there is no unit %s%s", plain.Quote(w), plain.DidYouMean(w, answerUnits))
	case have != "" && names.UnitOf(have).Dim != names.UnitOf(w).Dim:
		d.fault(u.node.GetToken(), at, "the answer is in %s, not in %s", have, w)
	default:
		return w
	}
	return have
}

func (d *decoder) textAnswer(p pair, at string, q *model.Question) {
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
