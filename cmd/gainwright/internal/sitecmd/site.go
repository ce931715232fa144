// Package sitecmd is the command site: the scene as static files for any web server.
package sitecmd

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/cmd/gainwright/internal/site"
	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/sounds"
)

// written is the JSON of the command.
type written struct {
	Dir     string   `json:"dir"`
	Build   string   `json:"build"`
	Bytes   int      `json:"bytes"`
	Files   []string `json:"files"`
	Lessons []lesson `json:"lessons"`
	Address string   `json:"address,omitempty"`
}

// lesson is one that the site brings, and how it is linked to.
type lesson struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Link  string `json:"link"`
}

// New is the command.
func New() *cobra.Command {
	var paths []string
	var public string
	var force, asJSON, quiet bool
	cmd := &cobra.Command{
		Use:   "site DIR",
		Short: "Write the scene as a web site: static files for any web server",
		Long: `Write the scene as a web site into DIR: static files, which work from any web server,
under any path, with no program of ours running. HEADERS.txt among them says what a
server may set, with examples; nothing has to be.

From an https address (or this computer's own) the site can be installed, and after the
first visit it works without a network. A new version is noticed by whoever has the
old one, and taken when they say so, never in a running take: write it over the old.

--lesson adds lessons of your own to the built-in ones, checked first as by "gainwright
lesson check". A link that ends in #lesson=ID opens the lesson of that id.

DIR must be empty, or hold an earlier site as it was written. Files beside the site's
own stay. All of it appears, or nothing.`,
		Example: `  gainwright site public
  gainwright site public --lesson mine.yaml
  gainwright site public --public-url https://training.example.org/gain/`,
		Args: cli.Args(cobra.ExactArgs(1), "wants one directory"),
		RunE: func(cmd *cobra.Command, a []string) error {
			dir := a[0]
			o := site.Options{Kept: true}
			var err error
			if o.Public, err = cli.PublicURL(public); err != nil {
				return err
			}
			w := written{Dir: dir, Address: o.Public, Lessons: []lesson{}}
			for _, p := range paths {
				l, text, err := readLesson(p)
				if err != nil {
					return err
				}
				for _, other := range w.Lessons {
					if other.ID == l.ID {
						return cli.Usagef("--lesson %s: another lesson has the id %q, too", p, l.ID)
					}
				}
				o.Lessons = append(o.Lessons, site.Lesson{Name: filepath.Base(p), Text: text})
				w.Lessons = append(w.Lessons, lesson{l.ID, l.Title, o.Public + model.Link{Lesson: l.ID}.String()})
			}
			if parent := filepath.Dir(filepath.Clean(dir)); cli.IsMissing(parent) {
				return cli.Usagef("%s: there is no directory %s", dir, parent)
			}
			if _, err := site.Look(dir, force); err != nil {
				return taken(err)
			}
			steps := cli.NewSteps(cmd.ErrOrStderr())
			say := steps.Say
			if quiet || asJSON {
				say = func(string, int, float64) {}
			}
			b, err := serve.Scene(cmd.Context(), say)
			if err == nil {
				say("Writing the site", 0, 0)
				var files []site.File
				files, err = site.Write(cmd.Context(), dir, b, o, force)
				w.Build = site.Build(files)
				for _, f := range files {
					w.Bytes += len(f.Data)
					w.Files = append(w.Files, f.Name)
				}
			}
			steps.End()
			if err != nil {
				return taken(err)
			}
			if asJSON {
				return cli.WriteJSON(cmd.OutOrStdout(), w)
			}
			if quiet {
				return nil
			}
			return w.tell(cmd)
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&paths, "lesson", nil, "a lesson `FILE` that the site shows beside the built-in ones (repeatable)")
	f.StringVar(&public, "public-url", "", "the `URL` at which others will find the site: links name it wherever the site is looked at")
	f.BoolVar(&force, "force", false, "write into a directory that has something else in it, or a site that was changed")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	f.BoolVar(&quiet, "quiet", false, "print nothing but errors")
	return cmd
}

func (w *written) tell(cmd *cobra.Command) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: a site of %s, %.0f MB in all, of which a first visit fetches a fifth or less. %s among them is for whoever runs the web server.\n",
		sounds.Shown(w.Dir), cli.Counted(len(w.Files), "file", "files"), float64(w.Bytes)/1e6, "HEADERS.txt")
	for _, l := range w.Lessons {
		at := l.Link
		if w.Address == "" {
			at = "the site's address and " + at
		}
		fmt.Fprintf(&b, "“%s” opens by %s\n", sounds.Shown(l.Title), at)
	}
	_, err := fmt.Fprint(cmd.OutOrStdout(), b.String())
	return err
}

// taken makes wrong use of what the user can mend.
func taken(err error) error {
	if t, ok := err.(*site.TakenError); ok {
		return cli.Usagef("%s", t.Error())
	}
	return err
}

// readLesson reads a lesson's file, and checks it.
func readLesson(path string) (*model.Lesson, string, error) {
	l, err := format.Load(path)
	if err != nil {
		return nil, "", err
	}
	text, err := os.ReadFile(path)
	return l, string(text), err
}
