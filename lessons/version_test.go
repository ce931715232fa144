package lessons

import (
	"runtime/debug"
	"strings"
	"testing"
)

func TestVersionOf(t *testing.T) {
	vcs := func(rev, modified string) []debug.BuildSetting {
		return []debug.BuildSetting{{Key: "vcs.revision", Value: rev}, {Key: "vcs.modified", Value: modified}}
	}
	for _, c := range []struct {
		info         *debug.BuildInfo
		version, rev string
	}{
		{nil, "devel", ""},
		{&debug.BuildInfo{}, "devel", ""},
		{&debug.BuildInfo{Main: debug.Module{Version: "v1.2.3"}}, "v1.2.3", ""},
		{&debug.BuildInfo{Main: debug.Module{Version: "(devel)"}, Settings: vcs("0123456789abcdef", "false")}, "devel", "0123456789ab"},
		{&debug.BuildInfo{Settings: vcs("0123456789abcdef", "true")}, "devel", "0123456789ab with changes"},
		{&debug.BuildInfo{Settings: vcs("", "true")}, "devel", ""},
	} {
		if v, r := VersionOf(c.info); v != c.version || r != c.rev {
			t.Errorf("%+v: %q, %q; want %q, %q", c.info, v, r, c.version, c.rev)
		}
	}
}

// TestResultsNameTheProgram: whatever the build knows, a result says more than that
// nothing is known, and what the linker was told goes before everything.
func TestResultsNameTheProgram(t *testing.T) {
	if v := Version(); v == "" || strings.Contains(v, "unknown") || !strings.HasPrefix(v, "v") && !strings.HasPrefix(v, "devel") {
		t.Errorf("version %q", v)
	}
	defer func() { built = "" }()
	built = "v9.8.7"
	if v := Version(); v != "v9.8.7" || BuiltFlag(v) != "gainwright/lessons.built=v9.8.7" {
		t.Errorf("version %q, flag %q", v, BuiltFlag(v))
	}
}

// TestPrintVersion says the version of this test, for the test of the linker's flag.
func TestPrintVersion(t *testing.T) {
	t.Log("version: " + Version())
	if Version() == "" {
		t.Error("there is none")
	}
}
