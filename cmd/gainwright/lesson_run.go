package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	lessonnames "gainwright/lessons/names"
	lessonrun "gainwright/lessons/run"
	lessontake "gainwright/lessons/take"
	"gainwright/sounds"
)

type lessonRun struct {
	seed                          uint64
	seeded                        bool
	answers, out, key, keep, name string
	soundDir, statements          string
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
--key, a secret that a class shares. Either way a signature cannot show who sat at the
keyboard; grading runs the takes again.

Nothing is sent anywhere.`,
		Example: `  gainwright lesson run gain-and-headroom
  gainwright lesson run mine.yaml --seed 17 --out result.json
  gainwright lesson run mine.yaml --answers model.yaml --json
  gainwright lesson run whole-session --keep session.part    stop, and go on later`,
		Args: args(cobra.ExactArgs(1), "wants one lesson"),
		RunE: func(cmd *cobra.Command, a []string) error {
			o.seeded = cmd.Flags().Changed("seed")
			l, err := loadLesson(a[0])
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
	f.BoolVar(&o.allReadings, "all-readings", false, "show every reading of a take")
	f.BoolVar(&o.asJSON, "json", false, "print the result as one JSON object on the standard output, and nothing else")
	f.BoolVar(&o.force, "force", false, "replace files that are there")
	return cmd
}

func (o *lessonRun) run(cmd *cobra.Command, l *model.Lesson) error {
	key, err := readKey(o.key)
	if err != nil {
		return err
	}
	// What would fail at the end fails now.
	for _, path := range []string{o.out, o.statements} {
		if path != "" && !o.force && !isMissing(path) {
			return &sounds.ExistsError{Path: path}
		}
		if dir := filepath.Dir(path); path != "" && isMissing(dir) {
			return usagef("%s: there is no directory %s", path, dir)
		}
	}
	if o.asJSON && o.answers == "" {
		return usagef("lesson run: --json goes with --answers: a lesson played by hand talks to the terminal")
	}
	seed := o.seed
	if !o.seeded {
		if seed = 1; o.answers == "" {
			seed = rand.Uint64N(1_000_000)
		}
	}
	opt := lessonrun.Options{Seed: seed, Student: o.name}
	var r *lessonrun.Runner
	if o.keep != "" && !isMissing(o.keep) {
		saved, err := os.ReadFile(o.keep)
		if err != nil {
			return usagef("--keep %s: cannot be read", o.keep)
		}
		if r, err = lessonrun.Resume(l, saved, opt); err != nil {
			return usagef("--keep %s: %v", o.keep, err)
		}
	} else if r, err = lessonrun.NewRunner(l, opt); err != nil {
		return usagef("%v", err)
	}
	if o.answers != "" {
		data, err := os.ReadFile(o.answers)
		if err != nil {
			return usagef("--answers %s: cannot be read", o.answers)
		}
		a, err := format.ParseAnswers(o.answers, data, l)
		if err != nil {
			return err
		}
		w := newWatch(cmd.ErrOrStderr(), o.asJSON)
		w.begin("the lesson")
		var missed bytes.Buffer
		t := &terminal{out: &missed, r: r, o: o}
		err = lessonrun.Play(cmd.Context(), r, a, func(v lessonrun.View) {
			w.at(float64(v.Number) / float64(v.Of))
			if v.Missed() != "" {
				fmt.Fprintf(&missed, "\nStep %s is not met.\n", v.Step.ID)
				t.readings(v)
			}
		})
		w.done()
		if !o.asJSON && err == nil {
			if _, err := cmd.OutOrStdout().Write(missed.Bytes()); err != nil {
				return err
			}
		}
		if err != nil {
			if cmd.Context().Err() != nil {
				return err
			}
			return usagef("%s: %v", o.answers, err)
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

func freeFile(stem, ext string) string {
	if isMissing(stem + ext) {
		return stem + ext
	}
	for i := 2; ; i++ {
		if path := stem + "-" + strconv.Itoa(i) + ext; isMissing(path) {
			return path
		}
	}
}

// finish writes what is handed in and says how it went.
func (o *lessonRun) finish(out io.Writer, l *model.Lesson, r *lessonrun.Runner, key []byte) error {
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
	if o.statements != "" {
		lines, err := grade.StatementsFile(grade.Statements(res, l))
		if err != nil {
			return err
		}
		if err := writeOut(out, o.statements, o.force, lines); err != nil {
			return err
		}
	}
	if o.keep != "" && !isMissing(o.keep) {
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
	out.Write(b.Bytes())
}

// terminal plays a lesson with a person at the keyboard.
type terminal struct {
	in   *bufio.Scanner
	out  io.Writer
	errs io.Writer
	r    *lessonrun.Runner
	o    *lessonRun
}

const terminalWidth = 78

func (t *terminal) say(markdown string) {
	fmt.Fprintf(t.out, "%s\n\n", markup.Plain(markdown, terminalWidth))
}

var errQuit = errors.New("stopped")

// ask reads a line; the end of the input and "quit" stop the lesson.
func (t *terminal) ask(ctx context.Context, prompt string) (string, error) {
	fmt.Fprint(t.out, prompt+" ")
	line := make(chan string, 1)
	go func() {
		if t.in.Scan() {
			line <- t.in.Text()
		}
		close(line)
	}()
	select {
	case s, ok := <-line:
		s = strings.TrimSpace(s)
		if !ok || strings.EqualFold(s, "quit") {
			fmt.Fprintln(t.out)
			return "", errQuit
		}
		return s, nil
	case <-ctx.Done():
		fmt.Fprintln(t.out)
		return "", errQuit
	}
}

func (t *terminal) play(ctx context.Context) error {
	l := t.r.Lesson()
	fmt.Fprintf(t.out, "%s\n%s\n", strings.ToUpper(l.Title), strings.Repeat("=", runes(l.Title)))
	fmt.Fprintf(t.out, "About %v minutes, %v points. Seed %d. \"quit\" stops.\n\n", l.Minutes, l.Of(), t.r.Progress().Seed)
	if l.About != "" {
		t.say(l.About)
	}
	for t.r.State() != lessonrun.Finished {
		v := t.r.View()
		fmt.Fprintf(t.out, "--- %d of %d: %s ---\n\n", v.Number, v.Of, model.KindTitle(v.Step.Kind))
		t.say(v.Text)
		err := t.step(ctx, v)
		if saveErr := t.save(); saveErr != nil {
			return saveErr
		}
		if errors.Is(err, errQuit) {
			if t.o.keep != "" {
				return fmt.Errorf("stopped at step %d of %d; go on with --keep %s", v.Number, v.Of, t.o.keep)
			}
			return fmt.Errorf("stopped at step %d of %d; with --keep FILE it could be gone on with", v.Number, v.Of)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (t *terminal) save() error {
	if t.o.keep == "" {
		return nil
	}
	b, err := t.r.Save()
	if err != nil {
		return err
	}
	return writeOut(nil, t.o.keep, true, b)
}

func (t *terminal) step(ctx context.Context, v lessonrun.View) error {
	switch t.r.State() {
	case lessonrun.Answering:
		if err := t.question(ctx, v); err != nil {
			return err
		}
	case lessonrun.Recording:
		return t.record(ctx, v)
	case lessonrun.Listening:
		if err := t.listen(ctx, v); err != nil {
			return err
		}
	}
	for _, p := range v.Predictions {
		fmt.Fprintf(t.out, "  %s\n    you said: %s\n", p.Asked, p.Answer)
		if p.Truth != "" {
			fmt.Fprintf(t.out, "    it came:  %s\n", p.Truth)
		}
		fmt.Fprintln(t.out)
	}
	if _, err := t.ask(ctx, "(Enter goes on)"); err != nil {
		return err
	}
	fmt.Fprintln(t.out)
	return t.r.Next()
}

func (t *terminal) question(ctx context.Context, v lessonrun.View) error {
	for i, c := range v.Choices {
		fmt.Fprintf(t.out, "  %s) %s\n", model.Letter(i), c)
	}
	prompt := "Your answer:"
	if q := v.Step.Question; q != nil && q.Number != nil && q.Number.Unit != "" {
		prompt = "Your answer in " + q.Number.Unit + ":"
	}
	if v.Step.Kind == model.Predict {
		prompt = "Your prediction (it stands):"
	}
	for t.r.State() == lessonrun.Answering {
		s, err := t.ask(ctx, prompt)
		if err != nil {
			return err
		}
		reply, err := t.r.Answer(s)
		var not *model.AnswerError
		switch {
		case errors.As(err, &not):
			fmt.Fprintln(t.out, "  "+not.Msg)
			continue
		case err != nil:
			return err
		}
		fmt.Fprintln(t.out)
		if sp := t.r.Progress().Steps[v.Number-1]; sp.Verdict == lessonrun.Right && v.Step.Kind == model.Ask {
			fmt.Fprintf(t.out, "Right.\n\n")
		}
		if reply != "" {
			t.say(reply)
		}
	}
	return nil
}

// record lets the student set, record and look, until the task is met.
func (t *terminal) record(ctx context.Context, v lessonrun.View) error {
	if len(v.Controls) > 0 {
		fmt.Fprintln(t.out, "Set with NAME=VALUE, as in "+shortName(v.Controls[0], v.Controls)+"=…:")
		for _, c := range v.Controls {
			span := strings.Join(c.Choices, ", ")
			if c.Choices == nil && !c.Switch {
				span = fmt.Sprintf("%v to %v %s", c.Min, c.Max, c.Unit)
			} else if c.Switch {
				span = "true, false"
			}
			fmt.Fprintf(t.out, "  %-24s %s\n", shortName(c, v.Controls), span+"; now "+t.r.Setting(c.Key))
		}
	}
	for {
		prompt := "Enter records"
		switch {
		case v.TakesLeft == 0:
			prompt = ""
		case v.TakesLeft > 0:
			prompt += fmt.Sprintf(" (%d left)", v.TakesLeft)
		}
		options := []string{}
		if prompt != "" {
			options = append(options, prompt)
		}
		if v.Take != nil {
			options = append(options, "\"hear\" writes the sound")
			if !t.o.allReadings {
				options = append(options, "\"all\" shows all readings")
			}
		}
		if v.Blocked == "" {
			options = append(options, "\"next\" goes on")
		} else if v.Step.Kind == model.Do {
			options = append(options, "\"give up\"")
		}
		s, err := t.ask(ctx, "("+strings.Join(options, ", ")+")")
		if err != nil {
			return err
		}
		switch low := strings.ToLower(s); {
		case low == "" && v.TakesLeft == 0, low == "next":
			if err := t.r.Next(); err != nil {
				fmt.Fprintln(t.out, "  not yet: "+err.Error())
				continue
			}
			t.resolved()
			return nil
		case low == "give up":
			if err := t.r.GiveUp(); err != nil {
				fmt.Fprintln(t.out, "  "+err.Error())
				continue
			}
			t.resolved()
			return nil
		case low == "all" && v.Take != nil:
			t.table(v, lessonnames.Readings())
		case low == "hear":
			waves, err := t.r.TakeSounds(ctx)
			if err != nil {
				fmt.Fprintln(t.out, "  "+err.Error())
				continue
			}
			if err := t.write(waves); err != nil {
				return err
			}
		case low == "" || low == "record":
			w := newWatch(t.errs, false)
			w.begin("recording")
			err := t.r.Record(ctx, w.at)
			w.done()
			if ctx.Err() != nil {
				return errQuit
			}
			if err != nil {
				fmt.Fprintln(t.out, "  "+err.Error())
				continue
			}
			v = t.r.View()
			t.readings(v)
		case strings.Contains(s, "="):
			name, value, _ := strings.Cut(s, "=")
			t.set(strings.TrimSpace(name), strings.TrimSpace(value), v.Controls)
		case len(v.Controls) == 1 && beginsNumber(s):
			t.set(v.Controls[0].Key, s, v.Controls)
		default:
			fmt.Fprintf(t.out, "  %q is not understood: %s\n", s, strings.Join(options, ", "))
		}
	}
}

// shortName is the last part of a control's key that tells it from the others.
func shortName(c model.Control, all []model.Control) string {
	parts := strings.Split(c.Key, ".")
	for i := len(parts) - 1; i > 0; i-- {
		tail := strings.Join(parts[i:], ".")
		n := 0
		for _, o := range all {
			if o.Key == tail || strings.HasSuffix(o.Key, "."+tail) {
				n++
			}
		}
		if n == 1 {
			return tail
		}
	}
	return c.Key
}

// set changes a setting and says how it stands now.
func (t *terminal) set(name, value string, all []model.Control) {
	key := name
	for _, c := range all {
		if shortName(c, all) == name {
			key = c.Key
		}
	}
	var v any = value
	if x, err := strconv.ParseFloat(decimal(value), 64); err == nil && !math.IsNaN(x) {
		v = x
	} else if b, err := strconv.ParseBool(value); err == nil {
		v = b
	}
	if err := t.r.Apply(key, v); err != nil {
		fmt.Fprintln(t.out, "  "+err.Error())
		return
	}
	fmt.Fprintf(t.out, "  %s is %s\n", name, t.r.Setting(key))
}

// decimal takes the signs and commas that people write.
func decimal(s string) string { return strings.NewReplacer("−", "-", ",", ".").Replace(s) }

// beginsNumber tells "40", "-3,5" and "40 dB" from a command.
func beginsNumber(s string) bool {
	return strings.ContainsRune("0123456789.+-", []rune(decimal(s) + " ")[0])
}

// resolved tells what came of the predictions that the take just left has decided.
func (t *terminal) resolved() {
	fmt.Fprintln(t.out)
	for _, p := range t.r.Resolved() {
		what := "Right."
		if p.Verdict != lessonrun.Right {
			what = "It came: " + p.Truth
		}
		fmt.Fprintf(t.out, "  You predicted: %s. %s\n\n", strings.TrimRight(p.Answer, ".!?"), what)
	}
}

// readings shows a take: what matters to the step, and how it stands to the rule.
func (t *terminal) readings(v lessonrun.View) {
	list := t.r.Few()
	if t.o.allReadings {
		list = lessonnames.Readings()
	}
	t.table(v, list)
	for _, c := range v.Checks {
		mark := "no "
		if c.OK {
			mark = "yes"
		}
		fmt.Fprintf(t.out, "  %s  %s: %s\n", mark, c.Text, c.Got)
	}
	if v.Met {
		fmt.Fprintln(t.out, "  The task is met.")
	}
	if len(v.Checks) > 0 {
		fmt.Fprintln(t.out)
	}
	for _, f := range v.Feedback {
		t.say(f)
	}
}

// table shows readings of a take, strip beside strip.
func (t *terminal) table(v lessonrun.View, list []lessonnames.Name) {
	names := []string{}
	for _, s := range t.r.Lesson().Strips() {
		if v.Take[s] != nil {
			names = append(names, s)
		}
	}
	fmt.Fprintf(t.out, "\n  %-28s", "")
	for _, n := range names {
		fmt.Fprint(t.out, left(n, 14))
	}
	fmt.Fprintln(t.out)
	for _, r := range list {
		fmt.Fprintf(t.out, "  %-28s", r.Key)
		for _, n := range names {
			fmt.Fprint(t.out, left(lessonnames.Format(float64(v.Take[n][r.Key]), r.Unit), 14))
		}
		fmt.Fprintln(t.out)
	}
	fmt.Fprintln(t.out)
}

// listen writes the files to compare and asks for the blind trials.
func (t *terminal) listen(ctx context.Context, v lessonrun.View) error {
	for _, c := range v.Cautions {
		t.say("**Mind your ears.** " + c)
	}
	waves, err := t.r.Sounds(ctx)
	if err != nil {
		return err
	}
	if err := t.write(waves); err != nil {
		return err
	}
	for {
		name, ok := t.r.Trial()
		if !ok {
			return nil
		}
		trial := len(t.r.Progress().Steps[v.Number-1].Answers) + 1
		for _, w := range waves {
			if w.Name == name {
				x := *w
				x.Name = fmt.Sprintf("trial-%d", trial)
				if err := t.write([]*lessontake.Wave{&x}); err != nil {
					return err
				}
			}
		}
		if err := t.trial(ctx, fmt.Sprintf("Trial %d of %d is (%s):", trial, v.Step.Trials, strings.Join(v.Step.Strips, " or "))); err != nil {
			return err
		}
	}
}

// trial asks until the answer is understood.
func (t *terminal) trial(ctx context.Context, prompt string) error {
	for {
		s, err := t.ask(ctx, prompt)
		if err != nil {
			return err
		}
		reply, err := t.r.Answer(s)
		if err != nil {
			fmt.Fprintln(t.out, "  "+err.Error())
			continue
		}
		if reply != "" {
			fmt.Fprintln(t.out)
			t.say(reply)
		}
		return nil
	}
}

// write puts waves into the folder of sounds, at the gains they are compared at.
func (t *terminal) write(waves []*lessontake.Wave) error {
	if t.o.soundDir == "" {
		t.o.soundDir = freeDir(t.r.Lesson().ID + "-sounds")
	}
	if err := os.MkdirAll(t.o.soundDir, 0o755); err != nil {
		return &sounds.OutputError{Path: t.o.soundDir, Msg: "cannot be made", Err: err}
	}
	for _, w := range waves {
		gain := math.Pow(10, w.GainDB/20)
		x := make([]float64, len(w.File))
		for i, s := range w.File {
			x[i] = float64(s) * gain
		}
		path := filepath.Join(t.o.soundDir, w.Name+".wav")
		err := sounds.WriteFile(path, true, func(f io.WriteSeeker) error {
			_, err := sounds.WriteWAV(f, w.Rate, [][]float64{x}, sounds.PCM24)
			return err
		})
		if err != nil {
			return err
		}
		note := ""
		if w.Caution != "" && !strings.HasPrefix(w.Name, "trial") {
			note = "   (clipped: turn the volume down first)"
		}
		fmt.Fprintf(t.out, "  written: %s%s\n", sounds.Shown(path), note)
	}
	fmt.Fprintln(t.out)
	return nil
}
