package opencmd

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"gainwright/cmd/gainwright/internal/serve"
)

// keptScene puts a finished build of the present source into a cache of the
// test's own, so that nothing is compiled.
func keptScene(t *testing.T) {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("the cache folder is moved by an environment variable of Linux")
	}
	cache := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", cache)
	src, err := serve.FindSource(".")
	if err != nil {
		t.Fatal(err)
	}
	c, err := serve.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	c.Compile = func(_ context.Context, _ serve.Tool, _, out string, _ func(string)) error {
		return os.WriteFile(out, []byte("test"), 0o644)
	}
	if _, fresh, err := c.Ensure(t.Context(), src); err != nil || !fresh || !strings.HasPrefix(c.Dir, cache) {
		t.Fatalf("in %s: fresh %v, %v", c.Dir, fresh, err)
	}
}

// buffer is read while the command writes it.
type buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

var address = regexp.MustCompile(`http://127\.0\.0\.1:\d+/`)

func TestOpenServesUntilToldToEnd(t *testing.T) {
	keptScene(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var out, log buffer
	cmd := New()
	cmd.SetArgs([]string{"--no-browser"})
	cmd.SetOut(&out)
	cmd.SetErr(&log)
	ended := make(chan error, 1)
	began := time.Now()
	go func() { ended <- cmd.ExecuteContext(ctx) }()
	url := ""
	for late := time.After(time.Minute); url == ""; {
		select {
		case err := <-ended:
			t.Fatalf("ended: %v\n%s%s", err, out.String(), log.String())
		case <-late:
			t.Fatalf("no address after a minute\n%s%s", out.String(), log.String())
		case <-time.After(10 * time.Millisecond):
			url = address.FindString(out.String())
		}
	}
	if log.String() != "" {
		t.Errorf("with a kept scene it has nothing to compile, but says %q", log.String())
	}
	t.Logf("served after %v", time.Since(began))
	client := http.Client{Timeout: time.Minute}
	r, err := client.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(r.Body)
	r.Body.Close()
	if r.StatusCode != 200 || !strings.Contains(string(body), "<title>Gainwright</title>") {
		t.Errorf("%d: %.100s", r.StatusCode, body)
	}
	cancel() // as Ctrl-C does
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("ended with %v", err)
		}
	case <-time.After(time.Minute):
		t.Error("did not end in a minute")
	}
	if n := strings.Count(out.String(), "\n"); n != 1 {
		t.Errorf("printed %d lines:\n%s", n, out.String())
	}
}

func TestOpenPort(t *testing.T) {
	keptScene(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	taken := l.Addr().(*net.TCPAddr).Port
	for _, c := range []struct {
		port int
		want string
	}{
		{taken, "port " + strconv.Itoa(taken) + " is taken"}, {-1, "a port is 1 to 65535"}, {70000, "a port is 1 to 65535"},
	} {
		err := open(t.Context(), io.Discard, io.Discard, options{port: c.port})
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("port %d: %v", c.port, err)
		}
	}
}

func TestOpenWithoutGo(t *testing.T) {
	keptScene(t)
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	t.Setenv("PATH", "")
	if err := open(t.Context(), io.Discard, io.Discard, options{}); !errors.Is(err, serve.ErrNoGo) {
		t.Errorf("%v", err)
	}
}

// What was given once is kept, told to the page, and taken away again.
func TestPublicURLIsKept(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the settings' folder is moved by an environment variable of Linux")
	}
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	for _, c := range []struct {
		given   string
		changed bool
		want    string
	}{{"", false, ""}, {"https://a.example/gain", true, "https://a.example/gain/"}, {"", false, "https://a.example/gain/"}, {"", true, ""}, {"", false, ""}} {
		if got, err := publicURL(c.given, c.changed); got != c.want || err != nil {
			t.Errorf("%q, given %v: %q, %v; want %q", c.given, c.changed, got, err, c.want)
		}
	}
	if _, err := publicURL("nowhere", true); err == nil {
		t.Error("what is no address is kept")
	}
	b := serve.Build{Public: `https://a.example/?"`}
	if page := string(b.Index()); !strings.Contains(page, `<meta name="gainwright-public" content="https://a.example/?&#34;">`) {
		t.Errorf("the page is not told:\n%s", page)
	}
}
