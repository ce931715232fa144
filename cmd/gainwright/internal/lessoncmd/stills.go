package lessoncmd

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"os"
	"slices"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/handout"
	"gainwright/lessons/model"
	lessonrun "gainwright/lessons/run"
)

// stills plays the lesson once, for its pictures to be of real takes: by the answers in a
// file, those that a built-in lesson comes with, or else as the bench stands.
func stills(ctx context.Context, o *handout.Options, l *model.Lesson, answers string) error {
	if !slices.ContainsFunc(l.Steps, func(s *model.Step) bool { return s.Show.What != "" }) {
		if answers != "" {
			return cli.Usagef("--played: the lesson shows no pictures, for which it would be played")
		}
		return nil
	}
	a, how, err := playedBy(l, answers)
	if err != nil {
		return err
	}
	seed := uint64(0)
	if o.Seed != nil {
		seed = *o.Seed
	}
	r, err := lessonrun.NewRunner(l, lessonrun.Options{Seed: seed})
	if err != nil {
		return cli.Usagef("%v", err)
	}
	o.Played = fmt.Sprintf("of a take made for this page, with the seed %d, %s", seed, how)
	o.Shown = map[int]handout.Picture{}
	var faults []error
	look := func(v lessonrun.View) {
		s, err := r.Still(ctx)
		if err == nil && s != nil {
			var b bytes.Buffer
			var title string
			title, err = picture.Still(&b, v.Step.Show.What, s)
			o.Shown[v.Number-1] = handout.Picture{SVG: template.HTML(b.String()), Title: title}
		}
		if err != nil {
			faults = append(faults, err)
		}
	}
	err = lessonrun.Play(ctx, r, a, look)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil && answers == "":
		return cli.Usagef("%s: its pictures are of takes, and it cannot be played by itself (%v): name answers with --played", l.ID, err)
	case err != nil:
		return cli.Usagef("%s: %v", answers, err)
	case len(faults) > 0:
		return faults[0]
	}
	return nil
}

// playedBy reads the answers that the lesson is played by, and says which they are.
func playedBy(l *model.Lesson, path string) (a *model.Answers, how string, err error) {
	if path != "" {
		b, err := os.ReadFile(path)
		if err != nil {
			return nil, "", cli.Usagef("--played %s: cannot be read", path)
		}
		a, err = format.ParseAnswers(path, b, l)
		return a, "by given answers", err
	}
	if known, err := builtin.Load(l.ID); err == nil && known.Hash == l.Hash {
		b, err := builtin.ModelAnswers(l.ID)
		if err != nil {
			return nil, "", err
		}
		a, err = format.ParseAnswers(l.ID, b, l)
		return a, "by the lesson's model answers", err
	}
	return asItStands(l), "nothing set but by the lesson", nil
}

// asItStands answers whatever, and sets nothing.
func asItStands(l *model.Lesson) *model.Answers {
	a := &model.Answers{Steps: map[string]model.Answer{}}
	for _, s := range l.Steps {
		text := "1"
		switch {
		case s.Hears() && s.Question == nil && s.Trials == 0:
			continue // to be heard, and no more
		case s.Question != nil && len(s.Question.Choices) > 0:
			text = model.Letter(0)
		case s.Kind == model.Explain:
			text = strings.Repeat("x", s.Least)
		case s.Trials > 0:
			a.Steps[s.ID] = model.Answer{Texts: slices.Repeat(s.Strips[:1], s.Trials)}
			continue
		}
		a.Steps[s.ID] = model.Answer{Texts: []string{text}}
	}
	return a
}
