package recordercmd

import (
	_ "embed"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/identify"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

//go:embed sheet.html.tmpl
var sheetText string

var sheetPage = cli.ParsePage("sheet", sheetText)

// caution stands before everything that is played.
const caution = "Turn the loudspeaker down before you play a test sound, and up slowly, until it is as loud as talk and no louder. Wear no headphones on the recorder meanwhile: what clips sounds harsh, and a knob that is turned up can be suddenly loud. Local rules and qualified people come before anything said here."

// played is a test sound of the series.
type played struct {
	step  identify.Step
	mark  float64
	File  string `json:"file"`
	Label string `json:"label"`
}

func (p played) Step() string { return p.step.String() }

// series lists the sounds for a knob with these marks.
func series(marks []float64) (out []played) {
	add := func(step identify.Step, m float64, label string) {
		out = append(out, played{step, m, fmt.Sprintf("%s-%s.wav", step, strings.ReplaceAll(mark(m), ".", "_")), fmt.Sprintf(label, mark(m))})
	}
	for i, m := range marks {
		if i == 0 || i == len(marks)/2 || i == len(marks)-1 {
			add(identify.Quiet, m, "mark %s: it plays the slate, then nothing; keep quiet for twelve seconds")
		}
	}
	for _, m := range marks {
		add(identify.Steps, m, "mark %s")
	}
	top := marks[len(marks)-1]
	add(identify.Loud, top, "mark %s, or the lowest at which it clips")
	add(identify.Off, top, "mark %s, or the one at which the step before clipped well: limiter off")
	add(identify.On, top, "the same mark as before (the sound says %s; that does not matter): limiter on")
	return out
}

func newSheet() *cobra.Command {
	var dir, list string
	var force, asJSON bool
	cmd := &cobra.Command{
		Use:   "sheet",
		Short: "Write the test series: a page to print or keep on a phone, and the sounds to play",
		Long: `Write the test series into a directory: sheet.html, a page to print or to keep on a
phone, and test sounds (WAV). Each sound begins with a slate, a second of tones that
says which step and which mark of the knob it belongs to, so that "recorder learn" takes
the recordings in any order. Every step can be left out; the page says what it tells.

--marks lists marks of your knob, lowest to highest; every second one will do. Number
marks that have no number. What the sounds say must be where the knob stands.

Turn the loudspeaker down before you play them, and up slowly.`,
		Example: `  gainwright recorder sheet --out series
  gainwright recorder sheet --out series --marks 1,2.5,4,5.5,7,8.5,10`,
		Args: cli.Args(cobra.NoArgs, "wants no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if dir == "" {
				return cli.Usagef("--out DIR is missing: where shall page and sounds go?")
			}
			marks, err := parseMarks(list)
			if err != nil {
				return err
			}
			all := series(marks)
			if err := writeSheet(dir, force, all); err != nil {
				return err
			}
			if asJSON {
				return cli.WriteJSON(cmd.OutOrStdout(), map[string]any{"dir": dir, "page": "sheet.html", "sounds": all})
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s\n\nWritten: sheet.html and %s in %s. Open the page first.\n", cli.Wrap(caution, 78),
				cli.Counted(len(all), "test sound", "test sounds"), sounds.Shown(dir))
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&dir, "out", "", "the `DIR`ectory for page and sounds")
	f.StringVar(&list, "marks", "0,2,4,6,8,10", "`MARKS` of your knob at which sounds are recorded, ascending, 0 to 102.3")
	f.BoolVar(&force, "force", false, "replace files that are there")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

// writeSheet writes page and sounds, all or nothing.
func writeSheet(dir string, force bool, all []played) error {
	o, err := cli.OpenOutputs(dir, force)
	if err != nil {
		return err
	}
	defer o.Abort()
	f, err := cli.Create(o, "sheet.html")
	if err != nil {
		return err
	}
	by := map[string][]played{}
	for _, p := range all {
		by[p.Step()] = append(by[p.Step()], p)
	}
	if err := sheetPage.Execute(f, map[string]any{"Caution": caution, "By": by}); err != nil {
		return err
	}
	for _, p := range all {
		x, err := sound(p.step, p.mark)
		if err != nil {
			return err
		}
		f, err := cli.Create(o, p.File)
		if err != nil {
			return err
		}
		if _, err := codec.WriteWAV(f, soundRate, [][]float64{x}, codec.PCM16); err != nil {
			return err
		}
	}
	return o.Commit()
}
