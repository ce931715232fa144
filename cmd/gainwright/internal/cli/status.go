// Package cli is what all commands share: exit statuses and errors, settings and
// scenarios named on the command line, files that appear whole, progress on long
// work, and text for terminals and pages. It knows no command.
package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"gainwright/sounds"
)

// Exit statuses.
const (
	ExitOK          = 0
	ExitFailure     = 1   // something went wrong
	ExitUsage       = 2   // the command line or an input is wrong
	exitInterrupted = 130 // 128 + SIGINT, as shells have it; 143 after SIGTERM
)

// A usageError is what the caller of the program can mend.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

// Usagef makes an error of wrong use, for which the status is ExitUsage; texts that came from the caller are shown, not obeyed.
func Usagef(format string, args ...any) error {
	for i, a := range args {
		if s, ok := a.(string); ok {
			args[i] = sounds.Shown(s)
		}
	}
	return &usageError{fmt.Errorf(format, args...)}
}

// Args wraps a check of the number of arguments, so that its failure counts as
// wrong use.
func Args(check cobra.PositionalArgs, hint string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, a []string) error {
		if check(cmd, a) != nil {
			return Usagef("%s: %s; see %s --help", cmd.CommandPath(), hint, cmd.CommandPath())
		}
		return nil
	}
}
