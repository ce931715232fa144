// Package lessoncmd has the commands below lesson: list, check, show, run, review, rehearse, links,
// key, grade, statements, package and practice.
package lessoncmd

import (
	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
)

// New is the command lesson.
func New() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "lesson",
		Short: "Lessons: list, check, print, play, grade and package them",
		Long: `Lessons: list, check, print, play, grade and package them.

A lesson is a text file (YAML): something to read, a question to answer before
hearing, a take to record, a task to meet. Values differ from student to student,
drawn by the seed. A finished lesson gives a result file, and grading runs every
take in it again.

A LESSON is a built-in lesson's name or a file.`,
		Example: `  gainwright lesson list
  gainwright lesson run gain-and-headroom
  gainwright lesson review --keep review.json --results my-results/
  gainwright lesson show gain-and-headroom --out handout.html
  gainwright lesson check mine.yaml
  gainwright lesson rehearse mine.yaml --answers model.yaml
  gainwright lesson grade results/ --csv
  gainwright lesson package gain-and-headroom --for scorm`,
		Args: func(cmd *cobra.Command, a []string) error {
			if len(a) == 0 {
				return nil
			}
			cmd.SuggestionsMinimumDistance = 2
			if near := cmd.SuggestionsFor(a[0]); len(near) > 0 {
				return cli.Usagef("lesson: there is no command %q: did you mean %s?", a[0], near[0])
			}
			return cli.Usagef("lesson: there is no command %q; see gainwright lesson --help", a[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newLessonListCmd(), newLessonCheckCmd(), newLessonShowCmd(), newLessonRunCmd(), newLessonReviewCmd(), newLessonRehearseCmd(),
		newLessonLinksCmd(), newLessonKeyCmd(), newLessonGradeCmd(), newLessonStatementsCmd(), newLessonPackageCmd(), newLessonPracticeCmd())
	return cmd
}
