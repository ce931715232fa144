package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// Exit statuses.
const (
	exitOK          = 0
	exitFailure     = 1   // something went wrong
	exitUsage       = 2   // the command line or an input is wrong
	exitInterrupted = 130 // 128 + SIGINT, as shells have it; 143 after SIGTERM
)

// A usageError is what the caller of the program can mend.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

// usagef makes one; texts that came from the caller are shown, not obeyed.
func usagef(format string, args ...any) error {
	for i, a := range args {
		if s, ok := a.(string); ok {
			args[i] = sounds.Shown(s)
		}
	}
	return &usageError{fmt.Errorf(format, args...)}
}

// run is the program: it returns the exit status.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	defer signal.Stop(signals)

	root := newRootCmd()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	ended := make(chan error, 1)
	go func() { ended <- root.ExecuteContext(ctx) }()
	select {
	case err := <-ended:
		return report(err, stderr)
	case s := <-signals:
		signal.Stop(signals) // whoever interrupts twice means it
		stop()
		var err error
		select {
		case err = <-ended:
		case <-time.After(patience):
			// It waits for something that does not come, a pipe for instance.
			sounds.AbandonOutputs()
			err = context.Canceled
			select { // or was done after all
			case err = <-ended:
			default:
			}
		}
		if report(err, stderr) == exitOK {
			return exitOK // it was through, or waits for nothing else, as open does
		}
		if s == syscall.SIGTERM {
			return 128 + int(syscall.SIGTERM)
		}
		return exitInterrupted
	}
}

// patience is how long work may take to stop when it is interrupted.
const patience = 3 * time.Second

// report prints what went wrong, a line each, and gives the status.
func report(err error, stderr io.Writer) int {
	if err == nil {
		return exitOK
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(stderr, "gainwright: stopped; nothing was written")
		return exitInterrupted
	}
	for _, line := range strings.Split(strings.TrimSpace(err.Error()), "\n") {
		fmt.Fprintln(stderr, "gainwright: "+sounds.Shown(line))
	}
	var (
		use    *usageError
		input  *sounds.InputError
		exists *sounds.ExistsError
		scene  *scenario.Error
	)
	if errors.As(err, &use) || errors.As(err, &input) || errors.As(err, &exists) || errors.As(err, &scene) {
		return exitUsage
	}
	return exitFailure
}

func newRootCmd() *cobra.Command {
	open := newOpenCmd()
	root := &cobra.Command{
		Use:   "gainwright",
		Short: "Practise gain staging before the one take that counts",
		Long: `Practise gain staging before the one take that counts.

A talker, a microphone, a preamp, a converter, a limiter and a file, simulated in
true physical units: set the gain, record, hear and see what was lost, and why it
cannot be undone. With nothing else said, the scene opens in the browser.

Clipped and loud material can hurt: turn the volume down before you play files.`,
		Example: `  gainwright                          the scene, in the browser
  gainwright compare                  one conversation through two strips, as a report
  gainwright take --gain 46           one talker through one strip
  gainwright take interview.wav       a recording of your own through one strip
  gainwright plan                     where to set the gain for the next session
  gainwright meter interview.wav      what is in a recording
  gainwright repair --method declip interview.wav mended.wav   fill what was clipped with a guess
  gainwright plan --minutes 45        where to set the gain for a session, and the risk
  gainwright twin                     two performances that leave one identical file
  gainwright lesson list              lessons, to take or to write yourself`,
		SilenceUsage:       true,
		SilenceErrors:      true,
		DisableSuggestions: true,
		CompletionOptions:  cobra.CompletionOptions{HiddenDefaultCmd: true},
		Args: func(cmd *cobra.Command, args []string) error {
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
			return usagef("%s", msg)
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return open.RunE(cmd, nil) },
	}
	root.Flags().AddFlagSet(open.Flags())
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		msg, _, _ := strings.Cut(err.Error(), ": strconv.")
		return usagef("%s; see %s --help", msg, cmd.CommandPath())
	})
	root.AddCommand(open, newTakeCmd(), newCompareCmd(), newMeterCmd(), newTwinCmd(), newPlanCmd(), newTalkCmd(), newLessonCmd(), newRepairCmd(), newVersionCmd(), newSettingsTopic())
	return root
}

// args wraps a check of the number of arguments, so that its failure counts as
// wrong use.
func args(check cobra.PositionalArgs, hint string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, a []string) error {
		if check(cmd, a) != nil {
			return usagef("%s: %s; see %s --help", cmd.CommandPath(), hint, cmd.CommandPath())
		}
		return nil
	}
}
