package format

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sim"
	"gainwright/sounds/scenario/plain"
)

// decided finds the take that decides the prediction at step i, and looks whether
// it can be decided, and fairly.
func (d *decoder) decided(o *object, i int) {
	s := d.l.Steps[i]
	if len(d.faults) > 0 {
		return
	}
	if q := s.Question; !q.Gradable() {
		if q.Because == nil && !slices.ContainsFunc(q.Choices, func(c model.Choice) bool { return c.Because != nil }) {
			d.note(o.start, o.at, "nothing says what came of this prediction: give a choice \"right: true\" or \"when: …\", a number its answer, or say \"because\"")
		}
		return
	}
	if d.heardDecides(s, i) {
		return
	}
	// The first take after it shows what "A" names; a take named by its step shows
	// itself.
	at := slices.IndexFunc(d.l.Steps[i+1:], func(x *model.Step) bool { return x.IsTake() })
	if at < 0 {
		d.fault(o.start, o.at, "nothing decides this prediction: no \"record\" or \"do\" step comes after it; a question about what was recorded is an ask step")
		return
	}
	at += i + 1
	latest, own := -1, false
	for _, n := range s.Question.Names() {
		head, _, _ := strings.Cut(n, ".")
		if k, named := d.takeAt[head]; named {
			latest = max(latest, k)
		} else if d.l.Base.Strip(head) != nil {
			latest, own = max(latest, at), true
		}
	}
	if latest >= 0 && latest < i {
		d.note(o.start, o.at, "what this prediction is about was recorded before it, in step %d (%s): make it an ask step, or ask it earlier", latest+1, d.ids[latest])
	}
	// A rule that names the task's own take means it.
	if x := d.l.Steps[at]; own && x.Kind == model.Do && len(x.Controls) > 0 {
		d.note(o.start, o.at, "is decided by the student's own take in step %d (%s): put a record step between, so that the bench decides as it stands", at+1, x.ID)
	}
}

// heardDecides tells that a prediction is about blind comparisons or mended files, one of
// them still to come, beside takes at most.
func (d *decoder) heardDecides(s *model.Step, i int) bool {
	later := false
	for _, n := range s.Question.Names() {
		head, _, _ := strings.Cut(n, ".")
		for _, of := range []map[string]int{d.blindAt, d.workAt} {
			if at, is := of[head]; is && at > i {
				later = true
			}
		}
	}
	return later
}

// unclear notes outcomes for which no choice or more than one is right, as far as
// the rules alone tell: those over one variable are tried around every number they
// hold. (What several variables can be together, only the takes tell.)
func (d *decoder) unclear(o *object, s *model.Step) {
	vars := slices.Compact(slices.Sorted(slices.Values(s.Question.Names())))
	p, ok := o.get("choices")
	if ok && len(vars) == 0 {
		if right := s.Question.Right(nil); len(right) > 1 {
			d.note(p.at, o.at+".choices", "%s are right at once", plain.Listed(right, "and"))
		}
	}
	if !ok || len(vars) == 0 {
		return
	}
	always := slices.IndexFunc(s.Question.Choices, func(c model.Choice) bool { return c.Right })
	if len(vars) > 1 {
		if always >= 0 {
			d.note(p.at, o.at+".choices", "%s is right whatever comes, and others are right by a rule: two can be right at once", model.Letter(always))
		}
		return
	}
	numbers := rulesNumbers(s.Question)
	if len(numbers) > 64 {
		return // nobody wrote that by hand
	}
	none, both := "", ""
	for _, v := range d.tryValues(vars[0], numbers) {
		right := s.Question.Right(rules.Values{vars[0]: v})
		switch {
		case len(right) == 0 && none == "":
			none = fmt.Sprintf("no choice is right when %s is %s", vars[0], names.Show(vars[0], v))
		case len(right) > 1 && both == "":
			both = fmt.Sprintf("%s are right at once when %s is %s", plain.Listed(right, "and"), vars[0], names.Show(vars[0], v))
		}
	}
	for _, msg := range []string{none, both} {
		if msg != "" {
			d.note(p.at, o.at+".choices", "%s", msg)
		}
	}
}

// rulesNumbers are the numbers that the rules of a question's choices speak of,
// both signs of each, and 0, in order.
func rulesNumbers(q *model.Question) []float64 {
	numbers := map[float64]bool{0: true}
	for _, c := range q.Choices {
		if c.When == nil {
			continue
		}
		for _, w := range rules.Numerals().FindAllString(c.When.Text, -1) {
			if v, err := strconv.ParseFloat(w, 64); err == nil {
				numbers[v], numbers[-v] = true, true
			}
		}
	}
	return slices.Sorted(maps.Keys(numbers))
}

// tryValues are values of a variable on both sides of every number given.
func (d *decoder) tryValues(name string, around []float64) []any {
	if key, ok := strings.CutPrefix(name, "drawn."); ok {
		for _, v := range d.l.Vary {
			if v.Key == key {
				return v.Values
			}
		}
		return nil
	}
	// "A.headroom_db" and "hot.A.headroom_db" end in the reading's own name.
	key := name
	if at, blind := d.blindAt[strings.TrimSuffix(name, "."+rules.Hits)]; blind {
		return valuesAround(around, 0, float64(d.l.Steps[at].Trials), true)
	}
	n, reading := names.Reading(key)
	for !reading {
		if n, ok := names.Setting(key); ok {
			return settingValues(n, around)
		}
		_, rest, more := strings.Cut(key, ".")
		if !more {
			return nil // an answer: what it may be is the other step's matter
		}
		key = rest
		n, reading = names.Reading(key)
	}
	switch n.Unit {
	case "":
		return valuesAround(around, 0, math.Inf(1), true)
	case "ms", "%":
		return valuesAround(around, 0, math.Inf(1), false)
	}
	return valuesAround(around, math.Inf(-1), math.Inf(1), false)
}

// settingValues are the words of a setting, or its numbers about those in around.
func settingValues(n names.Name, around []float64) []any {
	switch n.Type {
	case names.Numeric:
		f, _ := sim.SettingByKey(n.Key)
		return valuesAround(around, f.Min, f.Max, f.Whole)
	case names.Boolean:
		return []any{false, true}
	}
	var out []any
	for _, w := range n.Words {
		out = append(out, w)
	}
	return out
}

// valuesAround are numbers from lo to hi on either side of each of around and
// between them: where a rule that speaks of those numbers can change its mind.
func valuesAround(around []float64, lo, hi float64, whole bool) []any {
	var out []any
	add := func(v float64) {
		if v >= lo && v <= hi && (!whole || v == math.Trunc(v)) {
			out = append(out, v)
		}
	}
	for i, v := range around {
		side := 0.1
		if whole {
			side = 1
			add(v)
		}
		add(v - side)
		add(v + side)
		if i > 0 {
			add((v + around[i-1]) / 2)
		}
	}
	return out
}
