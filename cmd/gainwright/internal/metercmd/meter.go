package metercmd

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sounds"
)

// New is the command meter.
func New() *cobra.Command {
	var (
		asJSON, quiet, force, pair bool
		page                       string
	)
	cmd := &cobra.Command{
		Use:   "meter FILE...",
		Short: "Measure what is in a recording, and tell what happened to it",
		Long: `Measure what is in a recording: levels, loudness and its range (BS.1770, EBU Tech
3342), true peak, noise floor, runs at full scale and flat tops below it. Then tell
what happened to it, from the file alone: flattened at full scale; flattened first
and turned down later, by a constant or a moving gain; flattened, then filtered or
coded; rounded by an overdriven stage; limited; cut on one side only; loud; quiet and
noisy; hum; an offset. Each with a confidence, with where it is, what it means, what
can be done, and by how much less gain it would have been kept clean.

What it tells is an estimate, made for talk; music, tones and noise can fool it.

--report FILE.html makes a page to keep or to hand on: with a picture, and short
excerpts to listen to. It needs no other file.

--pair compares two recordings of one sound, the limiter off in the first and on in the
second, and tells of the limiter: whether it acts, before the converter or after it,
threshold, ratio, attack and release, each with an interval that is meant to hold the
truth in nine cases of ten; also by how much the second is late, gain, polarity and
clock. Record both at one setting of the knob, loud enough that the first clips in ten
places at least; of one file with two channels the left is the first. A test sound or
talk that is played twice will do as well as two channels; talk said twice is not the
same sound. Turn the volume down before you play what clips.

A file is read in a stream: its length does not matter. WAV, FLAC, Ogg Vorbis and
MP3, one or two channels; - is the standard input. Of several channels, levels are those of the higher one.`,
		Example: `  gainwright meter interview.wav
  gainwright meter --report interview.html interview.wav
  gainwright meter --json take-1/A.wav take-1/B.wav
  gainwright meter --pair limiter-off.wav limiter-on.wav`,
		Args: cli.Args(cobra.MinimumNArgs(1), "wants one or more recordings"),
		RunE: func(cmd *cobra.Command, files []string) error {
			w := cli.NewWatch(cmd.ErrOrStderr(), quiet)
			if pair {
				if page != "" {
					return cli.Usagef("--pair writes no --report")
				}
				return runPair(cmd.Context(), cmd.OutOrStdout(), files, asJSON, w)
			}
			if page != "" {
				if ext := strings.ToLower(filepath.Ext(page)); ext != ".html" && ext != ".htm" {
					return cli.Usagef("--report: %s does not end in .html", page)
				}
				if _, err := os.Stat(page); err == nil && !force {
					return &sounds.ExistsError{Path: page}
				}
			}
			out := struct {
				Files []*Measured `json:"files"`
			}{Files: []*Measured{}}
			// One bad file does not hide the others.
			var errs []error
			for _, path := range files {
				m, err := Measure(cmd.Context(), path, page != "", w)
				w.Done()
				if errors.Is(err, context.Canceled) {
					return err
				}
				if err != nil {
					errs = append(errs, err)
					continue
				}
				out.Files = append(out.Files, m)
				if m.again != nil {
					defer m.again.Close()
				}
			}
			if page != "" && len(out.Files) > 0 {
				if err := writeDiagnosis(cmd.Context(), page, force, out.Files, w); err != nil {
					return errors.Join(append(errs, err)...)
				}
			}
			if asJSON {
				if err := cli.WriteJSON(cmd.OutOrStdout(), out); err != nil {
					return err
				}
				return errors.Join(errs...)
			}
			var b bytes.Buffer
			for i, m := range out.Files {
				if i > 0 {
					fmt.Fprintln(&b)
				}
				m.print(&b)
			}
			if page != "" && len(out.Files) > 0 {
				fmt.Fprintf(&b, "\nWritten: %s. Open it in a browser.\n", sounds.Shown(page))
			}
			if _, err := cmd.OutOrStdout().Write(b.Bytes()); err != nil {
				return err
			}
			return errors.Join(errs...)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object on the standard output, and nothing else")
	cmd.Flags().BoolVar(&quiet, "quiet", false, "show no progress")
	cmd.Flags().BoolVar(&pair, "pair", false, "two recordings of one sound, limiter off and on: tell of the limiter")
	cmd.Flags().StringVar(&page, "report", "", "write a page with pictures and excerpts to `FILE.html`")
	cmd.Flags().BoolVar(&force, "force", false, "replace a page that is there")
	return cmd
}
