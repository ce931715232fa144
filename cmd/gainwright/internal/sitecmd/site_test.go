package sitecmd

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
)

// keptScene puts a finished build of the present source into a cache of the test's own,
// so that nothing is compiled.
func keptScene(t *testing.T) {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("the cache folder is moved by an environment variable of Linux")
	}
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	src, err := serve.FindSource(".")
	if err != nil {
		t.Fatal(err)
	}
	c, err := serve.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	c.Compile = func(_ context.Context, _ serve.Tool, _, out string, _ func(string)) error {
		return os.WriteFile(out, []byte("test"), 0o644)
	}
	if _, _, err := c.Ensure(t.Context(), src); err != nil {
		t.Fatal(err)
	}
}

// run runs the command and gives its status and what it wrote.
func run(t *testing.T, args ...string) (status int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	status = cli.Run(cli.Program(New()), append([]string{"site"}, args...), strings.NewReader(""), &o, &e)
	return status, o.String(), e.String()
}

const lessonText = `title: The bell
for: the crew
minutes: 2
scenario: captain-laughs
steps:
  - record: Record it.
`

func TestSite(t *testing.T) {
	keptScene(t)
	home := t.TempDir()
	dir, mine, bad := filepath.Join(home, "public"), filepath.Join(home, "mine.yaml"), filepath.Join(home, "bad.yaml")
	for p, text := range map[string]string{mine: lessonText, bad: strings.Replace(lessonText, "minutes: 2", "minutes: two", 1)} {
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "wants one directory"},
		{[]string{dir, "--lesson", bad}, "bad.yaml:3:"},
		{[]string{dir, "--lesson", mine, "--lesson", mine}, `another lesson has the id "mine"`},
		{[]string{dir, "--public-url", "ferry"}, "want an address such as"},
		{[]string{filepath.Join(home, "no", "where")}, "there is no directory"},
		{[]string{home}, "something in it that is no site"},
	} {
		status, out, errs := run(t, c.args...)
		if status != cli.ExitUsage || !strings.Contains(errs, c.want) || out != "" {
			t.Errorf("%q: status %d, %q, %q", c.args, status, out, errs)
		}
	}
	if !cli.IsMissing(dir) {
		t.Error("what was refused was begun")
	}
	status, out, errs := run(t, dir, "--lesson", mine, "--public-url", "https://a.example/gain", "--json")
	var w written
	if err := json.Unmarshal([]byte(out), &w); status != 0 || err != nil || errs != "" {
		t.Fatalf("status %d, %v, %q", status, err, errs)
	}
	if len(w.Lessons) != 1 || w.Lessons[0].Link != "https://a.example/gain/#lesson=mine" || w.Build == "" || w.Address != "https://a.example/gain/" {
		t.Errorf("it says %+v", w)
	}
	for _, n := range w.Files {
		if cli.IsMissing(filepath.Join(dir, n)) {
			t.Errorf("there is no %s", n)
		}
	}
	status, out, errs = run(t, dir)
	if status != 0 || !strings.Contains(out, "HEADERS.txt") || !strings.Contains(errs, "Writing the site") {
		t.Errorf("over the old one: %d, %q, %q", status, out, errs)
	}
	var help bytes.Buffer
	cmd := New()
	cmd.SetOut(&help)
	cmd.SetErr(io.Discard)
	cmd.SetArgs([]string{"--help"})
	if err := cmd.Execute(); err != nil || !strings.Contains(help.String(), "gainwright site public --lesson mine.yaml") {
		t.Errorf("its help: %v, %s", err, help.String())
	}
}
