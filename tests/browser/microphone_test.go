//go:build full

package browser

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// policies are what the program's own server lets a page do, as its source says.
func policies(t *testing.T) (content, permissions string) {
	t.Helper()
	src, err := os.ReadFile(filepath.Join(root, "cmd/gainwright/internal/serve/handler.go"))
	if err != nil {
		t.Fatal(err)
	}
	c := regexp.MustCompile(`PagePolicy = "(.*)" \+\s+"(.*)"\n`).FindSubmatch(src)
	m := regexp.MustCompile(`"Permissions-Policy", "(.*)"`).FindSubmatch(src)
	if c == nil || m == nil {
		t.Fatal("the server's policies are not where they were")
	}
	return string(c[1]) + string(c[2]), string(m[1])
}

// micScene serves micscene, in a page with a button, under the headers of the program's own
// server.
func micScene(t *testing.T) string {
	t.Helper()
	wasm, support := compiled(t, "./micscene")
	policy, may := policies(t)
	files := map[string]string{
		"/": `<!doctype html><title>mic</title><link rel="icon" href="data:,"><script src="wasm_exec.js"></script><script src="run.js"></script><button id="ask">ask</button>`,
		"/run.js": `const go = new Go();
WebAssembly.instantiateStreaming(fetch("mic.wasm"), go.importObject).then(r => go.run(r.instance));
addEventListener("DOMContentLoaded", () => { document.getElementById("ask").onclick = () => { mic.ask(); mic.asked = true; }; });
if (parent !== window) setInterval(() => window.mic && mic.asked && parent.postMessage(mic.report(), "*"), 100);
let took = [], timer;
function record() { took = []; timer = setInterval(() => took.push(mic.read()), 100); }
function recorded() { clearInterval(timer); const all = new Float32Array(took.reduce((n, x) => n + x.length, 0)); let at = 0; for (const x of took) { all.set(x, at); at += x.length; } took = all; return all.length; }
function part(from, to) { const b = new Uint8Array(took.slice(from, to).buffer); let s = ""; for (let i = 0; i < b.length; i += 8192) s += String.fromCharCode(...b.subarray(i, i + 8192)); return btoa(s); }`,
	}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		w.Header().Set("Permissions-Policy", may)
		switch p := r.URL.Path; p {
		case "/mic.wasm":
			http.ServeFile(w, r, wasm)
		case "/wasm_exec.js":
			http.ServeFile(w, r, support)
		default:
			text, ok := files[p]
			if !ok {
				http.NotFound(w, r)
				return
			}
			kind := "text/html"
			if strings.HasSuffix(p, ".js") {
				kind = "text/javascript"
			}
			w.Header().Set("Content-Type", kind)
			fmt.Fprint(w, text)
		}
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// heardFrom are options for a Chromium that has a file for its microphone, and asks nobody.
func heardFrom(file string) []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", file+"%noloop")}
}

// talk is a WAV file of something like talk: noise below some 2 kHz that comes in syllables,
// with pauses that are not silent.
func talk(rate, seconds int) (file []byte, x []float64) {
	rng := rand.New(rand.NewPCG(3, 4))
	x = make([]float64, rate*seconds)
	b := make([]byte, 44+2*len(x))
	copy(b, tone(rate, 1)[:44])
	le := binary.LittleEndian
	le.PutUint32(b[4:], uint32(len(b)-8))
	le.PutUint32(b[40:], uint32(2*len(x)))
	var low [8]float64
	k := 1 - math.Exp(-2*math.Pi*2500/float64(rate))
	for i := range x {
		v := rng.NormFloat64()
		for j := range low {
			low[j] += k * (v - low[j])
			v = low[j]
		}
		t := float64(i) / float64(rate)
		v *= 0.8 * (0.2 + math.Pow(math.Sin(math.Pi*3.1*t), 2)*math.Pow(math.Sin(math.Pi*0.37*t+1), 2))
		c := int16(math.Round(max(-1, min(1, v)) * 32767))
		x[i] = float64(c) / 32768
		le.PutUint16(b[44+2*i:], uint16(c))
	}
	return b, x
}

// ask presses the button as a user does.
func (p *page) ask() {
	p.t.Helper()
	p.wait("the microphone's program", `window.mic`, patience)
	p.do(chromedp.Click(chromedp.CSS("#ask")))
}

// hearing is what the microphone tells.
type hearing struct {
	State, Rate, Echo, Noise, Gain int
	Error, Label                   string
	Latency, Breaks, Lost, Drift   float64
}

func (p *page) hearing() hearing { p.t.Helper(); return eval[hearing](p, "mic.report()") }

// running waits until it runs.
func (p *page) running() hearing {
	p.t.Helper()
	p.wait("a microphone that runs", `mic.report().state == 1`, patience)
	return p.hearing()
}

// got is what was recorded since record().
func (p *page) got() (x []float64) {
	p.t.Helper()
	n := eval[int](p, "recorded()")
	const most = 1 << 20
	for at := 0; at < n; at += most {
		b, err := base64.StdEncoding.DecodeString(eval[string](p, fmt.Sprintf("part(%d, %d)", at, at+most)))
		if err != nil {
			p.t.Fatal(err)
		}
		for i := 0; i+4 <= len(b); i += 4 {
			x = append(x, float64(math.Float32frombits(binary.LittleEndian.Uint32(b[i:]))))
		}
	}
	return x
}

// back is y, of 48 kHz, at 44.1 kHz: by the Fourier transform of the whole, which is exact for
// what is far below the band's edge, but near both ends.
func back(y []float64) []float64 {
	y = y[:len(y)/160*160]
	n := len(y) / 160 * 147
	c := fourier.NewFFT(len(y)).Coefficients(nil, y)
	x := fourier.NewFFT(n).Sequence(nil, c[:n/2+1])
	floats.Scale(1/float64(len(y)), x)
	return x
}

// TestMicrophoneHearsAFile: a Chromium whose microphone is a file of a minute brings that file,
// without a frame too many or too few, though the page is held up for three seconds in the
// middle and other programs are at work. Its made device runs at 44.1 kHz and plays a file of
// that rate as it is, from the opening on; the session gets it at 48 kHz. Late, it plays on
// where it was: that is told as a break, and is none in the file.
func TestMicrophoneHearsAFile(t *testing.T) {
	url, path, x := minute(t)
	if h := hearFile(t, url, path, x, false); h.wrong > 0 || h.lags != 1 || h.pieces < 4*(minuteS-6) {
		t.Errorf("of %d pieces %d are not the file's, the others lie in %d places", h.pieces, h.wrong, h.lags)
	}
}

// TestMicrophoneByAContext: a browser that gives no track's blocks brings the sound through a
// context. Where the machine does too much, Chromium's queue before that leaves gaps: then it is
// tried once more, and without a break that is told it has to be the file.
func TestMicrophoneByAContext(t *testing.T) {
	url, path, x := minute(t)
	h := hearFile(t, url, path, x, true)
	if h.breaks > 0 {
		h = hearFile(t, url, path, x, true)
	}
	if h.breaks == 0 && (h.lags != 1 || h.wrong > 0) || h.pieces < 4*(minuteS-6) {
		t.Errorf("%d breaks are told: of %d pieces %d are not the file's, the others lie in %d places", h.breaks, h.pieces, h.wrong, h.lags)
	}
}

const minuteS = 60

// minute is a page that listens, and a file of a minute at 44.1 kHz with what is in it.
func minute(t *testing.T) (url, path string, x []float64) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "talk.wav")
	file, x := talk(44100, minuteS)
	if err := os.WriteFile(path, file, 0o644); err != nil {
		t.Fatal(err)
	}
	return micScene(t), path, x
}

// noBlocks takes from a page the blocks of tracks, as Firefox and Safari have none.
const noBlocks = `delete window.MediaStreamTrackProcessor;`

// heardFile is what came of a file: quarters of a second, how many of them are not the file's to
// 60 dB, in how many places against the file the others lie, and how many breaks were told.
type heardFile struct{ pieces, wrong, lags, breaks int }

// hearFile hears the file of a minute, x, in a page that is held up in the middle.
func hearFile(t *testing.T, url, path string, x []float64, context bool) (h heardFile) {
	t.Helper()
	p := newPage(t, 600, 400, heardFrom(path)...)
	defer p.close()
	if context {
		p.first(noBlocks)
	}
	p.do(chromedp.Navigate(url))
	p.ask()
	in := p.running()
	p.js("record()")
	if in.Rate != 44100 || in.Echo != 1 || in.Noise != 1 || in.Gain != 1 || in.Label == "" {
		t.Errorf("the device tells %+v", in)
	}
	time.Sleep(minuteS / 2 * time.Second)
	p.js(`{ const end = performance.now() + 3000; while (performance.now() < end); }`)
	time.Sleep((minuteS/2 + 1) * time.Second)
	in = p.hearing()
	y := back(p.got())
	p.noErrors()
	h, least, lag := against(x, y)
	h.breaks = int(in.Breaks)
	t.Logf("%.2f s of %s: %d pieces, %d of them not the file's, the others by %.1f dB at least, in %d places, the last %d frames behind; %d breaks of %.3f s are told; %s",
		float64(len(y))/44100, in.Label, h.pieces, h.wrong, least, h.lags, lag, h.breaks, in.Lost, machine())
	return h
}

// against compares what came, y, with the file, x, both at 44.1 kHz: least is by how many dB the
// pieces that are the file's lie above what differs, lag where the last of them lies.
func against(x, y []float64) (h heardFile, least float64, lag int) {
	const piece = 44100 / 4
	// sdr is by how many dB the file lies above what differs from it at frame i of y and so far.
	sdr := func(i, lag int) float64 {
		a, b := x[i-lag:i-lag+piece], y[i:i+piece]
		return 20 * math.Log10(floats.Norm(a, 2)/floats.Distance(a, b, 2))
	}
	far := 2 * 44100
	least = math.Inf(1)
	lags := map[int]bool{}
	for i := piece; i+2*piece < len(y) && i-lag+2*piece < len(x); i += piece {
		if i-lag < 0 {
			continue
		}
		if len(lags) == 0 || sdr(i, lag) < 60 {
			best, at := -math.MaxFloat64, lag
			for l := lag - far; l <= lag+far; l++ {
				if i-l < 0 || i-l+piece > len(x) {
					continue
				}
				a, b := x[i-l:i-l+1024], y[i:i+1024]
				if s := floats.Dot(a, b) / (floats.Norm(a, 2) + 1e-9); s > best {
					best, at = s, l
				}
			}
			if sdr(i, at) >= 60 {
				lag, far = at, 44100/2
			}
		}
		h.pieces++
		if s := sdr(i, lag); s >= 60 {
			lags[lag] = true
			least = min(least, s)
		} else {
			h.wrong++
		}
	}
	h.lags = len(lags)
	return h, least, lag
}
