package lessoncmd

import (
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/sounds/equipment"
)

// loadLesson reads a built-in lesson or a file.
func loadLesson(name string) (*model.Lesson, error) { return loadLessonOn("", name) }

// loadLessonOn is loadLesson on the recorder of an equipment file, if one is named.
func loadLessonOn(recorder, name string) (*model.Lesson, error) {
	r, err := cli.LoadRecorder(recorder)
	if err != nil {
		return nil, err
	}
	return lessonWith(r, name)
}

// lessonWith is loadLesson on a recorder, or on none.
func lessonWith(r *equipment.Recorder, name string) (*model.Lesson, error) {
	if slices.Contains(builtin.Names(), name) || cli.IsMissing(name) && !strings.ContainsAny(name, `./\`) {
		if f := name + ".yaml"; !slices.Contains(builtin.Names(), name) && !cli.IsMissing(f) {
			return nil, cli.Usagef("there is no built-in lesson %q; a file %s is here: name that", name, f)
		}
		return builtin.LoadOn(r, name)
	}
	return format.LoadOn(r, name)
}

// addRecorder adds the flag of a recorder of one's own.
func addRecorder(cmd *cobra.Command, to *string, what string) {
	cmd.Flags().StringVar(to, "recorder", "", what+" your own recorder: the equipment `FILE.yaml` that \"recorder learn\" wrote")
}

// writeOut writes a whole file, or to the standard output.
func writeOut(stdout io.Writer, path string, force bool, data []byte) error {
	if path == "" {
		_, err := stdout.Write(data)
		return err
	}
	return cli.WriteFile(path, force, data)
}

// readKey reads the key of a class or a student; nil if none is given.
func readKey(flag, path string) (*keys.Key, error) {
	if path == "" {
		return nil, nil
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, cli.Usagef("%s %s: cannot be read", flag, path)
	}
	k, err := keys.Read(b)
	if err != nil {
		return nil, cli.Usagef("%s %s: %v", flag, path, err)
	}
	return k, nil
}

func freeFile(stem, ext string) string {
	if cli.IsMissing(stem + ext) {
		return stem + ext
	}
	for i := 2; ; i++ {
		if path := stem + "-" + strconv.Itoa(i) + ext; cli.IsMissing(path) {
			return path
		}
	}
}
