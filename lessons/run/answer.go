package run

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sim/meter"
	"gainwright/sounds/scenario/plain"
)

// Answer answers the present question: a choice by its letter, its number from 1
// or its text; a number with or without its unit; a text; a blind trial by the
// strip's name. The reply is what to tell the student. An answer that cannot be
// understood is an *AnswerError and does not count.
func (r *Runner) Answer(text string) (reply string, err error) {
	s := r.step()
	if s == nil {
		return "", errors.New("the lesson is finished")
	}
	sp := r.here()
	if s.Hears() && s.Trials > 0 {
		return r.trialAnswer(s, strings.TrimSpace(text))
	}
	if s.Kind != model.Predict && !s.Asks() && s.Kind != model.Explain {
		return "", errors.New("there is no question here")
	}
	if !r.Asked() {
		return "", ErrCommitted
	}
	if s.Kind == model.Explain {
		return "", sp.explain(s, strings.TrimSpace(text))
	}
	q := s.Question
	a, err := q.Read(text)
	if err != nil {
		return "", err
	}
	sp.Answers = append(sp.Answers, a)
	v := r.values(r.p.At)
	if s.Kind == model.Predict {
		if q.Gradable() {
			return "", nil // why is told with what came of it
		}
		sp.Verdict = Done
		return strings.Join(q.Why(a, v), "\n\n"), nil
	}
	return r.graded(s, a, v), nil
}

// explain keeps an answer in one's own words, which nobody grades.
func (sp *StepProgress) explain(s *model.Step, text string) error {
	if n := utf8.RuneCountInString(text); n < s.Least {
		return &model.AnswerError{Msg: fmt.Sprintf("%s: want %d or more", plain.Count(n, "character", "characters"), s.Least)}
	} else if n > 5000 {
		return &model.AnswerError{Msg: fmt.Sprintf("%d characters: the most is 5000", n)}
	}
	sp.Answers, sp.Verdict = []string{text}, Done
	return nil
}

// graded judges an answer to a question and returns what to say about it.
func (r *Runner) graded(s *model.Step, a string, v rules.Values) string {
	sp, q := r.here(), s.Question
	right, truth, _ := q.Grade(a, v)
	var told []string
	for i, c := range q.Choices {
		if model.Letter(i) == a && c.Because != nil {
			told = append(told, c.Because.Fill(v))
		}
	}
	switch {
	case right:
		sp.Verdict, sp.Points = Right, s.Points
	case len(sp.Answers) < q.Tries:
		r.said = append(told, fmt.Sprintf("Not yet. %s left.", plain.Count(q.Tries-len(sp.Answers), "try is", "tries are")))
		return strings.Join(r.said, "\n\n")
	default:
		sp.Verdict = Wrong
		told = append(told, "The answer is "+markup.Escape(names.InWords(truth))+".")
	}
	sp.Truth = truth
	if q.Because != nil {
		told = append(told, q.Because.Fill(v))
	}
	r.said = told
	return strings.Join(told, "\n\n")
}

// Trial tells which strip the present blind trial plays. It is for whatever plays
// it, not for the student.
func (r *Runner) Trial() (strip string, ok bool) {
	s := r.step()
	if s == nil || !s.Hears() || len(r.here().Answers) >= s.Trials {
		return "", false
	}
	return r.trial(s, len(r.here().Answers)), true
}

func (r *Runner) trial(s *model.Step, i int) string {
	return s.Strips[model.Pick(r.p.Seed, len(s.Strips), r.l.ID, s.ID, "trial", strconv.Itoa(i))]
}

func (r *Runner) trialAnswer(s *model.Step, text string) (string, error) {
	sp := r.here()
	if len(sp.Answers) >= s.Trials {
		return "", ErrCommitted
	}
	k := slices.IndexFunc(s.Strips, func(n string) bool { return strings.EqualFold(n, text) })
	if k < 0 {
		return "", &model.AnswerError{Msg: fmt.Sprintf("%s is none of %s", plain.Quote(text), plain.Listed(s.Strips, "and"))}
	}
	if s.Strips[k] == r.trial(s, len(sp.Answers)) {
		sp.Hits++
	}
	sp.Answers = append(sp.Answers, s.Strips[k])
	if len(sp.Answers) < s.Trials {
		return "", nil
	}
	sp.Verdict = Done
	r.said = []string{blindResult(sp.Hits, s.Trials)}
	return r.said[0], nil
}

// blindResult says what a number of hits is worth.
func blindResult(hits, trials int) string {
	p := meter.BinomialP(hits, trials)
	verdict := "that is what guessing gives often enough, so it shows nothing either way"
	if p <= 0.05 {
		verdict = "guessing hardly gives that, so there is something to hear"
	}
	return fmt.Sprintf("%d of %d right. By guessing, that many or more come up with a probability of %.3g: %s.", hits, trials, p, verdict)
}
