package main

import (
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/clitest"
)

// TestVersion: a program tells what it was made from, and whether it needs a compiler
// to show the scene.
func TestVersion(t *testing.T) {
	if out := must(t, t.TempDir(), "version"); !strings.Contains(out, "the scene is compiled when it is opened") || strings.Count(out, "\n") != 1 {
		t.Errorf("not released: %q", out)
	}
	defer func() { releasedVersion, releasedCommit, releasedDate = "", "", "" }()
	releasedVersion, releasedCommit, releasedDate = "v1.2.3", "0123456789ab", "2026-03-04"
	if out := must(t, t.TempDir(), "version"); !strings.HasPrefix(out, "gainwright v1.2.3 (0123456789ab, 2026-03-04), go1.") {
		t.Errorf("released: %q", out)
	}
	j := clitest.ReadJSON(t, must(t, t.TempDir(), "version", "--json"))
	if j["version"] != "v1.2.3" || j["revision"] != "0123456789ab" || j["date"] != "2026-03-04" || j["scene_inside"] != false {
		t.Errorf("JSON: %v", j)
	}
}

// TestDoubleClick: cobra ends a program that Windows starts by a double click, with a
// lecture, unless it has no text for it. Ours opens the scene then.
func TestDoubleClick(t *testing.T) {
	newRootCmd()
	if cobra.MousetrapHelpText != "" {
		t.Errorf("a double click is answered with %q", cobra.MousetrapHelpText)
	}
}
