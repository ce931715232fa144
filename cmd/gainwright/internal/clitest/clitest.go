// Package clitest helps to test the commands: it runs programs in a directory, makes
// voice-like waves, and reads what came out.
package clitest

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
)

// Call runs a program in the given directory.
func Call(t *testing.T, root *cobra.Command, dir string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	t.Chdir(dir)
	var out, errs bytes.Buffer
	status = cli.Run(root, args, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

// Must runs a program and wants success.
func Must(t *testing.T, root *cobra.Command, dir string, args ...string) string {
	t.Helper()
	status, out, errs := Call(t, root, dir, args...)
	if status != cli.ExitOK || errs != "" {
		t.Fatalf("%v: status %d, stderr %q", args, status, errs)
	}
	return out
}

// For gives Call and Must for a package's program, which program makes anew each time.
func For(program func() *cobra.Command) (call func(t *testing.T, dir string, args ...string) (status int, stdout, stderr string),
	must func(t *testing.T, dir string, args ...string) string) {
	call = func(t *testing.T, dir string, args ...string) (status int, stdout, stderr string) {
		t.Helper()
		return Call(t, program(), dir, args...)
	}
	must = func(t *testing.T, dir string, args ...string) string {
		t.Helper()
		return Must(t, program(), dir, args...)
	}
	return call, must
}

// goName is a key of JSON that nobody chose: a field that lacks its tag.
var goName = regexp.MustCompile(`"[A-Z][a-z]\w*": `)

// ReadJSON reads text that is one JSON object and no more.
func ReadJSON(t *testing.T, text string) map[string]any {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(text))
	var v map[string]any
	if err := d.Decode(&v); err != nil {
		t.Fatalf("%v in %.200q", err, text)
	}
	if _, err := d.Token(); err != io.EOF {
		t.Fatalf("something follows the object: %v", err)
	}
	if k := goName.FindString(text); k != "" {
		t.Errorf("%s: a name of Go in JSON", k)
	}
	return v
}

// Names lists a directory.
func Names(t *testing.T, dir string) string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range list {
		out = append(out, e.Name())
	}
	return strings.Join(out, " ")
}

// A short scenario keeps the tests quick.
const short = `title: A short one
seed: 4
source: {talker: joss, script: [{text: "Mind the rope.", effort: loud}]}
strips:
  A: {preamp: {gain_db: 50}, limiter: {on: true}}
  B: {preamp: {gain_db: 38}}
`

// ShortFile is a directory with that scenario, s.yaml.
func ShortFile(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "s.yaml"), []byte(short), 0o666); err != nil {
		t.Fatal(err)
	}
	return dir
}
