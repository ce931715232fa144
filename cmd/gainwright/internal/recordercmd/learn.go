package recordercmd

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sounds"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/series"
)

func newLearn() *cobra.Command {
	var out, page, anchor string
	var is []string
	var force, asJSON, quiet bool
	cmd := &cobra.Command{
		Use:   "learn FILES...",
		Short: "Tell from the series' recordings what is known of the recorder",
		Long: `Read the recordings of the series and tell what is known of the recorder: the gain
between its marks, the noise before and after the gain, where and how it clips, the
limiter's place and law, the word length; each with an interval, what it rests on, and
what is missing to know more. The intervals are meant to hold the truth in nine cases
of ten; on emulated recorders they do, about; no real one was tried. A limiter's times
are the time constants of what it smooths, which is told with them.

Files come in any order. Each is known by the slates in it. What has none is named by
--is FILE=STEP,MARK: quiet, plugged, steps, loud, off, on (limiter), anchor, or pair (two
channels, limiter off on the first). Of several channels the one with the higher peak
counts. A file is read in a stream, a few times; its length does not matter.

--anchor names a level that is known, in dB SPL at the microphone:
  calibrator=94   of the recording that is the anchor (--is FILE=anchor,MARK)
  meter=72,A      what a sound level meter read beside the microphone while the tone of
                  the steps played, or of the recording that is the anchor; at 1 kHz the
                  weightings A, C and Z are equal; good to 2 dB
  talk            ordinary talk one metre away is 60 dB SPL, 7 dB either way

--out writes an equipment file (YAML), --report a page with a picture. Microphone, gain
and converter are never told apart: the file holds what is known of all three together.
What it tells and what it leaves open is said; where no more than the word length is
known none is written, and the status is 2.`,
		Example: `  gainwright recorder learn card/*.wav
  gainwright recorder learn card/*.wav --anchor meter=72,A --out my-recorder.yaml --report my-recorder.html
  gainwright recorder learn a.wav b.wav plug.wav --is plug.wav=plugged,10 --is b.wav=steps,2.5`,
		Args: cli.Args(cobra.MinimumNArgs(1), "wants the recordings of the series"),
		RunE: func(cmd *cobra.Command, files []string) error {
			a, err := series.ParseAnchor(anchor)
			if err != nil {
				return cli.Usagef("--anchor %s: %v", anchor, err)
			}
			marks, err := parseIs(is, files)
			if err != nil {
				return err
			}
			if page != "" && !strings.HasSuffix(strings.ToLower(page), ".html") {
				return cli.Usagef("--report: %s does not end in .html", page)
			}
			for _, p := range []string{out, page} {
				if p != "" && !force && !cli.IsMissing(p) {
					return &sounds.ExistsError{Path: p}
				}
			}
			w := cli.NewWatch(cmd.ErrOrStderr(), quiet)
			l, err := learn(cmd.Context(), files, marks, a, w)
			w.Done()
			if err != nil {
				return err
			}
			return l.deliver(cmd, out, page, force, asJSON)
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&is, "is", nil, "what a file without a slate is: `FILE=STEP,MARK` (repeatable)")
	f.StringVar(&anchor, "anchor", "", "a level that is known: `calibrator=94`, meter=72,A or talk")
	f.StringVar(&out, "out", "", "write the equipment file to `FILE.yaml`")
	f.StringVar(&page, "report", "", "write a page with a picture to `FILE.html`")
	f.BoolVar(&force, "force", false, "replace files that are there")
	f.BoolVar(&asJSON, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&quiet, "quiet", false, "show no progress")
	return cmd
}

// deliver writes and prints.
func (l *learnt) deliver(cmd *cobra.Command, out, page string, force, asJSON bool) error {
	r := l.Equipment(time.Now())
	known, missing := r.Holds()
	var bare error // why no equipment file is written; what else was asked for is delivered
	if out != "" && r.Bare() {
		only := "nothing is known of the recorder"
		if len(known) > 0 {
			only = "only the word length is known"
		}
		bare = cli.Usagef("%s is not written: %s, and a file of that would change nothing; missing are %s", out, only, plain.Listed(missing, "and"))
		out = ""
	}
	if out != "" {
		data, err := r.Write()
		if err != nil {
			return err
		}
		if err := cli.WriteFile(out, force, data); err != nil {
			return err
		}
	}
	if page != "" {
		var b bytes.Buffer
		if err := l.page(&b); err != nil {
			return err
		}
		if err := cli.WriteFile(page, force, b.Bytes()); err != nil {
			return err
		}
	}
	if asJSON {
		return errors.Join(cli.WriteJSON(cmd.OutOrStdout(), l.json()), bare)
	}
	var b bytes.Buffer
	l.print(&b)
	for _, p := range []string{out, page} {
		if p != "" {
			fmt.Fprintf(&b, "\nWritten: %s.\n", sounds.Shown(p))
		}
		if p == out && p != "" {
			fmt.Fprintln(&b, cli.Wrap("It "+r.Said(), 78))
		}
	}
	_, err := cmd.OutOrStdout().Write(b.Bytes())
	return errors.Join(err, bare)
}

// parseIs reads --is.
func parseIs(list, files []string) (map[string]series.Told, error) {
	out := map[string]series.Told{}
	for _, text := range list {
		name, what, ok := cut(text)
		if !ok || !strings.Contains(what, ",") {
			return nil, cli.Usagef("--is %s: wants FILE=STEP,MARK, as in --is plug.wav=plugged,10", text)
		}
		t, err := series.ParseTold(what)
		if err != nil {
			return nil, cli.Usagef("--is %s: %v", text, err)
		}
		found := ""
		for _, f := range files {
			if f == name || found == "" && filepath.Base(f) == name {
				found = f
			}
		}
		if found == "" {
			return nil, cli.Usagef("--is %s: %s is none of the files", text, name)
		}
		if _, twice := out[found]; twice {
			return nil, cli.Usagef("--is names %s twice", name)
		}
		out[found] = t
	}
	return out, nil
}

// cut divides at the last =, since a file's name may hold one.
func cut(text string) (name, what string, ok bool) {
	i := strings.LastIndex(text, "=")
	if i <= 0 {
		return "", "", false
	}
	return text[:i], text[i+1:], true
}

// learn reads all files. One that is broken does not hide the others, unless nothing is
// left.
func learn(ctx context.Context, files []string, is map[string]series.Told, a series.Anchor, w *cli.Watch) (*learnt, error) {
	var list []*series.Reading
	var notes []string
	seen := map[string]string{}
	var errs []error
	for _, path := range files {
		if path == "-" {
			return nil, cli.Usagef("recordings are read several times: the standard input will not do")
		}
		f := series.Path(path)
		sum, err := series.Hash(ctx, f)
		if err == nil {
			if other, twice := seen[sum]; twice {
				notes = append(notes, fmt.Sprintf("%s is the same file as %s, and counts once", sounds.Shown(path), sounds.Shown(other)))
				continue
			}
			seen[sum] = path
			var told *series.Told
			if t, named := is[path]; named {
				told = &t
			}
			var r *series.Reading
			if r, err = series.Read(ctx, f, sum, told, w); err == nil {
				list = append(list, r)
			}
		}
		if errors.Is(err, context.Canceled) {
			return nil, err
		}
		if errors.Is(err, series.ErrNoSlate) {
			err = &sounds.InputError{Path: path, Msg: "no slate is heard in it: say what it is by --is FILE=STEP,MARK"}
		}
		if err != nil {
			errs = append(errs, err)
			notes = append(notes, strings.ReplaceAll(err.Error(), "\n", " "))
		}
	}
	if len(list) == 0 {
		return nil, errors.Join(errs...)
	}
	var pairs series.Pairs
	found, err := pairs.Sum(ctx, list, a, w)
	if err != nil {
		return nil, err
	}
	found.Notes = append(notes, found.Notes...)
	return &learnt{found}, nil
}
