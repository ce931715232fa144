package serve

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/andybalholm/brotli"

	"gainwright/lessons"
	"gainwright/tests/limited"
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
	const name = "cmd/gainwright/internal/serve/source.go"
	got, err = findSource(other, filepath.Join(dir, filepath.FromSlash(name)))
	if err != nil || got != dir {
		t.Errorf("from elsewhere: %q, %v", got, err)
	}
	if got, err = findSource(other, modulePath+"/"+name); !errors.Is(err, ErrNoSource) {
		t.Errorf("from elsewhere, with its paths trimmed: %q, %v", got, err)
	}
	// As these tests were compiled themselves.
	_, file, _, _ := runtime.Caller(0)
	if got, err = FindSource(other); filepath.IsAbs(file) && !isModule(got) || !filepath.IsAbs(file) && !errors.Is(err, ErrNoSource) {
		t.Errorf("compiled from %s, from elsewhere: %q, %v", file, got, err)
	}
	// A relative name is one in the working directory, too.
	if got, err = findSource(".", modulePath+"/"+name); err != nil || !isModule(got) {
		t.Errorf("from here: %q, %v", got, err)
	}
}

func fakeCache(dir string, compile func(out string) error) *Cache {
	return &Cache{Dir: dir, Compile: func(_ context.Context, _ Tool, _, out string, line func(string)) error {
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

// visible lists what is in a cache beside its lock.
func visible(t *testing.T, dir string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if e.Name() != lockName {
			names = append(names, e.Name())
		}
	}
	return names
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
		if left := visible(t, c.Dir); len(left) != 0 {
			t.Errorf("%s: left %v behind", name, left)
		}
		c.Compile = fakeCache("", compileWell).Compile
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
	left := visible(t, c.Dir)
	if len(left) > kept || !c.complete(last) {
		t.Errorf("%d builds are kept, want at most %d; the last complete: %v", len(left), kept, c.complete(last))
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
		if err != nil || !c.complete(d) {
			t.Fatal(err)
		}
		return
	}
	src, dir := module(t), t.TempDir()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			cmd := exec.CommandContext(ctx, os.Args[0], "-test.run=^TestTwoStartsAtOnce$")
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

// What is kept is not what was put there: a disk that failed, a program that cut it
// short. It is compiled again, whichever file it is, and never served.
func TestDamagedBuildIsMadeAgain(t *testing.T) {
	for damage, spoil := range map[string]func([]byte) []byte{
		"other bytes": func(b []byte) []byte {
			return bytes.Repeat([]byte("x"), len(b))
		},
		"one bit":   func(b []byte) []byte { b[len(b)/2] ^= 1; return b },
		"truncated": func(b []byte) []byte { return b[:len(b)-1] },
		"grown":     func(b []byte) []byte { return append(b, 0) },
		"emptied":   func([]byte) []byte { return nil },
	} {
		src := module(t)
		c := fakeCache(t.TempDir(), compileWell)
		dir, _, err := c.Ensure(t.Context(), src)
		if err != nil {
			t.Fatal(err)
		}
		files, err := os.ReadDir(dir)
		if err != nil || len(files) < 4 {
			t.Fatal(files, err)
		}
		for _, f := range files {
			name := filepath.Join(dir, f.Name())
			was, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			write(t, name, string(spoil(bytes.Clone(was))))
			again, fresh, err := c.Ensure(t.Context(), src)
			if err != nil || !fresh || again != dir {
				t.Errorf("%s, %s: %s, fresh %v, %v", f.Name(), damage, again, fresh, err)
			}
			if now, _ := os.ReadFile(name); !bytes.Equal(now, was) {
				t.Errorf("%s, %s: what is kept now is not what was compiled", f.Name(), damage)
			}
		}
	}
	// Without a Go tool nothing can be compiled, and it is not served either.
	src := module(t)
	c := fakeCache(t.TempDir(), compileWell)
	dir, _, err := c.Ensure(t.Context(), src)
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, wasmName), "x")
	t.Setenv("PATH", t.TempDir())
	if _, _, err := c.Ensure(t.Context(), src); !errors.Is(err, ErrNoGo) {
		t.Errorf("damaged, without Go: %v", err)
	}
}

// A lock is its holder's for as long as that runs, whatever the file's time says,
// and nobody's afterwards.
func TestLock(t *testing.T) {
	if dir := os.Getenv("GAINWRIGHT_TEST_CACHE"); dir != "" {
		c := fakeCache(dir, func(string) error {
			fmt.Println("compiling")
			time.Sleep(5 * time.Minute) // until it is killed
			return nil
		})
		t.Fatal(c.Ensure(t.Context(), os.Getenv("GAINWRIGHT_TEST_SOURCE")))
	}
	src := module(t)
	c := fakeCache(t.TempDir(), compileWell)
	tool, err := FindTool(t.Context(), src)
	if err != nil {
		t.Fatal(err)
	}
	// A file that is there is no lock that is held: left behind by a program that is
	// gone, yesterday or, by a clock that was wrong, tomorrow.
	for _, age := range []time.Duration{time.Minute, 0, -24 * time.Hour} {
		write(t, filepath.Join(src, "sim/a.go"), fmt.Sprintf("package sim // %v\n", age))
		for _, name := range []string{lockName, "." + key(t, src) + "-" + tool.Version + "-" + (&Cache{}).recipe() + ".lock"} {
			name = filepath.Join(c.Dir, name)
			write(t, name, "")
			when := time.Now().Add(-age)
			os.Chtimes(name, when, when)
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		if _, fresh, err := c.Ensure(ctx, src); err != nil || !fresh {
			t.Errorf("a file %v old, that nobody holds: fresh %v, %v", age, fresh, err)
		}
	}

	// Where nothing can be locked, a start goes on without.
	odd := fakeCache(t.TempDir(), compileWell)
	write(t, filepath.Join(odd.Dir, lockName, "x"), "")
	if _, fresh, err := odd.Ensure(t.Context(), src); err != nil || !fresh {
		t.Errorf("nothing to lock: fresh %v, %v", fresh, err)
	}

	// Another program is compiling.
	write(t, filepath.Join(src, "sim/a.go"), "package sim // new\n")
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	other := exec.CommandContext(ctx, os.Args[0], "-test.run=^TestLock$")
	other.Env = append(os.Environ(), "GAINWRIGHT_TEST_CACHE="+c.Dir, "GAINWRIGHT_TEST_SOURCE="+src)
	says, err := other.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Start(); err != nil {
		t.Fatal(err)
	}
	defer other.Process.Kill()
	if line, err := bufio.NewReader(says).ReadString('\n'); err != nil || line != "compiling\n" {
		t.Fatalf("the other program says %q, %v", line, err)
	}
	// Old times do not take its lock away; we wait until we have had enough.
	long := time.Now().Add(-48 * time.Hour)
	files, _ := filepath.Glob(filepath.Join(c.Dir, ".*"))
	for _, f := range files {
		os.Chtimes(f, long, long)
	}
	enough, stop := context.WithTimeout(t.Context(), time.Second)
	defer stop()
	if _, _, err := c.Ensure(enough, src); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("while another program compiles: %v", err)
	}
	// Killed, it holds nothing any more, and what it had begun is cleared away.
	other.Process.Kill()
	other.Wait()
	if _, fresh, err := c.Ensure(ctx, src); err != nil || !fresh {
		t.Errorf("after the other program was killed: fresh %v, %v", fresh, err)
	}
	if left, _ := filepath.Glob(filepath.Join(c.Dir, ".build-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
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
	s := httptest.NewServer(Handler(Kept(dir)))
	t.Cleanup(s.Close)
	return s, dir
}

func get(t *testing.T, url string, header ...string) *http.Response {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, "GET", url, nil)
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
		{"/start.js", "text/javascript; charset=utf-8", "compileStreaming"},
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
		// The page may ask for the microphone, frames in it may not; nothing else is opened.
		if got := r.Header.Values("Permissions-Policy"); len(got) != 1 || got[0] != "camera=(), microphone=(self), geolocation=()" {
			t.Errorf("%s: %q may be asked for", c.path, got)
		}
	}
	for _, p := range []string{"/nothing", "/page/index.html", "/go.mod", "/index.html/x"} {
		if r := get(t, s.URL+p); r.StatusCode != 404 {
			t.Errorf("%s: %d", p, r.StatusCode)
		}
	}
	client := http.Client{Timeout: time.Minute}
	if r, err := client.Post(s.URL+"/", "text/plain", nil); err != nil || r.StatusCode != 405 {
		t.Errorf("POST: %v, %v", r, err)
	}
	// A name that someone else's page makes point here.
	if r := get(t, s.URL, "Host", "evil.example"); r.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("another host: %d", r.StatusCode)
	}
}

// The page names the build, and a browser keeps that for good; whoever asks without the
// name, or with that of another build, has to ask again each time.
func TestBuildIsKeptByItsName(t *testing.T) {
	s, dir := served(t)
	index, _ := io.ReadAll(get(t, s.URL+"/").Body)
	address := regexp.MustCompile(`data-scene="(scene\.wasm[^"]*)"`).FindSubmatch(index)
	if address == nil || string(address[1]) != "scene.wasm?"+filepath.Base(dir) {
		t.Fatalf("the page names %q", address)
	}
	for path, want := range map[string]string{string(address[1]): "private, max-age=31536000, immutable", "scene.wasm": "no-cache", "scene.wasm?another": "no-cache", "": "no-cache", "start.js": "no-cache"} {
		r := get(t, s.URL+"/"+path)
		if got := r.Header.Get("Cache-Control"); r.StatusCode != 200 || got != want {
			t.Errorf("%q: %d, %q, want %q", path, r.StatusCode, got, want)
		}
	}
	os.RemoveAll(dir)
	if r := get(t, s.URL+"/"+string(address[1])); r.StatusCode != 404 || r.Header.Get("Cache-Control") != "no-cache" {
		t.Errorf("a build that is gone: %d, %q", r.StatusCode, r.Header.Get("Cache-Control"))
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

// A connection that nobody uses is closed: one that asked once and then nothing, and
// one that never ends its question.
func TestIdleConnectionsAreClosed(t *testing.T) {
	if s := Server(Build{}); s.IdleTimeout <= 0 || s.IdleTimeout > 5*time.Minute || s.ReadHeaderTimeout <= 0 || s.ReadHeaderTimeout > time.Minute {
		t.Fatalf("idle for %v, a header for %v", s.IdleTimeout, s.ReadHeaderTimeout)
	}
	_, dir := served(t)
	s := Server(Kept(dir))
	// As it is, but not for as long as a test would wait.
	s.IdleTimeout /= 100
	s.ReadHeaderTimeout /= 5
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go s.Serve(l)
	t.Cleanup(func() { s.Close() })
	var all sync.WaitGroup
	for name, question := range map[string]string{
		"idle":        "GET /style.css HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
		"unfinished":  "GET /style.css HTTP/1.1\r\nHost: ",
		"no question": "",
	} {
		all.Go(func() {
			c, err := net.Dial("tcp", l.Addr().String())
			if err != nil {
				t.Error(err)
				return
			}
			defer c.Close()
			io.WriteString(c, question)
			c.SetDeadline(time.Now().Add(time.Minute))
			b, err := io.ReadAll(c)
			if err != nil {
				t.Errorf("%s: after %d bytes %v", name, len(b), err)
			}
			if answered := bytes.HasPrefix(b, []byte("HTTP/1.1 200")); answered != (name == "idle") {
				t.Errorf("%s: answered %.80q", name, b)
			}
		})
	}
	all.Wait()
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
	src, err := FindSource(".")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := SourceKey(src); err != nil {
			b.Fatal(err)
		}
	}
}

// TestBuildHasAVersion: the browser's program is compiled without its repository, so
// results made there name the version only if the linker is told.
func TestBuildHasAVersion(t *testing.T) {
	recipes := map[string]bool{}
	for given, want := range map[string]string{"": lessons.Version(), "v9.8.7": "v9.8.7"} {
		c := &Cache{Version: given}
		ld := c.buildFlags()[slices.Index(c.buildFlags(), "-ldflags")+1]
		if flag := fmt.Sprintf("-X 'gainwright/lessons.built=%s'", want); !strings.Contains(ld, flag) {
			t.Fatalf("the linker is given %q, not %s", ld, flag)
		}
		recipes[c.recipe()] = true
	}
	if len(recipes) != 2 {
		t.Error("another version is kept under the same name")
	}
	// The linker ignores a name that it does not know, so it is tried.
	out, err := limited.Command(t, 5*time.Minute, "go", "test", "-ldflags", "-X 'gainwright/lessons.built=devel tried'", "-run", "TestPrintVersion", "-v", "gainwright/lessons").CombinedOutput()
	if err != nil || !strings.Contains(string(out), "version: devel tried") {
		t.Errorf("%v: %s", err, out)
	}
}
