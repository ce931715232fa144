//go:build full

package browser

import (
	"archive/tar"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// axe fetches axe-core from npm with npm's own client, once a week; the copy is kept
// in the user's cache and never committed. Without it there is no verdict, so the
// test fails.
func axe(t *testing.T) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(cache, "gainwright-tests", "axe-core")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	have := func() string {
		files, _ := filepath.Glob(filepath.Join(dir, "axe-core-*.tgz"))
		if len(files) == 0 {
			return ""
		}
		return files[len(files)-1]
	}
	file := have()
	if i, err := os.Stat(file); file == "" || err == nil && time.Since(i.ModTime()) > 7*24*time.Hour {
		cmd := exec.Command("npm", "pack", "--silent", "axe-core@latest")
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		if err != nil && file == "" {
			t.Fatalf("axe-core could not be fetched from npm, and without it nothing is known about the page's accessibility rules: %v\n%s", err, out)
		}
		if err != nil {
			t.Logf("npm could not be asked for a newer axe-core, the copy in %s is used: %v", dir, err)
		}
		file = have()
	}
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			t.Fatalf("%s has no package/axe.min.js", file)
		}
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		if h.Name == "package/axe.min.js" {
			b, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			return string(b)
		}
	}
}

// violation is what axe-core found to be wrong.
type violation struct {
	ID, Impact, Help string
	Nodes            []string
}

// TestAxe lets axe-core look at the page in every scene: no rule is broken. All its
// rules are asked, those of WCAG 2.2 and its own good practice, but for the colours
// of the mirror, which nobody sees: those of the picture are tested in scenes/ui.
func TestAxe(t *testing.T) {
	source := axe(t)
	p := newPage(t, 1024, 640)
	p.calm()
	p.open(serveScene(t))
	p.js(source)
	t.Logf("axe-core %s", eval[string](p, "axe.version"))
	look := func(state string) {
		t.Helper()
		p.paints(2)
		time.Sleep(300 * time.Millisecond) // the page follows ten times a second
		p.js(`window.verdict = null; axe.run(document, {rules: {"color-contrast": {enabled: false}}}).then(
			r => window.verdict = {checked: r.passes.length, violations: r.violations.map(v => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.map(n => n.html.slice(0, 240) + " " + n.failureSummary)}))},
			e => window.verdict = {checked: 0, violations: [{id: "axe", impact: "", help: String(e), nodes: []}]})`)
		p.wait("axe-core's verdict", "verdict", 2*time.Minute)
		v := eval[struct {
			Checked    int
			Violations []violation
		}](p, "verdict")
		if v.Checked < 10 {
			t.Errorf("%s: only %d rules had something to look at", state, v.Checked)
		}
		for _, x := range v.Violations {
			t.Errorf("%s: %s (%s): %s\n  %s", state, x.ID, x.Impact, x.Help, strings.Join(x.Nodes, "\n  "))
		}
		t.Logf("%s: %d rules passed, %d broken", state, v.Checked, len(v.Violations))
	}
	look("Set the gain")
	p.use("station.converter")
	look("Set the gain, a station open")
	p.use("drawer.close")
	p.use("A.gain_db", 62)
	p.use("record")
	p.performs(2 * time.Second)
	look("Set the gain, recording")
	p.use("record")
	p.says("status", `Take 1, `, time.Minute)
	p.use("view.result")
	p.use("play")
	p.until("caution.play", 20*time.Second)
	look("Set the gain, the result and a caution")
	p.use("caution.cancel")
	p.use("more")
	look("the page for handing out")
	p.use("more")
	for _, sc := range []struct {
		tab, ready string
	}{{"twin", "twin.answer.first"}, {"mend", "mend.save"}, {"plan", "plan.use"}, {"lessons", "lesson.begin.before-or-after"}, {"practice", "practice.talk"}} {
		p.tab(sc.tab)
		p.until(sc.ready, 3*time.Minute)
		look(sc.tab)
		if sc.tab != "lessons" {
			continue
		}
		p.use("lesson.begin.gain-and-headroom")
		for i := range 3 {
			p.until("lesson.list", 20*time.Second)
			look(fmt.Sprintf("a lesson, step %d", i+1))
			p.step()
		}
	}
	p.noErrors()
}
