package lessoncmd

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	lessonrun "gainwright/lessons/run"
	"gainwright/lessons/take"
)

// crew are invented people of the ferry.
var crew = strings.Fields("Ada Bo Cleo Dag Edda Finn Gesa Hauke Imke Jelle Kaja Lasse Mette Nils Oda Pelle Quirin Rike Sten Tjark Uwe Vera Wiebke Xaver Ylva Zora")

// class plays the lesson as so many of the crew would, all of them differently, into
// dir/results, and writes a roster of one more, names.csv. The second has the first's
// seed.
func class(t testing.TB, dir string, n int, bench *take.Bench) (*grade.Roster, []*lessonrun.Result) {
	t.Helper()
	l, err := builtin.Load("gain-and-headroom")
	if err != nil {
		t.Fatal(err)
	}
	text := []byte("name\n" + strings.Join(crew[:n+1], "\n") + "\n")
	if err := os.WriteFile(filepath.Join(dir, "names.csv"), text, 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := grade.ReadRoster(text)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(dir, "results"), 0o755); err != nil {
		t.Fatal(err)
	}
	var out []*lessonrun.Result
	for i := range n {
		seed := r.Entries[i].Seed
		if i == 1 {
			seed = r.Entries[0].Seed
		}
		off := []int{0, 0, 0, 0, 4, 0, -6}[i%7]
		answers := fmt.Sprintf("answers: {talk: ['= check.A.talk_peak_dbfs + %d', '= check.A.talk_peak_dbfs + %d'], guess: %s, set: {A.preamp.gain_db: %d}, lower: 0, why: '%s says: a laugh is <b>louder</b> than any talk & nobody laughs in a check.'}\n",
			off, off, model.Letter(min(i%3, 1)), 24+2*(i%8), crew[i])
		res, err := playOne(l, bench, answers, seed, crew[i], filepath.Join(dir, "results", fmt.Sprintf("%02d.json", i)))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, res)
	}
	return r, out
}

func playOne(l *model.Lesson, bench *take.Bench, answers string, seed uint64, name, path string) (*lessonrun.Result, error) {
	a, err := format.ParseAnswers("a", []byte(answers), l)
	if err != nil {
		return nil, err
	}
	r, err := lessonrun.NewRunner(l, lessonrun.Options{Seed: seed, Student: name, Bench: bench})
	if err != nil {
		return nil, err
	}
	if err := lessonrun.Play(context.Background(), r, a, nil); err != nil {
		return nil, err
	}
	res, err := r.Result(nil)
	if err != nil {
		return nil, err
	}
	b, err := res.Marshal()
	if err != nil {
		return nil, err
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		return nil, err
	}
	return lessonrun.LoadResult(path)
}

// Twenty-five results of a roster make one page that needs nothing else, is well formed,
// and says of every step what the results say; the table, CSV and JSON say the same.
func TestClass(t *testing.T) {
	const n = 25
	dir := t.TempDir()
	bench := take.NewBench()
	r, results := class(t, dir, n, bench)
	l, err := builtin.Load("gain-and-headroom")
	if err != nil {
		t.Fatal(err)
	}
	g := grade.NewGrader(l)
	g.Bench = bench // plays nothing twice
	var paths []string
	for i := range results {
		paths = append(paths, fmt.Sprintf("results/%02d.json", i))
	}
	grades, err := g.GradeAll(t.Context(), paths, results, nil)
	if err != nil {
		t.Fatal(err)
	}
	missing := r.Check(grades, nil)
	table := func(asJSON, asCSV bool) string {
		b, err := gradeTable(grades, missing, asJSON, asCSV)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	steps := clitest.ReadJSON(t, table(true, false))["lessons"].([]any)[0].(map[string]any)["steps"].([]any)
	guess := stepNamed(t, steps, "guess")
	// Every third said a.
	if c := guess["choices"].([]any); c[0].(map[string]any)["count"] != 9.0 || c[1].(map[string]any)["count"] != 16.0 || guess["answered"] != 25.0 {
		t.Errorf("guess: %v", guess)
	}
	if talk := stepNamed(t, steps, "talk"); talk["right"] != 19.0 || len(talk["numbers"].(map[string]any)["rights"].([]any)) != n {
		t.Errorf("talk: %v", talk)
	}
	if why := stepNamed(t, steps, "why"); len(why["texts"].([]any)) != n {
		t.Errorf("why: %v", why)
	}
	page, err := classReport(grades, missing)
	if err != nil {
		t.Fatal(err)
	}
	checkPage(t, string(page), n)
	if out := table(false, false); !strings.Contains(out, "Missing in gain-and-headroom: Zora.") || strings.Count(out, "note: the seed") != 4 {
		t.Errorf("%s", out)
	}
	out := string(stepTable(grade.Reports(grades)))
	for _, want := range []string{"25 results", "guess", "a) The laugh fits below the ceiling                9", "hint told", "right: 0", "Ylva: Ylva says: a laugh is <b>louder</b>"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	b, err := stepCSV(grade.Reports(grades))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil || len(rows) < 100 || !strings.Contains(string(b), "gain-and-headroom,guess,predict,chosen,a) The laugh fits below the ceiling,9\n") {
		t.Errorf("%v, %d rows\n%s", err, len(rows), b)
	}
	if out := table(false, true); !strings.Contains(out, ",Zora,gain-and-headroom,") || !strings.Contains(out, "no result") {
		t.Errorf("%s", out)
	}
	if to := os.Getenv("GAINWRIGHT_SHOTS"); to != "" {
		os.WriteFile(filepath.Join(to, "class.html"), page, 0o644)
	}
}

// What students write is no formula in a spreadsheet, and a number is one, whatever its
// sign.
func TestStepCSV(t *testing.T) {
	r := &grade.Report{Lesson: "mine", Steps: []grade.StepReport{
		{ID: "talk", Numbers: &grade.Spread{Unit: "dBFS", Values: []float64{-18, 0.5}, Rights: []float64{-12.5, 0}}},
		{ID: "why", Texts: []grade.Said{{Student: "=HYPERLINK(1)", Text: "-18 is what it says"}, {Student: "Ada", Text: "\t+1"}, {Student: "Bo", Text: "so; -3 dB;=1+1"}}},
	}}
	b, err := stepCSV([]*grade.Report{r})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{",number,dBFS,-18\n", ",number less what is right,dBFS,-5.5\n", ",number,dBFS,0.5\n", ",text,'=HYPERLINK(1),'-18 is what it says\n", ",text,Ada,'\t+1\n", ",text,Bo,so; -3 dB;'=1+1\n"} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%q is not in\n%s", want, b)
		}
	}
}

// The command does what is asked of it in files, and asks for what is missing.
func TestGradeReport(t *testing.T) {
	dir := t.TempDir()
	class(t, dir, 2, take.NewBench())
	status, out, errs := lesson(t, dir, "", "grade", "results", "--roster", "names.csv", "--report", "class.html", "--steps", "--quiet")
	if status != cli.ExitOK || errs != "" || !strings.Contains(out, "2 results") || !strings.Contains(out, "(guess)") {
		t.Errorf("%d %q %q", status, out, errs)
	}
	if b, err := os.ReadFile("class.html"); err != nil || !strings.Contains(string(b), "Missing in gain-and-headroom: 1.") {
		t.Errorf("%v %s", err, b)
	}
	if status, out, errs := lesson(t, dir, "", "grade", "results", "--out", "one.txt", "--report", "./one.txt"); status != cli.ExitUsage || out != "" || !strings.Contains(errs, "two files") || !cli.IsMissing("one.txt") {
		t.Errorf("one file for both: %d %q %q", status, out, errs)
	}
	os.WriteFile("bad.csv", []byte("name,seed\nAda,x\n"), 0o600)
	for _, c := range [][2]string{{"names.csv", "class.html"}, {"none.csv", "b.html"}, {"bad.csv", "b.html"}} {
		if status, out, errs := lesson(t, dir, "", "grade", "results", "--roster", c[0], "--report", c[1]); status != cli.ExitUsage || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: %d %q %q", c, status, out, errs)
		}
	}
}

func stepNamed(t *testing.T, steps []any, id string) map[string]any {
	t.Helper()
	for _, s := range steps {
		if s := s.(map[string]any); s["id"] == id {
			return s
		}
	}
	t.Fatalf("no step %s", id)
	return nil
}

var (
	needs = regexp.MustCompile(`(?i)(src|href)\s*=\s*"[^#]|url\(|@import|<script|<link|<img`)
	drawn = regexp.MustCompile(`(?s)<svg class="histogram".*?</svg>`)
)

func checkPage(t *testing.T, page string, n int) {
	t.Helper()
	if m := needs.FindString(page); m != "" {
		t.Errorf("the page needs %q", m)
	}
	for _, bad := range []string{"___", "<b>louder", "{{", "ZgotmplZ", "NaN"} {
		if strings.Contains(page, bad) {
			t.Errorf("%q is in the page", bad)
		}
	}
	for _, want := range []string{"25 results", "Missing in gain-and-headroom: 1.", "Zora", "also stands in", "&lt;b&gt;louder&lt;/b&gt;"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not in the page", want)
		}
	}
	if got := strings.Count(page, "<blockquote"); got != n {
		t.Errorf("%d texts", got)
	}
	pictures := drawn.FindAllString(page, -1)
	if len(pictures) != 3 { // of two numbers, and of the gains
		t.Errorf("%d pictures", len(pictures))
	}
	for _, p := range pictures {
		d := xml.NewDecoder(strings.NewReader(p))
		for {
			_, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%v in %s", err, p)
			}
		}
		if !strings.Contains(p, `role="img" aria-label="`) || !strings.Contains(p, "25 ") {
			t.Errorf("no words in %s", p)
		}
	}
}

// Everybody on a roster gets a link of their own, which opens the lesson with their seed;
// without a site, the command.
func TestLinks(t *testing.T) {
	dir := t.TempDir()
	os.WriteFile(filepath.Join(dir, "names.csv"), []byte("name,seed\nÄnne B.,17\nBo,\n=Cleo,3\n"), 0o600)
	const site = "https://training.example.org/gain"
	status, out, errs := lesson(t, dir, "", "links", "gain-and-headroom", "--roster", "names.csv", "--public-url", site)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if status != cli.ExitOK || errs != "" || err != nil || len(rows) != 4 || rows[3][0] != "'=Cleo" {
		t.Fatalf("%d %q %v %v", status, errs, err, rows)
	}
	address, fragment, _ := strings.Cut(rows[1][2], "#")
	if l, ok := model.ReadLink(fragment); !ok || address != site+"/" || l.Lesson != "gain-and-headroom" || *l.Seed != 17 || l.Name != "Änne B." {
		t.Errorf("%v from %s", l, rows[1][2])
	}
	status, _, errs = lesson(t, dir, "", "links", "gain-and-headroom", "--roster", "names.csv", "--public-url", site, "--out", "cards.html")
	page, err := os.ReadFile("cards.html")
	if status != cli.ExitOK || err != nil || needs.Match(page) || strings.Count(string(page), "<svg") != 3 || !strings.Contains(string(page), "Änne B.") {
		t.Errorf("%d %q %v %s", status, errs, err, page)
	}
	if _, out, _ := lesson(t, dir, "", "links", "gain-and-headroom", "--roster", "names.csv"); !strings.Contains(out, "gainwright lesson run gain-and-headroom --seed 17 --name 'Änne B.'") {
		t.Errorf("%s", out)
	}
	if _, out, _ := lesson(t, dir, "", "links", "gain-and-headroom", "--roster", "names.csv", "--json"); len(clitest.ReadJSON(t, out)["links"].([]any)) != 3 {
		t.Errorf("%s", out)
	}
	for _, a := range [][]string{{"links"}, {"links", "gain-and-headroom"}, {"links", "gain-and-headroom", "--roster", "none.csv"}, {"links", "gain-and-headroom", "--roster", "names.csv", "--public-url", "ferry"}} {
		if status, out, errs := lesson(t, dir, "", a...); status != cli.ExitUsage || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: %d %q %q", a, status, out, errs)
		}
	}
}

// A class with keys: each link carries its own, each signs in the terminal, too, and grading
// tells who signed whose result.
func TestStudentsKeys(t *testing.T) {
	dir := t.TempDir()
	os.WriteFile(filepath.Join(dir, "names.csv"), []byte("name,seed\nAda,1\nBo,2\n"), 0o600)
	os.WriteFile(filepath.Join(dir, "short.key"), []byte("ferryboat"), 0o600)
	os.WriteFile(filepath.Join(dir, "one.yaml"), []byte("title: One\nfor: us\nminutes: 1\nscenario: captain-laughs\nsteps:\n  - ask: Which?\n    id: which\n    choices:\n      - {say: this, right: true}\n      - that\n"), 0o600)
	os.WriteFile(filepath.Join(dir, "a.yaml"), []byte("answers: {which: a}\n"), 0o600)
	must := func(a ...string) string {
		t.Helper()
		status, out, errs := lesson(t, dir, "", a...)
		if status != cli.ExitOK {
			t.Fatalf("%v: %d %q", a, status, errs)
		}
		return out
	}
	must("key", "--out", "class.key")
	must("key", "--class", "class.key", "--name", "Ada", "--seed", "1", "--out", "ada.key")
	must("key", "--class", "class.key", "--name", "Bo", "--seed", "2", "--out", "bo.key")
	if st, err := os.Stat("class.key"); err != nil || st.Mode().Perm()&0o077 != 0 {
		t.Errorf("others can read it: %v, %v", st, err)
	}
	rows, err := csv.NewReader(strings.NewReader(must("links", "one.yaml", "--roster", "names.csv", "--public-url", "https://ferry.example/g/", "--key", "class.key"))).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Fatal(rows, err)
	}
	_, fragment, _ := strings.Cut(rows[1][2], "#")
	if b, err := os.ReadFile("ada.key"); err != nil || !strings.Contains(string(b), "student:") || !strings.HasSuffix(fragment, "&key="+strings.TrimSpace(strings.TrimPrefix(string(b), "student:"))) {
		t.Errorf("%s is not in %s (%v)", b, fragment, err)
	}
	must("run", "one.yaml", "--answers", "a.yaml", "--name", "Ada", "--seed", "1", "--key", "ada.key", "--out", "ada.json")
	must("run", "one.yaml", "--answers", "a.yaml", "--name", "Ada", "--seed", "1", "--key", "bo.key", "--out", "forged.json")
	if out := must("grade", "ada.json", "--lesson", "one.yaml", "--roster", "names.csv", "--key", "class.key", "--quiet", "--report", "class.html"); !strings.Contains(out, "Missing in one: Bo.") {
		t.Error(out)
	}
	// Who was copied from is not to be told from who copied by the order of files: the
	// signature tells.
	b, err := os.ReadFile("ada.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("a-copy.json", bytes.Replace(b, []byte(`"Ada"`), []byte(`"Bo"`), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	if status, out, _ := lesson(t, dir, "", "grade", "a-copy.json", "ada.json", "--lesson", "one.yaml", "--key", "class.key", "--quiet"); status != cli.ExitFailure || strings.Contains(out, "! ada.json") || !strings.Contains(out, "! a-copy.json: is the same attempt as ada.json") || !strings.Contains(out, "2 results, 1 passed, 1 flagged, whatever their points.") {
		t.Errorf("%d\n%s", status, out)
	}
	status, out, _ := lesson(t, dir, "", "grade", "forged.json", "--lesson", "one.yaml", "--roster", "names.csv", "--key", "class.key", "--quiet", "--report", "forged.html")
	page, err := os.ReadFile("forged.html")
	for _, want := range []string{"not that of \"Ada\" with the seed 1", "note: the signature is that of Bo, with the seed 2"} {
		if status != cli.ExitFailure || !strings.Contains(out, want) {
			t.Errorf("%d: %q is not in\n%s", status, want, out)
		}
	}
	if err != nil || !strings.Contains(string(page), "the signature is that of Bo") {
		t.Errorf("the page does not tell: %v", err)
	}
	for _, a := range [][]string{{"key"}, {"key", "--out", "class.key"}, {"key", "--out", "x.key", "--name", "Ada"}, {"key", "--out", "x.key", "--class", "class.key", "--name", "Ada"},
		{"key", "--out", "x.key", "--class", "short.key", "--name", "Ada", "--seed", "1"}, {"key", "--out", "x.key", "--class", "ada.key", "--name", "Ada", "--seed", "1"}, {"key", "--out", "nowhere/x.key"},
		{"run", "one.yaml", "--answers", "a.yaml", "--key", "ada.key"},
		{"links", "one.yaml", "--roster", "names.csv", "--key", "class.key"}, {"links", "one.yaml", "--roster", "names.csv", "--public-url", "https://ferry.example/g/", "--key", "short.key"}} {
		if status, out, errs := lesson(t, dir, "", a...); status == cli.ExitOK || out != "" || strings.Count(errs, "\n") != 1 || !cli.IsMissing("x.key") {
			t.Errorf("%v: %d %q %q", a, status, out, errs)
		}
	}
}

// A handout has the bench as the lesson begins and says where the lesson is.
func TestHandoutHasBenchAndLink(t *testing.T) {
	dir := t.TempDir()
	_, out, _ := lesson(t, dir, "", "show", "gain-and-headroom", "--seed", "7")
	if !strings.Contains(out, `<figure class="bench"><svg`) || !strings.Contains(out, "gainwright lesson run gain-and-headroom --seed 7") || !strings.Contains(out, "full scale") {
		t.Errorf("no bench, or no command in %d characters", len(out))
	}
	_, out, _ = lesson(t, dir, "", "show", "gain-and-headroom", "--seed", "7", "--public-url", "https://training.example.org/gain/")
	if want := "https://training.example.org/gain/#lesson=gain-and-headroom&amp;seed=7"; strings.Count(out, want) != 2 || strings.Count(out, "<svg") != 2 {
		t.Errorf("%q is not in the handout", want)
	}
	if to := os.Getenv("GAINWRIGHT_SHOTS"); to != "" {
		os.WriteFile(filepath.Join(to, "handout.html"), []byte(out), 0o644)
	}
	if status, _, errs := lesson(t, dir, "", "show", "gain-and-headroom", "--public-url", "ferry"); status != cli.ExitUsage || strings.Count(errs, "\n") != 1 {
		t.Errorf("%d %q", status, errs)
	}
}

// The pictures that steps show are in the handout, drawn from takes: the student's copy has
// them behind everything, the trainer's beside their steps; the print is light, and what is
// lost is hatched and told in words.
func TestHandoutShows(t *testing.T) {
	dir := t.TempDir()
	os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte("title: Shown\nfor: us\nminutes: 3\nscenario:\n  source:\n    talker: joss\n    script:\n      - {text: \"Now let go!\", effort: loud}\n"+
		"  strips:\n    A: {preamp: {gain_db: 60}}\nsteps:\n  - predict: Will it go over?\n    id: guess\n    choices:\n      - {say: \"yes\", when: A.overs > 0}\n      - {say: \"no\", when: A.overs == 0}\n"+
		"  - record: Record it.\n    show: waves\n  - do: Turn it down.\n    id: set\n    controls: {A.preamp.gain_db: {from: 0, to: 60}}\n    rule: A.overs == 0\n    show: diagram\n  - explain: Why?\n    least: 4\n"), 0o600)
	os.WriteFile(filepath.Join(dir, "a.yaml"), []byte("answers: {guess: a, set: {A.preamp.gain_db: 20}, step_4: Because.}\n"), 0o600)
	show := func(a ...string) string {
		t.Helper()
		status, out, errs := lesson(t, dir, "", append([]string{"show", "mine.yaml"}, a...)...)
		if status != cli.ExitOK || errs != "" {
			t.Fatalf("%v: %d %q", a, status, errs)
		}
		if m := needs.FindString(strings.NewReplacer("url(#", "(", `href="#`, "").Replace(out)); m != "" {
			t.Errorf("%v: the page needs %q", a, m)
		}
		if to := os.Getenv("GAINWRIGHT_SHOTS"); to != "" {
			os.WriteFile(filepath.Join(to, fmt.Sprintf("handout-shown%d.html", len(a))), []byte(out), 0o644)
		}
		return out
	}
	student := show()
	at := strings.Index(student, "<h2>Pictures</h2>")
	for _, want := range []string{`id="picture-2"`, `id="picture-3"`, "of samples flat: lost", "over its ceiling, lost for good", "with the seed 0, nothing set but by the lesson"} {
		if i := strings.Index(student, want); at < 0 || i < at {
			t.Errorf("%q stands at %d, the pictures from %d on", want, i, at)
		}
	}
	if n := strings.Count(student, "<svg"); n != 3 { // the bench, and two that steps show
		t.Errorf("%d pictures", n)
	}
	trainer := show("--answers", "--played", "a.yaml")
	if strings.Contains(trainer, "<h2>Pictures</h2>") || strings.Count(trainer, "Here the step shows this, of a take made for this page, with the seed 0, by given answers") != 2 {
		t.Error("the trainer's copy does not have them in their steps")
	}
	if !strings.Contains(trainer, "dB left") {
		t.Error("the task's picture is not of the given answers")
	}
	for _, a := range [][]string{{"show", "mine.yaml", "--played", "none.yaml"}, {"show", "reading-meters", "--played", "a.yaml"}} {
		if status, out, errs := lesson(t, dir, "", a...); status != cli.ExitUsage || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: %d %q %q", a, status, out, errs)
		}
	}
}

func TestNameList(t *testing.T) {
	for _, c := range []struct {
		names []string
		want  string
	}{
		{[]string{"Bo"}, "Bo."},
		{[]string{"Ada", "Dot Jr."}, "Ada, Dot Jr."},
		{[]string{"Ada", "Dot, Jr."}, "Ada; Dot, Jr."},
	} {
		if got := nameList(c.names); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
