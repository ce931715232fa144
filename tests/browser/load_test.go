//go:build full

package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"gainwright/tests/limited"
)

// tenMbit is a slow line, bytes a second.
const tenMbit = 10e6 / 8

// visits are what some visits of one browser took until the picture was there: the
// first, and then those that find what the browser has kept.
type visits [3]struct {
	after float64 // the request, s
	busy  float64 // of processors, s
}

// timed opens the page in a new browser, once with nothing kept and then again. A rate
// in bytes a second slows the line down.
func timed(t *testing.T, url string, rate float64) (v visits) {
	p := newPage(t, 1024, 640, cold(t))
	p.first(`(() => {
		const look = () => {
			if (document.querySelector("canvas") && !document.getElementById("start")) window.pictureAt = performance.now();
			else requestAnimationFrame(look);
		};
		requestAnimationFrame(look);
	})()`)
	if rate > 0 {
		slow := network.Conditions{Latency: 20, DownloadThroughput: rate, UploadThroughput: rate}
		if _, err := chromedp.Call(p.ctx, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: []*network.Conditions{&slow}}); err != nil {
			t.Fatal(err)
		}
	}
	p.do(chromedp.Navigate("about:blank"))
	for i := range v {
		p.rest() // from its own start, or from keeping what it compiled
		busy := p.busy()
		p.open(url)
		p.wait("the picture", "window.pictureAt", time.Minute)
		v[i].busy = p.busy() - busy
		v[i].after = eval[float64](p, "pictureAt/1000")
		sent := eval[float64](p, `performance.getEntriesByType("resource").find(e => e.name.includes("scene.wasm")).transferSize`)
		if i > 0 && sent > 10000 {
			t.Errorf("the scene was sent again, %.0f bytes", sent)
		}
		time.Sleep(4 * time.Second) // for the browser to begin to keep what it compiled
		p.do(chromedp.Navigate("about:blank"))
	}
	p.noErrors()
	p.close()
	return v
}

// TestFirstPicture measures how long a page takes from the request to the picture, cold
// and when the browser has kept what it loaded. Where GAINWRIGHT_BEFORE names the source
// of another version (git worktree add), that is measured in turn with this one, and the
// ratios are told; GAINWRIGHT_ROUNDS is how often. Nothing is asserted of times. Those of
// processors tell most where a machine is busy with other work.
func TestFirstPicture(t *testing.T) {
	now, before := serveScene(t), ""
	if dir := os.Getenv("GAINWRIGHT_BEFORE"); dir != "" {
		path := filepath.Join(t.TempDir(), "gainwright")
		cmd := limited.Command(t, 10*time.Minute, "go", "build", "-o", path, "./cmd/gainwright")
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("building the version before: %v\n%s", err, out)
		}
		before = serveBy(t, path, dir)
	}
	rounds, err := strconv.Atoi(os.Getenv("GAINWRIGHT_ROUNDS"))
	if err != nil {
		rounds = 1
	}
	for _, line := range []struct {
		name string
		rate float64
	}{{"loopback", 0}, {"10 Mbit/s", tenMbit}} {
		t.Run(line.name, func(t *testing.T) {
			var here, there []visits
			for range rounds {
				if before != "" {
					there = append(there, timed(t, before, line.rate))
				}
				here = append(here, timed(t, now, line.rate))
			}
			for i, what := range []string{"cold", "second visit", "third visit"} {
				t.Logf("%s, %s: the picture after %s; processors busy for %s; %s", line.name, what,
					compared(here, there, func(v visits) float64 { return v[i].after }),
					compared(here, there, func(v visits) float64 { return v[i].busy }), machine())
			}
		})
	}
}

// compared tells what some visits took, and how that is to what others did, if any.
func compared(here, there []visits, of func(visits) float64) string {
	a, all := median(here, of)
	words := fmt.Sprintf("%.2f s (%s)", a, all)
	if len(there) > 0 {
		b, all := median(there, of)
		words += fmt.Sprintf(", before %.2f s (%s), ratio %.2f", b, all, a/b)
	}
	return words
}

// median is the middle one of what visits took, and all of them.
func median(vs []visits, of func(visits) float64) (m float64, all string) {
	var s []float64
	for _, v := range vs {
		s = append(s, of(v))
		all += fmt.Sprintf(" %.2f", of(v))
	}
	slices.Sort(s)
	return s[len(s)/2], all[1:]
}
