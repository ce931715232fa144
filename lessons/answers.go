package lessons

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
)

// Answers are a student's answers written down beforehand, to play a lesson
// unattended: to try a lesson out, or to see that its model answers pass.
//
//	lesson: gain-and-headroom
//	answers:
//	  guess: b                          # a choice: letter, number or text
//	  level: -3.5                       # a number
//	  meter: = laugh.A.headroom_db      # read off the take
//	  set: {A.preamp.gain_db: 34}       # a task: settings
//	  ride: {A.preamp.gain_db: 40, changes: [{at_s: 3, A.preamp.gain_db: 34}]}
//	  why: The laugh is louder.         # in words
//	  ears: [A, B, A, A]                # blind trials
//
// Tasks may be left out: then the take is recorded as the bench stands.
type Answers struct {
	Lesson string
	steps  map[string]answer
}

type answer struct {
	texts    []string
	settings []Setting
	changes  []Change
}

// ParseAnswers reads an answers file for a lesson; errors are *Error.
func ParseAnswers(name string, data []byte, l *Lesson) (*Answers, error) {
	text := strings.ReplaceAll(string(data), "\r\n", "\n")
	d := &decoder{name: name, lines: strings.Split(text, "\n"), l: &Lesson{base: l.base}}
	a := &Answers{steps: map[string]answer{}}
	if root := d.parse(text); root != nil {
		d.answers(root, l, a)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return a, nil
}

func (d *decoder) answers(root ast.Node, l *Lesson, a *Answers) {
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
	var ids []string
	for _, s := range l.Steps {
		if s.Kind != Say && s.Kind != Reveal {
			ids = append(ids, s.ID)
		}
	}
	for _, q := range all.pairs {
		at := plain.Join("answers", plain.Shorten(q.key))
		s := l.Step(q.key)
		if s == nil || !slices.Contains(ids, q.key) {
			d.fault(q.at, at, "the lesson has no such question or task%s", didYouMean(q.key, ids))
			continue
		}
		a.steps[q.key] = d.answer(q, at, s)
	}
	for _, s := range l.Steps {
		_, has := a.steps[s.ID]
		if !has && (s.Question != nil || s.Kind == Explain || s.Trials > 0) {
			d.fault(p.at, "answers."+s.ID, "is missing: step %s asks for an answer", s.ID)
		}
	}
}

func (d *decoder) answer(q pair, at string, s *Step) answer {
	var a answer
	if s.IsTake() {
		o := d.object(q.node, at, "settings, as in {A.preamp.gain_db: 34}")
		if o == nil {
			return a
		}
		for _, x := range o.pairs {
			if x.key == "changes" {
				a.changes = append(a.changes, d.changes(x, at+".changes", s)...)
				continue
			}
			if v, ok := d.settingValue(x, plain.Join(at, x.key), s); ok {
				a.settings = append(a.settings, Setting{x.key, v})
			}
		}
		return a
	}
	for _, v := range d.list(q.node, at, "an answer") {
		t, ok := plain.Scalar(v)
		if !ok {
			d.fault(v.GetToken(), at, "want an answer, not %s", plain.Kind(v))
			continue
		}
		a.texts = append(a.texts, t)
		var why *AnswerError
		if q := s.Question; q != nil && !strings.HasPrefix(strings.TrimSpace(t), "=") {
			if _, err := q.read(t); errors.As(err, &why) {
				d.fault(v.GetToken(), at, "%s", why.Msg)
			}
		}
	}
	if s.Trials > 0 {
		for _, t := range a.texts {
			if !slices.ContainsFunc(s.Strips, func(n string) bool { return strings.EqualFold(n, t) }) {
				d.fault(q.node.GetToken(), at, "%s is none of %s", plain.Quote(t), plain.Listed(s.Strips, "and"))
				break
			}
		}
	}
	if n := utf8.RuneCountInString(strings.TrimSpace(strings.Join(a.texts, "\n"))); s.Kind == Explain && n < s.Least {
		d.fault(q.node.GetToken(), at, "%s: want %d or more", plural(n, "character", "characters"), s.Least)
	}
	if s.Trials > 0 && len(a.texts) != s.Trials {
		d.fault(q.node.GetToken(), at, "%s, and there are %d trials", plural(len(a.texts), "answer", "answers"), s.Trials)
	}
	return a
}

// settingValue reads a value for a control that the step unlocks.
func (d *decoder) settingValue(x pair, at string, s *Step) (any, bool) {
	v, ok := d.plainValue(x.node, at)
	if !ok {
		return nil, false
	}
	var have []string
	for _, c := range s.Controls {
		if c.Key == x.key {
			kept, why := c.read(v)
			if why != "" {
				d.fault(x.node.GetToken(), at, "%s", why)
			}
			return kept, why == ""
		}
		have = append(have, c.Key)
	}
	switch hint, is := isSetting(x.key, d.l.base, have); {
	case !is:
		d.fault(x.at, at, "there is no such setting%s", hint)
	case len(have) == 0:
		d.fault(x.at, at, "step %s unlocks nothing", s.ID)
	default:
		d.fault(x.at, at, "step %s does not unlock it, only %s", s.ID, plain.Listed(have, "and"))
	}
	return nil, false
}

func (d *decoder) changes(p pair, at string, s *Step) []Change {
	var out []Change
	for _, v := range d.list(p.node, at, "changes, as in {at_s: 3, A.preamp.gain_db: 34}") {
		o := d.object(v, at, "a change, as in {at_s: 3, A.preamp.gain_db: 34}")
		if o == nil {
			continue
		}
		t := 0.0
		if q, ok := o.get("at_s"); ok {
			t, _ = d.number(q.node, at+".at_s", "s", 0, MaxTakeSeconds)
		} else {
			d.fault(o.start, at+".at_s", "is missing: when, in seconds?")
		}
		for _, x := range o.pairs {
			if x.key == "at_s" {
				continue
			}
			if y, ok := d.settingValue(x, plain.Join(at, x.key), s); ok {
				out = append(out, Change{t, x.key, y})
			}
		}
	}
	return out
}

// Play takes a runner to the end of its lesson with answers written down
// beforehand. each (may be nil) is called with every step's view when it is
// finished. A task whose rule does not hold counts as given up.
func Play(ctx context.Context, r *Runner, a *Answers, each func(View)) error {
	for r.State() != Finished {
		s := r.step()
		fail := func(err error) error { return fmt.Errorf("step %s: %w", s.ID, err) }
		ans := a.steps[s.ID]
		switch r.State() {
		case Answering:
			texts := ans.texts
			if s.Kind == Explain {
				texts = []string{strings.Join(texts, "\n")}
			}
			for _, t := range texts {
				if r.State() != Answering {
					break
				}
				t, err := r.formula(t)
				if err != nil {
					return fail(err)
				}
				if _, err := r.Answer(t); err != nil {
					return fail(err)
				}
			}
			// Fewer answers than tries: the last one stands.
			for last := ""; r.State() == Answering; {
				if len(r.here().Answers) > 0 {
					last = r.here().Answers[len(r.here().Answers)-1]
				}
				if _, err := r.Answer(last); err != nil {
					return fail(err)
				}
			}
		case Recording:
			for _, set := range ans.settings {
				if err := r.Apply(set.Key, set.Value); err != nil {
					return fail(err)
				}
			}
			if err := r.Record(ctx, nil, ans.changes...); err != nil {
				return fail(err)
			}
		case Listening:
			for _, t := range ans.texts {
				if _, err := r.Answer(t); err != nil {
					return fail(err)
				}
			}
		}
		if each != nil {
			each(r.View())
		}
		if s.Kind == Do && r.Blocked() != "" {
			if err := r.GiveUp(); err != nil {
				return fail(err)
			}
			continue
		}
		if err := r.Next(); err != nil {
			return fail(err)
		}
	}
	return nil
}

// formula works out an answer that begins with "=": a reading of the takes so far.
func (r *Runner) formula(t string) (string, error) {
	code, ok := strings.CutPrefix(strings.TrimSpace(t), "=")
	if !ok {
		return t, nil
	}
	sc := &scope{strips: r.l.Strips(), latest: r.lastTake() != ""}
	for i := range r.p.At {
		if r.p.Steps[i].Take != nil {
			sc.takes = append(sc.takes, r.p.Steps[i].ID)
		}
	}
	e, bad := compile(code, sc, wantNumber)
	if len(bad) > 0 {
		return "", errors.New(bad[0].msg)
	}
	return valueText(round(e.number(r.values(r.p.At)), 1)), nil
}
