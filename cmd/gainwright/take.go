package main

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// outputFlags say where results go and how they are told.
type outputFlags struct {
	dir, picture       string
	force, json, quiet bool
}

func (o *outputFlags) addTo(cmd *cobra.Command, dirHelp string) {
	f := cmd.Flags()
	f.StringVar(&o.dir, "out", "", dirHelp)
	f.BoolVar(&o.force, "force", false, "replace files that are there")
	f.BoolVar(&o.json, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&o.quiet, "quiet", false, "print nothing but errors")
	f.StringVar(&o.picture, "picture", "png", "`KIND` of the picture: png or svg")
}

func (o *outputFlags) check() error {
	if o.picture != picture.PNG && o.picture != picture.SVG {
		return usagef("--picture: there is no %q: there are png and svg", o.picture)
	}
	return nil
}

func newTakeCmd() *cobra.Command {
	var (
		set        settings
		out        outputFlags
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
is that of loud speech (74.85 dB SPL at 1 m) unless told. It keeps its sample rate.`,
		Example: `  gainwright take --gain 46 --limiter after
  gainwright take --talker ilse --distance 0.2 --out ilse
  gainwright take interview.wav --level 70 --gain 38
  gainwright take --scenario captain-laughs --strip B --json
  gainwright take --set microphone.sensitivity_mv_per_pa=12 --set limiter.ratio=4`,
		Args: args(cobra.MaximumNArgs(1), "takes one recording at most"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if err := out.check(); err != nil {
				return err
			}
			sc := scenario.New()
			if scene != "" {
				var err error
				if sc, err = loadScenario(scene); err != nil {
					return err
				}
			}
			if len(a) == 1 {
				if a[0] == "" {
					return usagef("the recording's name is empty")
				}
				set.recording = a[0]
				if scene == "" {
					sc.Title = filepath.Base(a[0])
					if a[0] == "-" {
						sc.Title = "Standard input"
					}
				}
			}
			if err := set.apply(sc); err != nil {
				return err
			}
			st := &sc.Strips[0]
			if one != "" {
				if st = sc.Strip(one); st == nil {
					return usagef("--strip: there is no strip %q: there are %s", one, strings.Join(sc.StripNames(), ", "))
				}
			}
			sc.Strips = []scenario.Strip{*st}
			return take(cmd, sc, &out)
		},
	}
	cmd.Flags().StringVar(&scene, "scenario", "", "start from a scenario: the `NAME` of a built-in one, or a YAML file")
	cmd.Flags().StringVar(&one, "strip", "", "which strip of the scenario: its `NAME` (the first)")
	set.addTo(cmd)
	set.addStrip(cmd)
	out.addTo(cmd, "`DIR` for the files (a new one, take-1, take-2, …)")
	return cmd
}

func take(cmd *cobra.Command, sc *scenario.Scenario, out *outputFlags) error {
	dir := out.dir
	if dir == "" {
		dir = freeDir("take")
	}
	outs, err := openOutputs(dir, out.force)
	if err != nil {
		return err
	}
	defer outs.Abort()
	name := sc.Strips[0].Name
	wav, err := create(outs, name+".wav")
	if err != nil {
		return err
	}
	js, err := create(outs, name+".json")
	if err != nil {
		return err
	}
	pic, err := create(outs, name+"."+out.picture)
	if err != nil {
		return err
	}
	w := newWatch(cmd.ErrOrStderr(), out.quiet)
	s, err := record(cmd.Context(), sc, map[string]*outFile{name: wav}, w)
	if err != nil {
		return err
	}
	if err := writeJSON(js, s.result()); err != nil {
		return err
	}
	if err := writePicture(pic, s.sheet(s.strips[0]), out.picture); err != nil {
		return err
	}
	if err := cmd.Context().Err(); err != nil {
		return err
	}
	if err := outs.Commit(); err != nil {
		return err
	}
	switch {
	case out.json:
		r := s.result()
		r.Files = listFiles(outs)
		return writeJSON(cmd.OutOrStdout(), r)
	case out.quiet:
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

// source names what was performed.
func (s *session) source() string {
	switch f := s.sc.Source.File; f {
	case "":
		return s.sc.Source.Talker
	case "-":
		return sounds.StdinName
	default:
		return f
	}
}

// describe says what was recorded.
func (s *session) describe(w io.Writer) {
	src := s.source()
	fmt.Fprintf(w, "%s: %s, %s, %d Hz\n", sounds.Shown(s.sc.Title), sounds.Shown(src), picture.Clock(s.seconds()), s.rate)
	for _, n := range s.notes {
		fmt.Fprintln(w, "Note: "+sounds.Shown(n)+".")
	}
}

// A reading for people: its name, and its value as text.
type reading struct {
	key, name string
	text      func(*sim.Readings) string
}

func level(key, name, unit string, v func(*sim.Readings) sim.Level) reading {
	return reading{key, name, func(r *sim.Readings) string { return picture.DB(float64(v(r)), unit) }}
}

func count(key, name string, v func(*sim.Readings) int) reading {
	return reading{key, name, func(r *sim.Readings) string { return fmt.Sprint(v(r)) }}
}

// readingList is what tables show, in the order of the signal.
var readingList = []reading{
	level("gain_db", "preamp gain", "dB", func(r *sim.Readings) sim.Level { return r.GainDB }),
	level("talk_peak_dbfs", "talk peaks at", "dBFS", func(r *sim.Readings) sim.Level { return r.TalkPeakDBFS }),
	level("peak_dbfs", "highest sample", "dBFS", func(r *sim.Readings) sim.Level { return r.PeakDBFS }),
	level("true_peak_dbtp", "true peak", "dBTP", func(r *sim.Readings) sim.Level { return r.TruePeakDBTP }),
	level("headroom_db", "headroom left", "dB", func(r *sim.Readings) sim.Level { return r.HeadroomDB }),
	count("overs", "overs (lost for good)", func(r *sim.Readings) int { return r.Overs }),
	{"longest_over_ms", "longest over", func(r *sim.Readings) string { return fmt.Sprintf("%.2f ms", float64(r.LongestOverMS)) }},
	{"clipped_percent", "samples lost", func(r *sim.Readings) string { return fmt.Sprintf("%.3f %%", float64(r.ClippedPercent)) }},
	count("meter_overs", "overs a plain meter sees", func(r *sim.Readings) int { return r.MeterOvers }),
	count("rail_overs", "times at the preamp's rail", func(r *sim.Readings) int { return r.RailOvers }),
	count("mic_overload_samples", "microphone overloads (samples)", func(r *sim.Readings) int { return r.MicOverloadSamples }),
	level("limiter_reduction_max_db", "limiter turned down by", "dB", func(r *sim.Readings) sim.Level { return r.LimiterReductionMaxDB }),
	level("sdr_db", "distance from the true wave (SDR)", "dB", func(r *sim.Readings) sim.Level { return r.SDRDB }),
	level("lost_energy_db", "lost energy", "dB", func(r *sim.Readings) sim.Level { return r.LostEnergyDB }),
	level("noise_floor_dbfs", "noise floor", "dBFS", func(r *sim.Readings) sim.Level { return r.NoiseFloorDBFS }),
	level("snr_db", "talk above the noise", "dB", func(r *sim.Readings) sim.Level { return r.SNRDB }),
	level("loudness_lufs", "loudness", "LUFS", func(r *sim.Readings) sim.Level { return r.LoudnessLUFS }),
	level("loudness_range_lu", "loudness range", "LU", func(r *sim.Readings) sim.Level { return r.LoudnessRangeLU }),
	level("delivered_gain_db", "gain to deliver at −19 LUFS", "dB", func(r *sim.Readings) sim.Level { return r.DeliveredGainDB }),
	level("delivered_noise_lufs", "noise after delivery", "LUFS", func(r *sim.Readings) sim.Level { return r.DeliveredNoiseLUFS }),
}

// table prints the readings, a column a strip.
func table(w io.Writer, strips []*recorded) {
	name := 0
	for _, r := range readingList {
		name = max(name, runes(r.name))
	}
	rows := make([][]string, len(readingList))
	widths := make([]int, len(strips))
	for k, s := range strips {
		widths[k] = runes(s.name)
		for i, r := range readingList {
			rows[i] = append(rows[i], r.text(&s.readings))
			widths[k] = max(widths[k], runes(rows[i][k]))
		}
	}
	if len(strips) > 1 {
		fmt.Fprint(w, strings.Repeat(" ", name))
		for k, s := range strips {
			fmt.Fprint(w, "  "+left(s.name, widths[k]))
		}
		fmt.Fprintln(w)
	}
	for i, r := range readingList {
		fmt.Fprint(w, r.name+strings.Repeat(" ", name-runes(r.name)))
		for k := range strips {
			fmt.Fprint(w, "  "+left(rows[i][k], widths[k]))
		}
		fmt.Fprintln(w)
	}
}

func runes(s string) int { return len([]rune(s)) }

// left pads s on its left to a width.
func left(s string, w int) string { return strings.Repeat(" ", max(0, w-runes(s))) + s }

// finite tells whether a level is a number one can compute with.
func finite(l sim.Level) bool { return !math.IsInf(float64(l), 0) && !math.IsNaN(float64(l)) }
