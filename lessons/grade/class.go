package grade

import (
	"context"

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
	return grades, nil
}

// copies flags results that are the same attempt, and notes those that agree in
// everything a student decides.
func copies(grades []*Grade) {
	attempts, words := map[string]*Grade{}, map[string]*Grade{}
	for _, g := range grades {
		r := g.Result
		if o := attempts[r.Attempt]; o != nil {
			g.Flags = append(g.Flags, Flag{"", "is the same attempt as " + o.Path})
			continue
		}
		attempts[r.Attempt] = g
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
