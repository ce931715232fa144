package lessoncmd

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/lessons/builtin"
	"gainwright/lessons/practice"
)

// lesson runs a lesson command in the given directory, with something typed.
func lesson(t *testing.T, dir, typed string, a ...string) (status int, stdout, stderr string) {
	t.Helper()
	t.Chdir(dir)
	var out, errs bytes.Buffer
	cmd := New()
	cmd.SilenceUsage, cmd.SilenceErrors = true, true
	cmd.SetArgs(a)
	cmd.SetIn(strings.NewReader(typed))
	cmd.SetOut(&out)
	cmd.SetErr(&errs)
	status = cli.Report(cmd.ExecuteContext(t.Context()), &errs)
	return status, out.String(), errs.String()
}

func answersFor(t *testing.T, dir, name string) string {
	t.Helper()
	b, err := builtin.ModelAnswers(name)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, name+".answers.yaml")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestLessonList(t *testing.T) {
	dir := t.TempDir()
	status, out, errs := lesson(t, dir, "", "list")
	if status != cli.ExitOK || errs != "" {
		t.Fatalf("%d %q", status, errs)
	}
	for _, n := range builtin.Names() {
		if !strings.Contains(out, n) {
			t.Errorf("%s is not listed", n)
		}
	}
	_, out, _ = lesson(t, dir, "", "list", "--json")
	if v := clitest.ReadJSON(t, out); len(v["lessons"].([]any)) != len(builtin.Names()) {
		t.Errorf("%v", v)
	}
}

func TestLessonCheck(t *testing.T) {
	dir := t.TempDir()
	text, err := builtin.Text("gain-and-headroom")
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	good := write("good.yaml", text)
	bad := write("bad.yaml", bytes.Replace(bytes.Replace(text, []byte("A.overs == 0 &&"), []byte("A.oversz == 0 &&"), 1), []byte("minutes: 12"), []byte("minutes: 0"), 1))
	if status, out, errs := lesson(t, dir, "", "check", "--no-takes", good); status != cli.ExitOK || errs != "" || !strings.HasPrefix(out, "good.yaml: good") || !strings.Contains(out, "students get 90 different benches") {
		t.Errorf("%d %q %q", status, out, errs)
	}
	status, out, errs := lesson(t, dir, "", "check", "--no-takes", good, bad)
	if status != cli.ExitUsage || !strings.Contains(out, "bad.yaml:3:10: minutes") || !strings.Contains(out, "did you mean overs?") || !strings.Contains(errs, "2 faults in 1 lesson") {
		t.Errorf("%d\n%s\n%s", status, out, errs)
	}
	status, out, _ = lesson(t, dir, "", "check", "--no-takes", "--json", good, bad)
	files := clitest.ReadJSON(t, out)["files"].([]any)
	if status != cli.ExitUsage || len(files) != 2 || files[1].(map[string]any)["ok"] != false || files[1].(map[string]any)["faults"].([]any)[0].(map[string]any)["line"] != 3.0 {
		t.Errorf("%d %v", status, files)
	}
	if status, out, errs := lesson(t, dir, "", "check", "--no-takes", "delivery"); status != cli.ExitOK || !strings.HasPrefix(out, "delivery: good") {
		t.Errorf("%d %q %q", status, out, errs)
	}
	if status, _, errs := lesson(t, dir, "", "check", "nowhere.yaml"); status != cli.ExitUsage || errs == "" {
		t.Errorf("%d %q", status, errs)
	}
	if status, out, _ := lesson(t, dir, "", "check", "--names"); status != cli.ExitOK || !strings.Contains(out, "headroom_db") || !strings.Contains(out, "preamp.gain_db") {
		t.Errorf("%d %q", status, out)
	}
	for _, a := range [][]string{{"chek"}, {"check"}, {"run"}, {"run", "gain-and-hedroom"}, {"grade"}, {"run", "gain-and-headroom", "--answers", "none.yaml"}, {"list", "--wombat"}} {
		if status, out, errs := lesson(t, dir, "", a...); status == cli.ExitOK || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: %d %q %q", a, status, out, errs)
		}
	}
}

func TestLessonShow(t *testing.T) {
	dir := t.TempDir()
	status, out, errs := lesson(t, dir, "", "show", "gain-and-headroom")
	if status != cli.ExitOK || errs != "" || !strings.HasPrefix(out, "<!DOCTYPE html>") {
		t.Errorf("%d %q", status, errs)
	}
	if status, _, errs := lesson(t, dir, "", "show", "gain-and-headroom", "--out", "h.html"); status != cli.ExitOK {
		t.Error(errs)
	}
	if status, _, _ := lesson(t, dir, "", "show", "gain-and-headroom", "--out", "h.html"); status != cli.ExitUsage {
		t.Errorf("a file was replaced: %d", status)
	}
	if status, out, errs := lesson(t, dir, "", "show", "gain-and-headroom", "--seed", "1"); status != cli.ExitOK || !strings.Contains(out, "Maren Osk, ticket clerk, sits down, 0.084 m") {
		t.Errorf("%d %q", status, errs)
	}
	if status, _, errs := lesson(t, dir, "", "show", "gain-and-headroom", "--seed", "18446744073709551615"); status != cli.ExitUsage || !strings.Contains(errs, "out of range") {
		t.Errorf("%d %q", status, errs)
	}
	_, out, _ = lesson(t, dir, "", "show", "gain-and-headroom", "--source")
	if want, _ := builtin.Text("gain-and-headroom"); out != string(want) {
		t.Error("the source is another")
	}
}

// A class: results written, graded in three forms, one of them forged.
func TestLessonRunAndGrade(t *testing.T) {
	dir := t.TempDir()
	answers := answersFor(t, dir, "gain-and-headroom")
	if err := os.Mkdir(filepath.Join(dir, "results"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		status, out, errs := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", answers, "--seed", fmt.Sprint(i), "--name", fmt.Sprintf("=student %d", i), "--out", fmt.Sprintf("results/%d.json", i), "--statements", fmt.Sprintf("%d.jsonl", i))
		if status != cli.ExitOK || errs != "" || !strings.Contains(out, "passed") {
			t.Fatalf("%d %q %q", status, out, errs)
		}
	}
	if status, _, _ := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", answers, "--out", "results/1.json"); status != cli.ExitUsage {
		t.Error("a result was replaced")
	}
	status, out, errs := lesson(t, dir, "", "grade", "results")
	if status != cli.ExitOK || errs != "" || !strings.Contains(out, "3 results, 3 passed.") {
		t.Errorf("%d %q %q", status, out, errs)
	}
	b, err := os.ReadFile("results/1.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("results/1.json", bytes.Replace(b, []byte(`"student": "=student 1"`), []byte(`"student": "\u001b[31mme"`), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, errs = lesson(t, dir, "", "grade", "results", "--csv")
	if status != cli.ExitFailure || !strings.Contains(errs, "1 result of 3 flagged") {
		t.Errorf("%d %q", status, errs)
	}
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil || len(rows) != 4 || rows[1][1] != "'=student 0" || rows[2][9] == "" || rows[3][9] != "" || rows[1][6] != "true" || rows[2][6] != "false" {
		t.Errorf("%v %v", err, rows)
	}
	// A table of steps has no place for why.
	if status, _, errs = lesson(t, dir, "", "grade", "results", "--steps"); status != cli.ExitFailure || !strings.Contains(errs, "1.json: ") || !strings.Contains(errs, "1 result of 3 flagged") {
		t.Errorf("%d %q", status, errs)
	}
	if _, out, _ = lesson(t, dir, "", "grade", "results"); strings.Contains(out, "\x1b") {
		t.Error("a result steers the terminal")
	}
	_, out, _ = lesson(t, dir, "", "grade", "results", "--json")
	if v := clitest.ReadJSON(t, out)["results"].([]any); len(v) != 3 || len(v[1].(map[string]any)["flags"].([]any)) == 0 {
		t.Errorf("%v", v)
	}
	os.WriteFile("results/9.json", []byte("{"), 0o600)
	if status, out, errs := lesson(t, dir, "", "grade", "results/9.json"); status != cli.ExitFailure || out != "" || strings.Count(errs, "\n") != 1 {
		t.Errorf("nothing to tabulate: %d %q %q", status, out, errs)
	}
	if status, _, errs := lesson(t, dir, "", "grade", "results"); status != cli.ExitFailure || !strings.Contains(errs, "results/9.json: is not a lesson's result") {
		t.Errorf("%d %q", status, errs)
	}
}

func TestLessonRunFails(t *testing.T) {
	dir := t.TempDir()
	b, err := builtin.ModelAnswers("gain-and-headroom")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "wrong.yaml")
	os.WriteFile(path, bytes.Replace(b, []byte("gain_db: = story.A.gain_db + story.A.headroom_db - 9"), []byte("gain_db: 60"), 1), 0o600)
	status, out, errs := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", path, "--json")
	if status != cli.ExitFailure || !strings.Contains(errs, "not passed: step set is not met") {
		t.Errorf("%d %q", status, errs)
	}
	// By hand or not, what is missed is told with its readings, and why.
	_, said, _ := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", path)
	for _, w := range []string{"Step set is not met.", "headroom   ", "no   overs of A: 0 (overs of A: ", "Still ", "not passed: step set is not met"} {
		if !strings.Contains(said, w) || strings.Contains(said, "share of samples clipped") {
			t.Errorf("%q is not said in\n%s", w, said)
		}
	}
	if _, said, _ := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", path, "--all-readings"); !strings.Contains(said, "share of samples clipped") {
		t.Errorf("not all readings:\n%s", said)
	}
	if v := clitest.ReadJSON(t, out); v["passed"] != false || v["failed_at"] != "set" {
		t.Errorf("%v", v["failed_at"])
	}
	os.WriteFile(path, []byte("answers: {gues: b}\n"), 0o600)
	if status, _, errs := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", path); status != cli.ExitUsage || !strings.Contains(errs, "wrong.yaml:1:11") {
		t.Errorf("%d %q", status, errs)
	}
}

// Answers tried on every student there can be.
func TestLessonRehearse(t *testing.T) {
	dir := t.TempDir()
	if status, out, errs := lesson(t, dir, "", "rehearse", "what-the-numbers-mean", "--most", "4"); status != cli.ExitOK || errs != "" || out != "what-the-numbers-mean: 4 of 4 combinations pass; 20 more were not played (--most).\n" {
		t.Errorf("%d %q %q", status, out, errs)
	}
	text, err := builtin.Text("gain-and-headroom")
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("between(A.headroom_db, 6, 12)"), []byte("between(A.headroom_db, 8.9, 9)"), 1)
	text = bytes.Replace(text, []byte("performance: 2"), []byte("performance: 1"), 1)
	text = bytes.Replace(text, []byte("[1.25, 2.5, 5, 10, 20]"), []byte("[2.5]"), 1)
	os.WriteFile("mine.yaml", text, 0o600)
	b, _ := builtin.ModelAnswers("gain-and-headroom")
	os.WriteFile("model.yaml", bytes.Replace(b, []byte("lesson: gain-and-headroom\n"), nil, 1), 0o600)
	status, out, errs := lesson(t, dir, "", "rehearse", "mine.yaml", "--answers", "model.yaml", "--quiet")
	if status != cli.ExitFailure || !strings.Contains(out, "NOT PASSED: step set is not met") || !strings.Contains(out, "    set: A.headroom_db is ") || !strings.Contains(errs, " of 9 combinations pass") {
		t.Errorf("%d %q\n%s", status, errs, out)
	}
	status, out, _ = lesson(t, dir, "", "rehearse", "mine.yaml", "--answers", "model.yaml", "--most", "2", "--json")
	v := clitest.ReadJSON(t, out)
	if played := v["played"].([]any); len(played) != 2 || v["combinations"] != 9.0 || played[0].(map[string]any)["drawn"].(map[string]any)["talker"] == nil {
		t.Errorf("%d %v", status, v)
	}
	// One setting, one prediction for everybody is a note, here and of check, and no fault.
	const constant = "answers: {talk: = check.A.talk_peak_dbfs, guess: a, set: {A.preamp.gain_db: 20}, lower: = A.headroom_db - 8, why: The laugh is louder than the talk was.}"
	os.WriteFile("easy.yaml", bytes.Replace(text, []byte("between(A.headroom_db, 8.9, 9)"), []byte("A.headroom_db >= 6"), 1), 0o600)
	os.WriteFile("one.yaml", []byte(constant), 0o600)
	status, out, errs = lesson(t, dir, "", "rehearse", "easy.yaml", "--answers", "one.yaml", "--shares")
	if status != cli.ExitOK || !strings.Contains(out, "Note: step set: one setting fits every bench, A.preamp.gain_db 20, on all 9 tried") || !strings.Contains(out, "set          do         9 of 9  A.preamp.gain_db 20\n") {
		t.Errorf("%d %q\n%s", status, errs, out)
	}
	status, out, errs = lesson(t, dir, "", "check", "easy.yaml")
	if status != cli.ExitOK || !strings.Contains(out, "note: step set: one setting fits every bench") {
		t.Errorf("%d %q\n%s", status, errs, out)
	}
	if status, out, _ = lesson(t, dir, "", "check", "easy.yaml", "--no-takes"); status != cli.ExitOK || strings.Contains(out, "one setting") {
		t.Errorf("%d\n%s", status, out)
	}
	for _, a := range [][]string{{"rehearse"}, {"rehearse", "mine.yaml"}, {"rehearse", "mine.yaml", "--answers", "none.yaml"}, {"rehearse", "mine.yaml", "--answers", "model.yaml", "--most", "0"}} {
		if status, out, errs := lesson(t, dir, "", a...); status != cli.ExitUsage || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: %d %q %q", a, status, out, errs)
		}
	}
}

func TestLessonKeyed(t *testing.T) {
	dir := t.TempDir()
	answers := answersFor(t, dir, "gain-and-headroom")
	os.WriteFile(filepath.Join(dir, "class.key"), []byte("a class's secret\n"), 0o600)
	os.WriteFile(filepath.Join(dir, "short.key"), []byte("short"), 0o600)
	if status, _, errs := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", answers, "--key", "class.key", "--out", "r.json"); status != cli.ExitOK {
		t.Fatal(errs)
	}
	if status, out, _ := lesson(t, dir, "", "grade", "r.json", "--key", "class.key"); status != cli.ExitOK {
		t.Error(out)
	}
	if status, _, _ := lesson(t, dir, "", "grade", "r.json"); status != cli.ExitFailure {
		t.Error("accepted without the key")
	}
	if status, _, _ := lesson(t, dir, "", "grade", "r.json", "--key", "short.key"); status != cli.ExitUsage {
		t.Error("a key of five letters was accepted")
	}
}

// Someone at the keyboard: slips, a task in two takes, stopping, going on.
func TestLessonByHand(t *testing.T) {
	dir := t.TempDir()
	typed := strings.Join([]string{
		"",         // welcome
		"", "next", // check
		"-99", "-10", "", // talk: two tries
		"q", "b", "", // guess
	}, "\n") + "\n"
	status, out, errs := lesson(t, dir, typed, "run", "gain-and-headroom", "--seed", "1", "--keep", "part.json", "--sounds", "s")
	if status != cli.ExitFailure || !strings.Contains(errs, "stopped at step 5 of 9; go on with --keep part.json") {
		t.Fatalf("%d %q\n%s", status, errs, out)
	}
	for _, w := range []string{"GAIN AND HEADROOM", "Maren Osk", "talk's held peak", "is none of the choices", "Not yet"} {
		if !strings.Contains(out, w) {
			t.Errorf("%q is not said", w)
		}
	}
	typed = strings.Join([]string{
		"", "hear", "next", // story
		"",                                                                                                          // what came
		"next", "", "next", "gain_db=30", "-3.5 dBu", "forty", "13 dB", "all", "wombat=1", "gain_db=99", "", "next", // set
		"0", "", // lower
		"short", "Because the laugh is louder than any talk.", "", // why
	}, "\n") + "\n"
	status, out, errs = lesson(t, dir, typed, "run", "gain-and-headroom", "--keep", "part.json", "--sounds", "s", "--out", "r.json")
	if status != cli.ExitOK || errs != "" {
		t.Fatalf("%d %q\n%s", status, errs, out)
	}
	for _, w := range []string{"You predicted. The gain stays as it is", "you said: The laugh goes over the ceiling\n    right", "counts in dB, not in dBu", "\"forty\" is not understood", "A.preamp.gain_db is 13.0 dB", "Still", "not yet:", "The task is met", "there is no setting wombat", "out of range", "The result is in r.json"} {
		if !strings.Contains(out, w) {
			t.Errorf("%q is not said in\n%s", w, out)
		}
	}
	if strings.Count(out, "share of samples clipped") != 1 || strings.Count(out, "headroom   ") < 3 {
		t.Errorf("not the readings that matter, and once all of them\n%s", out)
	}
	if !cli.IsMissing("part.json") {
		t.Error("the progress was left behind")
	}
	if cli.IsMissing(filepath.Join("s", "A.wav")) {
		t.Error("no sound was written")
	}
	if status, out, errs := lesson(t, dir, "", "grade", "r.json"); status != cli.ExitOK {
		t.Errorf("%s %s", out, errs)
	}
}

func TestLessonBlindByHand(t *testing.T) {
	dir := t.TempDir()
	typed := "\na\n\n\nnext\n0\n0\n\nb\n\n" + strings.Repeat("A\n", 8) + "\n"
	_, out, _ := lesson(t, dir, typed, "run", "blind-listening", "--seed", "1", "--sounds", "s")
	if !strings.Contains(out, "Mind your ears") || !strings.Contains(out, "of 8 right. By guessing") {
		t.Errorf("%s", out)
	}
	for i := range 8 {
		if cli.IsMissing(filepath.Join("s", fmt.Sprintf("trial-%d.wav", i+1))) {
			t.Errorf("trial %d has no sound", i+1)
		}
	}
}

// Nothing is sent but to the address given, with the version in its header, after
// it was shown and confirmed.
func TestLessonStatements(t *testing.T) {
	dir := t.TempDir()
	answers := answersFor(t, dir, "gain-and-headroom")
	if status, _, errs := lesson(t, dir, "", "run", "gain-and-headroom", "--answers", answers, "--out", "r.json"); status != cli.ExitOK {
		t.Fatal(errs)
	}
	status, out, errs := lesson(t, dir, "", "statements", "r.json")
	if status != cli.ExitOK || errs != "" || strings.Count(out, "\n") < 5 {
		t.Errorf("%d %q", status, errs)
	}
	var calls []*http.Request
	var body []byte
	answer := http.StatusOK
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		calls = append(calls, r)
		body, _ = io.ReadAll(r.Body)
		w.WriteHeader(answer)
		fmt.Fprint(w, "a reason\x1b[31m")
	}))
	defer srv.Close()
	os.WriteFile("login.txt", []byte("user:word\n"), 0o600)
	if status, _, errs := lesson(t, dir, "no\n", "statements", "r.json", "--send", srv.URL+"/store"); status != cli.ExitFailure || len(calls) != 0 || !strings.Contains(errs, "nothing was sent") {
		t.Errorf("%d %d %q", status, len(calls), errs)
	}
	status, out, errs = lesson(t, dir, "yes\n", "statements", "r.json", "--send", srv.URL+"/store", "--login-file", "login.txt")
	if status != cli.ExitOK || len(calls) != 1 || !strings.Contains(errs, `"verb"`) || !strings.Contains(out, "Sent") {
		t.Fatalf("%d %d %q %q", status, len(calls), out, errs)
	}
	r := calls[0]
	if r.Method != http.MethodPost || r.URL.Path != "/store/statements" || r.Header.Get("X-Experience-API-Version") != "1.0.3" || r.Header.Get("Content-Type") != "application/json" {
		t.Errorf("%v %v %v", r.Method, r.URL, r.Header)
	}
	if u, p, ok := r.BasicAuth(); !ok || u != "user" || p != "word" {
		t.Error("the login did not arrive")
	}
	var list []map[string]any
	if err := json.Unmarshal(body, &list); err != nil || len(list) < 5 {
		t.Errorf("%v %d", err, len(list))
	}
	answer = http.StatusForbidden
	if status, _, errs := lesson(t, dir, "", "statements", "r.json", "--send", srv.URL, "--yes"); status != cli.ExitFailure || !strings.Contains(errs, "403") || strings.Contains(errs, "\x1b") {
		t.Errorf("%d %q", status, errs)
	}
	for _, to := range []string{"ftp://x", "x", "http://user:word@x/"} {
		if status, _, _ := lesson(t, dir, "", "statements", "r.json", "--send", to, "--yes"); status != cli.ExitUsage {
			t.Errorf("%s was accepted", to)
		}
	}
	if status, _, _ := lesson(t, dir, "", "statements", "r.json", "--send", "http://store.invalid", "--yes", "--login-file", "login.txt"); status != cli.ExitUsage {
		t.Error("a login went over plain http")
	}
}

func TestLessonPractice(t *testing.T) {
	dir := t.TempDir()
	status, out, errs := lesson(t, dir, "gain=99\ngain=30\n\ngo\nhear\n\nquit\n", "practice", "--seed", "3", "--history", "h.json", "--sounds", "s")
	if status != cli.ExitOK || errs != "" {
		t.Fatalf("%d %q", status, errs)
	}
	for _, w := range []string{"Guest 1, level 1 of 10", "out of range", "talk peaks at", "together", "Guest 2"} {
		if !strings.Contains(out, w) {
			t.Errorf("%q is not said in\n%s", w, out)
		}
	}
	var h practice.History
	b, err := os.ReadFile("h.json")
	if err != nil || json.Unmarshal(b, &h) != nil || len(h.Played) != 1 || h.Played[0].GainDB != 30 {
		t.Errorf("%v %s", err, b)
	}
	os.WriteFile("h.json", []byte("["), 0o600)
	if status, _, _ := lesson(t, dir, "", "practice", "--history", "h.json"); status != cli.ExitUsage {
		t.Error("a broken history was accepted")
	}
}

// TestLessonShowHeard: what is to be heard and asks nothing keeps no lesson from being
// played for its pictures; and what the page, or a wrong name, says leads to the file.
func TestLessonShowHeard(t *testing.T) {
	dir := t.TempDir()
	const mine = `title: Heard
for: the crew
minutes: 3
scenario:
  source: {talker: maren, script: [{text: "We left.", effort: loud}]}
  strips: {A: {preamp: {gain_db: 60}}}
steps:
  - {record: Record it., id: first, show: waves}
  - {listen: Hear it., id: heard, strips: [A, spoken]}
  - {mend: Mend it., id: ways, strip: A, ways: {guessed: declip}, strips: [guessed, spoken]}
  - {twin: Another., id: two, strip: A, strips: [A, twin]}
`
	lesson(t, dir, "", "list") // goes to dir
	if err := os.WriteFile("mine.yaml", []byte(mine), 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, errs := lesson(t, dir, "", "show", "mine.yaml")
	if status != cli.ExitOK || !strings.Contains(out, "nothing set but by the lesson") || !strings.Contains(out, "gainwright lesson run mine.yaml<") {
		t.Errorf("%d %q, %d bytes", status, errs, len(out))
	}
	if status, _, errs := lesson(t, dir, "", "run", "mine"); status != cli.ExitUsage || errs != "gainwright: there is no built-in lesson \"mine\"; a file mine.yaml is here: name that\n" {
		t.Errorf("%d %q", status, errs)
	}
}
