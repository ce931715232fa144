package own_test

import (
	"slices"
	"strings"
	"testing"

	"gainwright/sounds/own"
)

// The card joins what the browser said and what is heard.
func TestJudge(t *testing.T) {
	whole := spoken(t, .3)
	off, on := own.Told{Echo: "off", Noise: "off", Gain: "off"}, own.Told{Echo: "off", Noise: "off", Gain: "on"}
	leave := func(*own.Performance) {}
	muted := func(p *own.Performance) {
		open := 0
		for i, v := range p.Samples {
			if v > .002 || v < -.002 {
				open = own.Rate / 20
			}
			if open--; open < 0 {
				p.Samples[i] = 0
			}
		}
	}
	for name, c := range map[string]struct {
		told  own.Told
		do    func(p *own.Performance)
		grade own.Grade
		says  string
	}{
		"said off, sounds so":       {off, leave, own.Good, "none was told"},
		"not told, sounds clean":    {own.Told{}, leave, own.Good, "was not told"},
		"said on":                   {on, leave, own.Shaped, "Automatic gain is on"},
		"said on, heard":            {on, muted, own.Shaped, "another browser"},
		"said off, and yet":         {off, muted, own.Shaped, "sound settings"},
		"not told, heard":           {own.Told{}, muted, own.Shaped, "sound settings"},
		"tops cut":                  {off, func(p *own.Performance) { cutAt(p.Samples, .1) }, own.But, "Tops are cut"},
		"no laugh and no call":      {off, func(p *own.Performance) { p.Parts[own.Laugh], p.Parts[own.Hey] = own.Span{}, own.Span{} }, own.But, "could not be looked for"},
		"too soft for the room":     {off, func(p *own.Performance) { drown(p.Samples) }, own.But, "nearer"},
		"on, though parts are gone": {on, func(p *own.Performance) { p.Parts[own.Again] = own.Span{} }, own.Shaped, "Automatic gain is on"},
	} {
		p := *whole
		p.Samples, p.Told = slices.Clone(whole.Samples), c.told
		c.do(&p)
		v := p.Judge()
		if v.Grade != c.grade || !strings.Contains(strings.Join(v.Lines, "\n"), c.says) || v.Title == "" {
			t.Errorf("%s: %d %q %q", name, v.Grade, v.Title, v.Lines)
		}
		for _, l := range v.Lines {
			if !strings.HasSuffix(l, ".") || strings.Contains(l, "..") {
				t.Errorf("%s: no sentence: %q", name, l)
			}
		}
	}
}

func cutAt(x []float32, at float32) {
	for i, v := range x {
		x[i] = max(-at, min(at, v))
	}
}

func drown(x []float32) {
	state := uint32(7)
	for i := range x {
		state = state*1664525 + 1013904223
		x[i] = x[i]*.02 + (float32(state)/(1<<32)-.5)*.1
	}
}
