//go:build full

package browser

import (
	"fmt"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// beside opens another tab of the same browser.
func (p *page) beside(url string) *page {
	p.t.Helper()
	ctx, end := chromedp.NewContext(p.ctx)
	p.t.Cleanup(end)
	q := &page{t: p.t, ctx: ctx}
	if err := chromedp.Listen(ctx, q.hear); err != nil {
		p.t.Fatal(err)
	}
	q.do(chromedp.EmulateViewport(1280, 720, coarse()))
	q.calm()
	q.open(url)
	return q
}

// front brings the tab before the others, as a user does who changes over: those
// behind make no pictures.
func (p *page) front() {
	p.t.Helper()
	if _, err := chromedp.Call(p.ctx, cdppage.BringToFront, cdp.Empty{}); err != nil {
		p.t.Fatal(err)
	}
}

// reload loads the page anew, as F5 does.
func (p *page) reload() {
	p.t.Helper()
	p.do(chromedp.Reload())
	p.wait("the first picture", "window.gainwright && gainwright.ready", 3*time.Minute)
}

// taken records a take of so many seconds and returns its verdict.
func (p *page) taken(d time.Duration) string {
	p.t.Helper()
	p.use("record")
	p.says("status", `Recording take`, 20*time.Second)
	p.performs(d)
	p.use("record")
	return p.says("status", `^(Result: )?Take \d+, `, 2*time.Minute)
}

var verdictWords = regexp.MustCompile(`Take \d+, [^.]*\.\d s: strip A .*?; strip B [^.]*\.\d[^.;]*`)

// TestReload: the only take is there again by itself after a reload, and whatever is
// told of it is as before.
func TestReload(t *testing.T) {
	p := newPage(t, 1280, 720)
	p.calm()
	p.open(serveScene(t))
	p.use("A.gain_db", 30)
	p.use("B.gain_db", 24)
	p.use("show.A")
	p.performs(time.Second)
	p.use("event.louder")
	verdict := verdictWords.FindString(p.taken(3 * time.Second))
	ids := []string{"diagram", "A.overs", "B.overs", "A.meter", "B.meter", "A.result", "B.result"}
	tell := func() (out []string) {
		t.Helper()
		// Where talk belongs is found out beside, and told with the meter when it is.
		p.wait("where talk belongs", `["A", "B"].every(s => /belongs/.test(gainwright.nodes().find(n => n.id == s + ".meter").value))`, 2*time.Minute)
		for _, id := range ids {
			n := p.node(id)
			out = append(out, fmt.Sprintf("%s: %s", id, n.Value))
		}
		return out
	}
	p.performs(time.Second)
	want := tell()
	began := time.Now()
	p.reload()
	opened := time.Since(began)
	got := p.says("status", `^(Result: )?Take 1, `, 2*time.Minute)
	t.Logf("%.1f s of page, the take %.1f s later: %s", opened.Seconds(), (time.Since(began) - opened).Seconds(), got)
	if verdict == "" || !strings.Contains(got, verdict) {
		t.Errorf("the verdict was %q, is %q", verdict, got)
	}
	p.performs(2 * time.Second) // and it stays so
	for i, s := range tell() {
		if s != want[i] {
			t.Errorf("after the reload %q, was %q", s, want[i])
		}
	}
	p.shot("reload")
	p.use("play")
	p.until("sound.yes", 20*time.Second)
	p.use("sound.yes")
	p.wait("the take to play", `gainwright.nodes().find(n => n.id == "take.at_s").now > 0.3`, time.Minute)
	p.noErrors()
}

// TestLeavingAsks: going back asks while a take runs, and only then.
func TestLeavingAsks(t *testing.T) {
	p := newPage(t, 1280, 720)
	p.calm()
	var asked atomic.Int32
	if err := chromedp.Listen(p.ctx, func(ev any) {
		if _, ok := ev.(*cdppage.EventJavascriptDialogOpening); ok {
			asked.Add(1)
			go chromedp.Call(p.ctx, cdppage.HandleJavaScriptDialog, cdppage.HandleJavaScriptDialogParams{Accept: false}) // stay
		}
	}); err != nil {
		t.Fatal(err)
	}
	url := serveScene(t)
	p.do(chromedp.Navigate(url + "licence-of-nothing")) // something to go back to
	p.open(url)
	p.key("r") // a browser asks only whoever has done something on the page
	p.says("status", `Recording take 1`, 20*time.Second)
	p.performs(time.Second)
	p.js(`history.back()`)
	time.Sleep(2 * time.Second)
	if asked.Load() != 1 {
		t.Errorf("asked %d times while a take runs", asked.Load())
	}
	p.performs(time.Second)
	p.key("r")
	p.says("status", `^(Result: )?Take 1, `, time.Minute)
	p.performs(time.Second)
	// Not within the script's own turn, and not asked while it happens: a page that goes
	// takes the answer with it.
	p.js(`setTimeout(() => history.back(), 200)`)
	time.Sleep(2 * time.Second)
	p.wait("the page before", `location.pathname.includes("licence")`, 20*time.Second)
	if asked.Load() != 1 {
		t.Errorf("asked %d times in all: also without a take", asked.Load())
	}
}

// TestHistory: the tabs are steps of the browser's history, and an address opens one.
func TestHistory(t *testing.T) {
	p := newPage(t, 1024, 640)
	p.calm()
	url := serveScene(t)
	p.open(url)
	shown := func(tab, hash string) {
		t.Helper()
		p.wait("the tab "+tab, `gainwright.nodes()?.find(n => n.id == "tab.`+tab+`")?.checked`, 20*time.Second)
		if h := eval[string](p, "location.hash"); h != hash {
			t.Errorf("at %s the address has %q, want %q", tab, h, hash)
		}
	}
	shown("gain", "")
	p.use("tab.plan")
	shown("plan", "#plan")
	p.use("tab.mend")
	shown("mend", "#mend")
	p.js("history.back()")
	shown("plan", "#plan")
	p.js("history.back()")
	shown("gain", "")
	p.js("history.forward()")
	shown("plan", "#plan")
	p.reload()
	shown("plan", "#plan")
	p.js(`location.hash = "twin"`)
	shown("twin", "#twin")
	p.do(chromedp.Navigate("about:blank"))
	p.open(url + "#lessons")
	shown("lessons", "#lessons")
	p.noErrors()
}

// TestTwoTabs: each tab keeps its own set-up, says that there is another one, and a
// new one begins with what was used last.
func TestTwoTabs(t *testing.T) {
	url := serveScene(t)
	a := newPage(t, 1280, 720)
	a.calm()
	a.open(url)
	b := a.beside(url)
	gain := func(p *page) float64 { return p.node("A.gain_db").Now }
	turn := func(p *page, db float64) {
		p.front()
		p.use("A.gain_db", db)
		p.wait("the gain", fmt.Sprintf(`gainwright.nodes().find(n => n.id == "A.gain_db").now == %g`, db), 20*time.Second)
		p.wait("the gain kept", fmt.Sprintf(`(localStorage.getItem("gainwright.setup") || "").includes('"gain_db":%g')`, db), 20*time.Second)
	}
	turn(a, 31)
	b.front()
	b.says("status", `another tab`, 30*time.Second)
	turn(b, 44)
	a.front()
	a.says("status", `another tab`, 30*time.Second)
	a.shot("two-tabs")
	if g := gain(a); g != 31 {
		t.Errorf("the first tab stands at %v dB", g)
	}
	a.reload()
	if g := gain(a); g != 31 {
		t.Errorf("after a reload the first tab stands at %v dB, was at 31", g)
	}
	b.front()
	b.reload()
	if g := gain(b); g != 44 {
		t.Errorf("after a reload the second tab stands at %v dB, was at 44", g)
	}
	c := a.beside(url)
	if g := gain(c); g != 44 {
		t.Errorf("a new tab begins with %v dB, used last were 44", g)
	}
	a.noErrors()
	b.noErrors()
	c.noErrors()
}
