//go:build full

package browser

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gainwright/tests/limited"
)

// under is where a site lies on its server.
const under = "/crew/gain/"

// plainServer is Go's own file server, which sets no header of ours and compresses
// nothing, with a site in a folder below its root.
type plainServer struct {
	t    *testing.T
	dir  string
	at   string // host and port, the same after it was closed
	http *http.Server
}

func (s *plainServer) open() {
	s.t.Helper()
	at := s.at
	if at == "" {
		at = "127.0.0.1:0"
	}
	var l net.Listener
	var err error
	for end := time.Now().Add(patience); ; time.Sleep(100 * time.Millisecond) {
		if l, err = net.Listen("tcp", at); err == nil {
			break
		}
		if time.Now().After(end) {
			s.t.Fatal(err)
		}
	}
	s.at = l.Addr().String()
	s.http = &http.Server{Handler: http.StripPrefix(under, http.FileServer(http.Dir(s.dir))), ReadHeaderTimeout: patience}
	go func(h *http.Server) {
		if err := h.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			s.t.Error(err)
		}
	}(s.http)
}

// writeSite runs the command as a user does.
func writeSite(t *testing.T, dir string, options ...string) {
	t.Helper()
	cmd := limited.Command(t, 10*time.Minute, built(t), append([]string{"site", dir}, options...)...)
	cmd.Dir = root
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("writing the site: %v\n%s", err, out)
	}
}

// TestSite: static files behind a plain file server, in a sub-folder. A first visit; a
// lesson by its link; a link to the set-up; then the network is cut, and all works; then
// there is another build, which is told, and taken when the user says so.
func TestSite(t *testing.T) {
	lesson := filepath.Join(t.TempDir(), "ferry.yaml")
	text, err := os.ReadFile("testdata/ferry.yaml")
	if err != nil {
		t.Fatal(err)
	}
	save := func(text string) {
		t.Helper()
		if err := os.WriteFile(lesson, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	save(string(text))
	s := &plainServer{t: t, dir: filepath.Join(t.TempDir(), "public")}
	wrote := time.Now()
	writeSite(t, s.dir, "--lesson", lesson)
	t.Logf("the site written: %.1f s", time.Since(wrote).Seconds())
	s.open()
	defer func() { s.http.Close() }()
	url := "http://" + s.at + under

	p := newPage(t, 1024, 640)
	p.first(`window.copied = ""; if (navigator.clipboard) navigator.clipboard.writeText = async text => { window.copied = text; }`)
	part := func(name string) func() {
		began := time.Now()
		return func() { t.Logf("%s: %.1f s", name, time.Since(began).Seconds()) }
	}
	done := part("first visit")
	p.open(url + "#lesson=ferry&name=Ilse")
	done()
	done = part("lesson, link")
	p.wait("the lesson's first step", `gainwright.nodes().some(n => /Listen to the bell/.test(n.name + n.value))`, patience)
	p.use("tab.gain")
	p.use("more")
	p.until("setup.link", patience)
	p.use("setup.link")
	p.wait("the link", `/#setup=/.test(window.copied)`, patience)
	link := eval[string](p, "window.copied")
	if !strings.HasPrefix(link, url+"#setup=") {
		t.Errorf("the link is %.60s", link)
	}
	done()
	done = part("keeping all")
	p.wait("all is kept", `gainwrightSite.kept`, 3*time.Minute)

	s.http.Close() // the network is cut
	done()
	done = part("a visit without a network")
	p.reload()
	done()
	done = part("a take without one")
	p.wait("the page is of the worker", `navigator.serviceWorker.controller`, patience)
	t.Log(p.taken(2 * time.Second))
	p.noErrors()
	done()

	done = part("the next build written")
	save(strings.Replace(string(text), "before you set the gain", "twice", 1))
	writeSite(t, s.dir, "--lesson", lesson)
	s.open()
	done()
	done = part("told of the new version")
	p.reload()
	if !eval[bool](p, `/before you set/.test(gainwrightSite.lessons[0].text)`) {
		t.Error("the new version came in unasked")
	}
	p.wait("the new version is told", `/A new version of this site/.test(document.querySelector("#gainwright-live").textContent)`, 3*time.Minute)
	p.shot("site-newer")
	done()
	done = part("taken")
	p.use("sound.yes")
	p.through("the new version runs", `window.gainwrightSite && /twice/.test(gainwrightSite.lessons[0].text) && window.gainwright && gainwright.ready`, 3*time.Minute)
	p.wait("the old one is gone", `caches.keys().then(all => all.filter(k => k.startsWith("gainwright ")).length === 1)`, patience)
	done()
	done = part("the link followed, a take")
	p.do(chromedp.Navigate("about:blank"))
	p.open(link)
	p.wait("the set-up", `/came with the link/.test(document.querySelector("#gainwright-live").textContent)`, patience)
	t.Log(p.taken(2 * time.Second))
	p.noErrors()
	done()
	p.close()

	done = part("plain http")
	plainHTTP(t, s)
	done()
}

// plainHTTP visits the site at an address that is neither https nor this computer's own by
// name: a page there has no audio worklet, no clipboard and no worker. Sound comes and
// says that it comes late; what is missing is told in words.
func plainHTTP(t *testing.T, s *plainServer) {
	_, port, err := net.SplitHostPort(s.at)
	if err != nil {
		t.Fatal(err)
	}
	p := newPage(t, 1024, 640, chromedp.Flag("host-resolver-rules", "MAP ferry.test 127.0.0.1"))
	p.open(fmt.Sprintf("http://ferry.test:%s%s", port, under))
	if eval[bool](p, "isSecureContext") {
		t.Fatal("this address is a secure one: nothing is tried here")
	}
	p.click("sound")
	p.wait("why sound comes late", `/Sound comes late here, and may break off: over plain http/.test(document.querySelector("#gainwright-live").textContent)`, patience)
	p.use("more")
	p.until("setup.link", patience)
	p.use("setup.link")
	p.wait("that there is no clipboard", `/gives no clipboard/.test(document.querySelector("#gainwright-live").textContent)`, patience)
	t.Logf("over plain http: %q", eval[string](p, `gainwright.nodes().find(n => n.id === "sound.stats").value`))
	p.noErrors()
}
