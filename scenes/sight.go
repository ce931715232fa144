package scenes

import (
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// sight is what of a bench pictures show: one of its strips.
type sight struct {
	s     *Session
	shown int // the strip
}

// chain gives the settings to draw for strip i: those of the take while it is
// looked at, else those of now, with the talker where they are.
func (v *sight) chain(i int) sim.Chain {
	if t := v.s.Shown(); t != nil && i < t.N {
		return t.end[i]
	}
	return v.s.Running(i)
}

// absent reports whether a take is shown that has no strip i.
func (v *sight) absent(i int) bool {
	t := v.s.Shown()
	return t != nil && i >= t.N
}

// loudestWords tells when the take was loudest, and during what.
func (v *sight) loudestWords() string {
	t := v.s.Take()
	if t == nil || !t.Done {
		return ""
	}
	at := float64(t.Loudest) / Rate
	s := "at " + ui.Decimal(at, 1) + " s"
	for i := len(t.Marks) - 1; i >= 0; i-- {
		if m := t.Marks[i]; m.At <= at && at-m.At < 3 && m.Text != "talk" {
			return s + ", after \u201c" + m.Text + "\u201d"
		}
	}
	return s
}

// has reports whether the strip has a station; what is none counts as had.
func (v *sight) has(st sim.Station) bool {
	return st < 0 || st >= sim.NumStations || st.In(v.chain(v.shown))
}
