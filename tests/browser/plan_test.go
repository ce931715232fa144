//go:build full

package browser

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// A hundred thousand simulated hours in the browser, beside a scene that goes on:
// how long they take and how long the page's own thread is held at a time are
// printed. Machines differ, so that the bounds are generous: what they refuse is a
// scene that freezes.
func TestPlanInTheBrowser(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1280, 720)
	p.first(`window.held = []; new PerformanceObserver(l => { for (const e of l.getEntries()) held.push(e.duration); }).observe({entryTypes: ["longtask"]});`)
	p.open(url)
	p.js(`held.length = 0`)
	began := time.Now()
	frames := eval[float64](p, "gainwright.stats().frames")
	p.use("tab.plan")
	first := p.says("plan.work", `[1-9] ?\d* ?\d+ simulated sessions`, time.Minute)
	t.Logf("after %.1f s: %s", time.Since(began).Seconds(), first)
	done := p.says("plan.work", `: 100 000 simulated sessions`, 4*time.Minute)
	took := time.Since(began).Seconds()
	n := eval[float64](p, "gainwright.stats().frames") - frames
	held := eval[[]float64](p, `held.length ? [held.length, Math.max(...held)] : [0, 0]`)
	load, _ := os.ReadFile("/proc/loadavg")
	t.Logf("after %.1f s: %s; %.0f frames meanwhile; the page's thread held over 50 ms %.0f times, at most %.0f ms; load %s",
		took, done, n, held[0], held[1], strings.TrimSpace(string(load)))
	if n < 2*took {
		t.Errorf("%.0f frames in %.0f s: the scene froze", n, took)
	}
	if held[1] > 1000 {
		t.Errorf("the page's thread was held for %.0f ms", held[1])
	}
	// What it found is told in words, to a screen reader too.
	status := p.says("status", `dB`, 20*time.Second)
	t.Log(status)
	if !regexp.MustCompile(`\d`).MatchString(status) {
		t.Errorf("the plan says %q", status)
	}
	p.shot("plan-1280x720")
	p.same("with the plan made")

	// Another distance is another conversation's gain: the curves follow at once,
	// the sessions are not simulated again.
	before := p.node("plan.curves").Value
	p.use("plan.distance_m", 20)
	p.wait("other curves", `gainwright.nodes().find(n => n.id == "plan.curves").value != `+strconv.Quote(before), 30*time.Second)
	p.noErrors()
}
