package lessoncmd

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/model"
	"gainwright/lessons/review"
	lessonrun "gainwright/lessons/run"
)

// listed is a lesson of the list.
type listed struct {
	Name     string  `json:"name"`
	Title    string  `json:"title"`
	For      string  `json:"for"`
	Minutes  float64 `json:"minutes"`
	Steps    int     `json:"steps"`
	Points   float64 `json:"points"`
	SHA256   string  `json:"sha256"`
	OwnVoice bool    `json:"own_voice,omitempty"` // may be taken with a voice of one's own
	review.Place
	Standing string `json:"standing,omitempty"` // with results: passed, not passed, next, or nothing
}

func newLessonListCmd() *cobra.Command {
	var asJSON bool
	var results, lessons []string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the built-in lessons, and where you stand with them",
		Long: `List the built-in lessons in the order to take them, each with what it builds on and leads
to. With --results, the results of one student, it tells which are passed, and which one to
take next: the first that builds on none that is not passed. Results are not verified here;
"gainwright lesson grade" does that.`,
		Example: `  gainwright lesson list
  gainwright lesson list --results my-results/
  gainwright lesson list --lesson mine.yaml --json`,
		Args: cli.Args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			ls, err := lessonFiles(lessons)
			if err != nil {
				return err
			}
			best, err := standings(results)
			if err != nil {
				return err
			}
			all := listOf(ls, best)
			if asJSON {
				return cli.WriteJSON(cmd.OutOrStdout(), struct {
					Lessons []listed `json:"lessons"`
				}{all})
			}
			_, err = cmd.OutOrStdout().Write(listText(all, best != nil))
			return err
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&results, "results", nil, "tell where the student of the results in `PATH` stands: a file or a folder (repeatable)")
	f.StringArrayVar(&lessons, "lesson", nil, "also list the lesson in `FILE` (repeatable)")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

// standings reads results, and gives for each lesson whether one of them is passed; nil
// without any path. Only finished lessons count.
func standings(paths []string) (map[string]bool, error) {
	if len(paths) == 0 {
		return nil, nil
	}
	rs, err := finished(paths)
	if err != nil {
		return nil, err
	}
	best := map[string]bool{}
	for _, r := range rs {
		best[r.Lesson.ID] = best[r.Lesson.ID] || r.Passed
	}
	return best, nil
}

// finished reads the results of finished lessons.
func finished(paths []string) (out []*lessonrun.Result, err error) {
	files, err := resultFiles(paths)
	if err != nil {
		return nil, err
	}
	for _, p := range files {
		r, err := lessonrun.LoadResult(p)
		if err != nil {
			return nil, err
		}
		if r.Ended != nil {
			out = append(out, r)
		}
	}
	return out, nil
}

func listOf(ls []*model.Lesson, best map[string]bool) (out []listed) {
	places := review.Places(ls)
	next := ""
	if best != nil {
		next = review.Next(ls, func(id string) bool { return best[id] })
	}
	for _, l := range ls {
		e := listed{l.ID, l.Title, l.For, l.Minutes, len(l.Steps), l.Of(), l.Hash, l.OwnVoice, places[l.ID], ""}
		switch passed, taken := best[l.ID]; {
		case passed:
			e.Standing = "passed"
		case l.ID == next:
			e.Standing = "next"
		case taken:
			e.Standing = "not passed"
		}
		out = append(out, e)
	}
	return out
}

func listText(all []listed, standing bool) []byte {
	var b bytes.Buffer
	passed := 0
	for _, e := range all {
		mark := ""
		if standing {
			mark = fmt.Sprintf("%-11s", e.Standing)
		}
		if e.Standing == "passed" {
			passed++
		}
		indent := strings.Repeat(" ", len(mark)+32)
		fmt.Fprintf(&b, "%s%-22s %3.0f min  %s\n%sfor %s\n", mark, e.Name, e.Minutes, e.Title, indent, e.For)
		if e.OwnVoice {
			fmt.Fprintf(&b, "%smay be taken with your own voice\n", indent)
		}
		if way := wayOf(e.Place); way != "" {
			fmt.Fprintf(&b, "%s%s\n", indent, way)
		}
	}
	if standing {
		fmt.Fprintf(&b, "\n%d of %d passed.\n", passed, len(all))
	}
	return b.Bytes()
}

// wayOf says what a lesson builds on and leads to.
func wayOf(p review.Place) string {
	var out []string
	if len(p.Needs) > 0 {
		out = append(out, "builds on "+strings.Join(p.Needs, ", "))
	}
	if len(p.LeadsTo) > 0 {
		out = append(out, "leads to "+strings.Join(p.LeadsTo, ", "))
	}
	return strings.Join(out, "; ")
}
