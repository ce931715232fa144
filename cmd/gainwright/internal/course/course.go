// Package course writes a lesson as a package for a school's learning system: a zip file
// of the scene as static files, the lesson, what announces it, and the script by which
// the page speaks with the system.
package course

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"strings"
	"time"

	"gainwright/cmd/gainwright/internal/serve"
	"gainwright/lessons/cmi5"
	"gainwright/lessons/model"
	"gainwright/lessons/scorm"
)

//go:embed page
var page embed.FS

// What a package can be for.
const (
	Cmi5  = "cmi5"
	SCORM = "scorm"
)

// Options say what a package is for.
type Options struct {
	For    string   // Cmi5 or SCORM
	Name   string   // of the lesson's file
	MoveOn string   // Cmi5: one of cmi5.MoveOn
	Stores []string // Cmi5: origins of record stores that the page may speak with; none: any
}

// A File is one file of a package.
type File struct {
	Name string
	Data []byte
}

// Files are those of a package, the one that announces it first.
func Files(l *model.Lesson, b serve.Build, o Options) ([]File, error) {
	connect, script := "'self'", "scorm.js"
	if o.For == Cmi5 {
		script = "cmi5.js"
		if connect += " " + strings.Join(o.Stores, " "); len(o.Stores) == 0 {
			connect = "'self' https: http:" // the system names its record store when it opens the page
		}
	}
	index := b.Index()
	first := []byte(`<meta charset="utf-8">` + "\n")
	plain := []byte(`"scene.wasm?`)
	if !bytes.Contains(index, first) || !bytes.Contains(index, plain) {
		return nil, fmt.Errorf("the page has no place for what a package needs")
	}
	raw, err := fs.Stat(b.FS, "scene.wasm")
	if err != nil {
		return nil, err
	}
	index = bytes.Replace(index, plain, fmt.Appendf(nil, `"%s?`, sceneName), 1)
	index = bytes.Replace(index, []byte(`<script src="start.js" `), fmt.Appendf(nil, `<script src="start.js" data-size="%d" `, raw.Size()), 1)
	index = bytes.Replace(index, first, fmt.Appendf(first, `<meta http-equiv="Content-Security-Policy" content="%s">
<script src="lesson.js"></script>
<script src="%s"></script>
<script src="course.js"></script>
`, strings.Replace(serve.PagePolicy, "connect-src 'self'", "connect-src "+connect, 1), script), 1)
	files := []File{{"index.html", index}}
	own, pages := page, serve.Page()
	for _, n := range []string{script, "course.js"} {
		data, err := fs.ReadFile(own, "page/"+n)
		if err != nil {
			return nil, err
		}
		files = append(files, File{n, data})
	}
	for _, from := range []struct {
		fs    fs.FS
		names []string
	}{{pages, []string{"start.js", "style.css", "icon.svg"}}, {b.FS, []string{"wasm_exec.js"}}} {
		for _, n := range from.names {
			data, err := fs.ReadFile(from.fs, n)
			if err != nil {
				return nil, err
			}
			files = append(files, File{n, data})
		}
	}
	scene, err := compressed(b)
	if err != nil {
		return nil, err
	}
	files = append(files, File{sceneName, scene})
	// As a script, since systems keep files of kinds that they know.
	text, err := json.Marshal(map[string]string{"name": o.Name, "text": string(l.Text())})
	if err != nil {
		return nil, err
	}
	files = append(files, File{"lesson.js", append(append([]byte("\"use strict\";\nglobalThis.gainwrightLesson = "), text...), ";\n"...)})

	announce := File{Name: "cmi5.xml"}
	if o.For == Cmi5 {
		announce.Data, err = cmi5.Structure(l, o.MoveOn, "index.html")
	} else {
		var names []string
		for _, f := range files {
			names = append(names, f.Name)
		}
		announce.Name = "imsmanifest.xml"
		announce.Data, err = scorm.Manifest(l, names)
	}
	return append([]File{announce}, files...), err
}

// sceneName is the scene as it lies in a package: systems seldom compress what they
// send, and it is five times smaller so.
const sceneName = "scene.wasm.gz"

func compressed(b serve.Build) ([]byte, error) {
	data, err := fs.ReadFile(b.FS, "scene.wasm")
	if err != nil {
		return nil, err
	}
	return serve.Gzipped(data)
}

// Origin reads the origin of an address, as a policy names it.
func Origin(address string) (string, error) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || strings.ContainsAny(u.Host, " ;,*'\"") {
		return "", fmt.Errorf("%s is no address of a record store, as in https://store.example.org", address)
	}
	return u.Scheme + "://" + u.Host, nil
}

// Write writes files as a zip file, whose bytes tell nothing of when and where it was
// made: the same files give the same package.
func Write(w io.Writer, files []File) error {
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
	// The earliest that a zip file can tell.
	when := time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, f := range files {
		h := &zip.FileHeader{Name: f.Name, Method: zip.Deflate, Modified: when}
		if f.Name == sceneName {
			h.Method = zip.Store
		}
		h.SetMode(0o644)
		to, err := z.CreateHeader(h)
		if err == nil {
			_, err = to.Write(f.Data)
		}
		if err != nil {
			return err
		}
	}
	return z.Close()
}
