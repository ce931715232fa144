package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/lessons"
)

// What a release was made from, given to the linker (cmd/gainwright/release): it is
// compiled without its repository, so that its bytes do not depend on what else lies there.
var releasedVersion, releasedCommit, releasedDate string

func newVersionCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Long:    "Print the version, the commit and its day as far as they are known, and whether the scene is inside.",
		Example: "  gainwright version\n  gainwright version --json",
		Args:    cli.Args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			v, rev, date := versionOf(debug.ReadBuildInfo())
			if asJSON {
				return cli.WriteJSON(cmd.OutOrStdout(), map[string]any{
					"version": v, "revision": rev, "date": date, "scene_inside": serve.HasScene(),
					"go": runtime.Version(), "platform": runtime.GOOS + "/" + runtime.GOARCH,
				})
			}
			scene := "with the scene inside"
			if !serve.HasScene() {
				scene = "the scene is compiled when it is opened"
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s, %s, %s/%s; %s\n", versionLine(v, rev, date), runtime.Version(), runtime.GOOS, runtime.GOARCH, scene)
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

func versionLine(v, rev, date string) string {
	line := "gainwright " + v
	if rev != "" {
		line += " (" + strings.TrimSuffix(rev+", "+date, ", ") + ")"
	}
	return line
}

// versionOf is the version, the revision and the day of its commit; "" where they are
// not known.
func versionOf(info *debug.BuildInfo, ok bool) (version, revision, date string) {
	if releasedCommit != "" {
		return releasedVersion, releasedCommit, releasedDate
	}
	version, revision = lessons.VersionOf(info)
	if ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.time" {
				date, _, _ = strings.Cut(s.Value, "T")
			}
		}
	}
	return version, revision, date
}
