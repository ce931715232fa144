package run

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
)

// Play takes a runner to the end of its lesson with answers written down
// beforehand. each (may be nil) is called with every step's view when it is
// finished. A task whose rule does not hold counts as given up.
func Play(ctx context.Context, r *Runner, a *model.Answers, each func(View)) error {
	for r.State() != Finished {
		s := r.step()
		fail := func(err error) error { return fmt.Errorf("step %s: %w", s.ID, err) }
		ans := a.Steps[s.ID]
		switch r.State() {
		case Answering:
			texts := ans.Texts
			if s.Kind == model.Explain {
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
			for _, set := range ans.Settings {
				if err := r.Apply(set.Key, set.Value); err != nil {
					return fail(err)
				}
			}
			if err := r.Record(ctx, nil, ans.Changes...); err != nil {
				return fail(err)
			}
		case Listening:
			for _, t := range ans.Texts {
				if _, err := r.Answer(t); err != nil {
					return fail(err)
				}
			}
		}
		if each != nil {
			each(r.View())
		}
		if s.Kind == model.Do && r.Blocked() != "" {
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
	sc := &rules.Scope{Strips: r.l.Strips(), Latest: r.lastTake() != ""}
	for i := range r.p.At {
		if r.p.Steps[i].Take != nil {
			sc.Takes = append(sc.Takes, r.p.Steps[i].ID)
		}
	}
	e, bad := rules.Compile(code, sc, rules.Numerical)
	if len(bad) > 0 {
		return "", errors.New(bad[0].Msg)
	}
	return names.ValueText(names.Round(e.Number(r.values(r.p.At)), 1)), nil
}
