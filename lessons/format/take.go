package format

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
)

func (d *decoder) set(p pair, at string, s *model.Step) {
	o := d.object(p.node, at, "settings, as in {A.preamp.gain_db: 46}")
	if o == nil {
		return
	}
	trial := d.l.Base.Clone()
	for _, q := range o.pairs {
		o.taken[q.key] = true
		v, ok := d.plainValue(q.node, plain.Join(at, q.key))
		if !ok || !d.settable(q, plain.Join(at, q.key)) {
			continue
		}
		if err := names.Put(trial, q.key, v); err != nil {
			d.fault(q.node.GetToken(), plain.Join(at, q.key), "%s", names.FaultText(err))
			continue
		}
		s.Set = append(s.Set, model.Setting{Key: q.key, Value: v})
	}
}

// settable reports a key that names no setting.
func (d *decoder) settable(q pair, at string) bool {
	strip, rest, ok := strings.Cut(q.key, ".")
	if ok && d.l.Base.Strip(strip) != nil {
		if _, known := names.Setting(rest); known {
			return true
		}
	} else if _, known := names.Setting(q.key); known && names.Shared(q.key) {
		return true
	}
	msg := plain.DidYouMean(q.key, d.settingKeys())
	if _, known := names.Setting(q.key); known {
		msg = fmt.Sprintf(": write %s.%s, it belongs to a strip", d.l.Base.StripNames()[0], q.key)
	}
	d.fault(q.at, at, "there is no such setting%s", msg)
	return false
}

func (d *decoder) take(o *object, s *model.Step, i int) {
	own := d.before(i, true)
	if p, ok := o.get("take"); ok {
		s.Take = d.line(p.node, o.at+".take", 40)
		if _, known := d.l.Takes[s.Take]; !known {
			d.fault(p.node.GetToken(), o.at+".take", "there is no script %s under \"takes\"%s", plain.Quote(s.Take), plain.DidYouMean(s.Take, slices.Sorted(maps.Keys(d.l.Takes))))
		}
		d.usedTake[s.Take] = true
	}
	if p, ok := o.get("controls"); ok && d.l.Base != nil {
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
	if s.Kind != model.Do {
		return
	}
	if p, ok := o.get("rule"); ok {
		s.Rule = d.expr(p.node, o.at+".rule", own, rules.Bool)
	} else {
		d.fault(o.start, o.at+".rule", "is missing: what must hold of the take, as in \"A.overs == 0\"; a take without a rule is a record step")
	}
	if p, ok := o.get("hints"); ok {
		for k, v := range d.list(p.node, o.at+".hints", "hints, as in {when: A.overs > 0, say: …}") {
			s.Hints = append(s.Hints, d.hint(v, fmt.Sprintf("%s.hints[%d]", o.at, k+1), own))
		}
	}
	if len(s.Controls) == 0 && !hasKey(o, "controls") {
		d.note(o.start, o.at, "no control is unlocked: the student can only record")
	}
}

// hint reads one hint: a text, or one with when or after how many takes it is due.
func (d *decoder) hint(v ast.Node, at string, own *rules.Scope) model.Hint {
	h := model.Hint{}
	if _, isMap := v.(ast.MapNode); !isMap {
		h.Text = d.mark(v, at, own)
		return h
	}
	o := d.object(v, at, "a hint")
	if w, ok := o.get("when"); ok {
		h.When = d.expr(w.node, at+".when", own, rules.Bool)
	}
	if w, ok := o.get("after"); ok {
		h.After = d.whole(w.node, at+".after", 1, 50)
	}
	if w, ok := o.get("say"); ok {
		h.Text = d.mark(w.node, at+".say", own)
	} else {
		d.fault(o.start, at+".say", "is missing: want what the hint says")
	}
	o.rest()
	return h
}

// controls reads what a step unlocks: a list of keys, or keys with ranges.
func (d *decoder) controls(p pair, at string, s *model.Step) {
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
		if slices.ContainsFunc(s.Controls, func(c model.Control) bool { return c.Key == q.key }) {
			d.fault(q.at, at, "stands twice")
			continue
		}
		c := model.ControlFor(d.l.Base, q.key)
		if q.node != nil {
			d.controlRange(q, at, &c)
		}
		s.Controls = append(s.Controls, c)
	}
}

func (d *decoder) controlRange(q pair, at string, c *model.Control) {
	if _, null := q.node.(*ast.NullNode); null {
		return
	}
	if c.Choices != nil {
		var words []string
		for _, v := range d.list(q.node, at, "the words to choose from") {
			w, _ := plain.Scalar(v)
			if !slices.Contains(c.Choices, w) {
				d.fault(v.GetToken(), at, "there is no %s%s", plain.Quote(w), plain.DidYouMean(w, c.Choices))
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
		d.fault(o.start, at, "from %v to %v%s is no range", c.Min, c.Max, names.Gap(c.Unit))
	}
	if f, ok := o.get("step"); ok {
		if v, ok := d.number(f.node, at+".step", c.Unit, 0.001, 1000); ok {
			c.Step = v
		}
	}
	o.rest()
}

func (d *decoder) listen(o *object, s *model.Step, i int) {
	sc := d.before(i, false)
	if !sc.Latest {
		d.fault(o.start, o.at, "there is nothing to listen to: a \"do\" or \"record\" step has to come first")
	}
	var all []string
	if d.l.Base != nil {
		all = d.l.Base.StripNames()
	}
	d.heard(o, s, all, append(slices.Clone(sc.Strips), model.Spoken))
}

// heardQuestion reads what is asked of what is heard.
func (d *decoder) heardQuestion(o *object, s *model.Step, i int) {
	if s.Trials > 0 {
		d.fault(o.start, o.at, "has blind trials and a question: make the question a step of its own")
	}
	if !hasKey(o, "points") {
		s.Points = 1
	}
	d.question(o, s, d.before(i, false), true)
}

// heard reads what is compared in a step, of what is known; all are those that are unless
// the step says.
func (d *decoder) heard(o *object, s *model.Step, all, known []string) {
	p, given := o.get("strips")
	if !given {
		s.Strips = all
	} else {
		for _, v := range d.list(p.node, o.at+".strips", "strips") {
			w, _ := plain.Scalar(v)
			if !d.failed && !slices.Contains(known, w) {
				d.fault(v.GetToken(), o.at+".strips", "there is no strip %s%s", plain.Quote(w), plain.DidYouMean(w, known))
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
