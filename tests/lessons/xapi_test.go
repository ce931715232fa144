package lessons

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/lessons/xapi"
)

//go:embed xapi.schema.json
var schemaText []byte

var bench = take.NewBench()

// results are finished lessons of several kinds, passed and not.
func results(t testing.TB) (ls []*model.Lesson, rs []*run.Result) {
	t.Helper()
	for _, name := range []string{"gain-and-headroom", "blind-listening", "before-or-after"} {
		l, err := builtin.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		text, err := builtin.ModelAnswers(name)
		if err != nil {
			t.Fatal(err)
		}
		worse, err := os.ReadFile(filepath.Join("../../lessons/builtin/answers", name+".wrong.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		for i, answers := range [][]byte{text, worse} {
			a, err := format.ParseAnswers("a", answers, l)
			if err != nil {
				t.Fatal(err)
			}
			r, err := run.NewRunner(l, run.Options{Seed: uint64(i), Bench: bench})
			if err != nil {
				t.Fatal(err)
			}
			if err := run.Play(context.Background(), r, a, nil); err != nil {
				t.Fatal(err)
			}
			res, err := r.Result(nil)
			if err != nil {
				t.Fatal(err)
			}
			ls, rs = append(ls, l), append(rs, res)
		}
	}
	return ls, rs
}

// statements are the results' statements as they are written, one a line.
func statements(t testing.TB) [][]byte {
	t.Helper()
	ls, rs := results(t)
	var out [][]byte
	for i, r := range rs {
		for _, l := range []*model.Lesson{ls[i], nil} {
			for _, home := range []string{xapi.HomePage, "https://school.example/crew"} {
				b, err := xapi.File(xapi.StatementsAt(home, r, l))
				if err != nil {
					t.Fatal(err)
				}
				out = append(out, bytes.Split(bytes.TrimSpace(b), []byte("\n"))...)
			}
		}
	}
	return out
}

// Every statement fits the schema; the schema refuses what the specification
// refuses.
func TestStatementsFitTheSchema(t *testing.T) {
	schema := decode(schemaText)
	verbs := map[string]int{}
	for _, line := range statements(t) {
		v := decode(line)
		for _, f := range checkSchema(schema, schema, v, "statement") {
			t.Errorf("%s\nin %s", f, line)
		}
		verbs[v["verb"].(map[string]any)["id"].(string)]++
	}
	for _, w := range []string{"attempted", "answered", "passed", "failed"} {
		if verbs["http://adlnet.gov/expapi/verbs/"+w] == 0 {
			t.Errorf("no statement says %s: %v", w, verbs)
		}
	}
	line := string(statements(t)[1])
	for from, to := range map[string]string{
		`"verb":`: `"verbum":`, `"homePage":"https`: `"homePage":"h ttps`, `"duration":"PT`: `"duration":"P T`,
		`"timestamp":"2`: `"timestamp":"x`, `"objectType":"Agent"`: `"objectType":"Person"`, `"registration":"`: `"registration":"zz`,
		`"interactionType":"`: `"interactionType":"essay`,
	} {
		if !strings.Contains(line, from) {
			t.Errorf("%s is not in %s", from, line)
			continue
		}
		v := decode([]byte(strings.Replace(line, from, to, 1)))
		if len(checkSchema(schema, schema, v, "statement")) == 0 {
			t.Errorf("%s was accepted", to)
		}
	}
}

// The identity in them is a random local one, and the same result gives the same
// statements.
func TestStatementsAreStable(t *testing.T) {
	ls, rs := results(t)
	ids := map[string]bool{}
	for i, r := range rs {
		a, _ := json.Marshal(xapi.Statements(r, ls[i]))
		b, _ := json.Marshal(xapi.Statements(r, ls[i]))
		if !bytes.Equal(a, b) {
			t.Error("two statements of one result differ")
		}
		for _, s := range xapi.Statements(r, ls[i]) {
			if ids[s.ID] {
				t.Errorf("id %s twice", s.ID)
			}
			ids[s.ID] = true
			if !strings.HasPrefix(s.Actor.Account.Name, "local-") {
				t.Errorf("account %q", s.Actor.Account.Name)
			}
		}
	}
	if fmt.Sprint(rs[0].Student) == fmt.Sprint(rs[1].Student) {
		t.Error("two students have one name")
	}
}
