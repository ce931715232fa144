package lessoncmd

import (
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/keys"
	"gainwright/lessons/model"
)

// loadLesson reads a built-in lesson or a file.
func loadLesson(name string) (*model.Lesson, error) {
	if slices.Contains(builtin.Names(), name) {
		return builtin.Load(name)
	}
	if cli.IsMissing(name) && !strings.ContainsAny(name, `./\`) {
		_, err := builtin.Load(name)
		return nil, err
	}
	return format.Load(name)
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
