package lessoncmd

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/course"
	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/lessons/builtin"
	"gainwright/lessons/cmi5"
	"gainwright/lessons/model"
	"gainwright/sounds"
)

// packaged is what became of a package.
type packaged struct {
	File   string   `json:"file"`
	For    string   `json:"for"`
	Lesson string   `json:"lesson"`
	Title  string   `json:"title"`
	MoveOn string   `json:"move_on,omitempty"`
	Pass   float64  `json:"pass"`
	Bytes  int      `json:"bytes"`
	SHA256 string   `json:"sha256"`
	Files  []string `json:"files"`
}

func newLessonPackageCmd() *cobra.Command {
	var o course.Options
	var out string
	var force, asJSON, quiet bool
	cmd := &cobra.Command{
		Use:   "package LESSON",
		Short: "Package a lesson for a school's learning system",
		Long: `Write a lesson as a package for a school's learning system: a zip file that the system
takes in, opens in the student's browser, and by which it is told how the lesson went.
Nothing of ours has to run anywhere.

  cmi5    statements to the system's record store (xAPI 1.0.3): begun, each answer,
          completed, passed or failed with the score, ended. --move-on says what the
          system takes for done.
  scorm   SCORM 1.2: status, score from 0 to 100, time.

In both the system keeps the progress, and the lesson goes on where it was left. It
is passed as in gainwright lesson check: enough points, and every task that must be met.
The file is the same to the last byte whenever it is made by the same program.`,
		Example: `  gainwright lesson package gain-and-headroom --for scorm
  gainwright lesson package mine.yaml --for cmi5 --move-on CompletedAndPassed --out mine.zip
  gainwright lesson package mine.yaml --for cmi5 --store https://store.example.org`,
		Args: cli.Args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			l, err := loadLesson(a[0])
			if err != nil {
				return err
			}
			if err := packageOptions(&o, l); err != nil {
				return err
			}
			o.Name = filepath.Base(a[0])
			if slices.Contains(builtin.Names(), a[0]) {
				o.Name += ".yaml"
			}
			if out == "" {
				out = l.ID + "-" + o.For + ".zip"
			}
			if !force && !cli.IsMissing(out) {
				return cli.Usagef("--out %s: there is a file already: choose another name, or replace it with --force", out)
			}
			if parent := filepath.Dir(out); cli.IsMissing(parent) {
				return cli.Usagef("--out %s: there is no directory %s", out, parent)
			}
			steps := cli.NewSteps(cmd.ErrOrStderr())
			say := steps.Say
			if quiet || asJSON {
				say = nil
			}
			b, err := serve.Scene(cmd.Context(), say)
			if err != nil {
				steps.End()
				return err
			}
			if say != nil {
				say("Packing", 0, 0)
			}
			files, err := course.Files(l, b, o)
			if err != nil {
				return err
			}
			var zip bytes.Buffer
			err = course.Write(&zip, files)
			steps.End()
			if err != nil {
				return err
			}
			if err := writeOut(nil, out, force, zip.Bytes()); err != nil {
				return err
			}
			sum := sha256.Sum256(zip.Bytes())
			p := packaged{File: out, For: o.For, Lesson: l.ID, Title: l.Title, MoveOn: o.MoveOn, Pass: l.Pass, Bytes: zip.Len(), SHA256: hex.EncodeToString(sum[:])}
			for _, f := range files {
				p.Files = append(p.Files, f.Name)
			}
			switch {
			case asJSON:
				return cli.WriteJSON(cmd.OutOrStdout(), p)
			case quiet:
				return nil
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: “%s” for %s, %.1f MB, %s. Take it into the learning system as a course.\n",
				sounds.Shown(out), sounds.Shown(l.Title), map[string]string{course.Cmi5: "cmi5", course.SCORM: "SCORM 1.2"}[o.For], float64(zip.Len())/1e6, cli.Counted(len(files), "file", "files"))
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.For, "for", "", "`KIND` of learning system: cmi5 or scorm")
	f.StringVar(&out, "out", "", "write to `FILE` (the lesson's name, the kind, .zip)")
	f.StringVar(&o.MoveOn, "move-on", "", "cmi5: `WHAT` is taken for done: "+strings.Join(cmi5.MoveOn, ", ")+" (Passed; Completed where nothing is judged)")
	f.StringArrayVar(&o.Stores, "store", nil, "cmi5: the page may speak with the record store at `ADDRESS` and no other (repeatable; with any)")
	f.BoolVar(&force, "force", false, "replace a file that is there")
	f.BoolVar(&asJSON, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&quiet, "quiet", false, "print nothing but errors")
	return cmd
}

// packageOptions checks and completes what a package is for.
func packageOptions(o *course.Options, l *model.Lesson) error {
	switch o.For {
	case course.Cmi5, course.SCORM:
	case "":
		return cli.Usagef("lesson package: wants the kind of learning system: --for cmi5 or --for scorm")
	default:
		return cli.Usagef("--for: there is no %q: there are cmi5 and scorm", o.For)
	}
	if o.For != course.Cmi5 {
		if o.MoveOn != "" || len(o.Stores) > 0 {
			return cli.Usagef("lesson package: --move-on and --store are of cmi5; SCORM knows neither")
		}
		return nil
	}
	judged := cmi5.Judged(l)
	if o.MoveOn == "" {
		o.MoveOn = "Passed"
		if !judged {
			o.MoveOn = "Completed"
		}
	}
	if !slices.Contains(cmi5.MoveOn, o.MoveOn) {
		return cli.Usagef("--move-on: there is no %q: there are %s", o.MoveOn, strings.Join(cmi5.MoveOn, ", "))
	}
	if !judged && (o.MoveOn == "Passed" || o.MoveOn == "CompletedAndPassed") {
		return cli.Usagef("--move-on %s: nothing in this lesson can be passed or failed, so it would never be done: use Completed", o.MoveOn)
	}
	for i, s := range o.Stores {
		origin, err := course.Origin(s)
		if err != nil {
			return cli.Usagef("--store: %v", err)
		}
		o.Stores[i] = origin
	}
	return nil
}
