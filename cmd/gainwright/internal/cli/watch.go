package cli

import (
	"fmt"
	"io"
	"os"
	"strings"
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
	step  string
	began time.Time
	shown time.Time
	width int
}

// NewWatch shows progress on stderr, unless quiet.
func NewWatch(stderr io.Writer, quiet bool) *Watch {
	return &Watch{w: stderr, live: !quiet && IsTerminal(stderr)}
}

// Begin starts a step of the work.
func (w *Watch) Begin(step string) {
	w.step, w.began, w.shown = sounds.Shown(step), time.Now(), time.Time{}
}

// At tells the share of the step that is done, 0 to 1; negative if nobody knows.
func (w *Watch) At(share float64) {
	if !w.live {
		return
	}
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

// Done wipes the line.
func (w *Watch) Done() {
	if w.width > 0 {
		fmt.Fprint(w.w, "\r"+strings.Repeat(" ", w.width)+"\r")
		w.width = 0
	}
}
