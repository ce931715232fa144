package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

var (
	files = []file{{"gainwright", []byte("program"), true}, {"licences/a/LICENSE", []byte("may be used"), false}}
	when  = time.Date(2026, 3, 4, 5, 6, 8, 0, time.UTC)
)

// TestArchives: what was put in comes out, by the standard library's readers, and
// nothing tells who made it, where or when.
func TestArchives(t *testing.T) {
	type entry struct {
		name string
		mode os.FileMode
		when time.Time
		data []byte
	}
	check := func(kind string, got []entry) {
		if len(got) != len(files) {
			t.Fatalf("%s: %d files", kind, len(got))
		}
		for i, e := range got {
			mode := os.FileMode(0o644)
			if files[i].program {
				mode = 0o755
			}
			if e.name != "gainwright/"+files[i].name || e.mode != mode || !e.when.Equal(when) || !bytes.Equal(e.data, files[i].data) {
				t.Errorf("%s: %+v", kind, e)
			}
		}
	}
	var first, second bytes.Buffer
	if err := packTar(&first, files, when); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Millisecond)
	if err := packTar(&second, files, when); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Errorf("tar.gz: another time, other bytes; %v", err)
	}
	z, err := gzip.NewReader(&first)
	if err != nil {
		t.Fatal(err)
	}
	if !z.ModTime.IsZero() || z.Name != "" {
		t.Errorf("gzip tells %v, %q", z.ModTime, z.Name)
	}
	var got []entry
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil || h.Uid != 0 || h.Gid != 0 || h.Uname+h.Gname != "" {
			t.Errorf("%+v, %v", h, err)
		}
		got = append(got, entry{h.Name, h.FileInfo().Mode(), h.ModTime, data})
	}
	check("tar.gz", got)

	var zipped bytes.Buffer
	if err := packZip(&zipped, files, when); err != nil {
		t.Fatal(err)
	}
	r, err := zip.NewReader(bytes.NewReader(zipped.Bytes()), int64(zipped.Len()))
	if err != nil {
		t.Fatal(err)
	}
	got = nil
	for _, f := range r.File {
		o, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(o)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, entry{f.Name, f.Mode(), f.Modified, data})
	}
	check("zip", got)
}

// TestLicences: every module that is linked into a program for any of the systems, or
// into the scene, brings a text, and its licence is known. Those named here are known
// from the modules' own pages (from memory).
func TestLicences(t *testing.T) {
	fixEnvironment()
	src, err := here()
	if err != nil {
		t.Fatal(err)
	}
	var modules []module
	for _, p := range [][2]string{{"linux/amd64", "./cmd/gainwright"}, {"darwin/arm64", "./cmd/gainwright"}, {"windows/amd64", "./cmd/gainwright"}, {"js/wasm", "./cmd/gainwright-scene"}} {
		more, err := linked(t.Context(), src, p[0], p[1])
		if err != nil {
			t.Fatal(err)
		}
		modules = append(modules, more...)
	}
	modules = merged(modules)
	of := map[string]string{}
	for _, m := range modules {
		texts, err := licences([]module{m})
		if err != nil {
			t.Error(err)
			continue
		}
		var ids []string
		for _, l := range recognised(m.Path, texts) {
			if l.Licence.ID == "" {
				t.Errorf("%s: what is %s?", m.Path, l.Licence.Name)
			}
			ids = append(ids, l.Licence.ID)
		}
		of[m.Path] = strings.Join(ids, " ")
	}
	for path, want := range map[string]string{
		"std": "BSD-3-Clause", "github.com/spf13/cobra": "Apache-2.0", "github.com/hajimehoshi/ebiten/v2": "Apache-2.0",
		"gonum.org/v1/gonum": "BSD-3-Clause", "github.com/yuin/goldmark": "MIT", "github.com/pkg/errors": "BSD-2-Clause",
		"github.com/mewkiz/flac": "Unlicense", "codeberg.org/go-fonts/liberation": "BSD-3-Clause OFL-1.1",
		"github.com/inconshreveable/mousetrap": "Apache-2.0", "github.com/golang/freetype": "FTL",
	} {
		if of[path] != want {
			t.Errorf("%s: %q, want %q", path, of[path], want)
		}
	}
}

// A module that brings no licence cannot be handed on.
func TestNoLicence(t *testing.T) {
	m := module{Path: "example.org/m", Version: "v1.0.0", Dir: t.TempDir()}
	if _, err := licences([]module{m}); err == nil || !strings.Contains(err.Error(), "example.org/m v1.0.0 has no licence") {
		t.Errorf("%v", err)
	}
	m.folders = []string{filepath.Join(m.Dir, "a", "b")}
	for _, n := range []string{"a/b/licence.go", "a/COPYING", "a/b/c.txt", "licenses/x.txt"} {
		n = filepath.Join(m.Dir, filepath.FromSlash(n))
		if err := os.MkdirAll(filepath.Dir(n), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(n, []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := licences([]module{m})
	var names []string
	for _, f := range got {
		names = append(names, f.name)
	}
	if want := []string{"licences/example.org/m/licenses/x.txt", "licences/example.org/m/a/COPYING"}; err != nil || !slices.Equal(names, want) {
		t.Errorf("%q, %v", names, err)
	}
}

// TestBill: the bill of materials has what the standard requires (bomFormat,
// specVersion; of a component type and name; references that are unique and lead
// somewhere), after CycloneDX 1.6.
func TestBill(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "LICENSE"), []byte("Permission is hereby granted, free of charge, to any\nperson obtaining a copy"), 0o644); err != nil {
		t.Fatal(err)
	}
	modules := []module{{Path: "example.org/a", Version: "v1.0.0", Sum: "h1:x", Dir: dir}, {Path: "std", Version: "go1.26.8", Dir: dir}}
	text, err := bill("linux/amd64", commit{"devel", "0123456789ab", when}, []byte("abc"), modules)
	if err != nil {
		t.Fatal(err)
	}
	var b map[string]any
	if err := json.Unmarshal(text, &b); err != nil {
		t.Fatal(err)
	}
	own := b["metadata"].(map[string]any)["component"].(map[string]any)
	// FIPS 180-4's example: the SHA-256 of "abc".
	sum := own["hashes"].([]any)[0].(map[string]any)
	if b["bomFormat"] != "CycloneDX" || b["specVersion"] != "1.6" || own["version"] != "devel 0123456789ab" ||
		sum["alg"] != "SHA-256" || sum["content"] != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("%s", text)
	}
	refs := map[string]bool{}
	for _, c := range b["components"].([]any) {
		c := c.(map[string]any)
		ref, _ := c["bom-ref"].(string)
		if ref == "" || refs[ref] || c["type"] != "library" || c["name"] == "" || len(c["licenses"].([]any)) != 1 {
			t.Errorf("%v", c)
		}
		refs[ref] = true
	}
	if !refs["pkg:golang/example.org/a@v1.0.0"] || !refs["pkg:golang/std@1.26.8"] {
		t.Errorf("references %v", refs)
	}
	for _, d := range b["dependencies"].([]any)[0].(map[string]any)["dependsOn"].([]any) {
		if !refs[d.(string)] {
			t.Errorf("%v leads nowhere", d)
		}
	}
}

func TestCommit(t *testing.T) {
	for want, c := range map[string]commit{
		"devel 0123456789ab":               {"devel", "0123456789ab", when},
		"v1.2.3":                           {"v1.2.3", "0123456789ab", when},
		"v1.2.3 0123456789ab with changes": {"v1.2.3", "0123456789ab with changes", when},
	} {
		if c.String() != want || c.date() != "2026-03-04" {
			t.Errorf("%q of %s, want %q", c, c.date(), want)
		}
	}
}

// What cannot be made is told before anything is done.
func TestBadUse(t *testing.T) {
	taken := t.TempDir()
	if err := os.WriteFile(filepath.Join(taken, "SHA256SUMS"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		dir, want string
		targets   []string
	}{
		{t.TempDir(), "--for linux: there are linux/amd64, ", []string{"linux"}},
		{t.TempDir(), "once is enough", []string{"linux/amd64", "linux/amd64"}},
		{filepath.Join(t.TempDir(), "no", "such"), "there is no directory", all},
		{taken, "already exists", all},
	} {
		var log strings.Builder
		err := release(t.Context(), &log, c.dir, c.targets, false)
		if err == nil || !strings.Contains(err.Error(), c.want) || log.Len() > 0 {
			t.Errorf("%q: %v\n%s", c.want, err, log.String())
		}
		if left, _ := os.ReadDir(c.dir); len(left) > 1 || c.dir != taken && len(left) > 0 {
			t.Errorf("%q: left %v", c.want, left)
		}
	}
}

// TestWanted: no list of systems of which nothing comes, or less than is said.
func TestWanted(t *testing.T) {
	if err := wanted(all); err != nil {
		t.Error(err)
	}
	for _, bad := range [][]string{nil, {}, {"plan9/amd64"}, {"linux/amd64", "linux/amd64"}, {"linux"}} {
		if wanted(bad) == nil {
			t.Errorf("%q is taken", bad)
		}
	}
}
