package lessoncmd

import (
	"archive/zip"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
)

// keptScene has a scene in a cache of the test's own, so that nothing is compiled.
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
		return os.WriteFile(out, []byte("\x00asm test"), 0o644)
	}
	if _, fresh, err := c.Ensure(t.Context(), src); err != nil || !fresh {
		t.Fatal(fresh, err)
	}
}

// TestPackage: a package of a lesson is written whole, is not written over, and says what
// it is; what cannot be is refused in one line before anything is made.
func TestPackage(t *testing.T) {
	keptScene(t)
	here, dir := ".", t.TempDir()
	mine := filepath.Join(dir, "mine.yaml")
	if err := os.WriteFile(mine, []byte("title: To read\nfor: testers\nminutes: 1\nscenario: captain-laughs\nsteps:\n  - {say: Read this., id: one}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "a.zip")
	status, said, errs := lesson(t, here, "", "package", "gain-and-headroom", "--for", "cmi5", "--out", out)
	if status != cli.ExitOK || !strings.Contains(said, "cmi5") || strings.Count(said, "\n") != 1 || !strings.Contains(errs, "Packing") {
		t.Errorf("%d, %q, %q", status, said, errs)
	}
	was, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if status, _, errs := lesson(t, here, "", "package", "gain-and-headroom", "--for", "scorm", "--out", out); status != cli.ExitUsage || strings.Count(errs, "\n") != 1 || !strings.Contains(errs, "--force") {
		t.Errorf("over a file that is there: %d, %q", status, errs)
	}
	if now, err := os.ReadFile(out); err != nil || string(now) != string(was) {
		t.Errorf("the file was changed: %v", err)
	}
	var p packaged
	status, said, errs = lesson(t, here, "", "package", mine, "--for", "cmi5", "--out", out, "--force", "--json", "--store", "https://store.example/xapi")
	if err := json.Unmarshal([]byte(said), &p); status != cli.ExitOK || err != nil || errs != "" {
		t.Fatalf("%d, %q, %q", status, said, errs)
	}
	if p.File != out || p.For != "cmi5" || p.Lesson != "mine" || p.MoveOn != "Completed" || p.Bytes < 1000 || len(p.SHA256) != 64 {
		t.Errorf("%+v", p)
	}
	z, err := zip.OpenReader(out)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	if len(z.File) != len(p.Files) || z.File[0].Name != "cmi5.xml" {
		t.Errorf("%d files, said are %v", len(z.File), p.Files)
	}
	for _, args := range [][]string{
		{"package", "gain-and-headroom"}, {"package", "gain-and-headroom", "--for", "school"}, {"package", "--for", "scorm"}, {"package", "gain-and-hedroom", "--for", "scorm"},
		{"package", "gain-and-headroom", "--for", "scorm", "--move-on", "Passed"}, {"package", "gain-and-headroom", "--for", "cmi5", "--move-on", "Never"},
		{"package", mine, "--for", "cmi5", "--move-on", "Passed"}, {"package", "gain-and-headroom", "--for", "cmi5", "--store", "store"},
		{"package", "gain-and-headroom", "--for", "scorm", "--out", filepath.Join(dir, "none", "b.zip")},
	} {
		status, said, errs := lesson(t, here, "", append(args, "--quiet")...)
		if status == cli.ExitOK || said != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%q: %d, %q, %q", args[1:], status, said, errs)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) != 2 {
		t.Errorf("left behind: %v", left)
	}
	if left, _ := filepath.Glob("*.zip"); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}
