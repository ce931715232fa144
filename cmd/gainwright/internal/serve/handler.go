package serve

import (
	"embed"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

//go:embed page
var page embed.FS

// PagePolicy lets the page load from its own server only. "data:" is there for the audio
// worklet, which the sound library loads from a data URL. A page that is served as plain
// files states it itself.
const PagePolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval' data:; style-src 'self'; " +
	"img-src 'self' data: blob:; connect-src 'self'; media-src blob:; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'"

// Headers are those that hold for all that is served, but for how long it is kept. A page
// can forbid frames around itself by its header only. The microphone is the page's own to ask
// for, and no frame's; nothing else of the kind is.
func Headers() [][2]string {
	return [][2]string{
		{"Content-Security-Policy", PagePolicy + "; frame-ancestors 'none'"},
		{"X-Content-Type-Options", "nosniff"},
		{"Referrer-Policy", "no-referrer"},
		{"Cross-Origin-Opener-Policy", "same-origin"},
		{"Cross-Origin-Resource-Policy", "same-origin"},
		{"Permissions-Policy", "camera=(), microphone=(self), geolocation=()"},
	}
}

var types = map[string]string{
	".html": "text/html; charset=utf-8",
	".js":   "text/javascript; charset=utf-8",
	".css":  "text/css; charset=utf-8",
	".svg":  "image/svg+xml",
	".wasm": "application/wasm",
	".json": "application/json",
	".png":  "image/png",
}

// TypeOf is the media type of a file of the page or of a build.
func TypeOf(name string) string { return types[filepath.Ext(name)] }

// Server serves what Handler does, and closes connections on which nothing is asked:
// a page that stands open for an afternoon needs none, and asks on a new one.
func Server(b Build) *http.Server { return server(Handler(b)) }

func server(h http.Handler) *http.Server {
	return &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
}

// Handler serves the page and a build.
func Handler(b Build) http.Handler {
	return guard(pages(func() Build { return b }, nil))
}

// pages serves the page, whose index is passed through edit if there is one, and the
// build that is served at the time.
func pages(served func() Build, edit func(index []byte) []byte) *http.ServeMux {
	mux := http.NewServeMux()
	own := Page()
	for _, n := range []string{"index.html", "start.js", "style.css", "icon.svg"} {
		data, err := fs.ReadFile(own, n)
		if err != nil {
			panic("serve: embedded page: " + err.Error())
		}
		path := "/" + n
		if n == "index.html" {
			path = "/{$}"
		}
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, r *http.Request) {
			data := data
			if n == "index.html" {
				data = served().Index()
				if edit != nil {
					data = edit(data)
				}
			}
			w.Header().Set("Content-Type", types[filepath.Ext(n)])
			w.Header().Set("Content-Length", strconv.Itoa(len(data)))
			w.Write(data)
		})
	}
	for _, n := range []string{execName, wasmName} {
		mux.HandleFunc("GET /"+n, func(w http.ResponseWriter, r *http.Request) { served().file(n, w, r) })
	}
	return mux
}

// guard sets the headers that hold for everything and refuses requests for
// another host: a page elsewhere must not reach this server through a name that
// it makes point here.
func guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		if host != "127.0.0.1" && host != "localhost" && host != "[::1]" && host != "::1" {
			http.Error(w, "this server answers for this computer only", http.StatusMisdirectedRequest)
			return
		}
		h := w.Header()
		for _, v := range Headers() {
			h.Set(v[0], v[1])
		}
		h.Set("Cache-Control", "no-cache")
		next.ServeHTTP(w, r)
	})
}

// file serves a file of the build in the smallest form that the browser takes.
func (b Build) file(name string, w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", types[filepath.Ext(name)])
	h.Add("Vary", "Accept-Encoding")
	raw, err := fs.Stat(b.FS, name)
	if err != nil {
		http.Error(w, "the compiled scene is gone: start gainwright again", http.StatusNotFound)
		return
	}
	// What a progress bar counts to; Content-Length is of the coded form.
	h.Set("Gainwright-Size", strconv.FormatInt(raw.Size(), 10))
	form, coding := name, ""
	for _, c := range []struct{ coding, ext string }{{"br", ".br"}, {"gzip", ".gz"}} {
		if _, err := fs.Stat(b.FS, name+c.ext); err == nil && accepts(r.Header.Get("Accept-Encoding"), c.coding) {
			form, coding = name+c.ext, c.coding
			break
		}
	}
	f, err := b.FS.Open(form)
	if err != nil {
		http.Error(w, "the compiled scene is gone: start gainwright again", http.StatusNotFound)
		return
	}
	defer f.Close()
	seeks, ok := f.(io.ReadSeeker)
	if !ok {
		http.Error(w, "the compiled scene cannot be read", http.StatusInternalServerError)
		return
	}
	if coding != "" {
		h.Set("Content-Encoding", coding)
	}
	// A browser throws what it compiled away when it has to ask whether the file
	// is still the same. Under an address that names the build it need not ask.
	if r.URL.RawQuery != "" && r.URL.RawQuery == b.Name {
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
	}
	h.Set("ETag", fmt.Sprintf(`"%s-%s"`, b.Name, coding))
	// ServeContent answers If-None-Match and HEAD. It leaves out
	// Content-Length where there is a coding, since it does not know that the
	// file is in it already.
	if coding != "" {
		if i, err := f.Stat(); err == nil && r.Header.Get("Range") == "" {
			h.Set("Content-Length", strconv.FormatInt(i.Size(), 10))
		}
	}
	http.ServeContent(w, r, "", time.Time{}, seeks)
}

// accepts reports whether an Accept-Encoding header takes a coding (RFC 9110,
// section 12.5.3, without the ranking: ours is by size). A coding that is named
// counts before "*".
func accepts(header, coding string) bool {
	any := false
	for part := range strings.SplitSeq(header, ",") {
		name, params, _ := strings.Cut(part, ";")
		q := 1.0
		if v, ok := strings.CutPrefix(strings.ReplaceAll(params, " ", ""), "q="); ok {
			q, _ = strconv.ParseFloat(v, 64)
		}
		switch name = strings.TrimSpace(name); {
		case strings.EqualFold(name, coding):
			return q > 0
		case name == "*":
			any = q > 0
		}
	}
	return any
}
