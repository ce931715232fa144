package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/handout"
	"gainwright/lessons/model"
	lessonnames "gainwright/lessons/names"
	"gainwright/sounds"
)

func newLessonCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "lesson",
		Short: "Lessons: list, check, print, play and grade them",
		Long: `Lessons: list, check, print, play and grade them.

A lesson is a text file (YAML): something to read, a question to answer before
hearing, a take to record, a task to meet. Values differ from student to student,
drawn by the seed. A finished lesson gives a result file, and grading runs every
take in it again.

A LESSON is a built-in lesson's name or a file.`,
		Example: `  gainwright lesson list
  gainwright lesson run gain-and-headroom
  gainwright lesson show gain-and-headroom --out handout.html
  gainwright lesson check mine.yaml
  gainwright lesson rehearse mine.yaml --answers model.yaml
  gainwright lesson grade results/ --csv`,
		Args: func(cmd *cobra.Command, a []string) error {
			if len(a) == 0 {
				return nil
			}
			cmd.SuggestionsMinimumDistance = 2
			if near := cmd.SuggestionsFor(a[0]); len(near) > 0 {
				return usagef("lesson: there is no command %q: did you mean %s?", a[0], near[0])
			}
			return usagef("lesson: there is no command %q; see gainwright lesson --help", a[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newLessonListCmd(), newLessonCheckCmd(), newLessonShowCmd(), newLessonRunCmd(), newLessonRehearseCmd(),
		newLessonGradeCmd(), newLessonStatementsCmd(), newLessonPracticeCmd())
	return cmd
}

// loadLesson reads a built-in lesson or a file.
func loadLesson(name string) (*model.Lesson, error) {
	if slices.Contains(builtin.Names(), name) {
		return builtin.Load(name)
	}
	if isMissing(name) && !strings.ContainsAny(name, `./\`) {
		_, err := builtin.Load(name)
		return nil, err
	}
	return format.Load(name)
}

func newLessonListCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List the built-in lessons",
		Example: "  gainwright lesson list\n  gainwright lesson list --json",
		Args:    args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			type entry struct {
				Name    string  `json:"name"`
				Title   string  `json:"title"`
				For     string  `json:"for"`
				Minutes float64 `json:"minutes"`
				Steps   int     `json:"steps"`
				Points  float64 `json:"points"`
				SHA256  string  `json:"sha256"`
			}
			list := struct {
				Lessons []entry `json:"lessons"`
			}{}
			var b bytes.Buffer
			for _, l := range builtin.All() {
				list.Lessons = append(list.Lessons, entry{l.ID, l.Title, l.For, l.Minutes, len(l.Steps), l.Of(), l.Hash})
				fmt.Fprintf(&b, "%-22s %3.0f min  %s\n%32s%s\n", l.ID, l.Minutes, l.Title, "", "for "+l.For)
			}
			if asJSON {
				return writeJSON(cmd.OutOrStdout(), list)
			}
			_, err := cmd.OutOrStdout().Write(b.Bytes())
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

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
				return usagef("lesson check: wants one or more lessons; see gainwright lesson check --help")
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
					fmt.Fprintf(&b, "%s: good: %s, %s, %v points\n", sounds.Shown(path), l.Title, counted(len(l.Steps), "step", "steps"), l.Of())
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
				if err := writeJSON(out, list); err != nil {
					return err
				}
			} else if _, err := out.Write(b.Bytes()); err != nil {
				return err
			}
			if bad > 0 {
				return usagef("%s in %s", counted(faults, "fault", "faults"), counted(bad, "lesson", "lessons"))
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
		return writeJSON(w, list)
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

func newLessonShowCmd() *cobra.Command {
	var out string
	var seed uint64
	var force, answers, source bool
	cmd := &cobra.Command{
		Use:   "show LESSON",
		Short: "Print a lesson as a handout: one HTML page",
		Long: `Print a lesson as a handout: one HTML page that needs nothing else and prints well.
Values that the student measures are gaps to be filled in by hand, and so are those
that differ from student to student, unless --seed says whose they are.`,
		Example: `  gainwright lesson show gain-and-headroom --out handout.html
  gainwright lesson show mine.yaml --seed 17 --out anna.html
  gainwright lesson show mine.yaml --answers --out trainer.html
  gainwright lesson show gain-and-headroom --source > mine.yaml`,
		Args: args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			l, err := loadLesson(a[0])
			if err != nil {
				return err
			}
			o := handout.Options{Answers: answers}
			if cmd.Flags().Changed("seed") {
				o.Seed = &seed
			}
			page := l.Text()
			if !source {
				if page, err = handout.Render(l, o); err != nil {
					return usagef("%v", err)
				}
			}
			return writeOut(cmd.OutOrStdout(), out, force, page)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "write to `FILE` instead of the standard output")
	cmd.Flags().Uint64Var(&seed, "seed", 0, "fill in what this seed draws (gaps)")
	cmd.Flags().BoolVar(&force, "force", false, "replace a file that is there")
	cmd.Flags().BoolVar(&answers, "answers", false, "the trainer's copy: right answers, rules and hints")
	cmd.Flags().BoolVar(&source, "source", false, "the lesson's own file, to start another from")
	return cmd
}

// writeOut writes a whole file, or to the standard output.
func writeOut(stdout io.Writer, path string, force bool, data []byte) error {
	if path == "" {
		_, err := stdout.Write(data)
		return err
	}
	return sounds.WriteFile(path, force, func(w io.WriteSeeker) error {
		_, err := w.Write(data)
		return err
	})
}

// readKey reads a class's key.
func readKey(path string) ([]byte, error) {
	if path == "" {
		return nil, nil
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, usagef("--key %s: cannot be read", path)
	}
	if b = bytes.TrimSpace(b); len(b) < 8 {
		return nil, usagef("--key %s: want 8 characters or more", path)
	}
	return b, nil
}
