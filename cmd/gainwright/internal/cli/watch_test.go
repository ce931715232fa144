package cli

import (
	"bytes"
	"strings"
	"sync"
	"testing"
)

func TestWatch(t *testing.T) {
	var b bytes.Buffer
	w := &Watch{w: &b, live: true}
	w.Begin("recording")
	w.began = w.began.Add(-3e9)
	w.At(0.25)
	w.Done()
	if got := b.String(); !strings.HasPrefix(got, "\rrecording: 25 %, 0:09 left") || !strings.HasSuffix(got, "\r") {
		t.Errorf("showed %q", got)
	}
	b.Reset()
	w = NewWatch(&b, false) // no terminal
	w.Begin("recording")
	w.began = w.began.Add(-3e9)
	w.At(0.5)
	w.Done()
	if b.Len() > 0 {
		t.Errorf("showed %q on no terminal", b.String())
	}
}

// TestWatchSplit: parts at once show the whole by their weights, and what is printed
// beside stands on a line of its own.
func TestWatchSplit(t *testing.T) {
	var b bytes.Buffer
	w := &Watch{w: &b, live: true}
	w.Begin("three")
	parts := w.Split([]float64{1, 2, 5})
	parts[1].Begin("not told")
	w.began = w.began.Add(-3e9)
	var all sync.WaitGroup
	for i := range parts[:2] {
		all.Go(func() {
			for k := range 100 {
				parts[i].At(float64(k) / 100)
			}
			parts[i].Done()
		})
	}
	all.Wait()
	w.shown = w.shown.Add(-1e9)
	b.Reset()
	parts[2].At(0.2) // (1 + 2 + 1) of 8
	if got := b.String(); !strings.HasPrefix(got, "\rthree: 50 %") {
		t.Errorf("showed %q", got)
	}
	b.Reset()
	if err := w.Aside(func() error { b.WriteString("aside\n"); return nil }); err != nil {
		t.Fatal(err)
	}
	if got := b.String(); !strings.HasSuffix(got, "\raside\n") || strings.Contains(got, "three") {
		t.Errorf("showed %q", got)
	}
	parts[2].Done()
	w.Done()
}
