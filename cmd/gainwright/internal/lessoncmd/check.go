package lessoncmd

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	lessonnames "gainwright/lessons/names"
	"gainwright/sounds"
)

// checked is the JSON of check for one file.
type checked struct {
	Path   string  `json:"path"`
	OK     bool    `json:"ok"`
	ID     string  `json:"id,omitempty"`
	Title  string  `json:"title,omitempty"`
	Steps  int     `json:"steps,omitempty"`
	Points float64 `json:"points,omitempty"`
	// Combinations is how many different benches students can get.
	Combinations int `json:"combinations,omitempty"`
	// OwnVoice: students may take it with a voice of their own.
	OwnVoice bool     `json:"own_voice,omitempty"`
	Faults   []faultJ `json:"faults"`
	Notes    []faultJ `json:"notes"`
}

type faultJ struct {
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Key    string `json:"key,omitempty"`
	What   string `json:"what"`
}

func faultsJSON(all []model.Fault) []faultJ {
	out := []faultJ{}
	for _, f := range all {
		out = append(out, faultJ{f.Line, f.Column, f.Key, f.Msg})
	}
	return out
}

func newLessonCheckCmd() *cobra.Command {
	var asJSON, names, noTakes, quiet bool
	cmd := &cobra.Command{
		Use:   "check LESSON...",
		Short: "Check lessons: every fault with its line and column",
		Long: `Check lessons: every fault with its line and column, and a suggestion where
one can be made. Rules are checked too: the readings they name, and their units.
Notes are no faults: they are worth a second look. For one of them takes are
recorded: settings from all over the controls' ranges are tried on up to 12 of the
benches that students can get, and a task that one setting meets on all of them is
noted, as is a prediction or a question with the same right answer on all.
--no-takes leaves that out.

The exit status is 2 if there is any fault.`,
		Example: `  gainwright lesson check mine.yaml
  gainwright lesson check --names      the names that rules can use, with their units`,
		Args: func(cmd *cobra.Command, a []string) error {
			if len(a) == 0 && !names {
				return cli.Usagef("lesson check: wants one or more lessons; see gainwright lesson check --help")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, files []string) error {
			out := cmd.OutOrStdout()
			if names {
				return printNames(out, asJSON)
			}
			list := struct {
				Files []checked `json:"files"`
			}{}
			var b bytes.Buffer
			bad, faults := 0, 0
			w := cli.NewWatch(cmd.ErrOrStderr(), quiet || asJSON)
			defer w.Done()
			for _, path := range files {
				c := checked{Path: path, Faults: []faultJ{}, Notes: []faultJ{}}
				l, err := loadLesson(path)
				var faulty *model.Error
				switch {
				case err == nil:
					c.OK, c.ID, c.Title, c.Steps, c.Points, c.Notes = true, l.ID, l.Title, len(l.Steps), l.Of(), faultsJSON(l.Notes)
					c.Combinations, c.OwnVoice = l.Combinations(), l.OwnVoice
					if !noTakes && c.Combinations > 1 {
						shared, err := sharedNotes(cmd.Context(), l, w)
						if err != nil {
							return err
						}
						c.Notes = append(c.Notes, shared...)
					}
					fmt.Fprintf(&b, "%s: good: %s, %s, %v points\n", sounds.Shown(path), l.Title, cli.Counted(len(l.Steps), "step", "steps"), l.Of())
					if c.Combinations > 1 {
						fmt.Fprintf(&b, "  students get %d different benches: lesson rehearse tries answers on each\n", c.Combinations)
					}
					if l.OwnVoice {
						fmt.Fprintf(&b, "  students may take it with a voice of their own: lesson rehearse --voice tries answers with one\n")
					}
					for _, n := range l.Notes {
						fmt.Fprintf(&b, "  note: %s\n", n.Error())
					}
					for _, n := range c.Notes[len(l.Notes):] {
						fmt.Fprintf(&b, "  note: %s\n", n.What)
					}
				case errors.As(err, &faulty):
					c.Faults = faultsJSON(faulty.Faults)
					fmt.Fprintln(&b, faulty.Error())
				default:
					c.Faults = []faultJ{{What: err.Error()}}
					fmt.Fprintln(&b, err.Error())
				}
				if err != nil {
					bad++
					faults += len(c.Faults)
				}
				list.Files = append(list.Files, c)
			}
			if asJSON {
				if err := cli.WriteJSON(out, list); err != nil {
					return err
				}
			} else if _, err := out.Write(b.Bytes()); err != nil {
				return err
			}
			if bad > 0 {
				return cli.Usagef("%s in %s", cli.Counted(faults, "fault", "faults"), cli.Counted(bad, "lesson", "lessons"))
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.Flags().BoolVar(&noTakes, "no-takes", false, "record nothing: look at the file alone")
	cmd.Flags().BoolVar(&quiet, "quiet", false, "show no progress")
	cmd.Flags().BoolVar(&names, "names", false, "list the readings and settings that rules can name")
	return cmd
}

// checkBenches is how many benches check tries settings on.
const checkBenches = 12

// sharedNotes tells what does on every bench that was tried.
func sharedNotes(ctx context.Context, l *model.Lesson, w *cli.Watch) ([]faultJ, error) {
	w.Begin("trying settings on " + l.ID)
	shared, err := grade.Share(ctx, l, nil, checkBenches, false, func(done, of int) { w.At(float64(done) / float64(of)) })
	out := []faultJ{}
	for _, n := range grade.Notes(shared) {
		out = append(out, faultJ{What: n})
	}
	return out, err
}

func printNames(w io.Writer, asJSON bool) error {
	if asJSON {
		type entry struct {
			Name string `json:"name"`
			Unit string `json:"unit"`
			Is   string `json:"is"`
		}
		list := struct {
			Readings []entry `json:"readings"`
			Settings []entry `json:"settings"`
			Worked   []entry `json:"worked_out"`
		}{}
		for _, n := range lessonnames.Readings() {
			list.Readings = append(list.Readings, entry{n.Key, n.Unit, n.Label})
		}
		for _, n := range lessonnames.Settings() {
			list.Settings = append(list.Settings, entry{n.Key, n.Unit, n.Label})
		}
		for _, k := range workKinds {
			for _, f := range model.FiguresOf(k) {
				n, _ := lessonnames.Figure(f)
				list.Worked = append(list.Worked, entry{string(k) + "." + n.Key, n.Unit, n.Label})
			}
		}
		return cli.WriteJSON(w, list)
	}
	var b bytes.Buffer
	fmt.Fprintln(&b, "Readings of a strip, as in A.headroom_db:")
	for _, n := range lessonnames.Readings() {
		fmt.Fprintf(&b, "  %-34s %-7s %s\n", n.Key, n.Unit, n.Label)
	}
	fmt.Fprintln(&b, "\nSettings of a strip, as in A.preamp.gain_db:")
	for _, n := range lessonnames.Settings() {
		fmt.Fprintf(&b, "  %-34s %-7s %s\n", n.Key, n.Unit, n.Label)
	}
	for _, k := range workKinds {
		of := map[model.Kind]string{model.Mend: "ways.guessed", model.Plan: "hour.A", model.Twin: "two.A"}[k]
		fmt.Fprintf(&b, "\nWhat a %s step works out, as in %s.%s:\n", k, of, model.FiguresOf(k)[0])
		for _, f := range model.FiguresOf(k) {
			n, _ := lessonnames.Figure(f)
			fmt.Fprintf(&b, "  %-34s %-7s %s\n", n.Key, n.Unit, n.Label)
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

// workKinds are the kinds of steps that work something out.
var workKinds = []model.Kind{model.Mend, model.Plan, model.Twin}
