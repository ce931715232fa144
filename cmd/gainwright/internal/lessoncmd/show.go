package lessoncmd

import (
	"bytes"
	"html/template"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/lessons/builtin"
	"gainwright/lessons/handout"
	"gainwright/lessons/model"
	"gainwright/sounds/scenario"
)

// decorate gives a handout the bench's picture and the link.
func decorate(o *handout.Options, l *model.Lesson, public string) error {
	seed := uint64(0)
	if o.Seed != nil && *o.Seed <= scenario.MaxSeed { // else Render says so
		seed = *o.Seed
	}
	s, _, err := l.SetUp(l.Drawn(seed))
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := picture.Bench(&b, s.Strips[0].Name, s.Strips[0].Chain); err != nil {
		return err
	}
	o.Picture = template.HTML(b.String())
	if public == "" {
		return nil
	}
	if o.Link, err = linkAt(public, model.Link{Lesson: l.ID, Seed: o.Seed}); err != nil {
		return err
	}
	o.Code, err = codeOf(o.Link)
	return err
}

func newLessonShowCmd() *cobra.Command {
	var out, public, played string
	var seed uint64
	var force, answers, source bool
	cmd := &cobra.Command{
		Use:   "show LESSON",
		Short: "Print a lesson as a handout: one HTML page",
		Long: `Print a lesson as a handout: one HTML page that needs nothing else and prints well.
Values that the student measures are gaps to be filled in by hand, and so are those
that differ from student to student, unless --seed says whose they are. It has a
picture of the bench as the lesson begins and, with --public-url, the address at which
the lesson can be taken on a site that "gainwright site" has made.

Where steps show pictures ("show: waves", "show: diagram"), the lesson is played once and
they are drawn from its takes: by the model answers of a built-in lesson, by those in
--played, or else with nothing set but by the lesson itself. The student's copy has them on
its last pages, so that they do not tell what is to be predicted first.`,
		Example: `  gainwright lesson show gain-and-headroom --out handout.html
  gainwright lesson show mine.yaml --seed 17 --out anna.html
  gainwright lesson show delivery --public-url https://training.example.org/gain/ --out handout.html
  gainwright lesson show mine.yaml --answers --out trainer.html
  gainwright lesson show mine.yaml --played model.yaml --out handout.html
  gainwright lesson show gain-and-headroom --source > mine.yaml`,
		Args: cli.Args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			l, err := loadLesson(a[0])
			if err != nil {
				return err
			}
			o := handout.Options{Answers: answers}
			if !slices.Contains(builtin.Names(), a[0]) {
				o.File = quoteArg(filepath.Base(a[0])) // as it is where it was handed out to
			}
			if cmd.Flags().Changed("seed") {
				o.Seed = &seed
			}
			if err := decorate(&o, l, public); err != nil {
				return err
			}
			page := l.Text()
			if !source {
				if seed > scenario.MaxSeed {
					return cli.Usagef("seed %d is out of range: 0 to %d", seed, uint64(scenario.MaxSeed))
				}
				if err := stills(cmd.Context(), &o, l, played); err != nil {
					return err
				}
				if page, err = handout.Render(l, o); err != nil {
					return cli.Usagef("%v", err)
				}
			}
			return writeOut(cmd.OutOrStdout(), out, force, page)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "write to `FILE` instead of the standard output")
	cmd.Flags().Uint64Var(&seed, "seed", 0, "fill in what this seed draws (gaps)")
	cmd.Flags().StringVar(&public, "public-url", "", "the `URL` of a site at which the lesson can be taken")
	cmd.Flags().StringVar(&played, "played", "", "draw the steps' pictures from a run by the answers in `FILE`")
	cmd.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	cmd.Flags().BoolVar(&answers, "answers", false, "the trainer's copy: right answers, rules and hints")
	cmd.Flags().BoolVar(&source, "source", false, "the lesson's own file, to start another from")
	return cmd
}
