//go:build full

package browser

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// TestWatchReloads: a change to a scene's source comes to the page that stands open by
// itself, with the settings as they were; what does not compile is told there, and the
// old scene goes on.
func TestWatchReloads(t *testing.T) {
	src := t.TempDir()
	for _, n := range []string{"go.mod", "go.sum", "cmd/gainwright-scene", "lessons", "scenes", "sim", "sounds"} {
		from := filepath.Join(root, n)
		if i, err := os.Stat(from); err != nil {
			t.Fatal(err)
		} else if i.IsDir() {
			if err := os.CopyFS(filepath.Join(src, n), os.DirFS(from)); err != nil {
				t.Fatal(err)
			}
			continue
		}
		b, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(src, n), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	const was, then = `Title() string { return "Set the gain" }`, `Title() string { return "Set it anew" }`
	file := filepath.Join(src, "scenes/gain/scene.go")
	text, err := os.ReadFile(file)
	if err != nil || strings.Count(string(text), was) != 1 {
		t.Fatalf("%s: %v; where is %s?", file, err, was)
	}
	save := func(s string) time.Time {
		t.Helper()
		if err := os.WriteFile(file, []byte(s), 0o644); err != nil {
			t.Fatal(err)
		}
		return time.Now()
	}
	began := time.Now()
	url := serveFrom(t, src, "--watch")
	p := newPage(t, 1280, 720)
	p.open(url)
	t.Logf("the first picture %.1f s after the start", time.Since(began).Seconds())
	p.use("A.gain_db", 37)
	p.says("A.gain_db", `37\.0 dB`, 20*time.Second)
	saved := save(strings.Replace(string(text), was, then, 1))
	p.through("the changed scene", `window.gainwright && gainwright.ready && gainwright.nodes().some(n => n.id == "tab.gain" && n.name == "Set it anew")`, 3*time.Minute)
	t.Logf("from the saved change to its picture: %.1f s", time.Since(saved).Seconds())
	p.says("A.gain_db", `37\.0 dB`, 20*time.Second)
	saved = save(string(text) + "\nfunc wrong() { undefinedName() }\n")
	p.wait("what is wrong", `/This is the old scene.*scene\.go:\d+:.*undefinedName/.test((document.getElementById("changes") || {}).textContent)`, 3*time.Minute)
	t.Logf("told what is wrong after %.1f s", time.Since(saved).Seconds())
	p.says("A.gain_db", `37\.0 dB`, 20*time.Second)
	p.shot("watch-fault")
	saved = save(strings.Replace(string(text), was, strings.Replace(then, "anew", "right", 1), 1))
	p.through("the mended scene", `window.gainwright && gainwright.ready && gainwright.nodes().some(n => n.id == "tab.gain" && n.name == "Set it right") && !document.getElementById("changes")`, 3*time.Minute)
	t.Logf("from the mended change to its picture: %.1f s", time.Since(saved).Seconds())
	p.noErrors()
}

// through waits as wait does, while the page loads again by itself: a question that
// falls between two pages has no answer.
func (p *page) through(what, js string, within time.Duration) {
	p.t.Helper()
	for end := time.Now().Add(within); ; time.Sleep(50 * time.Millisecond) {
		ctx, cancel := context.WithTimeout(p.ctx, patience)
		yes, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+js+")"))
		cancel()
		if err == nil && yes {
			return
		}
		if time.Now().After(end) {
			p.shot("timeout")
			p.noErrors()
			p.t.Fatalf("after %v still not: %s; %v", within, what, err)
		}
	}
}
