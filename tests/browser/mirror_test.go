//go:build full

package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Every kind of control, in a small scene: the mirror is what the program says,
// and each way of using it arrives.
func TestMirror(t *testing.T) {
	p := newPage(t, 1024, 640)
	p.open(demo(t))
	if d := p.different(); len(d) > 0 {
		t.Fatalf("the mirror differs:\n%s", strings.Join(d, "\n"))
	}
	p.shot("mirror")

	// Assistive technology sets a slider's value and clicks a button.
	p.js(`{const e = document.querySelector("[data-id=gain]"); e.value = 41.5; e.dispatchEvent(new Event("input", {bubbles: true}));}`)
	p.wait("the gain at 41.5 dB", `gainwright.nodes().find(n => n.id == "gain").now == 41.5`, 5*time.Second)
	for _, id := range []string{"record", "matched", "after", "tab-two"} {
		p.js(`document.querySelector("[data-id=` + id + `]").click()`)
	}
	p.wait("the clicks", `(g => g("record").value == "1 takes" && g("matched").checked && g("after").checked && !g("off").checked && g("tab-two").checked)(id => gainwright.nodes().find(n => n.id == id))`, 5*time.Second)
	if d := p.different(); len(d) > 0 {
		t.Errorf("after using it, the mirror differs:\n%s", strings.Join(d, "\n"))
	}
	if n := eval[int](p, `document.querySelectorAll("#gainwright-controls [role=tablist] > [role=tab]").length`); n != 2 {
		t.Errorf("%d tabs are in a list of tabs, want 2", n)
	}
	if !eval[bool](p, `document.querySelector("[data-id=strip]").contains(document.querySelector("[data-id=gain]"))`) {
		t.Error("the gain is not within its group")
	}
	if got := eval[string](p, `document.querySelector("#gainwright-live").textContent`); got != "take 1" {
		t.Errorf("the live region says %q", got)
	}

	// Tab goes through what can be focused, in order, and the picture follows.
	p.js(`document.activeElement.blur(); gainwright.apply({id: "", do: "focus"})`)
	p.wait("no focus", `gainwright.focused() == ""`, 5*time.Second)
	var order []string
	for _, n := range p.nodes() {
		if n.Focus {
			order = append(order, n.ID)
		}
	}
	for i, id := range order {
		p.key(kb.Tab)
		if got := eval[string](p, `document.activeElement.getAttribute("data-id") || document.activeElement.tagName`); got != id {
			t.Fatalf("Tab %d is at %q, want %q", i+1, got, id)
		}
		p.wait("the focus in the picture at "+id, `gainwright.focused() == "`+id+`"`, 5*time.Second)
		switch id {
		case "gain":
			before := p.node("gain").Now
			p.key(kb.ArrowUp)
			p.wait("the arrow key", `gainwright.nodes().find(n => n.id == "gain").now > `+trim(before), 5*time.Second)
			if got := p.node("gain").Now; got != before+0.5 {
				t.Errorf("one arrow key moved the gain from %v to %v: it came twice or not as a step", before, got)
			}
		case "record":
			p.key(" ")
			p.key(kb.Enter)
			p.wait("Space and Enter", `gainwright.nodes().find(n => n.id == "record").value == "3 takes"`, 5*time.Second)
			time.Sleep(300 * time.Millisecond)
			if v := p.node("record").Value; v != "3 takes" {
				t.Errorf("the keys came more than once: %s", v)
			}
		}
	}

	// The pointer goes through the mirror to the canvas; the page's focus follows
	// the picture's.
	p.do(chromedp.MouseClickXY(490, 140))
	p.wait("the focus on the button", `document.activeElement.getAttribute("data-id") == "record"`, 5*time.Second)
	// A press is not cut short by the focus going from one element to another.
	if n := eval[int](p, `gainwright.stats().cancels`); n != 0 {
		t.Errorf("%d presses were cancelled", n)
	}
	// Released outside of the page: the press still ends.
	p.do(chromedp.MouseEvent(chromedp.MousePressed, 100, 100, chromedp.ButtonLeft),
		chromedp.MouseEvent(chromedp.MouseMoved, -50, -50, chromedp.ButtonLeft),
		chromedp.MouseEvent(chromedp.MouseReleased, -50, -50, chromedp.ButtonLeft))
	p.wait("the end of the press", `gainwright.stats().pressed == 0`, 5*time.Second)

	// A finger does what the mouse does.
	taps := eval[int](p, `gainwright.stats().touches`)
	p.do(chromedp.TapXY(490, 140))
	p.wait("the finger", fmt.Sprintf(`gainwright.stats().touches > %d && gainwright.stats().pressed == 0`, taps), 5*time.Second)
	p.wait("the focus on the button", `gainwright.focused() == "record"`, 5*time.Second)

	// A file by the dialogue.
	file := filepath.Join(t.TempDir(), "ferry.wav")
	if err := os.WriteFile(file, make([]byte, 1234), 0o644); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), []string{file}))
	p.wait("the file", `gainwright.nodes().find(n => n.id == "said").value == "ferry.wav, 1234 bytes"`, 5*time.Second)

	// Intents from a test, and their errors.
	if got := eval[string](p, `gainwright.apply({id: "gain", do: "set", value: 99})`); !strings.Contains(got, "out of 0 to 60 dB") {
		t.Errorf("a value out of range: %q", got)
	}
	if got := eval[string](p, `gainwright.apply(7)`); got == "" {
		t.Error("nonsense was taken")
	}
	if d := p.different(); len(d) > 0 {
		t.Errorf("in the end the mirror differs:\n%s", strings.Join(d, "\n"))
	}
	p.shot("mirror-used")
	p.noErrors()
}

// Without what it needs the page says so.
func TestPageSaysWhatIsMissing(t *testing.T) {
	url := demo(t)
	const noWebGL = `HTMLCanvasElement.prototype.getContext = () => null`
	for name, c := range map[string]struct{ js, want, console string }{
		"WebAssembly": {`delete window.WebAssembly`, "no WebAssembly", ""},
		"WebGL":       {noWebGL, "no WebGL 2", "webgl2 failed"},
		// Where the scene is long in coming it is asked before.
		"WebGL, slow": {noWebGL + `; fetch = () => new Promise(() => {})`, "no WebGL 2", ""},
		"server":      {`window.fetch = () => Promise.reject(new TypeError("Failed to fetch"))`, "Is gainwright still running", ""},
	} {
		p := newPage(t, 800, 600)
		p.first(c.js)
		p.do(chromedp.Navigate(url))
		p.wait("the message about "+name, `document.body.innerText.includes("`+c.want+`")`, time.Minute)
		p.shot("without-" + name)
		p.mu.Lock()
		if c.console != "" && len(p.errors) == 1 && strings.Contains(p.errors[0], c.console) {
			p.errors = nil // the program's own words
		}
		p.mu.Unlock()
		p.noErrors()
	}
}

// When the program falls the page says so, and the console has the reason as an
// error, where tests look.
func TestFallIsTold(t *testing.T) {
	p := newPage(t, 800, 600)
	p.open(demo(t))
	p.js(`setTimeout(() => gainwright.apply({id: "fall", do: "press"}))`)
	p.wait("the message", `document.body.innerText.includes("The scene has stopped.") && document.body.innerText.includes("the demo falls")`, 20*time.Second)
	p.shot("fallen")
	p.mu.Lock()
	told := strings.Join(p.errors, "\n")
	p.errors = nil
	p.mu.Unlock()
	for _, want := range []string{"the scene has stopped", "panic: the demo falls", "demo.(*App).Apply"} {
		if !strings.Contains(told, want) {
			t.Errorf("the console's errors lack %q:\n%s", want, told)
		}
	}
}

// What the browser throws in the middle of an event is told and ends nothing.
func TestThrownIsTold(t *testing.T) {
	p := newPage(t, 800, 600)
	p.first(`HTMLInputElement.prototype.click = function() { if (this.type == "file") throw new Error("no dialogue today"); HTMLElement.prototype.click.call(this); }`)
	p.open(demo(t))
	p.js(`document.querySelector("[data-id=open]").click()`)
	for i := 0; ; i++ {
		p.mu.Lock()
		told := len(p.errors)
		p.mu.Unlock()
		if told > 0 {
			break
		}
		if i > 100 {
			t.Fatal("nothing in the console")
		}
		time.Sleep(50 * time.Millisecond)
	}
	p.mu.Lock()
	p.errors = nil
	p.mu.Unlock()
	takes := p.node("record").Value
	p.js(`document.querySelector("[data-id=record]").click()`)
	p.wait("the next take", `gainwright.nodes().find(n => n.id == "record").value != "`+takes+`"`, 10*time.Second)
	p.noErrors()
}
