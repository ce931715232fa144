package tests

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
)

// machinePath finds a path into one machine's directories; examples of commands may put
// what they make into /tmp.
var machinePath = regexp.MustCompile("[\"'`]/tmp/[\\w.-]+|[\"'`=( ]/(work|home|root|Users|var/folders)/[\\w.-]+")

// TestLayoutNamesNoMachine: no program, script or text depends on where somebody's files lay.
func TestLayoutNamesNoMachine(t *testing.T) {
	files := 0
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); p != ".." && (n == ".git" || n == "artefacts" || n == "testdata") {
				return fs.SkipDir
			}
			return nil
		}
		if !slices.Contains([]string{".go", ".js", ".sh", ".yaml", ".yml", ".html", ".md", ".mod"}, filepath.Ext(p)) || filepath.Base(p) == "paths_test.go" {
			return nil
		}
		b, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		files++
		for _, m := range machinePath.FindAllString(string(b), -1) {
			t.Errorf("%s has the path%s", p, m)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 500 {
		t.Errorf("only %d files were looked at", files)
	}
	for text, found := range map[string]bool{
		`const f = "/tmp/mine/train.gob"`: true, `cd /home/someone`: true, `--out=/root/x`: true, `--out=/tmp/x`: false,
		`filepath.Join(os.TempDir(), "x")`: false, "below tmp/x": false, `/tmp`: false,
	} {
		if machinePath.MatchString(text) != found {
			t.Errorf("%s: found %v", text, !found)
		}
	}
}
