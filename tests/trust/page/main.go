// Command page turns the checks that tests recorded into tests/TRUST.md.
//
//	GAINWRIGHT_TRUST=/tmp/trust.jsonl go test -count=1 ./...
//	go run ./tests/trust/page --in /tmp/trust.jsonl
//
// It ends with status 1 when a check on the page does not hold, and with 2
// when it was used wrongly or could not read its input.
package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"gainwright/tests/trust"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("page", flag.ContinueOnError)
	fs.SetOutput(stderr)
	in := fs.String("in", os.Getenv(trust.Env), "recorded checks, JSON lines; - for standard input")
	out := fs.String("out", filepath.Join("tests", "TRUST.md"), "page to write; - for standard output")
	fs.Usage = func() {
		fmt.Fprintf(stderr, "Turns recorded checks into a page.\n\nUsage: go run ./tests/trust/page [--in FILE] [--out FILE]\n\n")
		fs.PrintDefaults()
		fmt.Fprintf(stderr, "\nExample:\n  %s=/tmp/trust.jsonl go test -count=1 ./...\n  go run ./tests/trust/page --in /tmp/trust.jsonl\n", trust.Env)
	}
	if err := fs.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if *in == "" || fs.NArg() > 0 {
		fmt.Fprintf(stderr, "page: name the recorded checks with --in FILE or %s\n", trust.Env)
		return 2
	}
	lines, err := read(*in)
	if err != nil {
		fmt.Fprintf(stderr, "page: %v\n", err)
		return 2
	}
	if len(lines) == 0 {
		fmt.Fprintf(stderr, "page: %s holds no checks\n", *in)
		return 2
	}
	var page bytes.Buffer
	failed, err := trust.Render(&page, lines)
	if err == nil {
		if *out == "-" {
			_, err = stdout.Write(page.Bytes())
		} else {
			err = replace(*out, page.Bytes())
		}
	}
	if err != nil {
		fmt.Fprintf(stderr, "page: %v\n", err)
		return 2
	}
	if failed > 0 {
		fmt.Fprintf(stderr, "page: %d of the checks do not hold\n", failed)
		return 1
	}
	return 0
}

func read(name string) ([]trust.Line, error) {
	if name == "-" {
		return trust.Read(os.Stdin)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines, err := trust.Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return lines, nil
}

// replace leaves either the old page or the whole new one, never half of one.
func replace(name string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".page-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	err = errors.Join(err, f.Chmod(0o644), f.Close())
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
