// Package recordercmd is the command recorder: a test series for one's own recorder, and
// what its files tell.
package recordercmd

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/identify"
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

The sounds are played from a loudspeaker: turn it down first, and up slowly.`,
		Example: `  gainwright recorder sheet --out series
  gainwright recorder learn card/*.wav --out my-recorder.yaml`,
		Args: cli.Args(cobra.NoArgs, "wants sheet or learn"),
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newSheet(), newLearn())
	return cmd
}

// parseMarks reads a list of marks, ascending.
func parseMarks(text string) ([]float64, error) {
	var out []float64
	for _, f := range strings.Split(text, ",") {
		v, err := parseMark(strings.TrimSpace(f))
		if err != nil {
			return nil, err
		}
		if len(out) > 0 && v <= out[len(out)-1] {
			return nil, cli.Usagef("--marks: %s does not come after %s: marks ascend", mark(v), mark(out[len(out)-1]))
		}
		out = append(out, v)
	}
	if len(out) > 24 {
		return nil, cli.Usagef("--marks: %d marks are too many: at most 24", len(out))
	}
	return out, nil
}

// parseMark reads one mark of a knob.
func parseMark(text string) (float64, error) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= 0 && v <= identify.MostMark) {
		return 0, cli.Usagef("%q is no mark: number your knob's marks from 0 to %.1f, with at most one decimal", text, identify.MostMark)
	}
	if _, err := identify.WriteSlate(identify.Steps, v, 8000, 0.1); err != nil {
		return 0, cli.Usagef("%q is no mark: at most one decimal", text)
	}
	return v, nil
}

func mark(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
