//go:build full

package browser

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gainwright/tests/limited"
)

var program struct {
	sync.Once
	path, dir string
	err       error
}

func TestMain(m *testing.M) {
	code := m.Run()
	for _, d := range []string{program.dir, demoScene.dir, kept.dir} {
		if d != "" {
			os.RemoveAll(d)
		}
	}
	os.Exit(code)
}

// serveScene starts the program itself, as a user does, and returns the address
// that it prints. The build it makes is kept in the user's cache.
func serveScene(t *testing.T) string {
	t.Helper()
	return serveFrom(t, root, "--port", samePort(t))
}

// serveFrom serves the scene of the source in dir, with more options.
func serveFrom(t *testing.T, dir string, options ...string) string {
	t.Helper()
	return serveBy(t, built(t), dir, options...)
}

// built is the program, as go build makes it.
func built(t *testing.T) string {
	t.Helper()
	program.Do(func() {
		if program.dir, program.err = os.MkdirTemp("", "gainwright-browser-"); program.err != nil {
			return
		}
		program.path = filepath.Join(program.dir, "gainwright")
		cmd := limited.Command(t, 10*time.Minute, "go", "build", "-o", program.path, "./cmd/gainwright")
		cmd.Dir = root
		if out, err := cmd.CombinedOutput(); err != nil {
			program.err = fmt.Errorf("%w\n%s", err, out)
		}
	})
	if program.err != nil {
		t.Fatalf("building gainwright: %v", program.err)
	}
	return program.path
}

// serveBy has a program of ours serve the scene of the source in dir.
func serveBy(t *testing.T, path, dir string, options ...string) string {
	t.Helper()
	began := time.Now()
	cmd := limited.Command(t, time.Hour, path, append([]string{"open", "--no-browser"}, options...)...)
	cmd.Dir = dir
	var log bytes.Buffer
	cmd.Stderr = &log
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	url := make(chan string, 1)
	go func() {
		defer close(url)
		for sc := bufio.NewScanner(out); sc.Scan(); {
			if a := regexp.MustCompile(`http://\S+`).FindString(sc.Text()); a != "" {
				url <- a
			}
		}
	}()
	t.Cleanup(func() {
		cmd.Process.Signal(syscall.SIGINT)
		if err := cmd.Wait(); err != nil {
			t.Errorf("gainwright ended with %v after Ctrl-C\n%s", err, log.Bytes())
		}
	})
	select {
	case a, ok := <-url:
		if !ok {
			t.Fatalf("gainwright printed no address\n%s", log.Bytes())
		}
		t.Logf("served after %.1f s", time.Since(began).Seconds())
		return a
	case <-time.After(10 * time.Minute):
		t.Fatalf("no address after ten minutes\n%s", log.Bytes())
	}
	return ""
}

// use does to a control what assistive technology does: a slider is set, all
// else is clicked.
func (p *page) use(id string, value ...float64) {
	p.t.Helper()
	what := "e.click()"
	if len(value) > 0 {
		what = fmt.Sprintf(`e.value = %g; e.dispatchEvent(new Event("input", {bubbles: true}))`, value[0])
	}
	if !eval[bool](p, fmt.Sprintf(`(() => { const e = document.querySelector('#gainwright-controls [data-id="%s"]'); if (!e) return false; %s; return true; })()`, id, what)) {
		p.t.Fatalf("the page has no control %q", id)
	}
}

// says waits until what an element says matches, and returns it.
func (p *page) says(id, pattern string, within time.Duration) string {
	p.t.Helper()
	js := fmt.Sprintf(`(e => e ? e.getAttribute("aria-valuetext") || e.getAttribute("aria-label") || e.textContent : "")(document.querySelector('#gainwright-controls [data-id="%s"]'))`, id)
	re := regexp.MustCompile(pattern)
	end := time.Now().Add(within)
	for {
		got := eval[string](p, js)
		if re.MatchString(got) {
			return got
		}
		if time.Now().After(end) {
			p.shot("timeout")
			p.noErrors()
			p.t.Fatalf("%s says %q after %v, waiting for %q", id, got, within, pattern)
		}
		time.Sleep(100 * time.Millisecond)
	}
}

// performs waits until the scene has performed for so long. A frame stands for a
// quarter of a second at most, so where drawing is slow that takes longer.
func (p *page) performs(d time.Duration) {
	p.t.Helper()
	frames := eval[float64](p, "gainwright.stats().frames")
	time.Sleep(d)
	p.wait("enough frames", fmt.Sprintf("gainwright.stats().frames >= %g", frames+4*d.Seconds()), 3*time.Minute)
}

func (p *page) live() string {
	p.t.Helper()
	return eval[string](p, `document.querySelector("#gainwright-live").textContent`)
}

func (p *page) same(when string) {
	p.t.Helper()
	if d := p.different(); len(d) > 0 {
		p.t.Errorf("%s the mirror differs from what the program says:\n%s", when, strings.Join(d, "\n"))
	}
}

// TestHost is what the program is for, by its accessible controls alone: too
// much gain and a laugh leave overs; with less gain the very same laugh has none.
func TestHost(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1280, 720, cold(t))
	began := time.Now()
	p.open(url)
	t.Logf("first picture %.1f s after the page was asked for", time.Since(began).Seconds())
	transfer := eval[[]float64](p, `(e => [e.transferSize, e.decodedBodySize])(performance.getEntriesByType("resource").find(e => e.name.includes("scene.wasm")))`)
	t.Logf("scene.wasm: %.2f MB sent, %.2f MB of code", transfer[0]/1e6, transfer[1]/1e6)
	// All that a first visit loads, as it is sent: 5 MiB at most.
	total := eval[float64](p, `performance.getEntriesByType("resource").concat(performance.getEntriesByType("navigation")).reduce((n, e) => n + e.transferSize, 0)`)
	t.Logf("all together: %.3f MiB", total/(1<<20))
	if total < transfer[0] || total > 5<<20 {
		t.Errorf("the scene is %.0f bytes to download, more than 5 MiB", total)
	}
	p.same("at first")
	p.shot("scene-1280x720")

	// take records with a gain. A performance that is new is ended by hand after
	// some seconds; one that is given again ends where it ended before.
	take := func(gain float64, again bool) (overs, status string) {
		t.Helper()
		p.use("A.gain_db", gain)
		p.says("A.gain_db", fmt.Sprintf("^%.1f dB$", gain), 20*time.Second)
		p.use("record")
		p.says("status", "(?i)recording", 20*time.Second)
		if !again {
			p.use("event.laugh")
			p.performs(6 * time.Second)
			p.use("record")
		}
		status = p.says("status", `^(Result: )?Take \d+, `, 2*time.Minute)
		return p.says("A.overs", "over", 20*time.Second), status
	}

	overs, status := take(62, false)
	t.Logf("62 dB: %s | %s", overs, status)
	if !regexp.MustCompile(`[1-9]\d* overs?, longest .* ms`).MatchString(overs) {
		t.Errorf("62 dB of gain and a laugh: %q", overs)
	}
	if p.live() == "" {
		t.Error("nothing was announced")
	}
	p.same("after the first take")
	p.shot("scene-overs")

	p.use("again") // the same performance, to the sample
	overs, status = take(30, true)
	t.Logf("30 dB: %s | %s", overs, status)
	if !strings.Contains(overs, "no overs") {
		t.Errorf("the same laugh with 30 dB of gain: %q", overs)
	}
	p.same("after the second take")
	p.shot("scene-no-overs")

	// The keyboard alone: to the gain with Tab, up with an arrow.
	p.js(`document.activeElement.blur(); gainwright.apply({id: "", do: "focus"})`)
	p.wait("no focus", `gainwright.focused() == ""`, 20*time.Second)
	for i := 0; ; i++ {
		p.key(kb.Tab)
		if at := eval[string](p, `document.activeElement.getAttribute("data-id") || ""`); at == "A.gain_db" {
			break
		}
		if i > 40 {
			t.Fatal("Tab does not get to the gain")
		}
	}
	before := p.node("A.gain_db").Now
	p.key(kb.ArrowUp)
	p.wait("the arrow key", fmt.Sprintf(`gainwright.nodes().find(n => n.id == "A.gain_db").now > %g`, before), 20*time.Second)
	if got := p.node("A.gain_db"); got.Now != before+got.Step {
		t.Errorf("one arrow key moved the gain from %v to %v, a step is %v", before, got.Now, got.Step)
	}

	// The pointer on the canvas: a limiter's switch.
	b := p.node("A.limiter.off").Bounds
	p.do(chromedp.MouseClickXY(b.X+b.W/2, b.Y+b.H/2))
	p.wait("the limiter off", `gainwright.nodes().find(n => n.id == "A.limiter.off").checked`, 20*time.Second)
	p.same("after keyboard and pointer")
	p.noErrors()
}

// The scene on a projector and in a window smaller than the smallest picture, light
// and with large text: pictures to be looked at, and the mirror where the picture is.
func TestSizes(t *testing.T) {
	url := serveScene(t)
	for _, s := range []struct{ w, h int }{{1280, 720}, {800, 500}} {
		p := newPage(t, s.w, s.h)
		p.do(chromedp.EmulateViewport(int64(s.w), int64(s.h))) // pictures to be looked at
		p.open(url)
		p.use("A.gain_db", 64)
		p.use("event.laugh")
		p.says("A.overs", `[1-9]\d* overs?`, 2*time.Minute)
		size := fmt.Sprintf("%dx%d", s.w, s.h)
		if s.w >= 1024 { // below, the picture is shrunk and so is the mirror
			p.same("at " + size)
		}
		p.shot("size-" + size)
		if s.w == 1280 {
			p.use("theme")
			p.wait("the other theme", `(c => c && !c.includes("Light"))(localStorage.getItem("gainwright.theme"))`, 20*time.Second)
			time.Sleep(time.Second)
			p.shot("light")
			p.use("text_size")
			p.use("text_size")
			time.Sleep(2 * time.Second)
			p.shot("light-large-text")
			p.same("with large text")
		}
		frames, paints := p.frameRate(4 * time.Second)
		t.Logf("%s: %.1f frames a second, %.1f painted; %s", size, frames, paints, eval[string](p, `JSON.stringify(gainwright.stats())`))
		p.noErrors()
	}
}

// A recording of the user's own, by the page's file control; and a take saved.
func TestFiles(t *testing.T) {
	url := serveScene(t)
	p := newPage(t, 1280, 720)
	p.open(url)
	// The control asks for a file: the page's own chooser opens.
	p.js(`window.asked = 0; document.querySelector("#gainwright-file").addEventListener("click", e => { window.asked++; e.preventDefault(); })`)
	p.use("file.open")
	p.wait("the file chooser", `window.asked == 1`, 20*time.Second)
	if a := eval[string](p, `document.querySelector("#gainwright-file").accept`); !strings.Contains(a, ".wav") {
		t.Errorf("the chooser takes %q", a)
	}
	dir := t.TempDir()
	bad := filepath.Join(dir, "notes.wav")
	if err := os.WriteFile(bad, []byte("not a sound file"), 0o644); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), []string{bad}))
	p.wait("what is wrong with the file", `document.querySelector("#gainwright-live").textContent.includes("notes.wav")`, 30*time.Second)
	t.Logf("a file that is none: %q", p.live())
	good := filepath.Join(dir, "mooring.wav")
	if err := os.WriteFile(good, tone(48000, 4), 0o644); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), []string{good}))
	p.wait("the recording", `document.querySelector("#gainwright-controls").textContent.includes("mooring") || document.querySelector("#gainwright-live").textContent.includes("mooring")`, 60*time.Second)
	t.Logf("a recording: %q", p.live())
	p.same("with a recording")
	p.shot("own-recording")
	p.noErrors()
}

// tone is a WAV file of a tone that swells, 16 bit mono.
func tone(rate, seconds int) []byte {
	n := rate * seconds
	b := make([]byte, 44+2*n)
	le := binary.LittleEndian
	copy(b, "RIFF")
	le.PutUint32(b[4:], uint32(len(b)-8))
	copy(b[8:], "WAVEfmt ")
	le.PutUint32(b[16:], 16)
	le.PutUint16(b[20:], 1)
	le.PutUint16(b[22:], 1)
	le.PutUint32(b[24:], uint32(rate))
	le.PutUint32(b[28:], uint32(2*rate))
	le.PutUint16(b[32:], 2)
	le.PutUint16(b[34:], 16)
	copy(b[36:], "data")
	le.PutUint32(b[40:], uint32(2*n))
	for i := range n {
		t := float64(i) / float64(rate)
		v := 12000 * math.Sin(2*math.Pi*180*t) * (0.2 + 0.8*math.Abs(math.Sin(math.Pi*t)))
		le.PutUint16(b[44+2*i:], uint16(int16(v)))
	}
	return b
}
