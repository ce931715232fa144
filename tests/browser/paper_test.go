//go:build full

package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"gainwright/tests/limited"
)

// TestPagesForPaper: what a trainer shows and prints (a class's results, cards with
// links, a handout) breaks no rule of axe-core, the colours included, and is no wider
// than a desk's window, a telephone or a sheet of paper.
func TestPagesForPaper(t *testing.T) {
	dir := t.TempDir()
	run := func(a ...string) {
		t.Helper()
		cmd := limited.Command(t, 5*time.Minute, built(t), append([]string{"lesson"}, a...)...)
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %v\n%s", a, err, out)
		}
	}
	answers, err := filepath.Abs(filepath.Join(root, "lessons/builtin/answers/gain-and-headroom.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "names.csv"), []byte("name,seed\nAda,1\nBo,2\nCleo,3\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "results"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{"Ada", "Bo"} {
		run("run", "gain-and-headroom", "--answers", answers, "--seed", "1", "--name", name, "--out", fmt.Sprintf("results/%d.json", i))
	}
	const site = "https://training.example.org/gain/"
	run("grade", "results", "--roster", "names.csv", "--report", "class.html", "--quiet")
	run("links", "gain-and-headroom", "--roster", "names.csv", "--public-url", site, "--out", "cards.html")
	run("show", "gain-and-headroom", "--seed", "1", "--public-url", site, "--out", "handout.html")
	source := axe(t)
	p := newPage(t, 1280, 720)
	for _, name := range []string{"class", "cards", "handout"} {
		p.do(chromedp.Navigate("file://" + filepath.Join(dir, name+".html")))
		p.wait(name, `document.readyState == "complete" && document.querySelector("h1")`, patience)
		p.js(source)
		for _, w := range []int64{1280, 390} {
			p.do(chromedp.EmulateViewport(w, 720))
			p.judgeBy(fmt.Sprintf("%s, %d wide", name, w), "{}")
			p.fits(fmt.Sprintf("%s, %d wide", name, w))
		}
		// A4 less 1 cm at both sides, at 96 dots an inch.
		p.do(chromedp.EmulateViewport(718, 1000))
		p.medium("print")
		p.fits(name + ", printed")
		p.shot("paper-" + name)
		p.medium("")
	}
	p.noErrors()
}

// fits wants the page to be no wider than its window.
func (p *page) fits(state string) {
	p.t.Helper()
	if w := eval[[2]int](p, "[document.documentElement.scrollWidth, innerWidth]"); w[0] > w[1] {
		p.t.Errorf("%s: %d wide in a window of %d", state, w[0], w[1])
	}
}

// medium has the page styled for a medium; "" is the screen.
func (p *page) medium(m string) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: m}); err != nil {
		p.t.Fatal(err)
	}
}
