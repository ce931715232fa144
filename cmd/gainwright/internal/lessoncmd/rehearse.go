package lessoncmd

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

func newLessonRehearseCmd() *cobra.Command {
	var file, out, recorder, voice string
	var most int
	var asJSON, force, quiet, shares bool
	cmd := &cobra.Command{
		Use:   "rehearse LESSON",
		Short: "Try answers on every student there can be",
		Long: `Play a lesson with one set of answers for every combination of what it draws: every
talker, distance and performance that a student can get. A task that one talker
cannot meet, or a question that has no right answer for one distance, shows here.

The answers come from a file; a built-in lesson has its own, which pass. Each
combination is told with a seed that draws it, for gainwright lesson run --seed.
Noted, and no fault, is a step where one setting, one prediction or one choice does
on every bench: a student can have it from a neighbour. With --shares each such step
is told with the share of the benches on which the most common answer does; of
settings those are tried that the answers come to, and their middle.

Of a lesson that allows voices of one's own, --voice tries the answers with one of them in the
place of every talker: such a voice talks and laughs as loudly as it does, whatever is drawn.

The exit status is 1 if any does not pass or cannot be answered.`,
		Example: `  gainwright lesson rehearse mine.yaml --answers model.yaml
  gainwright lesson rehearse mine.yaml --answers model.yaml --recorder my-recorder.yaml
  gainwright lesson rehearse mine.yaml --answers model.yaml --voice voice-me.wav
  gainwright lesson rehearse gain-and-headroom --json
  gainwright lesson rehearse whole-session --shares`,
		Args: cli.Args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			l, err := loadLessonOn(recorder, a[0])
			if err != nil {
				return err
			}
			if most < 1 {
				return cli.Usagef("--most %d: want 1 or more", most)
			}
			var data []byte
			switch {
			case file != "":
				if data, err = os.ReadFile(file); err != nil {
					return cli.Usagef("--answers %s: cannot be read", file)
				}
			case slices.Contains(builtin.Names(), a[0]):
				file = a[0]
				if data, err = builtin.ModelAnswers(a[0]); err != nil {
					return err
				}
			default:
				return cli.Usagef("lesson rehearse: wants the answers: --answers FILE")
			}
			ans, err := format.ParseAnswers(file, data, l)
			if err != nil {
				return err
			}
			guest, err := rehearsedBy(cmd.Context(), l, voice)
			if err != nil {
				return err
			}
			w := cli.NewWatch(cmd.ErrOrStderr(), quiet || asJSON)
			w.Begin("rehearsing")
			r, err := grade.RehearseWith(cmd.Context(), l, ans, guest, most, func(done, of int) { w.At(float64(done) / float64(of)) })
			if err == nil && guest == nil {
				w.Begin("looking for answers that do everywhere")
				err = r.Share(cmd.Context(), l, ans, shares, func(done, of int) { w.At(float64(done) / float64(of)) })
			}
			w.Done()
			if err != nil {
				if cmd.Context().Err() != nil {
					return err
				}
				return cli.Usagef("%s: %v", file, err)
			}
			page, err := rehearsalText(r, asJSON, shares)
			if err != nil {
				return err
			}
			if err := writeOut(cmd.OutOrStdout(), out, force, page); err != nil {
				return err
			}
			if !r.OK() {
				return errors.New(rehearsalSum(r))
			}
			return nil
		},
	}
	addRecorder(cmd, &recorder, "try them on")
	addVoice(cmd, &voice, "try them with")
	f := cmd.Flags()
	f.StringVar(&file, "answers", "", "take the answers from `FILE` (of a built-in lesson, its own)")
	f.IntVar(&most, "most", 200, "play at most `N` combinations")
	f.BoolVar(&shares, "shares", false, "tell of every step on how many benches the most common right answer does")
	f.StringVar(&out, "out", "", "write to `FILE` instead of the standard output")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	f.BoolVar(&force, "force", false, "replace a file that is there")
	f.BoolVar(&quiet, "quiet", false, "show no progress")
	return cmd
}

// rehearsedBy is the voice of somebody's own that gives the takes, nil for the talkers.
func rehearsedBy(ctx context.Context, l *model.Lesson, voice string) (*own.Guest, error) {
	switch {
	case voice == "":
		return nil, nil
	case !l.OwnVoice:
		return nil, cli.Usagef("--voice %s: the lesson %s does not allow voices of one's own (own_voice: allowed)", sounds.Shown(voice), l.ID)
	}
	return readVoice(ctx, voice)
}

// rehearsalSum is the one line that says how it went.
func rehearsalSum(r *grade.Rehearsal) string {
	unclear := 0
	for _, p := range r.Played {
		if len(p.Unclear) > 0 {
			unclear++
		}
	}
	s := fmt.Sprintf("%s: %d of %s pass", r.Lesson, r.Passed, cli.Counted(len(r.Played), "combination", "combinations"))
	if unclear > 0 {
		s += fmt.Sprintf(", %d with a question that has no one right answer", unclear)
	}
	if n := r.Combinations - len(r.Played); n > 0 {
		s += fmt.Sprintf("; %d more were not played (--most)", n)
	}
	return s
}

func rehearsalText(r *grade.Rehearsal, asJSON, shares bool) ([]byte, error) {
	var b bytes.Buffer
	if asJSON {
		err := cli.WriteJSON(&b, r)
		return b.Bytes(), err
	}
	for _, p := range r.Played {
		if p.Passed && len(p.Missed) == 0 && len(p.Unclear) == 0 {
			continue
		}
		verdict := "passed"
		if !p.Passed {
			verdict = "NOT PASSED: " + p.Why
		}
		with := p.Describe()
		if with != "" {
			with = " (" + with + ")"
		}
		fmt.Fprintf(&b, "--seed %d%s: %v of %v points, %s\n", p.Seed, with, p.Points, p.Of, verdict)
		for _, m := range append(slices.Clone(p.Missed), p.Unclear...) {
			fmt.Fprintf(&b, "    %s\n", m)
		}
	}
	for _, f := range r.Failing() {
		fmt.Fprintf(&b, "Every combination with %s fails.\n", f)
	}
	for _, s := range r.Shared {
		if shares {
			fmt.Fprintf(&b, "%-12s %-8s %3d of %d  %s\n", s.Step, s.Kind, s.Fits, s.Of, s.What)
		}
	}
	for _, n := range grade.Notes(r.Shared) {
		fmt.Fprintf(&b, "Note: %s.\n", n)
	}
	if b.Len() > 0 {
		fmt.Fprintln(&b)
	}
	fmt.Fprintln(&b, rehearsalSum(r)+".")
	return b.Bytes(), nil
}
