//go:build full

package browser

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/heapprofiler"
	"github.com/chromedp/chromedp"
)

// long reports whether the long runs are asked for: tests/all.sh long.
func long() bool { return os.Getenv("GAINWRIGHT_LONG") != "" }

// machine is how busy this machine is, for those who read a measurement.
func machine() string {
	b, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return fmt.Sprintf("%d processors", runtime.NumCPU())
	}
	f := strings.Fields(string(b))
	return fmt.Sprintf("%d processors, load %s of the last minute, %s of five", runtime.NumCPU(), f[0], f[1])
}

// counters are the page's own.
type counters struct {
	Frames, Frame_S, Paints, Goroutines, Heap_MB, Memory_MB, Allocations, Allocated_MB, Collections       float64
	Sound_Breaks, Sound_Lost_MS, Sound_Longest_MS, Sound_Dropped_MS, Sound_Depth_Frames, Sound_Low_Frames float64
	Sound_Frames, Sound_Busy_S, Sound_Late_Pulls, Sound_By_Device, Performance_Missing_Frames             float64
}

func (p *page) counters() counters { p.t.Helper(); return eval[counters](p, "gainwright.stats()") }

// click presses the mouse on a control in the picture, which in a small window is drawn
// smaller than the program measures it.
func (p *page) click(id string) {
	p.t.Helper()
	b, fit := p.node(id).Bounds, eval[float64](p, "gainwright.size().fit")
	p.do(chromedp.MouseClickXY(fit*(b.X+b.W/2), fit*(b.Y+b.H/2)))
}

// soundOn presses the sound's button as a user does and waits until the sound
// device is what moves the performance.
func (p *page) soundOn() {
	p.t.Helper()
	p.click("sound")
	p.wait("sound on", `gainwright.nodes().find(n => n.id == "sound").checked`, 30*time.Second)
	p.wait("sound by the device", `gainwright.stats().sound_by_device == 1`, 60*time.Second)
}

// Sound starts with the user's own press, through the audio worklet, which the
// page's policy has to let in; and the program plays a take.
func TestSound(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.first(`window.contexts = []; const C = window.AudioContext; window.AudioContext = class extends C { constructor(...a) { super(...a); contexts.push(this); } };
		window.worklets = 0; const add = AudioWorklet.prototype.addModule; AudioWorklet.prototype.addModule = function(u) { return add.call(this, u).then(v => { window.worklets++; return v; }); };`)
	p.open(url)
	if s := eval[string](p, `contexts.map(c => c.state).join()`); s != "suspended" {
		t.Errorf("before any press the audio is %q", s)
	}
	p.click("sound")
	p.wait("running audio", `contexts.length == 1 && contexts[0].state == "running" && worklets == 1`, 30*time.Second)
	p.wait("sound on", `gainwright.nodes().find(n => n.id == "sound").checked`, 20*time.Second)
	p.wait("no word about sound starting", `!/starting|No sound/.test(document.querySelector("#gainwright-live").textContent)`, 60*time.Second)
	// The device is the clock now: the performance goes on by its time.
	p.use("record")
	p.says("status", "(?i)recording", 20*time.Second)
	p.performs(4 * time.Second)
	p.use("record")
	status := p.says("status", `^(Result: )?Take \d+, `, time.Minute)
	t.Logf("with sound: %s; %s", status, eval[string](p, `contexts[0].sampleRate + " Hz, " + contexts[0].currentTime.toFixed(1) + " s"`))
	p.noErrors()
}

// Without worklets (an old browser) sound comes late but comes, and that is said;
// without any sound the program goes on and says why.
func TestSoundFallsBack(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.first(`delete window.AudioWorkletNode`)
	p.open(url)
	p.soundOn()
	p.use("more")
	p.wait("the word about sound", `document.querySelector("#gainwright-controls").textContent.includes("without an audio worklet")`, 30*time.Second)
	p.noErrors()

	p = newPage(t, 1024, 640)
	p.first(`delete window.AudioContext; delete window.webkitAudioContext; delete window.AudioWorkletNode`)
	p.open(url)
	p.use("sound")
	p.wait("the word about no sound", `/No sound: /.test(document.querySelector("#gainwright-live").textContent)`, 30*time.Second)
	t.Logf("without Web Audio: %q", p.live())
	p.use("record") // pictures and meters go on
	p.says("status", "(?i)recording", 30*time.Second)
	p.noErrors()
}

// probe listens to what goes to the sound output: how loud it has been, and when
// it first passed a level.
const probe = `
window.probe = {};
const code = "data:text/javascript," + encodeURIComponent("registerProcessor('probe', class extends AudioWorkletProcessor {" +
	"constructor() { super(); this.peak = 0; this.level = Infinity; this.port.onmessage = e => { this.level = e.data; if (!isFinite(this.level)) { this.port.postMessage({peak: this.peak}); this.peak = 0; } }; }" +
	"process([input]) { for (let i = 0; input.length && i < input[0].length; i++) { const v = Math.abs(input[0][i]); this.peak = Math.max(this.peak, v);" +
	"if (v > this.level) { this.level = Infinity; this.port.postMessage({at: currentTime + i / sampleRate}); } } return true; } })");
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function(to, ...more) {
	if (to instanceof AudioDestinationNode && !probe.node) {
		probe.ctx = this.context;
		probe.node = "loading";
		this.context.audioWorklet.addModule(code).then(() => {
			probe.node = new AudioWorkletNode(this.context, "probe");
			connect.call(this, probe.node);
			connect.call(probe.node, to); // or it would not run
		});
	}
	return connect.call(this, to, ...more);
};
// peak is the loudest since it was last asked for.
probe.peak = () => new Promise(done => { probe.node.port.onmessage = e => done(e.data.peak); probe.node.port.postMessage(Infinity); });
// lag does something and gives the seconds until the sound passes a level.
probe.lag = (level, act) => new Promise((done, fail) => {
	const t = setTimeout(() => fail(new Error("the sound did not change")), 30000);
	probe.node.port.onmessage = e => { clearTimeout(t); done(e.data.at - began); };
	probe.node.port.postMessage(level);
	let began;
	const go = () => {
		began = probe.ctx.currentTime;
		const said = act();
		if (said === "busy") setTimeout(go, 1); // a picture is being made
		else if (said) fail(new Error(said));
	};
	setTimeout(go, 50);
});`

// From a setting's change to changed samples at the sound output: a steady tone
// is performed, its gain raised, and the time taken until it is louder there.
func TestSoundFollowsSettings(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.first(probe)
	p.open(url)
	file := filepath.Join(t.TempDir(), "steady.wav")
	if err := os.WriteFile(file, steady(48000, 4), 0o644); err != nil {
		t.Fatal(err)
	}
	p.soundOn()
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), []string{file}))
	p.wait("the recording", `document.body.textContent.includes("steady")`, 60*time.Second)
	p.use("A.limiter.off")
	p.use("listen.level_db", 0)
	if p.node("listen.matched").Checked {
		p.use("listen.matched")
	}
	const low, high = 20, 32
	p.use("A.gain_db", low)
	p.says("A.gain_db", fmt.Sprintf("^%.1f dB$", float64(low)), 20*time.Second)
	time.Sleep(time.Duration(20) * time.Second) // the queue finds its length
	eval[float64](p, "probe.peak()")
	time.Sleep(time.Second)
	peak := eval[float64](p, "probe.peak()")
	if peak < 1e-4 || peak > 0.05 {
		t.Fatalf("the tone comes out with a peak of %v", peak)
	}
	trials := 20
	var direct, touched []float64
	for i := range 2 * trials {
		act := fmt.Sprintf(`() => gainwright.apply({id: "A.gain_db", do: "set", value: %d})`, high)
		to := &direct
		if i%2 == 1 { // as a user does: it waits for the next picture
			act = fmt.Sprintf(`() => { const e = document.querySelector('#gainwright-controls [data-id="A.gain_db"]'); e.value = %d; e.dispatchEvent(new Event("input", {bubbles: true})); }`, high)
			to = &touched
		}
		*to = append(*to, 1000*eval[float64](p, fmt.Sprintf("probe.lag(%g, %s)", 1.5*peak, act)))
		for said := "busy"; said != ""; {
			said = eval[string](p, fmt.Sprintf(`gainwright.apply({id: "A.gain_db", do: "set", value: %d})`, low))
		}
		time.Sleep(time.Duration(600+37*i) * time.Millisecond)
	}
	out := 1000 * eval[float64](p, `probe.ctx.baseLatency + (probe.ctx.outputLatency || 0)`)
	c := p.counters()
	slices.Sort(direct)
	slices.Sort(touched)
	t.Logf("setting to sound: median %.0f ms, from %.0f to %.0f, and the browser's own output %.0f ms; by a control, with the wait for the next picture: median %.0f ms, from %.0f to %.0f",
		direct[trials/2], direct[0], direct[trials-1], out, touched[trials/2], touched[0], touched[trials-1])
	t.Logf("queue of %.0f frames (%.0f ms), fewest left lately %.0f; %.0f breaks, %.0f ms, the longest %.0f ms; %s",
		c.Sound_Depth_Frames, c.Sound_Depth_Frames/48, c.Sound_Low_Frames, c.Sound_Breaks, c.Sound_Lost_MS, c.Sound_Longest_MS, machine())
	p.noErrors()
}

// busyness is how long the page's one thread was held up at a time.
const busyness = `window.held = {n: 0, sum: 0, max: 0}; new PerformanceObserver(l => { for (const e of l.getEntries()) { held.n++; held.sum += e.duration; held.max = Math.max(held.max, e.duration); } }).observe({type: "longtask"});`

// While takes are recorded and played, with sound on, breaks of the sound are
// counted; in five minutes, when long runs are asked for, there is none.
func TestSoundDoesNotBreak(t *testing.T) {
	last := 20 * time.Second
	if long() {
		last = 5 * time.Minute
	}
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.first(busyness)
	p.open(url)
	p.soundOn()
	// The page's first seconds, in which the browser compiles what it runs often,
	// are told apart.
	time.Sleep(10 * time.Second)
	first := p.counters()
	t.Logf("after the first 10 s: %.0f breaks, %.0f ms in all; queue of %.0f ms; %s", first.Sound_Breaks, first.Sound_Lost_MS, first.Sound_Depth_Frames/48, machine())
	p.js(`held.n = held.sum = held.max = 0`)
	began := time.Now()
	deepest := first.Sound_Depth_Frames
	for i := 0; time.Since(began) < last; i++ {
		switch i % 8 {
		case 0:
			p.use("record")
		case 2:
			p.use("event.laugh")
		case 4:
			p.use("record")
		case 5:
			p.use("play")
		case 7:
			p.use("check")
		default:
			p.use("A.gain_db", float64(30+i%8))
		}
		time.Sleep(2 * time.Second)
		if c := p.counters(); c.Sound_Depth_Frames > deepest {
			deepest = c.Sound_Depth_Frames
		}
	}
	c := p.counters()
	spent := time.Since(began).Seconds()
	frames := c.Frames - first.Frames
	held := eval[map[string]float64](p, "held")
	t.Logf("%.0f s: %.0f breaks of the sound, %.0f ms in all, the longest ever %.0f ms; queue now %.0f ms, at most %.0f ms, fewest left lately %.0f frames",
		spent, c.Sound_Breaks-first.Sound_Breaks, c.Sound_Lost_MS-first.Sound_Lost_MS, c.Sound_Longest_MS, c.Sound_Depth_Frames/48, deepest/48, c.Sound_Low_Frames)
	t.Logf("%.1f pictures a second; %.2f s of sound were made, which took %.1f %% of the time; the page was held up for over 50 ms %.0f times, at most %.0f ms; %s",
		frames/spent, (c.Sound_Frames-first.Sound_Frames)/48000, 100*(c.Sound_Busy_S-first.Sound_Busy_S)/spent, held["n"], held["max"], machine())
	t.Logf("the scene's own work: %.2f ms a picture, and for each 60th of a second of sound %.2f ms",
		1000*(c.Frame_S-first.Frame_S)/frames, 1000*(c.Sound_Busy_S-first.Sound_Busy_S)/((c.Sound_Frames-first.Sound_Frames)/800))
	// The count can be believed: sound and breaks together fill the time.
	made := (c.Sound_Frames - first.Sound_Frames) / 48000
	if lost := (c.Sound_Lost_MS - first.Sound_Lost_MS) / 1000; math.Abs(made+lost-spent) > 1+0.03*spent {
		t.Errorf("%.2f s of sound and %.2f s of breaks in %.2f s", made, lost, spent)
	}
	// A short run beside other work proves nothing about this; a long one is made
	// on a machine that has nothing else to do.
	if long() && c.Sound_Breaks > first.Sound_Breaks {
		t.Errorf("the sound broke off %.0f times", c.Sound_Breaks-first.Sound_Breaks)
	}
	p.noErrors()
}

// An hour at the bench must not fill the memory: after a while of standing still
// and changing things what is used is what it was. From minute 1 to minute 10
// when long runs are asked for.
func TestMemoryDoesNotGrow(t *testing.T) {
	warm, last := 20*time.Second, 40*time.Second
	if long() {
		warm, last = time.Minute, 10*time.Minute
	}
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.open(url)
	p.soundOn()
	began := time.Now()
	work := func(until time.Duration) {
		for i := 0; time.Since(began) < until; i++ {
			p.use("A.gain_db", float64(40+2*(i%10)))
			p.use("event.laugh")
			time.Sleep(time.Second)
		}
	}
	type memory struct {
		counters
		live, page float64 // bytes used after a collection: Go's, and the page's own
	}
	look := func() (m memory) {
		m.live = eval[float64](p, "gainwright.collect()")
		if _, err := chromedp.Call(p.ctx, heapprofiler.CollectGarbage, cdp.Empty{}); err != nil {
			t.Fatal(err)
		}
		m.page = eval[float64](p, "performance.memory.usedJSHeapSize")
		m.counters = p.counters()
		return m
	}
	work(warm) // caches fill
	a := look()
	work(last)
	b := look()
	frames := b.Frames - a.Frames
	t.Logf("after %v and %v: %.2f and %.2f MB used by Go after a collection, %.1f and %.1f MB of memory taken, %.2f and %.2f MB of JavaScript, %.0f and %.0f goroutines; %s",
		warm, last, a.live/1e6, b.live/1e6, a.Memory_MB, b.Memory_MB, a.page/1e6, b.page/1e6, a.Goroutines, b.Goroutines, machine())
	t.Logf("between: %.0f pictures, %.0f allocations and %.0f bytes each, %.0f collections", frames,
		(b.Allocations-a.Allocations)/frames, 1e6*(b.Allocated_MB-a.Allocated_MB)/frames, b.Collections-a.Collections)
	if b.live > a.live*1.05+1e6 {
		t.Errorf("what Go uses grows: from %.2f to %.2f MB", a.live/1e6, b.live/1e6)
	}
	if b.page > a.page*1.05+1e6 {
		t.Errorf("what JavaScript uses grows: from %.2f to %.2f MB", a.page/1e6, b.page/1e6)
	}
	if b.Goroutines > a.Goroutines+2 {
		t.Errorf("goroutines grow: from %.0f to %.0f", a.Goroutines, b.Goroutines)
	}
	// Wasm memory never shrinks, and garbage may come to as much as is used before it
	// is collected (GOGC is 100): a first minute may not have seen that yet.
	if b.Memory_MB > max(a.Memory_MB*1.1+4, 2.5*b.live/1e6) {
		t.Errorf("memory grows: from %.1f to %.1f MB", a.Memory_MB, b.Memory_MB)
	}
	p.noErrors()
}

// steady is a WAV file of a tone, 16 bit mono, that goes round without a step.
func steady(rate, seconds int) []byte {
	b := tone(rate, seconds)
	for i := range rate * seconds {
		v := int16(8000 * math.Sin(2*math.Pi*200*float64(i)/float64(rate)))
		binary.LittleEndian.PutUint16(b[44+2*i:], uint16(v))
	}
	return b
}
