//go:build full

package browser

import (
	"archive/tar"
	"compress/gzip"
	"crypto/sha512"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// The axe-core that judges: one version, so that a verdict changes with the page and
// not with the week, and its hash as the registry states it.
const (
	axeVersion = "4.14.1"
	axeSHA512  = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
)

// axe fetches axe-core from npm with npm's own client, once; the copy is kept in the
// user's cache and never committed. Without it there is no verdict, so the test fails.
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
	file := filepath.Join(dir, "axe-core-"+axeVersion+".tgz")
	whole := func() error {
		b, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		if sum := sha512.Sum512(b); base64.StdEncoding.EncodeToString(sum[:]) != axeSHA512 {
			return fmt.Errorf("%s is not axe-core %s: its SHA-512 is %s", file, axeVersion, base64.StdEncoding.EncodeToString(sum[:]))
		}
		return nil
	}
	if whole() != nil {
		cmd := limited.Command(t, 5*time.Minute, "npm", "pack", "--silent", "axe-core@"+axeVersion)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("axe-core could not be fetched from npm, and without it nothing is known about the page's accessibility rules: %v\n%s", err, out)
		}
		if err := whole(); err != nil {
			t.Fatal(err)
		}
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

// judge asks axe-core, which the page has loaded, and reports what it finds.
func (p *page) judge(state string) {
	t := p.t
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

// TestAxe lets axe-core look at the page in every scene: no rule is broken. All its
// rules are asked, those of WCAG 2.2 and its own good practice, but for the colours
// of the mirror, which nobody sees: those of the picture are tested in scenes/ui.
func TestAxe(t *testing.T) {
	source := axe(t)
	p := newPage(t, 1024, 640)
	p.calm()
	p.open(serveScene(t))
	p.js(source)
	if v := eval[string](p, "axe.version"); v != axeVersion {
		t.Fatalf("axe-core says it is %s, not %s", v, axeVersion)
	}
	look := p.judge
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
