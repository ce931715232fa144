package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

func newVersionCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  gainwright version\n  gainwright version --json",
		Args:    args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			v, rev := version()
			if asJSON {
				return writeJSON(cmd.OutOrStdout(), map[string]string{
					"version": v, "revision": rev, "go": runtime.Version(), "platform": runtime.GOOS + "/" + runtime.GOARCH,
				})
			}
			line := "gainwright " + v
			if rev != "" {
				line += " (" + rev + ")"
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s, %s, %s/%s\n", line, runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

// version is the module's version and the revision it was built from, as far as
// the build knows them.
func version() (v, revision string) {
	v = "devel"
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v, ""
	}
	if m := info.Main.Version; m != "" && m != "(devel)" {
		v = m
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			revision = s.Value[:min(12, len(s.Value))] + revision
		case "vcs.modified":
			if s.Value == "true" {
				revision += " with changes"
			}
		}
	}
	return v, revision
}
