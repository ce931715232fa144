package main

import (
	"encoding/base64"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

// shouting is a voice-like wave of two seconds, as loud as asked, cut at full scale
// and turned by a gain since.
func shouting(t *testing.T, path string, over, gain float64) {
	t.Helper()
	x := make([]float64, 48000*2)
	for i := range x {
		s := float64(i) / 48000
		v := 0.0
		for h := 1; h < 14; h++ {
			v += math.Sin(2*math.Pi*150*float64(h)*s+float64(h*h)) / float64(h)
		}
		x[i] = gain * max(-1, min(1, over*0.5*v*math.Pow(math.Sin(math.Pi*1.5*s), 2)))
	}
	left := make([]float64, len(x))
	for i := range left {
		left[i] = 0.2 * x[i]
	}
	data, err := sounds.WAVBytes(48000, [][]float64{left, x}, sounds.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

func TestMeterTells(t *testing.T) {
	dir := t.TempDir()
	shouting(t, filepath.Join(dir, "low.wav"), 1.5, 0.4)
	out := must(t, dir, "meter", "low.wav")
	for _, want := range []string{"Clipped earlier and turned down since", "confidence", "  where ", "  means ", "  now ", "Treatments: splice,", "  next time Set the gain before the ceiling about"} {
		if !strings.Contains(out, want) {
			t.Errorf("want %q in\n%s", want, out)
		}
	}
	var v struct{ Files []measured }
	if err := json.Unmarshal([]byte(must(t, dir, "meter", "--json", "low.wav")), &v); err != nil {
		t.Fatal(err)
	}
	m := v.Files[0]
	f := m.find(diagnose.FlatLower)
	if f == nil || f.Next == nil || len(f.Where) == 0 || f.Confidence < 0.9 || m.FlatTops < 20 {
		t.Errorf("%+v", m)
	}
}

func TestMeterReport(t *testing.T) {
	dir := t.TempDir()
	shouting(t, filepath.Join(dir, "loud <b>.wav"), 2, 1)
	must(t, dir, "meter", "--report", "page.html", "loud <b>.wav")
	b, err := os.ReadFile(filepath.Join(dir, "page.html"))
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	for _, want := range []string{"loud &lt;b&gt;.wav", "Badly clipped", "Mind your ears", "what it means", "next time", "<audio controls preload=\"none\" src=\"data:audio/wav;base64,", "src=\"data:image/png;base64,"} {
		if !strings.Contains(page, want) {
			t.Errorf("want %q", want)
		}
	}
	// It needs nothing from elsewhere.
	for _, s := range regexp.MustCompile(`(?:src|href)="([^"]{0,12})`).FindAllStringSubmatch(page, -1) {
		if !strings.HasPrefix(s[1], "data:") {
			t.Errorf("refers to %s", s[1])
		}
	}
	if strings.Contains(page, "http:") || strings.Contains(page, "https:") {
		t.Error("a link leads out of the page")
	}
	// The excerpts begin quietly and stay moderate.
	for _, s := range regexp.MustCompile(`data:audio/wav;base64,([^"]+)`).FindAllStringSubmatch(page, -1) {
		raw, err := base64.StdEncoding.DecodeString(strings.ReplaceAll(s[1], "&#43;", "+"))
		if err != nil {
			t.Fatal(err)
		}
		r, err := sounds.OpenBytes("excerpt.wav", raw)
		if err != nil {
			t.Fatal(err)
		}
		x, err := sounds.ReadAll(r, 1)
		if err != nil {
			t.Fatal(err)
		}
		start, top := 0.0, 0.0
		for i, v := range x[0] {
			if i < 480 {
				start = max(start, math.Abs(v))
			}
			top = max(top, math.Abs(v))
		}
		if top > 0.502 || start > 0.05*top || top == 0 {
			t.Errorf("an excerpt starts at %.3f and reaches %.3f", start, top)
		}
	}
	// A page is not replaced, nor written where the file cannot be read.
	if status, _, errs := call(t, dir, "meter", "--report", "page.html", "loud <b>.wav"); status != 2 || !strings.Contains(errs, "page.html") {
		t.Errorf("%d: %s", status, errs)
	}
	must(t, dir, "meter", "--report", "page.html", "--force", "loud <b>.wav")
	if status, _, _ := call(t, dir, "meter", "--report", "none.html", "none.wav"); status != 2 {
		t.Error("a page of no file")
	}
	if status, _, errs := call(t, dir, "meter", "--report", "page.txt", "loud <b>.wav"); status != 2 || !strings.Contains(errs, ".html") {
		t.Errorf("%d: %s", status, errs)
	}
	if got := names(t, dir); got != "loud <b>.wav page.html" {
		t.Errorf("left behind: %s", got)
	}
}
