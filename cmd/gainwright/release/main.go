// Command release makes the programs that people without Go take home: one for each
// system, with the scene inside, in an archive with the licences of all that is in it.
//
//	go run ./cmd/gainwright/release DIR
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
)

// all are the systems that programs are made for.
var all = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

func main() {
	var targets []string
	var force bool
	cmd := cli.Program()
	cmd.Use, cmd.Short = "release DIR", "Make the programs for people without Go"
	cmd.Long = `Make the programs for people without Go: for each system an archive with the program,
which has the scene inside, the licences of all that is in it, completions for shells,
and a bill of materials; and the sums of the archives. The same commit gives the same
bytes, with the same Go, wherever it lies. Nothing appears in DIR before all is made.`
	cmd.Example = `  go run ./cmd/gainwright/release out
  go run ./cmd/gainwright/release --for linux/amd64,windows/amd64 out`
	cmd.Args = cli.Args(cobra.ExactArgs(1), "wants the directory to write to")
	cmd.Flags().StringSliceVar(&targets, "for", all, "the systems")
	cmd.Flags().BoolVar(&force, "force", false, "replace files that are there")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return release(cmd.Context(), cmd.ErrOrStderr(), args[0], targets, force)
	}
	os.Exit(cli.Run(cmd, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// release is the whole work.
func release(ctx context.Context, log io.Writer, dir string, targets []string, force bool) error {
	began := time.Now()
	say := func(format string, args ...any) {
		fmt.Fprintf(log, "%4.0f s  %s\n", time.Since(began).Seconds(), fmt.Sprintf(format, args...))
	}
	if err := wanted(targets); err != nil {
		return err
	}
	fixEnvironment()
	src, err := here()
	if err != nil {
		return err
	}
	commit, err := commitOf(ctx, src)
	if err != nil {
		return err
	}
	out, err := cli.OpenOutputs(dir, force)
	if err != nil {
		return err
	}
	defer out.Abort()
	archives := map[string]io.Writer{} // at once, so that a name that is taken is told before the work
	for _, n := range append(namesOf(targets), sumsName) {
		if archives[n], err = cli.Create(out, n); err != nil {
			return err
		}
	}
	work, err := os.MkdirTemp("", "gainwright-release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)

	say("The scene of %s", commit)
	overlay, err := scene(ctx, src, work, commit, log)
	if err != nil {
		return err
	}
	say("Completions for shells")
	completions, err := completionsOf(ctx, src)
	if err != nil {
		return err
	}
	inScene, err := linked(ctx, src, "js/wasm", "./cmd/gainwright-scene")
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, target := range targets {
		say("%s", target)
		program := filepath.Join(work, strings.ReplaceAll(target, "/", "-"))
		if err := compile(ctx, src, target, program, overlay, commit); err != nil {
			return err
		}
		inProgram, err := linked(ctx, src, target, "./cmd/gainwright")
		if err != nil {
			return err
		}
		files, err := contents(src, target, program, commit, append(inProgram, inScene...), completions)
		if err != nil {
			return err
		}
		name := archiveName(target)
		size, err := pack(archives[name], name, files, commit.when, &sums)
		if err != nil {
			return err
		}
		say("%s: %.1f MB, the program %.1f MB", name, float64(size)/1e6, float64(len(files[0].data))/1e6)
	}
	if _, err := io.WriteString(archives[sumsName], sums.String()); err != nil {
		return err
	}
	if err := out.Commit(); err != nil {
		return err
	}
	say("All in %s", dir)
	return nil
}

// wanted tells what is wrong with a list of systems.
func wanted(targets []string) error {
	if len(targets) == 0 {
		return cli.Usagef("--for: names no system; there are %s", strings.Join(all, ", "))
	}
	for i, t := range targets {
		if !slices.Contains(all, t) {
			return cli.Usagef("--for %s: there are %s", t, strings.Join(all, ", "))
		}
		if slices.Contains(targets[:i], t) {
			return cli.Usagef("--for %s: once is enough", t)
		}
	}
	return nil
}

// here is the source that this command belongs to.
func here() (string, error) {
	cwd, err := os.Getwd()
	if err != nil {
		return "", err
	}
	return serve.FindSource(cwd)
}
