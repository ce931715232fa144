package xapi_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/internal/trial/play"
	"gainwright/lessons/xapi"
)

// An account's home page is an absolute address on the web; everything in a statement
// that is named by it follows, and the statement is another one.
func TestHomePage(t *testing.T) {
	for in, want := range map[string]string{
		"https://school.example": "https://school.example", "https://school.example/crew/": "https://school.example/crew",
		"http://schule.example/fähre": "http://schule.example/fähre",
		"school.example":              "", "": "", "ftp://school.example": "", "https://": "", "https://a b.example": "", "https://u:p@school.example": "",
		"https://school.example/?a": "", "https://school.example/#a": "", "https://school.example/\n": "", "mailto:a@school.example": "",
	} {
		got, err := xapi.ReadHomePage(in)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%q: %q, %v", in, got, err)
		}
	}
	l := trial.Must(builtin.Load("blind-listening"))
	res, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
	ours, theirs := xapi.Statements(res, l), xapi.StatementsAt("https://school.example/crew", res, l)
	b, _ := json.Marshal(theirs)
	if strings.Contains(string(b), "example.org") || !strings.Contains(string(b), `"homePage":"https://school.example/crew"`) {
		t.Errorf("%s", b)
	}
	for i := range ours {
		if ours[i].ID == theirs[i].ID {
			t.Errorf("statement %d of two homes has one id", i)
		}
	}
}

// Blind hits are a statement's score, and no text in it has marks that nothing draws.
func TestStatementsOfBlindTrials(t *testing.T) {
	l := trial.Must(builtin.Load("blind-listening"))
	res, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
	found := 0
	for _, sp := range res.Steps {
		for _, s := range xapi.Statements(res, l) {
			if !strings.HasSuffix(s.Object.ID, "/"+sp.ID) || len(sp.Answers) == 0 || sp.Kind != "listen" {
				continue
			}
			found++
			b, _ := json.Marshal(s.Result)
			want := fmt.Sprintf(`"raw":%d,"min":0,"max":%d`, sp.Hits, len(sp.Answers))
			if !strings.Contains(string(b), want) || !strings.Contains(string(b), fmt.Sprintf(`/result/blind-hits":%d`, sp.Hits)) {
				t.Errorf("%s in %s", want, b)
			}
		}
	}
	if found == 0 {
		t.Error("no step has blind trials")
	}
	for _, l := range builtin.All() {
		res, _ := play.Through(t, l, trial.Must(builtin.ModelAnswers(l.ID)), 1)
		b, _ := json.Marshal(xapi.Statements(res, l))
		if s := string(b); strings.Contains(s, "___") || strings.Contains(s, "**") || strings.Contains(s, "](") {
			t.Errorf("%s: marks are left in %s", l.ID, s)
		}
	}
}
