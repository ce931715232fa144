package course

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
)

// build is a scene that nobody could run.
var build = serve.Build{Name: "build-7", FS: fstest.MapFS{
	"scene.wasm":   {Data: bytes.Repeat([]byte("\x00asm scene "), 1000)},
	"wasm_exec.js": {Data: []byte("globalThis.Go = class {};")},
}}

func packaged(t *testing.T, o Options) (*zip.Reader, []byte) {
	t.Helper()
	l, err := builtin.Load("blind-listening")
	if err != nil {
		t.Fatal(err)
	}
	files, err := Files(l, build, o)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Write(&b, files); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	return z, b.Bytes()
}

func read(t *testing.T, z *zip.Reader, name string) string {
	t.Helper()
	f, err := z.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestPackage: whatever the page asks for lies in the package, the scene and the lesson
// come out as they went in, and the page's own policy allows no more than it needs.
func TestPackage(t *testing.T) {
	for name, c := range map[string]struct {
		o                  Options
		announces, connect string
	}{
		"cmi5":         {Options{For: Cmi5, Name: "blind-listening.yaml", MoveOn: "Passed"}, "cmi5.xml", "connect-src 'self' https: http:;"},
		"cmi5, stores": {Options{For: Cmi5, Name: "blind-listening.yaml", MoveOn: "Passed", Stores: []string{"https://a.example", "https://b.example:8443"}}, "cmi5.xml", "connect-src 'self' https://a.example https://b.example:8443;"},
		"scorm":        {Options{For: SCORM, Name: "blind-listening.yaml"}, "imsmanifest.xml", "connect-src 'self';"},
	} {
		z, all := packaged(t, c.o)
		if _, again := packaged(t, c.o); !bytes.Equal(all, again) {
			t.Errorf("%s: the same package has other bytes", name)
		}
		if z.File[0].Name != c.announces {
			t.Errorf("%s: begins with %s", name, z.File[0].Name)
		}
		page := read(t, z, "index.html")
		if strings.Count(page, c.connect) != 1 || !strings.Contains(page, "default-src 'none'; script-src 'self' 'wasm-unsafe-eval' data:;") {
			t.Errorf("%s: the policy is not %q in\n%s", name, c.connect, page)
		}
		if regexp.MustCompile(`(?s)<script[^>]*>[^<]`).MatchString(page) || regexp.MustCompile(`\son\w+=|\sstyle=|<style`).MatchString(page) {
			t.Errorf("%s: something stands in the page that its policy refuses:\n%s", name, page)
		}
		asked := regexp.MustCompile(`(?:src|href|data-scene)="([^"?]+)`).FindAllStringSubmatch(page, -1)
		if len(asked) < 8 {
			t.Errorf("%s: the page asks for %q", name, asked)
		}
		for _, a := range asked {
			read(t, z, a[1])
		}
		gz, err := gzip.NewReader(strings.NewReader(read(t, z, "scene.wasm.gz")))
		if err != nil {
			t.Fatal(err)
		}
		if scene, err := io.ReadAll(gz); err != nil || !bytes.Equal(scene, build.FS.(fstest.MapFS)["scene.wasm"].Data) || !gz.ModTime.IsZero() || gz.Name != "" {
			t.Errorf("%s: the scene: %d bytes, %v", name, len(scene), err)
		}
		text := read(t, z, "lesson.js")
		var got struct{ Name, Text string }
		if err := json.Unmarshal([]byte(strings.TrimSuffix(text[strings.Index(text, "= ")+2:], ";\n")), &got); err != nil {
			t.Fatal(err)
		}
		l, err := format.Parse(got.Name, []byte(got.Text))
		was, _ := builtin.Load("blind-listening")
		if err != nil || l.ID != was.ID || l.Hash != was.Hash {
			t.Errorf("%s: the lesson in it is another: %v", name, err)
		}
		if i := slices.IndexFunc(z.File, func(f *zip.File) bool { return f.Modified.Year() != 1980 }); i >= 0 {
			t.Errorf("%s: %s tells %v", name, z.File[i].Name, z.File[i].Modified)
		}
	}
}

func TestOrigin(t *testing.T) {
	for in, want := range map[string]string{
		"https://store.example/xapi/": "https://store.example", "http://localhost:8080": "http://localhost:8080",
		"store.example": "", "ftp://store.example": "", "https://": "", "https://a.example; script-src *": "", "": "", `https://a"b.example`: "", "https://*": "",
	} {
		if got, err := Origin(in); got != want || (err == nil) != (want != "") {
			t.Errorf("%q: %q, %v", in, got, err)
		}
	}
}
