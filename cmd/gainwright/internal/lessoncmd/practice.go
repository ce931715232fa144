package lessoncmd

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	lessonnames "gainwright/lessons/names"
	"gainwright/lessons/practice"
	lessontake "gainwright/lessons/take"
	"gainwright/sounds/equipment"
)

func newLessonPracticeCmd() *cobra.Command {
	var seed uint64
	var history, soundDir, recorder string
	cmd := &cobra.Command{
		Use:   "practice",
		Short: "Set the gain for one guest after another",
		Long: `Set the gain for one guest after another. Each sits down for a sound check of about
20 s; you set the gain; then the conversation happens, with its laugh, its whisper,
and somebody leaning in. The better you do, the harder the guests become. What you
did is kept in a history file of your own.

With --recorder all of them sit down at your own microphone and recorder, as measured,
and mark=4.5 sets its knob.`,
		Example: `  gainwright lesson practice
  gainwright lesson practice --recorder my-recorder.yaml
  gainwright lesson practice --seed 7 --history my.json`,
		Args: cli.Args(cobra.NoArgs, "takes no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !cmd.Flags().Changed("seed") {
				seed = rand.Uint64N(1_000_000)
			}
			if history == "" {
				dir, err := os.UserConfigDir()
				if err != nil {
					return cli.Usagef("there is no folder for settings here: name a file with --history")
				}
				history = filepath.Join(dir, "gainwright", "practice.json")
			}
			var h practice.History
			if b, err := os.ReadFile(history); err == nil {
				if err := json.Unmarshal(b, &h); err != nil {
					return cli.Usagef("%s: is not a practice history: %v", history, err)
				}
			} else if !os.IsNotExist(err) {
				return cli.Usagef("%s: cannot be read", history)
			}
			own, err := cli.LoadRecorder(recorder)
			if err != nil {
				return err
			}
			p, err := practice.New(seed, h, nil)
			if err == nil && own != nil {
				err = p.On(own)
			}
			if err != nil {
				return cli.Usagef("%v", err)
			}
			t := &terminal{in: bufio.NewScanner(cmd.InOrStdin()), out: cmd.OutOrStdout(), errs: cmd.ErrOrStderr(), o: &lessonRun{soundDir: soundDir}}
			err = t.practise(cmd, p, history)
			if errors.Is(err, errQuit) && cmd.Context().Err() == nil {
				return nil
			}
			return err
		},
	}
	addRecorder(cmd, &recorder, "practise on")
	cmd.Flags().Uint64Var(&seed, "seed", 0, "the row of guests (a random one)")
	cmd.Flags().StringVar(&history, "history", "", "keep the personal history in `FILE` (in the user's settings)")
	cmd.Flags().StringVar(&soundDir, "sounds", "", "`DIR` for what is to be listened to (practice-sounds)")
	return cmd
}

func (t *terminal) practise(cmd *cobra.Command, p *practice.Practice, path string) error {
	ctx := cmd.Context()
	if t.o.soundDir == "" {
		t.o.soundDir = cli.FreeDir("practice-sounds")
	}
	for {
		g := p.Guest()
		mic := "a moving-coil microphone"
		if g.Condenser {
			mic = "a small condenser"
		}
		hint := "(gain=DB or limiter=off/before/after, Enter listens to the sound check, \"go\" starts the conversation)"
		k := p.Bench().Knob()
		if p.Bench().Recorder != nil {
			mic = "your own recorder"
			if k != nil {
				hint = "(mark=" + equipment.MarkText(k.Near((k.Least()+k.Most())/2)) + " or so, or gain=DB, limiter=off/before/after, Enter listens to the sound check, \"go\" starts the conversation)"
			}
		}
		fmt.Fprintf(t.out, "--- Guest %d, level %d of %d ---\n\n%s %s.\n%s, %.2f m away, in a room of %.0f dBA.\n\n", g.Number, g.Level, practice.MaxLevel, g.Title, g.Says, cli.Capital(mic), g.DistanceM, g.RoomDBA)
		for {
			s, err := t.ask(ctx, hint)
			if err != nil {
				return err
			}
			if strings.EqualFold(s, "go") {
				break
			}
			if name, value, ok := strings.Cut(s, "="); ok {
				key := map[string]string{"gain": "preamp.gain_db", "limiter": "limiter_place"}[strings.TrimSpace(name)]
				var v any = strings.TrimSpace(value)
				if x, err := strconv.ParseFloat(strings.TrimSpace(value), 64); err == nil {
					v = x
				}
				if key == "" {
					key = strings.TrimSpace(name)
				}
				apply := p.Apply
				if x, number := v.(float64); key == "mark" && number {
					apply = func(string, any) error { return p.Mark(x) }
				}
				if err := apply(key, v); err != nil {
					fmt.Fprintln(t.out, "  "+err.Error())
					continue
				}
			} else if s != "" {
				fmt.Fprintln(t.out, "  what is that?")
				continue
			}
			m, err := p.Check(ctx)
			if err != nil {
				return err
			}
			at := ""
			if k != nil {
				at = ", mark " + cli.KnobText(k, p.Bench().Strips[0].Chain)
			}
			fmt.Fprintf(t.out, "  gain %s%s: talk peaks at %s, the highest peak at %s, noise at %s\n",
				lessonnames.Format(float64(m["gain_db"]), "dB"), at, lessonnames.Format(float64(m["talk_peak_dbfs"]), "dBFS"),
				lessonnames.Format(float64(m["peak_dbfs"]), "dBFS"), lessonnames.Format(float64(m["noise_floor_dbfs"]), "dBFS"))
		}
		o, err := p.Talk(ctx)
		if err != nil {
			return err
		}
		fmt.Fprintf(t.out, "\n  %s, %s of headroom\n", cli.Counted(int(o.Readings["overs"]), "over", "overs"), lessonnames.Format(float64(o.Readings["headroom_db"]), "dB"))
		for _, part := range o.Parts {
			fmt.Fprintf(t.out, "  %-30s %5.1f of %v\n", part.Name, part.Points, part.Of)
		}
		fmt.Fprintf(t.out, "  %-30s %5.1f of 100\n\n%s\n\n", "together", o.Score, cli.Wrap(o.Advice, terminalWidth))
		h := p.History()
		b, err := json.MarshalIndent(h, "", " ")
		if err != nil {
			return err
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := writeOut(nil, path, true, b); err != nil {
			return err
		}
		for {
			s, err := t.ask(ctx, "(\"hear\" writes the recording, Enter shows the next guest in, \"quit\" ends)")
			if err != nil {
				return err
			}
			if !strings.EqualFold(s, "hear") {
				break
			}
			w, err := p.Sound(ctx)
			if err != nil {
				return err
			}
			fmt.Fprintln(t.out, "  "+lessontake.EarCaution)
			w.Name = fmt.Sprintf("guest-%d", g.Number)
			if err := t.write([]*lessontake.Wave{w}); err != nil {
				return err
			}
		}
		if err := p.Next(); err != nil {
			return err
		}
	}
}
