package cli

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sounds"
)

// IsTerminal tells whether w is one.
func IsTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// A Watch shows how far long work is, on one line of a terminal that it wipes at
// the end; anywhere else it is silent.
type Watch struct {
	w     io.Writer
	live  bool
	mu    sync.Mutex
	step  string
	began time.Time
	shown time.Time
	width int
	all   *together // that it is a part of, or nil
	part  int
}

// together is what several parts of one work have done.
type together struct {
	mu     sync.Mutex
	w      *Watch
	weight []float64
	done   []float64 // shares
}

// Split gives a Watch for each of several parts of the step, of these weights, such as
// sizes in bytes. They may be used at once, by a goroutine each, and show the share of
// the whole; what they begin is not told.
func (w *Watch) Split(weight []float64) []*Watch {
	all := &together{w: w, weight: weight, done: make([]float64, len(weight))}
	parts := make([]*Watch, len(weight))
	for i := range parts {
		parts[i] = &Watch{w: w.w, live: w.live, all: all, part: i}
	}
	return parts
}

// at takes the share of a part that is done.
func (t *together) at(part int, share float64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.done[part] = max(t.done[part], min(share, 1))
	sum, of := 0.0, 0.0
	for i, d := range t.done {
		sum += d * t.weight[i]
		of += t.weight[i]
	}
	if of > 0 {
		t.w.At(sum / of)
	}
}

// NewWatch shows progress on stderr, unless quiet.
func NewWatch(stderr io.Writer, quiet bool) *Watch {
	return &Watch{w: stderr, live: !quiet && IsTerminal(stderr)}
}

// Begin starts a step of the work.
func (w *Watch) Begin(step string) {
	if w.all != nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.step, w.began, w.shown = sounds.Shown(step), time.Now(), time.Time{}
}

// At tells the share of the step that is done, 0 to 1; negative if nobody knows.
func (w *Watch) At(share float64) {
	if !w.live {
		return
	}
	if w.all != nil {
		w.all.at(w.part, share)
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	now := time.Now()
	if now.Sub(w.began) < 300*time.Millisecond || now.Sub(w.shown) < 100*time.Millisecond {
		return
	}
	w.shown = now
	line := w.step + " …"
	if share > 0.005 {
		left := time.Duration(float64(now.Sub(w.began)) * (1 - share) / share)
		line = fmt.Sprintf("%s: %.0f %%, %s left", w.step, 100*min(share, 1), picture.Clock(left.Seconds()+0.5))
	}
	n := len([]rune(line))
	fmt.Fprint(w.w, "\r"+line+strings.Repeat(" ", max(0, w.width-n)))
	w.width = n
}

// Done wipes the line. Of a part it says that it is done.
func (w *Watch) Done() {
	if w.all != nil {
		w.At(1)
		return
	}
	w.Aside(func() error { return nil })
}

// Aside wipes the line, and lets say print something in its place; nothing is shown
// meanwhile.
func (w *Watch) Aside(say func() error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.width > 0 {
		fmt.Fprint(w.w, "\r"+strings.Repeat(" ", w.width)+"\r")
		w.width = 0
	}
	return say()
}
