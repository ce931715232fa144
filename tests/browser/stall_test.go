//go:build full

package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// hold is what holds up the page, or its audio thread, for so many seconds.
const hold = `
window.hold = {
	// The page is held up, and makes sound meanwhile as in the middle of a picture.
	page: s => {
		const at = performance.now();
		while (performance.now() < at + 1000 * s) { gainwright.breathe(); for (const t = performance.now() + 8; performance.now() < t;); }
		return performance.now() - at;
	},
	// The audio thread gets no time: another processor takes it, and tells how long it had it.
	audio: async s => {
		const name = "hold" + (hold.n = (hold.n || 0) + 1);
		await probe.ctx.audioWorklet.addModule("data:text/javascript," + encodeURIComponent("registerProcessor('" + name + "', class extends AudioWorkletProcessor {" +
			"process() { const at = Date.now(); while (Date.now() < at + 1000 * " + s + "); this.port.postMessage(Date.now() - at); return false; } })"));
		const node = new AudioWorkletNode(probe.ctx, name);
		const held = new Promise(r => { node.port.onmessage = e => r(e.data); });
		connect.call(node, probe.ctx.destination);
		hold.page(s + 1);
		return held;
	},
	// The system takes the sound away, as while a page is hidden or a call comes in.
	context: async s => {
		await probe.ctx.suspend();
		const at = performance.now();
		await new Promise(r => setTimeout(r, 1000 * s));
		const held = performance.now() - at;
		await probe.ctx.resume();
		return held;
	},
};`

// A page that is held up, an audio thread that gets no time, a context that is
// suspended: a second later there is sound, and it stays. Ten seconds of each come with GAINWRIGHT_LONG.
func TestSoundOutlastsStalls(t *testing.T) {
	p := newPage(t, 820, 500)
	p.first(probe + hold)
	p.open(serveScene(t))
	file := filepath.Join(t.TempDir(), "steady.wav")
	if err := os.WriteFile(file, steady(48000, 4), 0o644); err != nil {
		t.Fatal(err)
	}
	p.soundOn()
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), []string{file}))
	p.wait("the recording", `document.body.textContent.includes("steady")`, 60*time.Second)
	p.use("A.limiter.off")
	p.use("listen.level_db", 0)
	p.use("A.gain_db", 20)
	lengths := []float64{0.5, 2}
	if long() {
		lengths = append(lengths, 10)
	}
	for _, s := range lengths {
		for _, what := range []string{"page", "audio", "context"} {
			held := strict[float64](p, fmt.Sprintf("hold.%s(%g)", what, s), patience)
			time.Sleep(time.Second)
			// Ten looks in the second that follows: on a machine with other work a
			// look may fall into a break, but not half of them.
			share := eval[float64](p, `(async () => { let n = 0; await probe.peak(); for (let i = 0; i < 10; i++) { await new Promise(r => setTimeout(r, 100)); if (await probe.peak() > 1e-4) n++; } return n / 10; })()`)
			c := p.counters()
			t.Logf("the %s held up for %g s (%.1f): sound in %.0f %% of the second after the next; so far %.0f breaks, %.0f ms, %.0f ms dropped; queue of %.0f ms; %s",
				what, s, held/1000, 100*share, c.Sound_Breaks, c.Sound_Lost_MS, c.Sound_Dropped_MS, c.Sound_Depth_Frames/48, machine())
			if held < 900*s {
				t.Errorf("the %s was held up for %.1f s only", what, held/1000)
			}
			if share < 0.5 {
				t.Errorf("the %s held up for %g s: sound in %.0f %% of the second after the next", what, s, 100*share)
			}
		}
	}
	p.noErrors()
}
