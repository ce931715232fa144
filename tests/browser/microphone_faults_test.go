//go:build full

package browser

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// permit sets what Chromium says to a page that asks for the microphone.
func (p *page) permit(how browser.PermissionSetting) {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, browser.SetPermission, browser.SetPermissionParams{Permission: &browser.PermissionDescriptor{Name: "microphone"}, Setting: how}); err != nil {
		p.t.Fatal(err)
	}
}

// ends waits until the microphone has ended, which is to be told in one sentence that has words
// in it.
func (p *page) ends(why, words string) {
	p.t.Helper()
	p.wait("the end: "+why, `mic.report().state == 3`, patience)
	got := p.hearing().Error
	p.t.Logf("%s: %q", why, got)
	if !strings.Contains(got, words) || !strings.Contains(got, "open a recording, or take one of the talkers") {
		p.t.Errorf("%s: %q", why, got)
	}
}

// TestMicrophoneRefused: whatever Chromium has against it is told in one sentence, and the page
// asks again when it is told to.
func TestMicrophoneRefused(t *testing.T) {
	url := micScene(t)
	// A Chromium on a machine without sound devices, and one with a made device.
	p := newPage(t, 600, 400)
	p.do(chromedp.Navigate(url))
	p.permit(browser.PermissionSettingGranted)
	p.ask()
	p.ends("no device", "no microphone was found")
	p.js(`navigator.mediaDevices.getUserMedia = async () => { throw new DOMException("Could not start audio source", "NotReadableError"); }`)
	p.ask()
	p.ends("in use", "gives no sound")
	p.js(noBlocks + `delete window.AudioWorkletNode`)
	p.ask()
	p.ends("an old browser", "no audio worklet")
	p.noErrors()
	p.close()

	made := chromedp.Flag("use-fake-device-for-media-stream", true)
	p = newPage(t, 600, 400, made, chromedp.Flag("host-resolver-rules", "MAP ferry.test 127.0.0.1"))
	p.do(chromedp.Navigate(url))
	p.permit(browser.PermissionSettingDenied)
	p.ask()
	p.ends("denied", "does not let this page listen")
	p.permit(browser.PermissionSettingGranted)
	p.ask()
	p.running()
	p.js("mic.close()")
	if in := p.hearing(); in.State != 3 || in.Error != "" {
		t.Errorf("after closing: %+v", in)
	}
	// Plain http, from another computer as far as the browser knows.
	p.do(chromedp.Navigate(strings.Replace(url, "127.0.0.1", "ferry.test", 1)))
	p.ask()
	p.ends("plain http", "over plain http")
	// In a page of another origin that does not lend it, and in one that does.
	for _, lends := range []bool{false, true} {
		allow := map[bool]string{true: ` allow="microphone"`}[lends]
		around := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html")
			fmt.Fprintf(w, `<!doctype html><script>onmessage = e => { window.told = e.data; }</script><iframe src="%s"%s></iframe>`,
				strings.Replace(url, "127.0.0.1", "localhost", 1), allow)
		}))
		p.do(chromedp.Navigate(around.URL))
		for end := time.Now().Add(patience); !eval[bool](p, `!!window.told`); time.Sleep(200 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal("the page in the frame asks for nothing")
			}
			p.do(chromedp.MouseClickXY(35, 28))
		}
		p.wait("an answer in the frame", `told.state == 3 || told.state == 1`, patience)
		if got := eval[hearing](p, "told"); (got.State == 1) != lends || !lends && !strings.Contains(got.Error, "does not lend it the microphone") {
			t.Errorf("lent: %v; it says %+v", lends, got)
		}
		around.Close()
	}
	p.noErrors()
}

// TestMicrophoneHeldUp: a context that the system holds, a device that goes in the middle, a
// second tab that listens too: what came before stays, and each is told. Only where a context
// brings the sound can the system hold that.
func TestMicrophoneHeldUp(t *testing.T) {
	t.Run("blocks", func(t *testing.T) { heldUp(t, "") })
	t.Run("context", func(t *testing.T) { heldUp(t, noBlocks) })
}

func heldUp(t *testing.T, first string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "talk.wav")
	file, _ := talk(44100, 60)
	if err := os.WriteFile(path, file, 0o644); err != nil {
		t.Fatal(err)
	}
	url := micScene(t)
	p := newPage(t, 600, 400, heardFrom(path)...)
	asked := p.requests()
	p.first(first + `window.contexts = []; const C = window.AudioContext; window.AudioContext = class extends C { constructor(...a) { super(...a); contexts.push(this); } };
		window.tracks = []; const g = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices); navigator.mediaDevices.getUserMedia = w => g(w).then(s => { tracks.push(...s.getTracks()); return s; });`)
	p.do(chromedp.Navigate(url))
	p.ask()
	p.running()
	p.js("record()")
	time.Sleep(time.Second)
	if first != "" {
		p.js("contexts[0].suspend()")
		p.wait("held up", `mic.report().state == 2`, patience)
	}
	before := eval[int](p, "recorded()")
	if before < 24000 {
		t.Errorf("%d frames came in a second", before)
	}
	p.do(chromedp.MouseClickXY(300, 300)) // which has it go on
	p.running()
	p.js("record()")
	time.Sleep(time.Second)
	if n := eval[int](p, "recorded()"); n < 24000 {
		t.Errorf("%d frames came in a second after it was held up", n)
	}

	second := p.another(url)
	second.ask()
	second.running()
	time.Sleep(time.Second)
	for who, q := range map[string]*page{"first": p, "second": second} {
		q.js("record()")
		time.Sleep(time.Second)
		if n, in := eval[int](q, "recorded()"), q.hearing(); n < 24000 || in.State != 1 {
			t.Errorf("the %s of two tabs that listen: %d frames in a second, %+v", who, n, in)
		}
		q.noErrors()
	}
	second.js("mic.close()")

	p.js("record()")
	time.Sleep(time.Second)
	p.js(`clearInterval(timer); tracks[0].stop(); tracks[0].dispatchEvent(new Event("ended"))`)
	p.ends("gone in the middle", "has gone; what it heard until then is kept")
	p.js("took.push(mic.read())")
	if n := eval[int](p, "recorded()"); n < 24000 {
		t.Errorf("of a second before the device went, %d frames are kept", n)
	}
	if s := eval[string](p, "contexts.map(c => c.state).join()"); s != "closed" && (s != "" || first != "") {
		t.Errorf("the context is %s when the device has gone", s)
	}
	p.noErrors()
	asked(url, 4)
}

// requests keeps the browser's own log of the network; what it gives fails the test on whatever
// was asked that is not a file below url, and where less than so many lines are in it.
func (p *page) requests() (check func(url string, least int)) {
	p.t.Helper()
	var mu sync.Mutex
	var asked []string
	if _, err := chromedp.Call(p.ctx, network.Enable, network.EnableParams{}); err != nil {
		p.t.Fatal(err)
	}
	if err := chromedp.Listen(p.ctx, func(ev any) {
		mu.Lock()
		defer mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			asked = append(asked, ev.Request.Method+" "+ev.Request.URL)
		case *network.EventWebSocketCreated:
			asked = append(asked, "socket "+ev.URL)
		}
	}); err != nil {
		p.t.Fatal(err)
	}
	return func(url string, least int) {
		p.t.Helper()
		mu.Lock()
		defer mu.Unlock()
		for _, a := range asked {
			if u, ok := strings.CutPrefix(a, "GET "); !ok || !strings.HasPrefix(u, url) && !strings.HasPrefix(u, "data:") {
				p.t.Errorf("asked of the network: %.80s", a)
			}
		}
		if len(asked) < least {
			p.t.Errorf("the network's log has %d lines", len(asked))
		}
		p.t.Logf("%d requests, each for a file of the page's own", len(asked))
	}
}

// another opens another tab of the same browser.
func (p *page) another(url string) *page {
	p.t.Helper()
	ctx, end := chromedp.NewContext(p.ctx)
	p.t.Cleanup(end)
	q := &page{t: p.t, ctx: ctx, close: end}
	if err := chromedp.Listen(ctx, q.hear); err != nil {
		p.t.Fatal(err)
	}
	q.do(chromedp.Navigate(url))
	return q
}

// TestMicrophoneArchive: what is kept comes again after a reload and in another tab, until it is
// deleted; a browser that is full or forbids it, and a newer page in another tab, are told, and
// nothing is lost.
func TestMicrophoneArchive(t *testing.T) {
	url := micScene(t)
	p := newPage(t, 600, 400)
	open := func(q *page) {
		t.Helper()
		q.wait("the archive's program", `window.mic`, patience)
	}
	says := func(q *page, js, want string) {
		t.Helper()
		if got := eval[string](q, js); got != want && (want == "ok" || !strings.Contains(got, want)) {
			t.Errorf("%s: %q, want %q", js, got, want)
		} else if !strings.HasPrefix(want, "ok") {
			t.Logf("%s: %q", js, got)
		}
	}
	voice := `new TextEncoder().encode("ahoy".repeat(100))`
	p.do(chromedp.Navigate(url))
	open(p)
	says(p, "mic.kept()", "ok")
	says(p, `mic.keep("own.Ilse", `+voice+`)`, "ok")
	p.do(chromedp.Reload())
	open(p)
	q := p.another(url)
	open(q)
	for _, r := range []*page{p, q} {
		says(r, "mic.kept()", "ok own.Ilse")
		says(r, `mic.fetch("own.Ilse")`, "ok "+strings.Repeat("ahoy", 100))
		says(r, `mic.fetch("own.Joss")`, "nothing")
	}
	says(q, `mic.forget("own.Ilse")`, "ok")
	says(p, `mic.fetch("own.Ilse")`, "nothing")
	says(p, `mic.keep("own.Joss", `+voice+`)`, "ok")

	// A full browser breaks the transaction off when it has been asked for. Chromium's own way to
	// set a quota (Storage.overrideQuotaForOrigin) does not hold for its database.
	p.js(`const put = IDBObjectStore.prototype.put, error = Object.getOwnPropertyDescriptor(IDBTransaction.prototype, "error");
		IDBObjectStore.prototype.put = function(...a) { const r = put.apply(this, a); r.onerror = e => e.preventDefault(); this.transaction.abort(); return r; };
		Object.defineProperty(IDBTransaction.prototype, "error", {configurable: true, get: () => new DOMException("full", "QuotaExceededError")});
		window.room = () => { IDBObjectStore.prototype.put = put; Object.defineProperty(IDBTransaction.prototype, "error", error); }`)
	says(p, `mic.keep("own.Joss", new Uint8Array(1000))`, "no room left")
	p.js("room()")
	says(p, "mic.kept()", "ok own.Joss")
	says(p, `mic.fetch("own.Joss")`, "ok "+strings.Repeat("ahoy", 100))

	// A newer page takes the database over; the older one, which had it open, says so.
	if got := eval[string](q, `new Promise(done => { const r = indexedDB.open("gainwright", 2); r.onsuccess = () => { r.result.close(); done("ok"); }; r.onblocked = () => done("blocked"); r.onerror = () => done("failed"); })`); got != "ok" {
		t.Errorf("a newer page's opening is %s", got)
	}
	says(p, "mic.kept()", "a newer version of this page")
	says(p, `mic.keep("own.Maren", `+voice+`)`, "a newer version of this page")
	says(q, `new Promise(done => { const r = indexedDB.open("gainwright", 2); r.onsuccess = () => { const g = r.result.transaction("kept").objectStore("kept").getAllKeys(); g.onsuccess = () => { r.result.close(); done("ok " + g.result.join()); } } })`, "ok own.Joss")
	p.noErrors()

	p = newPage(t, 600, 400)
	p.first(`Object.defineProperty(window, "indexedDB", {value: undefined})`)
	p.do(chromedp.Navigate(url))
	open(p)
	says(p, `mic.keep("own.Maren", `+voice+`)`, "keeps nothing for this page")
	p = newPage(t, 600, 400)
	p.first(`IDBFactory.prototype.open = () => { throw new DOMException("denied", "SecurityError"); }`)
	p.do(chromedp.Navigate(url))
	open(p)
	says(p, "mic.kept()", "keeps nothing for this page")
	p.noErrors()
}
