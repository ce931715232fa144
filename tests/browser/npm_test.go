//go:build full

package browser

import (
	"archive/tar"
	"compress/gzip"
	"crypto/sha512"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// fromNPM gives a file of a package that npm's own client fetches, once; the copy is kept
// in the user's cache and never committed. One version, with its hash as the registry
// states it, so that a verdict changes with the page and not with the week. Without it
// nothing is known, so the test fails.
func fromNPM(t *testing.T, name, version, hash, file string) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(cache, "gainwright-tests", name)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, name+"-"+version+".tgz")
	whole := func() error {
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if sum := sha512.Sum512(b); base64.StdEncoding.EncodeToString(sum[:]) != hash {
			return fmt.Errorf("%s is not %s %s: its SHA-512 is %s", path, name, version, base64.StdEncoding.EncodeToString(sum[:]))
		}
		return nil
	}
	if whole() != nil {
		cmd := limited.Command(t, 5*time.Minute, "npm", "pack", "--silent", name+"@"+version)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s could not be fetched from npm, and without it nothing is known: %v\n%s", name, err, out)
		}
		if err := whole(); err != nil {
			t.Fatal(err)
		}
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			t.Fatalf("%s has no %s", path, file)
		}
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		if h.Name == file {
			b, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			return string(b)
		}
	}
}
