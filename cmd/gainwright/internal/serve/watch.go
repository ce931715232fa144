package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"sync"
	"time"
)

// Watched serves the scene of a source that is being worked on: when a file of it is
// saved, the scene is compiled and pages that stand open load again. While it does not
// compile the old scene stays, and pages say why.
type Watched struct {
	// Every is how often the source is looked at; 0: four times a second.
	Every time.Duration
	// Rest is how long the source stays as it is before it is compiled, since what saves
	// a file empties it first; 0: 50 ms.
	Rest time.Duration
	// Notify gets, after each change, what is wrong with it, or nil; and how long it took.
	Notify func(err error, took time.Duration)

	Public string // as of a Build

	cache *Cache
	src   string
	stamp string // of the source as it was last compiled, or tried

	mu    sync.Mutex
	dir   string        // of the build that is served
	state state         // what pages are told
	moved chan struct{} // closed when the state changes
	ended chan struct{} // closed when the server ends
}

// state is an event for the page.
type state struct{ event, data string }

// Events of the stream that pages listen to.
const (
	builtEvent = "built" // data: the name of the build that is served
	busyEvent  = "busy"
	faultEvent = "fault" // data: why the source does not compile, as a JSON string
)

// NewWatched compiles the source in src, or finds it compiled.
func NewWatched(ctx context.Context, c *Cache, src string) (*Watched, error) {
	w := &Watched{cache: c.Watched(), src: src, moved: make(chan struct{}), ended: make(chan struct{})}
	var err error
	if w.stamp, err = sourceStamp(src); err != nil {
		return nil, err
	}
	if w.dir, _, err = w.cache.Ensure(ctx, src); err != nil {
		return nil, err
	}
	w.state = state{builtEvent, filepath.Base(w.dir)}
	return w, nil
}

// Server serves the page, which listens for changes.
func (w *Watched) Server() *http.Server {
	mux := pages(func() Build {
		b := Kept(w.served())
		b.Public = w.Public
		return b
	}, func(index []byte) []byte {
		line := fmt.Appendf(nil, "<script src=\"watch.js\" data-build=%q defer></script>\n</head>", filepath.Base(w.served()))
		return bytes.Replace(index, []byte("</head>"), line, 1)
	})
	mux.HandleFunc("GET /watch.js", func(rw http.ResponseWriter, r *http.Request) {
		rw.Header().Set("Content-Type", types[".js"])
		http.ServeFileFS(rw, r, page, "page/watch.js")
	})
	mux.HandleFunc("GET /changes", w.changes)
	s := server(guard(mux))
	s.RegisterOnShutdown(func() { close(w.ended) })
	return s
}

func (w *Watched) served() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.dir
}

func (w *Watched) now() (state, <-chan struct{}) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.state, w.moved
}

// set tells all pages; dir is the build to serve from now on, or empty.
func (w *Watched) set(s state, dir string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if dir != "" {
		w.dir = dir
	}
	w.state = s
	close(w.moved)
	w.moved = make(chan struct{})
}

// changes is the stream of server-sent events: the state, and each one that follows.
func (w *Watched) changes(rw http.ResponseWriter, r *http.Request) {
	rw.Header().Set("Content-Type", "text/event-stream")
	rw.Header().Set("Cache-Control", "no-store")
	out := http.NewResponseController(rw)
	for {
		s, moved := w.now()
		if _, err := fmt.Fprintf(rw, "event: %s\ndata: %s\n\n", s.event, s.data); err != nil {
			return
		}
		if out.Flush() != nil {
			return
		}
		select {
		case <-moved:
		case <-w.ended:
			return
		case <-r.Context().Done():
			return
		}
	}
}

// Watch looks at the source until the context ends. What is saved while it compiles
// stops that, and is compiled instead.
func (w *Watched) Watch(ctx context.Context) {
	every := w.Every
	if every == 0 {
		every = 250 * time.Millisecond
	}
	look := time.NewTicker(every)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		if w.changed() {
			w.rebuild(ctx, look.C)
		}
	}
}

// changed tells whether the source is another than when it was last asked. A file
// that goes while one looks will be seen at the next look.
func (w *Watched) changed() bool {
	s, err := sourceStamp(w.src)
	if err != nil || s == w.stamp {
		return false
	}
	w.stamp = s
	return true
}

// settle waits until the source is the same for as long as Rest says.
func (w *Watched) settle(ctx context.Context) {
	rest := w.Rest
	if rest == 0 {
		rest = 50 * time.Millisecond
	}
	for same := false; !same; same = !w.changed() {
		select {
		case <-ctx.Done():
			return
		case <-time.After(rest):
		}
	}
}

// rebuild compiles until the source rests.
func (w *Watched) rebuild(ctx context.Context, look <-chan time.Time) {
	began := time.Now()
	w.set(state{event: busyEvent}, "")
	for again := true; again; {
		again = false
		part, stop := context.WithCancel(ctx)
		type built struct {
			dir string
			err error
		}
		ended := make(chan built, 1)
		w.settle(part)
		go func() {
			dir, _, err := w.cache.Ensure(part, w.src)
			ended <- built{dir, err}
		}()
		for waiting := true; waiting; {
			select {
			case b := <-ended:
				waiting = false
				if !again && ctx.Err() == nil {
					w.tell(b.dir, b.err, time.Since(began))
				}
			case <-look:
				if w.changed() {
					again = true
					stop()
				}
			}
		}
		stop()
	}
}

func (w *Watched) tell(dir string, err error, took time.Duration) {
	if err == nil {
		w.set(state{builtEvent, filepath.Base(dir)}, dir)
	} else {
		text, jerr := json.Marshal(err.Error())
		if jerr != nil {
			panic(errors.Join(errors.New("serve: an error is no JSON"), jerr))
		}
		w.set(state{faultEvent, string(text)}, "")
	}
	if w.Notify != nil {
		w.Notify(err, took)
	}
}
