package cli

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

// Run runs a program until it ends or is interrupted, prints its error, and
// returns the exit status.
func Run(root *cobra.Command, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	defer signal.Stop(signals)

	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	ended := make(chan error, 1)
	go func() { ended <- root.ExecuteContext(ctx) }()
	select {
	case err := <-ended:
		return Report(err, stderr)
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
		if Report(err, stderr) == ExitOK {
			return ExitOK // it was through, or waits for nothing else, as open does
		}
		if s == syscall.SIGTERM {
			return 128 + int(syscall.SIGTERM)
		}
		return exitInterrupted
	}
}

// Program is the command above all others, with the ways that they share.
func Program(commands ...*cobra.Command) *cobra.Command {
	// A double click on Windows opens the scene, and is no slip to be explained.
	cobra.MousetrapHelpText = ""
	root := &cobra.Command{
		Use:                "gainwright",
		SilenceUsage:       true,
		SilenceErrors:      true,
		DisableSuggestions: true,
		CompletionOptions:  cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		msg, _, _ := strings.Cut(err.Error(), ": strconv.")
		return Usagef("%s; see %s --help", msg, cmd.CommandPath())
	})
	root.AddCommand(commands...)
	return root
}

// patience is how long work may take to stop when it is interrupted.
const patience = 3 * time.Second

// Report prints what went wrong, a line each, and gives the status.
func Report(err error, stderr io.Writer) int {
	if err == nil {
		return ExitOK
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
		return ExitUsage
	}
	return ExitFailure
}
