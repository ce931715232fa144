package grade

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/sounds/own"
	"gainwright/sounds/scenario/plain"
)

// A Rehearsal is a lesson played with one set of answers for every student there
// can be: for every combination of the quantities it draws.
type Rehearsal struct {
	Lesson       string       `json:"lesson"`
	Combinations int          `json:"combinations"` // there are
	Played       []*Rehearsed `json:"played"`
	Passed       int          `json:"passed"` // of those played
	// Shared is, once Share has run, the most common right answer of every step that
	// the bench decides.
	Shared []Shared `json:"shared"`

	bench *take.Bench
	guest *own.Guest // whose voice gave the takes, nil for the talkers
}

// Rehearsed is one combination.
type Rehearsed struct {
	Seed   uint64         `json:"seed"` // draws this combination
	Drawn  map[string]any `json:"drawn"`
	Points float64        `json:"points"`
	Of     float64        `json:"of"`
	Passed bool           `json:"passed"`
	Why    string         `json:"why,omitempty"`    // it is not passed
	Missed []Flag         `json:"missed,omitempty"` // steps that count and are not right
	// Unclear are questions for which no choice, or more than one, was right.
	Unclear []Flag `json:"unclear,omitempty"`
}

// OK tells that all that was played passed, and could be answered.
func (r *Rehearsal) OK() bool {
	return r.Passed == len(r.Played) && !slices.ContainsFunc(r.Played, func(p *Rehearsed) bool { return len(p.Unclear) > 0 })
}

// Failing lists the drawn values with which every combination fails while others
// pass: "talker maren".
func (r *Rehearsal) Failing() []string {
	passed, failed := map[string]int{}, map[string]int{}
	for _, p := range r.Played {
		for k, v := range p.Drawn {
			if p.Passed {
				passed[k+" "+names.ValueText(v)]++
			} else {
				failed[k+" "+names.ValueText(v)]++
			}
		}
	}
	var out []string
	for _, k := range slices.Sorted(maps.Keys(failed)) {
		if r.Passed > 0 && failed[k] > 1 && passed[k] == 0 {
			out = append(out, k)
		}
	}
	return out
}

// Describe names a combination for people: "distance_m 0.1, talker joss".
func (p *Rehearsed) Describe() string { return model.DrawnText(p.Drawn) }

// Rehearse plays a lesson with the answers for every combination of what it draws,
// at most so many, on all processors. progress may be nil.
func Rehearse(ctx context.Context, l *model.Lesson, a *model.Answers, most int, progress func(done, of int)) (*Rehearsal, error) {
	return rehearse(ctx, l, a, nil, take.NewBench(), most, progress)
}

// RehearseWith is Rehearse with a voice of somebody's own giving the takes, nil for the
// talkers.
func RehearseWith(ctx context.Context, l *model.Lesson, a *model.Answers, guest *own.Guest, most int, progress func(done, of int)) (*Rehearsal, error) {
	return rehearse(ctx, l, a, guest, take.NewBench(), most, progress)
}

// Again plays the lesson with other answers, and the voice that it had; takes that are as in
// an earlier rehearsal are not recorded anew.
func (r *Rehearsal) Again(ctx context.Context, l *model.Lesson, a *model.Answers, progress func(done, of int)) (*Rehearsal, error) {
	return rehearse(ctx, l, a, r.guest, r.bench, len(r.Played), progress)
}

func rehearse(ctx context.Context, l *model.Lesson, a *model.Answers, guest *own.Guest, bench *take.Bench, most int, progress func(done, of int)) (*Rehearsal, error) {
	seeds := l.Seeds(most)
	out := &Rehearsal{Lesson: l.ID, Combinations: l.Combinations(), Played: make([]*Rehearsed, len(seeds))}
	keys := make([]string, len(seeds))
	for i, seed := range seeds {
		keys[i] = performanceKey(l.Drawn(seed))
	}
	out.bench, out.guest = bench, guest
	err := eachOf(ctx, keys, func(ctx context.Context, i int) (err error) {
		if out.Played[i], err = rehearseOne(ctx, l, a, guest, bench, seeds[i]); err != nil {
			return fmt.Errorf("seed %d (%s): %w", seeds[i], model.DrawnText(l.Drawn(seeds[i])), err)
		}
		return nil
	}, progress)
	if err != nil {
		return nil, err
	}
	for _, p := range out.Played {
		if p.Passed {
			out.Passed++
		}
	}
	return out, nil
}

func rehearseOne(ctx context.Context, l *model.Lesson, a *model.Answers, guest *own.Guest, bench *take.Bench, seed uint64) (*Rehearsed, error) {
	r, err := run.NewRunner(l, run.Options{Seed: seed, Student: "rehearsal", Bench: bench})
	if err != nil {
		return nil, err
	}
	if guest != nil {
		if err := r.Lend(guest); err != nil {
			return nil, err
		}
	}
	p := &Rehearsed{Seed: seed, Drawn: r.Progress().Drawn}
	missed := map[string]string{}
	err = run.Play(ctx, r, a, func(v run.View) {
		// How many choices were right is known of a question when it is answered.
		if q := v.Step.Question; q != nil && v.Step.Asks() {
			p.clear(v.Step, q, r.Known())
		}
		if why := v.Missed(); why != "" {
			missed[v.Step.ID] = why
		}
	})
	if err != nil {
		return nil, err
	}
	res, err := r.Result(nil)
	if err != nil {
		return nil, err
	}
	p.Points, p.Of, p.Passed, p.Why = res.Points, res.Of, res.Passed, res.Why(l)
	for i, s := range l.Steps {
		sp := &res.Steps[i]
		if s.Kind == model.Predict && s.Question.Gradable() {
			p.clear(s, s.Question, r.DecidedBy(s.ID))
		}
		if s.Scored() && sp.Verdict != run.Right && (s.Points > 0 || s.Must) {
			why := missed[s.ID]
			if why == "" {
				why = cmp.Or(sp.Missed(s), "not right")
			}
			p.Missed = append(p.Missed, Flag{s.ID, why})
		}
	}
	return p, nil
}

// clear notes a question that has no right choice, or more than one.
func (p *Rehearsed) clear(s *model.Step, q *model.Question, v rules.Values) {
	if q.Choices == nil || !q.Gradable() || v == nil {
		return
	}
	switch right := q.Right(v); {
	case len(right) == 0:
		p.Unclear = append(p.Unclear, Flag{s.ID, "no choice is right"})
	case len(right) > 1:
		p.Unclear = append(p.Unclear, Flag{s.ID, plain.Listed(right, "and") + " are right at once"})
	}
}
