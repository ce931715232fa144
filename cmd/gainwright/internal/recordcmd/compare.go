package recordcmd

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// Listening copies are matched at the programme loudness of EBU R 128, or as much
// below it as keeps every one of them under its highest permitted true peak.
const (
	matchLUFS    = -23.0
	matchTopDBTP = -1.0
)

func NewCompare() *cobra.Command {
	var (
		set cli.Settings
		out cli.OutputFlags
	)
	cmd := &cobra.Command{
		Use:   "compare [SCENARIO]",
		Short: "Record one performance through several strips, side by side",
		Long: `Record one performance through all strips of a scenario and put them side by side:
a table of readings, each strip's file as recorded (A.wav) and a listening copy
matched in loudness (A-matched.wav, BS.1770, −23 LUFS or as much lower as keeps
every copy from clipping), and report.html with pictures and players. They go to
a new directory compare-1, compare-2, … unless --out names one.

--recorder puts the strips on your own recorder: what was measured of it fills in what
the scenario does not say.

SCENARIO is the name of a built-in scenario or a YAML file; without one it is
` + scenario.DefaultName + `. Built in are:

` + builtinList(),
		Example: `  gainwright compare
  gainwright compare limiter-first --out lesson-3
  gainwright compare my-session.yaml --set strips.B.preamp.gain_db=38
  gainwright compare --recorder my-recorder.yaml
  gainwright compare --recording interview.wav --level 70
  gainwright compare --print captain-laughs > mine.yaml    a scenario to start from`,
		Args: cli.Args(cobra.MaximumNArgs(1), "takes one scenario at most"),
	}
	var show bool
	cmd.RunE = func(cmd *cobra.Command, a []string) error {
		if err := out.Check(); err != nil {
			return err
		}
		name := scenario.DefaultName
		if len(a) == 1 {
			name = a[0]
		}
		sc, err := set.Load(name)
		if err != nil {
			return err
		}
		if err := set.Apply(sc); err != nil {
			return err
		}
		if show {
			text, err := sc.Marshal()
			if err != nil {
				return err
			}
			_, err = cmd.OutOrStdout().Write(text)
			return err
		}
		return compare(cmd, sc, &out)
	}
	set.AddTo(cmd)
	cmd.Flags().StringVar(&set.Recording, "recording", "", "run your recording `FILE` (- is the standard input) through the strips")
	cmd.Flags().BoolVar(&show, "print", false, "print the scenario with every setting spelled out, and record nothing")
	out.AddTo(cmd, "`DIR` for the files (a new one, compare-1, compare-2, …)")
	return cmd
}

func builtinList() string {
	var b strings.Builder
	for i, s := range scenario.Builtin() {
		fmt.Fprintf(&b, "  %-16s %s\n", scenario.BuiltinNames()[i], s.Title)
	}
	return strings.TrimRight(b.String(), "\n")
}

func compare(cmd *cobra.Command, sc *scenario.Scenario, out *cli.OutputFlags) error {
	ctx := cmd.Context()
	dir := out.Dir
	if dir == "" {
		dir = cli.FreeDir("compare")
	}
	outs, err := cli.OpenOutputs(dir, out.Force)
	if err != nil {
		return err
	}
	defer outs.Abort()
	files, copies := map[string]*cli.OutFile{}, map[string]*cli.OutFile{}
	for _, st := range sc.Strips {
		if files[st.Name], err = cli.Create(outs, st.Name+".wav"); err != nil {
			return err
		}
		if copies[st.Name], err = cli.Create(outs, matchedName(st.Name)); err != nil {
			return err
		}
	}
	page, err := cli.Create(outs, "report.html")
	if err != nil {
		return err
	}
	js, err := cli.Create(outs, "readings.json")
	if err != nil {
		return err
	}
	w := cli.NewWatch(cmd.ErrOrStderr(), out.Quiet)
	s, err := record(ctx, sc, files, w)
	if err != nil {
		return err
	}
	w.Begin("matching loudness")
	m, err := s.match(ctx)
	if err != nil {
		return err
	}
	for i, r := range s.strips {
		w.At(float64(i) / float64(len(s.strips)))
		if err := writeMatched(ctx, r, m.gainDB[i], copies[r.name], s.rate); err != nil {
			return err
		}
	}
	w.Done()
	if err := cli.WriteJSON(js, s.compared(m)); err != nil {
		return err
	}
	html, err := s.report(m, out.Picture)
	if err != nil {
		return err
	}
	if _, err := page.Write(html); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := outs.Commit(); err != nil {
		return err
	}
	switch {
	case out.JSON:
		r := s.compared(m)
		r.Files = cli.ListFiles(outs)
		return cli.WriteJSON(cmd.OutOrStdout(), r)
	case out.Quiet:
		return nil
	}
	var b bytes.Buffer
	s.describe(&b)
	if sc.About != "" {
		fmt.Fprintln(&b, cli.Wrap(sc.About, 78))
	}
	fmt.Fprintln(&b)
	table(&b, s.strips)
	fmt.Fprintln(&b)
	for _, r := range s.strips {
		fmt.Fprintf(&b, "%s\n", cli.Wrap("Strip "+r.name+": "+r.story(), 78))
	}
	fmt.Fprintln(&b)
	if c := s.clipped(); len(c) > 0 {
		fmt.Fprintln(&b, caution(c))
	}
	fmt.Fprintln(&b, m.text(s))
	fmt.Fprintf(&b, "Written to %s: %s\n", sounds.Shown(dir), strings.Join(outs.Names(), ", "))
	fmt.Fprintf(&b, "Open %s in a browser.\n", sounds.Shown(outs.Path("report.html")))
	_, err = cmd.OutOrStdout().Write(b.Bytes())
	return err
}

// comparedResult is the JSON of compare.
type comparedResult struct {
	result
	MatchedLUFS   float64            `json:"matched_lufs"`
	MatchedGainDB map[string]float64 `json:"matched_gain_db"`
}

func (s *session) compared(m matching) comparedResult {
	out := comparedResult{s.result(), m.LUFS, map[string]float64{}}
	for i, r := range s.strips {
		out.MatchedGainDB[r.name] = m.gainDB[i]
	}
	return out
}
