package cli

import (
	"bytes"
	"strings"
	"testing"
)

func TestSteps(t *testing.T) {
	var b bytes.Buffer
	p := Steps{w: &b}
	for i := range 5 {
		p.Say("Compiling", i, float64(i))
	}
	p.Say("Compressing it", 0, 0)
	p.End()
	if got := b.String(); got != "Compiling ...\nCompressing it ...\n" {
		t.Errorf("elsewhere than on a terminal: %q", got)
	}
	b.Reset()
	p = Steps{w: &b, live: true}
	p.Say("Compiling", 0, 0)
	p.Say("Compiling", 12, 3)
	p.Say("Compressing it", 0, 0)
	p.End()
	if got := b.String(); !strings.Contains(got, "\rCompiling: 3 s, 12 packages\x1b[K\n\rCompressing it: 0 s") || !strings.HasSuffix(got, "\n") {
		t.Errorf("on a terminal: %q", got)
	}
}
