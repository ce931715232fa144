package lessoncmd

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	lessonrun "gainwright/lessons/run"
	"gainwright/sounds"
)

// lessonFiles reads the lessons that results may belong to: the built-in ones and
// the files given.
func lessonFiles(paths []string) ([]*model.Lesson, error) {
	all := builtin.All()
	var errs []error
	for _, p := range paths {
		l, err := format.Load(p)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		all = append(all, l)
	}
	return all, errors.Join(errs...)
}

// lessonFilesOn is lessonFiles and, if a recorder is named, all of them on it, too.
func lessonFilesOn(recorder string, paths []string) ([]*model.Lesson, error) {
	all, err := lessonFiles(paths)
	if err != nil || recorder == "" {
		return all, err
	}
	var on []*model.Lesson
	for _, n := range append(builtin.Names(), paths...) {
		l, err := loadLessonOn(recorder, n)
		if err != nil {
			return nil, err
		}
		on = append(on, l)
	}
	return append(on, all...), nil // known by their names are those without
}

// resultFiles lists the files named, and those of the folders named.
func resultFiles(a []string) ([]string, error) {
	var out []string
	for _, p := range a {
		st, err := os.Stat(p)
		if err != nil {
			return nil, &sounds.InputError{Path: p, Msg: "no such file or folder", Err: err}
		}
		if !st.IsDir() {
			out = append(out, p)
			continue
		}
		list, err := filepath.Glob(filepath.Join(p, "*.json"))
		if err != nil {
			return nil, err
		}
		if len(list) == 0 {
			return nil, &sounds.InputError{Path: p, Msg: "holds no result files (*.json)"}
		}
		out = append(out, list...)
	}
	return out, nil
}

// grading is what the command grade was asked to do.
type grading struct {
	lessons, voices                   []string
	key, out, roster, page, recorder  string
	asJSON, asCSV, steps, force, hush bool
}

func newLessonGradeCmd() *cobra.Command {
	var o grading
	cmd := &cobra.Command{
		Use:   "grade RESULT...",
		Short: "Verify results and tabulate them, student by student and step by step",
		Long: `Verify results and tabulate them. RESULT is a result file, or a folder of them.

Grading looks at the signature, draws the seed's values again, runs every take
again and grades every answer again. What does not fit is flagged, and the points
in the table are those found here, not those the file claims. Notes are worth a
look but prove nothing: clocks can be set, two people can have one idea, and two
results of one seed had the same guest.

With --steps the table is of the lesson's steps: how many gave which answer, how
predictions spread and where the right one lies, which hints were told, what was
written, what was heard blind. --report makes a page of both, to show and to print;
--json has both. With --roster, names and seeds are held against a list (CSV, with
the columns name and, if you like, seed), and it is told who is missing; "gainwright
lesson links" hands the same list's seeds out.

A lesson may allow students to take it with a voice of their own (own_voice: allowed). Such a
result says whose, and to run its takes again the voice's file is needed: hand it in with --voice,
the WAV that the scene “Your voice” saves. It is known by what is heard in it, not by its name.
Without it the result is flagged, since it cannot be verified.

--key is the secret that a class shares. It also verifies what students have signed with
keys of their own, derived from it (gainwright lesson key --help): such a result is bound
to its name and seed, and with --roster it is told whose key signed one that is not.

The exit status is 1 if any result is flagged or could not be read; in --csv a flagged one has
not passed.`,
		Example: `  gainwright lesson grade results/
  gainwright lesson grade results/ --steps
  gainwright lesson grade results/ --roster names.csv --report class.html
  gainwright lesson grade results/ --lesson mine.yaml --csv --out marks.csv
  gainwright lesson grade results/ --recorder my-recorder.yaml
  gainwright lesson grade anna.json --lesson mine.yaml --voice voice-anna.wav
  gainwright lesson grade anna.json bert.json --json --key class.key`,
		Args: cli.Args(cobra.MinimumNArgs(1), "wants one or more result files"),
		RunE: func(cmd *cobra.Command, a []string) error { return o.run(cmd, a) },
	}
	f := cmd.Flags()
	addRecorder(cmd, &o.recorder, "also take results of lessons on")
	f.StringArrayVar(&o.lessons, "lesson", nil, "a lesson `FILE` that results belong to, beside the built-in ones (repeatable)")
	f.StringArrayVar(&o.voices, "voice", nil, "a student's own voice in `FILE.wav`, that results were taken with (repeatable)")
	f.StringVar(&o.key, "key", "", "the class's secret in `FILE`, that the results are signed with or students' keys derived from")
	f.StringVar(&o.roster, "roster", "", "the names, and seeds, in `FILE` are those expected")
	f.BoolVar(&o.steps, "steps", false, "tabulate the lesson's steps instead of the students")
	f.StringVar(&o.page, "report", "", "also write both as one HTML page to `FILE`")
	f.StringVar(&o.out, "out", "", "write the table to `FILE`")
	f.BoolVar(&o.asJSON, "json", false, "print one JSON object")
	f.BoolVar(&o.asCSV, "csv", false, "print comma-separated values")
	f.BoolVar(&o.force, "force", false, "replace a file that is there")
	f.BoolVar(&o.hush, "quiet", false, "show no progress")
	return cmd
}

// readRoster reads the roster given, if one is.
func readRoster(path string) (*grade.Roster, error) {
	if path == "" {
		return nil, nil
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, cli.Usagef("--roster %s: cannot be read", path)
	}
	r, err := grade.ReadRoster(b)
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: err.Error(), Err: err}
	}
	return r, nil
}

func (o *grading) run(cmd *cobra.Command, a []string) error {
	if o.asJSON && o.asCSV {
		return cli.Usagef("lesson grade: --json or --csv, not both")
	}
	if o.out != "" && filepath.Clean(o.out) == filepath.Clean(o.page) {
		return cli.Usagef("lesson grade: --out and --report are two files, and both are %s", o.out)
	}
	for _, path := range []string{o.out, o.page} {
		if path != "" && !o.force && !cli.IsMissing(path) {
			return &sounds.ExistsError{Path: path}
		}
	}
	ls, err := lessonFilesOn(o.recorder, o.lessons)
	if err != nil {
		return err
	}
	k, err := readKey("--key", o.key)
	if err != nil {
		return err
	}
	voices, err := readVoices(cmd.Context(), o.voices)
	if err != nil {
		return err
	}
	roster, err := readRoster(o.roster)
	if err != nil {
		return err
	}
	paths, err := resultFiles(a)
	if err != nil {
		return err
	}
	good, results, unread := loadResults(paths)
	g := grade.NewGrader(ls...)
	g.Key, g.Voices = k, voices
	w := cli.NewWatch(cmd.ErrOrStderr(), o.hush)
	w.Begin("grading")
	grades, err := g.GradeAll(cmd.Context(), good, results, func(done, of int) { w.At(float64(done) / float64(of)) })
	w.Done()
	if err != nil {
		return err
	}
	if len(grades) == 0 && !o.asJSON { // nothing to tabulate
		return errors.New(errors.Join(unread...).Error())
	}
	var missing []grade.Absence
	if roster != nil {
		missing = roster.Check(grades, k)
	}
	if err := o.write(cmd, grades, missing); err != nil {
		return err
	}
	flagged := 0
	for _, g := range grades {
		if !g.OK() {
			flagged++
		}
	}
	if o.steps { // a table of steps has no place for what is wrong with a result
		for _, g := range grades {
			for _, f := range g.Flags {
				unread = append(unread, fmt.Errorf("%s: %s", sounds.Shown(g.Path), cut(f.String(), 300)))
			}
		}
	}
	for _, u := range g.Unused(grades) {
		unread = append(unread, errors.New(u))
	}
	if flagged > 0 {
		unread = append(unread, fmt.Errorf("%s of %d flagged", cli.Counted(flagged, "result", "results"), len(grades)))
	}
	if len(unread) > 0 {
		// A failure of what was handed in, not of how the command was used.
		return errors.New(errors.Join(unread...).Error())
	}
	return nil
}

// loadResults reads the files that are results, and why the others are none.
func loadResults(paths []string) (good []string, results []*lessonrun.Result, unread []error) {
	for _, p := range paths {
		r, err := lessonrun.LoadResult(p)
		if err != nil {
			unread = append(unread, err)
			continue
		}
		good, results = append(good, p), append(results, r)
	}
	return good, results, unread
}

// write writes the table, and the page if one is wanted.
func (o *grading) write(cmd *cobra.Command, grades []*grade.Grade, missing []grade.Absence) error {
	var table []byte
	var err error
	switch {
	case o.steps && o.asCSV:
		table, err = stepCSV(grade.Reports(grades))
	case o.steps && !o.asJSON:
		table = stepTable(grade.Reports(grades))
	default:
		table, err = gradeTable(grades, missing, o.asJSON, o.asCSV)
	}
	if err != nil {
		return err
	}
	if err := writeOut(cmd.OutOrStdout(), o.out, o.force, table); err != nil || o.page == "" {
		return err
	}
	page, err := classReport(grades, missing)
	if err != nil {
		return err
	}
	return writeOut(nil, o.page, o.force, page)
}

func gradeTable(grades []*grade.Grade, missing []grade.Absence, asJSON, asCSV bool) ([]byte, error) {
	var b bytes.Buffer
	switch {
	case asJSON:
		for _, g := range grades {
			if g.Flags == nil {
				g.Flags = []grade.Flag{}
			}
		}
		err := cli.WriteJSON(&b, struct {
			Results []*grade.Grade  `json:"results"`
			Lessons []*grade.Report `json:"lessons"`
			Roster  []grade.Absence `json:"roster,omitempty"`
		}{append([]*grade.Grade{}, grades...), append([]*grade.Report{}, grade.Reports(grades)...), missing})
		return b.Bytes(), err
	case asCSV:
		w := csv.NewWriter(&b)
		w.Write([]string{"file", "student", "lesson", "seed", "points", "of", "passed", "failed_at", "minutes", "flags", "notes"})
		for _, g := range grades {
			w.Write([]string{plainCell(g.Path), plainCell(g.Student), plainCell(g.Lesson), strconv.FormatUint(g.Seed, 10),
				fmt.Sprint(g.Points), fmt.Sprint(g.Of), strconv.FormatBool(g.Passed && g.OK()), plainCell(g.FailedAt), fmt.Sprint(g.Minutes), plainCell(joinFlags(g.Flags)), plainCell(joinFlags(g.Notes))})
		}
		for _, a := range missing {
			for _, n := range a.Missing {
				w.Write([]string{"", plainCell(n), plainCell(a.Lesson), "", "", "", "false", "", "", "", "no result"})
			}
		}
		w.Flush()
		return b.Bytes(), w.Error()
	}
	fmt.Fprintf(&b, "%-24s %-22s %8s %9s  %-14s %7s\n", "student", "lesson", "seed", "points", "", "minutes")
	passed, flagged := 0, 0
	for _, g := range grades {
		verdict := "passed"
		if !g.Passed {
			verdict = "not passed"
		}
		switch {
		case !g.OK():
			verdict = "FLAGGED"
			flagged++
		case g.Passed:
			passed++
		}
		fmt.Fprintf(&b, "%-24s %-22s %8d %9s  %-14s %7.1f\n", cut(g.Student, 24), cut(g.Lesson, 22), g.Seed, fmt.Sprintf("%v of %v", g.Points, g.Of), verdict, g.Minutes)
		if g.Why != "" {
			fmt.Fprintf(&b, "    %s\n", g.Why)
		}
		for _, f := range g.Flags {
			fmt.Fprintf(&b, "    ! %s: %s\n", sounds.Shown(g.Path), cut(f.String(), 300))
		}
		for _, f := range g.Notes {
			fmt.Fprintf(&b, "    note: %s\n", cut(f.String(), 300))
		}
	}
	fmt.Fprintf(&b, "\n%s, %d passed", cli.Counted(len(grades), "result", "results"), passed)
	if flagged > 0 {
		fmt.Fprintf(&b, ", %d flagged, whatever their points", flagged)
	}
	b.WriteString(".\n")
	for _, a := range missing {
		in := ""
		if a.Lesson != "" {
			in = " in " + cut(a.Lesson, 60)
		}
		if len(a.Missing) == 0 {
			fmt.Fprintf(&b, "Nobody on the roster is missing%s.\n", in)
			continue
		}
		fmt.Fprintf(&b, "Missing%s: %s\n", in, nameList(a.Missing))
	}
	return b.Bytes(), nil
}

// nameList lists people in a sentence, which it ends.
func nameList(names []string) string {
	between := ", "
	if slices.ContainsFunc(names, func(n string) bool { return strings.Contains(n, ",") }) {
		between = "; "
	}
	return strings.TrimSuffix(strings.Join(names, between), ".") + "."
}

// plainCell keeps a spreadsheet from taking a cell for a formula, also one that parts
// cells at semicolons, as many do by the system's language, and heeds no quotes then.
func plainCell(s string) string {
	s = inSemicolons.Replace(s)
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

var inSemicolons = strings.NewReplacer(";=", ";'=", ";+", ";'+", ";-", ";'-", ";@", ";'@")

func joinFlags(all []grade.Flag) string {
	var out []string
	for _, f := range all {
		out = append(out, f.String())
	}
	return strings.Join(out, " | ")
}

// cut shortens, and keeps what a file says from steering the terminal.
func cut(s string, n int) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			return '?'
		}
		return r
	}, s)
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}
