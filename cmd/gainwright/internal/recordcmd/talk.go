package recordcmd

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/codec"
	"gainwright/sounds/voice"
	"gainwright/sounds/voice/english"
)

// talkPeakDBFS is where a file's highest peak is put: clear of full scale.
const talkPeakDBFS = -3

func NewTalk() *cobra.Command {
	var (
		talker, effort, distance, seed, format string
		list, pascal, arpabet                  bool
		out                                    cli.OutputFlags
	)
	cmd := &cobra.Command{
		Use:   "talk TEXT OUT",
		Short: "A talker says TEXT, into a WAV file",
		Long: `A talker says TEXT, into a WAV file.

TEXT is plain English, or sounds in ARPAbet between slashes: "The ferry, /F EH1 R IY0/."
With --arpabet the text is not said but written down in ARPAbet, to be corrected and said.

The talker is made of equations and has a known sound pressure at every effort
(ANSI S3.5 at 1 m: normal 62.35, raised 68.34, loud 74.85, shout 82.30 dB SPL), here
exactly that while speaking. In a performance (take) sentences differ by a decibel or two.

The file's highest peak is put at −3 dBFS, and what full scale then means is told;
with --pascal a sample of 1.0 is 1 Pa, as a float file. No microphone, room or
converter is in between: for those, see take.`,
		Example: `  gainwright talk "We left the north bank at six." six.wav
  gainwright talk "Mind the rope!" rope.wav --talker maren --effort shout --distance 0.3
  gainwright talk "/HH AH0 L OW1/" hello.wav --json
  gainwright talk "Mind the rope!" --arpabet
  gainwright talk --list`,
		Args: func(cmd *cobra.Command, a []string) error {
			switch {
			case list && arpabet:
			case list && len(a) == 0, arpabet && len(a) == 1, !list && !arpabet && len(a) == 2:
				return nil
			}
			return cli.Usagef("%s: takes a text and the file to write, or a text and --arpabet, or --list; see %[1]s --help", cmd.CommandPath())
		},
		RunE: func(cmd *cobra.Command, a []string) error {
			if list {
				return listTalkers(cmd.OutOrStdout(), out.JSON)
			}
			if arpabet {
				return writeARPAbet(cmd.OutOrStdout(), a[0], out.JSON)
			}
			who, err := voice.Find(talker)
			if err != nil {
				return cli.Usagef("--talker: %v", err)
			}
			e, err := voice.ParseEffort(effort)
			if err != nil {
				return cli.Usagef("--effort: %v", err)
			}
			d, err := strconv.ParseFloat(distance, 64)
			if f, _ := sim.SettingByKey("distance_m"); err != nil || !(d >= f.Min && d <= f.Max) {
				return cli.Usagef("--distance: %s is not a distance from %g to %g m", distance, f.Min, f.Max)
			}
			n, err := strconv.ParseUint(seed, 10, 53)
			if err != nil {
				return cli.Usagef("--seed: %q is not a whole number", seed)
			}
			enc, err := codec.ParseEncoding(format)
			if err != nil {
				return cli.Usagef("--format: %v", err)
			}
			if pascal {
				if cmd.Flags().Changed("format") && enc != codec.Float32 {
					return cli.Usagef("--pascal needs --format float32: pressure may pass 1 Pa")
				}
				enc = codec.Float32
			}
			return talk(cmd, a[0], a[1], who, e, d, n, enc, pascal, &out)
		},
	}
	f := cmd.Flags()
	f.StringVar(&talker, "talker", "captain", "who talks: the `NAME` of a built-in talker")
	f.StringVar(&effort, "effort", "normal", "`HOW` loud: quiet, normal, raised, loud, shout, or a number from 0 to 1")
	f.StringVar(&distance, "distance", "1", "`M` from the lips at which the pressure is told and written")
	f.StringVar(&seed, "seed", "1", "`N` of the talker's small accidents: the same seed, the same file")
	f.StringVar(&format, "format", "pcm24", "`FORMAT` of the file: pcm16, pcm24 or float32")
	f.BoolVar(&pascal, "pascal", false, "write pressure: a sample of 1.0 is 1 Pa (float32)")
	f.BoolVar(&arpabet, "arpabet", false, "write TEXT down in ARPAbet, as it would be said")
	f.BoolVar(&list, "list", false, "list the talkers")
	f.BoolVar(&out.Force, "force", false, "replace a file that is there")
	f.BoolVar(&out.JSON, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&out.Quiet, "quiet", false, "print nothing but errors")
	return cmd
}

func listTalkers(w io.Writer, asJSON bool) error {
	ts := voice.Talkers()
	if asJSON {
		type entry struct {
			Name  string `json:"name"`
			Full  string `json:"full_name"`
			About string `json:"about"`
		}
		es := make([]entry, len(ts))
		for i, t := range ts {
			es[i] = entry{t.Name, t.Title, t.About}
		}
		return cli.WriteJSON(w, map[string]any{"talkers": es})
	}
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, t := range ts {
		fmt.Fprintf(tw, "%s\t%s\t%s\n", t.Name, t.Title, t.About)
	}
	return tw.Flush()
}

func writeARPAbet(w io.Writer, text string, asJSON bool) error {
	said, err := english.ARPAbet(text)
	if err != nil {
		return cli.Usagef("%v", err)
	}
	if asJSON {
		return cli.WriteJSON(w, map[string]any{"text": text, "arpabet": said})
	}
	_, err = fmt.Fprintln(w, said)
	return err
}

// talkResult is the JSON of talk.
type talkResult struct {
	Text     string    `json:"text"`
	ARPAbet  string    `json:"arpabet"`
	Talker   string    `json:"talker"`
	Effort   string    `json:"effort"`
	Distance float64   `json:"distance_m"`
	Seed     uint64    `json:"seed"`
	RateHz   int       `json:"rate_hz"`
	Seconds  float64   `json:"seconds"`
	LevelDB  sim.Level `json:"level_db_spl"`   // rms while speaking, at the distance
	PeakDB   sim.Level `json:"peak_db_spl"`    // 20·log10(peak/20 µPa)
	CrestDB  sim.Level `json:"crest_db"`       // peak over that rms
	ScalePa  float64   `json:"pascal_per_1_0"` // what a sample of 1.0 is, in Pa
	File     string    `json:"file"`
}

func talk(cmd *cobra.Command, text, path string, who voice.Talker, e voice.Effort, distance float64, seed uint64, enc codec.Encoding, pascal bool, out *cli.OutputFlags) error {
	if strings.TrimSpace(text) == "" {
		return cli.Usagef("there is no text to say")
	}
	p, err := voice.New(voice.Script{{Do: "say", Text: text, Effort: e}}, who.Name, seed)
	if err != nil {
		return cli.Usagef("%v", err)
	}
	w := cli.NewWatch(cmd.ErrOrStderr(), out.Quiet)
	defer w.Done()
	w.Begin("speaking")
	x, err := p.Render(cmd.Context(), func(done, total int) { w.At(float64(done) / float64(max(total, 1))) })
	if err != nil {
		return err
	}
	said, err := english.ARPAbet(text)
	if err != nil {
		return cli.Usagef("%v", err)
	}
	active, err := activeRMS(x)
	if err != nil {
		return err
	}
	// Sentences differ in level as people's do; what is promised here is the
	// level of this text.
	gain := float64(sim.DBSPL(e.SPL()).Pascal()) / active / distance
	active *= gain
	peak := 0.0
	for i := range x {
		x[i] *= gain
		peak = max(peak, math.Abs(x[i]))
	}
	r := talkResult{
		Text: text, ARPAbet: said, Talker: who.Name, Effort: e.String(), Distance: distance, Seed: seed, RateHz: voice.Rate,
		Seconds: float64(len(x)) / voice.Rate, File: path, ScalePa: 1,
		LevelDB: sim.Level(sim.Pascal(active).SPL()), PeakDB: sim.Level(sim.Pascal(peak).SPL()),
	}
	r.CrestDB = r.PeakDB - r.LevelDB
	if !pascal && peak > 0 {
		r.ScalePa = peak / sim.DB(talkPeakDBFS).Lin()
	}
	err = sounds.WriteFile(path, out.Force, func(f io.WriteSeeker) error {
		return writeMono(cmd.Context(), f, voice.Rate, enc, x, 1/r.ScalePa)
	})
	if err != nil {
		return err
	}
	w.Done()
	switch {
	case out.JSON:
		return cli.WriteJSON(cmd.OutOrStdout(), r)
	case out.Quiet:
		return nil
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s, %s effort, %g m: %s while speaking, peaks at %s.\nWritten to %s, %s; a sample of 1.0 is %.4g Pa.\n",
		who.Title, r.Effort, distance, picture.DB(float64(r.LevelDB), "dB SPL"), picture.DB(float64(r.PeakDB), "dB SPL"), sounds.Shown(path), picture.Clock(r.Seconds), r.ScalePa)
	return err
}

// activeRMS is the rms over the time in which x speaks.
func activeRMS(x []float64) (float64, error) {
	m := meter.NewActiveLevel(voice.Rate)
	m.Write(x)
	l := m.Level()
	if math.IsInf(l, 0) || math.IsNaN(l) {
		return 0, errors.New("nothing was said")
	}
	return math.Pow(10, l/20), nil
}
