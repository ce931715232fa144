package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/andybalholm/brotli"
)

// Build is a compiled scene: what a browser needs beside the page.
type Build struct {
	// FS has scene.wasm and wasm_exec.js, and scene.wasm.br; of a build from a Cache also
	// scene.wasm.gz and SHA256SUMS. The files seek.
	FS fs.FS
	// Name tells builds apart: another source, compiler or recipe has another.
	Name string
	// Public is the address at which others find the scene, if there is one; the page is
	// told, which makes links of it.
	Public string
	// Inside tells that the build is part of this program; else it was compiled.
	Inside bool
}

// Page is what surrounds the scene: index.html, start.js, style.css, icon.svg.
// Index gives index.html as it is to be sent.
func Page() fs.FS {
	own, err := fs.Sub(page, "page")
	if err != nil {
		panic("serve: embedded page: " + err.Error())
	}
	return own
}

// Index is the page's index.html, which asks for the scene under an address that names
// this build.
func (b Build) Index() []byte {
	data, err := fs.ReadFile(Page(), "index.html")
	if err != nil {
		panic("serve: embedded page: " + err.Error())
	}
	data = bytes.Replace(data, []byte(`"`+wasmName+`"`), []byte(`"`+wasmName+"?"+b.Name+`"`), 1)
	if b.Public != "" {
		meta := fmt.Appendf(nil, "<meta name=\"gainwright-public\" content=\"%s\">\n</head>", html.EscapeString(b.Public))
		data = bytes.Replace(data, []byte("</head>"), meta, 1)
	}
	return data
}

// Kept is the build in a directory that Cache.Ensure gave.
func Kept(dir string) Build { return Build{FS: os.DirFS(dir), Name: filepath.Base(dir)} }

// Scene is the scene to serve or to hand on: the one inside this program, if it was
// built with one (cmd/gainwright/release), else the one compiled from the source
// around the working directory and kept in the user's cache. say is Cache.Say, or nil;
// it is only called where something is compiled.
func Scene(ctx context.Context, say func(step string, done int, seconds float64)) (Build, error) {
	if inside != nil {
		return openInside(inside)
	}
	cwd, err := os.Getwd()
	if err != nil {
		return Build{}, err
	}
	src, err := FindSource(cwd)
	if err != nil {
		return Build{}, err
	}
	c, err := NewCache()
	if err != nil {
		return Build{}, err
	}
	c.Say = say
	dir, _, err := c.Ensure(ctx, src)
	if err != nil {
		return Build{}, err
	}
	return Kept(dir), nil
}

// HasScene tells whether this program has its scene inside.
func HasScene() bool { return inside != nil }

// inside holds what WriteInside wrote, in a program that was built with it.
var inside fs.FS

// aboutName says in a scene within a program what it is.
const aboutName = "about.json"

type about struct {
	Name string `json:"name"` // of the build
	Size int64  `json:"size"` // of scene.wasm, which is within only in its coded form
}

// WriteInside writes a build to a directory as it is put into a program: coded, since
// uncompressed the scene is as large as the program.
func (b Build) WriteInside(dir string) error {
	raw, err := fs.Stat(b.FS, wasmName)
	if err != nil {
		return err
	}
	say, err := json.Marshal(about{b.Name, raw.Size()})
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, aboutName), say, 0o644); err != nil {
		return err
	}
	for _, n := range []string{wasmName + ".br", execName} {
		data, err := fs.ReadFile(b.FS, n)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, n), data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// openInside is the build that WriteInside wrote to fsys.
func openInside(fsys fs.FS) (Build, error) {
	text, err := fs.ReadFile(fsys, aboutName)
	if err != nil {
		return Build{}, fmt.Errorf("the scene within this program: %w", err)
	}
	var a about
	if err := json.Unmarshal(text, &a); err != nil || a.Name == "" || a.Size <= 0 {
		return Build{}, errors.Join(errors.New("the scene within this program does not say what it is"), err)
	}
	raw := sync.OnceValues(func() ([]byte, error) {
		f, err := fsys.Open(wasmName + ".br")
		if err != nil {
			return nil, err
		}
		defer f.Close()
		data, err := io.ReadAll(io.LimitReader(brotli.NewReader(f), a.Size+1))
		if err == nil && int64(len(data)) != a.Size {
			err = fmt.Errorf("%s has not the %d bytes it should", wasmName, a.Size)
		}
		return data, err
	})
	return Build{FS: coded{fsys, a.Size, raw}, Name: a.Name, Inside: true}, nil
}

// coded gives scene.wasm out of its coded form when it is opened, and its size without.
type coded struct {
	fs.FS
	size int64
	raw  func() ([]byte, error)
}

func (c coded) Open(name string) (fs.File, error) {
	if name != wasmName {
		return c.FS.Open(name)
	}
	data, err := c.raw()
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	return decoded{bytes.NewReader(data)}, nil
}

func (c coded) Stat(name string) (fs.FileInfo, error) {
	if name == wasmName {
		return decodedInfo(c.size), nil
	}
	return fs.Stat(c.FS, name)
}

// decoded is scene.wasm as an open file.
type decoded struct{ *bytes.Reader }

func (d decoded) Stat() (fs.FileInfo, error) { return decodedInfo(d.Reader.Size()), nil }
func (d decoded) Close() error               { return nil }

type decodedInfo int64

func (i decodedInfo) Name() string       { return wasmName }
func (i decodedInfo) Size() int64        { return int64(i) }
func (i decodedInfo) Mode() fs.FileMode  { return 0o444 }
func (i decodedInfo) ModTime() time.Time { return time.Time{} }
func (i decodedInfo) IsDir() bool        { return false }
func (i decodedInfo) Sys() any           { return nil }
