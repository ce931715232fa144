//go:build full

package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"gainwright/tests/limited"
)

const root = "../.."

// page is a browser's tab and what went wrong in it.
type page struct {
	t      *testing.T
	ctx    context.Context
	mu     sync.Mutex
	errors []string
	close  func() // ends the browser before the test ends
}

// newPage starts a browser. There is no test without one.
func newPage(t *testing.T, width, height int, more ...chromedp.ExecAllocatorOption) *page {
	t.Helper()
	path := ""
	for _, n := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(n); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		t.Fatal("no Chromium found: install it (Debian: apt-get install chromium), or run the tests without the tag \"full\"")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path),
		chromedp.NoSandbox,
		chromedp.Flag("headless", "new"),
		chromedp.Flag("use-gl", "angle"),
		chromedp.Flag("use-angle", "swiftshader"),
		chromedp.Flag("enable-unsafe-swiftshader", true),
		chromedp.Flag("disable-gpu", false),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("force-color-profile", "srgb"),
		chromedp.WindowSize(width, height),
	)
	dir, ended := later(t)
	opts = append(append(opts, chromedp.UserDataDir(dir)), more...)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(ended)
	t.Cleanup(stop)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(end)
	t.Cleanup(func() { leave(ctx) })
	p := &page{t: t, ctx: ctx, close: func() { end(); stop() }}
	t.Cleanup(func() {
		if s := p.busy(); s > 0 {
			t.Logf("processors were busy for the browser for %.1f s", s)
		}
	})
	if err := chromedp.Listen(ctx, p.hear); err != nil {
		t.Fatalf("starting Chromium: %v", err)
	}
	p.do(chromedp.EmulateViewport(int64(width), int64(height), coarse()))
	// What the page's own policy refuses would else be in the browser's log only.
	p.first(`addEventListener("securitypolicyviolation", e => console.error("refused by policy: " + e.violatedDirective + " " + e.blockedURI.slice(0, 60)))`)
	// As at a later visit, which shows all scenes.
	p.first(`try { localStorage.setItem("gainwright.everything", "1") } catch {}`)
	return p
}

// leave ends a browser as its user does, so that it keeps what it would keep; one that asks
// back, or does not answer, is ended by its test.
func leave(ctx context.Context) {
	left := make(chan struct{})
	go func() {
		chromedp.Cancel(ctx)
		close(left)
	}()
	select {
	case <-left:
	case <-time.After(5 * time.Second):
	}
}

// coarse gives the page's screen a quarter of the pixels, unless pictures are made for
// people to look at: without a graphics card most of a browser's time goes into painting,
// and what is tested is laid out in the same places.
func coarse() chromedp.EmulateViewportOption {
	if long() {
		return chromedp.EmulateScale(1)
	}
	return chromedp.EmulateScale(0.5)
}

// hear notes what goes wrong in the page.
func (p *page) hear(ev any) {
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		p.note("exception: " + (&chromedp.ExceptionError{ExceptionDetails: ev.ExceptionDetails}).Error())
	case *log.EventEntryAdded:
		if ev.Entry.Level == log.EntryLevelError && ev.Entry.Source == log.EntrySourceSecurity {
			p.note("refused: " + ev.Entry.Text)
		}
	case *runtime.EventConsoleAPICalled:
		var s []string
		for _, a := range ev.Args {
			s = append(s, string(a.Value))
		}
		if ev.Type == runtime.ConsoleAPICalledTypeError {
			p.note("console: " + strings.Join(s, " "))
		}
	}
}

func (p *page) note(s string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.errors = append(p.errors, s)
}

// noErrors fails the test if the page complained.
func (p *page) noErrors() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, e := range p.errors {
		p.t.Errorf("in the page: %s", e)
	}
	p.errors = nil
}

// patience is how long one step in the browser may take.
const patience = time.Minute

func (p *page) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.noErrors()
		p.t.Fatal(err)
	}
}

// js runs a script for what it does.
func (p *page) js(script string) {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](script))
}

// eval evaluates an expression in the page.
func eval[T any](p *page, js string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		p.noErrors()
		p.t.Fatalf("%.200s: %v", js, err)
	}
	return v
}

// wait waits until an expression is true.
func (p *page) wait(what, js string, within time.Duration) {
	p.t.Helper()
	end := time.Now().Add(within)
	for !eval[bool](p, "!!("+js+")") {
		if time.Now().After(end) {
			p.shot("timeout")
			p.noErrors()
			p.t.Fatalf("after %v still not: %s; the page says %q", within, what, eval[string](p, "document.body.innerText.slice(0,500)"))
		}
		time.Sleep(50 * time.Millisecond)
	}
}

// open loads an address and waits for the first picture.
func (p *page) open(url string) {
	p.t.Helper()
	p.do(chromedp.Navigate(url))
	p.wait("the first picture", "window.gainwright && gainwright.ready", 3*time.Minute)
}

// shot keeps a picture of the page in artefacts/, which git ignores.
func (p *page) shot(name string) {
	p.t.Helper()
	png, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		p.t.Error(err)
		return
	}
	dir := filepath.Join(root, "artefacts")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.t.Error(err)
		return
	}
	file := filepath.Join(dir, "browser-"+name+".png")
	if err := os.WriteFile(file, png, 0o644); err != nil {
		p.t.Error(err)
	}
}

// key presses a key as a user does; names are those of package kb.
func (p *page) key(name string) {
	p.t.Helper()
	p.do(chromedp.KeyEvent(name))
}

type node struct {
	ID, Role, Name, Value, Hint, Why string
	Now, Min, Max, Step              float64
	Checked, Disabled, Focus         bool
	Bounds                           struct{ X, Y, W, H float64 }
}

// nodes returns what the program says there is.
func (p *page) nodes() (ns []node) {
	p.t.Helper()
	s := eval[string](p, "JSON.stringify(gainwright.nodes())")
	if err := json.Unmarshal([]byte(s), &ns); err != nil {
		p.t.Fatalf("nodes: %v in %.200s", err, s)
	}
	return ns
}

func (p *page) node(id string) node {
	p.t.Helper()
	for _, n := range p.nodes() {
		if n.ID == id {
			return n
		}
	}
	p.t.Fatalf("there is no node %q", id)
	return node{}
}

// element is what the page has for a node.
type element struct {
	ID, Tag, Type, Role, Label, ValueText, Description, Text, Value string
	Disabled, Tab, Selected, Pressed                                string
	Min, Max, Now                                                   string
	Checked                                                         bool
	X, Y, W, H                                                      float64
}

func (p *page) elements() []element {
	p.t.Helper()
	return eval[[]element](p, `[...document.querySelectorAll("#gainwright-controls [data-id]")].map(e => {
		const a = n => e.getAttribute(n) || "", b = e.getBoundingClientRect();
		return {ID: a("data-id"), Tag: e.tagName, Type: a("type"), Role: a("role"), Label: a("aria-label"), ValueText: a("aria-valuetext"),
			Description: a("aria-description"), Text: e.children.length ? "" : e.textContent, Value: e.value === undefined ? "" : String(e.value), Disabled: a("aria-disabled"), Tab: a("tabindex"),
			Selected: a("aria-selected"), Pressed: a("aria-pressed"), Min: a("min") || a("aria-valuemin"), Max: a("max") || a("aria-valuemax"), Now: a("aria-valuenow"),
			Checked: !!e.checked, X: b.x, Y: b.y, W: b.width, H: b.height};
	})`)
}

// different compares the page's elements with the program's nodes. Both are read
// while the program may go on; so one that moves is looked at again.
func (p *page) different() (diffs []string) {
	p.t.Helper()
	for range 20 {
		if diffs = compare(p.nodes(), p.elements()); len(diffs) == 0 {
			return nil
		}
		time.Sleep(150 * time.Millisecond)
	}
	return diffs
}

func compare(ns []node, es []element) (diffs []string) {
	bad := func(format string, args ...any) { diffs = append(diffs, fmt.Sprintf(format, args...)) }
	if len(ns) != len(es) {
		bad("%d nodes, %d elements", len(ns), len(es))
	}
	for i := range min(len(ns), len(es)) {
		n, e := ns[i], es[i]
		if n.ID != e.ID {
			bad("place %d: node %q, element %q", i, n.ID, e.ID)
			continue
		}
		same := func(what, got, want string) {
			if got != want {
				bad("%s: %s is %q, want %q", n.ID, what, got, want)
			}
		}
		number := func(what, got string, want float64) {
			var v float64
			if _, err := fmt.Sscan(got, &v); err != nil || math.Abs(v-want) > 1e-6*(1+math.Abs(want)) {
				bad("%s: %s is %q, want %v", n.ID, what, got, want)
			}
		}
		label := n.Name
		if n.Value != "" {
			label += ", " + n.Value
		}
		tag := map[string]string{"slider": "INPUT range", "radio": "INPUT radio", "checkbox": "INPUT checkbox", "button": "BUTTON button", "tab": "BUTTON button tab",
			"heading": "H2", "text": "P", "status": "P", "group": "DIV group", "meter": "DIV meter", "img": "DIV img", "textbox": "TEXTAREA"}[n.Role]
		same("the element", strings.Join(strings.Fields(e.Tag+" "+e.Type+" "+e.Role), " "), tag)
		switch n.Role {
		case "slider":
			same("the label", e.Label, n.Name)
			same("the value", e.ValueText, n.Value)
			number("the least", e.Min, n.Min)
			number("the most", e.Max, n.Max)
			if n.Step > 0 {
				var v float64
				fmt.Sscan(e.Value, &v)
				if math.Abs(v-n.Now) > n.Step/2+1e-9 {
					bad("%s: stands at %s, want %v", n.ID, e.Value, n.Now)
				}
			} else {
				number("the number", e.Value, n.Now)
			}
		case "meter":
			same("the label", e.Label, n.Name)
			same("the value", e.ValueText, n.Value)
			number("the number", e.Now, min(max(n.Now, n.Min), n.Max))
		case "textbox":
			same("the label", e.Label, n.Name)
			same("the text", e.Value, n.Value)
		case "heading", "text", "status":
			want := n.Name
			if n.Value != "" && n.Value != n.Name {
				want = strings.TrimPrefix(n.Name+": "+n.Value, ": ")
			}
			same("the text", e.Text, want)
		default:
			same("the label", e.Label, label)
		}
		switch n.Role {
		case "radio", "checkbox":
			if e.Checked != n.Checked {
				bad("%s: checked is %v", n.ID, e.Checked)
			}
		case "tab":
			same("selected", e.Selected, fmt.Sprint(n.Checked))
		}
		if want := map[bool]string{true: "true"}[n.Disabled]; e.Disabled != want {
			bad("%s: disabled is %q, want %q", n.ID, e.Disabled, want)
		}
		hint := n.Hint
		if n.Disabled && n.Why != "" {
			hint = n.Why
		}
		same("the description", e.Description, hint)
		if (e.Tab == "0") != n.Focus {
			bad("%s: tabindex is %q, focus %v", n.ID, e.Tab, n.Focus)
		}
		if n.Role != "group" {
			for _, d := range []float64{e.X - n.Bounds.X, e.Y - n.Bounds.Y, e.W - max(n.Bounds.W, 1), e.H - max(n.Bounds.H, 1)} {
				if math.Abs(d) > 0.2 {
					bad("%s: at %v %v %v %v, want %v", n.ID, e.X, e.Y, e.W, e.H, n.Bounds)
					break
				}
			}
		}
	}
	return diffs
}

// frameRate measures pictures a second while something moves.
func (p *page) frameRate(d time.Duration) (frames, paints float64) {
	p.t.Helper()
	type stats struct{ Frames, Paints float64 }
	a := eval[stats](p, "gainwright.stats()")
	began := time.Now()
	time.Sleep(d)
	b := eval[stats](p, "gainwright.stats()")
	s := time.Since(began).Seconds()
	return (b.Frames - a.Frames) / s, (b.Paints - a.Paints) / s
}

// compiled compiles a program of this folder for the browser; support is the script that
// starts such programs.
func compiled(t *testing.T, pkg string) (wasm, support string) {
	t.Helper()
	wasm, support, err := compiledTo(t, t.TempDir(), pkg)
	if err != nil {
		t.Fatalf("building the test scene: %v", err)
	}
	return wasm, support
}

func compiledTo(t *testing.T, dir, pkg string) (wasm, support string, err error) {
	t.Helper()
	wasm = filepath.Join(dir, "scene.wasm")
	// With the flags of the scene itself, so that what both have is compiled once.
	flags, err := os.ReadFile(filepath.Join(root, "cmd/gainwright/internal/serve/gcflags.txt"))
	if err != nil {
		return "", "", err
	}
	args := []string{"build", "-trimpath", "-ldflags", "-s -w", "-o", wasm}
	for _, f := range strings.Fields(string(flags)) {
		args = append(args, "-gcflags="+f)
	}
	cmd := limited.Command(t, 10*time.Minute, "go", append(args, pkg)...)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", "", fmt.Errorf("%w\n%s", err, out)
	}
	goroot, err := limited.Command(t, 5*time.Minute, "go", "env", "GOROOT").Output()
	if err != nil {
		return "", "", err
	}
	return wasm, filepath.Join(strings.TrimSpace(string(goroot)), "lib/wasm/wasm_exec.js"), nil
}

// demoScene is compiled for the first test that asks for it.
var demoScene struct {
	sync.Once
	dir, wasm, support string
	err                error
}

// demo serves the window's test App with the program's own page.
func demo(t *testing.T) string {
	t.Helper()
	demoScene.Do(func() {
		if demoScene.dir, demoScene.err = os.MkdirTemp("", "gainwright-demo-"); demoScene.err == nil {
			demoScene.wasm, demoScene.support, demoScene.err = compiledTo(t, demoScene.dir, "./demoscene")
		}
	})
	if demoScene.err != nil {
		t.Fatalf("building the test scene: %v", demoScene.err)
	}
	wasm, support := demoScene.wasm, demoScene.support
	files := http.FileServer(http.Dir(filepath.Join(root, "cmd/gainwright/internal/serve/page")))
	mux := http.NewServeMux()
	mux.Handle("/", files)
	mux.HandleFunc("/wasm_exec.js", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFile(w, r, support)
	})
	mux.HandleFunc("/scene.wasm", func(w http.ResponseWriter, r *http.Request) {
		i, err := os.Stat(wasm)
		if err != nil {
			http.Error(w, err.Error(), 500)
			return
		}
		w.Header().Set("Gainwright-Size", fmt.Sprint(i.Size()))
		w.Header().Set("Content-Type", "application/wasm")
		http.ServeFile(w, r, wasm)
	})
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s.URL
}

func trim(v float64) string { return fmt.Sprintf("%g", v) }

// first runs a script before the page's own.
func (p *page) first(js string) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, cdppage.AddScriptToEvaluateOnNewDocument, cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: js}); err != nil {
		p.t.Fatal(err)
	}
}
