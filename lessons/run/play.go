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
		err := r.playStep(ctx, s, a.Steps[s.ID])
		if err == nil {
			if each != nil {
				each(r.View())
			}
			err = r.Advance()
		}
		if err != nil {
			return fmt.Errorf("step %s: %w", s.ID, err)
		}
	}
	return nil
}

// playStep does what the answer file says for the step that the runner is at.
func (r *Runner) playStep(ctx context.Context, s *model.Step, ans model.Answer) error {
	switch r.State() {
	case Answering:
		return r.playTexts(s, ans.Texts)
	case Recording:
		for _, set := range ans.Settings {
			if err := r.Apply(set.Key, set.Value); err != nil {
				return err
			}
		}
		return r.Record(ctx, nil, ans.Changes...)
	case Listening:
		for _, t := range ans.Texts {
			if _, err := r.Answer(t); err != nil {
				return err
			}
		}
	}
	return nil
}

// playTexts answers a question until it asks no more.
func (r *Runner) playTexts(s *model.Step, texts []string) error {
	if s.Kind == model.Explain {
		texts = []string{strings.Join(texts, "\n")}
	}
	for _, t := range texts {
		if r.State() != Answering {
			break
		}
		t, err := r.formula(t)
		if err != nil {
			return err
		}
		if _, err := r.Answer(t); err != nil {
			return err
		}
	}
	// Fewer answers than tries: the last one stands.
	for last := ""; r.State() == Answering; {
		if len(r.here().Answers) > 0 {
			last = r.here().Answers[len(r.here().Answers)-1]
		}
		if _, err := r.Answer(last); err != nil {
			return err
		}
	}
	return nil
}

// Advance goes on to the next step, past a task that was not met as well.
func (r *Runner) Advance() error {
	if s := r.step(); s != nil && s.Kind == model.Do && r.Blocked() != "" {
		return r.GiveUp()
	}
	return r.Next()
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
