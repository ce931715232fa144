package cli

import (
	"bytes"
	"strings"
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
