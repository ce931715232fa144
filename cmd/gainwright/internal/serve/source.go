package serve

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
)

const (
	modulePath = "gainwright"
	// scenePackage is what is compiled.
	scenePackage = "./cmd/gainwright-scene"
)

// sourceDirs hold everything of this module that goes into the browser build.
var sourceDirs = []string{"cmd/gainwright-scene", "lessons", "scenes", "sim", "sounds"}

// Tool is the Go command and what it says of itself.
type Tool struct {
	Path    string
	Version string // "go1.26.8"
	Root    string
}

// ErrNoGo says that there is no Go tool.
var ErrNoGo = errors.New("no Go tool found in PATH: the scene is compiled on the first start, which needs Go (see https://go.dev/dl/); a program from the releases has it inside")

// ErrNoSource says that the program has no scene and does not know where its source is.
var ErrNoSource = errors.New("this program was built without the scene, which is compiled from Gainwright's source: start it within the source's folder, or use a program from its releases, which has the scene inside")

// FindTool asks the Go command, as it is in dir, for its version and place.
func FindTool(ctx context.Context, dir string) (Tool, error) {
	path, err := exec.LookPath("go")
	if err != nil {
		return Tool{}, ErrNoGo
	}
	cmd := exec.CommandContext(ctx, path, "env", "GOVERSION", "GOROOT")
	cmd.Dir = dir
	out, err := cmd.Output()
	if err != nil {
		return Tool{}, fmt.Errorf("go env: %w", commandError(err))
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != 2 {
		return Tool{}, fmt.Errorf("go env: unexpected answer %q", out)
	}
	return Tool{Path: path, Version: strings.TrimSpace(lines[0]), Root: strings.TrimSpace(lines[1])}, nil
}

// commandError adds what a command wrote to stderr to its error.
func commandError(err error) error {
	var e *exec.ExitError
	if errors.As(err, &e) && len(e.Stderr) > 0 {
		return errors.New(firstLine(string(e.Stderr)))
	}
	return err
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(strings.TrimSpace(s), "\n")
	return s
}

// FindSource returns the directory of this module's source: the one around the
// working directory, else the one that this program was compiled from, if it knows
// (-trimpath keeps that from it).
func FindSource(cwd string) (string, error) {
	_, file, _, _ := runtime.Caller(0)
	return findSource(cwd, file)
}

// findSource has the name that this file was compiled under.
func findSource(cwd, file string) (string, error) {
	cwd, err := filepath.Abs(cwd)
	if err != nil {
		return "", err
	}
	for d := cwd; ; d = filepath.Dir(d) {
		if isModule(d) {
			return d, nil
		}
		if filepath.Dir(d) == d {
			break
		}
	}
	if filepath.IsAbs(file) {
		// file is cmd/gainwright/internal/serve/source.go.
		d := filepath.Clean(filepath.Join(filepath.Dir(file), "..", "..", "..", ".."))
		if isModule(d) {
			return d, nil
		}
	}
	return "", ErrNoSource
}

// isModule reports whether dir holds this module's go.mod.
func isModule(dir string) bool {
	f, err := os.Open(filepath.Join(dir, "go.mod"))
	if err != nil {
		return false
	}
	defer f.Close()
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		if name, ok := strings.CutPrefix(strings.TrimSpace(sc.Text()), "module "); ok {
			return strings.Trim(strings.TrimSpace(name), `"`) == modulePath
		}
	}
	return false
}

// SourceKey is a hash over go.mod, go.sum and every file below the directories
// that the scene is built from, but tests and their data: names and contents.
func SourceKey(dir string) (string, error) {
	h := sha256.New()
	names, err := sourceFiles(dir)
	if err != nil {
		return "", err
	}
	for _, n := range names {
		f, err := os.Open(filepath.Join(dir, n))
		if err != nil {
			return "", fmt.Errorf("reading the source: %w", err)
		}
		sum := sha256.New()
		_, err = io.Copy(sum, f)
		f.Close()
		if err != nil {
			return "", fmt.Errorf("reading the source: %w", err)
		}
		fmt.Fprintf(h, "%s\x00%x\n", filepath.ToSlash(n), sum.Sum(nil))
	}
	return hex.EncodeToString(h.Sum(nil))[:20], nil
}

// sourceStamp changes when a file of the source is saved, comes or goes. It reads no
// file: looking takes some milliseconds.
func sourceStamp(dir string) (string, error) {
	h := sha256.New()
	names, err := sourceFiles(dir)
	if err != nil {
		return "", err
	}
	for _, n := range names {
		i, err := os.Stat(filepath.Join(dir, n))
		if err != nil {
			return "", fmt.Errorf("reading the source: %w", err)
		}
		fmt.Fprintf(h, "%s\x00%d %d\n", n, i.Size(), i.ModTime().UnixNano())
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// sourceFiles lists what SourceKey is made of, in order.
func sourceFiles(dir string) ([]string, error) {
	names := []string{"go.mod", "go.sum"}
	for _, top := range sourceDirs {
		err := filepath.WalkDir(filepath.Join(dir, top), func(p string, e fs.DirEntry, err error) error {
			if err != nil {
				if errors.Is(err, fs.ErrNotExist) {
					return nil // not there yet, or gone while we look
				}
				return err
			}
			base := e.Name()
			switch {
			case e.IsDir() && (base == "testdata" || strings.HasPrefix(base, ".")):
				return filepath.SkipDir
			case !e.Type().IsRegular(), strings.HasSuffix(base, "_test.go"), strings.HasPrefix(base, "."):
				return nil
			}
			rel, err := filepath.Rel(dir, p)
			if err != nil {
				return err
			}
			names = append(names, rel)
			return nil
		})
		if err != nil {
			return nil, fmt.Errorf("reading the source: %w", err)
		}
	}
	sort.Strings(names)
	return names, nil
}
