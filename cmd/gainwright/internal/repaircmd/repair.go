// Package repaircmd is the command repair: treatments one after the other over a
// recording of any length, and an honest account of what came back.
package repaircmd

import (
	"bytes"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/repair"
)

// repairFlags are what repair is asked.
type repairFlags struct {
	methods                        []string
	format, safety, truth, quality string
	report                         string
	fit, list                      bool
	force, json, quiet             bool
}

// New is the command repair.
func New() *cobra.Command {
	var o repairFlags
	cmd := &cobra.Command{
		Use:   "repair --method NAME... IN OUT",
		Short: "Mend a recording, and say honestly what came back",
		Long: `Mend a recording: treatments one after the other, in the order given. Each may be
given settings, NAME:KEY=VALUE,KEY=VALUE; --list explains them all.

IN is WAV, FLAC, Ogg Vorbis or MP3, 8 to 192 kHz, one or two channels; - is the
standard input. OUT is a WAV file. The two channels are declipped each by itself; limiter and compressor turn both
by one gain. IN is never changed, and OUT appears whole or not at all.

OUT gets the sample format of IN, unless peaks now exceed full scale, which only
floating point holds: then it is float32. With --fit, or in an integer --format, the
whole is turned down instead so that its highest peak fits at −0.1 dBFS; that is said.

What was clipped is gone: declip guesses, splice takes it from a second recording,
everything else only changes levels. Where declip's own estimates do not agree, or peaks
come out higher than is likely, it adds less, and says so; how much of the error it says
is left at most (promised_gain_db in --json) is what nine of ten recordings reached that
looked alike. A voice that was clipped or limited before it met this ceiling looks clipped
deeper than it is, and mending may harm it: of 597 lightly clipped takes of people whom
nothing was set by five came out worse, by up to 5.5 dB. Listen. Where the truth is at
hand, as for a simulated take, --truth measures how far the file is from it before and
after.

A take that was clipped and went through a limiter behind the converter shows that
limiter's gain at its clipped tops. Declip turns it back for the guess and puts it on
again; declip:gain_reduction=undo leaves it out, ignore does not look for it.

Length does not matter: what does not fit in memory passes through temporary files,
which need 16 bytes a sample and channel (and more with --truth, --splice or delivery).
Detection and splicing of more than a minute go stretch by stretch, so a ceiling that
is barely touched may be told less surely than in one piece.

Clipped and restored material can be loud: turn the volume down before you play it.`,
		Example: `  gainwright repair --method declip interview.wav mended.wav
  gainwright repair --method declip --quality fast --fit interview.wav mended.wav
  gainwright repair --method declip:gain_reduction=undo limited.wav mended.wav
  gainwright repair --method splice --splice safety.wav interview.wav mended.wav
  gainwright repair --method high-pass:frequency_hz=90 --method noise-reduction \
      --method delivery:limit_db=6 --report mended.html low.wav mended.wav
  gainwright repair --list`,
		Args: func(cmd *cobra.Command, a []string) error {
			if o.list {
				return cli.Args(cobra.NoArgs, "--list wants no files")(cmd, a)
			}
			return cli.Args(cobra.ExactArgs(2), "wants a recording and the name of the file to write")(cmd, a)
		},
		RunE: func(cmd *cobra.Command, a []string) error {
			if o.list {
				if o.json {
					return cli.WriteJSON(cmd.OutOrStdout(), struct {
						Methods []methodKind `json:"methods"`
					}{methodKinds})
				}
				var b bytes.Buffer
				listMethods(&b)
				_, err := cmd.OutOrStdout().Write(b.Bytes())
				return err
			}
			return mend(cmd, &o, a[0], a[1])
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.methods, "method", nil, "a treatment, `NAME` or NAME:KEY=VALUE,…; several in their order")
	f.BoolVar(&o.list, "list", false, "explain the treatments and their settings")
	f.StringVar(&o.quality, "quality", "best", "declip's `EFFORT`: fast, balanced or best")
	f.StringVar(&o.safety, "splice", "", "the safety track for splice, a recording `FILE` made with less gain")
	f.StringVar(&o.format, "format", "", "sample `FORMAT` of OUT: pcm16, pcm24 or float32")
	f.BoolVar(&o.fit, "fit", false, "turn the whole down if its peaks exceed full scale")
	f.StringVar(&o.truth, "truth", "", "what it ought to be, where a `FILE` of that is at hand: measures the distance")
	f.StringVar(&o.report, "report", "", "write a page with readings, a picture and excerpts to `FILE.html`")
	f.BoolVar(&o.force, "force", false, "replace files that are there")
	f.BoolVar(&o.json, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&o.quiet, "quiet", false, "print nothing but errors")
	return cmd
}

// chain reads the methods and checks that the options go with them.
func (o *repairFlags) chain(cmd *cobra.Command) ([]*method, error) {
	if len(o.methods) == 0 {
		return nil, cli.Usagef("no --method is given: there are %s; gainwright repair --list explains them", strings.Join(methodNames(), ", "))
	}
	effort, err := repair.ParseEffort(o.quality)
	if err != nil {
		return nil, cli.Usagef("--quality: there is no %q%s", o.quality, meant(o.quality, []string{"fast", "balanced", "best"}, "there are "))
	}
	var list []*method
	declips, splices := false, false
	for _, text := range o.methods {
		m, err := parseMethod(text)
		if err != nil {
			return nil, err
		}
		switch t := m.t.(type) {
		case repair.Declip:
			declips = true
			if !m.given["effort"] {
				t.Effort = effort
				m.t = t
			}
		case repair.Splice:
			splices = true
		}
		list = append(list, m)
	}
	switch {
	case cmd.Flags().Changed("quality") && !declips:
		return nil, cli.Usagef("--quality is for declip, which is not among the methods")
	case splices && o.safety == "":
		return nil, cli.Usagef("--method splice needs the safety track: --splice FILE")
	case !splices && o.safety != "":
		return nil, cli.Usagef("--splice %s: splice is not among the methods", o.safety)
	}
	return list, nil
}
