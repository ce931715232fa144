package lessoncmd

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/model"
	lessonrun "gainwright/lessons/run"
	"gainwright/lessons/xapi"
	"gainwright/sounds"
)

func newLessonStatementsCmd() *cobra.Command {
	var files []string
	var out, send, login, home string
	var force, yes bool
	cmd := &cobra.Command{
		Use:   "statements RESULT...",
		Short: "Write results as xAPI statements",
		Long: `Write results as xAPI statements (xAPI 1.0.3, IEEE 9274.1.1), one a line. Whoever
took the lesson appears as an account with the result's name, which is a random one
unless another was given, at the account's home page, an address that is yours to give.
Blind trials are scored by how many were right.

Nothing is sent anywhere unless --send gives the address of a record store; then
what is sent is shown first, and asked about.`,
		Example: `  gainwright lesson statements result.json --out result.jsonl
  gainwright lesson statements results/ --home-page https://school.example
  gainwright lesson statements results/ --send https://store.example.org/xapi --login-file login.txt`,
		Args: cli.Args(cobra.MinimumNArgs(1), "wants one or more result files"),
		RunE: func(cmd *cobra.Command, a []string) error {
			home, err := readHome(home)
			if err != nil {
				return err
			}
			ls, err := lessonFiles(files)
			if err != nil {
				return err
			}
			paths, err := resultFiles(a)
			if err != nil {
				return err
			}
			var all []xapi.Statement
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
				all = append(all, xapi.StatementsAt(home, r, of)...)
			}
			data, err := xapi.File(all)
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
	f.StringVar(&home, "home-page", "", "an `IRI` of yours that names the accounts and lessons ("+xapi.HomePage+")")
	f.StringVar(&send, "send", "", "send the statements to the record store at `ADDRESS`")
	f.StringVar(&login, "login-file", "", "`FILE` with user:password, or with a token")
	f.BoolVar(&yes, "yes", false, "send without asking; what is sent is shown all the same")
	f.BoolVar(&force, "force", false, "replace a file that is there")
	return cmd
}

// readHome checks the home page given, if one is.
func readHome(s string) (string, error) {
	if s == "" {
		return xapi.HomePage, nil
	}
	home, err := xapi.ReadHomePage(s)
	if err != nil {
		return "", cli.Usagef("--home-page %s: %v", s, err)
	}
	return home, nil
}

// sendStatements shows what will be sent and where, asks, and sends.
func sendStatements(cmd *cobra.Command, address, login string, yes bool, all []xapi.Statement, data []byte) error {
	auth := ""
	if login != "" {
		b, err := os.ReadFile(login)
		if err != nil {
			return cli.Usagef("--login-file %s: cannot be read", login)
		}
		auth = "Bearer " + strings.TrimSpace(string(b))
		if strings.Contains(auth, ":") {
			auth = "Basic " + base64.StdEncoding.EncodeToString(bytes.TrimSpace(b))
		}
	}
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.User != nil {
		return cli.Usagef("--send %s: want the address of a record store, as in https://store.example.org/xapi", address)
	}
	local := u.Hostname() == "localhost" || u.Hostname() == "127.0.0.1" || u.Hostname() == "::1"
	if u.Scheme == "http" && auth != "" && !local {
		return cli.Usagef("--send %s: a login is not sent over plain http: use https", address)
	}
	to := u.JoinPath("statements").String()
	fmt.Fprintf(cmd.ErrOrStderr(), "%s to %s:\n%s", cli.Counted(len(all), "statement", "statements"), to, data)
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
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "Sent %s to %s\n", cli.Counted(len(all), "statement", "statements"), to)
	return err
}

func postStatements(ctx context.Context, to, auth string, all []xapi.Statement) error {
	body, err := json.Marshal(all)
	if err != nil {
		return err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, to, bytes.NewReader(body))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("X-Experience-API-Version", xapi.Version)
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
