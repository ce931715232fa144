package format

import (
	"fmt"
	"slices"

	"gainwright/lessons/model"
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

// mend reads what is done to a strip of the last take, and what is heard of it.
func (d *decoder) mend(o *object, s *model.Step, i int) {
	sc := d.before(i, false)
	if !sc.Latest {
		d.fault(o.start, o.at, "there is nothing to mend: a \"do\" or \"record\" step has to come first")
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
