package lessoncmd

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/format"
	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	lessonrun "gainwright/lessons/run"
	"gainwright/lessons/xapi"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario/plain"
)

type lessonRun struct {
	seed                          uint64
	seeded                        bool
	answers, out, key, keep, name string
	soundDir, statements, home    string
	voice                         string
	recorder                      string
	pair                          ownPair
	own                           *equipment.Recorder // told from the pair
	told                          string              // what is said of the pair at the end
	asJSON, force, allReadings    bool
}

func newLessonRunCmd() *cobra.Command {
	var o lessonRun
	cmd := &cobra.Command{
		Use:   "run LESSON",
		Short: "Play a lesson in the terminal",
		Long: `Play a lesson in the terminal: read, answer, set, record, listen (the files are
written to a folder, to be played with any player), and get a result file.

After a take the readings that matter to the step are shown; "all" shows every one.

With --answers nobody is asked: the answers come from a file. What is missed is told
with its readings, and the exit status is then 1 if the lesson is not passed. (One
seed is one student: gainwright lesson rehearse tries the answers on all.)

A result is signed: with a plain hash, which shows a change made by accident, or with
--key, a secret that a class shares, or the student's own (gainwright lesson key), which
signs for one name and seed. Either way a signature cannot show who sat at the keyboard;
grading runs the takes again.

With --recorder the lesson is taken on your own recorder: what was measured of it fills
in what the lesson's bench does not say. That is a lesson of its own, and its results are
graded with the same equipment file.

With --off and --on, two recordings of one loud sound, the recorder is known by its limiter
alone: a lesson that leaves the limiter of a strip open ("where-does-your-limiter-sit")
then has yours there. What the pair told is said at the end, and written as an equipment
file beside the result, to be graded with.

With --voice a voice of your own, saved by the scene “Your voice”, gives the takes of a lesson
that allows it. The result says so, and is graded with the same file.

Nothing is sent anywhere.`,
		Example: `  gainwright lesson run gain-and-headroom
  gainwright lesson run mine.yaml --seed 17 --out result.json
  gainwright lesson run mine.yaml --answers model.yaml --json
  gainwright lesson run gain-and-headroom --recorder my-recorder.yaml
  gainwright lesson run where-does-your-limiter-sit --off off.wav --on on.wav
  gainwright lesson run mine.yaml --voice voice-me.wav
  gainwright lesson run whole-session --keep session.part    stop, and go on later`,
		Args: cli.Args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			o.seeded = cmd.Flags().Changed("seed")
			l, err := o.lesson(cmd, a[0])
			if err != nil {
				return err
			}
			return o.run(cmd, l)
		},
	}
	f := cmd.Flags()
	f.Uint64Var(&o.seed, "seed", 0, "draws the values of this run (a random one; with --answers, 1)")
	f.StringVar(&o.answers, "answers", "", "take the answers from `FILE` and ask nothing")
	f.StringVar(&o.out, "out", "", "write the result to `FILE` (LESSON-result.json; with --answers, none)")
	f.StringVar(&o.name, "name", "", "a `NAME` for the result (a random one)")
	f.StringVar(&o.key, "key", "", "sign the result with the secret in `FILE`")
	f.StringVar(&o.keep, "keep", "", "keep the progress in `FILE`, and go on from it")
	f.StringVar(&o.soundDir, "sounds", "", "`DIR` for what is to be listened to (LESSON-sounds)")
	f.StringVar(&o.statements, "statements", "", "also write the result as xAPI statements to `FILE`")
	f.StringVar(&o.home, "home-page", "", "an `IRI` of yours that names accounts and lessons in the statements")
	addRecorder(cmd, &o.recorder, "take it on")
	addVoice(cmd, &o.voice, "take it with")
	f.StringVar(&o.pair.off, "off", "", "a pair of your own: the recording `FILE` with the limiter off")
	f.StringVar(&o.pair.on, "on", "", "the same sound with the limiter on: `FILE`")
	f.BoolVar(&o.allReadings, "all-readings", false, "show every reading of a take")
	f.BoolVar(&o.asJSON, "json", false, "print the result as one JSON object on the standard output, and nothing else")
	f.BoolVar(&o.force, "force", false, "replace files that are there")
	return cmd
}

// lesson reads the lesson, on the recorder that the flags tell of.
func (o *lessonRun) lesson(cmd *cobra.Command, name string) (*model.Lesson, error) {
	if !o.pair.given() {
		return loadLessonOn(o.recorder, name)
	}
	if o.recorder != "" {
		return nil, cli.Usagef("--recorder and a pair (--off, --on) both tell of the recorder: either of them")
	}
	if _, err := loadLesson(name); err != nil { // before the work
		return nil, err
	}
	w := cli.NewWatch(cmd.ErrOrStderr(), o.asJSON)
	r, lim, err := o.pair.learn(cmd.Context(), w)
	w.Done()
	if err != nil {
		return nil, err
	}
	o.own, o.told = r, tellPair(&o.pair, lim)
	return lessonWith(r, name)
}

// writeOwn writes the recorder that the pair told of beside the result.
func (o *lessonRun) writeOwn(out io.Writer) error {
	path := o.ownOut()
	if path == "" {
		return nil
	}
	data, err := o.own.Write()
	if err != nil {
		return err
	}
	o.told += "Its equipment file is " + sounds.Shown(path) + ": lesson grade wants it as --recorder.\n"
	return writeOut(out, path, o.force, data)
}

// ownOut is where it is written; "" if it is not.
func (o *lessonRun) ownOut() string {
	if o.own == nil || o.out == "" {
		return ""
	}
	return strings.TrimSuffix(o.out, filepath.Ext(o.out)) + "-recorder.yaml"
}

func (o *lessonRun) run(cmd *cobra.Command, l *model.Lesson) error {
	key, err := o.readKey()
	if err != nil {
		return err
	}
	if o.home, err = readHome(o.home); err != nil {
		return err
	}
	// What would fail at the end fails now.
	for _, path := range []string{o.out, o.statements, o.ownOut()} {
		if path != "" && !o.force && !cli.IsMissing(path) {
			return &sounds.ExistsError{Path: path}
		}
		if dir := filepath.Dir(path); path != "" && cli.IsMissing(dir) {
			return cli.Usagef("%s: there is no directory %s", path, dir)
		}
	}
	if o.asJSON && o.answers == "" {
		return cli.Usagef("lesson run: --json goes with --answers: a lesson played by hand talks to the terminal")
	}
	seed := o.seed
	if !o.seeded {
		if seed = 1; o.answers == "" {
			seed = rand.Uint64N(1_000_000)
		}
	}
	opt := lessonrun.Options{Seed: seed, Student: o.name}
	var r *lessonrun.Runner
	if o.keep != "" && !cli.IsMissing(o.keep) {
		saved, err := os.ReadFile(o.keep)
		if err != nil {
			return cli.Usagef("--keep %s: cannot be read", o.keep)
		}
		if r, err = lessonrun.Resume(l, saved, opt); err != nil {
			return cli.Usagef("--keep %s: %v", o.keep, err)
		}
	} else if r, err = lessonrun.NewRunner(l, opt); err != nil {
		return cli.Usagef("%v", err)
	}
	if err := o.lend(cmd.Context(), r); err != nil {
		return err
	}
	if o.answers != "" {
		data, err := os.ReadFile(o.answers)
		if err != nil {
			return cli.Usagef("--answers %s: cannot be read", o.answers)
		}
		a, err := format.ParseAnswers(o.answers, data, l)
		if err != nil {
			return err
		}
		w := cli.NewWatch(cmd.ErrOrStderr(), o.asJSON)
		w.Begin("the lesson")
		var missed bytes.Buffer
		t := &terminal{out: &missed, r: r, o: o}
		err = lessonrun.Play(cmd.Context(), r, a, func(v lessonrun.View) {
			w.At(float64(v.Number) / float64(v.Of))
			if v.Missed() != "" {
				fmt.Fprintf(&missed, "\nStep %s is not met.\n", v.Step.ID)
				t.readings(v)
			}
		})
		w.Done()
		if !o.asJSON && err == nil {
			if _, err := cmd.OutOrStdout().Write(missed.Bytes()); err != nil {
				return err
			}
		}
		if err != nil {
			if cmd.Context().Err() != nil {
				return err
			}
			return cli.Usagef("%s: %v", o.answers, err)
		}
	} else {
		t := &terminal{in: bufio.NewScanner(cmd.InOrStdin()), out: cmd.OutOrStdout(), errs: cmd.ErrOrStderr(), r: r, o: o}
		if err := t.play(cmd.Context()); err != nil {
			return err
		}
		if o.out == "" {
			o.out = freeFile(l.ID+"-result", ".json")
		}
	}
	return o.finish(cmd.OutOrStdout(), l, r, key)
}

// lend has the voice of the user's own give the takes, if one is named.
func (o *lessonRun) lend(ctx context.Context, r *lessonrun.Runner) error {
	if o.voice == "" {
		if name := r.Lacks(); name != "" {
			return cli.Usagef("--keep %s: it was begun with the voice %s: name its file with --voice", o.keep, plain.Quote(name))
		}
		return nil
	}
	g, err := readVoice(ctx, o.voice)
	if err != nil {
		return err
	}
	if err := r.Lend(g); err != nil {
		return cli.Usagef("--voice %s: %v", sounds.Shown(o.voice), err)
	}
	return nil
}

// readKey reads the key to sign with; a student's wants the name and seed that it is for.
func (o *lessonRun) readKey() (*keys.Key, error) {
	k, err := readKey("--key", o.key)
	resumed := o.keep != "" && !cli.IsMissing(o.keep)
	if err == nil && k.Method() == keys.Student && !resumed && (o.name == "" || !o.seeded) {
		return nil, cli.Usagef("--key %s: a student's key signs for one name and seed: say both, with --name and --seed", o.key)
	}
	return k, err
}

// finish writes what is handed in and says how it went.
func (o *lessonRun) finish(out io.Writer, l *model.Lesson, r *lessonrun.Runner, key *keys.Key) error {
	res, err := r.Result(key)
	if err != nil {
		return err
	}
	data, err := res.Marshal()
	if err != nil {
		return err
	}
	if o.out != "" {
		if err := writeOut(out, o.out, o.force, data); err != nil {
			return err
		}
	}
	if err := o.writeOwn(out); err != nil {
		return err
	}
	if o.statements != "" {
		lines, err := xapi.File(xapi.StatementsAt(o.home, res, l))
		if err != nil {
			return err
		}
		if err := writeOut(out, o.statements, o.force, lines); err != nil {
			return err
		}
	}
	if o.keep != "" && !cli.IsMissing(o.keep) {
		if err := os.Remove(o.keep); err != nil {
			return err
		}
	}
	if o.asJSON {
		if _, err := out.Write(data); err != nil {
			return err
		}
	} else {
		printResult(out, l, res, o.out)
		if o.told != "" {
			fmt.Fprint(out, "\n"+o.told)
		}
	}
	if !res.Passed && o.answers != "" {
		return fmt.Errorf("%s: not passed: %s", l.ID, res.Why(l))
	}
	return nil
}

func printResult(out io.Writer, l *model.Lesson, res *lessonrun.Result, path string) {
	var b bytes.Buffer
	fmt.Fprintln(&b)
	for i, sp := range res.Steps {
		s := l.Steps[i]
		what := map[lessonrun.Verdict]string{lessonrun.Right: "right", lessonrun.Wrong: "not right", lessonrun.Skipped: "given up"}[sp.Verdict]
		if sp.Kind == model.Do && sp.Verdict == lessonrun.Right {
			what = "met"
		} else if sp.Kind == model.Do && sp.Verdict == lessonrun.Wrong {
			what = "not met"
		}
		if s.Trials > 0 {
			what = fmt.Sprintf("%d of %d trials right", sp.Hits, s.Trials)
		}
		if what == "" {
			continue
		}
		points := ""
		if s.Points > 0 {
			points = fmt.Sprintf("%v of %v", sp.Points, s.Points)
		}
		line := fmt.Sprintf("%3d. %-26s %-10s %s", i+1, model.KindTitle(sp.Kind), what, points)
		fmt.Fprintln(&b, strings.TrimRight(line, " "))
		if why := sp.Missed(s); why != "" {
			fmt.Fprintf(&b, "     %s: %s\n", s.ID, why)
		}
	}
	verdict := "passed"
	if !res.Passed {
		verdict = "not passed: " + res.Why(l)
	}
	fmt.Fprintf(&b, "\n%s: %v of %v points, %s. Seed %d.\n", l.Title, res.Points, res.Of, verdict, res.Seed)
	if path != "" {
		fmt.Fprintf(&b, "The result is in %s.\n", sounds.Shown(path))
	}
	if v := res.Voice; v != nil {
		fmt.Fprintf(&b, "It was taken with the voice %s: hand its file in, too, or the result cannot be verified.\n", plain.Quote(v.Name))
	}
	out.Write(b.Bytes())
}
