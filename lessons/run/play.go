package run

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
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
		err := r.PlayStep(ctx, a)
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

// PlayStep does what the answers say for the step that the runner is at, and stays there.
func (r *Runner) PlayStep(ctx context.Context, a *model.Answers) error {
	s := r.step()
	if s == nil {
		return errors.New("the lesson is finished")
	}
	ans := a.Steps[s.ID]
	if err := r.Work(ctx); err != nil {
		return err
	}
	switch r.State() {
	case Answering:
		return r.playTexts(s, ans.Texts)
	case Recording:
		return r.playTake(ctx, s, ans)
	case Listening:
		if s.Question != nil {
			return r.playTexts(s, ans.Texts)
		}
		for _, t := range ans.Texts {
			if _, err := r.Answer(t); err != nil {
				return err
			}
		}
	}
	return nil
}

// playTake sets what the answers say, and records.
func (r *Runner) playTake(ctx context.Context, s *model.Step, ans model.Answer) error {
	settings, err := r.Worked(ans.Settings)
	if err != nil {
		return err
	}
	for _, set := range settings {
		if err := r.Apply(set.Key, set.Value); err != nil {
			return err
		}
	}
	changes := slices.Clone(ans.Changes)
	for i, c := range changes {
		w, err := r.Worked([]model.Setting{{Key: c.Key, Value: c.Value}})
		if err != nil {
			return err
		}
		changes[i].Value = w[0].Value
	}
	return r.Record(ctx, nil, changes...)
}

// Worked gives settings with those worked out that are computed, each to the steps of
// its control.
func (r *Runner) Worked(settings []model.Setting) ([]model.Setting, error) {
	out := slices.Clone(settings)
	for i, set := range out {
		code, ok := model.Formula(set.Value)
		if !ok {
			continue
		}
		x, err := r.evaluate(code)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", set.Key, err)
		}
		step := 0.1
		for _, c := range r.step().Controls {
			if c.Key == set.Key && c.Step > 0 {
				step = c.Step
			}
		}
		out[i].Value = names.Round(math.Round(x/step)*step, 6)
	}
	return out, nil
}

// playTexts answers a question until it asks no more.
func (r *Runner) playTexts(s *model.Step, texts []string) error {
	if s.Kind == model.Explain {
		texts = []string{strings.Join(texts, "\n")}
	}
	for _, t := range texts {
		if !r.Asked() {
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
	for last := ""; r.Asked(); {
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
	code, ok := model.Formula(t)
	if !ok {
		return t, nil
	}
	x, err := r.evaluate(code)
	return names.ValueText(names.Round(x, 1)), err
}

// evaluate works out what an answer to the present step is computed from.
func (r *Runner) evaluate(code string) (float64, error) {
	e, bad := rules.Compile(code, r.l.FormulaScope(r.step().ID), rules.Numerical)
	if len(bad) > 0 {
		return 0, errors.New(bad[0].Msg)
	}
	x := e.Number(r.values(r.p.At - 1))
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%s has no value here", code)
	}
	return x, nil
}
