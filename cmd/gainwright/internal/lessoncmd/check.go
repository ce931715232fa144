package lessoncmd

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
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
	Combinations int      `json:"combinations,omitempty"`
	Faults       []faultJ `json:"faults"`
	Notes        []faultJ `json:"notes"`
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
	var asJSON, names bool
	cmd := &cobra.Command{
		Use:   "check LESSON...",
		Short: "Check lessons: every fault with its line and column",
		Long: `Check lessons: every fault with its line and column, and a suggestion where
one can be made. Rules are checked too: the readings they name, and their units.
Notes are no faults: they are worth a second look.

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
			for _, path := range files {
				c := checked{Path: path, Faults: []faultJ{}, Notes: []faultJ{}}
				l, err := loadLesson(path)
				var faulty *model.Error
				switch {
				case err == nil:
					c.OK, c.ID, c.Title, c.Steps, c.Points, c.Notes = true, l.ID, l.Title, len(l.Steps), l.Of(), faultsJSON(l.Notes)
					c.Combinations = l.Combinations()
					fmt.Fprintf(&b, "%s: good: %s, %s, %v points\n", sounds.Shown(path), l.Title, cli.Counted(len(l.Steps), "step", "steps"), l.Of())
					if c.Combinations > 1 {
						fmt.Fprintf(&b, "  students get %d different benches: lesson rehearse tries answers on each\n", c.Combinations)
					}
					for _, n := range l.Notes {
						fmt.Fprintf(&b, "  note: %s\n", n.Error())
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
	cmd.Flags().BoolVar(&names, "names", false, "list the readings and settings that rules can name")
	return cmd
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
		}{}
		for _, n := range lessonnames.Readings() {
			list.Readings = append(list.Readings, entry{n.Key, n.Unit, n.Label})
		}
		for _, n := range lessonnames.Settings() {
			list.Settings = append(list.Settings, entry{n.Key, n.Unit, n.Label})
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
	_, err := w.Write(b.Bytes())
	return err
}
