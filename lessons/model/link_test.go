package model_test

import (
	"net/url"
	"strings"
	"testing"
	"unicode/utf8"

	"gainwright/lessons/model"
)

// A link comes out as it went in, is one part of an address by net/url's reckoning, and
// loses no lesson when its end is cut off.
func TestLinks(t *testing.T) {
	n := func(v uint64) *uint64 { return &v }
	for _, l := range []model.Link{
		{Lesson: "gain-and-headroom"},
		{Lesson: "gain-and-headroom", Seed: n(0)},
		{Lesson: "mine", Seed: n(3), Name: "Ada", Key: "y5HEM9WZ9jj9LX7E6bQrCBPMwh95_Mm1FXdrTQ1sNc0"},
		{Lesson: "mine", Seed: n(1<<53 - 1), Name: "Änne O'Neill & Söhne #3 + 50 %"},
	} {
		got, ok := model.ReadLink(l.String())
		if !ok || got.String() != l.String() || got.Name != l.Name || got.Key != l.Key || got.Lesson != l.Lesson {
			t.Errorf("%q came out as %q", l, got)
		}
		u, err := url.Parse("https://ferry.example/g/" + l.String())
		if err != nil || u.EscapedFragment() == "" || strings.ContainsAny(l.String(), " '\"<>") {
			t.Errorf("%q: %v", l, err)
		}
	}
	if got := (model.Link{Lesson: "mine", Seed: n(7), Name: "Anna B."}).String(); got != "#lesson=mine&seed=7&name=Anna%20B." {
		t.Errorf("%q", got)
	}
	for in, want := range map[string]string{
		"": "", "#": "", "tab=plan": "", "#lesson=": "", "#lesson=a&seed=x&name=%ZZ": "#lesson=a", "lesson=a&seed=-1": "#lesson=a",
		"#lesson=a&seed=9007199254740992": "#lesson=a", "#lesson=a&name=B%0A%1bC+D": "#lesson=a&name=B%20C%20D",
	} {
		if got, ok := model.ReadLink(in); ok != (want != "") || ok && got.String() != want {
			t.Errorf("%q: %q", in, got)
		}
	}
}

func TestFileNames(t *testing.T) {
	for in, want := range map[string]string{"Anna B.": "Anna-B", "../../etc/passwd": "etc-passwd", "Änne": "Änne", "CON:": "CON", "***": "", "": ""} {
		if got := model.FileName(in); got != want {
			t.Errorf("%q: %q", in, got)
		}
	}
}

func FuzzReadLink(f *testing.F) {
	f.Add("#lesson=a&seed=1&name=b")
	f.Add("#lesson=%F0%9F&name=\x00\u202e")
	f.Fuzz(func(t *testing.T, s string) {
		l, ok := model.ReadLink(s)
		if !ok {
			return
		}
		again, ok := model.ReadLink(l.String())
		if !ok || again.String() != l.String() || utf8.RuneCountInString(l.Name) > model.MaxName {
			t.Fatalf("%q: %q, then %q", s, l, again)
		}
	})
}
