package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"gainwright/cmd/gainwright/internal/serve"
)

// fixEnvironment sets what would change the bytes and could differ from one machine
// to another. (An empty value would let Go's own file of settings speak.)
func fixEnvironment() {
	for _, kv := range []string{"GOFLAGS=-trimpath", "GOAMD64=v1", "GOARM64=v8.0", "CGO_ENABLED=0", "GOWORK=off"} {
		k, v, _ := strings.Cut(kv, "=")
		os.Setenv(k, v)
	}
}

// run runs a program in dir and gives what it writes.
func run(ctx context.Context, dir string, env []string, name string, args ...string) ([]byte, error) {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), env...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case errors.Is(err, exec.ErrNotFound):
		return nil, fmt.Errorf("%s is needed and was not found in PATH", name)
	case err != nil:
		return nil, fmt.Errorf("%s %s: %w\n%s", name, args[0], err, strings.TrimSpace(errs.String()))
	}
	return out, nil
}

// commit is what is released.
type commit struct {
	version string // the tag, or "devel"
	short   string // twelve digits, and whether there were changes
	when    time.Time
}

// String is lessons.Version of the programs.
func (c commit) String() string {
	if c.version != "devel" && !strings.Contains(c.short, " ") {
		return c.version
	}
	return c.version + " " + c.short
}

func (c commit) date() string { return c.when.Format(time.DateOnly) }

// commitOf asks git. Changes that are not committed are built, and told.
func commitOf(ctx context.Context, src string) (commit, error) {
	text, err := run(ctx, src, nil, "git", "log", "-1", "--format=%H %cI")
	if err != nil {
		return commit{}, fmt.Errorf("a release is made of a commit: %w", err)
	}
	hash, day, ok := strings.Cut(strings.TrimSpace(string(text)), " ")
	if !ok || len(hash) < 12 {
		return commit{}, fmt.Errorf("git log: unexpected answer %q", text)
	}
	when, err := time.Parse(time.RFC3339, day)
	if err != nil {
		return commit{}, fmt.Errorf("git log: %w", err)
	}
	c := commit{"devel", hash[:12], when.UTC()}
	changed, err := run(ctx, src, nil, "git", "status", "--porcelain")
	if err != nil {
		return commit{}, err
	}
	if len(changed) > 0 {
		c.short += " with changes"
	}
	if tag, err := run(ctx, src, nil, "git", "tag", "--points-at", "HEAD", "--list", "v[0-9]*", "--sort=v:refname"); err != nil {
		return commit{}, err
	} else if tags := strings.Fields(string(tag)); len(tags) > 0 {
		c.version = tags[len(tags)-1]
	}
	return c, nil
}

// scene compiles the scene, or finds it compiled, and gives the overlay that lays it
// into the package that serves it: the source stays as it is.
func scene(ctx context.Context, src, work string, c commit, log io.Writer) (overlay string, err error) {
	cache, err := serve.NewCache()
	if err != nil {
		return "", err
	}
	cache.Version = c.String()
	step := ""
	cache.Say = func(s string, _ int, _ float64) {
		if s != step {
			fmt.Fprintf(log, "        %s ...\n", s)
		}
		step = s
	}
	built, _, err := cache.Ensure(ctx, src)
	if err != nil {
		return "", err
	}
	inside := filepath.Join(work, "inside")
	if err := os.Mkdir(inside, 0o755); err != nil {
		return "", err
	}
	if err := serve.Kept(built).WriteInside(inside); err != nil {
		return "", err
	}
	names, err := os.ReadDir(inside)
	if err != nil {
		return "", err
	}
	replace := map[string]string{}
	for _, n := range names {
		replace[filepath.Join(src, "cmd", "gainwright", "internal", "serve", "inside", n.Name())] = filepath.Join(inside, n.Name())
	}
	text, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	overlay = filepath.Join(work, "overlay.json")
	return overlay, os.WriteFile(overlay, text, 0o644)
}

// compile makes the program for a system.
func compile(ctx context.Context, src, target, out, overlay string, c commit) error {
	// Without -buildvcs: what Go would note of the repository depends on what else lies
	// in it.
	ld := fmt.Sprintf("-s -w -buildid= -X 'gainwright/lessons.built=%s' -X main.releasedVersion=%s -X 'main.releasedCommit=%s' -X main.releasedDate=%s",
		c, c.version, c.short, c.date())
	_, err := run(ctx, src, systemOf(target), "go", "build", "-trimpath", "-buildvcs=false", "-tags", "released", "-overlay", overlay, "-ldflags", ld, "-o", out, "./cmd/gainwright")
	return err
}

// systemOf is the environment that has Go work for a system.
func systemOf(target string) []string {
	goos, arch, _ := strings.Cut(target, "/")
	return []string{"GOOS=" + goos, "GOARCH=" + arch}
}

// completionsOf are those that cobra makes for shells, by their file names.
func completionsOf(ctx context.Context, src string) ([]file, error) {
	var files []file
	for _, c := range [][2]string{{"bash", "gainwright.bash"}, {"zsh", "_gainwright"}, {"fish", "gainwright.fish"}, {"powershell", "gainwright.ps1"}} {
		text, err := run(ctx, src, nil, "go", "run", "./cmd/gainwright", "completion", c[0])
		if err != nil {
			return nil, err
		}
		files = append(files, file{"completion/" + c[1], text, false})
	}
	return files, nil
}
