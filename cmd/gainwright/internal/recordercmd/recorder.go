// Package recordercmd is the command recorder: a test series for one's own recorder, and
// what its files tell.
package recordercmd

import (
	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
)

// New is the command recorder.
func New() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "recorder",
		Short: "Test your own recorder: a series of short recordings, and what they tell",
		Long: `Test your own recorder. Its knob has marks, not dB, and its limiter a menu entry, not a
place in the chain. "sheet" makes a page with a short test series, and the sounds to
play for it; "learn" reads what you recorded and tells what is known of the recorder,
every figure with an interval, what it rests on, and what is missing to know more.

Relative things need no reference: gain between marks, noise below full scale, where
and how it clips, the limiter. How loud a sound reaches full scale needs one level that
is known (learn --anchor). Microphone, gain and converter are never told apart.

The scene "Your recorder" (gainwright open) leads through the same series.

The sounds are played from a loudspeaker: turn it down first, and up slowly.`,
		Example: `  gainwright recorder sheet --out series
  gainwright recorder learn card/*.wav --out my-recorder.yaml`,
		Args: cli.Args(cobra.NoArgs, "wants sheet or learn"),
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newSheet(), newLearn())
	return cmd
}
