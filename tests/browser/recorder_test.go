//go:build full

package browser

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"

	"gainwright/sim/identify"
	"gainwright/sounds/codec"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// recording is what a recorder of this test makes of a sound of the series at a gain: noise
// before and after it, a hard ceiling and, where it is on, a limiter behind that.
func recording(t *testing.T, path string, step identify.Step, mark, gainDB, seconds float64, limited bool) {
	t.Helper()
	x, err := series.Sound(step, mark)
	if err != nil {
		t.Fatal(err)
	}
	x = x[:min(len(x), int(seconds*series.SoundRate))]
	r := rand.New(rand.NewPCG(uint64(step), uint64(mark)))
	g, down := math.Pow(10, gainDB/20), 0.0
	y := make([]float64, len(x)+9000)
	for i := range y {
		if k := i - 4000; k >= 0 && k < len(x) {
			y[i] = 0.01 * x[k]
		}
		y[i] = min(max(g*(y[i]+1e-5*r.NormFloat64())+4e-5*r.NormFloat64(), -1), 1)
		if limited { // at −8 dBFS: 2 ms down, 150 ms up
			if want := max(0, 20*math.Log10(math.Abs(y[i])+1e-9)+8); want > down {
				down += 0.01 * (want - down)
			} else {
				down += 0.0001389 * (want - down)
			}
			y[i] *= math.Pow(10, -down/20)
		}
	}
	data, err := codec.WAVBytes(series.SoundRate, [][]float64{y}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestRecorderInTheBrowser: recordings of the series, chosen at once, are read while the
// page goes on, tell the recorder, and are handed out as equipment file; with
// GAINWRIGHT_LONG they are there after a reload, and the pair is treated and handed out as a page.
func TestRecorderInTheBrowser(t *testing.T) {
	dir, saved := t.TempDir(), t.TempDir()
	var files []string
	for _, f := range []struct {
		name    string
		step    identify.Step
		mark    float64
		gain    float64
		seconds float64
	}{{"d.wav", identify.On, 10, 46, 14}, {"a.wav", identify.Steps, 10, 31.2, 9}, {"c.wav", identify.Off, 10, 46, 14}, {"b.wav", identify.Steps, 0, 0, 9}} {
		path := filepath.Join(dir, f.name)
		recording(t, path, f.step, f.mark, f.gain, f.seconds, f.step == identify.On)
		files = append(files, path)
	}
	p := newPage(t, 1280, 720)
	p.calm()
	if _, err := chromedp.Call(p.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: saved}); err != nil {
		t.Fatal(err)
	}
	p.open(serveScene(t))
	p.tab("recorder")
	p.js(`document.querySelector("#gainwright-file").addEventListener("click", e => { window.many = e.target.multiple; e.preventDefault(); })`)
	p.use("file.open")
	p.wait("many files to be asked for", "window.many === true", 20*time.Second)
	began := time.Now()
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), files))
	// While the page works hard the nodes may not be told at once.
	tells := func(what, node, pattern string, within time.Duration) {
		t.Helper()
		p.wait(what, fmt.Sprintf(`!!gainwright.nodes()?.some(n => n.id == %q && !n.disabled && /%s/i.test(n.value))`, node, pattern), within)
	}
	tells("the recordings to be read", "recorder.stop", ".*", 20*time.Second)
	frames := eval[float64](p, "gainwright.stats().frames")
	tells("the limiter", "recorder.tells.limiter", "after the converter", 3*time.Minute)
	read := time.Since(began)
	if n := eval[float64](p, "gainwright.stats().frames") - frames; n < 2*read.Seconds() {
		t.Errorf("%g frames in %.1f s: the page stands while it reads", n, read.Seconds())
	}
	tells("the gain", "recorder.tells.gain", "mark 10, 31", 20*time.Second)
	p.use("recorder.save")
	kept := func(name string) string {
		t.Helper()
		path := filepath.Join(saved, name)
		for end := time.Now().Add(time.Minute); ; time.Sleep(50 * time.Millisecond) {
			if st, err := os.Stat(path); err == nil && st.Size() > 0 {
				return path
			}
			if time.Now().After(end) {
				t.Fatalf("%s is not saved", name)
			}
		}
	}
	data, err := os.ReadFile(kept("my-recorder.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if r, err := equipment.Read("my-recorder.yaml", data); err != nil || len(r.Marks) != 2 || r.Limiter == nil || r.Limiter.Place != "after_converter" {
		t.Errorf("%v\n%s", err, data)
	}
	t.Logf("four recordings are read after %.1f s; %s", read.Seconds(), machine())
	p.shot("recorder")
	p.noErrors()
	if !long() {
		return // the treatments take their time
	}
	tells("all four to be kept", "recorder.kept", "^4 recordings and what they told are kept", time.Minute)
	// Loaded again, the page has the recordings, reads them again, and knows what they told at once.
	began = time.Now()
	p.reload()
	p.tab("recorder")
	tells("what was kept", "recorder.kept", "kept in this browser", time.Minute)
	p.wait("the equipment file to be there", `!!gainwright.nodes()?.some(n => n.id == "recorder.save" && !n.disabled)`, time.Minute)
	tells("the limiter", "recorder.tells.limiter", "after the converter", 3*time.Minute)
	tells("the gain", "recorder.tells.gain", "mark 10, 31", time.Minute)
	t.Logf("after a reload all is known after %.1f s", time.Since(began).Seconds())
	tells("all treatments", "recorder.handout", ".*", 3*time.Minute)
	t.Logf("the pair is treated after %.1f s", time.Since(began).Seconds())
	p.same("recorder")
	p.use("recorder.handout")
	// The page that is handed out switches among players that need nothing else.
	p.do(chromedp.Navigate("file://" + kept("limiter-off-and-on.html")))
	p.wait("the players", `[...document.querySelectorAll("audio")].length == 8 && [...document.querySelectorAll("audio")].every(a => a.readyState > 0 && a.duration > 7)`, time.Minute)
	p.js(`document.getElementById("play").click(); document.querySelector("[data-sound='5']").click()`)
	p.wait("the sixth to be heard alone", `(s => s.length == 8 && s.every((a, i) => a.muted == (i != 5)))([...document.querySelectorAll("audio")])`, 20*time.Second)
	p.noErrors()
}
