package format

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"

	"gainwright/lessons/model"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
)

// stepID is usable as a name in rules.
var stepID = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[a-z][a-z0-9_]{0,31}$`) })

func (d *decoder) steps(n ast.Node) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok || len(seq.Values) == 0 {
		d.fault(n.GetToken(), "steps", "want a list of steps, as in \"- say: …\", not %s", plain.Kind(n))
		return
	}
	if len(seq.Values) > model.MaxSteps {
		d.fault(n.GetToken(), "steps", "%d steps, the most is %d", len(seq.Values), model.MaxSteps)
		return
	}
	// First the names, so that a prediction can speak of a take that comes later.
	objs := d.stepIDs(seq)
	predicted := false
	for i, o := range objs {
		s := &model.Step{ID: d.ids[i]}
		d.l.Steps = append(d.l.Steps, s)
		if o == nil {
			continue
		}
		d.step(o, s, i)
		predicted = predicted || s.Kind == model.Predict
		// Whoever listens blind guesses anyway.
		if s.Hears() && !predicted && s.Trials == 0 {
			d.note(o.start, o.at, "%s comes before any prediction: a student who guessed first hears more", s.Kind)
		}
	}
	d.checkQuestions(objs)
	for name := range d.l.Takes {
		if !d.usedTake[name] {
			d.note(n.GetToken(), "takes."+name, "no step records this take")
		}
	}
}

// checkQuestions looks at the questions once every step is known.
func (d *decoder) checkQuestions(objs []*object) {
	for i, o := range objs {
		s := d.l.Steps[i]
		if o == nil || s.Question == nil {
			continue
		}
		if s.Kind == model.Predict {
			d.decided(o, i)
		}
		if len(d.faults) == 0 {
			d.unclear(o, s)
		}
	}
}

// stepIDs opens the steps and notes what each is called and which of them record.
// A step that is no object is nil.
func (d *decoder) stepIDs(seq *ast.SequenceNode) []*object {
	objs := make([]*object, len(seq.Values))
	d.takeAt, d.blindAt, d.workAt, d.worked = map[string]int{}, map[string]int{}, map[string]int{}, map[string]rules.Worked{}
	d.usedTake = map[string]bool{}
	seen := map[string]int{}
	for i, v := range seq.Values {
		at := fmt.Sprintf("step %d", i+1)
		o := d.object(v, at, "a step, as in \"say: …\"")
		objs[i] = o
		if o == nil {
			d.ids = append(d.ids, numberedID(i))
			continue
		}
		id := d.stepID(o, at, i, seen)
		seen[id] = i + 1
		d.ids = append(d.ids, id)
		for _, k := range []string{"do", "record"} {
			if _, ok := o.get(k); ok {
				d.takeIDs = append(d.takeIDs, id)
				d.takeAt[id] = i
			}
		}
		if _, ok := o.get("blind"); ok {
			d.blindAt[id] = i
		}
		for _, k := range []model.Kind{model.Mend, model.Plan, model.Twin} {
			if _, ok := o.get(string(k)); ok {
				d.workAt[id], d.worked[id] = i, d.worksOut(o, k)
			}
		}
		o.taken = map[string]bool{"id": true}
	}
	return objs
}

// stepID is what step i calls itself, or its number where it says nothing usable.
func (d *decoder) stepID(o *object, at string, i int, seen map[string]int) string {
	p, ok := o.get("id")
	if !ok {
		return numberedID(i)
	}
	w := d.line(p.node, at+".id", 64)
	switch {
	case !stepID().MatchString(w):
		d.fault(p.node.GetToken(), at+".id", "%s: want a lower-case word (letters, digits, _, at most 32)", plain.Quote(w))
	case slices.Contains(reserved, w) || d.l.Base != nil && d.l.Base.Strip(w) != nil:
		d.fault(p.node.GetToken(), at+".id", "%s means something else in rules: choose another", plain.Quote(w))
	case seen[w] > 0:
		d.fault(p.node.GetToken(), at+".id", "%s is step %d already", plain.Quote(w), seen[w])
	default:
		return w
	}
	return numberedID(i)
}

func numberedID(i int) string { return fmt.Sprintf("step_%d", i+1) }

// before is what a rule at step i may name; own tells whether the step's own take
// counts.
func (d *decoder) before(i int, own bool) *rules.Scope {
	sc := &rules.Scope{Drawn: d.l.DrawnNames(), Unread: d.unread}
	if d.l.Base != nil {
		sc.Strips = d.l.Base.StripNames()
	}
	for _, id := range d.takeIDs {
		if d.takeAt[id] < i || own && d.takeAt[id] == i {
			sc.Takes = append(sc.Takes, id)
			sc.Latest = true
		}
	}
	for _, id := range slices.Sorted(maps.Keys(d.blindAt)) {
		if d.blindAt[id] < i {
			sc.Blind = append(sc.Blind, id)
		}
	}
	for id, at := range d.workAt {
		if at < i && len(d.worked[id].Of) > 0 {
			sc.AddWorked(id, d.worked[id])
		}
	}
	for k := range min(i, len(d.l.Steps)) {
		if s := d.l.Steps[k]; s.Question != nil {
			sc.Answers = append(sc.Answers, s.ID)
		}
	}
	return sc
}

// after is what a prediction at step i may name: all takes, as long as one comes, and all
// blind comparisons.
func (d *decoder) after(i int) *rules.Scope {
	sc := d.before(i, false)
	sc.Takes, sc.Latest, sc.Later = nil, false, true
	sc.Blind = slices.Sorted(maps.Keys(d.blindAt))
	for id, w := range d.worked {
		if len(w.Of) > 0 {
			sc.AddWorked(id, w)
		}
	}
	for _, id := range d.takeIDs {
		sc.Takes = append(sc.Takes, id)
		sc.Latest = sc.Latest || d.takeAt[id] > i
	}
	return sc
}

func (d *decoder) step(o *object, s *model.Step, i int) {
	s.Line = o.start.Position.Line
	text := d.kind(o, s)
	if text == nil {
		return
	}
	o.at = fmt.Sprintf("step %d (%s)", i+1, s.ID)
	s.Text = d.mark(text.node, o.at+"."+string(s.Kind), d.before(i, false))
	switch s.Kind {
	case model.Do:
		s.Points, s.Must = 1, true
	case model.Ask:
		s.Points = 1
	}
	if p, ok := o.get("points"); ok {
		s.Points, _ = d.number(p.node, o.at+".points", "", 0, 100)
	}
	if p, ok := o.get("must"); ok {
		s.Must = d.flag(p.node, o.at+".must")
	}
	if p, ok := o.get("set"); ok && d.l.Base != nil {
		d.set(p, o.at+".set", s)
	}
	if p, ok := o.get("show"); ok && d.l.Base != nil {
		s.Show = d.show(p, o.at+".show", i)
	}
	d.ownKeys(o, s, i)
	if p, given := o.get("points"); given && s.Points > 0 && !s.Scored() {
		d.fault(p.at, o.at+".points", "nothing here can be right or wrong: points are for do, for ask, for listen that asks, and for predictions with a right answer")
	}
	if p, given := o.get("must"); given && s.Must && !s.Scored() {
		d.fault(p.at, o.at+".must", "nothing here can be right or wrong")
	}
	o.stepRest(s.Kind)
}

// kind finds the key that says what is to be done, and its text; nil if there is none.
func (d *decoder) kind(o *object, s *model.Step) *pair {
	var text *pair
	for _, k := range model.Kinds {
		p, ok := o.get(k)
		if !ok {
			continue
		}
		if text != nil {
			d.fault(p.at, o.at, "is %s and %s at once: a step is one of them", s.Kind, k)
			continue
		}
		s.Kind, text = model.Kind(k), &p
	}
	if text != nil {
		return text
	}
	near := ""
	for _, p := range o.pairs {
		if n := plain.Nearest(p.key, model.Kinds); n != "" && p.key != "id" {
			near = fmt.Sprintf(": is %s meant to be %s?", plain.Quote(p.key), n)
			o.taken[p.key] = true
			break
		}
	}
	d.fault(o.start, o.at, "does not say what is to be done: want one of %s%s", plain.Listed(model.Kinds, "or"), near)
	return nil
}

// ownKeys reads what steps of one kind have.
func (d *decoder) ownKeys(o *object, s *model.Step, i int) {
	switch s.Kind {
	case model.Predict:
		d.question(o, s, d.after(i), false)
	case model.Ask:
		d.question(o, s, d.before(i, false), true)
	case model.Explain:
		s.Least = 1
		if p, ok := o.get("least"); ok {
			s.Least = d.whole(p.node, o.at+".least", 1, 2000)
		}
	case model.Do, model.Record:
		d.take(o, s, i)
	case model.Listen:
		d.listen(o, s, i)
		if hasKey(o, "choices") || hasKey(o, "number") || hasKey(o, "text") {
			d.heardQuestion(o, s, i)
		}
	case model.Mend:
		d.mend(o, s, i)
	case model.Plan:
		d.from(o, s, d.before(i, false), "plan by")
	case model.Twin:
		d.twin(o, s, i)
	case model.Reveal:
		if p, ok := o.get("of"); ok {
			d.reveal(p, o.at+".of", s, i)
		}
	}
}

// reveal reads the predictions that a step tells the outcome of.
func (d *decoder) reveal(p pair, at string, s *model.Step, i int) {
	var known []string
	for _, x := range d.l.Steps[:i] {
		if x.Kind == model.Predict {
			known = append(known, x.ID)
		}
	}
	for _, v := range d.list(p.node, at, "the ids of predictions") {
		w, _ := plain.Scalar(v)
		if !slices.Contains(known, w) {
			d.fault(v.GetToken(), at, "no prediction %s comes before%s", plain.Quote(w), plain.DidYouMean(w, known))
			continue
		}
		s.Of = append(s.Of, w)
	}
}

// stepKeys are the keys of a step beside those that every step may have.
var stepKeys = map[model.Kind][]string{
	model.Predict: {"choices", "number", "text", "because"},
	model.Ask:     {"choices", "number", "text", "because", "tries"},
	model.Explain: {"least"},
	model.Do:      {"rule", "controls", "hints", "take", "attempts", "riding", "locked"},
	model.Record:  {"controls", "take", "attempts", "riding", "locked"},
	model.Listen:  {"strips", "matched", "blind", "choices", "number", "text", "because", "tries"},
	model.Mend:    {"strip", "ways", "strips", "matched", "blind"},
	model.Plan:    {"strip"},
	model.Twin:    {"strip", "strips", "matched"},
	model.Reveal:  {"of"},
}

// answerKeys stand one level deeper, under the way a question is answered.
var answerKeys = map[string]string{"answer": "number", "tolerance": "number", "unit": "number", "accept": "text", "right": "choices", "when": "choices"}

// otherWords are what people write for a key, where no letter gives it away.
var otherWords = map[string]string{
	"trials": "blind", "sounds": "strips", "tracks": "strips", "options": "choices", "answers": "choices",
	"settings": "controls", "unlock": "controls", "goal": "rule", "condition": "rule", "script": "take", "picture": "show", "pictures": "show", "predictions": "of", "explanation": "because",
}

// stepRest reports the keys of a step that its kind does not have, and names those
// that it has.
func (o *object) stepRest(kind model.Kind) {
	own := append(slices.Clone(stepKeys[kind]), "id", "set", "show")
	if kind == model.Do || kind == model.Ask || kind == model.Predict || kind == model.Listen {
		own = append(own, "points", "must")
	}
	for _, p := range o.pairs {
		if o.taken[p.key] {
			continue
		}
		article := "a"
		if strings.ContainsAny(string(kind[:1]), "aeiou") {
			article = "an"
		}
		hint := fmt.Sprintf("; %s %s step has %s", article, kind, plain.Listed(own, "and"))
		if in := answerKeys[p.key]; slices.Contains(own, in) {
			hint = fmt.Sprintf(": it belongs under %s, as in %s: %s", in, in, map[string]string{
				"number": "{answer: A.headroom_db, tolerance: 1}", "text": "{accept: [clipping, clipped]}", "choices": `[{say: "yes", right: true}, "no"]`}[in])
		} else if w := otherWords[p.key]; slices.Contains(own, w) {
			hint = ": did you mean " + w + "?"
		} else if near := plain.Nearest(p.key, own); near != "" {
			hint = ": did you mean " + near + "?"
		} else if of := kindsWith(p.key); len(of) > 0 {
			hint = fmt.Sprintf(": %s belongs to %s%s", p.key, plain.Listed(of, "and"), hint)
		}
		o.d.fault(p.at, plain.Join(o.at, plain.Shorten(p.key)), "unknown key%s", hint)
	}
}

// kindsWith lists the kinds of steps that have a key.
func kindsWith(key string) []string {
	var out []string
	for _, k := range model.Kinds {
		if slices.Contains(stepKeys[model.Kind(k)], key) {
			out = append(out, k)
		}
	}
	return out
}
