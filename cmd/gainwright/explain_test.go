package main

import (
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/lessons/glossary"
)

func TestExplain(t *testing.T) {
	dir := t.TempDir()
	for args, want := range map[string][]string{
		"explain dBFS":                 {"dBFS (also", "largest number", "Seen: ", "Source: AES17", "See also: full scale"},
		"explain true peak":            {"dBTP", "BS.1770"},
		"explain noise after delivery": {"handed in"},
		"explain":                      {"dBFS", "EIN", "proximity effect"},
	} {
		status, out, errs := call(t, dir, strings.Fields(args)...)
		if status != 0 || errs != "" {
			t.Errorf("%s: %d, %s", args, status, errs)
		}
		for _, w := range want {
			if !strings.Contains(out, w) {
				t.Errorf("%s: no %q in\n%s", args, w, out)
			}
		}
		for _, l := range strings.Split(out, "\n") {
			if len([]rune(l)) > 100 {
				t.Errorf("%s: a line of %d characters", args, len([]rune(l)))
			}
		}
	}
	status, out, errs := call(t, dir, "explain", "headrom")
	if status != 2 || out != "" || !strings.Contains(errs, "did you mean headroom?") {
		t.Errorf("a slip: %d, %q, %q", status, out, errs)
	}
	if status, _, errs := call(t, dir, "explain", "xylophone"); status != 2 || !strings.Contains(errs, "gainwright explain lists them all") {
		t.Errorf("an unknown word: %d, %q", status, errs)
	}
	_, out, _ = call(t, dir, "explain", "EIN", "--json")
	if j := clitest.ReadJSON(t, out); j["id"] != "ein" || j["says"] == "" || j["seen"] == "" {
		t.Errorf("JSON: %v", j)
	}
	_, out, _ = call(t, dir, "explain", "--json")
	if j := clitest.ReadJSON(t, out); len(j["terms"].([]any)) != len(glossary.Terms()) {
		t.Errorf("JSON of all: %.200s", out)
	}
}
