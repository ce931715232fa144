package scenes

import (
	"regexp"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
)

var quantity = regexp.MustCompile(`[0-9][\s\x{00a0}]*(dB\w*|LUFS|ms|s|cm|m|%|Ω|Hz|kHz)\b`)

// TestFirstScreen counts what a first visit meets, and what a later one does: controls,
// words, and numbers with units.
func TestFirstScreen(t *testing.T) {
	count := func(h kit.Host) (controls, words, quantities int) {
		p, err := NewProgram(h)
		if err != nil {
			t.Fatal(err)
		}
		b := scenetest.Drive(t, p)
		b.Wait(1)
		var l ink.List
		p.Draw(&l)
		for _, op := range l.Ops {
			if op.Kind == ink.KText {
				words += len(strings.Fields(op.Text))
				quantities += len(quantity.FindAllString(op.Text, -1))
			}
		}
		for _, c := range p.Controls() {
			if n := c.Node(); !c.Common().Hidden && n.Role != "meter" {
				controls++
			}
		}
		return controls, words, quantities
	}
	c, w, q := count(scenetest.NewChancy())
	c0, w0, q0 := count(scenetest.Seen())
	t.Logf("a first visit: %d controls, %d words, %d numbers with units; Set the gain: %d, %d and %d", c, w, q, c0, w0, q0)
	if c > 6 || w > 60 || q > 1 {
		t.Errorf("a first visit meets %d controls, %d words and %d numbers with units", c, w, q)
	}
	if c0 < 5*c {
		t.Errorf("only %d controls were counted in Set the gain", c0)
	}
}
