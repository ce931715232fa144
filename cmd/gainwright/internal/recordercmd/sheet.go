package recordercmd

import (
	"fmt"
	"maps"
	"slices"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sounds"
	"gainwright/sounds/series"
)

// A soundJSON is a test sound, as JSON.
type soundJSON struct {
	File  string `json:"file"`
	Label string `json:"label"`
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
			marks, err := series.ParseMarks(list)
			if err != nil {
				return cli.Usagef("--marks: %v", err)
			}
			all := series.List(marks)
			if err := writeSheet(dir, force, all); err != nil {
				return err
			}
			if asJSON {
				list := make([]soundJSON, len(all))
				for i, p := range all {
					list[i] = soundJSON{p.File, p.Label}
				}
				return cli.WriteJSON(cmd.OutOrStdout(), map[string]any{"dir": dir, "page": "sheet.html", "sounds": list})
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s\n\nWritten: sheet.html and %s in %s. Open the page first.\n", cli.Wrap(series.Caution, 78),
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
func writeSheet(dir string, force bool, all []series.Played) error {
	o, err := cli.OpenOutputs(dir, force)
	if err != nil {
		return err
	}
	defer o.Abort()
	files := map[string][]byte{"sheet.html": series.Sheet(all)}
	for _, p := range all {
		if files[p.File], err = p.WAV(); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f, err := cli.Create(o, name)
		if err != nil {
			return err
		}
		if _, err := f.Write(files[name]); err != nil {
			return err
		}
	}
	return o.Commit()
}
