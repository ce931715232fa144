package grade

import (
	"context"
	"fmt"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
)

// GradeAll grades many results on all processors, those that share performances
// one after the other, and then looks for results that are one another's copies.
// The order of the grades is that of the results. progress may be nil.
func (g *Grader) GradeAll(ctx context.Context, paths []string, results []*run.Result, progress func(done, of int)) ([]*Grade, error) {
	keys := make([]string, len(results))
	for i, r := range results {
		keys[i] = r.Lesson.Hash + performanceKey(r.Drawn)
		if r.Voice != nil {
			keys[i] = r.Voice.Sum
		}
	}
	grades := make([]*Grade, len(results))
	err := eachOf(ctx, keys, func(ctx context.Context, i int) (err error) {
		grades[i], err = g.Grade(ctx, paths[i], results[i])
		return err
	}, progress)
	if err != nil {
		return nil, err
	}
	copies(grades)
	alike(grades)
	return grades, nil
}

// copies flags results that are the same attempt, and notes those that agree in
// everything a student decides. Of one attempt that whose own flags are fewest is taken for
// the first, as who was copied from signs rightly where the copy's new name does not; else
// that which comes first.
func copies(grades []*Grade) {
	attempts, words := map[string]*Grade{}, map[string]*Grade{}
	for _, g := range grades {
		if o := attempts[g.Result.Attempt]; o == nil || len(g.Flags) < len(o.Flags) {
			attempts[g.Result.Attempt] = g
		}
	}
	for _, g := range grades {
		r := g.Result
		if o := attempts[r.Attempt]; o != g {
			g.Flags = append(g.Flags, Flag{"", "is the same attempt as " + o.Path})
			continue
		}
		for _, s := range r.Steps {
			if s.Kind != model.Explain || len(s.Answers) == 0 || len(s.Answers[0]) < 40 {
				continue
			}
			k := s.ID + "\x00" + model.PlainWords(s.Answers[0])
			if o := words[k]; o != nil {
				g.Notes = append(g.Notes, Flag{s.ID, "the same words as in " + o.Path})
			} else {
				words[k] = g
			}
		}
	}
}

// alike notes results of one seed, and results of one name, of the same lesson.
func alike(grades []*Grade) {
	seeds, named := map[string]*Grade{}, map[string]*Grade{}
	note := func(of map[string]*Grade, key, what string, g *Grade) {
		o := of[key]
		if o == nil {
			of[key] = g
			return
		}
		g.Notes = append(g.Notes, Flag{"", what + " in " + o.Path})
		o.Notes = append(o.Notes, Flag{"", what + " in " + g.Path})
	}
	for _, g := range grades {
		if g.Result == nil {
			continue
		}
		note(seeds, fmt.Sprint(g.Result.Lesson.Hash, g.Seed), fmt.Sprintf("the seed %d also stands", g.Seed), g)
		note(named, g.Result.Lesson.Hash+nameKey(g.Student), "the same name also stands", g)
	}
}

// nameKey is the same for names that people take for one.
func nameKey(s string) string { return model.PlainWords(s) }
