package lessons

import (
	"runtime/debug"
	"strings"
)

// built is the version of a program that was compiled without its repository, such
// as the browser's: whoever compiles it sets it by the linker, see BuiltFlag.
var built string

// BuiltFlag is what the linker must be given, after -X, so that a program it makes
// has this version.
func BuiltFlag(version string) string { return "gainwright/lessons.built=" + version }

// Version is the program's version in one word or a few, as results note it: the
// module's, if it was installed by one; else "devel", with the revision it was built
// from and whether there were changes, as far as the build knows.
func Version() string {
	if built != "" {
		return built
	}
	info, _ := debug.ReadBuildInfo()
	v, rev := VersionOf(info)
	// A version made from a revision says so already.
	if short, _, _ := strings.Cut(rev, " "); rev == "" || strings.Contains(v, short) {
		return v
	}
	return v + " " + rev
}

// VersionOf is what a build tells: the module's version or "devel", and the first
// twelve digits of the revision, followed by " with changes" if there were any; ""
// if it is not known. info may be nil.
func VersionOf(info *debug.BuildInfo) (version, revision string) {
	version = "devel"
	if info == nil {
		return version, ""
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		version = v
	}
	changed := ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value[:min(12, len(s.Value))]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = " with changes"
		}
	}
	if revision != "" {
		revision += changed
	}
	return version, revision
}
