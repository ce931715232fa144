package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons"
)

func newVersionCmd() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  gainwright version\n  gainwright version --json",
		Args:    cli.Args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			info, _ := debug.ReadBuildInfo()
			v, rev := lessons.VersionOf(info)
			if asJSON {
				return cli.WriteJSON(cmd.OutOrStdout(), map[string]string{
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
