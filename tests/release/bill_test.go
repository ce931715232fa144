//go:build full && linux

package release

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// The judge of bills of materials: the standard's own library with the published schema
// of CycloneDX 1.6 in it, and what it validates by; one version each.
var judge = []string{"@cyclonedx/cyclonedx-library@10.3.0", "ajv@8.17.1", "ajv-formats@3.0.1", "ajv-formats-draft2019@1.6.1"}

const judging = `
const { Validation, Spec } = require("@cyclonedx/cyclonedx-library");
let text = "";
process.stdin.on("data", d => text += d).on("end", async () => {
  const wrong = await new Validation.JsonStrictValidator(Spec.Version.v1dot6).validate(text);
  console.log("found " + JSON.stringify(wrong));
});`

// valid: a bill of materials obeys the published schema, and one that is spoiled does
// not. The judge is fetched with npm, once, and kept in the user's cache; without it
// nothing is known, and the test fails.
func valid(t *testing.T, bill string) {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(cache, "gainwright-tests", "cyclonedx-10.3.0")
	if _, err := os.Stat(dir); err != nil {
		if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
			t.Fatal(err)
		}
		fresh, err := os.MkdirTemp(filepath.Dir(dir), ".cyclonedx-")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(fresh)
		args := append([]string{"install", "--prefix", fresh, "--silent", "--no-audit", "--no-fund", "--ignore-scripts"}, judge...)
		if out, err := limited.Command(t, 5*time.Minute, "npm", args...).CombinedOutput(); err != nil {
			t.Fatalf("the schema could not be fetched from npm, and without it nothing is known about the bill of materials: %v\n%s", err, out)
		}
		if err := os.Rename(fresh, dir); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(bill)
	if err != nil {
		t.Fatal(err)
	}
	found := func(text string) string {
		cmd := limited.Command(t, time.Minute, "node", "-e", judging)
		cmd.Dir = dir
		cmd.Stdin = strings.NewReader(text)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		return strings.TrimSpace(string(out))
	}
	if got := found(string(text)); got != "found null" {
		t.Errorf("%s: %s", bill, got)
	}
	for was, is := range map[string]string{`"type": "library"`: `"type": "book"`, `"BSD-3-Clause"`: `"BSD-3"`} {
		if got := found(strings.Replace(string(text), was, is, 1)); got == "found null" || !strings.HasPrefix(got, "found [") {
			t.Errorf("with %s it finds %s", is, got)
		}
	}
}
