package lessoncmd

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	lessonrun "gainwright/lessons/run"
)

// terminal plays a lesson with a person at the keyboard.
type terminal struct {
	in   *bufio.Scanner
	out  io.Writer
	errs io.Writer
	r    *lessonrun.Runner
	o    *lessonRun
}

const terminalWidth = 78

func (t *terminal) say(markdown string) {
	fmt.Fprintf(t.out, "%s\n\n", markup.Plain(markdown, terminalWidth))
}

var errQuit = errors.New("stopped")

// ask reads a line; the end of the input and "quit" stop the lesson.
func (t *terminal) ask(ctx context.Context, prompt string) (string, error) {
	fmt.Fprint(t.out, prompt+" ")
	line := make(chan string, 1)
	go func() {
		if t.in.Scan() {
			line <- t.in.Text()
		}
		close(line)
	}()
	select {
	case s, ok := <-line:
		s = strings.TrimSpace(s)
		if !ok || strings.EqualFold(s, "quit") {
			fmt.Fprintln(t.out)
			return "", errQuit
		}
		return s, nil
	case <-ctx.Done():
		fmt.Fprintln(t.out)
		return "", errQuit
	}
}

func (t *terminal) play(ctx context.Context) error {
	l := t.r.Lesson()
	fmt.Fprintf(t.out, "%s\n%s\n", strings.ToUpper(l.Title), strings.Repeat("=", cli.Runes(l.Title)))
	fmt.Fprintf(t.out, "About %v minutes, %v points. Seed %d. \"quit\" stops.\n\n", l.Minutes, l.Of(), t.r.Progress().Seed)
	if l.About != "" {
		t.say(l.About)
	}
	for t.r.State() != lessonrun.Finished {
		v := t.r.View()
		fmt.Fprintf(t.out, "--- %d of %d: %s ---\n\n", v.Number, v.Of, model.KindTitle(v.Step.Kind))
		t.say(v.Text)
		t.predictions(v)
		err := t.step(ctx, v)
		if saveErr := t.save(); saveErr != nil {
			return saveErr
		}
		if errors.Is(err, errQuit) {
			if t.o.keep != "" {
				return fmt.Errorf("stopped at step %d of %d; go on with --keep %s", v.Number, v.Of, t.o.keep)
			}
			return fmt.Errorf("stopped at step %d of %d; with --keep FILE it could be gone on with", v.Number, v.Of)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (t *terminal) save() error {
	if t.o.keep == "" {
		return nil
	}
	b, err := t.r.Save()
	if err != nil {
		return err
	}
	return writeOut(nil, t.o.keep, true, b)
}

// predictions tells what came of those that the step is about, or the last one decided.
func (t *terminal) predictions(v lessonrun.View) {
	for _, p := range v.Predictions {
		fmt.Fprintf(t.out, "  You predicted. %s\n    you said: %s\n", p.Asked, p.Answer)
		switch p.Verdict {
		case lessonrun.Right:
			fmt.Fprintln(t.out, "    right")
		case lessonrun.Wrong:
			fmt.Fprintf(t.out, "    it came:  %s\n", p.Truth)
		}
		fmt.Fprintln(t.out)
		if p.Because != "" {
			t.say(p.Because)
		}
	}
}

func (t *terminal) step(ctx context.Context, v lessonrun.View) error {
	switch t.r.State() {
	case lessonrun.Answering:
		if err := t.question(ctx, v); err != nil {
			return err
		}
	case lessonrun.Recording:
		return t.record(ctx, v)
	case lessonrun.Listening:
		if err := t.listen(ctx, v); err != nil {
			return err
		}
		if v.Asked {
			if err := t.question(ctx, v); err != nil {
				return err
			}
		}
	case lessonrun.Reading:
		if t.r.Owes() {
			if err := t.r.Work(ctx); err != nil {
				return err
			}
			for _, f := range t.r.View().Feedback {
				t.say(f)
			}
		}
	}
	if _, err := t.ask(ctx, "(Enter goes on)"); err != nil {
		return err
	}
	fmt.Fprintln(t.out)
	return t.r.Next()
}

func (t *terminal) question(ctx context.Context, v lessonrun.View) error {
	for i, c := range v.Choices {
		fmt.Fprintf(t.out, "  %s) %s\n", model.Letter(i), c)
	}
	prompt := "Your answer:"
	if q := v.Step.Question; q != nil && q.Number != nil && q.Number.Unit != "" {
		prompt = "Your answer in " + q.Number.Unit + ":"
	}
	if v.Step.Kind == model.Predict {
		prompt = "Your prediction (it stands):"
	}
	for t.r.Asked() {
		s, err := t.ask(ctx, prompt)
		if err != nil {
			return err
		}
		reply, err := t.r.Answer(s)
		var not *model.AnswerError
		switch {
		case errors.As(err, &not):
			fmt.Fprintln(t.out, "  "+not.Msg)
			continue
		case err != nil:
			return err
		}
		fmt.Fprintln(t.out)
		if sp := t.r.Progress().Steps[v.Number-1]; sp.Verdict == lessonrun.Right && v.Step.Asks() {
			fmt.Fprintf(t.out, "Right.\n\n")
		}
		if reply != "" {
			t.say(reply)
		}
	}
	return nil
}
