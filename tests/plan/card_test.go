//go:build full

package plan_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// TestCardPrintsOnOnePage prints session cards through a browser: one A4 page each,
// also with a long title and with an empty window.
func TestCardPrintsOnOnePage(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatal("the full tests need chromium: ", err)
	}
	dir := t.TempDir()
	run := func(name string, args ...string) {
		t.Helper()
		cmd := limited.Command(t, 5*time.Minute, name, args...)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", name, err, out)
		}
	}
	program := filepath.Join(dir, "gainwright")
	run("go", "build", "-o", program, "gainwright/cmd/gainwright")
	long := "title=" + strings.Repeat("The winter the chain froze, as everybody tells it. ", 3)
	for name, args := range map[string][]string{
		"plain": nil,
		"long":  {"--set", long, "--limiter", "before", "--set", "microphone.proximity=true", "--mic", "condenser", "--distance", "0.2"},
		"empty": {"--set", long, "--distance", "0.6", "--set", "room.noise_dba=40"},
	} {
		out := filepath.Join(dir, name)
		run(program, append([]string{"plan", "--sessions", "1000", "--out", out}, args...)...)
		pdf := filepath.Join(dir, name+".pdf")
		run(browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-pdf-header-footer",
			"--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, "file://"+filepath.Join(out, "card.html"))
		b, err := os.ReadFile(pdf)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(b, -1)); n != 1 {
			t.Errorf("%s: %d pages", name, n)
		}
		// A4 is 595.28 by 841.89 points.
		box := regexp.MustCompile(`/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)`).FindSubmatch(b)
		if box == nil {
			t.Fatalf("%s: no size of the page", name)
		}
		w, _ := strconv.ParseFloat(string(box[1]), 64)
		h, _ := strconv.ParseFloat(string(box[2]), 64)
		if w < 594 || w > 597 || h < 841 || h > 843 {
			t.Errorf("%s: page of %g by %g points", name, w, h)
		}
		if dst := os.Getenv("GAINWRIGHT_ARTEFACTS"); dst != "" {
			if err := os.WriteFile(filepath.Join(dst, "card-"+name+".pdf"), b, 0o666); err != nil {
				t.Error(err)
			}
		}
	}
}
