package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/lessoncmd"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/cmd/gainwright/internal/opencmd"
	"gainwright/cmd/gainwright/internal/plancmd"
	"gainwright/cmd/gainwright/internal/recordcmd"
	"gainwright/cmd/gainwright/internal/recordercmd"
	"gainwright/cmd/gainwright/internal/repaircmd"
	"gainwright/cmd/gainwright/internal/sitecmd"
)

// run is the program: it returns the exit status.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return cli.Run(newRootCmd(), args, stdin, stdout, stderr)
}

func newRootCmd() *cobra.Command {
	open := opencmd.New()
	root := cli.Program(open, recordcmd.NewTake(), recordcmd.NewCompare(), metercmd.New(), recordcmd.NewTwin(), plancmd.New(), recordcmd.NewTalk(), lessoncmd.New(), repaircmd.New(), recordercmd.New(), sitecmd.New(), newExplainCmd(), newVersionCmd(), cli.NewSettingsTopic())
	root.Short = "Practise gain staging before the one take that counts"
	root.Long = `Practise gain staging before the one take that counts.

A talker, a microphone, a preamp, a converter, a limiter and a file, simulated in
true physical units: set the gain, record, hear and see what was lost, and why it
cannot be undone. With nothing else said, the scene opens in the browser.

Clipped and loud material can hurt: turn the volume down before you play files.`
	root.Example = `  gainwright                          the scene, in the browser
  gainwright compare                  one conversation through two strips, as a report
  gainwright take --gain 46           one talker through one strip
  gainwright take interview.wav       a recording of your own through one strip
  gainwright meter interview.wav      what is in a recording
  gainwright repair --method declip interview.wav mended.wav   fill what was clipped with a guess
  gainwright plan --minutes 45        where to set the gain for a session, and the risk
  gainwright twin                     two performances that leave one identical file
  gainwright recorder sheet --out series   a test series for your own recorder
  gainwright lesson list              lessons, to take or to write yourself
  gainwright explain dBFS             what a word or a unit means
  gainwright site public              the scene as a web site, for any server`
	root.Args = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		msg := fmt.Sprintf("there is no command %q", args[0])
		cmd.SuggestionsMinimumDistance = 2
		if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
			msg += ": did you mean " + near[0] + "?"
		} else {
			msg += "; see gainwright --help"
		}
		return cli.Usagef("%s", msg)
	}
	root.RunE = func(cmd *cobra.Command, _ []string) error { return open.RunE(cmd, nil) }
	root.Flags().AddFlagSet(open.Flags())
	return root
}
