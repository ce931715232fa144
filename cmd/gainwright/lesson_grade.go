package main

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

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

func newLessonGradeCmd() *cobra.Command {
	var files []string
	var key, out string
	var asJSON, asCSV, force, quiet bool
	cmd := &cobra.Command{
		Use:   "grade RESULT...",
		Short: "Verify results and tabulate them",
		Long: `Verify results and tabulate them. RESULT is a result file, or a folder of them.

Grading looks at the signature, draws the seed's values again, runs every take
again and grades every answer again. What does not fit is flagged, and the points
in the table are those found here, not those the file claims. Notes are worth a
look but prove nothing: clocks can be set, and two people can have one idea.

The exit status is 1 if any result is flagged or could not be read.`,
		Example: `  gainwright lesson grade results/
  gainwright lesson grade results/ --lesson mine.yaml --csv --out marks.csv
  gainwright lesson grade anna.json bert.json --json --key class.key`,
		Args: args(cobra.MinimumNArgs(1), "wants one or more result files"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if asJSON && asCSV {
				return usagef("lesson grade: --json or --csv, not both")
			}
			ls, err := lessonFiles(files)
			if err != nil {
				return err
			}
			k, err := readKey(key)
			if err != nil {
				return err
			}
			paths, err := resultFiles(a)
			if err != nil {
				return err
			}
			var (
				good    []string
				results []*lessonrun.Result
				unread  []error
			)
			for _, p := range paths {
				r, err := lessonrun.LoadResult(p)
				if err != nil {
					unread = append(unread, err)
					continue
				}
				good, results = append(good, p), append(results, r)
			}
			g := grade.NewGrader(ls...)
			g.Key = k
			w := newWatch(cmd.ErrOrStderr(), quiet)
			w.begin("grading")
			grades, err := g.GradeAll(cmd.Context(), good, results, func(done, of int) { w.at(float64(done) / float64(of)) })
			w.done()
			if err != nil {
				return err
			}
			if len(grades) == 0 && !asJSON { // nothing to tabulate
				return errors.New(errors.Join(unread...).Error())
			}
			page, err := gradeTable(grades, asJSON, asCSV)
			if err != nil {
				return err
			}
			if err := writeOut(cmd.OutOrStdout(), out, force, page); err != nil {
				return err
			}
			flagged := 0
			for _, g := range grades {
				if !g.OK() {
					flagged++
				}
			}
			if flagged > 0 {
				unread = append(unread, fmt.Errorf("%s of %d flagged", counted(flagged, "result", "results"), len(grades)))
			}
			if len(unread) > 0 {
				// A failure of what was handed in, not of how the command was used.
				return errors.New(errors.Join(unread...).Error())
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&files, "lesson", nil, "a lesson `FILE` that results belong to, beside the built-in ones (repeatable)")
	f.StringVar(&key, "key", "", "the secret in `FILE` that the results are signed with")
	f.StringVar(&out, "out", "", "write the table to `FILE`")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	f.BoolVar(&asCSV, "csv", false, "print comma-separated values")
	f.BoolVar(&force, "force", false, "replace a file that is there")
	f.BoolVar(&quiet, "quiet", false, "show no progress")
	return cmd
}

func gradeTable(grades []*grade.Grade, asJSON, asCSV bool) ([]byte, error) {
	var b bytes.Buffer
	switch {
	case asJSON:
		for _, g := range grades {
			if g.Flags == nil {
				g.Flags = []grade.Flag{}
			}
		}
		err := writeJSON(&b, struct {
			Results []*grade.Grade `json:"results"`
		}{append([]*grade.Grade{}, grades...)})
		return b.Bytes(), err
	case asCSV:
		w := csv.NewWriter(&b)
		w.Write([]string{"file", "student", "lesson", "seed", "points", "of", "passed", "failed_at", "minutes", "flags", "notes"})
		for _, g := range grades {
			w.Write([]string{plainCell(g.Path), plainCell(g.Student), plainCell(g.Lesson), strconv.FormatUint(g.Seed, 10),
				fmt.Sprint(g.Points), fmt.Sprint(g.Of), strconv.FormatBool(g.Passed), plainCell(g.FailedAt), fmt.Sprint(g.Minutes), plainCell(joinFlags(g.Flags)), plainCell(joinFlags(g.Notes))})
		}
		w.Flush()
		return b.Bytes(), w.Error()
	}
	fmt.Fprintf(&b, "%-24s %-22s %8s %9s  %-14s %7s\n", "student", "lesson", "seed", "points", "", "minutes")
	passed := 0
	for _, g := range grades {
		verdict := "passed"
		if !g.Passed {
			verdict = "not passed"
		} else {
			passed++
		}
		if !g.OK() {
			verdict = "FLAGGED"
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
	fmt.Fprintf(&b, "\n%s, %d passed.\n", counted(len(grades), "result", "results"), passed)
	return b.Bytes(), nil
}

// plainCell keeps a spreadsheet from taking a cell for a formula.
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

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

func newLessonStatementsCmd() *cobra.Command {
	var files []string
	var out, send, login string
	var force, yes bool
	cmd := &cobra.Command{
		Use:   "statements RESULT...",
		Short: "Write results as xAPI statements",
		Long: `Write results as xAPI statements (xAPI 1.0.3, IEEE 9274.1.1), one a line. Whoever
took the lesson appears as an account with the result's name, which is a random one
unless another was given.

Nothing is sent anywhere unless --send gives the address of a record store; then
what is sent is shown first, and asked about.`,
		Example: `  gainwright lesson statements result.json --out result.jsonl
  gainwright lesson statements results/ --send https://store.example.org/xapi --login-file login.txt`,
		Args: args(cobra.MinimumNArgs(1), "wants one or more result files"),
		RunE: func(cmd *cobra.Command, a []string) error {
			ls, err := lessonFiles(files)
			if err != nil {
				return err
			}
			paths, err := resultFiles(a)
			if err != nil {
				return err
			}
			var all []grade.Statement
			for _, p := range paths {
				r, err := lessonrun.LoadResult(p)
				if err != nil {
					return err
				}
				if r.Ended == nil {
					return &sounds.InputError{Path: p, Msg: "the lesson was not finished"}
				}
				var of *model.Lesson
				for _, l := range ls {
					if l.Hash == r.Lesson.Hash {
						of = l
					}
				}
				all = append(all, grade.Statements(r, of)...)
			}
			data, err := grade.StatementsFile(all)
			if err != nil {
				return err
			}
			if send == "" {
				return writeOut(cmd.OutOrStdout(), out, force, data)
			}
			if out != "" {
				if err := writeOut(nil, out, force, data); err != nil {
					return err
				}
			}
			return sendStatements(cmd, send, login, yes, all, data)
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&files, "lesson", nil, "a lesson `FILE` that results belong to (repeatable)")
	f.StringVar(&out, "out", "", "write to `FILE` instead of the standard output")
	f.StringVar(&send, "send", "", "send the statements to the record store at `ADDRESS`")
	f.StringVar(&login, "login-file", "", "`FILE` with user:password, or with a token")
	f.BoolVar(&yes, "yes", false, "send without asking; what is sent is shown all the same")
	f.BoolVar(&force, "force", false, "replace a file that is there")
	return cmd
}

// sendStatements shows what will be sent and where, asks, and sends.
func sendStatements(cmd *cobra.Command, address, login string, yes bool, all []grade.Statement, data []byte) error {
	auth := ""
	if login != "" {
		b, err := os.ReadFile(login)
		if err != nil {
			return usagef("--login-file %s: cannot be read", login)
		}
		auth = "Bearer " + strings.TrimSpace(string(b))
		if strings.Contains(auth, ":") {
			auth = "Basic " + base64.StdEncoding.EncodeToString(bytes.TrimSpace(b))
		}
	}
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.User != nil {
		return usagef("--send %s: want the address of a record store, as in https://store.example.org/xapi", address)
	}
	local := u.Hostname() == "localhost" || u.Hostname() == "127.0.0.1" || u.Hostname() == "::1"
	if u.Scheme == "http" && auth != "" && !local {
		return usagef("--send %s: a login is not sent over plain http: use https", address)
	}
	to := u.JoinPath("statements").String()
	fmt.Fprintf(cmd.ErrOrStderr(), "%s to %s:\n%s", counted(len(all), "statement", "statements"), to, data)
	if !yes {
		fmt.Fprint(cmd.ErrOrStderr(), "Send this? (yes/no) ")
		var answer string
		fmt.Fscanln(cmd.InOrStdin(), &answer)
		if !strings.EqualFold(answer, "yes") {
			return errors.New("nothing was sent")
		}
	}
	if err := postStatements(cmd.Context(), to, auth, all); err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "Sent %s to %s\n", counted(len(all), "statement", "statements"), to)
	return err
}

func postStatements(ctx context.Context, to, auth string, all []grade.Statement) error {
	body, err := json.Marshal(all)
	if err != nil {
		return err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, to, bytes.NewReader(body))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("X-Experience-API-Version", grade.XAPIVersion)
	if auth != "" {
		req.Header.Set("Authorization", auth)
	}
	client := &http.Client{Timeout: 30 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error {
		return http.ErrUseLastResponse // statements go where they were told to go
	}}
	resp, err := client.Do(req)
	if err != nil {
		return fmt.Errorf("nothing arrived: %w", err)
	}
	defer resp.Body.Close()
	text, _ := io.ReadAll(io.LimitReader(resp.Body, 2000))
	if resp.StatusCode/100 != 2 {
		return fmt.Errorf("the record store answered %s: %s", resp.Status, cut(strings.TrimSpace(string(text)), 300))
	}
	return nil
}
