//go:build schema

package lessons

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/builtin"
	"gainwright/lessons/cmi5"
	"gainwright/tests/limited"
)

// TestCourseStructureFitsTheSchema: xmllint holds the course structure of every lesson,
// with each moveOn, against CourseStructure.xsd of the specification's repository
// (AICC/CMI-5_Spec_Current, v1), and refuses broken ones. GAINWRIGHT_CMI5_XSD names that
// file, which is not ours to hand on.
func TestCourseStructureFitsTheSchema(t *testing.T) {
	schema := os.Getenv("GAINWRIGHT_CMI5_XSD")
	if schema == "" {
		t.Fatal("GAINWRIGHT_CMI5_XSD does not name CourseStructure.xsd")
	}
	schema, err := filepath.Abs(schema)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	var files []string
	put := func(name, text string) string {
		path := filepath.Join(dir, name+".xml")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	text := ""
	for _, l := range builtin.All() {
		for _, m := range cmi5.MoveOn {
			b, err := cmi5.Structure(l, m, "index.html")
			if err != nil {
				t.Fatal(err)
			}
			text = string(b)
			files = append(files, put(l.ID+"-"+m, text))
		}
	}
	lint := func(files ...string) (string, error) {
		out, err := limited.Command(t, time.Minute, "xmllint", append([]string{"--nonet", "--noout", "--schema", schema}, files...)...).CombinedOutput()
		return string(out), err
	}
	out, err := lint(files...)
	if n := strings.Count(out, " validates"); err != nil || n != len(files) {
		t.Errorf("%d of %d fit: %v\n%s", n, len(files), err, out)
	}
	for from, to := range map[string]string{`moveOn="NotApplicable"`: `moveOn="Never"`, "<url>": "<link>", `masteryScore="0`: `masteryScore="7`} {
		broken := strings.ReplaceAll(text, from, to)
		if broken == text {
			t.Fatalf("%s is not in %s", from, text)
		}
		if out, err := lint(put("broken", broken)); err == nil {
			t.Errorf("%s fits: %s", to, out)
		}
	}
	t.Logf("%d course structures fit", len(files))
}
