package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/tests/trust"
)

func TestPage(t *testing.T) {
	dir := t.TempDir()
	rec, page := filepath.Join(dir, "r.jsonl"), filepath.Join(dir, "TRUST.md")
	good := `{"area":"loudness","what":"signal 1","source":"Tech 3341","expected":"-23","got":"-22.993","tolerance":"0.1","unit":"LUFS"}` + "\n"
	bad := `{"area":"loudness","what":"signal 2","source":"Tech 3341","expected":"-33","got":"-22.993","tolerance":"0.1","unit":"LUFS"}` + "\n"
	t.Setenv(trust.Env, "")
	for _, c := range []struct {
		name, record string
		status       int
		says         string
	}{
		{"holds", good, 0, ""},
		{"fails", good + bad, 1, "1 of the checks do not hold"},
		{"empty", "", 2, "no checks"},
		{"broken", good + "{", 2, "line 2"},
	} {
		os.WriteFile(rec, []byte(c.record), 0o600)
		os.Remove(page)
		var out, errs bytes.Buffer
		if got := run([]string{"--in", rec, "--out", page}, &out, &errs); got != c.status || !strings.Contains(errs.String(), c.says) {
			t.Errorf("%s: status %d, %q", c.name, got, errs.String())
		}
		b, err := os.ReadFile(page)
		if c.status == 2 {
			if err == nil {
				t.Errorf("%s: wrote a page from a bad record", c.name)
			}
		} else if !strings.Contains(string(b), "| signal 1 | -23 ±0.1 | LUFS | -22.993 | 0.007 | Tech 3341 | yes |") {
			t.Errorf("%s: page is\n%s", c.name, b)
		}
	}
	var out, errs bytes.Buffer
	if run(nil, &out, &errs) != 2 || run([]string{"--nonsense"}, &out, &errs) != 2 || run([]string{"--help"}, &out, &errs) != 0 {
		t.Error("wrong use must end with status 2, --help with 0")
	}
}
