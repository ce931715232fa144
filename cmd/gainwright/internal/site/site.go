// Package site writes the scene as static files, which any web server can serve, under
// any path: the page, the compiled scene, what keeps it for visits without a network,
// and what a host may set.
package site

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html"
	"image"
	"image/draw"
	"image/png"
	"io/fs"
	"slices"

	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
	"gainwright/scenes/sign"
)

//go:embed page
var page embed.FS

// Names of files.
const (
	indexName    = "index.html"
	manifestName = "manifest.json" // every server knows that ending
	siteName     = "site.js"       // what is this site's own, and what keeps it
	workerName   = "worker.js"
	aboutName    = "site.json" // what is here, by which a later run knows its own
	headersName  = "HEADERS.txt"
	sceneName    = "scene.wasm"
)

// A Lesson is a lesson's file.
type Lesson struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// Options say what is a site's own.
type Options struct {
	Lessons []Lesson // beside the built-in ones
	Public  string   // the address at which others find it; "": wherever it lies
	// Kept has the browser keep the site for visits without a network, and lets it be
	// installed. Pages that others open in a frame of theirs need none of it.
	Kept bool
}

// A File is one file of a site.
type File struct {
	Name string
	Data []byte
}

// kept are the files that the browser keeps, in the order in which it fetches them.
var keptNames = []string{indexName, siteName, "start.js", "style.css", "icon.svg", "icon-192.png", "icon-512.png", "icon-mask-512.png", manifestName, "wasm_exec.js", sceneName}

// loadedNames are the files that the page loads beside the scene.
var loadedNames = []string{siteName, "start.js", "style.css", "wasm_exec.js"}

// Files are those of a site: the same for the same build and options.
func Files(ctx context.Context, b serve.Build, o Options) ([]File, error) {
	var files []File
	add := func(name string, data []byte) { files = append(files, File{name, data}) }
	for _, from := range []struct {
		fs    fs.FS
		names []string
	}{{serve.Page(), []string{"start.js", "style.css", "icon.svg"}}, {b.FS, []string{"wasm_exec.js", sceneName, sceneName + ".br"}}} {
		for _, n := range from.names {
			data, err := fs.ReadFile(from.fs, n)
			if err != nil {
				return nil, fmt.Errorf("reading the scene's %s: %w", n, err)
			}
			add(n, data)
		}
	}
	raw := files[slices.IndexFunc(files, func(f File) bool { return f.Name == sceneName })].Data
	packed, err := fs.ReadFile(b.FS, sceneName+".gz")
	if err != nil { // one inside a program has none
		if packed, err = gz(ctx, raw); err != nil {
			return nil, err
		}
	}
	add(sceneName+".gz", packed)
	script, err := scriptOf(o)
	if err != nil {
		return nil, err
	}
	add(siteName, script)
	index, err := indexOf(b, o, len(raw), files)
	if err != nil {
		return nil, err
	}
	add(indexName, index)
	if o.Kept {
		icons, err := iconFiles()
		if err != nil {
			return nil, err
		}
		files = append(files, icons...)
		add(manifestName, []byte(manifest))
		worker, err := workerOf(b, files)
		if err != nil {
			return nil, err
		}
		add(workerName, worker)
	}
	add(headersName, []byte(headers()))
	about, err := aboutOf(files)
	if err != nil {
		return nil, err
	}
	add(aboutName, about)
	return files, nil
}

func gz(ctx context.Context, data []byte) ([]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return serve.Gzipped(data)
}

// indexOf is the page: the served one, with its policy within and what is a site's own. It
// names the files that it loads by what is in them, as it does the scene: a browser that
// is not told otherwise takes a file of the build before for still good.
func indexOf(b serve.Build, o Options, size int, files []File) ([]byte, error) {
	b.Public = o.Public
	index := b.Index()
	first := `<meta charset="utf-8">` + "\n"
	more := first + fmt.Sprintf(`<meta http-equiv="Content-Security-Policy" content="%s">`+"\n", serve.PagePolicy)
	if o.Kept {
		more += `<link rel="manifest" href="` + manifestName + `">` + "\n" +
			`<link rel="apple-touch-icon" href="icon-192.png">` + "\n" +
			`<meta name="theme-color" content="#0e1319">` + "\n"
	}
	more += `<script src="` + siteName + `"></script>` + "\n"
	places := [][2]string{{first, more}, {`<script src="start.js" `, fmt.Sprintf(`<script src="start.js" data-size="%d" `, size)}}
	for _, f := range files {
		if slices.Contains(loadedNames, f.Name) {
			places = append(places, [2]string{`="` + f.Name + `"`, `="` + f.Name + "?" + sum(f.Data)[:12] + `"`})
		}
	}
	for _, r := range places {
		if bytes.Count(index, []byte(r[0])) != 1 {
			return nil, fmt.Errorf("the page has no place for %s", html.EscapeString(r[1]))
		}
		index = bytes.Replace(index, []byte(r[0]), []byte(r[1]), 1)
	}
	return index, nil
}

// script is what is a site's own, before a script of the package.
func script(name, variable string, v any, parts ...string) ([]byte, error) {
	own, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return nil, err
	}
	out := fmt.Appendf(nil, "// %s: written by gainwright site.\n\"use strict\";\nconst %s = %s;\n", name, variable, own)
	for _, p := range parts {
		data, err := page.ReadFile("page/" + p)
		if err != nil {
			return nil, err
		}
		out = append(out, data...)
	}
	return out, nil
}

func scriptOf(o Options) ([]byte, error) {
	return script(siteName, "own", struct {
		Kept    bool     `json:"kept"`
		Lessons []Lesson `json:"lessons"`
	}{o.Kept, append([]Lesson{}, o.Lessons...)}, "packed.js", siteName)
}

// workerOf is the worker that keeps the site: it knows every file of its build by what
// is in it.
func workerOf(b serve.Build, files []File) ([]byte, error) {
	type kept struct {
		Name string `json:"name"`
		Sum  string `json:"sum"`
		Type string `json:"type"`
	}
	var list []kept
	all := sha256.New()
	for _, n := range keptNames {
		i := slices.IndexFunc(files, func(f File) bool { return f.Name == n })
		if i < 0 {
			return nil, fmt.Errorf("there is no %s to keep", n)
		}
		k := kept{n, sum(files[i].Data), serve.TypeOf(n)}
		list = append(list, k)
		fmt.Fprintf(all, "%s %s\n", k.Sum, k.Name)
	}
	return script(workerName, "own", struct {
		Build string `json:"build"`
		Scene string `json:"scene"`
		Files []kept `json:"files"`
	}{hex.EncodeToString(all.Sum(nil))[:20], sceneName + "?" + b.Name, list}, "packed.js", workerName)
}

func sum(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:])
}

// program tells a site of ours from another's.
const program = "gainwright site"

// about tells what a site is made of.
type about struct {
	Program string            `json:"program"`
	Build   string            `json:"build"`
	Files   map[string]string `json:"files"` // SHA-256 by name, of all but this one
}

func aboutOf(files []File) ([]byte, error) {
	a := about{Program: program, Files: map[string]string{}}
	var list []string
	for _, f := range files {
		a.Files[f.Name] = sum(f.Data)
		list = append(list, a.Files[f.Name]+" "+f.Name)
	}
	slices.Sort(list)
	a.Build = sum(fmt.Append(nil, list))[:20]
	out, err := json.MarshalIndent(a, "", "  ")
	return append(out, '\n'), err
}

// Build tells sites apart that differ in any file.
func Build(files []File) string {
	var a about
	for _, f := range files {
		if f.Name == aboutName && json.Unmarshal(f.Data, &a) == nil {
			return a.Build
		}
	}
	return ""
}

const manifest = `{
  "name": "Gainwright",
  "short_name": "Gainwright",
  "description": "Set the gain for a talker, record, hear and see what was lost.",
  "start_url": "./",
  "scope": "./",
  "display": "standalone",
  "background_color": "#0e1319",
  "theme_color": "#0e1319",
  "icons": [
    { "src": "icon.svg", "sizes": "any", "type": "image/svg+xml" },
    { "src": "icon-192.png", "sizes": "192x192", "type": "image/png" },
    { "src": "icon-512.png", "sizes": "512x512", "type": "image/png" },
    { "src": "icon-mask-512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable" }
  ]
}
`

// iconFiles are the sign in pixels. What a system cuts to a shape of its own has the sign
// smaller: of such a picture a circle of four tenths of its width around the middle is
// sure to be shown (W3C Web Application Manifest, "Icon masks and safe zone").
func iconFiles() ([]File, error) {
	var l ink.List
	sign.Draw(&l)
	paint := func(n int) *image.RGBA { return raster.Paint(&l, n, n, float32(n)/sign.Size, ink.Color{}) }
	mask := raster.Paint(new(ink.List), 512, 512, 1, sign.Ground)
	draw.Draw(mask, image.Rect(64, 64, 448, 448), paint(384), image.Point{}, draw.Over)
	var files []File
	for _, p := range []struct {
		name  string
		image image.Image
	}{{"icon-192.png", paint(192)}, {"icon-512.png", paint(512)}, {"icon-mask-512.png", mask}} {
		var b bytes.Buffer
		if err := png.Encode(&b, p.image); err != nil {
			return nil, err
		}
		files = append(files, File{p.name, b.Bytes()})
	}
	return files, nil
}
