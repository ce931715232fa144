package format

import (
	"fmt"
	"slices"

	"gainwright/lessons/model"
	"gainwright/lessons/rules"
	"gainwright/lessons/take"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
)

// wayNames are the ways of a mend step by name, as far as they can be told before it is read.
func wayNames(o *object) []string {
	var out []string
	for _, p := range o.pairs {
		m, ok := p.node.(ast.MapNode)
		if p.key != "ways" || !ok {
			continue
		}
		for it := m.MapRange(); it.Next(); {
			if w, ok := plain.Scalar(it.Key()); ok {
				out = append(out, w)
			}
		}
	}
	return out
}

// worksOut is what a step works out, as far as that can be told before it is read.
func (d *decoder) worksOut(o *object, k model.Kind) rules.Worked {
	w := rules.Worked{Readings: model.FiguresOf(k)}
	if k == model.Mend {
		w.Of = wayNames(o)
		return w
	}
	if d.l.Base == nil {
		return w
	}
	w.Of = d.l.Base.StripNames()[:1]
	for _, p := range o.pairs {
		if n, ok := plain.Scalar(p.node); ok && p.key == "strip" && d.l.Base.Strip(n) != nil {
			w.Of = []string{n}
		}
	}
	return w
}

// from reads the strip of the last take that a step is about.
func (d *decoder) from(o *object, s *model.Step, sc *rules.Scope, what string) {
	if !sc.Latest {
		d.fault(o.start, o.at, "there is nothing to %s: a \"do\" or \"record\" step has to come first", what)
	}
	if len(sc.Strips) > 0 {
		s.From = sc.Strips[0]
	}
	if p, ok := o.get("strip"); ok {
		s.From = d.line(p.node, o.at+".strip", 40)
		if !d.failed && !slices.Contains(sc.Strips, s.From) {
			d.fault(p.node.GetToken(), o.at+".strip", "there is no strip %s%s", plain.Quote(s.From), plain.DidYouMean(s.From, sc.Strips))
		}
	}
}

// twin reads whose twin is made, and what is heard of it.
func (d *decoder) twin(o *object, s *model.Step, i int) {
	sc := d.before(i, false)
	d.from(o, s, sc, "make a twin of")
	if slices.Contains(sc.Strips, model.Other) {
		d.fault(o.start, o.at, "%s is what the second performance is called here: call the strip something else", plain.Quote(model.Other))
	}
	for _, x := range d.l.Steps[:i] {
		if x.Riding {
			d.fault(o.start, o.at, "step %s may change settings while it rolls: a twin is made of a take whose settings stay", x.ID)
		}
	}
	d.heard(o, s, []string{s.From, model.Spoken, model.Other}, slices.Concat(sc.Strips, []string{model.Spoken, model.Other}))
}

// mend reads what is done to a strip of the last take, and what is heard of it.
func (d *decoder) mend(o *object, s *model.Step, i int) {
	sc := d.before(i, false)
	d.from(o, s, sc, "mend")
	p, ok := o.get("ways")
	if !ok {
		d.fault(o.start, o.at+".ways", "is missing: want what is done, by names of your own, as in \"ways: {guessed: declip}\"")
		return
	}
	ways := d.object(p.node, o.at+".ways", "treatments by names of your own, as in {guessed: declip}")
	if ways == nil {
		return
	}
	for _, q := range ways.pairs {
		s.Ways = append(s.Ways, d.way(q, plain.Join(o.at+".ways", plain.Shorten(q.key)), sc.Strips))
	}
	if len(s.Ways) > maxWays {
		d.fault(p.at, o.at+".ways", "%d ways, the most is %d", len(s.Ways), maxWays)
	}
	d.heard(o, s, slices.Concat([]string{s.From}, s.WayNames()), slices.Concat(sc.Strips, s.WayNames(), []string{model.Spoken}))
}

// maxWays is how many treatments one step compares.
const maxWays = 6

// way reads one treatment, or several that follow one another.
func (d *decoder) way(q pair, at string, strips []string) model.Way {
	w := model.Way{Name: q.key}
	if !stepID().MatchString(w.Name) || slices.Contains(reserved, w.Name) || slices.Contains(strips, w.Name) {
		d.fault(q.at, at, "want a lower-case word (letters, digits, _) that is no strip and means nothing in rules")
	}
	for _, v := range d.list(q.node, at, "treatments, as in [declip, limiter]") {
		t, _ := plain.Scalar(v)
		if !slices.Contains(take.Treatments, t) {
			d.fault(v.GetToken(), at, "there is no treatment %s%s: there are %s", plain.Quote(t), plain.DidYouMean(t, take.Treatments), plain.Listed(take.Treatments, "and"))
			continue
		}
		w.Treatments = append(w.Treatments, t)
	}
	if len(w.Treatments) > 4 {
		d.fault(q.at, at, "%s, the most is 4", fmt.Sprintf("%d treatments", len(w.Treatments)))
	}
	return w
}
