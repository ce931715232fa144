package metercmd

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
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
		jobs                       int
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
can be done, and by how much less gain it would have been kept clean. Where several
of these leave such tops, it says that it cannot tell, and which are the likeliest.

What it tells is an estimate, made for talk; music, tones and noise can fool it.

--report FILE.html makes a page to keep or to hand on: with a picture, and short
excerpts to listen to. It needs no other file.

--pair compares two recordings of one sound, the limiter off in the first and on in the
second, and tells of the limiter: whether it acts, before the converter or after it,
threshold, ratio, attack and release, each with an interval. Attack and release are the
time constants of what the limiter smooths, which is told with them: its gain in
decibels, fed back, with peaks held or neither, or the level or power that it works the
gain out of. A limiter of another law is told by the nearest of these; an attack that seems
quicker than 0.2 ms, as of one that looks ahead, is not told. That no limiter acts is told
only where one would have shown: where the wave reaches full scale, no earlier stage stops
or bends it, and the gain stays the same there. Told too is by how much the second is late,
gain, polarity and clock. Record both at one setting of the knob, loud enough that the first clips in ten
places at least; of one file with two channels the left is the first. A test sound or
talk that is played twice will do as well as two channels; talk said twice is not the
same sound. Turn the volume down before you play what clips.

A file is read in a stream: its length does not matter. WAV, FLAC, Ogg Vorbis and
MP3, one or two channels; - is the standard input. Where the data end before the header
says, as when a recorder loses power, or values are no numbers, the rest is measured, with a
note. Of several channels, levels are those of the higher one.

Many files are measured beside one another, --jobs at once, and told in the order in
which they are named, each as soon as it is its turn; what is told is the same however
many at once. Each at once takes about 5 MB, beside 50 in all. One that cannot be
read does not hide the others: it is told at the end, and makes the exit status 2.`,
		Example: `  gainwright meter interview.wav
  gainwright meter --report interview.html interview.wav
  gainwright meter --json take-1/A.wav take-1/B.wav
  gainwright meter --jobs 2 day-1/*.wav
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
			if cmd.Flags().Changed("jobs") && jobs < 1 {
				return cli.Usagef("--jobs: %d at once is none; 1 or more", jobs)
			}
			if jobs < 1 {
				jobs = runtime.GOMAXPROCS(0)
			}
			var list []*Measured
			var errs []error
			stdout, written := cmd.OutOrStdout(), false
			err := each(cmd.Context(), files, page != "", jobs, w, func(o one) error {
				// One bad file does not hide the others.
				if o.err != nil {
					errs = append(errs, o.err)
					return nil
				}
				list = append(list, o.m)
				if asJSON {
					return nil
				}
				var b bytes.Buffer
				if written {
					fmt.Fprintln(&b)
				}
				o.m.print(&b)
				written = true
				return w.Aside(func() error {
					_, err := stdout.Write(b.Bytes())
					return err
				})
			})
			w.Done()
			for _, m := range list {
				if m.again != nil {
					defer m.again.Close()
				}
			}
			if err != nil {
				return err
			}
			return finish(cmd, list, errs, page, force, asJSON, w)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object on the standard output, and nothing else")
	cmd.Flags().BoolVar(&quiet, "quiet", false, "show no progress")
	cmd.Flags().BoolVar(&pair, "pair", false, "two recordings of one sound, limiter off and on: tell of the limiter")
	cmd.Flags().IntVar(&jobs, "jobs", 0, "measure `N` recordings at once (as many as there are processors)")
	cmd.Flags().StringVar(&page, "report", "", "write a page with pictures and excerpts to `FILE.html`")
	cmd.Flags().BoolVar(&force, "force", false, "replace a page that is there")
	return cmd
}

// finish writes the page and what is told when all is measured; errs are of files that
// could not be.
func finish(cmd *cobra.Command, list []*Measured, errs []error, page string, force, asJSON bool, w *cli.Watch) error {
	if page != "" && len(list) > 0 {
		if err := writeDiagnosis(cmd.Context(), page, force, list, w); err != nil {
			return errors.Join(append(errs, err)...)
		}
	}
	if asJSON {
		if err := cli.WriteJSON(cmd.OutOrStdout(), struct {
			Files []*Measured `json:"files"`
		}{append([]*Measured{}, list...)}); err != nil {
			return err
		}
	} else if page != "" && len(list) > 0 {
		if _, err := fmt.Fprintf(cmd.OutOrStdout(), "\nWritten: %s. Open it in a browser.\n", sounds.Shown(page)); err != nil {
			return err
		}
	}
	return errors.Join(errs...)
}
