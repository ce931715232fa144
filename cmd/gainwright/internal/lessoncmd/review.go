package lessoncmd

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/model"
	"gainwright/lessons/review"
	lessonrun "gainwright/lessons/run"
	"gainwright/sounds"
)

// reviewing is what the command review was asked to do.
type reviewing struct {
	keep, day         string
	results, lessons  []string
	seed              uint64
	seeded            bool
	list, all, asJSON bool
	most              int
}

func newLessonReviewCmd() *cobra.Command {
	var o reviewing
	cmd := &cobra.Command{
		Use:   "review --keep FILE",
		Short: "Go over what was learnt: one task of each lesson taken, at growing intervals of days",
		Long: `Go over what was learnt: one task of each lesson taken, mixed, with another guest. Which
lessons were taken is told by results (--results); when each comes again is kept in --keep,
which is made if it is not there.

The rule is ` + lowerFirst(review.Rule) + `
A day after the lesson first, 64 days at most; what is asked before its day (--all) moves
nothing if it is right. Sources: ` + review.Source + `.

A task is one that stands alone: to be met by a take of its own, or a question whose words
speak of no take. Nothing here counts for a result.`,
		Example: `  gainwright lesson review --keep review.json --results my-results/
  gainwright lesson review --keep review.json --list
  gainwright lesson review --keep review.json --most 3`,
		Args: cli.Args(cobra.NoArgs, "takes no arguments: name results with --results"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			o.seeded = cmd.Flags().Changed("seed")
			return o.run(cmd)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.keep, "keep", "", "keep when what comes again in `FILE`")
	f.StringArrayVar(&o.results, "results", nil, "the lessons of the results in `PATH` were taken: a file or a folder (repeatable)")
	f.StringArrayVar(&o.lessons, "lesson", nil, "a lesson `FILE` beside the built-in ones (repeatable)")
	f.IntVar(&o.most, "most", 0, "ask `N` tasks at most (all that are due)")
	f.BoolVar(&o.all, "all", false, "ask also what is not due yet")
	f.BoolVar(&o.list, "list", false, "list when what comes, and ask nothing")
	f.Uint64Var(&o.seed, "seed", 0, "draws tasks and guests (a random one)")
	f.StringVar(&o.day, "day", "", "the `DAY` that counts as today, as in 2026-05-31 (today)")
	f.BoolVar(&o.asJSON, "json", false, "with --list, print one JSON object")
	return cmd
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

func (o *reviewing) run(cmd *cobra.Command) error {
	if o.keep == "" {
		return cli.Usagef("lesson review: where is kept what comes when? Name a file with --keep")
	}
	if o.asJSON && !o.list {
		return cli.Usagef("lesson review: --json goes with --list: a review talks to the terminal")
	}
	now := time.Now()
	if o.day != "" {
		d, err := time.ParseInLocation(review.Day, o.day, time.Local)
		if err != nil {
			return cli.Usagef("--day %s: want a day as in 2026-05-31", o.day)
		}
		now = d.Add(12 * time.Hour)
	}
	s, err := o.state()
	if err != nil {
		return err
	}
	ls, err := lessonFiles(o.lessons)
	if err != nil {
		return err
	}
	if o.list {
		return o.tell(cmd, s, now)
	}
	if !o.seeded {
		o.seed = rand.Uint64N(1_000_000)
	}
	draw := rand.New(rand.NewPCG(o.seed, 1))
	ids := s.Due(now, draw)
	if o.all {
		ids = s.All(draw)
	}
	t := &terminal{in: bufio.NewScanner(cmd.InOrStdin()), out: cmd.OutOrStdout(), errs: cmd.ErrOrStderr(), o: &lessonRun{}}
	return o.ask(cmd.Context(), t, s, ids, byID(ls), now, draw)
}

// byID are the lessons by their ids; of two of one id the file that was given.
func byID(ls []*model.Lesson) map[string]*model.Lesson {
	out := map[string]*model.Lesson{}
	for _, l := range ls {
		out[l.ID] = l
	}
	return out
}

// state reads what was kept and adds what results tell.
func (o *reviewing) state() (*review.State, error) {
	b, err := os.ReadFile(o.keep)
	if err != nil && !cli.IsMissing(o.keep) {
		return nil, cli.Usagef("--keep %s: cannot be read", o.keep)
	}
	s, err := review.Read(b)
	if err != nil {
		return nil, &sounds.InputError{Path: o.keep, Msg: err.Error(), Err: err}
	}
	if len(o.results) == 0 {
		return s, nil
	}
	rs, err := finished(o.results)
	if err != nil {
		return nil, err
	}
	for _, r := range rs {
		s.Taken(r.Lesson.ID, r.Ended.Local())
	}
	return s, o.store(s)
}

func (o *reviewing) store(s *review.State) error {
	b, err := s.Marshal()
	if err != nil {
		return err
	}
	return writeOut(nil, o.keep, true, b)
}

// tell lists when what comes.
func (o *reviewing) tell(cmd *cobra.Command, s *review.State, now time.Time) error {
	type row struct {
		Lesson string `json:"lesson"`
		review.Standing
		IsDue bool `json:"is_due"`
	}
	rows := []row{}
	for _, id := range s.All(rand.New(rand.NewPCG(0, 0))) {
		x := *s.Lessons[id]
		rows = append(rows, row{id, x, x.Due <= now.Format(review.Day)})
	}
	if o.asJSON {
		return cli.WriteJSON(cmd.OutOrStdout(), struct {
			Rule    string `json:"rule"`
			Source  string `json:"source"`
			Lessons []row  `json:"lessons"`
		}{review.Rule, review.Source, rows})
	}
	var b bytes.Buffer
	for _, r := range rows {
		when := r.Due
		if r.IsDue {
			when = "due"
		}
		fmt.Fprintf(&b, "%-24s %-10s  every %s, %d right, %d not\n", r.Lesson, when, cli.Counted(r.Days, "day", "days"), r.Right, r.Wrong)
	}
	if len(rows) == 0 {
		fmt.Fprintln(&b, "No lesson has been taken: name results with --results.")
	}
	_, err := cmd.OutOrStdout().Write(b.Bytes())
	return err
}

// ask asks one task of each lesson, and keeps after each how it went.
func (o *reviewing) ask(ctx context.Context, t *terminal, s *review.State, ids []string, ls map[string]*model.Lesson, now time.Time, draw *rand.Rand) error {
	asked, right := 0, 0
	for _, id := range ids {
		if o.most > 0 && asked == o.most {
			break
		}
		l := ls[id]
		if l == nil {
			fmt.Fprintf(t.errs, "%s is not at hand: give its file with --lesson\n", id)
			continue
		}
		i, ok := s.Pick(l, draw)
		if !ok {
			continue // none of its steps stands alone
		}
		r, err := lessonrun.NewRunner(review.Task(l, i), lessonrun.Options{Seed: draw.Uint64N(1_000_000)})
		if err != nil {
			return err
		}
		t.r = r
		if err := t.one(ctx); errors.Is(err, errQuit) {
			return fmt.Errorf("stopped; %d asked, the rest stays due", asked)
		} else if err != nil {
			return err
		}
		good := r.Progress().Steps[0].Verdict == lessonrun.Right
		asked++
		if good {
			right++
		}
		s.Answered(id, l.Steps[i].ID, good, now)
		if err := o.store(s); err != nil {
			return err
		}
		fmt.Fprintf(t.out, "%s: comes again on %s.\n\n", l.Title, s.Lessons[id].Due)
	}
	switch next := s.Next(); {
	case asked > 0:
		fmt.Fprintf(t.out, "%d of %d right.\n", right, asked)
	case next == "":
		return cli.Usagef("lesson review: no lesson has been taken: name results with --results")
	default:
		fmt.Fprintf(t.out, "Nothing is due before %s. (--all asks all the same.)\n", next)
	}
	return nil
}

// one plays the only step of a task.
func (t *terminal) one(ctx context.Context) error {
	fmt.Fprintf(t.out, "--- %s ---\n\n", t.r.Lesson().Title)
	for t.r.State() != lessonrun.Finished {
		v := t.r.View()
		t.say(v.Text)
		if err := t.step(ctx, v); err != nil {
			return err
		}
	}
	return nil
}
