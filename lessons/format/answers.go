package format

import (
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
)

// ParseAnswers reads an answers file for a lesson; errors are *Error.
func ParseAnswers(name string, data []byte, l *model.Lesson) (*model.Answers, error) {
	text := strings.ReplaceAll(string(data), "\r\n", "\n")
	d := &decoder{name: name, lines: strings.Split(text, "\n"), l: &model.Lesson{Base: l.Base}}
	a := &model.Answers{Steps: map[string]model.Answer{}}
	if root := d.parse(text); root != nil {
		d.answers(root, l, a)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return a, nil
}

func (d *decoder) answers(root ast.Node, l *model.Lesson, a *model.Answers) {
	o := d.object(root, "", "lesson and answers")
	if o == nil {
		return
	}
	if p, ok := o.get("lesson"); ok {
		if a.Lesson = d.line(p.node, "lesson", 60); a.Lesson != l.ID {
			d.fault(p.node.GetToken(), "lesson", "these are answers for %s; the lesson is %s", plain.Quote(a.Lesson), plain.Quote(l.ID))
		}
	}
	p, ok := o.get("answers")
	o.rest()
	if !ok {
		d.fault(o.start, "answers", "is missing: want the answers by the steps' ids")
		return
	}
	all := d.object(p.node, "answers", "answers by the steps' ids, as in \"guess: b\"")
	if all == nil {
		return
	}
	d.stepAnswers(all, l, a)
	for _, s := range l.Steps {
		_, has := a.Steps[s.ID]
		if !has && (s.Question != nil || s.Kind == model.Explain || s.Trials > 0) {
			d.fault(p.at, "answers."+s.ID, "is missing: step %s asks for an answer", s.ID)
		}
	}
}

// stepAnswers reads the answers that belong to a step of the lesson.
func (d *decoder) stepAnswers(all *object, l *model.Lesson, a *model.Answers) {
	var ids []string
	for _, s := range l.Steps {
		if s.Kind != model.Say && s.Kind != model.Reveal {
			ids = append(ids, s.ID)
		}
	}
	for _, q := range all.pairs {
		at := plain.Join("answers", plain.Shorten(q.key))
		s := l.Step(q.key)
		if s == nil || !slices.Contains(ids, q.key) {
			d.fault(q.at, at, "the lesson has no such question or task%s", plain.DidYouMean(q.key, ids))
			continue
		}
		a.Steps[q.key] = d.answer(q, at, l, s)
	}
}

func (d *decoder) answer(q pair, at string, l *model.Lesson, s *model.Step) model.Answer {
	var a model.Answer
	if s.IsTake() {
		return d.takeAnswer(q, at, l, s)
	}
	for _, v := range d.list(q.node, at, "an answer") {
		t, ok := plain.Scalar(v)
		if !ok {
			d.fault(v.GetToken(), at, "want an answer, not %s", plain.Kind(v))
			continue
		}
		a.Texts = append(a.Texts, t)
		var why *model.AnswerError
		if code, computed := model.Formula(t); computed && s.Question != nil {
			d.formula(v, at, code, l, s)
		} else if q := s.Question; q != nil {
			if _, err := q.Read(t); errors.As(err, &why) {
				d.fault(v.GetToken(), at, "%s", why.Msg)
			}
		}
	}
	if s.Trials > 0 {
		for _, t := range a.Texts {
			if !slices.ContainsFunc(s.Strips, func(n string) bool { return strings.EqualFold(n, t) }) {
				d.fault(q.node.GetToken(), at, "%s is none of %s", plain.Quote(t), plain.Listed(s.Strips, "and"))
				break
			}
		}
	}
	if n := utf8.RuneCountInString(strings.TrimSpace(strings.Join(a.Texts, "\n"))); s.Kind == model.Explain && n < s.Least {
		d.fault(q.node.GetToken(), at, "%s: want %d or more", plain.Count(n, "character", "characters"), s.Least)
	}
	if s.Trials > 0 && len(a.Texts) != s.Trials {
		d.fault(q.node.GetToken(), at, "%s, and there are %d trials", plain.Count(len(a.Texts), "answer", "answers"), s.Trials)
	}
	return a
}

// takeAnswer reads what was set before a take and moved during it.
func (d *decoder) takeAnswer(q pair, at string, l *model.Lesson, s *model.Step) model.Answer {
	var a model.Answer
	o := d.object(q.node, at, "settings, as in {A.preamp.gain_db: 34}")
	if o == nil {
		return a
	}
	for _, x := range o.pairs {
		if x.key == "changes" {
			a.Changes = append(a.Changes, d.changes(x, at+".changes", l, s)...)
			continue
		}
		if v, ok := d.settingValue(x, plain.Join(at, x.key), l, s); ok {
			a.Settings = append(a.Settings, model.Setting{Key: x.key, Value: v})
		}
	}
	return a
}

// formula checks what an answer to a step is computed from.
func (d *decoder) formula(n ast.Node, at, code string, l *model.Lesson, s *model.Step) bool {
	_, bad := rules.Compile(code, l.FormulaScope(s.ID), rules.Numerical)
	for _, b := range bad {
		line, col := d.locate(n, code)
		d.faultAt(line, col+b.Col, at, "%s", b.Msg)
	}
	return len(bad) == 0
}

// settingValue reads a value for a control that the step unlocks, or what it is
// computed from.
func (d *decoder) settingValue(x pair, at string, l *model.Lesson, s *model.Step) (any, bool) {
	v, ok := d.plainValue(x.node, at)
	if !ok {
		return nil, false
	}
	var have []string
	for _, c := range s.Controls {
		if c.Key == x.key {
			if code, computed := model.Formula(v); computed {
				return v, d.formula(x.node, at, code, l, s)
			}
			kept, why := c.Read(v)
			if why != "" {
				d.fault(x.node.GetToken(), at, "%s", why)
			}
			return kept, why == ""
		}
		have = append(have, c.Key)
	}
	switch hint, is := names.IsSetting(x.key, d.l.Base, have); {
	case !is:
		d.fault(x.at, at, "there is no such setting%s", hint)
	case len(have) == 0:
		d.fault(x.at, at, "step %s unlocks nothing", s.ID)
	default:
		d.fault(x.at, at, "step %s does not unlock it, only %s", s.ID, plain.Listed(have, "and"))
	}
	return nil, false
}

func (d *decoder) changes(p pair, at string, l *model.Lesson, s *model.Step) []model.Change {
	var out []model.Change
	for _, v := range d.list(p.node, at, "changes, as in {at_s: 3, A.preamp.gain_db: 34}") {
		o := d.object(v, at, "a change, as in {at_s: 3, A.preamp.gain_db: 34}")
		if o == nil {
			continue
		}
		t := 0.0
		if q, ok := o.get("at_s"); ok {
			t, _ = d.number(q.node, at+".at_s", "s", 0, model.MaxTakeSeconds)
		} else {
			d.fault(o.start, at+".at_s", "is missing: when, in seconds?")
		}
		for _, x := range o.pairs {
			if x.key == "at_s" {
				continue
			}
			if y, ok := d.settingValue(x, plain.Join(at, x.key), l, s); ok {
				out = append(out, model.Change{AtS: t, Key: x.key, Value: y})
			}
		}
	}
	return out
}
