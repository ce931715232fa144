//go:build full

package browser

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
)

//go:embed testdata/walk.js
var walkJS string

// walked is what testdata/walk.js tells.
type walked struct {
	Fallen                           string
	Late                             bool
	Idle                             float64
	Log, First, Missed, Off, Pressed []string
}

// fewest is how many controls of its own, by their IDs, each scene has had pressed at
// least: four fifths of the fewest seen when this was written (119, 21, 39, 69, 45,
// 34, and 9 of “Your recorder”). A walk that reaches fewer has
// lost its way.
var fewest = map[string]int{"tab.gain": 95, "tab.twin": 16, "tab.mend": 31, "tab.plan": 55, "tab.lessons": 36, "tab.practice": 27, "tab.recorder": 7, "tab.voice": 3}

// TestEveryControl presses every control of every scene, as the accessible mirror
// shows them, under the policy that the program serves. Nothing may be refused,
// thrown or told as an error, and the scene must not stop. Long work is begun and
// stopped, not awaited.
func TestEveryControl(t *testing.T) {
	p := newPage(t, 1280, 720)
	p.calm()
	p.inFront()
	p.first(`addEventListener("click", e => { if (e.target.type == "file") e.preventDefault(); }, true)`)
	dir := t.TempDir()
	if _, err := chromedp.Call(p.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir}); err != nil {
		t.Fatal(err)
	}
	p.open(serveScene(t))
	began := time.Now()
	const ids = `[...document.querySelectorAll("#gainwright-controls %s")].map(e => e.getAttribute("data-id"))`
	tabs := eval[[]string](p, fmt.Sprintf(ids, "[role=tab]"))
	if len(tabs) < 5 {
		t.Fatalf("tabs %q", tabs)
	}
	// What every scene has is pressed in the first alone.
	var common []string
	for i, tab := range tabs {
		p.tab(strings.TrimPrefix(tab, "tab."))
		p.paints(2)
		there := eval[[]string](p, fmt.Sprintf(ids, "[data-id]"))
		if i == 0 {
			common = there
		}
		common = slices.DeleteFunc(common, func(id string) bool { return !slices.Contains(there, id) })
	}
	done, presses := []string{}, 0
	list := func(v []string) string { b, _ := json.Marshal(v); return string(b) }
	for _, tab := range tabs {
		t.Run(strings.TrimPrefix(tab, "tab."), func(t *testing.T) {
			defer func(old *testing.T) { p.t = old }(p.t)
			p.t = t
			at := time.Now()
			w := strict[walked](p, fmt.Sprintf("(%s)(%q, %s, %s, 300)", walkJS[strings.Index(walkJS, "async ("):], tab, list(common), list(done)), 16*time.Minute)
			own := map[string]bool{}
			for _, key := range w.Pressed {
				if f := strings.Fields(key); f[0] == tab {
					own[f[1]] = true
				}
			}
			t.Logf("%d presses in %.1f s, %.1f s of them waiting: %d controls of its own, %d keys in all so far", len(w.Log), time.Since(at).Seconds(), w.Idle, len(own), len(w.Pressed))
			t.Logf("pressed: %s", strings.Join(w.Log, "; "))
			t.Logf("not reached again: %q", w.Missed)
			t.Logf("never to be used: %q", w.Off)
			done = w.Pressed
			presses += len(w.Log)
			p.noErrors()
			if w.Fallen != "" {
				t.Fatal(w.Fallen)
			}
			if w.Late {
				t.Errorf("the walk did not end")
			}
			if len(w.First) > 0 {
				t.Errorf("shown at first and not pressed: %q", w.First)
			}
			if len(own) < fewest[tab] || fewest[tab] == 0 {
				t.Errorf("only %d controls of its own were pressed, want %d", len(own), fewest[tab])
			}
		})
	}
	files, err := os.ReadDir(dir)
	t.Logf("%d presses of %d keys in %.0f s; %d files saved (%v); %s", presses, len(done), time.Since(began).Seconds(), len(files), err, machine())
	p.noErrors()
}
