package serve

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/andybalholm/brotli"
)

// module makes a source tree with the names that count.
func module(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":                        "module gainwright\n\ngo 1.26\n",
		"go.sum":                        "",
		"cmd/gainwright-scene/main.go":  "package main\n\nfunc main() {}\n",
		"scenes/scene.go":               "package scenes\n",
		"sim/a.go":                      "package sim\n",
		"sim/a_test.go":                 "package sim\n",
		"sim/testdata/golden.txt":       "1\n",
		"lessons/builtin/a.yaml":        "title: a\n",
		"cmd/gainwright/main.go":        "package main\n",
		"sounds/voice/.editor-swapfile": "x",
	} {
		write(t, filepath.Join(dir, name), text)
	}
	return dir
}

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func key(t *testing.T, dir string) string {
	t.Helper()
	k, err := SourceKey(dir)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestKeyFollowsTheSource(t *testing.T) {
	dir := module(t)
	first := key(t, dir)
	if again := key(t, dir); again != first {
		t.Fatalf("the same source has keys %s and %s", first, again)
	}
	// The same tree elsewhere, and a touched file, are the same source.
	if k := key(t, module(t)); k != first {
		t.Errorf("a copy has another key")
	}
	os.Chtimes(filepath.Join(dir, "sim/a.go"), time.Unix(0, 0), time.Unix(0, 0))
	if k := key(t, dir); k != first {
		t.Errorf("a file's time changes the key")
	}
	for _, c := range []struct {
		name  string
		stale bool
	}{
		{"sim/a.go", true}, {"go.mod", true}, {"go.sum", true}, {"lessons/builtin/a.yaml", true}, {"scenes/new.go", true},
		{"sim/a_test.go", false}, {"sim/testdata/golden.txt", false}, {"cmd/gainwright/main.go", false}, {"README.md", false},
	} {
		d := module(t)
		f, _ := os.ReadFile(filepath.Join(d, c.name))
		write(t, filepath.Join(d, c.name), string(f)+"// changed\n")
		if stale := key(t, d) != first; stale != c.stale {
			t.Errorf("changing %s: new key %v, want %v", c.name, stale, c.stale)
		}
	}
	d := module(t)
	os.Remove(filepath.Join(d, "sim/a.go"))
	if key(t, d) == first {
		t.Error("removing a file leaves the key")
	}
	// Contents that move from one file to another are another source.
	d = module(t)
	os.Rename(filepath.Join(d, "sim/a.go"), filepath.Join(d, "sim/b.go"))
	if key(t, d) == first {
		t.Error("renaming a file leaves the key")
	}
}

func TestFindSource(t *testing.T) {
	dir := module(t)
	got, err := FindSource(filepath.Join(dir, "lessons", "builtin"))
	if err != nil || got != dir {
		t.Errorf("from within: %q, %v", got, err)
	}
	// Elsewhere, and within another module, it is the source that this was
	// compiled from.
	other := t.TempDir()
	write(t, filepath.Join(other, "go.mod"), "module other\n")
	got, err = FindSource(other)
	if err != nil || !isModule(got) {
		t.Errorf("from elsewhere: %q, %v", got, err)
	}
}

func fakeCache(dir string, compile func(out string) error) *Cache {
	return &Cache{Dir: dir, compile: func(_ context.Context, _ Tool, _, out string, line func(string)) error {
		line("gainwright/sim")
		return compile(out)
	}}
}

var scene = bytes.Repeat([]byte("\x00asm and a lot of code. "), 5000)

func compileWell(out string) error { return os.WriteFile(out, scene, 0o644) }

func TestCacheBuildsOnce(t *testing.T) {
	src, n := module(t), 0
	c := fakeCache(t.TempDir(), func(out string) error { n++; return compileWell(out) })
	dir, fresh, err := c.Ensure(t.Context(), src)
	if err != nil || !fresh {
		t.Fatalf("first: fresh %v, %v", fresh, err)
	}
	again, fresh, err := c.Ensure(t.Context(), src)
	if err != nil || fresh || again != dir || n != 1 {
		t.Fatalf("second: %s, fresh %v, %v; compiled %d times", again, fresh, err, n)
	}
	write(t, filepath.Join(src, "sim/a.go"), "package sim // new\n")
	next, fresh, err := c.Ensure(t.Context(), src)
	if err != nil || !fresh || next == dir || n != 2 {
		t.Fatalf("after a change: %s, fresh %v, %v; compiled %d times", next, fresh, err, n)
	}
	// A build that lost a file is made again.
	os.Remove(filepath.Join(next, wasmName+".br"))
	if _, fresh, err = c.Ensure(t.Context(), src); err != nil || !fresh {
		t.Errorf("after losing a file: fresh %v, %v", fresh, err)
	}
	// The coded forms hold the scene.
	f, _ := os.ReadFile(filepath.Join(next, wasmName+".br"))
	if got, err := io.ReadAll(brotli.NewReader(bytes.NewReader(f))); err != nil || !bytes.Equal(got, scene) {
		t.Errorf("brotli: %d bytes, %v", len(got), err)
	}
	f, _ = os.ReadFile(filepath.Join(next, wasmName+".gz"))
	z, err := gzip.NewReader(bytes.NewReader(f))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := io.ReadAll(z); err != nil || !bytes.Equal(got, scene) {
		t.Errorf("gzip: %d bytes, %v", len(got), err)
	}
}

// Nothing half made stays behind, whatever happens to the compiler.
func TestFailureLeavesNothing(t *testing.T) {
	src := module(t)
	for name, compile := range map[string]func(string) error{
		"error":          func(out string) error { os.WriteFile(out, scene[:7], 0o644); return errors.New("sim/a.go:1:1: no") },
		"nothing at all": func(string) error { return nil },
	} {
		c := fakeCache(t.TempDir(), compile)
		if _, _, err := c.Ensure(t.Context(), src); err == nil {
			t.Errorf("%s: no error", name)
		}
		if left, _ := os.ReadDir(c.Dir); len(left) != 0 {
			t.Errorf("%s: left %v behind", name, left)
		}
		c.compile = fakeCache("", compileWell).compile
		if _, fresh, err := c.Ensure(t.Context(), src); err != nil || !fresh {
			t.Errorf("%s: the next try: fresh %v, %v", name, fresh, err)
		}
	}
}

func TestPrune(t *testing.T) {
	src := module(t)
	c := fakeCache(t.TempDir(), compileWell)
	old := filepath.Join(c.Dir, ".build-crashed")
	write(t, filepath.Join(old, "x"), "x")
	long := time.Now().Add(-3 * time.Hour)
	os.Chtimes(old, long, long)
	var last string
	for i := range kept + 3 {
		write(t, filepath.Join(src, "sim/a.go"), fmt.Sprintf("package sim // %d\n", i))
		dir, _, err := c.Ensure(t.Context(), src)
		if err != nil {
			t.Fatal(err)
		}
		when := time.Now().Add(time.Duration(i-100) * time.Minute)
		os.Chtimes(dir, when, when)
		last = dir
	}
	left, _ := os.ReadDir(c.Dir)
	if len(left) > kept || !complete(last) {
		t.Errorf("%d builds are kept, want at most %d; the last complete: %v", len(left), kept, complete(last))
	}
}

// Without a Go tool an old build of the same source is good enough; without
// either the error says what is missing.
func TestNoGoTool(t *testing.T) {
	src := module(t)
	c := fakeCache(t.TempDir(), compileWell)
	if _, _, err := c.Ensure(t.Context(), src); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", t.TempDir())
	if _, fresh, err := c.Ensure(t.Context(), src); err != nil || fresh {
		t.Errorf("with a build there: fresh %v, %v", fresh, err)
	}
	write(t, filepath.Join(src, "sim/a.go"), "package sim // new\n")
	if _, _, err := c.Ensure(t.Context(), src); !errors.Is(err, ErrNoGo) {
		t.Errorf("with none: %v", err)
	}
}

// Two programs that start at once compile once. They are this test's own
// binary, run twice.
func TestTwoStartsAtOnce(t *testing.T) {
	if dir := os.Getenv("GAINWRIGHT_TEST_CACHE"); dir != "" {
		c := fakeCache(dir, func(out string) error {
			f, err := os.OpenFile(filepath.Join(dir, ".compilations"), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
			if err != nil {
				return err
			}
			fmt.Fprintln(f, os.Getpid())
			f.Close()
			time.Sleep(700 * time.Millisecond)
			return compileWell(out)
		})
		d, _, err := c.Ensure(t.Context(), os.Getenv("GAINWRIGHT_TEST_SOURCE"))
		if err != nil || !complete(d) {
			t.Fatal(err)
		}
		return
	}
	src, dir := module(t), t.TempDir()
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			cmd := exec.Command(os.Args[0], "-test.run=^TestTwoStartsAtOnce$")
			cmd.Env = append(os.Environ(), "GAINWRIGHT_TEST_CACHE="+dir, "GAINWRIGHT_TEST_SOURCE="+src)
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Errorf("%v\n%s", err, out)
			}
		})
	}
	wg.Wait()
	log, err := os.ReadFile(filepath.Join(dir, ".compilations"))
	if n := strings.Count(string(log), "\n"); err != nil || n != 1 {
		t.Errorf("compiled %d times, %v", n, err)
	}
}

// A lock that its owner left behind does not block for ever.
func TestStaleLock(t *testing.T) {
	src := module(t)
	c := fakeCache(t.TempDir(), compileWell)
	tool, err := FindTool(t.Context(), src)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(c.Dir, "."+key(t, src)+"-"+tool.Version+"-"+recipe()+".lock")
	write(t, name, "")
	old := time.Now().Add(-time.Minute)
	os.Chtimes(name, old, old)
	if _, fresh, err := c.Ensure(t.Context(), src); err != nil || !fresh {
		t.Errorf("fresh %v, %v", fresh, err)
	}
	// One in use does, until the user has had enough.
	write(t, filepath.Join(src, "sim/a.go"), "package sim // new\n")
	write(t, filepath.Join(c.Dir, "."+key(t, src)+"-"+tool.Version+"-"+recipe()+".lock"), "")
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	if _, _, err := c.Ensure(ctx, src); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("with a lock in use: %v", err)
	}
}

// The compiler's own messages: a real compilation of a source that is wrong.
func TestCompileError(t *testing.T) {
	src := module(t)
	write(t, filepath.Join(src, "cmd/gainwright-scene/main.go"), "package main\n\nfunc main() { undefinedName() }\n")
	c := &Cache{Dir: t.TempDir()}
	_, _, err := c.Ensure(t.Context(), src)
	if err == nil || !strings.Contains(err.Error(), "main.go:3:15: undefined: undefinedName") || strings.Contains(err.Error(), "\n") {
		t.Errorf("got %q", err)
	}
	for out, want := range map[string]string{
		"gainwright/sim\n# gainwright/sim\nsim/a.go:3:1: syntax error\nsim/a.go:9:1: other\n": "sim/a.go:3:1: syntax error",
		"go: downloading example.com/x v1.0.0\ngo: example.com/x@v1.0.0: dial tcp: no\n":      "go: example.com/x@v1.0.0: dial tcp: no",
		"signal: killed\n": "signal: killed",
	} {
		if got := firstError(out); got != want {
			t.Errorf("firstError(%q) = %q", out, got)
		}
	}
}

func served(t *testing.T) (*httptest.Server, string) {
	t.Helper()
	c := fakeCache(t.TempDir(), compileWell)
	dir, _, err := c.Ensure(t.Context(), module(t))
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(Handler(dir))
	t.Cleanup(s.Close)
	return s, dir
}

func get(t *testing.T, url string, header ...string) *http.Response {
	t.Helper()
	r, err := http.NewRequest("GET", url, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept-Encoding", "identity")
	for i := 0; i < len(header); i += 2 {
		if header[i] == "Host" {
			r.Host = header[i+1]
		}
		r.Header.Set(header[i], header[i+1])
	}
	resp, err := http.DefaultTransport.RoundTrip(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { resp.Body.Close() })
	return resp
}

func TestHandler(t *testing.T) {
	s, _ := served(t)
	for _, c := range []struct{ path, kind, has string }{
		{"/", "text/html; charset=utf-8", `<html lang="en">`},
		{"/start.js", "text/javascript; charset=utf-8", "instantiateStreaming"},
		{"/style.css", "text/css; charset=utf-8", "prefers-color-scheme"},
		{"/icon.svg", "image/svg+xml", "<svg"},
		{"/wasm_exec.js", "text/javascript; charset=utf-8", "globalThis.Go"},
		{"/scene.wasm", "application/wasm", "\x00asm"},
	} {
		r := get(t, s.URL+c.path)
		body, _ := io.ReadAll(r.Body)
		if r.StatusCode != 200 || r.Header.Get("Content-Type") != c.kind || !strings.Contains(string(body), c.has) {
			t.Errorf("%s: %d, %q, %d bytes", c.path, r.StatusCode, r.Header.Get("Content-Type"), len(body))
		}
		if !strings.Contains(r.Header.Get("Content-Security-Policy"), "default-src 'none'") || r.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", c.path, r.Header)
		}
	}
	for _, p := range []string{"/nothing", "/page/index.html", "/go.mod", "/index.html/x"} {
		if r := get(t, s.URL+p); r.StatusCode != 404 {
			t.Errorf("%s: %d", p, r.StatusCode)
		}
	}
	if r, err := http.Post(s.URL+"/", "text/plain", nil); err != nil || r.StatusCode != 405 {
		t.Errorf("POST: %v, %v", r, err)
	}
	// A name that someone else's page makes point here.
	if r := get(t, s.URL, "Host", "evil.example"); r.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("another host: %d", r.StatusCode)
	}
}

func TestEncodings(t *testing.T) {
	s, dir := served(t)
	tags := map[string]bool{}
	for accept, want := range map[string]string{
		"gzip, deflate, br, zstd": "br", "gzip, deflate": "gzip", "": "", "br;q=0, gzip;q=0.5": "gzip", "identity": "", "*": "br", "*, br;q=0": "gzip",
	} {
		r := get(t, s.URL+"/scene.wasm", "Accept-Encoding", accept)
		body, _ := io.ReadAll(r.Body)
		if got := r.Header.Get("Content-Encoding"); got != want {
			t.Errorf("%q is answered with %q, want %q", accept, got, want)
		}
		if r.ContentLength != int64(len(body)) || r.Header.Get("Gainwright-Size") != fmt.Sprint(len(scene)) {
			t.Errorf("%q: length %d of %d, size %q", accept, r.ContentLength, len(body), r.Header.Get("Gainwright-Size"))
		}
		var rd io.Reader = bytes.NewReader(body)
		switch want {
		case "br":
			rd = brotli.NewReader(rd)
		case "gzip":
			rd, _ = gzip.NewReader(rd)
		}
		if plain, err := io.ReadAll(rd); err != nil || !bytes.Equal(plain, scene) {
			t.Errorf("%q: %d bytes, %v", accept, len(plain), err)
		}
		tag := r.Header.Get("ETag")
		tags[tag] = true
		if r := get(t, s.URL+"/scene.wasm", "Accept-Encoding", accept, "If-None-Match", tag); r.StatusCode != http.StatusNotModified {
			t.Errorf("%q: known already, answered %d", accept, r.StatusCode)
		}
	}
	if len(tags) != 3 {
		t.Errorf("tags %v: one for each form", tags)
	}
	os.RemoveAll(dir)
	if r := get(t, s.URL+"/scene.wasm"); r.StatusCode != 404 {
		t.Errorf("a build that is gone: %d", r.StatusCode)
	}
}

// The page fetches nothing from outside and has no inline code, which the policy
// forbids.
func TestPageIsOnItsOwn(t *testing.T) {
	for _, n := range []string{"index.html", "start.js", "style.css"} {
		b, err := page.ReadFile("page/" + n)
		if err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"http:", "https:", "//cdn", "style=\"", "onclick", "<style"} {
			if strings.Contains(string(b), bad) {
				t.Errorf("%s has %q", n, bad)
			}
		}
	}
}

// How long the key takes on the real source: it is paid at every start.
func BenchmarkSourceKey(b *testing.B) {
	_, file, _, _ := runtime.Caller(0)
	src, err := FindSource(filepath.Dir(file))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := SourceKey(src); err != nil {
			b.Fatal(err)
		}
	}
}
