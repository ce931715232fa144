package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// Listening copies are matched at the programme loudness of EBU R 128, or as much
// below it as keeps every one of them under its highest permitted true peak.
const (
	matchLUFS    = -23.0
	matchTopDBTP = -1.0
)

func newCompareCmd() *cobra.Command {
	var (
		set settings
		out outputFlags
	)
	cmd := &cobra.Command{
		Use:   "compare [SCENARIO]",
		Short: "Record one performance through several strips, side by side",
		Long: `Record one performance through all strips of a scenario and put them side by side:
a table of readings, each strip's file as recorded (A.wav) and a listening copy
matched in loudness (A-matched.wav, BS.1770, −23 LUFS or as much lower as keeps
every copy from clipping), and report.html with pictures and players. They go to
a new directory compare-1, compare-2, … unless --out names one.

SCENARIO is the name of a built-in scenario or a YAML file; without one it is
` + scenario.DefaultName + `. Built in are:

` + builtinList(),
		Example: `  gainwright compare
  gainwright compare limiter-first --out lesson-3
  gainwright compare my-session.yaml --set strips.B.preamp.gain_db=38
  gainwright compare --recording interview.wav --level 70
  gainwright compare --print limiter-first > mine.yaml     a scenario to start from`,
		Args: args(cobra.MaximumNArgs(1), "takes one scenario at most"),
	}
	var show bool
	cmd.RunE = func(cmd *cobra.Command, a []string) error {
		if err := out.check(); err != nil {
			return err
		}
		name := scenario.DefaultName
		if len(a) == 1 {
			name = a[0]
		}
		sc, err := loadScenario(name)
		if err != nil {
			return err
		}
		if err := set.apply(sc); err != nil {
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
	set.addTo(cmd)
	cmd.Flags().StringVar(&set.recording, "recording", "", "run your recording `FILE` (- is the standard input) through the strips")
	cmd.Flags().BoolVar(&show, "print", false, "print the scenario with every setting spelled out, and record nothing")
	out.addTo(cmd, "`DIR` for the files (a new one, compare-1, compare-2, …)")
	return cmd
}

func builtinList() string {
	var b strings.Builder
	for i, s := range scenario.Builtin() {
		fmt.Fprintf(&b, "  %-16s %s\n", scenario.BuiltinNames()[i], s.Title)
	}
	return strings.TrimRight(b.String(), "\n")
}

func compare(cmd *cobra.Command, sc *scenario.Scenario, out *outputFlags) error {
	ctx := cmd.Context()
	dir := out.dir
	if dir == "" {
		dir = freeDir("compare")
	}
	outs, err := openOutputs(dir, out.force)
	if err != nil {
		return err
	}
	defer outs.Abort()
	files, copies := map[string]*outFile{}, map[string]*outFile{}
	for _, st := range sc.Strips {
		if files[st.Name], err = create(outs, st.Name+".wav"); err != nil {
			return err
		}
		if copies[st.Name], err = create(outs, matchedName(st.Name)); err != nil {
			return err
		}
	}
	page, err := create(outs, "report.html")
	if err != nil {
		return err
	}
	js, err := create(outs, "readings.json")
	if err != nil {
		return err
	}
	w := newWatch(cmd.ErrOrStderr(), out.quiet)
	s, err := record(ctx, sc, files, w)
	if err != nil {
		return err
	}
	w.begin("matching loudness")
	m, err := s.match(ctx)
	if err != nil {
		return err
	}
	for i, r := range s.strips {
		w.at(float64(i) / float64(len(s.strips)))
		if err := writeMatched(ctx, r, m.gainDB[i], copies[r.name], s.rate); err != nil {
			return err
		}
	}
	w.done()
	if err := writeJSON(js, s.compared(m)); err != nil {
		return err
	}
	html, err := s.report(m, out.picture)
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
	case out.json:
		r := s.compared(m)
		r.Files = listFiles(outs)
		return writeJSON(cmd.OutOrStdout(), r)
	case out.quiet:
		return nil
	}
	var b bytes.Buffer
	s.describe(&b)
	if sc.About != "" {
		fmt.Fprintln(&b, wrap(sc.About, 78))
	}
	fmt.Fprintln(&b)
	table(&b, s.strips)
	fmt.Fprintln(&b)
	for _, r := range s.strips {
		fmt.Fprintf(&b, "%s\n", wrap("Strip "+r.name+": "+r.story(), 78))
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

func matchedName(strip string) string { return strip + "-matched.wav" }

// matching is how loud the listening copies are made.
type matching struct {
	LUFS   float64 // of every copy
	gainDB []float64
}

// match finds the gains. A silent strip is left as it is. Loudness does not follow a
// gain exactly, since the gates of BS.1770 let other blocks pass: the gains are found
// by measuring again.
func (s *session) match(ctx context.Context) (matching, error) {
	m := matching{LUFS: matchLUFS, gainDB: make([]float64, len(s.strips))}
	for range 4 {
		over := 0.0
		for i, r := range s.strips {
			if !finite(r.readings.LoudnessLUFS) {
				continue
			}
			g, err := gainTo(ctx, r, m.LUFS, s.rate)
			if err != nil {
				return m, err
			}
			m.gainDB[i] = g
			over = max(over, float64(r.readings.TruePeakDBTP)+g-matchTopDBTP)
		}
		if over < 0.005 || math.IsInf(over, 0) {
			break
		}
		m.LUFS -= over
	}
	return m, nil
}

// gainTo is the gain in dB that brings a strip's file to a loudness.
func gainTo(ctx context.Context, r *recorded, lufs float64, rate int) (float64, error) {
	g := lufs - float64(r.readings.LoudnessLUFS)
	best, off := g, math.Inf(1)
	for range 4 {
		l, err := meter.NewLoudness(rate, 1)
		if err != nil {
			return 0, err
		}
		if err := r.amplified(ctx, g, func(x []float64) error { l.WriteMono(x); return nil }); err != nil {
			return 0, err
		}
		d := lufs - l.Integrated()
		if math.Abs(d) < off {
			best, off = g, math.Abs(d)
		}
		if off < 0.002 {
			break
		}
		g += d
	}
	return best, nil
}

// text says what was done to the copies.
func (m matching) text(s *session) string {
	var gains []string
	for i, r := range s.strips {
		gains = append(gains, r.name+" "+signedDB(m.gainDB[i]))
	}
	line := fmt.Sprintf("Listening copies at %s: %s", picture.DB(m.LUFS, "LUFS"), strings.Join(gains, ", "))
	if m.LUFS < matchLUFS-0.05 {
		line += fmt.Sprintf(" (at %s the highest peak would have passed %s)", picture.DB(matchLUFS, "LUFS"), picture.DB(matchTopDBTP, "dBTP"))
	}
	return line + "."
}

// writeMatched reads the strip's file back and writes it with a gain, 24 bit. Its
// rounding lies below anything a 24-bit converter has.
func writeMatched(ctx context.Context, r *recorded, gainDB float64, to io.WriteSeeker, rate int) error {
	wav, err := sounds.NewWAVWriter(to, rate, 1, sounds.PCM24)
	if err != nil {
		return err
	}
	part := make([][]float64, 1)
	err = r.amplified(ctx, gainDB, func(x []float64) error {
		part[0] = x
		return wav.Write(part)
	})
	if err != nil {
		return err
	}
	return wav.Close()
}

// amplified reads a strip's file back, with a gain, in blocks that last until do
// returns.
func (r *recorded) amplified(ctx context.Context, gainDB float64, do func(x []float64) error) error {
	src, err := sounds.Open(r.staged)
	if err != nil {
		return fmt.Errorf("reading back strip %s: %w", r.name, err)
	}
	defer src.Close()
	g := math.Pow(10, gainDB/20)
	buf := sounds.NewBlock(1, 8192)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := src.Read(buf)
		x := buf[0][:n]
		for i := range x {
			x[i] *= g
		}
		if e := do(x); e != nil {
			return e
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
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

// story says in plain words what happened to a strip.
func (r *recorded) story() string {
	x, c := &r.readings, &r.chain
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if x.MicOverloadSamples > 0 {
		say("The microphone itself was driven above its maximum level; only more distance or another microphone helps there.")
	}
	if x.RailOvers > 0 {
		say("The preamp ran into its rail %s, before any converter.", counted(x.RailOvers, "time", "times"))
	}
	switch {
	case x.Overs > 0:
		say("The converter ran out of codes in %s, the loudest by %s: those peaks are gone.",
			counted(x.Overs, "place", "places"), picture.DB(-float64(x.HeadroomDB), "dB"))
		if c.Limiter.On {
			say("Its limiter sits after the converter, so it only turned down waves that were flat already; the file peaks at %s and a plain meter sees %s.",
				picture.DB(float64(x.PeakDBFS), "dBFS"), counted(x.MeterOvers, "over", "overs"))
		}
		if c.InputLimiter.On {
			say("Its limiter sits before the converter, but takes %g ms to act, and faster peaks pass.", c.InputLimiter.AttackMS)
		}
	case finite(x.HeadroomDB):
		say("Nothing was lost at the converter: %s of headroom were left at the loudest moment.", picture.DB(float64(x.HeadroomDB), "dB"))
		if c.InputLimiter.On && x.LimiterReductionMaxDB > 0.1 {
			say("The limiter before the converter turned down by up to %s, in time for the converter.", picture.DB(float64(x.LimiterReductionMaxDB), "dB"))
		}
		if c.Limiter.On && x.LimiterReductionMaxDB > 0.1 {
			say("The limiter after it turned down by up to %s.", picture.DB(float64(x.LimiterReductionMaxDB), "dB"))
		}
		if x.PeakDBFS > 0 {
			say("The file goes above 0 dBFS, which a float format holds; turn it down before it becomes an integer one.")
		}
	}
	if finite(x.DeliveredNoiseLUFS) {
		say("Delivered at −19 LUFS its noise would lie at %s.", picture.DB(float64(x.DeliveredNoiseLUFS), "LUFS"))
	}
	return strings.Join(out, " ")
}

// wrap breaks a paragraph into lines.
func wrap(s string, width int) string {
	var b strings.Builder
	col := 0
	for _, w := range strings.Fields(s) {
		if n := runes(w); col > 0 && col+1+n > width {
			b.WriteByte('\n')
			col = 0
		} else if col > 0 {
			b.WriteByte(' ')
			col++
		}
		b.WriteString(w)
		col += runes(w)
	}
	return b.String()
}
