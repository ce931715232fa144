//go:build full

package browser

import (
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// Most tests are later visits of one browser, which has kept the scene and the code that it
// made of it: compiling that anew takes most of the time until the picture. Nothing else is
// kept, so that no test finds what another left. A browser finds it under the same address
// only: the program serves on one port for all.
var kept struct {
	sync.Mutex
	dir  string // what a browser has kept
	port int
}

// keptParts are the folders of a profile that hold only what was loaded, and its code.
var keptParts = []string{filepath.Join("Default", "Cache"), filepath.Join("Default", "Code Cache")}

// cold is a browser that has kept nothing.
func cold(t *testing.T) chromedp.ExecAllocatorOption { return chromedp.UserDataDir(profile(t, "")) }

// profile is a folder of a browser's own, with what another has kept.
func profile(t *testing.T, from string) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "gainwright-browser-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if from != "" {
		keep(t, from, dir)
	}
	return dir
}

func keep(t *testing.T, from, to string) {
	t.Helper()
	for _, p := range keptParts {
		if err := os.CopyFS(filepath.Join(to, p), os.DirFS(filepath.Join(from, p))); err != nil {
			t.Fatalf("copying what a browser has kept: %v", err)
		}
	}
}

// later is the profile of a later visit, and what keeps it for others after the first.
func later(t *testing.T) (dir string, ended func()) {
	t.Helper()
	kept.Lock()
	defer kept.Unlock()
	dir = profile(t, kept.dir)
	if kept.dir != "" {
		return dir, func() {}
	}
	return dir, func() {
		kept.Lock()
		defer kept.Unlock()
		size := int64(0)
		filepath.WalkDir(filepath.Join(dir, keptParts[1], "wasm"), func(_ string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() {
				if i, err := d.Info(); err == nil {
					size += i.Size()
				}
			}
			return nil
		})
		t.Logf("the browser has kept %.1f MB of code", float64(size)/1e6)
		if kept.dir != "" || size < 1e6 {
			return // the scene was not opened, or left before its code was kept
		}
		to, err := os.MkdirTemp("", "gainwright-kept-")
		if err != nil {
			t.Fatal(err)
		}
		keep(t, dir, to)
		kept.dir = to
	}
}

// samePort is a port that was free when it was first asked for; 0 (any) where it is taken.
func samePort(t *testing.T) string {
	t.Helper()
	kept.Lock()
	defer kept.Unlock()
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(kept.port)))
	if err != nil {
		return "0"
	}
	defer l.Close()
	kept.port = l.Addr().(*net.TCPAddr).Port
	return strconv.Itoa(kept.port)
}
