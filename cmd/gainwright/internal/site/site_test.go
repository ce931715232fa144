package site

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"image/png"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"gainwright/cmd/gainwright/internal/serve"
)

// build is a build of which nothing can be run.
func build(scene string) serve.Build {
	return serve.Build{FS: fstest.MapFS{
		"scene.wasm": {Data: []byte(scene)}, "scene.wasm.br": {Data: []byte("br")}, "wasm_exec.js": {Data: []byte("exec")},
	}, Name: "tried"}
}

func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := os.ReadFile(p)
		out[filepath.ToSlash(strings.TrimPrefix(p, dir+string(filepath.Separator)))] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// What a page of a plain server needs stands in its files: its policy, but for what a
// page cannot say; every file that it names; the scene in a form that is unpacked.
func TestFiles(t *testing.T) {
	files, err := Files(t.Context(), build("the scene"), Options{Kept: true, Public: `https://a.example/"x"/`, Lessons: []Lesson{{"mine.yaml", "title: </script>"}}})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string][]byte{}
	for _, f := range files {
		got[f.Name] = f.Data
	}
	index := string(got["index.html"])
	for _, want := range []string{
		`http-equiv="Content-Security-Policy" content="default-src 'none';`, `data-scene="scene.wasm?tried"`, `data-size="9"`,
		`<link rel="manifest" href="manifest.json">`, `content="https://a.example/&#34;x&#34;/"`, `<script src="site.js?`,
	} {
		if !strings.Contains(index, want) {
			t.Errorf("the page has no %s:\n%s", want, index)
		}
	}
	if strings.Contains(index, "frame-ancestors") {
		t.Error("a page cannot say who frames it: browsers complain")
	}
	var m struct {
		Start string `json:"start_url"`
		Scope string
		Icons []struct{ Src, Sizes string }
	}
	if err := json.Unmarshal(got["manifest.json"], &m); err != nil || m.Start != "./" || m.Scope != "./" || len(m.Icons) != 4 {
		t.Errorf("the manifest: %v %+v", err, m)
	}
	for _, i := range m.Icons {
		if got[i.Src] == nil {
			t.Errorf("there is no icon %s", i.Src)
		} else if strings.HasSuffix(i.Src, ".png") {
			p, err := png.DecodeConfig(bytes.NewReader(got[i.Src]))
			if err != nil || !strings.HasPrefix(i.Sizes, "192x") && p.Width != 512 || p.Width != p.Height {
				t.Errorf("%s: %v, %d by %d for %s", i.Src, err, p.Width, p.Height, i.Sizes)
			}
		}
	}
	z, err := gzip.NewReader(bytes.NewReader(got["scene.wasm.gz"]))
	if err != nil {
		t.Fatal(err)
	}
	if raw, err := io.ReadAll(z); err != nil || string(raw) != "the scene" {
		t.Errorf("unpacked: %q, %v", raw, err)
	}
	for _, n := range keptNames {
		if !strings.Contains(string(got["worker.js"]), sum(got[n])) {
			t.Errorf("the worker does not know %s", n)
		}
	}
	if s := string(got["site.js"]); strings.Contains(s, "</script>") || !strings.Contains(s, "mine.yaml") {
		t.Error("the lesson is not in site.js as it should be")
	}
	// One source for the policy: what a host may set is what is served here.
	for _, h := range serve.Headers() {
		if strings.Count(string(got["HEADERS.txt"]), h[1]) < 4 {
			t.Errorf("HEADERS.txt has not %q in words and in three examples", h[1])
		}
	}
	other, err := Files(t.Context(), build("the scenf"), Options{Kept: true})
	if err != nil {
		t.Fatal(err)
	}
	if Build(files) == Build(other) || Build(files) == "" {
		t.Errorf("builds %q and %q", Build(files), Build(other))
	}
}

// A directory is an earlier site's, or empty, or refused; what else is in it stays.
func TestWrite(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "public")
	write := func(scene string, force bool) error {
		_, err := Write(t.Context(), dir, build(scene), Options{Kept: true}, force)
		return err
	}
	refused := func(when string, err error) {
		t.Helper()
		var taken *TakenError
		if !errors.As(err, &taken) {
			t.Errorf("%s: %v", when, err)
		}
	}
	if err := write("one", false); err != nil {
		t.Fatal(err)
	}
	first := tree(t, dir)
	put := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put("robots.txt", "theirs")
	if err := write("two", false); err != nil {
		t.Fatal(err)
	}
	second := tree(t, dir)
	if second["robots.txt"] != "theirs" || second["scene.wasm"] != "two" || second["worker.js"] == first["worker.js"] || len(second) != len(first)+1 {
		t.Errorf("the second time: %d files, scene %q", len(second), second["scene.wasm"])
	}
	put("style.css", "changed")
	refused("a changed site", write("three", false))
	if got := tree(t, dir); got["scene.wasm"] != "two" || got["style.css"] != "changed" {
		t.Error("what was refused was begun")
	}
	if err := write("three", true); err != nil {
		t.Error(err)
	}
	if got := tree(t, dir); got["scene.wasm"] != "three" || got["robots.txt"] != "theirs" || got["style.css"] == "changed" {
		t.Error("by force it was not written")
	}
	dir = t.TempDir()
	put("notes.txt", "mine")
	refused("another's directory", write("one", false))
	if got := tree(t, dir); len(got) != 1 {
		t.Errorf("left behind: %v", got)
	}
	dir = t.TempDir()
	put(aboutName, `{"program": "another", "files": {}}`)
	refused("another's "+aboutName, write("one", false))
	if got := tree(t, dir); len(got) != 1 || !strings.Contains(got[aboutName], "another") {
		t.Errorf("of another's there is %v", got)
	}
}

// Browsers that are not told how long to keep what look into the page anew, and at what it
// loads not always: of another build it has another address, and never one beside files of
// the build before.
func TestAddresses(t *testing.T) {
	named := func(exec string) (out []string) {
		b := build("the scene")
		b.FS.(fstest.MapFS)["wasm_exec.js"] = &fstest.MapFile{Data: []byte(exec)}
		files, err := Files(t.Context(), b, Options{Kept: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if f.Name == "index.html" {
				for _, m := range regexp.MustCompile(`(?:script src|stylesheet" href)="([^"]+)"`).FindAllStringSubmatch(string(f.Data), -1) {
					out = append(out, m[1])
				}
			}
		}
		return out
	}
	one, two, same := named("one"), named("two"), named("one")
	if len(one) != 4 || !slices.Equal(one, same) {
		t.Fatalf("the page loads %q, and of the same build %q", one, same)
	}
	for i, a := range one {
		name, sum, ok := strings.Cut(a, "?")
		if !ok || len(sum) < 8 {
			t.Errorf("%s does not say of which build it is", a)
		}
		if (a == two[i]) != (name != "wasm_exec.js") {
			t.Errorf("%s, and of another wasm_exec.js %s", a, two[i])
		}
	}
}

// What the words say of the headers' order holds.
func TestHeadersInWords(t *testing.T) {
	all := serve.Headers()
	for i, h := range all {
		if strings.Contains(h[1], "frame-ancestors") != (i == 0) {
			t.Errorf("%d: %s", i, h)
		}
	}
	if got := headers(); !strings.Contains(got, "The first line forbids that;\n   leave frame-ancestors out") {
		t.Error("HEADERS.txt does not say which line forbids frames")
	}
}
