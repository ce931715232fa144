package lessons

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"gainwright/sounds/scenario/plain"

	"gainwright/sounds/scenario"
)

// A Rehearsal is a lesson played with one set of answers for every student there
// can be: for every combination of the quantities it draws.
type Rehearsal struct {
	Lesson       string       `json:"lesson"`
	Combinations int          `json:"combinations"` // there are
	Played       []*Rehearsed `json:"played"`
	Passed       int          `json:"passed"` // of those played
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
				passed[k+" "+valueText(v)]++
			} else {
				failed[k+" "+valueText(v)]++
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

// Combinations tells how many different benches students can get.
func (l *Lesson) Combinations() int {
	n := 1
	for _, d := range l.Vary {
		n = min(n*len(d.Values), 1<<30)
	}
	return n
}

// Seeds gives for every combination of drawn quantities the lowest seed that draws
// it, in ascending order, at most so many.
func (l *Lesson) Seeds(most int) []uint64 {
	want := min(l.Combinations(), most)
	seen := map[string]bool{}
	var out []uint64
	// All n come up within n (ln n + 5) draws but once in 150; the bound is far above.
	for seed := uint64(0); len(out) < want && seed < uint64(200*want+1000) && seed <= scenario.MaxSeed; seed++ {
		if k := drawnText(l.Drawn(seed)); !seen[k] {
			seen[k] = true
			out = append(out, seed)
		}
	}
	return out
}

func drawnText(drawn map[string]any) string {
	var out []string
	for _, k := range slices.Sorted(maps.Keys(drawn)) {
		out = append(out, k+" "+valueText(drawn[k]))
	}
	return strings.Join(out, ", ")
}

// Describe names a combination for people: "distance_m 0.1, talker joss".
func (p *Rehearsed) Describe() string { return drawnText(p.Drawn) }

// Rehearse plays a lesson with the answers for every combination of what it draws,
// at most so many, on all processors. progress may be nil.
func Rehearse(ctx context.Context, l *Lesson, a *Answers, most int, progress func(done, of int)) (*Rehearsal, error) {
	seeds := l.Seeds(most)
	out := &Rehearsal{Lesson: l.ID, Combinations: l.Combinations(), Played: make([]*Rehearsed, len(seeds))}
	keys := make([]string, len(seeds))
	for i, seed := range seeds {
		keys[i] = performanceKey(l.Drawn(seed))
	}
	bench := NewBench()
	err := eachOf(ctx, keys, func(ctx context.Context, i int) (err error) {
		if out.Played[i], err = rehearseOne(ctx, l, a, bench, seeds[i]); err != nil {
			return fmt.Errorf("seed %d (%s): %w", seeds[i], drawnText(l.Drawn(seeds[i])), err)
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

func rehearseOne(ctx context.Context, l *Lesson, a *Answers, bench *Bench, seed uint64) (*Rehearsed, error) {
	r, err := NewRunner(l, Options{Seed: seed, Student: "rehearsal", Bench: bench})
	if err != nil {
		return nil, err
	}
	p := &Rehearsed{Seed: seed, Drawn: r.p.Drawn}
	missed := map[string]string{}
	err = Play(ctx, r, a, func(v View) {
		// How many choices were right is known of a question when it is answered.
		if q := v.Step.Question; q != nil && v.Step.Kind == Ask {
			p.clear(v.Step, q, r.values(r.p.At))
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
		if s.Kind == Predict && s.Question.gradable() {
			p.clear(s, s.Question, r.decidedAt[s.ID])
		}
		if s.scored() && sp.Verdict != Right && (s.Points > 0 || s.Must) {
			why := missed[s.ID]
			if why == "" {
				why = cmp.Or(s.Missed(sp), "not right")
			}
			p.Missed = append(p.Missed, Flag{s.ID, why})
		}
	}
	return p, nil
}

// clear notes a question that has no right choice, or more than one.
func (p *Rehearsed) clear(s *Step, q *Question, v values) {
	if q.Choices == nil || !q.gradable() || v == nil {
		return
	}
	switch right := q.right(v); {
	case len(right) == 0:
		p.Unclear = append(p.Unclear, Flag{s.ID, "no choice is right"})
	case len(right) > 1:
		p.Unclear = append(p.Unclear, Flag{s.ID, plain.Listed(right, "and") + " are right at once"})
	}
}

// Missed tells why a task is not met, or "": every part of its rule that does not
// hold, with what was measured.
func (v *View) Missed() string {
	if v.Step == nil || v.Step.Kind != Do || v.Met {
		return ""
	}
	if v.Take == nil {
		return "nothing was recorded"
	}
	var out []string
	for _, c := range v.Checks {
		if !c.OK {
			out = append(out, fmt.Sprintf("%s (wanted: %s)", c.Got, c.Text))
		}
	}
	return strings.Join(out, "; ")
}

// Missed tells what was answered and what would have been right; "" if the answer
// is right or cannot be wrong.
func (s *Step) Missed(sp *StepProgress) string {
	if s.Question == nil || len(sp.Answers) == 0 || sp.Verdict != Wrong {
		return ""
	}
	out := "answered " + s.Question.say(sp.Answers[len(sp.Answers)-1])
	if sp.Truth != "" {
		out += ", right is " + sp.Truth
	}
	return out
}
