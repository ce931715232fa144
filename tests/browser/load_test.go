//go:build full

package browser

import (
	"testing"
	"time"
)

// From the page's load to the first picture that answers: at first, and when the
// browser has kept what it loaded.
func TestLoadTime(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.first(`addEventListener("gainwright-ready", () => requestAnimationFrame(() => { window.readyAt = performance.now(); }), {once: true});`)
	var ready []float64
	for i := range 4 {
		p.open(url)
		p.wait("the next picture", "window.readyAt", time.Minute)
		ready = append(ready, eval[float64](p, "readyAt/1000"))
		sent := eval[float64](p, `performance.getEntriesByName(location.href + "scene.wasm")[0].transferSize`)
		t.Logf("load %d: a picture after %.2f s; %.0f bytes sent for the scene; %s", i+1, ready[i], sent, machine())
		if i > 0 && sent > 10000 {
			t.Errorf("the scene was sent again")
		}
		time.Sleep(3 * time.Second) // for the browser to keep what it compiled
	}
	p.noErrors()
}
