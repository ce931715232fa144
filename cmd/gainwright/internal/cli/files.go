package cli

import (
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sounds"
)

// OpenOutputs prepares the directory; its parent must be there, so that a slip of
// the keyboard does not become a tree of directories.
func OpenOutputs(dir string, force bool) (*sounds.Outputs, error) {
	if parent := filepath.Dir(filepath.Clean(dir)); IsMissing(parent) {
		return nil, Usagef("--out %s: there is no directory %s", dir, parent)
	}
	return sounds.NewOutputs(dir, force)
}

// WriteFile writes a whole file, or nothing.
func WriteFile(path string, force bool, data []byte) error {
	return sounds.WriteFile(path, force, func(w io.WriteSeeker) error {
		_, err := w.Write(data)
		return err
	})
}

// An OutFile is a file of the set that says, when it cannot be written, where it
// was to appear rather than where it is staged.
type OutFile struct {
	io.WriteSeeker
	Path string
}

func (f *OutFile) Write(p []byte) (int, error) {
	n, err := f.WriteSeeker.Write(p)
	if err != nil {
		cause := err
		var pe *fs.PathError
		if errors.As(err, &pe) {
			cause = pe.Err
		}
		err = &sounds.OutputError{Path: f.Path, Msg: "cannot be written: " + cause.Error(), Err: err}
	}
	return n, err
}

// Staged is where the file lies until the set is published.
func (f *OutFile) Staged() string {
	if n, ok := f.WriteSeeker.(interface{ Name() string }); ok {
		return n.Name()
	}
	return f.Path
}

// Create begins a file of the set.
func Create(o *sounds.Outputs, name string) (*OutFile, error) {
	w, err := o.Create(name)
	if err != nil {
		return nil, err
	}
	return &OutFile{w, o.Path(name)}, nil
}

// FreeDir is a name in the working directory that is not taken: stem-1, stem-2, …; one
// that holds only what a killed run left is not.
func FreeDir(stem string) string {
	for i := 1; ; i++ {
		dir := stem + "-" + strconv.Itoa(i)
		sounds.ClearUnfinished(dir)
		if IsMissing(dir) {
			return dir
		}
	}
}

// WriteJSON writes one object, laid out for eyes.
func WriteJSON(w io.Writer, v any) error {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ListFiles maps the names of the outputs to where they are.
func ListFiles(o *sounds.Outputs) map[string]string {
	files := map[string]string{}
	for _, n := range o.Names() {
		files[n] = o.Path(n)
	}
	return files
}

// IsMissing tells whether nothing stands at path.
func IsMissing(path string) bool {
	_, err := os.Lstat(path)
	return errors.Is(err, fs.ErrNotExist)
}

// OutputFlags say where results go and how they are told.
type OutputFlags struct {
	Dir, Picture       string
	Force, JSON, Quiet bool
}

// AddTo adds the flags to a command.
func (o *OutputFlags) AddTo(cmd *cobra.Command, dirHelp string) {
	f := cmd.Flags()
	f.StringVar(&o.Dir, "out", "", dirHelp)
	f.BoolVar(&o.Force, "force", false, "replace files that are there")
	f.BoolVar(&o.JSON, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&o.Quiet, "quiet", false, "print nothing but errors")
	f.StringVar(&o.Picture, "picture", "png", "`KIND` of the picture: png or svg")
}

// Check tells what is wrong with their values.
func (o *OutputFlags) Check() error {
	if o.Picture != picture.PNG && o.Picture != picture.SVG {
		return Usagef("--picture: there is no %q: there are png and svg", o.Picture)
	}
	return nil
}
