package serve

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// stream is what a page listens to.
type stream struct {
	t     *testing.T
	lines chan string
}

func listen(t *testing.T, url string) *stream {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "GET", url+"/changes", nil)
	if err != nil {
		t.Fatal(err)
	}
	client := http.Client{Timeout: 2 * time.Minute}
	a, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { a.Body.Close() })
	if ct := a.Header.Get("Content-Type"); ct != "text/event-stream" || a.Header.Get("Content-Security-Policy") != PagePolicy+"; frame-ancestors 'none'" {
		t.Errorf("the stream is %q, headers %v", ct, a.Header)
	}
	s := &stream{t, make(chan string)}
	go func() {
		defer close(s.lines)
		for sc := bufio.NewScanner(a.Body); sc.Scan(); {
			s.lines <- sc.Text()
		}
	}()
	return s
}

// next is the next event and its data.
func (s *stream) next() (event, data string) {
	s.t.Helper()
	for late := time.After(30 * time.Second); ; {
		select {
		case l, ok := <-s.lines:
			switch {
			case !ok:
				s.t.Fatal("the stream ended")
			case l == "":
				return event, data
			case strings.HasPrefix(l, "event: "):
				event = l[7:]
			case strings.HasPrefix(l, "data: "):
				data = l[6:]
			}
		case <-late:
			s.t.Fatal("no event in half a minute")
		}
	}
}

func body(t *testing.T, url string) string {
	t.Helper()
	r := get(t, url, "Accept-Encoding", "br, gzip")
	b, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != 200 {
		t.Fatalf("%s: %d, %v", url, r.StatusCode, err)
	}
	return string(b)
}

// TestWatched: a save is compiled and told; what does not compile is told and leaves
// the old scene; a save while it compiles is compiled instead.
func TestWatched(t *testing.T) {
	if _, err := FindTool(t.Context(), "."); err != nil {
		t.Fatal(err)
	}
	src, dir := module(t), t.TempDir()
	file := filepath.Join(src, "scenes/scene.go")
	var slow, stopped atomic.Int32
	c := &Cache{Dir: dir, Compile: func(ctx context.Context, _ Tool, src, out string, _ func(string)) error {
		text, err := os.ReadFile(filepath.Join(src, "scenes/scene.go"))
		if err != nil {
			return err
		}
		if strings.Contains(string(text), "slow") {
			slow.Add(1)
			<-ctx.Done()
			stopped.Add(1)
			return ctx.Err()
		}
		if strings.Contains(string(text), "bad") {
			return errors.New("compiling the scene failed: scenes/scene.go:1: \"bad\"\x1b[31m\nmore")
		}
		return os.WriteFile(out, text, 0o644)
	}}
	w, err := NewWatched(t.Context(), c, src)
	if err != nil {
		t.Fatal(err)
	}
	w.Every, w.Rest = 5*time.Millisecond, 200*time.Millisecond
	told := make(chan error, 100)
	w.Notify = func(err error, _ time.Duration) { told <- err }
	heard := func() error {
		t.Helper()
		select {
		case err := <-told:
			return err
		case <-time.After(30 * time.Second):
			t.Fatal("nothing was told in half a minute")
		}
		return nil
	}
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan bool)
	go func() { defer close(ended); w.Watch(ctx) }()
	server := w.Server()
	s := httptest.NewServer(server.Handler)
	t.Cleanup(s.Close)
	t.Cleanup(func() {
		end()
		close(w.ended)
		select {
		case <-ended:
		case <-time.After(30 * time.Second):
			t.Error("it watches on, half a minute after its end")
		}
	})

	index := body(t, s.URL+"/")
	at := listen(t, s.URL)
	event, first := at.next()
	if event != builtEvent || !strings.Contains(index, `<script src="watch.js" data-build="`+first+`" defer></script>`) {
		t.Fatalf("%s %q; the page is\n%s", event, first, index)
	}
	if !strings.Contains(body(t, s.URL+"/watch.js"), "EventSource") || body(t, s.URL+"/scene.wasm") != "package scenes\n" {
		t.Error("the page does not listen, or the scene is another")
	}
	save := func(text string) {
		t.Helper()
		write(t, file, text)
		if e, _ := at.next(); e != busyEvent {
			t.Fatalf("after %q: %s", text, e)
		}
	}
	save("package scenes // two\n")
	event, second := at.next()
	if event != builtEvent || second == first || body(t, s.URL+"/scene.wasm") != "package scenes // two\n" || heard() != nil {
		t.Errorf("%s %q, served %q", event, second, body(t, s.URL+"/scene.wasm"))
	}
	save("bad\n")
	event, why := at.next()
	if event != faultEvent || !strings.HasPrefix(why, `"compiling the scene failed: scenes/scene.go:1: \"bad\"`) || body(t, s.URL+"/scene.wasm") != "package scenes // two\n" || heard() == nil {
		t.Errorf("%s %s", event, why)
	}
	// Back to what was: no page needs to load again.
	save("package scenes // two\n")
	if event, third := at.next(); event != builtEvent || third != second {
		t.Errorf("%s %q, want %q", event, third, second)
	}
	save("slow\n")
	for late := time.Now().Add(30 * time.Second); slow.Load() == 0; time.Sleep(time.Millisecond) {
		if time.Now().After(late) {
			t.Fatal("the slow build did not begin in half a minute")
		}
	}
	write(t, file, "package scenes // three\n")
	if event, _ := at.next(); event != builtEvent || body(t, s.URL+"/scene.wasm") != "package scenes // three\n" || stopped.Load() != slow.Load() {
		t.Errorf("%s, served %q", event, body(t, s.URL+"/scene.wasm"))
	}
	// What is half saved is not compiled: whoever saves empties the file first.
	for tries := 1; ; tries++ {
		began := time.Now()
		save("")
		time.Sleep(20 * time.Millisecond)
		write(t, file, "package scenes // four\n")
		slowly := time.Since(began) > w.Rest
		event, _ := at.next()
		switch four := body(t, s.URL+"/scene.wasm") == "package scenes // four\n"; {
		case slowly && tries < 5:
			// So slow a machine that the empty file rested: that is no half save.
			for event != builtEvent || body(t, s.URL+"/scene.wasm") != "package scenes // four\n" {
				event, _ = at.next()
			}
			continue
		case event != builtEvent || !four:
			t.Errorf("half saved: %s, served %q", event, body(t, s.URL+"/scene.wasm"))
		}
		break
	}
	// Nothing is compressed, and the builds of every day are not pushed out.
	if n := c.builds(); len(n) != 0 {
		t.Errorf("in the cache are %v", n)
	}
	if list, err := filepath.Glob(filepath.Join(dir, watchedName, "*", "*.br")); err != nil || len(list) > 0 {
		t.Errorf("compressed: %v, %v", list, err)
	}
}

// TestOnlyWatchedListens: a page that is served without watching asks for no changes.
func TestOnlyWatchedListens(t *testing.T) {
	s, _ := served(t)
	if text := body(t, s.URL+"/") + body(t, s.URL+"/start.js"); strings.Contains(text, "watch") || strings.Contains(text, "EventSource") {
		t.Error("the page listens")
	}
	for _, n := range []string{"/watch.js", "/changes"} {
		if r := get(t, s.URL+n); r.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %d", n, r.StatusCode)
		}
	}
}

// TestWatchedEnds: a page that listens does not hold the server up.
func TestWatchedEnds(t *testing.T) {
	w, err := NewWatched(t.Context(), fakeCache(t.TempDir(), compileWell), module(t))
	if err != nil {
		t.Fatal(err)
	}
	server := w.Server()
	s := httptest.NewUnstartedServer(nil)
	s.Config = server
	s.Start()
	at := listen(t, s.URL)
	at.next()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	if err := server.Shutdown(ctx); err != nil {
		t.Error(err)
	}
}
