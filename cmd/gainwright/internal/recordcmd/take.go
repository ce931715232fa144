package recordcmd

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

func NewTake() *cobra.Command {
	var (
		set        cli.Settings
		out        cli.OutputFlags
		scene, one string
	)
	cmd := &cobra.Command{
		Use:   "take [FILE]",
		Short: "Record one performance through one strip",
		Long: `Record one performance through one strip: a built-in talker's, or a recording
given as FILE (WAV, FLAC, Ogg Vorbis or MP3; - is the standard input).

Written are the file as recorded (A.wav, after the strip's name), its readings and
settings (A.json) and a picture (A.png): the whole take with its overs, the loudest
moment at the converter, and the levels along the chain. They go to a new directory
take-1, take-2, … unless --out names one.

A recording is placed as if it were a talker: its loudest second gets --level, which
is that of loud speech (74.85 dB SPL at 1 m) unless told. It keeps its sample rate.

--recorder puts all that on your own recorder: the equipment file that "recorder learn"
wrote fills in what neither the scenario nor a flag says, --mark sets its knob, and what
the file does not tell is named as assumed.`,
		Example: `  gainwright take --gain 46 --limiter after
  gainwright take --talker ilse --distance 0.2 --out ilse
  gainwright take interview.wav --level 70 --gain 38
  gainwright take --scenario captain-laughs --strip B --json
  gainwright take --recorder my-recorder.yaml --mark 4.5
  gainwright take --set microphone.sensitivity_mv_per_pa=12 --limiter after --set limiter.ratio=4`,
		Args: cli.Args(cobra.MaximumNArgs(1), "takes one recording at most"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if err := out.Check(); err != nil {
				return err
			}
			sc, err := set.Load(scene)
			if err != nil {
				return err
			}
			if len(a) == 1 {
				if a[0] == "" {
					return cli.Usagef("the recording's name is empty")
				}
				set.Recording = a[0]
				if scene == "" {
					sc.Title = filepath.Base(a[0])
					if a[0] == "-" {
						sc.Title = "Standard input"
					}
				}
			}
			if err := set.Apply(sc); err != nil {
				return err
			}
			st := &sc.Strips[0]
			if one != "" {
				if st = sc.Strip(one); st == nil {
					return cli.Usagef("--strip: there is no strip %q: there are %s", one, strings.Join(sc.StripNames(), ", "))
				}
			}
			sc.Strips = []scenario.Strip{*st}
			return take(cmd, sc, &out)
		},
	}
	cmd.Flags().StringVar(&scene, "scenario", "", "start from a scenario: the `NAME` of a built-in one, or a YAML file")
	cmd.Flags().StringVar(&one, "strip", "", "which strip of the scenario: its `NAME` (the first)")
	set.AddTo(cmd)
	set.AddStrip(cmd)
	out.AddTo(cmd, "`DIR` for the files (a new one, take-1, take-2, …)")
	return cmd
}

func take(cmd *cobra.Command, sc *scenario.Scenario, out *cli.OutputFlags) error {
	dir := out.Dir
	if dir == "" {
		dir = cli.FreeDir("take")
	}
	outs, err := cli.OpenOutputs(dir, out.Force)
	if err != nil {
		return err
	}
	defer outs.Abort()
	name := sc.Strips[0].Name
	wav, err := cli.Create(outs, name+".wav")
	if err != nil {
		return err
	}
	js, err := cli.Create(outs, name+".json")
	if err != nil {
		return err
	}
	pic, err := cli.Create(outs, name+"."+out.Picture)
	if err != nil {
		return err
	}
	w := cli.NewWatch(cmd.ErrOrStderr(), out.Quiet)
	s, err := record(cmd.Context(), sc, map[string]*cli.OutFile{name: wav}, w)
	if err != nil {
		return err
	}
	if err := cli.WriteJSON(js, s.result()); err != nil {
		return err
	}
	if err := writePicture(pic, s.sheet(s.strips[0]), out.Picture); err != nil {
		return err
	}
	if err := cmd.Context().Err(); err != nil {
		return err
	}
	if err := outs.Commit(); err != nil {
		return err
	}
	switch {
	case out.JSON:
		r := s.result()
		r.Files = cli.ListFiles(outs)
		return cli.WriteJSON(cmd.OutOrStdout(), r)
	case out.Quiet:
		return nil
	}
	var b bytes.Buffer
	s.describe(&b)
	r := s.strips[0]
	fmt.Fprintf(&b, "\nStrip %s: %s, %s\n\n", r.name, picture.DB(r.chain.Preamp.GainDB, "dB of gain"), picture.PlaceText(r.chain))
	table(&b, s.strips)
	fmt.Fprintln(&b)
	if c := s.clipped(); len(c) > 0 {
		fmt.Fprintln(&b, caution(c))
	}
	fmt.Fprintf(&b, "Written to %s: %s\n", sounds.Shown(dir), strings.Join(outs.Names(), ", "))
	_, err = cmd.OutOrStdout().Write(b.Bytes())
	return err
}

func writePicture(w io.Writer, sheet *picture.Sheet, format string) error {
	var b bytes.Buffer // an encoder's many small writes
	if err := picture.Draw(&b, sheet, format); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}
