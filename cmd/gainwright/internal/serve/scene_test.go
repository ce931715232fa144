package serve

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/andybalholm/brotli"
)

// within is a finished build as a program has it inside.
func within(t *testing.T) (b Build, kept string, dir string) {
	t.Helper()
	kept, _, err := fakeCache(t.TempDir(), compileWell).Ensure(t.Context(), module(t))
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	if err := Kept(kept).WriteInside(dir); err != nil {
		t.Fatal(err)
	}
	if b, err = openInside(os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return b, kept, dir
}

// TestSceneInside: what is inside a program is what was compiled, under the same name,
// in whatever form it is asked for; and it is a file system as others are.
func TestSceneInside(t *testing.T) {
	b, kept, _ := within(t)
	if !b.Inside || b.Name != filepath.Base(kept) {
		t.Errorf("inside %v, named %q, not %q", b.Inside, b.Name, filepath.Base(kept))
	}
	for _, n := range []string{wasmName, wasmName + ".br", execName} {
		want, err := os.ReadFile(filepath.Join(kept, n))
		if err != nil {
			t.Fatal(err)
		}
		got, err := fs.ReadFile(b.FS, n)
		i, serr := fs.Stat(b.FS, n)
		if err != nil || serr != nil || !bytes.Equal(got, want) || i.Size() != int64(len(want)) {
			t.Errorf("%s: %d bytes for %d, %v, %v", n, len(got), len(want), err, serr)
		}
	}
	if err := fstest.TestFS(b.FS, wasmName+".br", execName); err != nil {
		t.Error(err)
	}
	s := httptest.NewServer(Handler(b))
	t.Cleanup(s.Close)
	for accept, want := range map[string]string{"gzip, deflate, br": "br", "gzip": "", "": ""} {
		r := get(t, s.URL+"/scene.wasm?"+b.Name, "Accept-Encoding", accept)
		if got := r.Header.Get("Content-Encoding"); got != want || r.StatusCode != 200 || !strings.Contains(r.Header.Get("Cache-Control"), "immutable") {
			t.Errorf("%q: %d, coded %q, %q", accept, r.StatusCode, got, r.Header.Get("Cache-Control"))
		}
		var rd io.Reader = r.Body
		if want == "br" {
			rd = brotli.NewReader(rd)
		}
		if got, err := io.ReadAll(rd); err != nil || !bytes.Equal(got, scene) {
			t.Errorf("%q: %d bytes, %v", accept, len(got), err)
		}
	}
}

// A scene that is inside goes before any that could be compiled, and needs neither Go
// nor a source.
func TestSceneInsideNeedsNothing(t *testing.T) {
	_, kept, dir := within(t)
	t.Setenv("PATH", "")
	t.Setenv("HOME", "")
	t.Setenv("XDG_CACHE_HOME", "")
	t.Chdir(t.TempDir())
	inside = os.DirFS(dir)
	defer func() { inside = nil }()
	b, err := Scene(t.Context(), func(step string, _ int, _ float64) { t.Errorf("it is busy with %q", step) })
	if err != nil || b.Name != filepath.Base(kept) || !HasScene() {
		t.Errorf("%q, %v", b.Name, err)
	}
}

// TestSceneInsideIsWhole: a program that was put together wrongly says so.
func TestSceneInsideIsWhole(t *testing.T) {
	for name, spoil := range map[string]func(dir string) error{
		"no file that says what it is": func(d string) error { return os.Remove(filepath.Join(d, aboutName)) },
		"one that says nothing":        func(d string) error { return os.WriteFile(filepath.Join(d, aboutName), []byte("{}"), 0o644) },
		"no scene":                     func(d string) error { return os.Remove(filepath.Join(d, wasmName+".br")) },
		"half a scene":                 func(d string) error { return os.Truncate(filepath.Join(d, wasmName+".br"), 40) },
	} {
		_, _, dir := within(t)
		if err := spoil(dir); err != nil {
			t.Fatal(err)
		}
		b, err := openInside(os.DirFS(dir))
		if err == nil {
			_, err = b.FS.Open(wasmName)
		}
		if err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A program that was installed, and knows no source, says in one line what to do.
func TestNoSource(t *testing.T) {
	if err := ErrNoSource.Error(); strings.Contains(err, "\n") || !strings.Contains(err, "source's folder") || !strings.Contains(err, "releases") {
		t.Error(err)
	}
	if errors.Is(ErrNoGo, ErrNoSource) {
		t.Error("one is the other")
	}
}
