package site

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/sounds"
)

// A TakenError says that a directory has something else in it.
type TakenError struct{ Dir, What string }

func (e *TakenError) Error() string {
	return fmt.Sprintf("%s: %s; choose another directory, or overwrite with --force", e.Dir, e.What)
}

// Write writes a site into dir: all of it or nothing. A directory that has something else
// than an earlier site in it is refused unless force; what is there beside the site's own
// files always stays.
func Write(ctx context.Context, dir string, b serve.Build, o Options, force bool) ([]File, error) {
	old, err := Look(dir, force)
	if err != nil {
		return nil, err
	}
	files, err := Files(ctx, b, o)
	if err != nil {
		return nil, err
	}
	if err := Place(ctx, dir, files, old, force); err != nil {
		return nil, err
	}
	return files, nil
}

// Look tells which files of an earlier site are in dir, before any work is done.
func Look(dir string, force bool) (old []string, err error) {
	sounds.ClearUnfinished(dir)
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, &sounds.OutputError{Path: dir, Msg: "is no directory that can be read", Err: err}
	case len(entries) == 0:
		return nil, nil
	}
	var a about
	data, err := os.ReadFile(filepath.Join(dir, aboutName))
	if err != nil || json.Unmarshal(data, &a) != nil || a.Program != program {
		if force {
			return nil, nil
		}
		return nil, &TakenError{dir, "there is something in it that is no site of this program"}
	}
	for n, want := range a.Files {
		if !filepath.IsLocal(n) || strings.ContainsAny(n, `/\`) {
			continue // of nobody who wrote this
		}
		data, err := os.ReadFile(filepath.Join(dir, n))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if (err != nil || sum(data) != want) && !force {
			return nil, &TakenError{dir, n + " was changed since it was written"}
		}
		old = append(old, n)
	}
	slices.Sort(old)
	return old, nil
}

// Place puts the files into dir, and takes away what only the earlier site had.
func Place(ctx context.Context, dir string, files []File, old []string, force bool) error {
	for _, f := range files {
		path := filepath.Join(dir, f.Name)
		if _, err := os.Lstat(path); err == nil && !force && f.Name != aboutName && !slices.Contains(old, f.Name) {
			return &TakenError{dir, f.Name + " is there, and is none of the site's"}
		}
	}
	out, err := sounds.NewOutputs(dir, true)
	if err != nil {
		return err
	}
	defer out.Abort()
	// The page and what announces it come last: a browser never finds them before what
	// they name.
	last := func(n string) int { return slices.Index([]string{siteName, indexName, workerName, aboutName}, n) }
	ordered := slices.SortedStableFunc(slices.Values(files), func(a, b File) int { return last(a.Name) - last(b.Name) })
	for _, f := range ordered {
		if err := ctx.Err(); err != nil {
			return err
		}
		w, err := out.Create(f.Name)
		if err != nil {
			return err
		}
		if _, err := bytes.NewReader(f.Data).WriteTo(w); err != nil {
			return &sounds.OutputError{Path: out.Path(f.Name), Msg: "cannot be written", Err: err}
		}
	}
	if err := out.Commit(); err != nil {
		return err
	}
	for _, n := range old {
		if !slices.ContainsFunc(files, func(f File) bool { return f.Name == n }) {
			os.Remove(filepath.Join(dir, n)) // one left behind does no harm
		}
	}
	return nil
}
